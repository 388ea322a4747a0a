"""A weather service on 127.0.0.1 in the layout of Meteostat's own, for the library's real code path.

Daily files are gzipped CSV, one a station and year; the list of stations is an SQLite file.
"""

import gzip
import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

COLUMNS = (
    "year,month,day,temp,temp_source,tmin,tmin_source,tmax,tmax_source,rhum,rhum_source,prcp,prcp_source,"
    "wspd,wspd_source,tsun,tsun_source"
)


class Service:
    """What the service answers: `files` by path, `broken` paths get status 500, and `asked` what came."""

    def __init__(self) -> None:
        self.files: dict[str, bytes] = {}
        self.broken: set[str] = set()
        self.asked: list[str] = []
        self.url = ""

    @property
    def environment(self) -> dict[str, str]:
        """The variables that point the library here."""
        return {
            "MS_DAILY_ENDPOINT": self.url + "/daily/{year}/{station}.csv.gz",
            "MS_STATIONS_DB_ENDPOINTS": f'["{self.url}/stations.db"]',
        }

    def add_station(self, station: str, first: date, end: date, tmin_c: Callable[[date], object]) -> None:
        """Days from `first` (in) to `end` (out): Tmax 8 degC over Tmin, wind 36 km/h, sunshine 90 min."""
        for year in range(first.year, end.year + 1):
            day = max(first, date(year, 1, 1))
            rows = [COLUMNS]
            while day < min(end, date(year + 1, 1, 1)):
                low = tmin_c(day)
                high = low + 8 if isinstance(low, float) else 5.0
                rows.append(
                    f"{day.year},{day.month},{day.day},{high - 4},ghcnd,{low},ghcnd,{high},ghcnd,"
                    "70,ghcnd,1.5,ghcnd,36,ghcnd,90,ghcnd"
                )
                day += timedelta(days=1)
            self.add_file(f"/daily/{year}/{station}.csv.gz", "\n".join(rows) + "\n")

    def add_file(self, path: str, text: str) -> None:
        self.files[path] = gzip.compress(text.encode())

    def add_list(self, folder: Path, stations: list[tuple[str, str, float, float, int]]) -> None:
        """The list of stations: id, name, latitude, longitude, elevation."""
        path = folder / "service.db"
        path.unlink(missing_ok=True)
        connection = sqlite3.connect(path)
        connection.executescript(
            "CREATE TABLE stations (id TEXT, country TEXT, region TEXT, latitude REAL, longitude REAL,"
            " elevation INTEGER, timezone TEXT);"
            "CREATE TABLE names (station TEXT, language TEXT, name TEXT);"
            "CREATE TABLE identifiers (station TEXT, key TEXT, value TEXT);"
            "CREATE TABLE inventory (station TEXT, provider TEXT, parameter TEXT, start TEXT, end TEXT,"
            " completeness REAL);"
        )
        for station, name, latitude, longitude, elevation in stations:
            row = (station, "XX", "XX", latitude, longitude, elevation, "UTC")
            connection.execute("INSERT INTO stations VALUES (?, ?, ?, ?, ?, ?, ?)", row)
            connection.execute("INSERT INTO names VALUES (?, 'en', ?)", (station, name))
        connection.commit()
        connection.close()
        self.files["/stations.db"] = path.read_bytes()


@contextmanager
def serving(service: Service) -> Iterator[None]:
    """Answers requests from `service.files` while the block runs; after it nobody listens any more."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            service.asked.append(self.path)
            known = service.files.get(self.path)
            status = 500 if self.path in service.broken else 404 if known is None else 200
            self.send_response(status)
            self.end_headers()
            if status == 200 and known is not None:
                self.wfile.write(known)

        def log_message(self, format: str, *args: object) -> None:
            """Keeps the test's output clean; what was asked is in `service.asked`."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    service.url = f"http://127.0.0.1:{server.server_port}"
    thread = threading.Thread(target=server.serve_forever, args=(0.02,))
    thread.start()
    try:
        yield
    finally:
        server.shutdown()
        thread.join()
        server.server_close()
