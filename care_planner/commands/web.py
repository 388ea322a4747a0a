"""serve, publish, share: an extra."""

import sys
from datetime import date, timedelta
from pathlib import Path
from typing import Literal

import click

from care_planner.commands.tools import (
    Day,
    echo,
    folder_argument,
    now_in,
    say,
    the_serve_extra,
    ticks,
    today_at,
    told,
)


@click.command()
@folder_argument
@click.option("--host", default="127.0.0.1", show_default=True, help="The address to listen on.")
@click.option("--port", type=click.IntRange(1, 65535), default=8437, show_default=True, help="Its port.")
@click.option("--today", type=Day(), help="For a try: as if it were this day, on a copy.")
def serve(folder: Path, host: str, port: int, today: date | None) -> None:
    """Serve the calendars and the pages at the bench.

    Only people with a secret link see anything: make one with care-planner share.
    """
    with told(), the_serve_extra():
        from care_planner.serve.start import serve as run
        from care_planner.serve.write_trial import trial_copy

        if today is None:
            run(folder, host, port, now_in, ticks, echo)
            return
        days = timedelta(days=(today - today_at(folder)).days)
        with trial_copy(folder, today, f"http://{host}:{port}", echo) as copy:
            run(copy, host, port, lambda zone: now_in(zone) + days, ticks, echo)


@click.command()
@folder_argument
@click.option("--to", required=True, type=click.Path(path_type=Path), help="Where the files go.")
def publish(folder: Path, to: Path) -> None:
    """Write the calendars as plain files, for any web server.

    `trees.html` among them shows the week and the year; HEADERS.txt says how to serve them.
    """
    with told(), the_serve_extra():
        from care_planner.serve.write_public import publish as write

        say(write(folder, to, now_in))


@click.group()
@folder_argument
@click.pass_context
def share(ctx: click.Context, folder: Path) -> None:
    """Secret links to a folder: add, list, renew, revoke."""
    ctx.obj = folder


_url = click.option("--url", help="The address that phones reach; remembered (https://trees.example).")


def _public(folder: Path, url: str | None) -> str:
    """The address for links: asked for once where somebody sits at the terminal."""
    from care_planner.serve.share_links import public_address

    def ask() -> str:
        if not sys.stdin.isatty():
            return ""
        question = "Address that phones reach, such as https://trees.example (empty: this machine only)"
        return str(click.prompt(question, default="", show_default=False)).strip()

    return public_address(folder, url, ask)


@share.command("add")
@click.argument("name")
@click.option("--tree", help="Only this tree.")
@click.option("--bench", help="Only this bench.")
@click.option("--taxon", help="Only this taxon.")
@click.option("--work", help="Only this kind of work, such as pruning.")
@click.option("--works", is_flag=True, help="Only works, no walks and watches.")
@click.option("--walks", is_flag=True, help="Only the weekly bench walks.")
@click.option("--may-note", is_flag=True, help="The link may also take notes.")
@_url
@click.pass_obj
def share_add(
    folder: Path,
    name: str,
    tree: str | None,
    bench: str | None,
    taxon: str | None,
    work: str | None,
    works: bool,
    walks: bool,
    may_note: bool,
    url: str | None,
) -> None:
    """Make a secret link for one person."""
    with told(), the_serve_extra():
        from care_planner.serve.share_links import share_add as add

        wanted: dict[Literal["all", "tree", "bench", "taxon", "work", "works", "walks"], str | None] = {
            "tree": tree,
            "bench": bench,
            "taxon": taxon,
            "work": work,
            "works": "" if works else None,
            "walks": "" if walks else None,
        }
        say(add(folder, name, wanted, may_note, _public(folder, url), today_at(folder)))


@share.command("list")
@click.pass_obj
def share_list(folder: Path) -> None:
    """List the links, without their secrets."""
    with told(), the_serve_extra():
        from care_planner.serve.share_links import share_list as listed

        say(listed(folder))


@share.command("renew")
@click.argument("name")
@_url
@click.pass_obj
def share_renew(folder: Path, name: str, url: str | None) -> None:
    """Give a link a new secret."""
    with told(), the_serve_extra():
        from care_planner.serve.share_links import share_renew as renew

        say(renew(folder, name, _public(folder, url), today_at(folder)))


@share.command("revoke")
@click.argument("name")
@click.pass_obj
def share_revoke(folder: Path, name: str) -> None:
    """Take a link away."""
    with told(), the_serve_extra():
        from care_planner.serve.share_links import share_revoke as revoke

        say(revoke(folder, name))
