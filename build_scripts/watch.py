"""Builds again whenever an article or a calculator changes, and tells open pages what came of it.

First a draft, for which an author need not wait; when nothing more has changed for a while, what a host would
get takes its place. Each build has a process of its own: this one has the calculators' old code in memory.
"""

import subprocess
import sys
import threading
import time
from collections.abc import Iterable, Mapping, Sequence
from http.server import ThreadingHTTPServer
from pathlib import Path
from tempfile import TemporaryFile

from build_scripts.preview import ADDRESS
from build_scripts.previewed_pages import News

FINISH_AFTER = 5.0
"""Seconds without a change after which a draft is followed by the build itself."""

_LOOK_EVERY = 0.2

type Seen = Mapping[Path, int]
"""When each file was changed last."""


class Build:
    """One run of a build's command."""

    def __init__(self, command: Sequence[str]) -> None:
        """Start it."""
        self._told = TemporaryFile("w+", encoding="utf-8", errors="replace")  # noqa: SIM115  # closed at the end
        self._process = subprocess.Popen(
            command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=self._told
        )

    def is_done(self) -> bool:
        """Return whether it has come to an end."""
        return self._process.poll() is not None

    def wait(self) -> str:
        """Wait for its end; returns what has to be mended, or ""."""
        code = self._process.wait()
        with self._told as told:
            told.seek(0)
            words = told.read().strip()
        return (words or f"The build ended with code {code} and said nothing.") if code else ""

    def stop(self) -> None:
        """End it before its time; what it was about to replace is as it was."""
        self._process.terminate()
        self._process.wait()
        self._told.close()


def serve_preview(
    server: ThreadingHTTPServer,
    news: News,
    build: Sequence[str],
    finish: Sequence[str] | None,
    watched: Sequence[Path],
    seen: Seen,
) -> None:
    """Serve until Ctrl-C, and run the command `build` whenever something below `watched` changes.

    `seen` is what `look` returned before the first build, whose `news` are told already; `finish` is the
    command that follows a build later, if any.
    """
    threading.Thread(target=server.serve_forever, daemon=True).start()
    print(f"The handbook is at http://{ADDRESS}:{server.server_port}/ (Ctrl-C ends it)", flush=True)
    try:
        _follow_changes(news, build, finish, watched, seen)
    except KeyboardInterrupt:
        print("\nPreview ended.")
    finally:
        server.shutdown()


def _follow_changes(
    news: News, build: Sequence[str], finish: Sequence[str] | None, watched: Sequence[Path], seen: Seen
) -> None:
    waiting, since = finish, time.monotonic()
    finishing: Build | None = None
    try:
        while True:
            time.sleep(_LOOK_EVERY)
            now = look(watched)
            if now != seen:
                seen = now
                if finishing:
                    finishing.stop()
                _tell(news, Build(build).wait())
                waiting, finishing, since = finish, None, time.monotonic()
            elif finishing and finishing.is_done():
                # The pages say what they said before, so none is loaded again.
                news.error = _report(finishing.wait())
                finishing = None
            elif waiting and not news.error and time.monotonic() - since >= FINISH_AFTER:
                finishing, waiting = Build(waiting), None
    finally:
        if finishing:
            finishing.stop()


def _tell(news: News, error: str) -> None:
    news.error = _report(error)
    if not error:
        news.build = make_mark()
        print("Built again; open pages show it.", flush=True)


def _report(error: str) -> str:
    if error:
        print(f"{error}\nNot built: the pages still show what was there before.", file=sys.stderr, flush=True)
    return error


def make_mark() -> str:
    """Return what tells this build from all others, also from those of another preview."""
    return str(time.time_ns())


def look(watched: Iterable[Path]) -> Seen:
    """Return when the files below `watched` were changed last."""
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
