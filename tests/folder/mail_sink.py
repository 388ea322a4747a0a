"""A mail server of the standard library alone: takes what is sent and keeps it, for one test."""

import base64
import socketserver
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from threading import Thread


@dataclass
class Sink:
    """What came: the commands in order, the passwords, the messages as bytes."""

    port: int = 0
    says: tuple[str, ...] = ("AUTH PLAIN",)
    refuses: str = ""
    commands: list[str] = field(default_factory=list)
    logins: list[str] = field(default_factory=list)
    messages: list[bytes] = field(default_factory=list)


class _Handler(socketserver.StreamRequestHandler):
    sink: Sink

    def handle(self) -> None:
        sink = self.sink
        self._answer("220 sink")
        for raw in self.rfile:
            line = raw.decode("utf-8").strip()
            word = line.split()[0].upper() if line else ""
            sink.commands.append(word)
            if word == sink.refuses:
                self._answer("550 not here")
            elif word == "EHLO":
                self._answer("\r\n".join(["250-sink", *(f"250-{one}" for one in sink.says), "250 8BITMIME"]))
            elif word == "AUTH":
                sink.logins.append(base64.b64decode(line.split()[2]).decode("utf-8"))
                self._answer("235 welcome")
            elif word == "DATA":
                self._answer("354 go on")
                sink.messages.append(self._message())
                self._answer("250 kept")
            elif word == "QUIT":
                self._answer("221 bye")
                return
            else:
                self._answer("250 ok" if word in ("MAIL", "RCPT", "RSET") else "502 unknown")

    def _message(self) -> bytes:
        held = []
        for raw in self.rfile:
            if raw == b".\r\n":
                break
            held.append(raw.removeprefix(b".") if raw.startswith(b"..") else raw)
        return b"".join(held)

    def _answer(self, text: str) -> None:
        self.wfile.write(f"{text}\r\n".encode())


@contextmanager
def sinking(sink: Sink) -> Iterator[Sink]:
    """Serve the sink on a free port of this machine."""
    handler = type("Handler", (_Handler,), {"sink": sink})
    with socketserver.ThreadingTCPServer(("127.0.0.1", 0), handler) as server:
        server.daemon_threads = True
        sink.port = server.server_address[1]
        thread = Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
        thread.start()
        try:
            yield sink
        finally:
            server.shutdown()
            thread.join()
