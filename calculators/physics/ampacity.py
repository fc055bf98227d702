"""What current a wire may carry: heat balance with a margin, a ceiling for thin wires, bundles, short peaks.

The balance alone comes out up to 18 % above a published table of single wires (UL 758 style 1015, air at
40 °C, copper at 105 °C), for it knows a wire in free, still air only. A wire in a build lies on a panel,
under a cover, in a bend; so 80 % of that current is used (`MARGIN`). Published tables also give thin wires
much less than their heat would allow, because strands break and terminations warm; `LARGEST_DENSITY`
follows the lowest of them. tests/calculators/physics/test_ampacity.py compares row by row.
"""

import math
from functools import cache
from typing import cast

from calculators.numbers.elementary import find_exp
from calculators.parts import read_rows
from calculators.physics.heat_balance import Wire, find_current, find_temperature, find_time_constant

MARGIN = 0.8
"""Share of the balance's current that is used."""

LARGEST_DENSITY = 15e6
"""A/m²; MIL-W-5088B's single-wire rows for 22 and 20 AWG come to 15.4 and 16.1 A/mm²."""

FUSE_LOADING = 0.75
"""Largest share of a fuse's rating to load for hours at 25 °C; fuse makers' guides to UL/CSA 248-14 fuses."""

CORD_LIMIT, CORD_AIR = 70.0, 30.0
"""°C of the copper and of the air, for which the table of cords holds; parts/cords.toml."""


def find_capacity(wire: Wire, limit: float, ambient: float, bundle: int) -> float:
    """Return the lasting current in A for a copper temperature of `limit` in air of `ambient` (both °C).

    `bundle` counts the loaded wires that lie together, this one included.
    """
    alone = min(MARGIN * find_current(wire, limit, ambient), LARGEST_DENSITY * wire.area)
    return find_bundle_factor(bundle) * alone


def find_cord_capacity(area: float, limit: float, ambient: float, bundle: int) -> float:
    """Return the lasting current in A of a two-core cord with cores of `area` (m²); parts/cords.toml.

    Between two sizes it is that of the thinner one, below the thinnest as dense as there. Warmer air and
    insulation that bears less (°C) count by the square root of the rise that is left, as in BS 7671. Wires
    that lie beside the cord count in `bundle`, its own two included.
    """
    thinnest, *_ = cords = _read_cords()
    current = max((amperes for size, amperes in cords if size <= area * (1 + 1e-6)), default=0.0)
    left = min((min(limit, CORD_LIMIT) - ambient) / (CORD_LIMIT - CORD_AIR), 1.0)
    company = find_bundle_factor(max(bundle, 2)) / find_bundle_factor(2)
    return company * math.sqrt(max(left, 0.0)) * (current or thinnest[1] * area / thinnest[0])


def find_bundled_current(wire: Wire, temperature: float, ambient: float, bundle: int) -> float:
    """Return the current in A at which `find_bundled_temperature` comes to this temperature (°C)."""
    return MARGIN * find_bundle_factor(bundle) * find_current(wire, temperature, ambient)


def find_bundled_temperature(wire: Wire, current: float, ambient: float, bundle: int) -> float | None:
    """Return the copper's temperature in °C, as cautious as `find_capacity`, or None above HOTTEST.

    The margin and the bundle make the wire as warm as a single one at a larger current would be.
    """
    return find_temperature(wire, current / (MARGIN * find_bundle_factor(bundle)), ambient)


def find_bundle_factor(count: int) -> float:
    """Return what is left of a wire's capacity with `count` loaded wires together; parts/bundles.toml.

    Raises ValueError below one wire.
    """
    if count < 1:
        raise ValueError(f"a bundle has at least one wire, got {count}")
    return next(factor for least, factor in reversed(_read_bundles()) if count >= least)


def find_heating_current(
    wire: Wire, limit: float, ambient: float, current: float, peak: float, duty: float, peak_time: float
) -> float:
    """Return the steady current in A that warms the wire as much as a repeating peak does at its hottest.

    The wire carries `current` and, for the share `duty` of the time, `peak` (A), for `peak_time` seconds in
    a row. It is taken as one body with one time constant: peaks much shorter than that count by their mean
    square, peaks much longer by their full value.
    """
    weight = find_peak_weight(find_time_constant(wire, limit, ambient), duty, peak_time)
    return math.sqrt(current * current + (peak * peak - current * current) * weight)


def find_peak_weight(constant: float, duty: float, peak_time: float) -> float:
    """Return which share of a peak's square warms a wire with this time `constant` (s) at its hottest."""
    warmed = 1.0 - find_exp(-min(peak_time / constant, 700.0))
    period = 1.0 - find_exp(-min(peak_time / (duty * constant), 700.0))
    return warmed / period


@cache
def read_fuse_ratings() -> tuple[float, ...]:
    """Return the standard fuse ratings in A, small to large; parts/fuses.toml."""
    return tuple(cast(float, row["rating"]) for row in read_rows("fuses"))


def find_smallest_fuse(least: float) -> float | None:
    """Return the smallest standard rating in A that is at least `least` (A), or None."""
    needed = least * (1 - 1e-9)
    return next((rating for rating in read_fuse_ratings() if rating >= needed), None)


def find_largest_fuse(capacity: float) -> float | None:
    """Return the largest standard rating in A that protects a wire of this `capacity` (A), or None."""
    allowed = capacity * (1 + 1e-9)
    return next((rating for rating in reversed(read_fuse_ratings()) if rating <= allowed), None)


@cache
def _read_bundles() -> tuple[tuple[int, float], ...]:
    return tuple((cast(int, row["count"]), cast(float, row["factor"])) for row in read_rows("bundles"))


@cache
def _read_cords() -> tuple[tuple[float, float], ...]:
    return tuple((cast(float, row["area"]) * 1e-6, cast(float, row["current"])) for row in read_rows("cords"))
