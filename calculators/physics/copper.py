"""Copper: resistivity, its rise with temperature, and what stranding and tinning add to a wire's resistance.

Annealed copper has 1/58 Ω mm²/m at 20 °C (IEC 60028, exact by agreement of 1913) and gains 0.393 % of that
for every kelvin (same standard). A stranded or tinned conductor of the same printed size has more
resistance; how much more is read from the largest values that IEC 60228 allows (parts/conductors.toml).
"""

import math
from functools import cache, lru_cache
from typing import Literal, cast, get_args

from calculators.parts import read_rows

RESISTIVITY = 1e-6 / 58
"""Standard annealed copper at 20 °C, in Ω m; exact by definition, IEC 60028."""

TEMPERATURE_COEFFICIENT = 0.00393
"""Share of the resistance at 20 °C added per kelvin at constant mass, in 1/K; IEC 60028."""

REFERENCE_TEMPERATURE = 20.0
"""Temperature in °C that resistances of conductors are stated at; IEC 60028 and IEC 60228."""

HEAT_CAPACITY = 3.45e6
"""Heat that warms copper, in J/(m³ K): the value IEC 60949, table 1, uses for copper conductors."""

WORST_FACTOR = 1.24
"""Stranded hook-up wire over the same copper solid, at worst: UL 1015 table of an instrument's manual."""

type ConductorKind = Literal["solid", "stranded", "tinned", "worst case"]
"""solid; stranded class 5, plain; stranded class 5, tinned; stranded hook-up wire at its worst."""

CONDUCTOR_KINDS: tuple[ConductorKind, ...] = get_args(ConductorKind.__value__)


def find_warm_factor(temperature: float) -> float:
    """Return resistance at `temperature` (°C) over resistance at 20 °C; IEC 60028."""
    return 1.0 + TEMPERATURE_COEFFICIENT * (temperature - REFERENCE_TEMPERATURE)


def find_resistance_per_metre(
    area: float, temperature: float = REFERENCE_TEMPERATURE, factor: float = 1.0
) -> float:
    """Return the resistance of one metre of one wire in Ω/m.

    `area` is the copper cross-section in m², `temperature` the conductor's in °C, `factor` comes from
    `find_conductor_factor`. Raises ValueError for an area that is not positive.
    """
    if not area > 0:
        raise ValueError(f"a conductor needs a cross-section above zero, got {area}")
    return RESISTIVITY * factor / area * find_warm_factor(temperature)


def find_wire_resistance(
    length: float, area: float, temperature: float = REFERENCE_TEMPERATURE, factor: float = 1.0
) -> float:
    """Return the resistance in Ω of `length` metres of wire; give out and back together for a loop."""
    return length * find_resistance_per_metre(area, temperature, factor)


@lru_cache(maxsize=512)
def find_conductor_factor(area: float, kind: ConductorKind = "solid") -> float:
    """Return the resistance of a wire over that of solid copper of the same `area` (m²), at 20 °C.

    Between two sizes of the table the larger of their factors is taken, beyond its ends that of the last
    size, so that a gauge that the table does not hold is never shown better than its neighbours.
    Raises ValueError for a kind that does not exist.
    """
    if kind == "solid":
        return 1.0
    if kind == "worst case":
        return WORST_FACTOR
    if kind not in ("stranded", "tinned"):
        raise ValueError(f"“{kind}” is not a kind of conductor; there are {', '.join(CONDUCTOR_KINDS)}")
    factors = _read_factors(kind)
    # A size counts as the table's own when it agrees to a part in a million: 0.5 mm² read from text does.
    thinner = [pair for pair in factors if pair[0] <= area * (1 + 1e-6)]
    thicker = [pair for pair in factors if pair[0] >= area * (1 - 1e-6)]
    return max(pair[1] for pair in (*thinner[-1:], *thicker[:1]))


@cache
def _read_factors(column: str) -> tuple[tuple[float, float], ...]:
    pairs = []
    for row in read_rows("conductors"):
        area = cast(float, row["area"]) * 1e-6
        nominal = 1000 * find_resistance_per_metre(area)
        # The printed sizes are names: a 50 mm² conductor may measure a little more, never count as better.
        pairs.append((area, max(1.0, cast(float, row[column]) / nominal)))
    return tuple(pairs)


def find_round_diameter(area: float) -> float:
    """Return the diameter in m of a solid round wire of this cross-section in m²."""
    return math.sqrt(4 * area / math.pi)
