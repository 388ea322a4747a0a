"""The pages: work, trees, a tree, the calendar."""

from functools import partial
from typing import Any

from flask import Flask, abort, render_template, request, url_for

from care_planner.serve.ahead import PARTS, Part
from care_planner.serve.pages import ahead_page, calendar_page, trees_page, week_page
from care_planner.serve.service import Link, Service, linked, outcome_shown
from care_planner.serve.tree_view import tree_page


def add_pages(app: Flask, service: Service) -> None:
    def page(template: str, link: Link, **values: Any) -> str:
        return render_template(template, link=link, **values)

    @app.get("/g/<secret>/", strict_slashes=False)
    @linked(service)
    def week(link: Link) -> str:
        noted = outcome_shown(service, link)
        now = service.now(link.view)
        return page("week.html", link, noted=noted, **week_page(link.asking, noted, now))

    def ahead(link: Link, part: Part) -> str:
        if not link.share.scope.opens_trees:
            abort(404)
        values = ahead_page(link.asking, part, service.now(link.view))
        return page("ahead.html", link, **values) if values is not None else abort(404)

    for part in PARTS:
        app.add_url_rule(f"/g/<secret>/{part}", part, partial(linked(service)(ahead), part=part))

    @app.get("/g/<secret>/trees")
    @linked(service)
    def trees(link: Link) -> str:
        if not link.share.scope.opens_trees:
            abort(404)
        return page("trees.html", link, **trees_page(link.asking, request.args.get("find", "").strip()))

    @app.get("/g/<secret>/trees/<tree>")
    @linked(service)
    def tree(link: Link, tree: str) -> str:
        if not link.share.scope.opens_trees:
            abort(404)
        noted, season = outcome_shown(service, link), request.args.get("season", "")
        values = tree_page(link.asking, tree, season, noted)
        return page("tree.html", link, noted=noted, **values) if values is not None else abort(404)

    @app.get("/g/<secret>/state")
    @linked(service)
    def state(link: Link) -> Any:
        return {"number": link.view.number}

    @app.get("/g/<secret>/calendar")
    @linked(service)
    def calendar(link: Link) -> str:
        first = url_for("week", secret=link.secret, _external=True)
        values = calendar_page(link.asking, first, request.is_secure)
        return page("calendar.html", link, **values)
