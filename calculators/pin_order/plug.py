"""Plugs: what each contact carries. Pins are counted from 0 in code and from 1 for people."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from calculators.notation.units import Volt

type RoleKind = Literal["supply", "ground", "data", "clock", "speaker", "unused"]


@dataclass(frozen=True, slots=True)
class Role:
    """What one contact carries.

    `direction` is what is printed at the pin itself ("in", "out" or nothing), `tag` tells several of a
    kind apart ("2" in `data 2`), `sign` is a loudspeaker's polarity. A supply has its `voltage` in V, or
    says in `feed` which figure of the form stands for it. `maximum` is the most the pin withstands, in V.
    """

    label: str
    kind: RoleKind
    direction: Literal["", "in", "out"] = ""
    tag: str = ""
    sign: Literal["", "+", "-"] = ""
    voltage: Volt = 0.0
    feed: Literal["", "rail", "battery"] = ""
    maximum: Volt | None = None

    @property
    def is_logic(self) -> bool:
        """True for data and clock."""
        return self.kind in ("data", "clock")

    def drives(self, *, at_source: bool) -> bool:
        """Return whether this is a logic output; one without a direction drives at the source only."""
        return self.is_logic and (self.direction == "out" or (self.direction == "" and at_source))

    def listens(self, *, at_source: bool) -> bool:
        """Return whether this is a logic input; one without a direction listens at the board only."""
        return self.is_logic and not self.drives(at_source=at_source)


@dataclass(frozen=True, slots=True)
class Plug:
    """A row of contacts. `name` is a board's name, or the name of the common order it was taken from."""

    pins: tuple[Role, ...]
    name: str = ""
    common: bool = False

    def with_voltages(self, rail: Volt, battery: Volt) -> "Plug":
        """Return the plug with the voltages (V) of supplies that were named without one."""
        feeds = {"rail": rail, "battery": battery}
        return replace(
            self, pins=tuple(replace(r, voltage=feeds[r.feed]) if r.feed else r for r in self.pins)
        )


@dataclass(frozen=True, slots=True)
class Pin:
    """One contact of a plug: its `index` in the list, from 0, and what it carries."""

    index: int
    role: Role

    @property
    def number(self) -> int:
        """Its number for people, from 1."""
        return self.index + 1

    @property
    def label(self) -> str:
        """Its role as it is written."""
        return self.role.label


def list_pins(roles: Sequence[Role]) -> tuple[Pin, ...]:
    """Return the contacts with these roles."""
    return tuple(Pin(index, role) for index, role in enumerate(roles))
