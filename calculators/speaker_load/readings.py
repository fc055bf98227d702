"""What a meter should show on a finished channel: its coils, no other connection, its supply, no voltage."""

from dataclasses import dataclass
from typing import ClassVar

from calculators.notation.units import Share, Volt
from calculators.physics.copper import find_wire_resistance
from calculators.physics.meter import OPEN_CIRCUIT, RESISTANCE, WIRE_SHARES, widen
from calculators.results.case import Span
from calculators.speaker_load.channel import LEAST_COIL, Channel
from calculators.speaker_load.dc_network import find_resistance
from calculators.speaker_load.given import Given

DC_SHARES: tuple[Share, Share, Share] = (LEAST_COIL, 0.8, 0.95)
"""A meter shows this share of a speaker's nominal impedance: least, mostly, most; common practice."""

COIL_SPREAD: Share = 0.1
"""By which a coil of measured Re may differ from it."""

SUPPLY_SHARES: tuple[Share, Share] = (0.92, 1.12)
"""Of the supply under load, what it may be without: a battery that rests, a converter set a little off."""

REST: Volt = 0.05
"""Of direct voltage between two good outputs, at most; common practice."""


@dataclass(frozen=True, slots=True)
class Meter:
    """The coils through the lead, the supply at rest, and what every good channel shows."""

    unconnected: ClassVar[Span] = OPEN_CIRCUIT
    rest: ClassVar[Span] = Span(0.0, -REST, REST)

    coils: Span | None
    supply: Span


def find_meter(given: Given, channel: Channel) -> Meter:
    """Return what to read; contacts may be far better than planned."""
    loop, nominals = channel.loop, channel.network.nominals
    solid = find_wire_resistance(2 * given.lead_length, given.lead_gauge.area)
    low, middle, high = (
        find_resistance(
            channel.network.tree,
            [
                nominal * share if driver is None else driver.re * spread
                for driver, nominal in zip(channel.drivers, nominals, strict=True)
            ],
        )
        for share, spread in zip(DC_SHARES, (1 - COIL_SPREAD, 1.0, 1 + COIL_SPREAD), strict=True)
    )
    coils = widen(
        middle + loop.wiring, low + WIRE_SHARES[0] * solid,
        high + WIRE_SHARES[1] * solid + loop.joint, RESISTANCE.find_error,
    )  # fmt: skip
    return Meter(coils, Span(loop.supply, *(share * loop.supply for share in SUPPLY_SHARES)))
