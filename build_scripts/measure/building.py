"""What calculators add to the time a build takes."""

import os
import shutil
import statistics
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

from build_scripts.authoring.fence import find_fences
from build_scripts.authoring.files import list_homes

BUILD = ("build_scripts.site", "build", "--site")
"""The module that builds this checkout, and its arguments before the folder of the site."""


def measure_building(root: Path, folder: Path, rounds: int, build: Sequence[str] = BUILD) -> float:
    """Return build time with calculators over the time of the bare generator for the same articles.

    Both run as processes of their own, in turn; the browser's runtime is in the cache, as in every build but
    the first. `folder` holds what is made; `build` builds the handbook in `root`.
    """
    plain = folder / "plain"
    _write_plain_copy(root, plain)
    with_calculators = [
        sys.executable,
        "-P",
        "-m",
        "build_scripts.house_rules",
        *build,
        str(folder / "built"),
    ]
    without = [
        sys.executable,
        "-P",
        "-m",
        "mkdocs",
        "build",
        "--quiet",
        "--config-file",
        str(plain / "mkdocs.yml"),
    ]
    # Compiled modules are kept for both, as they are on any machine after the first build.
    environment = os.environ | {"PYTHONPYCACHEPREFIX": str(folder / "compiled")}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    times: dict[int, list[float]] = {0: [], 1: []}
    for _ in range(rounds + 1):
        for number, command in enumerate((with_calculators, without)):
            started = time.perf_counter()
            subprocess.run(
                command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment
            )
            times[number].append(time.perf_counter() - started)
    # The first round only fills the caches.
    return statistics.median(times[0][1:]) / statistics.median(times[1][1:])


def _write_plain_copy(root: Path, folder: Path) -> None:
    # The club's articles come last: one may stand in the place of an engine's page.
    for home in reversed(list_homes(root)):
        shutil.copytree(home, folder / "docs", dirs_exist_ok=True)
    settings = (root / "mkdocs.yml").read_text("utf-8")
    # Without “plugins:” the generator brings its own search: articles have to be found in either.
    left = ("strict: true", "plugins: []")
    kept = [line for line in settings.splitlines() if "build_scripts" not in line and line not in left]
    (folder / "mkdocs.yml").write_text("\n".join(kept), "utf-8")
    for article in (folder / "docs").rglob("*.md"):
        lines = article.read_text("utf-8").splitlines()
        for fence in reversed(list(find_fences(lines))):
            if fence.is_calculator:
                del lines[fence.first : fence.last + 1]
        article.write_text("\n".join(lines), "utf-8")
