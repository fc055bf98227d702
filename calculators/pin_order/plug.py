"""Plugs: what each contact carries. Pins are counted from 0 in code and from 1 for people."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from calculators.notation.units import Volt

type RoleKind = Literal["supply", "ground", "data", "clock", "line", "speaker", "unused"]
type Content = Literal["", "lights", "pwm", "serial", "bus", "audio"]


@dataclass(frozen=True, slots=True)
class Role:
    """What one contact carries.

    `direction` is what is printed at the pin itself ("in", "out" or nothing), `tag` tells several of a
    kind apart ("2" in `data 2`), `sign` is a loudspeaker's polarity, `content` what a signal or a ground is
    for, if that is said. A supply has its `voltage` in V, or
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
    content: Content = ""

    @property
    def is_bus(self) -> bool:
        """True for a wire of a two-wire bus: both sides only pull it down, a resistor pulls it up."""
        return self.content == "bus"

    @property
    def is_signal(self) -> bool:
        """True for data, clock and line audio."""
        return self.is_logic or self.kind == "line"

    @property
    def is_logic(self) -> bool:
        """True for data and clock."""
        return self.kind in ("data", "clock")

    def drives(self, *, at_source: bool) -> bool:
        """Return whether this sends a signal; without a direction it does at the source only."""
        return self.is_signal and (self.direction == "out" or (self.direction == "" and at_source))

    def listens(self, *, at_source: bool) -> bool:
        """Return whether this is a logic input; one without a direction listens at the board only."""
        return self.is_logic and not self.drives(at_source=at_source)

    def agrees(self, other: "Role") -> bool:
        """Return whether both carry the same; a signal that is no more than that may be a light's or PWM."""
        contents = {self.content, other.content}
        alike = len(contents) == 1 or ("" in contents and contents.isdisjoint(("serial", "bus")))
        return self.kind == other.kind and alike


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
