"""A string of equal LEDs on one supply: its ladder, its feeds and where its power goes, all channels on."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from calculators.led_current.feed import MOST_FEEDS
from calculators.led_current.ladder import (
    Feed,
    UniformLadder,
    find_feeds_needed,
    solve_falling,
    solve_uniform,
)
from calculators.led_current.led import Led
from calculators.notation.units import Ampere, Ohm, Volt, Watt


@dataclass(frozen=True, slots=True)
class LedString:
    """A solved string, all channels on.

    `held` is the ladder with currents that hold, `falling` the voltages of all nodes with currents that
    fall, or None where no LED gets below its full voltage. `feed_resistance` is that of the leads and
    contacts of each feed.
    """

    led: Led
    held: UniformLadder
    falling: tuple[Volt, ...] | None
    feed_resistance: Ohm
    lowest_led: int
    lowest: Volt
    lowest_falling: Volt
    falling_current: Ampere
    feeds_needed: int | None

    @property
    def count(self) -> int:
        """The number of LEDs."""
        return self.held.count

    @property
    def peak(self) -> Ampere:
        """Current of the whole string."""
        return self.held.count * self.led.full_current

    @property
    def return_shift(self) -> Volt:
        """How far the first LED's ground lies above the supply's: half of the drop is in the return."""
        return min(self.held.find_drop(1), self.held.supply) / 2

    @property
    def first_voltage(self) -> Volt:
        """What the first LED is left with."""
        return max(self.held.find_voltage(1), 0.0)

    @property
    def flows(self) -> bool:
        """False when the wires would eat up the whole supply, so that such currents can never flow."""
        return self.lowest > 0

    @property
    def copper_loss(self) -> Watt:
        """Power lost in strip, leads and contacts."""
        return self.held.current * self.held.find_total_drop()

    @property
    def lead_loss(self) -> Watt:
        """Power lost in leads and contacts alone."""
        return self.feed_resistance * math.fsum(current * current for current in self.held.feed_currents)

    def find_true_drop(self, node: int) -> Volt:
        """Return how far below the supply a node lies, with currents that fall where they do."""
        return self.held.supply - self.falling[node] if self.falling else self.held.find_drop(node)

    def solve_fed_at(self, nodes: Iterable[int]) -> UniformLadder:
        """Return the same string fed at other nodes, through equal leads and contacts."""
        held = self.held
        feeds = [Feed(node, self.feed_resistance) for node in nodes]
        return solve_uniform(held.supply, held.current, held.segment, held.count, feeds)


def solve_string(
    led: Led, count: int, supply: Volt, segment: Ohm, nodes: Iterable[int], resistance: Ohm, floor: Volt
) -> LedString:
    """Solve a string of LEDs fed at `nodes` through `resistance` each; `floor` is wanted everywhere.

    `segment` is the resistance from LED to LED, out and back.
    """
    current = led.full_current
    held = solve_uniform(supply, current, segment, count, [Feed(node, resistance) for node in nodes])
    lowest_led, lowest = held.find_lowest()
    falling = None
    if lowest < led.full_voltage:
        falling = solve_falling(
            supply, current, led.full_voltage, led.dark_voltage, segment, count, held.feeds
        )
    return LedString(
        led=led,
        held=held,
        falling=falling,
        feed_resistance=resistance,
        lowest_led=lowest_led,
        lowest=lowest,
        lowest_falling=min(falling[1:-1]) if falling else lowest,
        falling_current=_add_falling_currents(led, falling[1:-1]) if falling else count * current,
        feeds_needed=find_feeds_needed(supply, current, segment, count, resistance, floor, MOST_FEEDS),
    )


def _add_falling_currents(led: Led, voltages: Iterable[float]) -> float:
    full, dark = led.full_voltage, led.dark_voltage
    span = full - dark
    shares = [1.0 if volts >= full else (volts - dark) / span for volts in voltages if volts > dark]
    return led.full_current * math.fsum(shares)
