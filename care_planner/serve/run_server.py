"""The production server around the application: one process, a planner thread, and a pool for requests."""

import logging
import re
from collections.abc import Callable
from pathlib import Path

from waitress.server import create_server

from care_planner.serve.app import Service, create_app
from care_planner.serve.clock import Clock, Ticks
from care_planner.serve.notebook import Note, Notebook
from care_planner.serve.planner import Planner

THREADS = 16
BODY_OCTETS = 300 * 1024
CONNECTIONS = 400
IDLE_S = 30
# Only a proxy on this machine may say what the address was that the phone asked for.
PROXY = "127.0.0.1"

_SECRET = re.compile(r"/g/[^/\s\"'?]+")


class _NoSecrets(logging.Formatter):
    """Log lines without the secrets of addresses, whoever wrote them."""

    def format(self, record: logging.LogRecord) -> str:
        return _SECRET.sub("/g/...", super().format(record))


def run_server(
    folder: Path, host: str, port: int, clock: Clock, ticks: Ticks, note: Note, say: Callable[[str], None]
) -> None:
    """Serve a collection until interrupted. Raises OSError where the address cannot be had."""
    _log_without_secrets()
    planner = Planner(folder, clock, ticks)
    app = create_app(Service(folder, clock, planner, Notebook(folder, planner, note, ticks)))
    server = create_server(
        app,
        host=host,
        port=port,
        threads=THREADS,
        connection_limit=CONNECTIONS,
        channel_timeout=IDLE_S,
        max_request_body_size=BODY_OCTETS,
        max_request_header_size=32 * 1024,
        ident="",
        trusted_proxy=PROXY,
        trusted_proxy_count=1,
        trusted_proxy_headers={"x-forwarded-proto", "x-forwarded-host"},
        clear_untrusted_proxy_headers=True,
    )
    planner.start()
    say(f"serving {folder} at http://{host}:{port}/ (stop with Ctrl-C)")
    try:
        server.run()
    finally:
        server.close()
        planner.stop()


def _log_without_secrets() -> None:
    handler = logging.StreamHandler()
    handler.setFormatter(_NoSecrets("%(levelname)s %(message)s"))
    for name in ("care_planner", "waitress", "flask", "werkzeug"):
        logger = logging.getLogger(name)
        logger.handlers, logger.propagate = [handler], False
        logger.setLevel(logging.INFO if name == "care_planner" else logging.WARNING)
    # A line for each request that waits would bury the rest.
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
