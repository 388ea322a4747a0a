"""A forecast service on 127.0.0.1, with the bodies and the manners of the open ones."""

import io
import json
import threading
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from time import sleep
from typing import BinaryIO


@dataclass
class Say:
    """One answer: what is said in place of a good one. drip_s: a byte only every so many seconds."""

    status: int = 200
    body: bytes = b""
    headers: dict[str, str] = field(default_factory=dict)
    cut: bool = False
    drip_s: float = 0.0


class Service:
    """Answers by path (without its query); `asked` holds (path with query, headers in small letters)."""

    def __init__(self) -> None:
        self.says: dict[str, Say] = {}
        self.asked: list[tuple[str, dict[str, str]]] = []
        self.url = ""

    @property
    def last(self) -> tuple[str, dict[str, str]]:
        return self.asked[-1]


def drip(out: BinaryIO, say: Say) -> None:
    """Byte by byte, until all is said or nobody listens any more."""
    with suppress(OSError):
        for byte in say.body:
            out.write(bytes([byte]))
            sleep(say.drip_s)


@contextmanager
def serving() -> Iterator[Service]:
    service = Service()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            service.asked.append((self.path, {k.lower(): v for k, v in self.headers.items()}))
            say = service.says.get(self.path.partition("?")[0], Say(404))
            self.send_response(say.status)
            for name, value in say.headers.items():
                self.send_header(name, value)
            if say.status not in (304,):
                self.send_header("Content-Length", str(len(say.body)))
            self.end_headers()
            if say.drip_s:
                drip(self.wfile, say)
            else:
                self.wfile.write(say.body[: len(say.body) // 2] if say.cut else say.body)

        def log_message(self, format: str, *args: object) -> None:
            """What was asked is in `service.asked`."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    service.url = f"http://127.0.0.1:{server.server_port}"
    thread = threading.Thread(target=server.serve_forever, args=(0.02,))
    thread.start()
    try:
        yield service
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


def metno_body(updated: datetime, lows: list[float], highs: list[float]) -> bytes:
    """Days at 0 degrees east from the day of issue on: 6-hourly steps, the low at night, the high by day."""
    start = updated.astimezone(UTC).replace(hour=0, minute=0, second=0, microsecond=0)
    steps = []
    for day, (low, high) in enumerate(zip(lows, highs, strict=True)):
        for six in range(4):
            at = start + timedelta(days=day, hours=6 * six)
            if at < updated - timedelta(hours=5):
                continue
            middle = (low + high) / 2
            night, noon = six == 0, six == 2
            details = {
                "air_temperature_min": low if night else high,
                "air_temperature_max": high if noon else middle,
                "precipitation_amount": 0.5 if noon else 0.0,
            }
            # The instants lie inside the extremes, so that a reader of instants gets another minimum.
            instant = {"air_temperature": middle, "cloud_area_fraction": 10.0, "wind_speed": 1.0}
            data = {"instant": {"details": instant}, "next_6_hours": {"details": details}}
            steps.append({"time": at.strftime("%Y-%m-%dT%H:%M:%SZ"), "data": data})
    meta = {"updated_at": updated.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"), "units": {}}
    return json.dumps({"type": "Feature", "properties": {"meta": meta, "timeseries": steps}}).encode()


def mosmix_body(issued: str, first_step: datetime, elements: dict[str, list[str]]) -> bytes:
    """One station's KMZ: hourly steps from `first_step` on, values as they are printed."""
    count = len(next(iter(elements.values())))
    steps = "".join(
        f"<dwd:TimeStep>{(first_step + timedelta(hours=n)).strftime('%Y-%m-%dT%H:%M:%S.000Z')}</dwd:TimeStep>"
        for n in range(count)
    )
    rows = "".join(
        f'<dwd:Forecast dwd:elementName="{name}"><dwd:value> {"   ".join(cells)} </dwd:value></dwd:Forecast>'
        for name, cells in elements.items()
    )
    text = (
        '<?xml version="1.0" encoding="ISO-8859-1" standalone="yes"?>'
        '<kml:kml xmlns:dwd="https://opendata.dwd.de/weather/lib/pointforecast_dwd_extension_V1_0.xsd"'
        ' xmlns:kml="http://www.opengis.net/kml/2.2"><kml:Document><kml:ExtendedData>'
        f"<dwd:ProductDefinition><dwd:IssueTime>{issued}</dwd:IssueTime><dwd:ForecastTimeSteps>{steps}"
        "</dwd:ForecastTimeSteps></dwd:ProductDefinition></kml:ExtendedData><kml:Placemark>"
        f"<kml:name>10315</kml:name><kml:description>MÜNSTER</kml:description><kml:ExtendedData>{rows}"
        "</kml:ExtendedData><kml:Point><kml:coordinates>7.70,52.13,52.0</kml:coordinates></kml:Point>"
        "</kml:Placemark></kml:Document></kml:kml>"
    )
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("MOSMIX_L_LATEST_10315.kml", text.encode("iso-8859-1"))
    return stream.getvalue()
