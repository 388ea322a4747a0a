"""The application: the routes of pages, notes, the worker and feeds put together."""

import mimetypes

from flask import Flask, Response, abort, request, url_for

from care_planner.serve.answers import feed_answer, guarded, not_ready, packed_page
from care_planner.serve.fault_routes import add_faults
from care_planner.serve.note_routes import add_notes
from care_planner.serve.offline_routes import add_offline
from care_planner.serve.page_routes import add_pages
from care_planner.serve.photo_routes import add_photos
from care_planner.serve.read_version import read_version
from care_planner.serve.service import Service
from care_planner.words.names import bench_head, bench_words

BODY_OCTETS = 256 * 1024
STATIC_AGE_S = 86_400


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
    app.jinja_env.filters |= {"bench_head": bench_head, "bench_words": bench_words}
    add_pages(app, service)
    add_notes(app, service)
    add_photos(app, service)
    add_offline(app, service, version)
    add_faults(app, service)

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
