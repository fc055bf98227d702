"""What a reader waits for: the first live result, and the result after every keystroke."""

import statistics
import time
from collections.abc import Iterable, Mapping

from build_scripts.measure.browser_driver import BrowserDriver

_WARM_UP = 3
"""Visits before those that count; a browser keeps compiled code for what it has seen more than once."""

_STAY = 5.0
"""Seconds that such a visit lasts: a browser stores compiled code some time after it has compiled it."""


def warm_up(driver: BrowserDriver, addresses: Iterable[str]) -> None:
    """Visit each address as a reader who has been there before: the browser's caches are filled."""
    for address in list(addresses) * _WARM_UP:
        driver.run("visit", address=address)
        time.sleep(_STAY)


def measure_visits(
    driver: BrowserDriver, visits: Mapping[str, str], rounds: int, slow: float
) -> dict[str, float]:
    """Return the median time in ms to the first result of each visit (name to address), taken in turn."""
    times: dict[str, list[float]] = {name: [] for name in visits}
    for _ in range(rounds):
        for name, address in visits.items():
            times[name].append(driver.run("visit", slow, address=address))
    return {name: statistics.median(found) for name, found in times.items()}


def measure_keystrokes(
    driver: BrowserDriver, address: str, calculator: str, rounds: int, slow: float
) -> float:
    """Return the 95th percentile, in ms, from a keystroke to the new result laid out on the page.

    Every field of the calculator that begins with a digit is typed into.
    """
    times: list[float] = driver.run("keystrokes", slow, address=address, calculator=calculator, rounds=rounds)
    return statistics.quantiles(times, n=20)[-1]


def measure_second(
    driver: BrowserDriver, address: str, next_address: str, calculator: str, rounds: int
) -> tuple[float, float]:
    """Return two median times in ms to the first answer of the calculator behind a link.

    One from the click on the link, the other from the question that the page behind it asks. The page at
    `address` has had its own calculator answer before, in the same visit.
    """
    times: list[list[float]] = [
        driver.run("second", address=address, next=next_address, calculator=calculator) for _ in range(rounds)
    ]
    from_click, from_question = (statistics.median(some) for some in zip(*times, strict=True))
    return from_click, from_question


def measure_longest_script(driver: BrowserDriver, address: str) -> float:
    """Return the longest stretch, in ms, of the page's own script in any frame of over 50 ms; 0 is none."""
    longest: float = driver.run("longest", address=address, script="/assets/live.")
    return longest
