"""A host that does to its readers what hosts, networks and their failures do."""

import re
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from functools import partial
from http.server import SimpleHTTPRequestHandler
from pathlib import Path
from urllib.parse import urlsplit

from tests.conftest import Server

TYPES = {
    ".wasm": "application/wasm",
    ".js": "text/javascript",
    ".json": "application/json",
    ".html": "text/html",
}


@dataclass
class Host:
    """Serves a folder below `base` at one port; what it does wrong can be changed while it runs.

    `faults` names, by path below `base`, one of: a status ("404", "500"), "truncated" (half of the file as if
    it were whole), "broken off" (the connection ends in the middle), "altered" (one bit), "endless" (never
    ends), "silent" (stops in the middle and stays open), "moved" (redirected to another name).
    """

    folder: Path
    port: int
    base: str = "/"
    faults: dict[str, str] = field(default_factory=dict)
    types: dict[str, str] = field(default_factory=dict)
    headers: dict[str, str] = field(default_factory=dict)
    requests: list[str] = field(default_factory=list)
    """Paths asked for, in order."""

    saving: list[str] = field(default_factory=list)
    """Those among them that a service worker asked for."""

    stop_after_saving: int | None = None
    """The host is gone after so many requests of a service worker."""

    _server: Server | None = None
    _connections: set[socket.socket] = field(default_factory=set)
    _changing: threading.Lock = field(default_factory=threading.Lock)

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}{self.base}"

    def start(self) -> None:
        """Listen; the same address again after a stop."""
        handler = partial(_Handler, host=self)
        # A stop that is under way gives the port back first.
        with self._changing:
            assert self._server is None
            self._server = Server(("127.0.0.1", self.port), handler)
        threading.Thread(target=self._server.serve_forever, args=(0.05,), daemon=True).start()

    def stop(self) -> None:
        """Be gone, with every connection that is open."""
        with self._changing:
            server, self._server = self._server, None
            if server is None:
                return
            server.shutdown()
            server.server_close()
        for connection in list(self._connections):
            with suppress(OSError):
                connection.shutdown(socket.SHUT_RDWR)

    def forget(self) -> None:
        """Begin to count anew."""
        self.requests.clear()
        self.saving.clear()

    def note(self, path: str, from_worker: bool) -> bool:
        """Note a request; False if the host is gone before it answers."""
        self.requests.append(path)
        if from_worker and path != "service_worker.js":
            self.saving.append(path)
            if self.stop_after_saving is not None and len(self.saving) > self.stop_after_saving:
                threading.Thread(target=self.stop).start()
                return False
        return True


class _Handler(SimpleHTTPRequestHandler):
    def __init__(self, *arguments: object, host: Host) -> None:
        self.host = host
        super().__init__(*arguments, directory=str(host.folder))  # type: ignore[arg-type]

    def setup(self) -> None:
        self.host._connections.add(self.request)
        super().setup()

    def finish(self) -> None:
        self.host._connections.discard(self.request)
        with suppress(OSError):
            super().finish()

    def translate_path(self, path: str) -> str:
        return super().translate_path("/" + path.removeprefix(self.host.base))

    def guess_type(self, path: str) -> str:  # type: ignore[override]
        return (TYPES | self.host.types).get(Path(path).suffix) or super().guess_type(path)

    def end_headers(self) -> None:
        for name, value in self.host.headers.items():
            self.send_header(name, value)
        super().end_headers()

    def do_GET(self) -> None:  # the base class calls it so
        # A browser that takes this for its proxy asks with the whole address.
        path = self.path = urlsplit(self.path).path
        name = path.removeprefix(self.host.base)
        from_worker = self.headers.get("Referer", "").endswith("/service_worker.js")
        if not self.host.note(name, from_worker):
            self.close_connection = True
            return
        if not path.startswith(self.host.base):
            self.send_error(404)
            return
        fault = self.host.faults.get(name)
        if fault is None:
            super().do_GET()
        elif fault.isdecimal():
            self.send_error(int(fault))
        elif fault == "moved":
            self.send_response(302)
            self.send_header("Location", f"{self.host.base}moved/{name}")
            self.end_headers()
        else:
            self._send_spoilt(Path(self.translate_path(path)), fault)

    def _send_spoilt(self, path: Path, fault: str) -> None:
        data = (path / "index.html" if path.is_dir() else path).read_bytes()
        sent = data[: len(data) // 2]
        length: int | None = len(data)
        if fault == "truncated":
            length = len(sent)
        elif fault == "altered":
            middle = len(data) // 2
            sent = data[:middle] + bytes([data[middle] ^ 1]) + data[middle + 1 :]
        elif fault == "endless":
            sent, length = data, None
        self.send_response(200)
        self.send_header("Content-Type", self.guess_type(str(path)))
        if length is not None:
            self.send_header("Content-Length", str(length))
        self.end_headers()
        self.wfile.write(sent)
        name = urlsplit(self.path).path.removeprefix(self.host.base)
        lasting = fault in ("endless", "silent")
        while lasting and self.host._server is not None and self.host.faults.get(name) == fault:
            if fault == "endless":
                self.wfile.write(b" ")
            time.sleep(0.02)

    def log_message(self, format: str, *args: object) -> None:
        return


def find_free_port() -> int:
    """Return a port that nothing listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def open_host(folder: Path, port: int, base: str = "/") -> Iterator[Host]:
    """A host for the length of the block."""
    host = Host(folder, port, base)
    host.start()
    try:
        yield host
    finally:
        host.stop()


def name_release(site: Path) -> str:
    """Return the name of the release that the service worker in `site` keeps."""
    found = re.search(r'"release":"([0-9a-f]{16})"', (site / "service_worker.js").read_text("utf-8"))
    assert found
    return found[1]
