"""Forms that note something: taken, doubted, kept for later, or led back to their page."""

import re
from dataclasses import replace
from datetime import date
from typing import Any

from flask import Flask, Response, abort, redirect, render_template, request, url_for

from care_planner.note.ground import NoteGround
from care_planner.serve.asking import may_take_back, shown_trees
from care_planner.serve.forms import ASKED_DAYS, form_day, is_same_origin, read_form_token
from care_planner.serve.note_form import NOTHING, parse_note
from care_planner.serve.note_parts import Fields, entry_id, key_of
from care_planner.serve.notebook import FormOutcome, Sender
from care_planner.serve.scope_notes import within_scope
from care_planner.serve.service import Link, Service, linked

_PLACE = re.compile(r"[a-z0-9-]{1,40}")


def add_notes(app: Flask, service: Service) -> None:
    @app.post("/g/<secret>/notes")
    @linked(service)
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
    outcome = take_form(service, link, fields, id, key)
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


def take_form(service: Service, link: Link, fields: Fields, id: str, key: str) -> FormOutcome:
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
