"""How much the browser has to fetch, compressed as any host would do it."""

import gzip
from pathlib import Path

from build_scripts.runtime.release import LIBRARY, LICENCES, PART

_PACKED = ".bin"
"""Compressed already; everything else is compressed by hosts on the way."""


OWN_SCRIPTS = ("live", "offline", "find")


def measure_own_script(site: Path) -> int:
    """Return the compressed size in bytes of the page's own scripts, all together."""
    return sum(_compress(script) for name in OWN_SCRIPTS for script in (site / "assets").glob(f"{name}.*.js"))


def measure_runtime(site: Path) -> int:
    """Return the compressed size in bytes of all that a page with one calculator, the largest, fetches."""
    (release,) = (path for path in (site / "runtime").iterdir() if path.is_dir())
    parts = list(release.glob(PART.format("*")))
    # The library comes only where the snapshot does not wake.
    others = {LICENCES, LIBRARY, *(path.name for path in parts)}
    files = [path for path in release.iterdir() if path.name not in others]
    return sum(map(_compress, files)) + max(map(_compress, parts)) + measure_own_script(site)


def _compress(path: Path) -> int:
    data = path.read_bytes()
    return len(data) if path.suffix == _PACKED else len(gzip.compress(data, 9))
