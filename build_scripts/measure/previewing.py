"""How long an author waits: from a changed calculator to its page in the preview, and for a whole build."""

import os
import shutil
import socket
import statistics
import subprocess
import sys
import time
from http.client import HTTPConnection
from pathlib import Path

from build_scripts.checkout import CACHE, ROOT
from build_scripts.preview import ADDRESS

PAGE = "/calculators/wire-gauge/"
CHANGES = {
    "a calculator's own file": ("calculators/wire_gauge/calculator.py", 'label="Recommended size'),
    "a file of all calculators": ("calculators/presentation/as_html.py", '"What a meter should show'),
}
"""Files, and what in them begins a text that stands in that page."""

_LIMIT = 300.0
_PROGRAM = (sys.executable, "-P", "-m", "build_scripts.house_rules", "build_scripts.site")


def measure_previewing(folder: Path, rounds: int) -> dict[str, tuple[float, float]]:
    """Return seconds and the share of a whole build's time, by what was changed; in a copy in `folder`."""
    checkout = folder / "previewed"
    for name in ("build_scripts", "calculators", "docs"):
        shutil.copytree(ROOT / name, checkout / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("mkdocs.yml", "pyproject.toml", "LICENSE"):
        shutil.copyfile(ROOT / name, checkout / name)
    kept = checkout / ".cache" / "runtime-parts"
    kept.mkdir(parents=True)
    for file in (CACHE / kept.name).glob("interpreter-*"):
        shutil.copyfile(file, kept / file.name)
    variables = os.environ | {"PYTHONPATH": str(checkout), "PYTHONPYCACHEPREFIX": str(folder / "compiled")}
    variables.pop("PYTHONDONTWRITEBYTECODE", None)
    times: dict[str, list[float]] = {what: [] for what in CHANGES}
    whole: list[float] = []
    with socket.create_server((ADDRESS, 0)) as free:
        port = free.getsockname()[1]
    with subprocess.Popen(
        [*_PROGRAM, "preview", "--port", str(port)],
        cwd=checkout,
        env=variables,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        encoding="utf-8",
    ) as preview:
        try:
            if not preview.stdout or "The handbook is at" not in preview.stdout.readline():
                raise RuntimeError("the preview did not start")
            for number in range(rounds + 1):
                for what, (name, beginning) in CHANGES.items():
                    mark = f" {number}"
                    started = time.perf_counter()
                    _change(checkout / name, beginning, mark)
                    _wait_for(port, beginning.partition('"')[2] + mark)
                    times[what].append(time.perf_counter() - started)
        finally:
            preview.terminate()
    name, beginning = next(iter(CHANGES.values()))
    for number in range(rounds):
        _change(checkout / name, beginning, f" whole {number}")
        started = time.perf_counter()
        subprocess.run(
            [*_PROGRAM, "build", "--quiet", "--site", str(folder / "whole")],
            cwd=checkout,
            env=variables,
            check=True,
            stdout=subprocess.DEVNULL,
        )
        whole.append(time.perf_counter() - started)
    # The first round only fills the caches.
    seconds = {what: statistics.median(some[1:]) for what, some in times.items()}
    return {what: (value, value / statistics.median(whole)) for what, value in seconds.items()}


def _change(path: Path, beginning: str, mark: str) -> None:
    before, _, behind = path.read_text("utf-8").partition(beginning)
    path.write_text(f'{before}{beginning}{mark}"{behind.partition('"')[2]}', "utf-8")


def _wait_for(port: int, words: str) -> None:
    end = time.monotonic() + _LIMIT
    while time.monotonic() < end:
        connection = HTTPConnection(ADDRESS, port)
        connection.request("GET", PAGE)
        page = connection.getresponse().read().decode()
        connection.close()
        if words in page:
            return
        time.sleep(0.05)
    raise TimeoutError(f"“{words}” did not come into the previewed page within {_LIMIT:g} s")
