"""Measures start, response, size and building, and prints each as a ratio or figure against its limit.

    python3 build_scripts/handbook.py measure [--quick]

The numbers also go to `.cache/measurements.json`. Machines are shared and noisy: only ratios of one run
count.
"""

import argparse
import json
import os
import shutil
import sys
import tempfile
from dataclasses import asdict, dataclass
from pathlib import Path

from build_scripts.checkout import CACHE, ROOT
from build_scripts.club import find_address
from build_scripts.environment.progress import Progress
from build_scripts.generator import read_settings
from build_scripts.measure.browser_driver import BrowserDriver, find_port, open_driver
from build_scripts.measure.browser_times import (
    measure_keystrokes,
    measure_longest_script,
    measure_second,
    measure_visits,
    warm_up,
)
from build_scripts.measure.building import measure_building
from build_scripts.measure.growing import measure_growth
from build_scripts.measure.libraries import measure_libraries
from build_scripts.measure.portable import measure_portable_starts
from build_scripts.measure.previewing import measure_previewing
from build_scripts.measure.proving import measure_proving
from build_scripts.measure.sizes import measure_own_script, measure_runtime
from build_scripts.measure.visits import find_unexpected, measure_first_repeat_update
from build_scripts.portable.pack import pack_handbook
from build_scripts.preview import ADDRESS
from build_scripts.site.building import build_site
from build_scripts.site.served import EDITIONS
from calculators import SLUGS

LIVE_PAGES = tuple(f"calculators/{slug}/" for slug in SLUGS)
SPEEDS = ((1, "normal speed", 14.0), (4, "slowed 4 times", 42.0))
INSTALLED_FOLDER = "installed"
_VISITS = (
    {"published": "/compare/published.html"}
    | {f"snapshot {slug}": f"/{page}" for slug, page in zip(SLUGS, LIVE_PAGES, strict=True)}
    | {f"base {slug}": f"/compare/base/{page}" for slug, page in zip(SLUGS, LIVE_PAGES, strict=True)}
)
RESULTS = CACHE / "measurements.json"


@dataclass(frozen=True, slots=True)
class Measured:
    """One line of the report; `limit` is the promise, None where nothing is promised."""

    what: str
    value: float
    unit: str
    limit: float | None = None

    @property
    def kept(self) -> bool:
        """True when the promise is kept, or none was made."""
        return self.limit is None or self.value <= self.limit

    def __str__(self) -> str:
        limit = "" if self.limit is None else f"  (at most {self.limit:g}{'' if self.kept else ': MISSED'})"
        return f"{self.what:<74} {self.value:8.2f} {self.unit}{limit}"


def main() -> int:
    """Measure everything; returns 1 when a promise is not kept."""
    parser = argparse.ArgumentParser(prog="handbook.py measure")
    parser.add_argument("--quick", action="store_true", help="fewer rounds, for trying a change")
    rounds = 3 if parser.parse_args().quick else 9
    progress = Progress()
    measured: list[Measured] = []
    with tempfile.TemporaryDirectory(prefix="handbook-measure-") as name:
        folder = Path(name)
        site = folder / "site"
        port = find_port()
        # Pages that save nothing: what is measured is the start from the browser's own cache. They know where
        # they are served: elsewhere, a link to another page would end the visit.
        build_site(site, progress, edition=EDITIONS[False], address=f"http://{ADDRESS}:{port}/")
        installed = folder / INSTALLED_FOLDER
        build_site(installed, progress, edition=EDITIONS[True])
        measured += _measure_sizes(site)
        with progress.show_step("building, with and without calculators, in turn"):
            ratio = measure_building(ROOT, folder, rounds)
        measured.append(
            Measured("building: handbook / the same articles without calculators", ratio, "times", 1.2)
        )
        with progress.show_step("proving the pages, and building them"):
            ratio = measure_proving(folder, rounds)
        measured.append(Measured("building: proof of the pages / the whole build", ratio, "times", 0.1))
        with progress.show_step("previewing a changed calculator, and building all of it"):
            waits = measure_previewing(folder, rounds)
        for what, (seconds, share) in waits.items():
            measured.append(Measured(f"preview: changed {what}, until its page is served", seconds, "s"))
            # Four seconds where a whole build takes thirteen.
            measured.append(Measured(f"preview: changed {what} / a whole build", share, "times", 0.31))
        with progress.show_step("libraries that were weighed"):
            measured += [Measured(what, value, "times") for what, value in measure_libraries(rounds)]
        measured += _measure_offline(installed, folder, rounds, progress)
        _add_comparisons(site)
        shutil.copytree(installed, site / INSTALLED_FOLDER)
        measured += _measure_browser(site, port, rounds, progress)
        with progress.show_step("a thousand articles"):
            measured += _measure_growth(folder, rounds)
    for line in measured:
        print(line)
    RESULTS.write_text(
        json.dumps([asdict(line) | {"kept": line.kept} for line in measured], indent=2), "utf-8"
    )
    print(f"Written to {os.path.relpath(RESULTS)}")
    return 0 if all(line.kept for line in measured) else 1


def _measure_sizes(site: Path) -> list[Measured]:
    return [
        Measured("the page's own script, compressed", measure_own_script(site) / 1e3, "KB", 15),
        Measured("all that is fetched to compute, compressed", measure_runtime(site) / 1e6, "MB", 6.9),
    ]


