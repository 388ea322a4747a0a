"""The routes: which link, which page, which answer. Everything that decides stands in the files beside it."""

import logging
import mimetypes
import re
import secrets
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from functools import partial, wraps
from pathlib import Path
from threading import BoundedSemaphore, Event
from typing import Any

from flask import Flask, Response, abort, redirect, render_template, request, url_for
from werkzeug.exceptions import HTTPException

from care_planner.calendar.faults import CannotWrite
from care_planner.calendar.text import one_line
from care_planner.note.take import NoteGround
from care_planner.serve.ahead import PARTS, Part
from care_planner.serve.allowance import Allowance
from care_planner.serve.answers import busy, feed_answer, guarded, not_ready, packed_page, worker_answer
from care_planner.serve.clock import Clock
from care_planner.serve.faults import FAULTS
from care_planner.serve.forms import ASKED_DAYS, form_day, form_token, is_same_origin, read_form_token
from care_planner.serve.note_form import NOTHING, Fields, entry_id, key_of, parse_note
from care_planner.serve.notebook import FormOutcome, Fresh, Notebook, Sender
from care_planner.serve.outbox import NotAnOutbox, answers, parse_outbox
from care_planner.serve.pages import (
    Asking,
    ahead_page,
    calendar_page,
    may_take_back,
    shown_trees,
    tree_page,
    trees_page,
    week_page,
)
from care_planner.serve.planner import Planner, ServedView
from care_planner.serve.read_shares import read_shares
from care_planner.serve.read_version import ASSETS, read_version
from care_planner.serve.scope_notes import within_scope
from care_planner.serve.shares import Share, find_share
from care_planner.serve.subscribe import is_host

BODY_OCTETS = 256 * 1024
STATIC_AGE_S = 86_400
# Wrong secrets are answered slowly, but no crowd of them may keep everybody else waiting.
SLOW_ANSWER_S = 0.25
SLOW_AT_ONCE = 4
# Pages of one link. Starting values: a person turns some pages a minute, a page by itself asks a little.
READS_AT_ONCE = 120
SECONDS_A_READ = 0.25
_PLACE = re.compile(r"[a-z0-9-]{1,40}")

log = logging.getLogger(__name__)


@dataclass
class Service:
    """What the routes need. `slow_answer_s` is how long a wrong address waits for its answer."""

    folder: Path
    clock: Clock
    planner: Planner
    notebook: Notebook
    slow_answer_s: float = SLOW_ANSWER_S
    reads: Allowance = field(default_factory=lambda: Allowance(READS_AT_ONCE, SECONDS_A_READ))
    _slow: BoundedSemaphore = field(default_factory=lambda: BoundedSemaphore(SLOW_AT_ONCE))

    def share(self, secret: str) -> Share:
        """The link with this secret; 404 for any other, like a page that does not exist.

        Raises CannotWrite where the links cannot be read: then nobody is told that theirs is gone.
        """
        share = find_share(read_shares(self.folder), secret)
        return share if share is not None else abort(404)

    def today(self, view: ServedView) -> date:
        """The day where the collection stands."""
        return self.now(view).date()

    def now(self, view: ServedView) -> datetime:
        """Now, where the collection stands."""
        return self.clock(view.inputs.collection.site.timezone if view.inputs is not None else "UTC")

    def be_slow(self) -> None:
        """Wait a little, unless too many do already."""
        if self.slow_answer_s and self._slow.acquire(blocking=False):
            try:
                Event().wait(self.slow_answer_s)
            finally:
                self._slow.release()


@dataclass(frozen=True)
class Link:
    """A request with its link: whose, the secret it came with, and the state it is answered from."""

    secret: str
    share: Share
    view: ServedView
    today: date
    fresh: Fresh

    @property
    def asking(self) -> Asking:
        """What a page is made from."""
        return Asking(self.view, self.share.scope, self.today, self.fresh, self.share.name)

    def form(self) -> str:
        """A new form's token."""
        return form_token(self.secret, self.today.toordinal(), secrets.token_urlsafe(16))


