"""Heat balance of one insulated wire in still air, and how long it takes to warm.

In the steady state the heat made in the copper (I² R, with R rising with its temperature) passes through the
insulation and leaves its surface by natural convection and radiation. The wire lies level and alone, indoors,
out of any draught. Convection: Churchill and Chu's correlation for a horizontal cylinder (International
Journal of Heat and Mass Transfer 18, 1975; Rayleigh numbers up to 10^12), with air's properties at the film
temperature. Results are good to what the correlation is good to: about 15 % in heat, 8 % in current.
"""

import math
from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import NamedTuple, cast

from calculators.numbers.elementary import find_cube_root, find_log, find_power
from calculators.parts import read_rows
from calculators.physics.copper import (
    HEAT_CAPACITY,
    REFERENCE_TEMPERATURE,
    TEMPERATURE_COEFFICIENT,
    find_resistance_per_metre,
    find_round_diameter,
)

STEFAN_BOLTZMANN = 5.670374419e-8
"""W/(m² K⁴); CODATA 2018, exact to the digits given."""

GRAVITY = 9.80665
"""m/s², standard acceleration of free fall."""

KELVIN = 273.15
"""Temperature in K of 0 °C."""

EMISSIVITY = 0.9
"""Of plastic insulation; handbooks give 0.90 to 0.97 for plastics and paints."""

HOTTEST = 220.0
"""Temperature in °C up to which air's table and this balance are used; no hook-up wire is run hotter."""

INSULATION_HEAT_CAPACITY = 1.7e6
"""Heat that warms PVC, in J/(m³ K); IEC 60853-1, annex on thermal capacities."""


class _Method(NamedTuple):
    """How closely a balance is sought; none of it is a limit that a wire keeps or not."""

    most_rounds: int = 60
    accuracy: float = 1e-7
    """In K: far below anything measured, far above the noise of the last bit."""


_METHOD = _Method()


@dataclass(frozen=True, slots=True)
class Wire:
    """One insulated wire: copper `area` in m², `factor` of its resistance over solid copper, insulation.

    `wall` is the insulation's thickness in m and `thermal_resistivity` its resistance to heat in K m/W.
    The copper is taken as a solid round; a stranded one is thicker, has more surface and stays cooler.
    """

    area: float
    factor: float
    wall: float
    thermal_resistivity: float

    @property
    def outer_diameter(self) -> float:
        """Diameter over the insulation in m."""
        return find_round_diameter(self.area) + 2 * self.wall


def find_nusselt(rayleigh: float, prandtl: float) -> float:
    """Return the mean Nusselt number of a horizontal cylinder; Churchill and Chu 1975."""
    root = 0.60 + find_prandtl_term(prandtl) * math.sqrt(find_cube_root(rayleigh))
    return root * root


def find_prandtl_term(prandtl: float) -> float:
    """Return the factor of Ra^(1/6) in Churchill and Chu's correlation, which depends on the fluid alone."""
    return 0.387 / find_power(1.0 + find_power(0.559 / prandtl, 9 / 16), 8 / 27)


def find_heat_loss(surface: float, ambient: float, diameter: float) -> float:
    """Return the heat in W/m that a level cylinder of `diameter` (m) loses; temperatures in °C."""
    rise = surface - ambient
    if rise <= 0:
        return 0.0
    film = (surface + ambient) / 2
    conductivity, viscosity, prandtl, term = _find_air(film)
    rayleigh = (
        GRAVITY / (film + KELVIN) * rise * diameter * diameter * diameter * prandtl / (viscosity * viscosity)
    )
    root = 0.60 + term * math.sqrt(find_cube_root(rayleigh))
    convected = math.pi * root * root * conductivity * rise
    return convected + _find_radiation(surface, ambient, diameter)


@lru_cache(maxsize=1024)
def find_current(wire: Wire, temperature: float, ambient: float) -> float:
    """Return the steady current in A that brings the copper to `temperature` (°C); 0 at ambient and below.

    Raises ValueError above HOTTEST.
    """
    if temperature > HOTTEST:
        raise ValueError(f"the heat balance is used up to {HOTTEST} °C, got {temperature}")
    if temperature <= ambient:
        return 0.0
    barrier = _find_barrier(wire)
    diameter = wire.outer_diameter

    def miss(surface: float) -> float:
        return surface + barrier * find_heat_loss(surface, ambient, diameter) - temperature

    heat = find_heat_loss(_find_root(miss, ambient, temperature), ambient, diameter)
    return math.sqrt(heat / find_resistance_per_metre(wire.area, temperature, wire.factor))


