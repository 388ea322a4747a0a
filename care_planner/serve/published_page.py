"""The page published beside the feeds, for those who run no server: week, year, addresses."""

from jinja2 import Environment, PackageLoader
from markupsafe import Markup

from care_planner.calendar.text import one_line
from care_planner.serve.day_page import day_page
from care_planner.serve.names import ALL_FEED
from care_planner.serve.read_version import read_style
from care_planner.serve.refresh import Refreshed
from care_planner.serve.scope import Scope
from care_planner.show.pictures.draw_svg import month_line, row_picture
from care_planner.show.pictures.tree_year import tree_picture
from care_planner.spans import Span, is_south, season_start
from care_planner.words.days import day_words
from care_planner.words.names import bench_head

PAGE_FILE = "trees.html"


def published_page(made: Refreshed) -> bytes:
    """One page that needs no other file: the same bytes for the same plan."""
    inputs, plan = made.reading.inputs, made.plan
    collection, south = inputs.collection, is_south(inputs.collection.site.latitude)
    span = Span(season_start(plan.season, south), season_start(plan.season + 1, south))
    pictures = [
        tree_picture(
            tree.id,
            span,
            plan.season,
            plan.today,
            [row for row in plan.stages if row.tree == tree.id],
            [task for task in plan.tasks if task.tree == tree.id],
            [entry for entry in inputs.entries if entry.tree == tree.id],
            inputs.rulebook.taxa[tree.taxon],
            south,
        )
        for tree in collection.trees
    ]
    pages = Environment(
        loader=PackageLoader("care_planner.serve"), autoescape=True, trim_blocks=True, lstrip_blocks=True
    )
    pages.filters["bench_head"] = bench_head
    text = pages.get_template("published.html").render(
        site=one_line(collection.site.name or "Tree care"),
        made=day_words(plan.today),
        css=Markup(read_style()),
        page=day_page(plan.tasks, collection, inputs.rulebook, Scope(), plan.today),
        season=plan.season,
        months=Markup(month_line(pictures[0])) if pictures else "",
        lines=[(picture.tree, Markup(row_picture(picture))) for picture in pictures],
        feeds=[
            ("Everything" if name == ALL_FEED else name.removesuffix(".ics"), name)
            for name in sorted(made.feeds, key=lambda name: (name != ALL_FEED, name))
        ],
    )
    return text.encode()
