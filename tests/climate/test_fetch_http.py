"""One answer of a service: whole, in time and not too large, or none; against a service on this machine."""

import gzip
import socket
from threading import Thread
from time import monotonic

import pytest
from forecast_service import Say, drip, serving

from care_planner.climate import fetch_http
from care_planner.climate.fetch_http import fetch_address


@pytest.fixture
def service():
    with serving() as found:
        yield found


def test_an_answer_that_drips_is_given_up(service, monkeypatch):
    """Something comes within every wait for it, so only a limit on the whole ends it."""
    monkeypatch.setattr(fetch_http, "_WHOLE_S", 0.5, raising=False)
    service.says["/f"] = Say(body=b" " * 100, drip_s=0.05)
    begun = monotonic()
    found = fetch_address(service.url + "/f", {})
    assert found.fault == "the answer was not whole within 0.5 s"
    assert monotonic() - begun < 3


def test_an_answer_whose_head_drips_is_given_up(monkeypatch):
    monkeypatch.setattr(fetch_http, "_WHOLE_S", 0.5, raising=False)
    head = Say(body=b"HTTP/1.1 200 OK\r\n" + b"X: " + b"y" * 100, drip_s=0.05)
    with socket.create_server(("127.0.0.1", 0)) as listening:

        def answer():
            with listening.accept()[0] as there, there.makefile("wb", buffering=0) as out:
                drip(out, head)

        thread = Thread(target=answer)
        thread.start()
        found = fetch_address(f"http://127.0.0.1:{listening.getsockname()[1]}/", {})
        thread.join()
    assert found.fault == "the answer was not whole within 0.5 s"


@pytest.mark.parametrize("packed", [False, True])
def test_an_answer_that_is_too_large_is_told_as_that(service, packed):
    body = b" " * 20_000_002
    say = Say(body=gzip.compress(body), headers={"Content-Encoding": "gzip"}) if packed else Say(body=body)
    service.says["/f"] = say
    found = fetch_address(service.url + "/f", {})
    assert found.fault == "the answer is too large for a forecast"
