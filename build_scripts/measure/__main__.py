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
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path

from build_scripts.environment.progress import Progress
from build_scripts.measure.browser_times import (
    Visit,
    measure_keystrokes,
    measure_long_tasks,
    measure_visits,
    open_browser,
)
from build_scripts.measure.building import measure_building
from build_scripts.measure.libraries import measure_libraries
from build_scripts.measure.sizes import measure_own_script, measure_runtime
from build_scripts.preview import open_server
from build_scripts.site import CACHE, ROOT, build_site
from calculators import CALCULATORS

LIVE_PAGE = f"calculators/{CALCULATORS[0].slug}/"
SPEEDS = ((1, "normal speed", 16.0), (4, "slowed 4 times", 50.0))
RESULTS = CACHE / "measurements.json"
_FIRST_RESULT = "performance.getEntriesByName('handbook:live')[0]"


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
        build_site(site, progress)
        measured += _measure_sizes(site)
        with progress.show_step("building, with and without calculators, in turn"):
            ratio = measure_building(ROOT, folder, rounds)
        measured.append(
            Measured("building: handbook / the same articles without calculators", ratio, "times", 1.2)
        )
        with progress.show_step("libraries that were weighed"):
            measured += [Measured(what, value, "times") for what, value in measure_libraries(rounds)]
        _add_comparisons(site)
        with _serve(site) as address:
            measured += _measure_browser(address, rounds, progress)
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
        Measured("all that is fetched to compute, compressed", measure_runtime(site) / 1e6, "MB", 9),
    ]


def _measure_browser(address: str, rounds: int, progress: Progress) -> list[Measured]:
    visits = (
        Visit("as published", f"{address}compare/published.html", "window.ready", "window.ready"),
        Visit("snapshot", f"{address}{LIVE_PAGE}", _FIRST_RESULT, f"{_FIRST_RESULT}.startTime"),
        Visit("base", f"{address}compare/base/{LIVE_PAGE}", _FIRST_RESULT, f"{_FIRST_RESULT}.startTime"),
    )
    limits = {"snapshot": 0.30, "base": 0.45}
    measured: list[Measured] = []
    with open_browser(os.environ["HANDBOOK_CHROMIUM"]) as browser:
        for slow, speed, frame in SPEEDS:
            with progress.show_step(f"first live result, {speed}"):
                times = measure_visits(browser, visits, rounds, slow)
            measured.append(
                Measured(f"empty page with Pyodide as published, {speed}", times["as published"], "ms")
            )
            measured += [
                Measured(
                    f"first live result, {tier} / as published, {speed}",
                    times[tier] / times["as published"],
                    "times",
                    limit,
                )
                for tier, limit in limits.items()
            ]
            with progress.show_step(f"keystrokes, {speed}"):
                for calculator in CALCULATORS:
                    page = f"{address}calculators/{calculator.slug}/"
                    _, late = measure_keystrokes(browser, page, calculator.slug, rounds, slow, progress.say)
                    measured.append(
                        Measured(
                            f"keystroke to result, 95th percentile, {calculator.slug}, {speed}",
                            late,
                            "ms",
                            frame,
                        )
                    )
        longest = measure_long_tasks(browser, f"{address}{LIVE_PAGE}")
        measured.append(
            Measured("longest stretch of the page's own script in a frame over 50 ms", longest, "ms", 50)
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


@contextmanager
def _serve(site: Path) -> Iterator[str]:
    server = open_server(site, 0)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/"
    finally:
        server.shutdown()
        thread.join()


if __name__ == "__main__":
    sys.exit(main())
