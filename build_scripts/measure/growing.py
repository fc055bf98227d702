"""What becomes of pages, site, build and search when the handbook grows to a thousand articles."""

import shutil
import statistics
import sys
from dataclasses import dataclass
from pathlib import Path

from build_scripts.attempts.handbooks import copy_engine, write_settings
from build_scripts.authoring.files import DOCS, PAGES
from build_scripts.checkout import CACHE, ROOT
from build_scripts.environment.progress import Progress
from build_scripts.measure.browser_driver import find_port, open_driver
from build_scripts.measure.building import measure_building
from build_scripts.preview import ADDRESS
from build_scripts.site.building import build_site
from build_scripts.site.served import EDITIONS

FEW, MANY = 24, 1000
SECTIONS = 8
PAGE = "subject-0/note-0"
"""An article that both handbooks have."""

QUERIES = (
    "hum",
    "brownuot",
    "which way round",
    "wire gauge",
    "knot 417",
    "lashing of the mast",
    "impedence",
    "mm2",
)
SLOW = 4

_SAID = (
    "Lash it where it bends, and look at it after the first mile.",
    "A knot that was wet at the parade is loose on the day after.",
    "What is bolted to the frame hums with it; felt between the two ends that.",
    "Measure before the shell is on, for afterwards nobody reaches it.",
    "Mark both halves with paint, or the second builder turns one of them.",
)


@dataclass(frozen=True)
class Growth:
    """What was measured."""

    weight: float
    """Of a page in a handbook of many articles, over the same page in one of few."""
    size: float
    """Of the site of many, in MB."""
    build: float
    """Time of building many, over that of the same articles without calculators."""
    opened: float
    """From touching the search field of a page among many to what it shows, slowed, in ms."""
    answered: float
    """95th percentile from a query to its answer there, slowed, in ms."""


def measure_growth(chromium: str, folder: Path, rounds: int) -> Growth:
    """Build both handbooks below `folder`, and search the large one."""
    sites: dict[int, Path] = {}
    port = find_port()
    for number in (FEW, MANY):
        root = write_made_up(folder / f"made-up-{number}", number)
        sites[number] = root / f"made-up-{number}"
        address = f"http://{ADDRESS}:{port}/"
        build_site(
            sites[number], Progress(), edition=EDITIONS[False], address=address, root=root, cache=CACHE
        )
    weights = {number: (site / PAGE / "index.html").stat().st_size for number, site in sites.items()}
    size = sum(path.stat().st_size for path in sites[MANY].rglob("*") if path.is_file())
    many = folder / f"made-up-{MANY}"
    (folder / "growing").mkdir()
    build = measure_building(many, folder / "growing", rounds, (__spec__.name, str(many)))
    with open_driver(chromium, sites[MANY], port) as driver:
        visits = [
            driver.run("search", SLOW, address=f"/{PAGE}/", queries=QUERIES) for _round in range(rounds)
        ]
    return Growth(
        weights[MANY] / weights[FEW],
        size / 1e6,
        build,
        statistics.median(visit["opened"] for visit in visits),
        statistics.quantiles([late for visit in visits for late in visit["answers"]], n=20)[-1],
    )


def write_made_up(root: Path, number: int) -> Path:
    """Write a handbook of so many made-up articles, each with a calculator, into `root`; returns it."""
    root.mkdir(parents=True)
    copy_engine(root)
    shutil.copytree(ROOT / PAGES, root / PAGES)
    write_settings(root, "")
    docs = root / DOCS
    docs.mkdir()
    (docs / "index.md").write_text("# Made up\n\nNothing here was ever built.\n", "utf-8")
    for count in range(number):
        subject = docs / f"subject-{count % SECTIONS}"
        subject.mkdir(exist_ok=True)
        (subject / f"note-{count // SECTIONS}.md").write_text(_write_article(count), "utf-8")
    return root


def _write_article(count: int) -> str:
    said = [_SAID[(count + turn) % len(_SAID)] for turn in range(len(_SAID))]
    return (
        f"# Knot {count}\n\n{said[0]} {said[1]}\n\n"
        "``` calculator\nwire-gauge: Lead\n"
        f"current = {1 + count % 40 / 10:.1f} A\nlength = {1 + count // 40 % 5} m\n```\n\n"
        f"## Lashing {count}\n\n{said[2]} {said[3]}\n\n## Proof {count}\n\n{said[4]} {said[0]}\n"
    )


if __name__ == "__main__":
    # As a process of its own, to be measured from its first line: the handbook, then the place of its site.
    build_site(Path(sys.argv[2]), Progress(), root=Path(sys.argv[1]))
