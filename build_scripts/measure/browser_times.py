"""What a reader waits for: the first live result, and the result after every keystroke."""

import statistics
from collections.abc import Mapping

from build_scripts.measure.browser_driver import BrowserDriver

_WARM_UP = 3
"""Visits that only fill the browser's caches; it keeps compiled code for what it has seen more than once."""


def measure_visits(
    driver: BrowserDriver, visits: Mapping[str, str], rounds: int, slow: float
) -> dict[str, float]:
    """Return the median time in ms to the first result of each visit (name to address), taken in turn."""
    times: dict[str, list[float]] = {name: [] for name in visits}
    for turn in range(_WARM_UP + rounds):
        for name, address in visits.items():
            time = driver.run("visit", slow if turn >= _WARM_UP else 1, address=address)
            if turn >= _WARM_UP:
                times[name].append(time)
    return {name: statistics.median(found) for name, found in times.items()}


def measure_keystrokes(
    driver: BrowserDriver, address: str, calculator: str, rounds: int, slow: float
) -> float:
    """Return the 95th percentile, in ms, from a keystroke to the new result laid out on the page.

    Every field of the calculator that begins with a digit is typed into.
    """
    times: list[float] = driver.run("keystrokes", slow, address=address, calculator=calculator, rounds=rounds)
    return statistics.quantiles(times, n=20)[-1]


def measure_longest_script(driver: BrowserDriver, address: str) -> float:
    """Return the longest stretch, in ms, of the page's own script in any frame of over 50 ms; 0 is none."""
    longest: float = driver.run("longest", address=address, script="/assets/live.")
    return longest
