"""Slows a group of processes by stopping them for most of every few milliseconds.

A browser can slow its main thread by itself, but not the worker that the calculators run in; this slows
everything alike, as a slower processor would. How long a stop has to be for that is measured first: what
stops and wakes takes time of its own, more or less of it from machine to machine.
"""

import mmap
import os
import signal
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache

_RUN = 0.0015
"""Seconds between two stops: short against what is measured, long against a waking up."""

_TURNS = 24
_STRETCH = 0.25

# Counts in the first eight bytes of a file, as fast as it can.
_REFERENCE = """
import mmap, sys
with open(sys.argv[1], "r+b") as file:
    count = memoryview(mmap.mmap(file.fileno(), 8)).cast("Q")
while True:
    count[0] += 1
"""


@contextmanager
def slow_group(group: int, times: float) -> Iterator[None]:
    """Slow this process group by `times` for the length of the block; 1 leaves it alone.

    Works where processes can be stopped (Linux, macOS).
    """
    if times <= 1:
        yield
        return
    with _stop_and_go(group, _find_rest(times)):
        yield


@contextmanager
def _stop_and_go(group: int, rest: float) -> Iterator[None]:
    ended = threading.Event()
    brake = threading.Thread(target=_brake, args=(group, rest, ended), daemon=True)
    brake.start()
    try:
        yield
    finally:
        ended.set()
        brake.join()


def _brake(group: int, rest: float, ended: threading.Event) -> None:
    while not ended.is_set():
        os.killpg(group, signal.SIGSTOP)
        time.sleep(rest)
        os.killpg(group, signal.SIGCONT)
        time.sleep(_RUN)


@cache
def _find_rest(times: float) -> float:
    """Return how long, in s, each stop has to be for a process to get a `times`-th of its work done."""
    with tempfile.NamedTemporaryFile() as file:
        file.write(bytes(8))
        file.flush()
        process = subprocess.Popen([sys.executable, "-c", _REFERENCE, file.name], start_new_session=True)
        count = memoryview(mmap.mmap(file.fileno(), 8, access=mmap.ACCESS_READ)).cast("Q")

        def work() -> float:
            begun, before = time.perf_counter(), count[0]
            time.sleep(_STRETCH)
            return (count[0] - before) / (time.perf_counter() - begun)

        try:
            while not count[0]:
                time.sleep(_STRETCH)
            rest = _RUN * (times - 1)
            found = []
            for _ in range(_TURNS):
                # Free and slowed in turn: the machine is shared, and its speed changes.
                free = work()
                with _stop_and_go(process.pid, rest):
                    slowed = work()
                # A third of the way each time, so that one odd stretch does not lead far astray.
                rest = max(0.0, rest + (_RUN + rest) * (times * slowed / free - 1) / 3)
                found.append(rest)
        finally:
            process.kill()
            process.wait()
    return statistics.median(found[_TURNS // 3 :])
