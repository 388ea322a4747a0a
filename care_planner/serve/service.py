"""What every route needs: the collection served, and the link that a request came with."""

import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import wraps
from pathlib import Path
from threading import BoundedSemaphore, Event
from typing import Any

from flask import abort, request

from care_planner.serve.allowance import Allowance
from care_planner.serve.asking import Asking
from care_planner.serve.clock import Clock
from care_planner.serve.forms import form_token
from care_planner.serve.notebook import FormOutcome, Fresh, Notebook
from care_planner.serve.planner import Planner, ServedView
from care_planner.serve.read_shares import read_shares
from care_planner.serve.shares import Share, find_share

# Wrong secrets are answered slowly, but no crowd of them may keep everybody else waiting.
SLOW_ANSWER_S = 0.25
SLOW_AT_ONCE = 4
# Pages of one link. Starting values: a person turns some pages a minute, a page by itself asks a little.
READS_AT_ONCE = 120
SECONDS_A_READ = 0.25


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


def linked(service: Service) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
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


def outcome_shown(service: Service, link: Link) -> FormOutcome | None:
    """What became of the form that led to this page."""
    return service.notebook.outcome(link.share.digest, request.args.get("noted", ""))
