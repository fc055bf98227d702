"""Wire sizes: American wire gauge (ASTM B258) and metric cross-sections in mm² (IEC 60228)."""

import math
import re
from dataclasses import dataclass
from functools import cache

from calculators.notation.errors import NotationError
from calculators.notation.quantity import check_characters, read_number, read_quantity
from calculators.notation.units import INCH, Metre, SquareMetre
from calculators.numbers.elementary import find_power

METRIC_SIZES = (
    *(0.05, 0.08, 0.14, 0.25, 0.34, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0),
    *(6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0, 120.0),
)
"""Cross-sections in mm²: 0.5 and above from IEC 60228; below, the sizes of VDE 0295 and the cable trade."""

AWG_NUMBERS = tuple(range(-3, 41))
"""American wire gauge numbers, thick to thin; 0 to -3 are written 1/0 to 4/0."""

_AWG = re.compile(
    r"(?:(?:AWG|gauge|ga)[\s-]*)?#?\s*(?P<number>[1-9]/0|\d{1,2}|0{1,4})[\s-]*(?:AWG|ga\.?|gauge)?",
    re.IGNORECASE,
)
_THICKNESS = re.compile(
    r"(?P<number>(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*(?:mm|millimet(?:re|er)s?)", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class Gauge:
    """A standard wire size: its `label` as written ("22 AWG", "0.5 mm²") and copper `area` in m²."""

    label: str
    area: SquareMetre

    @property
    def diameter(self) -> Metre:
        """Diameter in m of a solid round conductor of this area."""
        return math.sqrt(4 * self.area / math.pi)


@cache
def make_awg(number: int) -> Gauge:
    """Return an American wire gauge; 4/0 is -3. d = 0.005 in x 92^((36 - n) / 39), ASTM B258.

    Raises NotationError outside 4/0 to 40.
    """
    label = f"{number} AWG" if number > 0 else f"{1 - number}/0 AWG"
    if number not in AWG_NUMBERS:
        raise NotationError(f"there is no {label} here; sizes run from 4/0 AWG (thick) to 40 AWG (thin)")
    diameter = 0.005 * INCH * find_power(92.0, (36 - number) / 39)
    return Gauge(label, math.pi / 4 * diameter * diameter)


@cache
def make_metric(square_millimetres: float) -> Gauge:
    """Return a metric conductor of this cross-section in mm²."""
    return Gauge(f"{square_millimetres:g} mm²", square_millimetres / 1e6)


def read_gauge(text: str) -> Gauge:
    """Read `22 AWG`, `22 ga`, `#22`, `4/0`, `0.5 mm2` or `0,5 sq mm`; a bare whole number is an AWG size.

    Raises NotationError, with a sentence, for anything else.
    """
    cleaned = check_characters(text)
    match = _AWG.fullmatch(cleaned)
    if match is not None:
        number = match["number"]
        if number.endswith("/0"):
            return make_awg(1 - int(number[:-2]))
        return make_awg(1 - len(number) if set(number) == {"0"} else int(number))
    if cleaned.lower().endswith("awg"):
        raise NotationError(
            f"“{cleaned}” is not a gauge; AWG sizes are whole numbers, such as 22 AWG or 2/0 AWG, "
            "and others are written with mm2"
        )
    if cleaned[:1].isalpha():
        raise NotationError(f"“{cleaned}” is not a size of wire; write one such as 22 AWG or 0.5 mm2")
    if re.fullmatch(r"[\d.,/+\-\s]+", cleaned):
        raise NotationError(
            f"“{cleaned}” is not a gauge number; write {cleaned} mm2, or a size such as 22 AWG"
        )
    thickness = _THICKNESS.fullmatch(cleaned)
    if thickness is not None:
        diameter = read_number(thickness["number"])
        round_area = f"{math.pi / 4 * diameter * diameter:.4g} mm2"
        raise NotationError(
            f"“{cleaned}” can mean a wire {diameter:g} mm thick, which is {round_area}, or one of "
            f"{diameter:g} mm2; write {round_area} or {diameter:g} mm2"
        )
    area = read_quantity(cleaned, "area", "mm²")
    if not 1e-9 <= area <= 2.5e-4:
        raise NotationError(f"“{cleaned}” is outside the sizes of wire (0.001 mm² to 250 mm²)")
    # The printed area is kept as its label: builders buy what the reel says.
    return Gauge(f"{float(f'{area * 1e6:.6g}'):g} mm²", area)
