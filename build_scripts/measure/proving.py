"""What the proof over the finished pages adds to the time a build takes."""

import statistics
import subprocess
import sys
import time
from pathlib import Path

from build_scripts.checkout import ROOT
from build_scripts.environment.progress import Progress
from build_scripts.release.page_markup import read_renderer
from build_scripts.release.page_proof import prove_pages, read_allowed
from build_scripts.release.pages import open_pages
from build_scripts.site.building import build_site
from build_scripts.site.edition import Edition, Parts
from build_scripts.site.served import finish_site

_BUILD = (sys.executable, "-P", "-m", "build_scripts.site", "build", "--site")


def measure_proving(folder: Path, rounds: int) -> float:
    """Return the time of the proof over that of a whole build of the handbook, both in turn.

    The build is a process of its own; the proof begins with reading what is allowed, as it does in every
    build. `folder` holds what is made.
    """
    made: list[Parts] = []

    def finish_and_keep(site: Path, parts: Parts) -> None:
        finish_site(site, parts)
        made.append(parts)

    site = folder / "proven"
    build_site(site, Progress(), edition=Edition(finish_and_keep))
    (parts,) = made
    with open_pages(site) as pages:
        proofs: list[float] = []
        builds: list[float] = []
        for _ in range(rounds + 1):
            read_renderer.cache_clear()
            started = time.perf_counter()
            prove_pages(pages, read_allowed(parts.templates), ROOT)
            between = time.perf_counter()
            subprocess.run(
                [*_BUILD, str(folder / "built")],
                check=True,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
            proofs.append(between - started)
            builds.append(time.perf_counter() - between)
    # The first round only fills the caches.
    return statistics.median(proofs[1:]) / statistics.median(builds[1:])