def create_app(service: Service) -> Flask:
    """The WSGI application."""
    # The system's own table of kinds may call a script plain text, and then no browser runs it.
    mimetypes.add_type("text/javascript", ".js")
    app = Flask(__name__)
    app.config["SEND_FILE_MAX_AGE_DEFAULT"] = STATIC_AGE_S
    app.config["MAX_CONTENT_LENGTH"] = app.config["MAX_FORM_MEMORY_SIZE"] = BODY_OCTETS
    app.jinja_options = {"trim_blocks": True, "lstrip_blocks": True}
    app.after_request(guarded)
    app.after_request(lambda response: packed_page(response, request))
    version = read_version()
    app.jinja_env.globals["asset"] = lambda name: url_for("static", filename=name, v=version)
    _add_pages(app, service)
    _add_notes(app, service)
    _add_offline(app, service, version)
    _add_faults(app, service)

    @app.get("/g/<secret>/feeds/<path:name>")
    def feed(secret: str, name: str) -> Response:
        share = service.share(secret)
        view = service.planner.view
        if not share.scope.may_read(name):
            abort(404)
        if view.feeds and name in view.feeds:
            return feed_answer(view.feeds[name], request)
        # Until the first plan is made a feed may be missing for a fault of the disk. A calendar that is told
        # 404 forgets its events.
        return abort(404) if view.plan is not None and view.feeds else not_ready()

    return app


