"""Slows running processes by stopping them for most of every few milliseconds.

A browser can slow its main thread by itself, but not the worker that the calculators run in; this slows
everything alike, as a slower processor would.
"""

import os
import signal
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

_PERIOD = 0.012


@contextmanager
def slow_processes(processes: Sequence[int], times: float) -> Iterator[None]:
    """Slow these processes by `times` for the length of the block; 1 leaves them alone.

    Raises OSError on systems that cannot stop a process (Windows).
    """
    if times <= 1:
        yield
        return
    if not hasattr(signal, "SIGSTOP"):
        raise OSError("slowing a browser needs a system that can stop processes (Linux or macOS)")
    ended = threading.Event()
    brake = threading.Thread(target=_brake, args=(processes, times, ended), daemon=True)
    brake.start()
    try:
        yield
    finally:
        ended.set()
        brake.join()


def _brake(processes: Sequence[int], times: float, ended: threading.Event) -> None:
    run, rest = _PERIOD / times, _PERIOD * (1 - 1 / times)
    while not ended.is_set():
        _signal(processes, signal.SIGSTOP)
        time.sleep(rest)
        _signal(processes, signal.SIGCONT)
        time.sleep(run)


def _signal(processes: Sequence[int], number: int) -> None:
    for process in processes:
        try:
            os.kill(process, number)
        except ProcessLookupError:
            continue  # a tab's process may end on its own
