"""How long the portable edition takes from opening a page to its first live result, in each engine."""

import statistics
from pathlib import Path

from build_scripts.engines.engine import NAMES, start_engine

_LIVE = "return performance.getEntriesByName('handbook:live')[0]?.startTime ?? 0;"


def measure_portable_starts(folder: Path, page: str, rounds: int) -> dict[str, float]:
    """Return the median time in ms for each engine; `folder` is the unpacked portable edition."""
    times: dict[str, float] = {}
    for name in NAMES:
        found: list[float] = []
        with start_engine(name) as engine:
            # The first opening fills the system's caches and the browser's own.
            for _ in range(rounds + 1):
                engine.open("about:blank")
                engine.open((folder / page).as_uri())
                found.append(engine.wait_until(_LIVE, 120))
        times[name] = statistics.median(found[1:])
    return times
