"""The served feeds as plain files, for any web server or object store."""

from pathlib import Path

from care_planner.calendar.faults import CannotWrite
from care_planner.disk.read_bytes import bytes_if_there
from care_planner.disk.write_whole import FileMove, write_stages
from care_planner.folder.photographs import PHOTOS_FOLDER
from care_planner.folder.read_previous import PLAN_NAME
from care_planner.problems import Problem, ProblemsFound
from care_planner.serve.clock import Clock
from care_planner.serve.names import FEED_FOLDERS, SERVED_FOLDER
from care_planner.serve.published_page import PAGE_FILE, published_page
from care_planner.serve.read_served import FEED_NAME
from care_planner.serve.refresh import Refreshed, refresh

LIST_FILE = "care-planner-files.txt"
HEADERS_FILE = "HEADERS.txt"
HEADERS = """\
Serve every .ics file here with these headers, over https, under an address that is hard to guess:

Content-Type: text/calendar; charset=utf-8
Cache-Control: private, no-cache
ETag and Last-Modified: the server's own, from the file
X-Robots-Tag: noindex

No Content-Disposition: attachment, no content negotiation; compress only when a client asks for it.
Whoever has the address can read the feed.
"""


def publish(folder: Path, to: Path, clock: Clock) -> list[str]:
    """Plan the collection and write every feed to `to`; returns what a person should be told.

    Files and folders there are made anew, never written through a link; a file that holds its bytes already
    is left alone; feeds of ours that are no longer made are removed, and
    nothing else is. Raises what `refresh` raises, or CannotWrite.
    """
    if (why := _not_for_others(folder, to)) is not None:
        raise ProblemsFound([Problem("--to", 0, f"{to} {why}", "allowed: a folder of its own")])
    made = refresh(folder, clock)
    try:
        written = _write(made, to)
    except OSError as fault:
        raise CannotWrite(f"cannot write in {to}: {fault.strerror or fault}") from fault
    told = f"{len(made.feeds)} feeds in {to}, {written} of them new or changed; {PAGE_FILE} shows the week"
    return [*made.messages, f"{told} and the year"]


def _not_for_others(folder: Path, to: Path) -> str | None:
    """Why a folder is no place to publish in, None where it is one."""
    if folder.resolve().is_relative_to(to.resolve()):
        return "holds the collection itself, with its journal and its links"
    own = (folder / SERVED_FOLDER, folder / "journal", folder / "rules", folder / PHOTOS_FOLDER)
    if (to / PLAN_NAME).exists() or to.resolve() in [one.resolve() for one in own]:
        return "holds what care-planner keeps for itself, which others may not read"
    return None


def _write(made: Refreshed, to: Path) -> int:
    """Write what differs; returns how many feeds did. A file has the time of its feed's last change, for a
    web server's Last-Modified.
    """
    to.mkdir(parents=True, exist_ok=True)
    for one in FEED_FOLDERS:
        if (to / one).is_symlink():
            raise CannotWrite(f"{to / one} is a link; nothing was written. Remove it and publish again")
        (to / one).mkdir(exist_ok=True)
    listed = to / LIST_FILE
    text = b"" if listed.is_symlink() else bytes_if_there(listed) or b""
    before = set(text.decode("utf-8", "replace").splitlines())
    names = sorted(made.feeds)
    feeds = {name: made.feeds[name] for name in names}
    # Whatever a damaged list says, nothing but feeds is ours.
    gone = [name for name in sorted(before - set(names)) if FEED_NAME.fullmatch(name)]
    write_stages(
        [
            # Ours from now on, before the first is written: a kill between leaves nothing that nobody owns.
            [FileMove(listed, ("\n".join(sorted(before | set(names))) + "\n").encode())],
            [FileMove(to / HEADERS_FILE, HEADERS.encode()), FileMove(to / PAGE_FILE, published_page(made))],
        ]
    )
    moves = [FileMove(to / name, feed.plain, at=feed.change.at.timestamp()) for name, feed in feeds.items()]
    written = write_stages([moves])
    write_stages(
        [
            [FileMove(to / name, None) for name in gone],
            [FileMove(listed, ("\n".join(names) + "\n").encode())],
        ]
    )
    return written
