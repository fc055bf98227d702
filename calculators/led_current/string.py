"""A string of equal LEDs on one supply: its ladder, its feeds and where its power goes, all channels on."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from calculators.led_current.feed import MOST_FEEDS
from calculators.led_current.feed_lead import choose_lead, find_loop_resistance
from calculators.led_current.ladder import (
    Feed,
    UniformLadder,
    find_feeds_needed,
    solve_falling,
    solve_uniform,
)
from calculators.led_current.timing import PixelTiming
from calculators.notation.gauge import Gauge
from calculators.physics.ampacity import FUSE_LOADING, find_smallest_fuse
from calculators.physics.copper import ConductorKind


@dataclass(frozen=True, slots=True)
class Led:
    """One LED: currents in A, voltages in V; supply limits are None where nothing is known.

    Each channel holds its current down to `full_voltage`; from there it falls on a straight line to nothing
    at `dark_voltage`. `high_threshold` is the share of its own supply that its data input takes for high.
    """

    channels: int
    channel_current: float
    idle_current: float
    full_voltage: float
    dark_voltage: float
    lowest_supply: float | None
    highest_supply: float | None
    high_threshold: float
    timing: PixelTiming

    @property
    def full_current(self) -> float:
        """Current in A with all channels on."""
        return self.idle_current + self.channels * self.channel_current


@dataclass(frozen=True, slots=True)
class Lead:
    """The way from the supply to one feed: `length` in m one way, resistance of all its contacts in Ω.

    `allowed_drop` (V) is what a proposed wire may lose, out and back.
    """

    gauge: Gauge
    length: float
    kind: ConductorKind
    contacts_resistance: float
    allowed_drop: float


@dataclass(frozen=True, slots=True)
class LedString:
    """A solved string, all channels on: voltages in V, currents in A, powers in W.

    `held` is the ladder with currents that hold, `falling` the voltages of all nodes with currents that
    fall, or None where no LED gets below its full voltage.
    """

    led: Led
    held: UniformLadder
    falling: tuple[float, ...] | None
    feed_resistance: float
    lowest_led: int
    lowest: float
    lowest_falling: float
    falling_current: float
    feed_current: float
    fuse: float | None
    wire: Gauge | None
    feeds_needed: int | None

    @property
    def count(self) -> int:
        """The number of LEDs."""
        return self.held.count

    @property
    def peak(self) -> float:
        """Current of the whole string in A."""
        return self.held.count * self.led.full_current

    @property
    def return_shift(self) -> float:
        """How far the first LED's ground lies above the supply's, in V: half of the drop is in the return."""
        return min(self.held.find_drop(1), self.held.supply) / 2

    @property
    def first_voltage(self) -> float:
        """What the first LED is left with, in V."""
        return max(self.held.find_voltage(1), 0.0)

    @property
    def flows(self) -> bool:
        """False when the wires would eat up the whole supply, so that such currents can never flow."""
        return self.lowest > 0

    @property
    def copper_loss(self) -> float:
        """Power lost in strip, leads and contacts, in W."""
        return self.held.current * self.held.find_total_drop()

    @property
    def lead_loss(self) -> float:
        """Power lost in leads and contacts alone, in W."""
        return self.feed_resistance * math.fsum(current * current for current in self.held.feed_currents)

    def find_true_drop(self, node: int) -> float:
        """Return how far below the supply a node lies, in V, with currents that fall where they do."""
        return self.held.supply - self.falling[node] if self.falling else self.held.find_drop(node)

    def solve_fed_at(self, nodes: Iterable[int]) -> UniformLadder:
        """Return the same string fed at other nodes, through equal leads and contacts."""
        held = self.held
        feeds = [Feed(node, self.feed_resistance) for node in nodes]
        return solve_uniform(held.supply, held.current, held.segment, held.count, feeds)


def solve_string(
    led: Led, count: int, supply: float, segment: float, nodes: Iterable[int], lead: Lead, floor: float
) -> LedString:
    """Solve a string of LEDs fed at `nodes`: `segment` in Ω out and back, `floor` wanted everywhere in V."""
    resistance = find_loop_resistance(lead.gauge, lead.length, lead.kind) + lead.contacts_resistance
    current = led.full_current
    held = solve_uniform(supply, current, segment, count, [Feed(node, resistance) for node in nodes])
    lowest_led, lowest = held.find_lowest()
    falling = None
    if lowest < led.full_voltage:
        falling = solve_falling(
            supply, current, led.full_voltage, led.dark_voltage, segment, count, held.feeds
        )
    feed_current = max(held.feed_currents)
    fuse = find_smallest_fuse(feed_current / FUSE_LOADING)
    wire = choose_lead(fuse, feed_current, lead.length, lead.allowed_drop, lead.kind) if fuse else None
    return LedString(
        led=led,
        held=held,
        falling=falling,
        feed_resistance=resistance,
        lowest_led=lowest_led,
        lowest=lowest,
        lowest_falling=min(falling[1:-1]) if falling else lowest,
        falling_current=_add_falling_currents(led, falling[1:-1]) if falling else count * current,
        feed_current=feed_current,
        fuse=fuse,
        wire=wire,
        feeds_needed=find_feeds_needed(supply, current, segment, count, resistance, floor, MOST_FEEDS),
    )


def _add_falling_currents(led: Led, voltages: Iterable[float]) -> float:
    full, dark = led.full_voltage, led.dark_voltage
    span = full - dark
    shares = [1.0 if volts >= full else (volts - dark) / span for volts in voltages if volts > dark]
    return led.full_current * math.fsum(shares)
