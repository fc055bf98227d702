"""What calculators add to the time a build takes."""

import os
import shutil
import statistics
import subprocess
import sys
import time
from pathlib import Path

from build_scripts.authoring.fence import find_fences
from build_scripts.authoring.files import list_homes


def measure_building(root: Path, folder: Path, rounds: int) -> float:
    """Return build time with calculators over the time of the bare generator for the same articles.

    Both run as processes of their own, in turn; the browser's runtime is in the cache, as in every build but
    the first. `folder` holds what is made.
    """
    plain = folder / "plain"
    _write_plain_copy(root, plain)
    with_calculators = [
        sys.executable,
        "-P",
        "-m",
        "build_scripts.house_rules",
        "build_scripts.site",
        "build",
        "--site",
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
    kept = [line for line in settings.splitlines() if "build_scripts" not in line and line != "strict: true"]
    (folder / "mkdocs.yml").write_text("\n".join(kept), "utf-8")
    for article in (folder / "docs").rglob("*.md"):
        lines = article.read_text("utf-8").splitlines()
        for fence in reversed(list(find_fences(lines))):
            if fence.is_calculator:
                del lines[fence.first : fence.last + 1]
        article.write_text("\n".join(lines), "utf-8")
