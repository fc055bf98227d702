"""The current that melts a copper wire: Preece for a steady one, Onderdonk for a short one.

Both describe a bare wire in free air. They are upper bounds for a safety check, never a rating: insulation
burns and solder runs long before. Preece, Proceedings of the Royal Society 1884; Onderdonk's equation as in
Stauffacher, General Electric Review 31, 1928.
"""

import math
from functools import lru_cache

from calculators.notation.units import CIRCULAR_MIL
from calculators.numbers.elementary import find_log10
from calculators.physics.copper import find_round_diameter

MELTING_POINT = 1083.0
"""Of copper in °C, as Onderdonk's equation uses it."""

_PREECE = 80.0
"""A per mm^1.5 for copper; the older 10244 A per inch^1.5."""


def find_fusing_current(area: float) -> float:
    """Return the steady current in A that melts a bare copper wire of `area` (m²) in free air; Preece."""
    diameter = 1000 * find_round_diameter(area)
    return _PREECE * diameter * math.sqrt(diameter)


@lru_cache(maxsize=256)
def find_brief_fusing_current(area: float, seconds: float = 1.0, ambient: float = 25.0) -> float:
    """Return the current in A that melts a wire of `area` (m²) in `seconds`, from `ambient` (°C); Onderdonk.

    Holds for a few seconds at most, while no heat leaves the wire. Raises ValueError for a time that is not
    positive or a start at or above the melting point.
    """
    if not seconds > 0 or not -234.0 < ambient < MELTING_POINT:
        raise ValueError(
            f"Onderdonk's equation needs a time above zero and solid copper: {seconds} s, {ambient} °C"
        )
    rise = find_log10((MELTING_POINT - ambient) / (234.0 + ambient) + 1.0)
    return area / CIRCULAR_MIL * math.sqrt(rise / (33.0 * seconds))
