"""The high level that reaches the first LED's data input, against what that LED needs.

An LED wants a share of its own supply, measured from its own ground. Two moments matter: all LEDs dark, when
the LED's supply and so its threshold are highest; and all LEDs on, when current in the return lead has
lifted the LED's ground above the controller's and takes that much off the level.
"""

from dataclasses import dataclass
from functools import cache
from typing import cast

from calculators.notation.units import Share, Volt
from calculators.parts import read_rows

THIN_MARGIN = 0.2
"""V of data margin below which the build hangs on good luck: common practice."""


@dataclass(frozen=True, slots=True)
class Shifter:
    """A family of level shifters: `input_high` or, where that is None, a share of its own supply.

    Its output reaches its supply less `output_drop`.
    """

    name: str
    input_high: Volt | None
    input_high_share: Share
    lowest_supply: Volt
    highest_supply: Volt
    output_drop: Volt

    def works_at(self, supply: Volt) -> bool:
        """Return True if it works on this supply."""
        return self.lowest_supply <= supply <= self.highest_supply

    def find_threshold(self, supply: Volt) -> Volt:
        """Return the input level from which it reads high, on this supply."""
        return self.input_high_share * supply if self.input_high is None else self.input_high


@dataclass(frozen=True, slots=True)
class FittingShifter:
    """A family of level shifters that works on the supply in hand, and from where it then reads high."""

    name: str
    threshold: Volt


@cache
def list_shifters() -> tuple[Shifter, ...]:
    """Return the families of parts/logic.toml."""
    return tuple(
        Shifter(
            name=cast(str, row["name"]),
            input_high=cast("float | None", row.get("input_high")),
            input_high_share=cast(float, row.get("input_high_share", 0.0)),
            lowest_supply=cast(float, row["lowest_supply"]),
            highest_supply=cast(float, row["highest_supply"]),
            output_drop=cast(float, row["output_drop"]),
        )
        for row in read_rows("logic")
    )


def list_fitting(supply: Volt) -> tuple[FittingShifter, ...]:
    """Return the families that work on this supply."""
    return tuple(
        FittingShifter(one.name, one.find_threshold(supply))
        for one in list_shifters()
        if one.works_at(supply)
    )


@dataclass(frozen=True, slots=True)
class DataLevel:
    """The level sent, `high`, and its margins; below zero they are outside what the data sheet promises.

    `above_supply` is how far it lies above the LED's own supply with all LEDs on; what the level shifter
    reads as high and its margin are None where there is none.
    """

    high: Volt
    dark_margin: Volt
    lit_margin: Volt
    shifter_threshold: Volt | None
    shifter_margin: Volt | None
    above_supply: Volt

    @property
    def margin(self) -> Volt:
        """The smallest of the margins."""
        return min(m for m in (self.dark_margin, self.lit_margin, self.shifter_margin) if m is not None)

    @property
    def shortfall(self) -> Volt:
        """How much too low it is."""
        return -self.margin


def find_data_level(
    controller_high: Volt,
    shifter: Shifter | None,
    high_threshold: Share,
    supply: Volt,
    lit_supply: Volt,
    return_shift: Volt,
    other_shift: Volt,
) -> DataLevel:
    """Return the data level's margins.

    `high_threshold` is the share of the LED's own supply that counts as high, `supply` that supply with all
    LEDs dark and `lit_supply` with all on; `return_shift` is how far the LED's ground then lies above the
    controller's, `other_shift` what other currents add to that at any time. A level shifter stands beside
    the controller, on `supply`.
    """
    high = supply - shifter.output_drop if shifter is not None else controller_high
    threshold = shifter.find_threshold(supply) if shifter is not None else None
    return DataLevel(
        high=high,
        dark_margin=high - other_shift - high_threshold * supply,
        lit_margin=high - other_shift - return_shift - high_threshold * lit_supply,
        shifter_threshold=threshold,
        shifter_margin=None if threshold is None else controller_high - threshold,
        above_supply=high - other_shift - return_shift - lit_supply,
    )