@lru_cache(maxsize=1024)
def find_temperature(wire: Wire, current: float, ambient: float) -> float | None:
    """Return the copper's steady temperature in °C at `current` (A), or None if it would pass HOTTEST."""
    if current == 0:
        return ambient
    barrier = _find_barrier(wire)
    diameter = wire.outer_diameter
    # Heat per metre at 20 °C. The copper is hotter than the surface by barrier * heat, and the heat grows
    # with the copper: solved for the heat, that leaves a divisor.
    cold = current * current * find_resistance_per_metre(wire.area, REFERENCE_TEMPERATURE, wire.factor)
    divisor = 1.0 - cold * TEMPERATURE_COEFFICIENT * barrier
    if divisor <= 0:
        return None

    def find_heat(surface: float) -> float:
        return cold * (1.0 + TEMPERATURE_COEFFICIENT * (surface - REFERENCE_TEMPERATURE)) / divisor

    def miss(surface: float) -> float:
        return find_heat_loss(surface, ambient, diameter) - find_heat(surface)

    if miss(HOTTEST) <= 0:
        return None
    surface = _find_root(miss, ambient, HOTTEST)
    copper = surface + barrier * find_heat(surface)
    return copper if copper <= HOTTEST else None


def find_heat_flow(
    wire: Wire, current: float, temperature: float, ambient: float
) -> tuple[float, float, float]:
    """Return the surface's temperature in °C, and the heat that leaves it by convection and radiation in W/m.

    `temperature` is the copper's in °C, in balance with `current` (A) in air of `ambient` °C.
    """
    heat = current * current * find_resistance_per_metre(wire.area, temperature, wire.factor)
    surface = temperature - _find_barrier(wire) * heat
    radiated = _find_radiation(surface, ambient, wire.outer_diameter)
    return surface, find_heat_loss(surface, ambient, wire.outer_diameter) - radiated, radiated


def find_time_constant(wire: Wire, temperature: float, ambient: float) -> float:
    """Return how long in s copper and insulation take for 63 % of the rise to `temperature` (°C).

    Raises ValueError unless `temperature` is above `ambient` and at most HOTTEST.
    """
    current = find_current(wire, temperature, ambient)
    if current == 0:
        raise ValueError("a wire that is no warmer than the air has no rise to time")
    heat = current * current * find_resistance_per_metre(wire.area, temperature, wire.factor)
    outer = wire.outer_diameter
    insulation = math.pi / 4 * outer * outer - wire.area
    stored = HEAT_CAPACITY * wire.area + INSULATION_HEAT_CAPACITY * insulation
    return stored * (temperature - ambient) / heat


def _find_radiation(surface: float, ambient: float, diameter: float) -> float:
    hot, cold = surface + KELVIN, ambient + KELVIN
    exchanged = hot * hot * hot * hot - cold * cold * cold * cold
    return math.pi * diameter * EMISSIVITY * STEFAN_BOLTZMANN * exchanged


@lru_cache(maxsize=512)
def _find_barrier(wire: Wire) -> float:
    """Return the insulation's resistance to heat in K m/W: a tube, IEC 60287-2-1."""
    return (
        wire.thermal_resistivity
        / (2 * math.pi)
        * find_log(wire.outer_diameter / find_round_diameter(wire.area))
    )


type _Air = tuple[float, float, float, float]


def _find_air(film: float) -> _Air:
    """Return conductivity, viscosity, Prandtl number and its term at a film temperature in °C."""
    temperatures, properties = _read_air()
    index = min(max(bisect_right(temperatures, film), 1), len(temperatures) - 1)
    low, high = properties[index - 1], properties[index]
    share = (film - temperatures[index - 1]) / (temperatures[index] - temperatures[index - 1])
    return (
        low[0] + share * (high[0] - low[0]),
        low[1] + share * (high[1] - low[1]),
        low[2] + share * (high[2] - low[2]),
        low[3] + share * (high[3] - low[3]),
    )


@cache
def _read_air() -> tuple[tuple[float, ...], tuple[_Air, ...]]:
    temperatures = []
    properties = []
    for row in read_rows("air"):
        prandtl = cast(float, row["prandtl"])
        temperatures.append(cast(float, row["temperature"]))
        properties.append(
            (
                cast(float, row["conductivity"]),
                cast(float, row["viscosity"]),
                prandtl,
                find_prandtl_term(prandtl),
            )
        )
    return tuple(temperatures), tuple(properties)


def _find_root(miss: Callable[[float], float], low: float, high: float) -> float:
    """Return where `miss` changes sign from `low` (negative) to `high`: false position, Illinois rule."""
    low_miss, high_miss = miss(low), miss(high)
    side = 0
    place = high
    for _ in range(_METHOD.most_rounds):
        previous = place
        place = (low * high_miss - high * low_miss) / (high_miss - low_miss)
        here = miss(place)
        if here == 0 or abs(place - previous) < _METHOD.accuracy:
            return place
        if here > 0:
            high, high_miss = place, here
            low_miss = low_miss / 2 if side > 0 else low_miss
            side = 1
        else:
            low, low_miss = place, here
            high_miss = high_miss / 2 if side < 0 else high_miss
            side = -1
    return place
