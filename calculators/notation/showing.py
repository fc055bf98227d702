"""Writes quantities for people: a sensible number of figures, a unit that fits, metric or imperial.

A `Phrase` is a sentence with quantities in it that are only written out when it is known in which system
the reader wants them; results hold phrases, never ready-made numbers in text.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

from calculators.notation.errors import NotFiniteError
from calculators.notation.units import KINDS, System, Unit, find_unit

GAP = "\u00a0"
"""Between a number and its unit, so that no line breaks there."""

# What rounds up to one whole unit, by the number of figures.
_ALMOST_ONE = (0.5, 0.95, 0.995, 0.9995, 0.99995, 0.999995, 0.9999995)

_SMALLEST = 0.0001
"""Of the smallest unit that a kind is shown in: nothing at a workbench depends on less."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A value in the SI unit of its `kind` (a key of KINDS), shown with so many significant `figures`."""

    value: float
    kind: str
    figures: int = 3

    def __post_init__(self) -> None:
        """Refuse a value that is not finite; raises NotFiniteError."""
        if not math.isfinite(self.value):
            raise NotFiniteError(f"a figure, {KINDS[self.kind].name}, is {self.value}")

    def write(self, system: System = "metric") -> str:
        """Return the figure as text, such as `350 mA`."""
        return write_quantity(self.value, self.kind, system, self.figures)

    def write_exactly(self) -> str:
        """Return the figure to twelve digits in a unit that a field reads: `0.35 A`, `3 %`."""
        units = _list_shown(self.kind, "metric")
        if not units:
            return _write_plain(self.value)
        unit = next((unit for unit in units if unit.factor == 1), units[-1])
        return f"{_write_plain(convert_to(self.value, unit))} {unit.symbol}"


def _write_plain(value: float) -> str:
    # Three digits behind a point might be thousands to whoever reads them; with a fourth they are not.
    digits = f"{value:.12g}"
    return f"{digits}0" if digits[-4:-3] == "." else digits


@dataclass(frozen=True, slots=True)
class Phrase:
    """A sentence with named figures in it: `template` as for str.format, filled by `write`."""

    template: str
    parts: tuple[tuple[str, "Figure | Phrase | str | int"], ...] = ()

    def write(self, system: System = "metric") -> str:
        """Return the sentence with its figures written in this system of units."""
        if not self.parts:
            return self.template
        # Plain texts only: a template could ask other objects for what is in them.
        return self.template.format_map(
            {
                name: str(part.write(system) if isinstance(part, (Figure, Phrase)) else part)
                for name, part in self.parts
            }
        )


def say(template: str, **parts: "Figure | Phrase | str | int") -> Phrase:
    """Make a phrase: `say("The wire loses {drop}.", drop=Figure(0.3, "voltage"))`.

    Without parts the template is taken as it is; with parts a literal brace is written twice.
    """
    return Phrase(template, tuple(parts.items()))


def list_names(names: Sequence[str], most: int = 4) -> str:
    """Return names for a sentence: `left, right and bass`; beyond `most` the rest are counted."""
    shown = list(names[:most])
    if len(names) > most:
        return ", ".join(shown) + f" and {len(names) - most} more"
    return " and ".join(filter(None, (", ".join(shown[:-1]), shown[-1])))


def write_number(value: float, figures: int = 3, *, padded: bool = False) -> str:
    """Return `value` to so many significant figures, without an exponent between 0.0001 and 10 million.

    Noughts at the end of a decimal part are left out, as people say it, unless it is to be `padded`. Raises
    NotFiniteError for what is no number.
    """
    if not math.isfinite(value):
        raise NotFiniteError(f"{value} cannot be written")
    if value == 0:
        return "0"
    scientific = f"{value:.{figures - 1}e}"
    exponent = int(scientific[scientific.index("e") + 1 :])
    if not -4 <= exponent < 7:
        return scientific
    # Whole digits are never replaced by noughts: 1234 stays 1234, as a meter would show it.
    text = f"{value:.{max(0, figures - 1 - exponent)}f}"
    return text if padded or "." not in text else text.rstrip("0").rstrip(".")


@lru_cache(maxsize=4096)
def write_quantity(
    value: float, kind: str, system: System = "metric", figures: int = 3, *, padded: bool = False
) -> str:
    """Return a value in SI units as text with the unit of `kind` that suits its size and the system.

    What would need an exponent even in the smallest unit is said to be less than what needs none.
    A `padded` one shows all its figures, noughts included, so that those of a column look alike.
    """
    unit = choose_unit(value, kind, system, figures)
    if unit is None:
        return write_number(value, figures, padded=padded)
    shown = convert_to(value, unit)
    if kind == "temperature":
        # The zero of a temperature scale is a place like any other: no figures are due to what is left of it.
        shown = round(shown, max(0, figures - 1))
        padded = padded and abs(shown) >= 1
    elif 0 < abs(shown) < _SMALLEST:
        return f"less than {_SMALLEST}{GAP}{unit.symbol}"
    return f"{write_number(shown, figures, padded=padded)}{GAP}{unit.symbol}"


def choose_unit(value: float, kind: str, system: System = "metric", figures: int = 3) -> Unit | None:
    """Return the unit to show this value in, or None where the kind has none (a plain number)."""
    units = _list_shown(kind, system)
    if not units:
        return None
    if value == 0:
        return max(units, key=lambda unit: unit.factor if unit.factor <= 1 else 0)
    best = units[0]
    for unit in units[1:]:
        # Compared after rounding, so that 999.96 mA becomes 1 A and not 1000 mA.
        if abs(convert_to(value, unit)) >= _ALMOST_ONE[figures]:
            best = unit
    return best


def convert_to(value: float, unit: Unit) -> float:
    """Return a value in SI units in `unit`."""
    return (value - unit.offset) / unit.factor


@cache
def _list_shown(kind: str, system: System) -> tuple[Unit, ...]:
    symbols = (KINDS[kind].imperial if system == "imperial" else ()) or KINDS[kind].metric
    units = (find_unit(kind, symbol) for symbol in symbols if symbol)
    return tuple(unit for unit in units if unit is not None)
