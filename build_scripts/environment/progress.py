"""Tells what goes on in long steps: a live counter on a terminal, a line before and after elsewhere."""

from __future__ import annotations

import contextlib
import sys
import threading
import time
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from collections.abc import Iterator

LIVE_INTERVAL = 0.5
ERASE_LINE = "\r\x1b[K"


class Progress:
    """Writes to standard error, so that what a command computes stays alone on standard output."""

    def __init__(self, stream: TextIO | None = None) -> None:
        self.stream = sys.stderr if stream is None else stream
        self.live = self.stream.isatty()

    def say(self, text: str) -> None:
        """Write one line."""
        self.stream.write(text + "\n")
        self.stream.flush()

    @contextlib.contextmanager
    def show_step(self, name: str) -> Iterator[None]:
        """Show the step's name and the seconds it has taken until the block ends."""
        started = time.monotonic()
        ended = threading.Event()
        counter = threading.Thread(target=self._count, args=(name, started, ended), daemon=True)
        if self.live:
            counter.start()
        else:
            self.say(f"{name} …")
        outcome = "stopped"
        try:
            yield
            outcome = "done"
        except Exception:
            outcome = "failed"
            raise
        finally:
            ended.set()
            if self.live:
                counter.join()
                self.stream.write(ERASE_LINE)
            self.say(f"{name}: {outcome}, {time.monotonic() - started:.1f} s")

    def _count(self, name: str, started: float, ended: threading.Event) -> None:
        while True:
            self.stream.write(f"{ERASE_LINE}{name} … {time.monotonic() - started:.0f} s")
            self.stream.flush()
            if ended.wait(LIVE_INTERVAL):
                return
