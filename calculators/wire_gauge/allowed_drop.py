"""How much of the supply a run may lose, as text: `3 %`, `0.4 V` or `300 mV`."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from calculators.forms.fields import Input, Unusual, find_unusual
from calculators.notation.errors import NotationError
from calculators.notation.quantity import check_characters, read_quantity
from calculators.notation.units import KINDS, Volt, find_kinds

LARGEST_SHARE = 0.5
"""Of the supply that may be lost in the wires; beyond it the load no longer sees a supply worth the name."""

USUAL_SHARE, USUAL_VOLTS = (0.005, 0.15), (0.01, 5.0)
"""Of the supply, and in V: from a precise reference to a plain lamp."""


@dataclass(frozen=True, slots=True)
class AllowedDrop:
    """The allowed drop: a share of the supply, or volts."""

    value: float
    is_share: bool

    def find_volts(self, supply: Volt) -> Volt:
        """Return the allowed drop in V for this supply in V."""
        return self.value * supply if self.is_share else self.value


@dataclass(frozen=True, kw_only=True)
class AllowedDropInput(Input[AllowedDrop]):
    """The field for it."""

    unit: str = "%"

    def read_value(self, text: str) -> AllowedDrop:
        """Return the drop; raises NotationError."""
        return read_allowed_drop(text)

    def find_unit(self, text: str) -> str:
        """Return the unit at the end of `text`, per cent or volts, else per cent."""
        return _find_spelling(text) or self.unit

    def list_unusual(self, value: AllowedDrop | None) -> Sequence[Unusual]:
        """Return the share or the volts if they are outside the usual range."""
        if value is None:
            return ()
        kind, usual = ("fraction", USUAL_SHARE) if value.is_share else ("voltage", USUAL_VOLTS)
        return find_unusual(self.label, value.value, kind, usual)

    def describe_allowed(self) -> str:
        """Return the two notations."""
        return "per cent of the supply or volts, such as 3 % or 0.4 V"


def read_allowed_drop(text: str) -> AllowedDrop:
    """Read `3 %`, `0.4 V` or `300 mV`; a bare number is per cent. Raises NotationError for anything else."""
    cleaned = check_characters(text)
    spelling = _find_spelling(cleaned)
    kinds = find_kinds(spelling) if spelling else ("fraction",)
    if "voltage" in kinds:
        volts = read_quantity(cleaned, "voltage", "V")
        if volts <= 0:
            raise NotationError(f"“{cleaned}” leaves no drop at all; give more than 0 V")
        return AllowedDrop(volts, is_share=False)
    if "fraction" not in kinds:
        unknown = "is not a figure" if spelling == cleaned else "cannot be read"
        found = f"is {KINDS[kinds[0]].name}" if kinds else unknown
        raise NotationError(f"“{cleaned}” {found}; give per cent of the supply (3 %) or volts (0.4 V)")
    share = read_quantity(cleaned, "fraction", "%")
    if not 0 < share <= LARGEST_SHARE:
        raise NotationError(f"“{cleaned}” is outside what can be computed; allowed: above 0 %, at most 50 %")
    return AllowedDrop(share, is_share=True)


def _find_spelling(text: str) -> str:
    """Return what stands after the last digit, so that 1/2 V and 1e-1 V are read as elsewhere."""
    return re.sub(r".*[\d.,]\s*", "", text.strip())