def _measure_offline(installed: Path, folder: Path, rounds: int, progress: Progress) -> list[Measured]:
    measured: list[Measured] = []
    page = find_address(read_settings(ROOT).measured)
    with progress.show_step("what a reader's browser asks of a host"):
        modules = Path(os.environ["HANDBOOK_NODE_MODULES"])
        visits = measure_first_repeat_update(installed, page, folder, modules)
    for name, visit in visits.items():
        measured.append(Measured(f"{name}: fetched, compressed", visit.bytes / 1e3, "KB"))
        limit = 1 if name == "repeat visit" else None
        measured.append(Measured(f"{name}: requests", visit.requests, "", limit))
    beyond = find_unexpected(visits["update of one article"], page)
    measured.append(Measured("update of one article: files beyond it, index and list", len(beyond), "", 0))
    with progress.show_step("the portable edition in each engine"):
        packed = pack_handbook(folder / "packed", progress)
        starts = measure_portable_starts(packed.folder, f"calculators/{SLUGS[0]}.html", rounds)
    measured.append(Measured("portable edition, ZIP", packed.packed / 1e6, "MB"))
    measured += [
        Measured(f"portable edition, first live result, {name}", time, "ms") for name, time in starts.items()
    ]
    return measured


def _compare_offline(driver: BrowserDriver, rounds: int) -> Measured:
    """The same page from the installed copy, its host gone, and from the browser's own cache with a host."""
    page = LIVE_PAGES[0]
    driver.run("save", address=f"/{INSTALLED_FOLDER}/{page}")
    driver.unreachable = f"/{INSTALLED_FOLDER}/"
    visits = {"offline": f"/{INSTALLED_FOLDER}/{page}", "cached": f"/{page}"}
    warm_up(driver, visits.values())
    times = measure_visits(driver, visits, 3 * rounds, 1)
    driver.unreachable = None
    return Measured(
        "first live result, offline / online from the cache", times["offline"] / times["cached"], "times", 1.1
    )


def _measure_browser(site: Path, port: int, rounds: int, progress: Progress) -> list[Measured]:
    measured: list[Measured] = []
    with open_driver(os.environ["HANDBOOK_CHROMIUM"], site, port) as driver:
        with progress.show_step("filling the browser's caches"):
            warm_up(driver, _VISITS.values())
        for slow, speed, frame in SPEEDS:
            with progress.show_step(f"first live result, {speed}"):
                measured += _compare_starts(driver, rounds, slow, speed)
            with progress.show_step(f"keystrokes, {speed}"):
                for slug, page in zip(SLUGS, LIVE_PAGES, strict=True):
                    late = measure_keystrokes(driver, f"/{page}", slug, rounds, slow)
                    what = f"keystroke to result, 95th percentile, {slug}, {speed}"
                    measured.append(Measured(what, late, "ms", frame))
        with progress.show_step("a second calculator in the same visit"):
            for slug, page, before in zip(SLUGS, LIVE_PAGES, (*LIVE_PAGES[1:], LIVE_PAGES[0]), strict=True):
                from_click, from_question = measure_second(driver, f"/{before}", f"/{page}", slug, rounds)
                what = f"first answer of a second calculator, {slug}"
                measured.append(Measured(f"{what}, from the question", from_question, "ms", 150))
                # The change of page, the theme's work, is most of it.
                measured.append(Measured(f"{what}, from the click", from_click, "ms"))
        with progress.show_step("first live result without a host"):
            measured.append(_compare_offline(driver, rounds))
        with progress.show_step("the page's own script"):
            longest = max(measure_longest_script(driver, f"/{page}") for page in LIVE_PAGES)
        measured.append(
            Measured("longest run of the page's own script in a frame over 50 ms", longest, "ms", 50)
        )
    return measured


def _measure_growth(folder: Path, rounds: int) -> list[Measured]:
    growth = measure_growth(os.environ["HANDBOOK_CHROMIUM"], folder, rounds)
    slowed = "slowed 4 times, of 1,000 articles"
    return [
        Measured("a page, of 1,000 articles / of 24", growth.weight, "times", 1.05),
        Measured("the site of 1,000 articles", growth.size, "MB", 80),
        Measured("building 1,000 articles / the same without calculators", growth.build, "times", 1.2),
        Measured(f"search: the index, from touching the field, {slowed}", growth.opened, "ms", 300),
        Measured(f"search: an answer, 95th percentile, {slowed}", growth.answered, "ms", 50),
    ]


def _compare_starts(driver: BrowserDriver, rounds: int, slow: float, speed: str) -> list[Measured]:
    times = measure_visits(driver, _VISITS, rounds, slow)
    measured = [Measured(f"empty page with Pyodide as published, {speed}", times["published"], "ms")]
    for tier, limit in (("snapshot", 0.25), ("base", 0.42)):
        for slug in SLUGS:
            ratio = times[f"{tier} {slug}"] / times["published"]
            measured.append(
                Measured(f"first live result, {tier}, {slug} / published, {speed}", ratio, "times", limit)
            )
    return measured


def _add_comparisons(site: Path) -> None:
    """Put beside the site: the interpreter as published, and a copy of the site without the snapshot."""
    compare = site / "compare"
    compare.mkdir()
    shutil.copytree(Path(os.environ["HANDBOOK_NODE_MODULES"]) / "pyodide", compare / "pyodide")
    (compare / "published.html").write_text(
        '<!doctype html><title>as published</title><script src="pyodide/pyodide.js"></script><script>'
        'loadPyodide({indexURL: "pyodide/"}).then(python => {'
        ' python.runPython("1 + 1"); window.ready = performance.now(); });</script>',
        "utf-8",
    )
    shutil.copytree(site, compare / "base", ignore=shutil.ignore_patterns("compare", "snapshot*"))


if __name__ == "__main__":
    sys.exit(main())
