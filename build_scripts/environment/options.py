"""The verbs of the one command and what may follow each of them."""

from __future__ import annotations

import argparse
from pathlib import Path

DEFAULT_PORT = 8000
HIGHEST_PORT = 65535


def make_parser() -> argparse.ArgumentParser:
    """The verbs as the terminal's help shows them."""
    parser = argparse.ArgumentParser(
        prog="handbook.py",
        description="The handbook's one command. It prepares its own environment in .cache/, once; test, "
        "measure and picture may install browsers and a simulator as system packages (see README.md).",
    )
    verbs = parser.add_subparsers(dest="verb", required=True, metavar="VERB")
    preview = verbs.add_parser(
        "preview",
        help="build the site, serve it on this machine and print the address",
        description="Build the site, serve it on this machine and print the address. "
        "What changes is built again.",
    )
    preview.add_argument(
        "--port",
        type=_read_port,
        default=DEFAULT_PORT,
        metavar="NUMBER",
        help="serve it at this port (default: %(default)s)",
    )
    preview.add_argument(
        "--offline",
        action=argparse.BooleanOptionalAction,
        default=False,
        help="let the browser save it, as readers' browsers do (default: not, so that every change is seen)",
    )
    build = verbs.add_parser(
        "build",
        help="build the site into site/",
        description="Check the articles and build the site.",
    )
    build.add_argument("--site", type=Path, metavar="FOLDER", help="build into this folder (default: site)")
    # The preview's own builds name it, so that pages are exchanged in place there as well.
    build.add_argument("--address", help="where the site will be, if not where mkdocs.yml says")
    build.add_argument(
        "--offline",
        action=argparse.BooleanOptionalAction,
        default=None,
        help="whether readers' browsers save it (default: as mkdocs.yml says)",
    )
    build.add_argument(
        "--draft",
        action="store_true",
        help="build sooner, for whoever is writing: pages then start Python more slowly",
    )
    build.add_argument("--quiet", action="store_true", help="say only what has to be mended")
    pack = verbs.add_parser(
        "pack",
        help="make the portable edition: one ZIP, and the same as a folder, for a memory stick",
        description="Make the portable edition: one ZIP, and the same as a folder, that opens without a "
        "server and without a network by a double click on its index.html.",
    )
    pack.add_argument("--out", type=Path, metavar="FOLDER", help="put both there (default: portable)")
    test = verbs.add_parser(
        "test",
        help="run every check: format, lint, types, a minute of fuzz, a strict build of the site, tests",
        description="Run every check: format, lint, types, a minute of fuzz, a strict build of the site, "
        "tests. What follows -- is given to pytest, and then only the tests are run: "
        "test -- tests/calculators -k wire",
    )
    test.add_argument(
        "--quick",
        action="store_true",
        help="only format, lint, types and the tests that need no browser, no Node and no simulator",
    )
    verbs.add_parser(
        "compute",
        help="compute in the terminal: compute SLUG name=value ... [--json]",
        add_help=False,
    )
    verbs.add_parser(
        "fuzz",
        help="try hostile inputs on all cores for a time; print what they broke as tests",
        description="Try hostile inputs on all cores for a time and print what they broke as tests, ready to "
        "be pasted. --seconds says for how long (60), --cores on how many, --seed repeats a run.",
    )
    verbs.add_parser(
        "shifts",
        help="shift each threshold of the calculators a little; tell which shifts no test notices",
        description="Shift each threshold of the calculators up and down, one at a time, run the tests that "
        "can notice, and print those shifts that none notices. Names after it choose thresholds; --cores "
        "says how many run at a time (2).",
    )
    verbs.add_parser(
        "attempts",
        help="try in three browsers what a stranger may try; write the table of it into DEVELOPERS.md",
        description="Try all lines of tests/attempts: what checks refuse, and what is built and opened in "
        "three browsers, served and portable. The table of it is written into DEVELOPERS.md. --engine NAME "
        "takes one browser only, and writes nothing.",
    )
    verbs.add_parser(
        "compare",
        help="tell which embedded blocks another commit answers otherwise: compare BASE",
        description="Compare this checkout with another commit: print each embedded block whose verdict or "
        "main figure differs, with article and line. The other commit's calculators are run: name one that "
        "you trust.",
    )
    verbs.add_parser(
        "measure",
        help="measure start-up, response, size and building time; print them as ratios of one run",
        description="Measure start-up, response, size and building time; print them as ratios of one run. "
        "--quick takes fewer rounds.",
    )
    verbs.add_parser(
        "picture",
        help="take the README's picture again",
        description="Take the README's picture again, of the real pages in a real browser.",
    )
    return parser


def _read_port(text: str) -> int:
    port = int(text) if text.isdecimal() else 0
    if not 1 <= port <= HIGHEST_PORT:
        raise argparse.ArgumentTypeError(f"“{text}” is not a port; allowed: 1 to {HIGHEST_PORT}")
    return port
