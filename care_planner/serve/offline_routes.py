"""The worker that keeps pages and notes in the browser, what it installs, and where it sends them."""

from typing import Any

from flask import Flask, Response, abort, render_template, request, url_for

from care_planner.calendar.text import one_line
from care_planner.serve.answers import not_ready, worker_answer
from care_planner.serve.note_parts import Fields, key_of
from care_planner.serve.note_routes import take_form
from care_planner.serve.notebook import FormOutcome
from care_planner.serve.outbox import NotAnOutbox, answers, parse_outbox
from care_planner.serve.read_version import ASSETS
from care_planner.serve.service import Link, Service, linked


def add_offline(app: Flask, service: Service, version: str) -> None:
    """The worker that keeps pages and notes in the browser, what it installs, and where it sends them."""

    @app.get("/g/<secret>/sw.js")
    @linked(service)
    def worker(link: Link) -> Response:
        assets = [url_for("static", filename=name, v=version) for name in ASSETS]
        return worker_answer(render_template("sw.js", version=version, assets=assets, css=assets[0]))

    @app.get("/g/<secret>/app.webmanifest")
    @linked(service)
    def manifest(link: Link) -> Response:
        # Relative addresses stand under its own: the secret is nowhere in it.
        site = link.view.inputs.collection.site.name if link.view.inputs is not None else ""
        named = render_template("app.webmanifest", name=one_line(site or "Tree care", 60))
        return Response(named, mimetype="application/manifest+json")

    @app.post("/g/<secret>/outbox")
    @linked(service)
    def outbox(link: Link) -> Any:
        if not link.share.may_note:
            abort(404)
        if request.headers.get("Sec-Fetch-Site") != "same-origin":
            abort(403)
        if link.view.inputs is None:
            return not_ready()
        try:
            notes = parse_outbox(request.get_json(force=True, silent=True))
        except (NotAnOutbox, RecursionError):  # the latter by lists in lists without end
            abort(400)

        def take(id: str, fields: Fields) -> FormOutcome:
            return take_form(service, link, fields, id, key_of("outbox", fields))

        return {"notes": answers(notes, take)}
