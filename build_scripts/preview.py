"""Serves a built handbook on this machine and builds it again when an article or a calculator changes."""

import errno
import subprocess
import sys
import threading
import time
from collections.abc import Iterable, Sequence
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from build_scripts.environment.options import DEFAULT_PORT
from build_scripts.errors import BuildError
from build_scripts.offline.saved_release import TYPES
from build_scripts.release.host_headers import find_headers

ADDRESS = "127.0.0.1"
_LOOK_EVERY = 1.0


class PreviewHandler(SimpleHTTPRequestHandler):
    """Serves a folder as a host does that reads one of the site's header files."""

    extensions_map = {**SimpleHTTPRequestHandler.extensions_map, **TYPES}  # noqa: RUF012  # declared so

    def end_headers(self) -> None:
        """Send the headers of the file, then end them."""
        for header, value in find_headers(self.path.partition("?")[0].lstrip("/")).items():
            self.send_header(header, value)
        super().end_headers()

    def log_message(self, format: str, *args: object) -> None:
        """Stay silent: a line for every file would bury what the author has to read."""


class _Server(ThreadingHTTPServer):
    def handle_error(self, request: object, client_address: object) -> None:
        # A browser that leaves a page drops what it no longer needs; that is nobody's mistake.
        if not isinstance(sys.exception(), ConnectionError):
            super().handle_error(request, client_address)  # type: ignore[arg-type]


def open_server(folder: Path, port: int) -> ThreadingHTTPServer:
    """Return a server for `folder`, listening.

    Raises BuildError when the port is taken or not allowed.
    """
    try:
        return _Server((ADDRESS, port), partial(PreviewHandler, directory=str(folder)))
    except OSError as error:
        if error.errno not in (errno.EADDRINUSE, errno.EACCES):
            raise
        other = DEFAULT_PORT if port != DEFAULT_PORT else DEFAULT_PORT + 1
        raise BuildError(
            f"Port {port} is taken or not allowed: end the other program, or choose another port, such as "
            f"--port {other}"
        ) from None


def serve_preview(server: ThreadingHTTPServer, build: Sequence[str], watched: Iterable[Path]) -> None:
    """Serve until Ctrl-C, and run the command `build` whenever something below `watched` changes."""
    watched = tuple(watched)
    # Looked at before the address is told: what is saved from then on is seen.
    seen = _look(watched)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    print(f"The handbook is at http://{ADDRESS}:{server.server_port}/ (Ctrl-C ends it)", flush=True)
    try:
        _build_on_change(build, watched, seen)
    except KeyboardInterrupt:
        print("\nPreview ended.")
    finally:
        server.shutdown()


def _build_on_change(build: Sequence[str], watched: Sequence[Path], seen: dict[Path, int]) -> None:
    while True:
        time.sleep(_LOOK_EVERY)
        now = _look(watched)
        if now == seen:
            continue
        seen = now
        if subprocess.run(build, stdout=subprocess.DEVNULL, check=False).returncode == 0:
            print("Built again; reload the page to see it.", flush=True)
        else:
            print("Not built: the pages still show what was there before.", file=sys.stderr, flush=True)


def _look(watched: Iterable[Path]) -> dict[Path, int]:
    files = (file for path in watched for file in ([path] if path.is_file() else path.rglob("*")))
    seen: dict[Path, int] = {}
    for file in files:
        if "__pycache__" in file.parts:
            continue
        try:
            seen[file] = file.stat().st_mtime_ns
        except FileNotFoundError:
            continue  # an editor's own file, gone again
    return seen
