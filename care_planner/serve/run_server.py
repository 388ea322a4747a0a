"""The production server around the application: one process, a planner thread, and a pool for requests."""

from collections.abc import Callable
from errno import EADDRINUSE
from pathlib import Path
from threading import Thread
from typing import Any

from care_planner.calendar.faults import CannotWrite
from care_planner.problems import Problem, ProblemsFound
from care_planner.serve.ahead import water_of
from care_planner.serve.app import create_app
from care_planner.serve.clock import Clock, Ticks
from care_planner.serve.notebook import Note, Notebook
from care_planner.serve.patient_server import patient_server
from care_planner.serve.photo_routes import PHOTO_OCTETS
from care_planner.serve.planner import Planner
from care_planner.serve.server_log import log_to_the_terminal
from care_planner.serve.service import Service
from care_planner.serve.view_index import warm

THREADS = 16
LAST_PORT = 65535
BODY_OCTETS = 300 * 1024
CONNECTIONS = 400
# Beside connections: files of a plan, of each request and of the libraries. Starting value.
HANDLES_OF_OUR_OWN = 120
# Only a proxy on this machine may say that the phone came by https. The host is that of Host alone: many
# proxies pass a client's own X-Forwarded-Host on.
PROXY_OPTIONS: dict[str, Any] = {
    "trusted_proxy": "127.0.0.1",
    "trusted_proxy_count": 1,
    "trusted_proxy_headers": {"x-forwarded-proto"},
    "clear_untrusted_proxy_headers": True,
}


def run_server(
    folder: Path, host: str, port: int, clock: Clock, ticks: Ticks, note: Note, say: Callable[[str], None]
) -> None:
    """Serve a collection until interrupted. Raises OSError where the address cannot be had."""
    log_to_the_terminal()
    planner = Planner(folder, clock, ticks)
    app = create_app(Service(folder, clock, planner, Notebook(folder, planner, note, ticks)))
    try:
        server = patient_server(
            app,
            ticks,
            _connections(),
            host=host,
            port=port,
            threads=THREADS,
            max_request_body_size=PHOTO_OCTETS,
            max_request_header_size=32 * 1024,
            ident="",
            **PROXY_OPTIONS,
        )
    except ValueError:  # what waitress makes of a name that nobody knows
        what, allowed = f"'{host}' is no address of this machine", "allowed: 127.0.0.1 or another of its own"
        raise ProblemsFound([Problem("--host", 0, what, allowed)]) from None
    except OSError as fault:
        if fault.errno != EADDRINUSE:
            raise
        raise CannotWrite(
            f"port {port} of {host} is taken, perhaps by a care-planner that runs already: stop that one, or "
            f"name another with --port {port + 1 if port < LAST_PORT else port - 1}"
        ) from None
    planner.start()
    Thread(target=_keep_warm, args=(planner, clock), name="pages", daemon=True).start()
    say(f"serving {folder} at http://{host}:{port}/ (stop with Ctrl-C)")
    try:
        server.run()
    finally:
        server.close()
        planner.stop()


def _connections() -> int:
    """How many connections the process has file handles for, raising its own limit where it may.

    Raises CannotWrite where there are too few to serve at all.
    """
    try:
        import resource
    except ImportError:  # a system without such a limit
        return CONNECTIONS
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = CONNECTIONS + HANDLES_OF_OUR_OWN
    if soft < wanted and soft != resource.RLIM_INFINITY:
        soft = wanted if hard == resource.RLIM_INFINITY else min(wanted, hard)
        resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))
    found = CONNECTIONS if soft == resource.RLIM_INFINITY else min(CONNECTIONS, soft - HANDLES_OF_OUR_OWN)
    if found < THREADS:
        raise CannotWrite(
            f"this process may hold only {soft} files open (ulimit -n); serving needs "
            f"{HANDLES_OF_OUR_OWN + THREADS} or more"
        )
    return found


def _keep_warm(planner: Planner, clock: Clock) -> None:
    """Draw the large pages of each new plan before somebody asks for them."""
    number = 0
    while True:
        if not planner.wait(number + 1, 3600.0):
            continue
        view = planner.view
        if view.number <= number:  # the planner stops
            return
        number = view.number
        if view.inputs is not None:
            warm(view, clock(view.inputs.collection.site.timezone).date().toordinal())
            if view.plan is not None:
                water_of(view)
