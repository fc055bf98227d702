"""Families of addressable LEDs, and what one LED draws and needs."""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cache
from typing import Any, cast

from calculators.led_current.timing import PixelTiming
from calculators.notation.units import Ampere, Hertz, Second, Share, Volt
from calculators.parts import read_rows

OWN_FIGURES = "own figures"
"""In place of a family: figures that the builder gives."""


@dataclass(frozen=True, slots=True)
class Led:
    """One LED; its limits of supply are None where nothing is known.

    Each channel holds its current down to `full_voltage`; from there it falls on a straight line to nothing
    at `dark_voltage`. `high_threshold` is the share of its own supply that its data input takes for high.
    """

    channels: int
    channel_current: Ampere
    idle_current: Ampere
    full_voltage: Volt
    dark_voltage: Volt
    lowest_supply: Volt | None
    highest_supply: Volt | None
    high_threshold: Share
    bit_rate: Hertz
    reset_time: Second
    clocked: bool

    @property
    def full_current(self) -> Ampere:
        """What it draws with all channels on."""
        return self.idle_current + self.channels * self.channel_current

    @property
    def needed_voltage(self) -> Volt:
        """What it needs to work at all."""
        return self.dark_voltage if self.lowest_supply is None else self.lowest_supply

    def withstands(self, supply: Volt) -> bool:
        """Return False for a supply that is known to be too high."""
        return self.highest_supply is None or supply <= self.highest_supply

    @property
    def timing(self) -> PixelTiming:
        """How its data are sent; a clocked LED takes one byte more, with its overall brightness."""
        bits = 8 * self.channels + (8 if self.clocked else 0)
        return PixelTiming(bits, self.bit_rate, self.reset_time, self.clocked)


@cache
def list_leds() -> Mapping[str, Led]:
    """Return the families of parts/leds.toml by name, and what own figures are put into.

    These are those of the first family in all that is left empty.
    """
    families = {
        cast(str, row["name"]): Led(**{item.name: cast(Any, row[item.name]) for item in fields(Led)})
        for row in read_rows("leds")
    }
    own = replace(next(iter(families.values())), lowest_supply=None, highest_supply=None)
    return {**families, OWN_FIGURES: own}
