"""The verb `attempts`: python3 build_scripts/handbook.py attempts [--engine NAME …]."""

import argparse
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from build_scripts.attempts.corpus import read_corpus
from build_scripts.attempts.table import render_table, write_table
from build_scripts.attempts.trying import EDITIONS, try_all
from build_scripts.checkout import ROOT
from build_scripts.engines.engine import NAMES
from build_scripts.environment.progress import Progress
from build_scripts.errors import BuildError

CORPUS = ROOT / "tests" / "attempts"
GUIDE = ROOT / "DEVELOPERS.md"


def main(arguments: Sequence[str]) -> int:
    """Try all attempts; writes the guide's table when all went well in all engines. Returns the code."""
    parser = argparse.ArgumentParser(prog="handbook.py attempts")
    parser.add_argument(
        "--engine", action="append", choices=NAMES, help="only in this engine (may be repeated)"
    )
    engines = parser.parse_args(arguments).engine or list(NAMES)
    try:
        with tempfile.TemporaryDirectory(prefix="handbook-attempts-") as folder:
            outcomes = list(try_all(read_corpus(CORPUS), engines, EDITIONS, Path(folder), Progress()))
    except (BuildError, ValueError) as error:
        print(error, file=sys.stderr)
        return 1
    wrong = [outcome for outcome in outcomes if outcome.wrong]
    for outcome in wrong:
        print(outcome)
    table = render_table(outcomes)
    print(table)
    if not wrong and set(engines) == set(NAMES):
        write_table(GUIDE, table)
        print(f"Written to {GUIDE.name}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