def _linked(service: Service) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Hands a route its link in place of the secret."""

    def decorate(route: Callable[..., Any]) -> Callable[..., Any]:
        @wraps(route)
        def with_link(secret: str, **rest: Any) -> Any:
            share = service.share(secret)
            if not service.reads.takes(share.digest, service.notebook.ticks()):
                abort(429)
            view = service.planner.view
            return route(Link(secret, share, view, service.today(view), service.notebook.fresh()), **rest)

        return with_link

    return decorate


def _add_pages(app: Flask, service: Service) -> None:
    def page(template: str, link: Link, **values: Any) -> str:
        return render_template(template, link=link, **values)

    @app.get("/g/<secret>/", strict_slashes=False)
    @_linked(service)
    def week(link: Link) -> str:
        noted = _noted(service, link)
        now = service.now(link.view)
        return page("week.html", link, noted=noted, **week_page(link.asking, noted, now))

    def ahead(link: Link, part: Part) -> str:
        if not link.share.scope.opens_trees:
            abort(404)
        values = ahead_page(link.asking, part, service.now(link.view))
        return page("ahead.html", link, **values) if values is not None else abort(404)

    for part in PARTS:
        app.add_url_rule(f"/g/<secret>/{part}", part, partial(_linked(service)(ahead), part=part))

    @app.get("/g/<secret>/trees")
    @_linked(service)
    def trees(link: Link) -> str:
        if not link.share.scope.opens_trees:
            abort(404)
        return page("trees.html", link, **trees_page(link.asking, request.args.get("find", "").strip()))

    @app.get("/g/<secret>/trees/<tree>")
    @_linked(service)
    def tree(link: Link, tree: str) -> str:
        if not link.share.scope.opens_trees:
            abort(404)
        noted, season = _noted(service, link), request.args.get("season", "")
        values = tree_page(link.asking, tree, season, noted)
        return page("tree.html", link, noted=noted, **values) if values is not None else abort(404)

    @app.get("/g/<secret>/state")
    @_linked(service)
    def state(link: Link) -> Any:
        return {"number": link.view.number}

    @app.get("/g/<secret>/calendar")
    @_linked(service)
    def calendar(link: Link) -> str:
        first = url_for("week", secret=link.secret, _external=True)
        values = calendar_page(link.asking, first, request.is_secure)
        return page("calendar.html", link, **values)


def _noted(service: Service, link: Link) -> FormOutcome | None:
    """What became of the form that led to this page."""
    return service.notebook.outcome(link.share.digest, request.args.get("noted", ""))


def _add_notes(app: Flask, service: Service) -> None:
    @app.post("/g/<secret>/notes")
    @_linked(service)
    def notes(link: Link) -> Any:
        if not link.share.may_note:
            abort(404)
        headers = request.headers
        if not is_same_origin(request.host, headers.get("Origin"), headers.get("Sec-Fetch-Site")):
            abort(403)
        if request.form.get("act") == NOTHING:
            return "", 204
        token, today = request.form.get("form", ""), link.today.toordinal()
        nonce = read_form_token(link.secret, token, today)
        fields = {name: values for name, values in request.form.lists() if name != "form"}
        if nonce is None:
            if read_form_token(link.secret, token, today, ASKED_DAYS) is None:
                abort(403)
            made = date.fromordinal(form_day(token))
            return render_template("old.html", link=link, made=made, fields=_sent_again(fields))
        return _noted_now(service, link, fields, key_of(nonce, fields))


def _noted_now(service: Service, link: Link, fields: Fields, key: str) -> Any:
    """Note a form and lead back to its page, or ask whether it is right."""
    if link.view.inputs is None:
        return _later(link, _sent_again(fields), "The plan is still being made, so this cannot be checked.")
    id = entry_id(fields, key)
    outcome = _take(service, link, fields, id, key)
    service.notebook.wait_for_plan(outcome)
    if outcome.fault:
        once_more = [("id", id), *_sent_again(fields)]
        return _later(link, once_more, "It cannot be written just now: the machine is busy.")
    if outcome.too_many:
        abort(429)
    if outcome.doubts:
        once_more = [("id", id), *_sent_again(fields)]
        return render_template("sure.html", link=link, noted=outcome, fields=once_more)
    return redirect(_back(link, fields, key), 303)


def _later(link: Link, fields: list[tuple[str, str]], why: str) -> Response:
    """The note is not taken; the page keeps it, to be sent again."""
    again = render_template("later.html", link=link, fields=fields, why=why)
    return Response(again, 503, {"Retry-After": "10"})


def _back(link: Link, fields: Fields, key: str) -> str:
    """The place the form was at, showing what became of it."""
    tree, place = (fields.get(name, [""])[0] for name in ("page", "place"))
    anchor = place if _PLACE.fullmatch(place) else None
    if tree in shown_trees(link.view, link.share.scope):
        return url_for("tree", secret=link.secret, tree=tree, noted=key, _anchor=anchor)
    return url_for("week", secret=link.secret, noted=key, _anchor=anchor)


def _add_offline(app: Flask, service: Service, version: str) -> None:
    """The worker that keeps pages and notes in the browser, what it installs, and where it sends them."""

    @app.get("/g/<secret>/sw.js")
    @_linked(service)
    def worker(link: Link) -> Response:
        assets = [url_for("static", filename=name, v=version) for name in ASSETS]
        return worker_answer(render_template("sw.js", version=version, assets=assets, css=assets[0]))

    @app.get("/g/<secret>/app.webmanifest")
    @_linked(service)
    def manifest(link: Link) -> Response:
        # Relative addresses stand under its own: the secret is nowhere in it.
        site = link.view.inputs.collection.site.name if link.view.inputs is not None else ""
        named = render_template("app.webmanifest", name=one_line(site or "Tree care", 60))
        return Response(named, mimetype="application/manifest+json")

    @app.post("/g/<secret>/outbox")
    @_linked(service)
    def outbox(link: Link) -> Any:
        if not link.share.may_note:
            abort(404)
        if request.headers.get("Sec-Fetch-Site") != "same-origin":
            abort(403)
        if link.view.inputs is None:
            return not_ready()
        try:
            notes = parse_outbox(request.get_json(force=True, silent=True))
        except NotAnOutbox:
            abort(400)

        def take(id: str, fields: Fields) -> FormOutcome:
            return _take(service, link, fields, id, key_of("outbox", fields))

        return {"notes": answers(notes, take)}


def _take(service: Service, link: Link, fields: Fields, id: str, key: str) -> FormOutcome:
    """Note one form that was read, without waiting for the plan."""
    inputs = link.view.inputs
    assert inputs is not None
    asking = replace(link.asking, fresh=service.notebook.fresh())
    trees = shown_trees(link.view, link.share.scope)
    form = parse_note(fields, inputs, trees, may_take_back(asking), link.today, id)
    form = within_scope(form, link.share.scope, inputs)
    sender = Sender(link.share.digest, link.share.name)
    ground = NoteGround(inputs.collection, inputs.rulebook)
    return service.notebook.take(sender, key, form, ground, link.today)


def _sent_again(fields: Fields) -> list[tuple[str, str]]:
    """The fields of a form, to be sent once more with "sure"."""
    left_out = ("sure", "id")
    return [(name, v) for name, values in sorted(fields.items()) if name not in left_out for v in values]


def _add_faults(app: Flask, service: Service) -> None:
    @app.before_request
    def only_for_a_host() -> None:
        if not is_host(request.host):
            abort(400)

    @app.errorhandler(HTTPException)
    def told(fault: HTTPException) -> Any:
        code = fault.code or 500
        if code < 400:  # a redirect of the routing's own
            return redirect(fault.get_response().headers["Location"], code)
        if code == 404:
            service.be_slow()
        response = Response(render_template("fault.html", **FAULTS.get(code, FAULTS[400])), code)
        if code == 405:
            response.headers["Allow"] = ", ".join(sorted(getattr(fault, "valid_methods", None) or ()))
        elif code == 429:
            response.headers["Retry-After"] = "60"
        return response

    @app.errorhandler(CannotWrite)
    @app.errorhandler(OSError)
    @app.errorhandler(MemoryError)
    def fault_of_the_machine(fault: Exception) -> Response:
        log.warning("%s: %s", request.endpoint, fault)
        return busy()

    @app.errorhandler(Exception)
    def fault_of_ours(fault: Exception) -> Response:
        # Not the request's path: it holds the secret.
        log.error("%s\n%s", request.endpoint, "".join(traceback.format_exception(fault)))
        return Response(render_template("fault.html", **FAULTS[500]), 500)
