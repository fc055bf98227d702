"""A real Chromium that measures pages by itself: a page of ours opens them, types, and reports the times."""

import json
import os
import queue
import signal
import socket
import subprocess
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from http.server import ThreadingHTTPServer
from pathlib import Path
from typing import Any

from build_scripts.measure.slow_processor import slow_group
from build_scripts.preview import ADDRESS, PreviewHandler

DRIVER = Path(__file__).with_name("driver.html")
_LONGEST_JOB = 600.0
_ARGUMENTS = (
    "--headless",
    "--no-sandbox",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-popup-blocking",
    # The page that drives is behind the one that is measured.
    "--disable-renderer-backgrounding",
    "--disable-background-timer-throttling",
    "--disable-backgrounding-occluded-windows",
)


class DriverError(Exception):
    """The browser could not do a job; the message says which and why."""


class BrowserDriver:
    """One Chromium with one window under measurement; jobs are those of driver.html."""

    def __init__(self) -> None:
        self.group = 0
        """The browser's process group, once it is open."""
        self.jobs: queue.Queue[dict[str, Any]] = queue.Queue()
        self.reports: queue.Queue[dict[str, Any]] = queue.Queue()
        self.unreachable: str | None = None
        """Addresses that begin so get no answer any more."""

    def run(self, kind: str, slow: float = 1, **details: object) -> Any:
        """Do one job and return its outcome, with the whole browser slowed by `slow`.

        Raises DriverError when the page reports a failure or nothing within ten minutes.
        """
        with slow_group(self.group, slow):
            self.jobs.put({"kind": kind, **details})
            try:
                report = self.reports.get(timeout=_LONGEST_JOB)
            except queue.Empty:
                raise DriverError(f"{kind} {details}: nothing was heard from the browser") from None
        if "failure" in report:
            raise DriverError(f"{kind} {details}: {report['failure']}")
        return report["value"]


class _Handler(PreviewHandler):
    def __init__(self, driver: BrowserDriver, *arguments: Any, directory: str) -> None:
        self.driver = driver
        super().__init__(*arguments, directory=directory)

    def do_GET(self) -> None:  # noqa: N802  # the name the base class calls
        if self.path == "/job":
            self._answer(json.dumps(self.driver.jobs.get()).encode(), "application/json")
        elif self.path == "/driver.html":
            self._answer(DRIVER.read_bytes(), "text/html; charset=utf-8")
        elif self.driver.unreachable and self.path.startswith(self.driver.unreachable):
            self.close_connection = True
        else:
            super().do_GET()

    def do_POST(self) -> None:  # noqa: N802  # the name the base class calls
        self.driver.reports.put(json.loads(self.rfile.read(int(self.headers["Content-Length"]))))
        self._answer(b"", "text/plain")

    def _answer(self, body: bytes, kind: str) -> None:
        self.send_response(200)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)


def find_port() -> int:
    """Return a port at which nobody serves anything."""
    with socket.socket() as other:
        other.bind((ADDRESS, 0))
        port: int = other.getsockname()[1]
    return port


@contextmanager
def open_driver(executable: str, site: Path, port: int) -> Iterator[BrowserDriver]:
    """Serve `site` at this port and open Chromium on it, without a debugger, for the length of the block."""
    driver = BrowserDriver()
    server = ThreadingHTTPServer((ADDRESS, port), partial(_Handler, driver, directory=str(site)))
    server.daemon_threads = True
    threading.Thread(target=server.serve_forever, daemon=True).start()
    with tempfile.TemporaryDirectory(prefix="handbook-profile-", ignore_cleanup_errors=True) as profile:
        address = f"http://{ADDRESS}:{port}/driver.html"
        process = subprocess.Popen(
            [executable, *_ARGUMENTS, f"--user-data-dir={profile}", address],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            # A group of its own, so that it can be slowed and ended with all its processes.
            start_new_session=True,
        )
        driver.group = process.pid
        try:
            yield driver
        finally:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()
            server.shutdown()
