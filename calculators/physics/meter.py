"""A hand meter: what may be off in what it shows, and milliohms read as millivolts at a test current.

The meter is the one a builder owns: 2,000 counts, ohms in steps of 0.1 Ω with ±(0.8 % + 5 digits),
millivolts in steps of 0.1 mV, amperes up to 10 A for 10 s. What its maker allows for volts and amperes, and
what a clamp meter and a bench supply may be off, is common practice for the cheaper ones.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

from calculators.notation.units import Ampere, Ohm, Share, Volt
from calculators.physics.copper import WORST_FACTOR
from calculators.results.case import Span, Within, Wording

COUNTS = 2000
"""Steps that the display has before the meter goes on to a range with steps ten times as large."""


@dataclass(frozen=True, slots=True)
class Scale:
    """One kind of range: what may be off, as a `share` and in `digits`, and the `finest` step."""

    share: Share
    digits: int
    finest: float

    def find_step(self, value: float) -> float:
        """Return the step in which a value is shown."""
        step = self.finest
        while abs(value) >= COUNTS * step:
            step *= 10
        return step

    def find_error(self, value: float) -> float:
        """Return how far off what is shown may be."""
        return self.share * abs(value) + self.digits * self.find_step(value)


RESISTANCE = Scale(0.008, 3, 0.1)
"""Of the 5 digits 3 are left once what the probes show held together is taken off."""

VOLTAGE = Scale(0.005, 3, 1e-4)

LARGEST_CURRENT: Ampere = 10.0
"""Through a hand meter, for 10 s; above it a clamp meter for direct current is taken."""

MILLIAMPERES: Ampere = 0.15
"""Up to here the 200 mA range reads it with room to spare; above, the one of 10 A in steps of 10 mA."""

OPEN_CIRCUIT = Span(2e7, 1e5, 1e9)
"""No connection, in Ω: over the range of the meter, or what a damp plug and fingertips leave of that."""

SOURCE_SPREAD: Share = 0.05
"""A source within 4 % of what it should be passes, read by a meter that may be 1 % off."""

TEST_CURRENTS: tuple[Ampere, ...] = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0)
"""What a bench supply is easily set to."""

LEAST_SET: Ampere = 1.0
"""A smaller test current is set less well, so it is for what bears no more."""

ENOUGH_VOLTS: Volt = 0.02
"""From here on a step of 0.1 mV is half a per cent."""

MOST_VOLTS: Volt = 1.0
"""Along the run: half of what the bench supply is turned down to, so that its own leads have the rest."""

LEAST_WIRE: Ohm = 4e-3
"""A shorter run is no longer told from its lugs and from how its ends are joined."""

LEAST_TOLD: Share = 0.25
"""Of a voltage lost, the part that the steps of two readings may be; with more they tell nothing."""

OHMS_FROM: Ohm = 10.0
"""From here on the range in ohms is off by 6 % at most, and needs no test current."""

WIRE_SHARES: tuple[Share, Share] = (0.92, WORST_FACTOR + 0.12)
"""Of a run's solid copper at 20 °C: a cool room and wire on the good side; the worst of hook-up wire, its
lugs, a warm room and a little more wire than planned. Two gauge numbers thinner are 1.59."""


def find_current_error(current: Ampere) -> Ampere:
    """Return how far off an ammeter may be, or above its range the clamp meter."""
    if current > LARGEST_CURRENT:
        return 0.03 * current + 0.3
    return 0.02 * current + 5 * (1e-4 if current <= MILLIAMPERES else 1e-2)


def find_test_error(current: Ampere, volts: Volt, readings: int = 1) -> Volt:
    """Return how far off `volts` at a test current may be, added up from so many readings.

    The bench supply shows its current in steps of 10 mA, to a per cent.
    """
    offset = VOLTAGE.digits * VOLTAGE.find_step(volts)
    return (VOLTAGE.share + 0.01 + 0.01 / current) * volts + readings * offset


def make_span(expected: float, low: float, high: float) -> Span | None:
    """Return the range, or None where what is expected would not pass: then there is nothing to read."""
    return Span(expected, low, high) if low <= expected <= high else None


def widen(
    expected: float, low: float, high: float, find_error: Callable[[float], float], most: float = math.inf
) -> Span | None:
    """Return `low` to `high` with what the meter may be off on either side, from nought to `most`."""
    return make_span(expected, max(low - find_error(low), 0.0), min(high + find_error(high), most))


def find_lost_span(supply: Volt, expected: Volt, low: Volt, high: Volt, most: Volt) -> Span | None:
    """Return what passes as source minus load, or None where the meter's steps are too large for it.

    Both are read with one meter on one range, so that only the steps count, and not how far off it or the
    source is.
    """
    steps = 2 * VOLTAGE.find_step(supply)
    return None if steps > LEAST_TOLD * expected else widen(expected, low, high, lambda _: steps, most)


@dataclass(frozen=True, slots=True)
class Wires:
    """Both wires of a run at 20 °C: as solid copper, and as planned."""

    solid: Ohm
    planned: Ohm


@dataclass(frozen=True, slots=True)
class RunTest:
    """What a test current through a run of two wires, joined at the far end, makes a meter show.

    `wire` is in V along both wires; a long run is read in Ω (`ohms`) instead. `crossing` is in V across all
    contacts with which a wire crosses the joint, `contact` across one of several by itself, where one that
    is missing shows.
    """

    current: Ampere
    wire: Span | None
    ohms: Span | None
    crossing: Span | None
    contact: Span | None


def find_run_test(
    wires: Wires, contact: Ohm, shared: int, crossings: int, bears: Ampere, most: Ohm = math.inf
) -> RunTest:
    """Return what to read of a run whose wires and contacts bear a current of `bears`.

    With more than `most` in its wires it would lose too much. A contact may be far better than planned.
    """
    low, high = WIRE_SHARES[0] * wires.solid, min(WIRE_SHARES[1] * wires.solid, most)
    crossing = contact / shared
    read = [one for one, there in ((wires.solid, wires.solid >= LEAST_WIRE), (crossing, crossings)) if there]
    current = choose_test_current(min(read, default=0.0), max(wires.solid, contact), bears)
    wire = ohms = None
    if wires.solid >= OHMS_FROM:
        ohms = widen(wires.planned, low, high + crossings * crossing, RESISTANCE.find_error)
    elif wires.solid >= LEAST_WIRE:
        wire = widen(
            current * wires.planned, current * low, current * high,
            lambda volts: find_test_error(current, volts, 1 + crossings), current * most,
        )  # fmt: skip
    return RunTest(
        current, wire, ohms, find_contact_span(crossing, current) if crossings else None,
        find_contact_span(contact, current) if crossings and shared > 1 else None,
    )  # fmt: skip


def find_contact_span(resistance: Ohm, current: Ampere) -> Span | None:
    """Return the volts across what should have no more than this, or None where they would not show."""
    volts = current * resistance
    if volts < VOLTAGE.digits * VOLTAGE.finest:
        return None
    return Span(volts, 0.0, volts + find_test_error(current, volts))


def choose_test_current(least: Ohm, most: Ohm, bears: Ampere) -> Ampere:
    """Return the smallest test current that gives enough millivolts, else the largest that is borne.

    `least` and `most` are the smallest and the largest of the resistances that are read with it.
    """
    borne = [one for one in TEST_CURRENTS if one <= bears and one * most <= MOST_VOLTS]
    usable = borne or TEST_CURRENTS[:1]
    enough = (one for one in usable if one >= LEAST_SET and one * least >= ENOUGH_VOLTS)
    return next(enough, usable[-1])


CONTACT_PROBES = (
    "before those side by side are joined, or with the others kept apart by a slip of paper; the same "
    "current through one contact after the other; probes on its two tails"
)
"""Where to read one of several contacts."""


def word_drive(path: str) -> Within[RunTest]:
    """Return how to make the current of the test at a path."""
    return Within(
        path,
        "let {current:A} flow, for a minute at most, from a bench supply turned down to 2 V and limited to "
        "{current:A} (without one: from the battery through a fuse and a lamp or a resistor in series, which "
        "gets hot; read that current first, and reckon in proportion)",
        {},
    )


def name_ammeter[S](find_current: Callable[[S], Ampere]) -> tuple[Wording[S], ...]:
    """Return what to read a current with and how, up to the wire that it flows in."""
    return (
        Wording(
            "clamp meter for direct current, set to zero first, round",
            lambda case: find_current(case) > LARGEST_CURRENT,
        ),
        Wording(
            "ammeter on its range of 10 A, for 10 s at most, in",
            lambda case: find_current(case) > MILLIAMPERES,
        ),
        Wording("ammeter on its range of 200 mA in"),
    )
