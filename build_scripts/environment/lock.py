"""One start at a time prepares the environment, or builds a place; another one waits and says so."""

from __future__ import annotations

import contextlib
import os
import sys
import time
from typing import TYPE_CHECKING, BinaryIO

if TYPE_CHECKING:
    from collections.abc import Iterator

    from build_scripts.environment.progress import Progress

WAIT_INTERVAL = 0.2
# The holder's number is written after the locked first byte: Windows keeps others from reading that one.
NUMBER_OFFSET = 1


@contextlib.contextmanager
def hold_lock(path: str, progress: Progress, task: str = "preparing the environment") -> Iterator[None]:
    """Hold the lock file until the block ends; whoever waits is told of the `task`.

    The operating system drops the lock of a process that ends in whatever way, so a lock file that a dead
    process left behind is simply taken over.
    """
    os.makedirs(os.path.dirname(path), exist_ok=True)
    with open(path, "a+b") as file:
        announced = False
        while not _take(file):
            if not announced:
                progress.say(f"Another start (process {_find_holder(file)}) is {task}; waiting for it …")
                announced = True
            time.sleep(WAIT_INTERVAL)
        file.truncate(0)
        file.write(b"\0" + str(os.getpid()).encode("ascii"))
        file.flush()
        try:
            yield
        finally:
            _release(file)


def _find_holder(file: BinaryIO) -> str:
    file.seek(NUMBER_OFFSET)
    return file.read().decode("ascii", "replace") or "unknown"


if sys.platform == "win32":
    import msvcrt

    def _take(file: BinaryIO) -> bool:
        file.seek(0)
        try:
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def _release(file: BinaryIO) -> None:
        file.seek(0)
        msvcrt.locking(file.fileno(), msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    def _take(file: BinaryIO) -> bool:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            return False
        return True

    def _release(file: BinaryIO) -> None:
        fcntl.flock(file, fcntl.LOCK_UN)
