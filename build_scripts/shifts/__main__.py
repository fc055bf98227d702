"""Shifts each threshold of the calculators a little, and tells which shifts no test notices.

    python3 build_scripts/handbook.py shifts [--cores N] [NAME …]

One after the other each threshold (what is one, thresholds.py says) is shifted up and down, by one if it is a
whole number and by 5 % if not, and the tests that can notice run folder by folder, its own room's first, up
to the first that fails. Only tests in Python alone are run, and of those only the ones with figures of their
own: what a drawn example notices today, it may not notice tomorrow. With names, only what has one of them in
its place or name is shifted.
"""

import argparse
import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from build_scripts.checkout import ROOT
from build_scripts.errors import BuildError
from build_scripts.shifts.shifted_import import VARIABLE
from build_scripts.shifts.thresholds import Threshold, list_tests, list_thresholds, read_trees

PYTEST = (
    *("-m", "pytest", "-p", "build_scripts.shifts.shifted_import", "--numprocesses=0", "--exitfirst"),
    # What failed here is not what failed last for whoever runs the tests next.
    *("--quiet", "--override-ini=cache_dir=.cache/pytest-shifts", "-m", "not prepared and not hypothesis"),
)
PASSED, FAILED, BROKEN, EMPTY = 0, 1, 2, 5
"""How pytest ends: all tests passed, one failed, one could not even be imported, or there is none to run."""

ENDLESS = -1
"""And when it was ended because it took many times as long as without a shift."""

_TIMES = 10
_LEAST = 60.0
"""Seconds that a run may take in any case."""


def main(arguments: Sequence[str]) -> int:
    """Shift all thresholds and print what no test noticed; returns 1 if there is any."""
    parser = argparse.ArgumentParser(prog="handbook.py shifts")
    parser.add_argument("--cores", type=int, default=2, metavar="NUMBER", help="runs at a time (default: 2)")
    parser.add_argument("names", nargs="*", metavar="NAME", help="shift only what has this in place or name")
    given = parser.parse_args(arguments)
    try:
        unnoticed = list(list_unnoticed(ROOT, given.names, given.cores))
    except BuildError as error:
        print(error, file=sys.stderr)
        return 1
    for threshold, value in unnoticed:
        print(f"{threshold}: {threshold.value:g} shifted to {value:g} is noticed by no test")
    return 1 if unnoticed else 0


def list_unnoticed(root: Path, names: Sequence[str], cores: int) -> Iterator[tuple[Threshold, float]]:
    """Yield each shift that no test notices; raises BuildError where tests fail without any."""
    trees = read_trees(root)
    found = [one for one in list_thresholds(trees) if not names or any(name in str(one) for name in names)]
    tests = {file: list_tests(trees, file, root) for file in {one.file for one in found}}
    started = time.monotonic()
    limit = _check_tests(root, sorted({folder for folders in tests.values() for folder in folders}))
    shifts = [(one, value) for one in found for value in one.list_shifts()]
    noticed = 0
    with ThreadPoolExecutor(cores) as pool:
        runs = pool.map(
            lambda shift: is_noticed(root, shift[0], shift[1], tests[shift[0].file], limit), shifts
        )
        for number, ((one, value), seen) in enumerate(zip(shifts, runs, strict=True), start=1):
            noticed += seen
            words = "noticed" if seen else "NOT NOTICED"
            print(f"{number} of {len(shifts)}: {one} to {value:g}: {words}", flush=True)
            if not seen:
                yield one, value
    seconds = time.monotonic() - started
    print(f"{len(found)} thresholds, {len(shifts)} shifts, {noticed} noticed, in {seconds:.0f} s")


def is_noticed(
    root: Path, threshold: Threshold, value: float, folders: Sequence[str], limit: float = _LEAST
) -> bool:
    """Return whether a test fails, or takes a folder beyond `limit` s, when the threshold has this value."""
    place = {"file": threshold.file, "line": threshold.line, "column": threshold.column}
    told = {VARIABLE: json.dumps({**place, "value": value})}
    # One run collects all of its tests before the first: alone, a folder that notices costs its own only.
    for folder in folders:
        ended, said = _run_tests(root, [folder], told, limit)
        if ended in (FAILED, BROKEN, ENDLESS):
            return True
        if ended not in (PASSED, EMPTY):
            raise BuildError(f"The tests of {threshold} could not be run:\n{said}")
    return False


def _check_tests(root: Path, folders: Sequence[str]) -> float:
    """Return how long the tests may take with a shift, in seconds; raises BuildError if they fail without."""
    started = time.monotonic()
    ended, said = _run_tests(root, folders, {})
    if ended != PASSED:
        raise BuildError(f"Without any shift these tests do not pass:\n{said}")
    return _LEAST + _TIMES * (time.monotonic() - started)


def _run_tests(
    root: Path, folders: Sequence[str], told: Mapping[str, str], limit: float | None = None
) -> tuple[int, str]:
    """Return how the tests ended, and what pytest said."""
    variables = {name: text for name, text in os.environ.items() if name != VARIABLE}
    try:
        done = subprocess.run(
            [sys.executable, *PYTEST, *folders],
            cwd=root,
            env={**variables, **told, "PYTHONPATH": os.pathsep.join((str(root), str(ROOT)))},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            errors="replace",
            check=False,
            timeout=limit,
        )
    except subprocess.TimeoutExpired:
        return ENDLESS, ""
    return done.returncode, done.stdout.strip()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
