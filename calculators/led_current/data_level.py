"""The high level that reaches the first LED's data input, against what that LED needs.

An LED wants a share of its own supply, measured from its own ground. Two moments matter: all LEDs dark, when
the LED's supply and so its threshold are highest; and all LEDs on, when current in the return lead has
lifted the LED's ground above the controller's and takes that much off the level.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import cast


@dataclass(frozen=True, slots=True)
class Shifter:
    """A family of level shifters: `input_high` in V or, where that is None, as a share of its own supply.

    It works from `lowest_supply` to `highest_supply` (V); its output reaches its supply less `output_drop`.
    """

    name: str
    input_high: float | None
    input_high_share: float
    lowest_supply: float
    highest_supply: float
    output_drop: float

    def works_at(self, supply: float) -> bool:
        """Return True if it works on a supply of so many volts."""
        return self.lowest_supply <= supply <= self.highest_supply

    def find_threshold(self, supply: float) -> float:
        """Return the input level in V from which it reads high, on a supply of so many volts."""
        return self.input_high_share * supply if self.input_high is None else self.input_high


def describe_shifter(row: Mapping[str, object]) -> Shifter:
    """Return the level shifter of a row of parts/logic.toml."""
    return Shifter(
        name=cast(str, row["name"]),
        input_high=cast("float | None", row.get("input_high")),
        input_high_share=cast(float, row.get("input_high_share", 0.0)),
        lowest_supply=cast(float, row["lowest_supply"]),
        highest_supply=cast(float, row["highest_supply"]),
        output_drop=cast(float, row["output_drop"]),
    )


@dataclass(frozen=True, slots=True)
class DataLevel:
    """Margins in V (below zero: outside what the data sheet promises).

    `high` is the level sent to the LED, `above_supply` how far it lies above the LED's own supply with all
    LEDs on; `shifter_margin` is None where there is no level shifter.
    """

    high: float
    dark_margin: float
    lit_margin: float
    shifter_margin: float | None
    above_supply: float

    @property
    def margin(self) -> float:
        """The smallest of the margins, in V."""
        return min(m for m in (self.dark_margin, self.lit_margin, self.shifter_margin) if m is not None)


def find_data_level(
    controller_high: float,
    shifter: Shifter | None,
    high_threshold: float,
    supply: float,
    lit_supply: float,
    return_shift: float,
    other_shift: float,
) -> DataLevel:
    """Return the data level's margins.

    `high_threshold` is the share of the LED's own supply that counts as high, `supply` that supply with all
    LEDs dark and `lit_supply` with all on (V); `return_shift` is how far the LED's ground then lies above
    the controller's, `other_shift` what other currents add to that at any time (V). A level shifter stands
    beside the controller, on `supply`.
    """
    high = supply - shifter.output_drop if shifter is not None else controller_high
    return DataLevel(
        high=high,
        dark_margin=high - other_shift - high_threshold * supply,
        lit_margin=high - other_shift - return_shift - high_threshold * lit_supply,
        shifter_margin=controller_high - shifter.find_threshold(supply) if shifter is not None else None,
        above_supply=high - other_shift - return_shift - lit_supply,
    )
