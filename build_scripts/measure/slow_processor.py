"""Slows a group of processes by stopping them for most of every few milliseconds.

A browser can slow its main thread by itself, but not the worker that the calculators run in; this slows
everything alike, as a slower processor would.
"""

import os
import signal
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

_PERIOD = 0.012


@contextmanager
def slow_group(group: int, times: float) -> Iterator[None]:
    """Slow this process group by `times` for the length of the block; 1 leaves it alone.

    Works where processes can be stopped (Linux, macOS).
    """
    if times <= 1:
        yield
        return
    ended = threading.Event()
    brake = threading.Thread(target=_brake, args=(group, times, ended), daemon=True)
    brake.start()
    try:
        yield
    finally:
        ended.set()
        brake.join()


def _brake(group: int, times: float, ended: threading.Event) -> None:
    run, rest = _PERIOD / times, _PERIOD * (1 - 1 / times)
    while not ended.is_set():
        os.killpg(group, signal.SIGSTOP)
        time.sleep(rest)
        os.killpg(group, signal.SIGCONT)
        time.sleep(run)
