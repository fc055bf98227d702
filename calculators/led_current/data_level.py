"""The data's levels at the first LED's input and at a level shifter's, against what they need.

An LED reads high from a share of its own supply and low up to another, both measured from its own ground. Two
moments matter: all LEDs dark, when the LED's supply and so its thresholds are highest; and all LEDs on, when
current in the return lead has lifted the LED's ground above the controller's: that takes as much off every
level that is sent from the controller. A level shifter stands on either side of that shift: at the
controller its output crosses it, at the string its input does.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Literal, cast

from calculators.led_current.led import Led
from calculators.notation.units import Share, Volt
from calculators.parts import Row, read_rows

THIN_MARGIN = 0.2
"""V of data margin below which the build hangs on good luck: common practice."""

type ShifterPlace = Literal["at the controller", "at the string"]
SHIFTER_PLACES: tuple[ShifterPlace, ...] = ("at the controller", "at the string")

_INPUT_LOW_SHARE, _OUTPUT_LOW = 0.3, 0.1
"""Of a CMOS input's supply, and V of an output: what a row that says nothing of them is taken to have."""


@dataclass(frozen=True, slots=True)
class Shifter:
    """A family of level shifters: `input_high` or, where that is None, a share of its own supply; so for low.

    Its output reaches its supply less `output_drop`, and its ground but for `output_low`.
    """

    name: str
    input_high: Volt | None
    input_high_share: Share
    input_low: Volt | None
    input_low_share: Share
    lowest_supply: Volt
    highest_supply: Volt
    output_drop: Volt
    output_low: Volt

    def works_at(self, supply: Volt) -> bool:
        """Return True if it works on this supply."""
        return self.lowest_supply <= supply <= self.highest_supply

    def find_threshold(self, supply: Volt) -> Volt:
        """Return the input level from which it reads high, on this supply."""
        return self.input_high_share * supply if self.input_high is None else self.input_high

    def find_low_threshold(self, supply: Volt) -> Volt:
        """Return the input level up to which it reads low, on this supply."""
        return self.input_low_share * supply if self.input_low is None else self.input_low


@dataclass(frozen=True, slots=True)
class FittingShifter:
    """A family of level shifters that works on the supply in hand, and from where it then reads high."""

    name: str
    threshold: Volt


@cache
def list_shifters() -> tuple[Shifter, ...]:
    """Return the families of parts/logic.toml."""
    return tuple(make_shifter(row) for row in read_rows("logic"))


def make_shifter(row: Row) -> Shifter:
    """Return the level shifter of a row of parts/logic.toml."""
    return Shifter(
        name=cast(str, row["name"]),
        input_high=cast("float | None", row.get("input_high")),
        input_high_share=cast(float, row.get("input_high_share", 0.0)),
        input_low=cast("float | None", row.get("input_low")),
        input_low_share=cast(float, row.get("input_low_share", _INPUT_LOW_SHARE)),
        lowest_supply=cast(float, row["lowest_supply"]),
        highest_supply=cast(float, row["highest_supply"]),
        output_drop=cast(float, row["output_drop"]),
        output_low=cast(float, row.get("output_low", _OUTPUT_LOW)),
    )


def list_fitting(supply: Volt) -> tuple[FittingShifter, ...]:
    """Return the families that work on this supply."""
    return tuple(
        FittingShifter(one.name, one.find_threshold(supply))
        for one in list_shifters()
        if one.works_at(supply)
    )


@dataclass(frozen=True, slots=True)
class Moment:
    """The levels that reach an input at one moment, and from where and up to where it reads them."""

    high: Volt
    high_needed: Volt
    low: Volt
    low_allowed: Volt

    @property
    def margin(self) -> Volt:
        """Of the high level; below zero it is outside what the data sheet promises."""
        return self.high - self.high_needed

    @property
    def low_margin(self) -> Volt:
        """Of the low level."""
        return self.low_allowed - self.low


@dataclass(frozen=True, slots=True)
class DataLevel:
    """What is sent to the LEDs, `high` with all dark and `lit_high` with all on, and what reaches the inputs.

    `dark` and `lit` are the first LED's input, `shifter` the worse moment of the level shifter's, None
    without one. `shift_dark` and `shift_lit` are how far the LED's ground lies above the sender's.
    `above_supply` is how far a level lies above the supply of the input it reaches, all LEDs on.
    """

    high: Volt
    lit_high: Volt
    shift_dark: Volt
    shift_lit: Volt
    dark: Moment
    lit: Moment
    shifter: Moment | None
    above_supply: Volt

    @property
    def margin(self) -> Volt:
        """The smallest margin of the high level."""
        return min(one.margin for one in self._list_moments())

    @property
    def low_margin(self) -> Volt:
        """The smallest margin of the low level."""
        return min(one.low_margin for one in self._list_moments())

    @property
    def shortfall(self) -> Volt:
        """How much too low the high level is."""
        return -self.margin

    @property
    def low_excess(self) -> Volt:
        """How much too high the low level is."""
        return -self.low_margin

    def _list_moments(self) -> Iterator[Moment]:
        yield from (self.dark, self.lit)
        if self.shifter is not None:
            yield self.shifter


@dataclass(frozen=True, slots=True)
class Sender:
    """What the controller gives: its levels, the level shifter behind it, and where that sits."""

    high: Volt
    low: Volt
    shifter: Shifter | None
    place: ShifterPlace


def find_data_level(
    sender: Sender, led: Led, supply: Volt, lit_supply: Volt, return_shift: Volt, other_shift: Volt
) -> DataLevel:
    """Return the data's levels and what they have to be.

    `supply` is the first LED's with all LEDs dark and `lit_supply` with all on; `return_shift` is how far
    its ground then lies above the controller's, `other_shift` what other currents add to that at any time.
    A level shifter runs on the LED's supply, or on what its data input runs on inside, made where it sits.
    """
    shifts = (other_shift, other_shift + return_shift)
    here = sender.place == "at the controller"
    local = tuple(led.find_logic_supply(volts) for volts in (supply, lit_supply))
    shifter = sender.shifter
    if shifter is None:
        highs, lows, crossed, read = (sender.high, sender.high), (sender.low, sender.low), shifts, None
    else:
        fed = (local[0], local[0]) if here else local
        highs = (fed[0] - shifter.output_drop, fed[1] - shifter.output_drop)
        lows = (shifter.output_low, shifter.output_low)
        crossed = shifts if here else (0.0, 0.0)
        arriving = (0.0, 0.0) if here else shifts
        moments = [
            Moment(
                sender.high - shift, shifter.find_threshold(volts), sender.low - shift,
                shifter.find_low_threshold(volts),
            )
            for shift, volts in zip(arriving, fed, strict=True)
        ]  # fmt: skip
        # The worse of each: the high level where the shift is largest, the low one where it is least.
        high, low = min(moments, key=lambda one: one.margin), min(moments, key=lambda one: one.low_margin)
        read = Moment(high.high, high.high_needed, low.low, low.low_allowed)
    dark, lit = (
        Moment(high - shift, led.high_threshold * volts, low - shift, led.low_threshold * volts)
        for high, low, shift, volts in zip(highs, lows, crossed, local, strict=True)
    )
    above = lit.high - local[1]
    if shifter is not None and not here:
        above = max(above, sender.high - shifts[1] - local[1])
    return DataLevel(*highs, *crossed, dark, lit, read, above)
