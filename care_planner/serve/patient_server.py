"""waitress with a deadline for a whole request, so that slow senders do not keep everybody else out.

waitress itself closes a connection only where nothing at all came for a while: a line of a header every few
seconds holds it for ever. Here a request must be whole, and an answer taken, within a limited time, and one
address may hold only a part of all connections.
"""

from collections.abc import Callable
from functools import partial
from ipaddress import ip_address
from socket import socket
from typing import Any

from waitress.channel import HTTPChannel
from waitress.server import BaseWSGIServer, create_server

from care_planner.serve.clock import Ticks

# Starting values: a form of 256 KB at 200 kbit/s takes ten seconds, a feed of 500 KB at 50 kbit/s eighty.
REQUEST_S = 12.0
# What comes at this speed at least may take longer: a photograph of a megabyte at 200 kbit/s takes 40 s.
LEAST_OCTETS_A_SECOND = 20_000
ANSWER_S = 90.0
IDLE_S = 30
LOOK_EVERY_S = 1
# Of all connections, for one address that is not this machine's own (a proxy speaks for many).
SHARE_OF_ONE_ADDRESS = 0.25


def patient_server(app: Callable[..., Any], ticks: Ticks, connections: int, **options: Any) -> Any:
    """A waitress server for `app` that takes so many connections; `ticks` are seconds that only rise.

    Raises OSError where the address cannot be had.
    """
    sockets: dict[int, Any] = {}
    server = create_server(
        app,
        map=sockets,
        connection_limit=connections,
        channel_timeout=IDLE_S,
        cleanup_interval=LOOK_EVERY_S,
        **options,
    )
    for one in [one for one in sockets.values() if isinstance(one, BaseWSGIServer)]:
        _make_patient(one, ticks, max(1, int(connections * SHARE_OF_ONE_ADDRESS)))
    return server


def _make_patient(server: Any, ticks: Ticks, most_of_one_address: int) -> None:
    server.channel_class = partial(_connection, ticks, most_of_one_address)
    server.maintenance = partial(_close_late, server, server.maintenance)


class _Channel(HTTPChannel):
    """A connection that knows since when its request has been coming, and its answer going."""

    def __init__(self, ticks: Ticks, *arguments: Any, **options: Any) -> None:
        self.ticks = ticks
        self.coming_since: float | None = ticks()
        self.going_since: float | None = None
        self.came = 0
        super().__init__(*arguments, **options)

    def received(self, data: bytes) -> bool:
        went_on = super().received(data)
        self.came += len(data)
        if self.request is None:
            self.coming_since, self.came = None, 0
        elif self.coming_since is None:
            self.coming_since = self.ticks()
        return went_on

    def is_late(self) -> bool:
        now = self.ticks()
        if not self.total_outbufs_len:
            self.going_since = None
        elif self.going_since is None:
            self.going_since = now
        patience = REQUEST_S + self.came / LEAST_OCTETS_A_SECOND
        return (self.coming_since is not None and now - self.coming_since > patience) or (
            self.going_since is not None and now - self.going_since > ANSWER_S
        )


def _connection(
    ticks: Ticks, most: int, server: Any, sock: socket, address: Any, *arguments: Any, **options: Any
) -> HTTPChannel | None:
    """A new connection, or none where its address holds its part already."""
    place = _place(address)
    if place is not None:
        held = sum(_place(channel.addr) == place for channel in list(server.active_channels.values()))
        if held >= most:
            sock.close()
            return None
    return _Channel(ticks, server, sock, address, *arguments, **options)


def _place(address: Any) -> str | None:
    """Whose a connection is: an address, or an IPv6 network of 64 bits; None for this machine's own proxy."""
    try:
        one = ip_address(str(address[0]).partition("%")[0])
    except ValueError:
        return None
    if one.is_loopback:
        return None
    return str(one) if one.version == 4 else str(int(one) >> 64)


def _close_late(server: Any, idle: Callable[[float], None], now: float) -> None:
    """Close connections that were idle for long, and those whose request or answer takes too long."""
    idle(now)
    for channel in list(server.active_channels.values()):
        if channel.is_late():
            channel.will_close = True
