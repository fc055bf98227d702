"""Tries hostile inputs on all cores for a time and prints what they broke as tests, ready to be pasted.

    python3 build_scripts/handbook.py fuzz [--seconds N] [--cores N] [--seed N]

What is a fault stands in faults.py. The inputs come from the calculators' declarations, so that a calculator
added is tried as well. The same seed draws the same inputs in the same order.
"""

import argparse
import os
import secrets
import sys
import time
from collections import Counter
from collections.abc import Collection, Sequence
from multiprocessing import TimeoutError as NoAnswer
from multiprocessing import get_context
from multiprocessing.pool import AsyncResult

from build_scripts.environment.progress import ERASE_LINE
from build_scripts.fuzz.batches import Batch, Fault, list_batches, try_batch, warm_up
from build_scripts.fuzz.shrinking import shrink_texts, write_test

LONGEST_UNIT = 60.0
"""Seconds after which an input is taken for one that never ends."""

MOST_FAULTS = 20
_INTERVAL = 10.0  # seconds between two lines of progress where there is no terminal
_UNITS_PER_PROCESS = 100  # what calculators keep to answer again is given back now and then


def main(arguments: Sequence[str] | None = None) -> int:
    """Try inputs until the time is over; returns 1 when there were faults."""
    parser = argparse.ArgumentParser(prog="handbook.py fuzz")
    for name, default, shown in (
        ("seconds", 60, "60"),
        ("cores", os.cpu_count() or 1, "all"),
        ("seed", secrets.randbelow(10**6) + 1, "by chance"),
    ):
        words = f"{name} (default: {shown})"
        parser.add_argument(f"--{name}", type=_read_count, default=default, metavar="NUMBER", help=words)
    given = parser.parse_args(arguments)
    print(f"seed {given.seed}: {given.seconds} s on {given.cores} cores", flush=True)
    tried: Counter[str] = Counter()
    faults: dict[tuple[str, str], Fault] = {}
    told = time.monotonic()
    end = told + given.seconds
    context = get_context("spawn")
    with context.Pool(given.cores, warm_up, maxtasksperchild=_UNITS_PER_PROCESS) as pool:
        running: list[tuple[Batch, AsyncResult[tuple[int, list[Fault]]]]] = []
        batches = list_batches(given.seed)
        while time.monotonic() < end and len(faults) < MOST_FAULTS:
            while len(running) < 2 * given.cores:
                batch = next(batches)
                running.append((batch, pool.apply_async(try_batch, (batch,))))
            batch, result = running.pop(0)
            try:
                number, found = result.get(LONGEST_UNIT)
            except NoAnswer:
                print(f"an input of {batch[1]} never ends; its batch is {batch}", flush=True)
                return 1
            tried[batch[1]] += number
            for fault in found:
                faults.setdefault((fault[0], fault[3]), fault)
            told = _show(tried, len(faults), end, told)
    if sys.stderr.isatty():
        sys.stderr.write(ERASE_LINE)
    return report(tried, faults.values())


def report(tried: Counter[str], faults: Collection[Fault]) -> int:
    """Print how many inputs were tried and each fault as a test; returns the exit code."""
    listed = ", ".join(f"{name} {number:,}" for name, number in tried.items())
    print(f"{tried.total():,} inputs tried ({listed}): {len(faults) or 'no'} faults", flush=True)
    for target, about, texts, words in faults:
        smallest = shrink_texts(target, about, texts, words)
        print(f"\n{target} {about}: {words}\n\n{write_test(target, about, smallest, words)}", flush=True)
    return 1 if faults else 0


def _show(tried: Counter[str], faults: int, end: float, told: float) -> float:
    """Tell how far it is, if the last time, `told`, is long enough ago; returns when that was."""
    now = time.monotonic()
    live = sys.stderr.isatty()
    if now < told + (0 if live else _INTERVAL):
        return told
    words = f"{tried.total():,} inputs, {faults} faults, {max(0.0, end - now):.0f} s left"
    sys.stderr.write(f"{ERASE_LINE}{words}" if live else f"{words}\n")
    sys.stderr.flush()
    return now


def _read_count(text: str) -> int:
    number = int(text) if text.isdecimal() else 0
    if not 1 <= number <= 10**6:
        raise argparse.ArgumentTypeError(f"“{text}” is not a whole number from 1 to 1000000")
    return number


if __name__ == "__main__":
    sys.exit(main())
