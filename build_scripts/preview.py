"""Serves a built handbook on this machine, as a host does."""

import errno
import sys
from collections.abc import Callable
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from build_scripts.environment.options import DEFAULT_PORT
from build_scripts.errors import BuildError
from build_scripts.offline.saved_release import TYPES
from build_scripts.release.host_headers import find_headers

ADDRESS = "127.0.0.1"


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


def open_server(
    folder: Path, port: int, handler: Callable[..., PreviewHandler] = PreviewHandler
) -> ThreadingHTTPServer:
    """Return a server for `folder`, listening; `handler` makes what answers one request.

    Raises BuildError when the port is taken or not allowed.
    """
    try:
        return _Server((ADDRESS, port), partial(handler, directory=str(folder)))
    except OSError as error:
        if error.errno not in (errno.EADDRINUSE, errno.EACCES):
            raise
        other = DEFAULT_PORT if port != DEFAULT_PORT else DEFAULT_PORT + 1
        raise BuildError(
            f"Port {port} is taken or not allowed: end the other program, or choose another port, such as "
            f"--port {other}"
        ) from None
