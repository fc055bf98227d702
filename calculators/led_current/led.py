"""Families of addressable LEDs, and what one LED draws and needs."""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cache
from typing import Any, cast

from calculators.led_current.timing import PixelTiming
from calculators.notation.units import Ampere, Hertz, Second, Share, Volt
from calculators.parts import Row, read_rows

OWN_FIGURES = "own figures"
"""In place of a family: figures that the builder gives."""

RESERVE: Volt = 0.5
"""Above the voltage down to which the current is full, for a warm strip and tired joints; common practice."""

_LOW_THRESHOLD: Share = 0.3
"""Where a row says nothing of it: makers' data sheets of 5 V addressable LEDs."""


@dataclass(frozen=True, slots=True)
class Led:
    """One LED; its limits of supply are None where nothing is known.

    Each channel holds its current down to `full_voltage`; from there it falls on a straight line to nothing
    at `dark_voltage`; `wanted_voltage` is what careful builders leave the weakest. From `high_threshold`, a
    share of its own supply, its data input reads high, and up to `low_threshold` low; that supply is
    `logic_supply` where the LED makes one of its own.
    """

    channels: int
    channel_current: Ampere
    idle_current: Ampere
    full_voltage: Volt
    dark_voltage: Volt
    wanted_voltage: Volt
    lowest_supply: Volt | None
    highest_supply: Volt | None
    nominal_supply: Volt
    logic_supply: Volt | None
    high_threshold: Share
    low_threshold: Share
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

    def find_logic_supply(self, voltage: Volt) -> Volt:
        """Return what its data input reckons from while this voltage reaches the LED."""
        return voltage if self.logic_supply is None else min(self.logic_supply, voltage)

    def find_colour_share(self, voltage: Volt) -> Share:
        """Return what of their full current green and blue have at this voltage; red holds longer."""
        share = (voltage - self.dark_voltage) / (self.full_voltage - self.dark_voltage)
        return min(1.0, max(0.0, share))

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
    families = {cast(str, row["name"]): make_led(row) for row in read_rows("leds")}
    own = replace(next(iter(families.values())), lowest_supply=None, highest_supply=None)
    return {**families, OWN_FIGURES: own}


def make_led(row: Row) -> Led:
    """Return the LED of a row of parts/leds.toml."""
    given: dict[str, Any] = {item.name: row.get(item.name) for item in fields(Led)}
    # A club's own row may leave these out.
    if given["nominal_supply"] is None:
        given["nominal_supply"] = (given["lowest_supply"] + given["highest_supply"]) / 2
    if given["wanted_voltage"] is None:
        given["wanted_voltage"] = given["full_voltage"] + RESERVE
    if given["low_threshold"] is None:
        given["low_threshold"] = _LOW_THRESHOLD
    return Led(**given)
