"""Finished builds on the bench: each plan is built soundly or with one fault, and then measured.

What is there comes from Ohm's law and the figures of the plan, with everything that a builder does not have
in hand drawn for itself: copper, contacts, lugs, coils, reels, sources, the room. What the meter shows of it
is what tests/calculators/meter.py makes of it. Nothing is taken from the ranges that the calculators give.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from random import Random
from typing import Any

from calculators.led_current.solve import Solved as SolvedString
from calculators.pin_order.plug import Pin
from calculators.pin_order.solve import Solved as SolvedLead
from calculators.speaker_load.dc_network import Group, Network, Part
from calculators.speaker_load.solve import Solved as SolvedChannel
from calculators.wire_gauge.solve import Solved as SolvedRun
from tests.calculators.meter import HandMeter, read_thermometer, set_current

COPPER = 1e-6 / 58
"""Ω m at 20 °C."""

OPEN = 1e12
"""Ω; nothing."""

type Shown = Mapping[str, Sequence[float]]
"""What the meter shows, by the path of the reading; several where each of several has to pass."""


@dataclass(frozen=True)
class Bench:
    """How the builds of one calculator are made: measured by `build`, with a fault of the list or without.

    `finds` names for each reading the faults that it is meant to find. `build` returns nothing where a fault
    does not go with the plan, or where what was built lies nearer to a limit than a meter can tell.
    """

    build: Callable[[Any, Random, str], Shown | None]
    finds: Mapping[str, Sequence[str]]


def find_solid(length: float, area: float) -> float:
    return 2 * length * COPPER / area


def draw_wires(draw: Random, kind: str, length: float, area: float) -> float:
    """Return both wires at 20 °C: real strands, and a few centimetres more or less than planned."""
    most = 1.02 if kind == "solid" else 1.24
    return find_solid(length, area) * draw.uniform(0.98, most) * draw.uniform(0.98, 1.03)


def draw_room(draw: Random) -> float:
    """Return the factor of copper in a room of 12 to 28 °C."""
    return 1 + 0.00393 * draw.uniform(-8, 8)


def draw_contacts(
    draw: Random, fault: str, resistance: float, crossings: int, shared: int
) -> list[list[float]]:
    """Return the contacts of each crossing of a joint; a maker states the most that a good one has."""
    found = [[resistance * draw.uniform(0.3, 1.0) for _ in range(shared)] for _ in range(crossings)]
    if fault == "dirty contacts":
        found[0] = [resistance * draw.uniform(3, 10) for _ in found[0]]
    if fault == "contact missing":
        found[0][0] = OPEN
    return found


def join(contacts: Sequence[float]) -> float:
    return 1 / sum(1 / one for one in contacts)


def has_contacts(fault: str, crossings: int, shared: int) -> bool:
    """Return whether a joint has what this fault is a fault of."""
    return {"dirty contacts": crossings > 0, "contact missing": crossings > 0 and shared > 1}.get(fault, True)


def spoil_wires(draw: Random, fault: str) -> float:
    """Return by what a wire's fault multiplies its resistance."""
    return {"wire too thin": 1.59, "copper-clad wire": draw.uniform(1.5, 1.65)}.get(fault, 1.0)


def read_run(
    draw: Random, meter: HandMeter, wanted: float, wires: float, contacts: Sequence[Sequence[float]]
) -> dict[str, list[float]]:
    """Return the loop less its crossings, each crossing, each contact, and the loop in ohms."""
    current, room = set_current(draw, wanted), draw_room(draw)
    crossings = [join(one) for one in contacts]
    loop = wires * room + sum(draw.uniform(5e-5, 2.5e-4) for _ in range(3)) + sum(crossings)
    across = [meter.read_volts(current * one) for one in crossings]
    return {
        "wire": [meter.read_volts(current * loop) - sum(across)],
        "ohms": [meter.read_ohms(loop)],
        "crossing": across,
        # A bench supply turned down to 2 V drives nothing through what is open, and shows its 2 V.
        "contact": [meter.read_volts(min(current * each, 2.0)) for one in contacts for each in one],
    }


# --- wire-gauge ---------------------------------------------------------------------------------------


def build_run(case: SolvedRun, draw: Random, fault: str) -> Shown | None:
    given, run, size, meter = case.given, case.run, case.judged, HandMeter(draw)
    if case.meter is None or not has_contacts(fault, given.contacts, given.contacts_shared):
        return None
    if size.hot is None or size.drop is None or size.temperature is None:
        return None
    wires = draw_wires(draw, run.conductor, run.length, size.gauge.area) * spoil_wires(draw, fault)
    contacts = draw_contacts(draw, fault, given.contact_resistance, given.contacts, given.contacts_shared)
    lost_beside = sum(join(one) for one in contacts)
    if fault == "bad crimp":
        # Beside the copper that the probes of the test touch, but in the way of the load's current.
        lost_beside += draw.uniform(1, 3) * (find_solid(run.length, size.gauge.area) + case.joint)
    # As warm as it gets in use, which is less than the cautious figure.
    warming = (size.temperature - run.ambient) * draw.uniform(0.45, 0.8)
    warm = 1 + 0.00393 * (draw.uniform(15, run.ambient) + warming - 20)
    if not fault:
        # At the highest current and as warm as planned it must not lose too much, by more than a meter tells.
        worst = run.peak * (wires * size.hot / size.cold + lost_beside)
        step = 0.01 if given.supply < 20 else 0.1
        ammeter = 0.03 + 0.3 / run.current
        if run.current <= 10:
            ammeter = 0.02 + (0.0005 if run.current < 0.15 else 0.05) / run.current
        if worst > run.allowed * (1 - ammeter - 0.03) - 3 * step * run.peak / run.current:
            return None
    current = run.current * draw.uniform(0.9, 1.05)
    source = given.supply * draw.uniform(0.96, 1.04)
    lost = meter.read_difference(source, source - current * (wires * warm + lost_beside))
    rise = warming * (draw.uniform(2.6, 2.9) if fault == "four sizes too thin" else 1.0)
    shown = read_run(draw, meter, case.meter.run.current, wires, contacts)
    return {
        **{f"meter.run.{name}": values for name, values in shown.items()},
        "meter.lost": [lost * run.current / meter.read_amperes(current)],
        "meter.warmth": [read_thermometer(draw, rise)],
    }


RUN = Bench(
    build_run,
    {
        "meter.run.wire": ("wire too thin", "copper-clad wire"),
        "meter.run.ohms": ("wire too thin", "copper-clad wire"),
        "meter.run.crossing": ("dirty contacts",),
        "meter.run.contact": ("contact missing",),
        "meter.lost": ("bad crimp",),
        "meter.warmth": ("four sizes too thin",),
    },
)

# --- led-current --------------------------------------------------------------------------------------


def solve_string(
    supply: float, sections: Sequence[float], loads: Sequence[float], feeds: Mapping[int, float]
) -> list[float]:
    """Return the voltage of every node, by elimination along the string."""
    joined = [0.0, *(1 / one for one in sections), 0.0]
    ratios: list[tuple[float, float]] = []
    ratio = share = 0.0
    for node, load in enumerate(loads):
        fed = 1 / feeds[node] if node in feeds else 0.0
        pivot = joined[node] + joined[node + 1] + fed - joined[node] * ratio
        share = (fed * supply - load + joined[node] * share) / pivot
        ratio = joined[node + 1] / pivot
        ratios.append((ratio, share))
    voltages, voltage = [], 0.0
    for ratio, share in reversed(ratios):
        voltage = share + ratio * voltage
        voltages.append(voltage)
    return voltages[::-1]


def build_string(case: SolvedString, draw: Random, fault: str) -> Shown | None:
    given, led, meter = case.given, case.led, HandMeter(draw)
    places = [feed.node for feed in case.feeds]
    if not has_contacts(fault, given.contacts, given.contacts_shared):
        return None
    if (fault == "feed missing" and len(places) == 1) or (fault == "string off" and given.strings == 1):
        return None
    feeds: dict[int, float] = {}
    returns: dict[int, float] = {}
    first: tuple[float, list[list[float]]] = (0.0, [])
    for place in places:
        wires = draw_wires(draw, given.lead_conductor, given.lead_length, given.lead_gauge.area)
        wires *= spoil_wires(draw, fault)
        contacts = draw_contacts(
            draw, fault if place == places[0] else "", given.contact_resistance, given.contacts,
            given.contacts_shared,
        )  # fmt: skip
        bad = draw.uniform(0.3, 1.0) if fault in ("bad joint", "bad ground") and place == places[0] else 0.0
        feeds[place] = wires + sum(join(one) for one in contacts) + bad + 1e-6
        half = draw.uniform(0.48, 0.52)
        returns[place] = half * (feeds[place] - bad) + (bad if fault == "bad ground" else bad * half)
        if place == places[0]:
            first = (wires, contacts)
    if fault == "feed missing":
        # The one that leaves the weakest LED worst off.
        gone = min(places, key=lambda place: abs(place - case.string.lowest_led))
        del feeds[gone]
    sections = [given.find_segment() * draw.uniform(0.95, 1.05)] * (given.count + 1)
    batch, idle = draw.uniform(0.88, 1.05), draw.uniform(0.5, 1.1) * led.idle_current
    if fault == "brighter reel":
        batch *= 1.6
    channels = led.channels - (1 if fault == "colour dead" else 0)
    bright = batch * channels * led.channel_current
    source = given.supply * draw.uniform(0.96, 1.04)
    if fault == "source too low":
        source = given.supply * draw.uniform(0.8, 0.88)
    loads = [0.0, *(idle + bright * draw.uniform(0.97, 1.03) for _ in range(given.count)), 0.0]
    drawn = loads
    for _ in range(3):
        nodes = solve_string(source, sections, drawn, feeds)
        if min(nodes[1:-1]) >= led.full_voltage:
            break
        span = led.full_voltage - led.dark_voltage
        drawn = [
            load * min(max((volts - led.dark_voltage) / span, 0.0), 1.0)
            for load, volts in zip(loads, nodes, strict=True)
        ]
    weakest = nodes[case.string.lowest_led]
    lift = returns[places[0]] / feeds[places[0]] * (source - nodes[1]) if places[0] in feeds else 0.0
    shift = lift + given.ground_shift * draw.uniform(0, 1)
    if not fault:
        steps = 3 * (0.01 if given.supply < 20 else 0.1)
        near = weakest < case.floor + 0.006 * weakest + steps
        # A source that is off leaves the loss as it is, but a wire at the edge of what is planned does not.
        near = near or given.supply - (source - weakest) < case.floor + steps
        over = given.converter_limit or 1e9
        total = given.strings * sum(drawn)
        near = near or total > over * (0.97 if total <= 10 else 0.95) - (0.05 if total <= 10 else 0.3)
        near = near or shift > case.input_overdrive * 0.97
        if near:
            return None
    dark = given.strings * given.count * idle
    lit_strings = given.strings - (1 if fault == "string off" else 0)
    if fault == "shorted chip":
        dark += draw.uniform(1.0, 3.0)
    shown = read_run(draw, meter, case.meter.lead.current, *first)
    return {
        **{f"meter.lead.{name}": values for name, values in shown.items()},
        "meter.dark": [meter.read_amperes(dark)],
        "meter.full": [meter.read_amperes(lit_strings * sum(drawn))],
        "meter.start": [meter.read_difference(source, nodes[places[0]])],
        "meter.weakest": [meter.read_difference(source, weakest)],
        "meter.lowest": [meter.read_volts(weakest)],
        "meter.shift": [meter.read_volts(shift)],
    }


STRING = Bench(
    build_string,
    {
        "meter.lead.wire": ("wire too thin", "copper-clad wire"),
        "meter.lead.crossing": ("dirty contacts",),
        "meter.lead.contact": ("contact missing",),
        "meter.dark": ("shorted chip",),
        "meter.full": ("brighter reel", "string off"),
        "meter.start": ("bad joint",),
        "meter.weakest": ("feed missing",),
        "meter.lowest": ("source too low",),
        "meter.shift": ("bad ground",),
    },
)

# --- speaker-load -------------------------------------------------------------------------------------


def add_up(network: Network, coils: Sequence[float], *, swapped: bool = False) -> float:
    """Return the resistance of a network; `swapped`, its outermost joint is the other one."""
    if isinstance(network, Part):
        return coils[network.number]
    values = [add_up(member, coils) for member in network.members]
    if (network.joined == "series") != swapped:
        return sum(values)
    return 0.0 if min(values) == 0 else 1 / sum(1 / value for value in values)


def build_channel(case: SolvedChannel, draw: Random, fault: str) -> Shown | None:
    given, meter, tree = case.given, HandMeter(draw), case.channel.network.tree
    if fault == "joined wrongly" and not isinstance(tree, Group):
        return None
    coils = [
        speaker.driver.re * draw.uniform(0.92, 1.08) if speaker.driver
        else speaker.nominal * draw.uniform(0.65, 0.95)
        for speaker in case.speakers
    ]  # fmt: skip
    if fault == "coil shorted":
        coils[draw.randrange(len(coils))] = 0.0
    if fault == "coil open":
        coils[draw.randrange(len(coils))] = OPEN
    wires = draw_wires(draw, "stranded", given.lead_length, given.lead_gauge.area) * draw_room(draw)
    contacts = draw_contacts(draw, "", given.contact_resistance, given.contacts, 1)
    lead = wires + sum(join(one) for one in contacts)
    loop = add_up(tree, coils, swapped=fault == "joined wrongly") + lead
    supply = given.supply * draw.uniform(0.96, 1.08)
    if fault == "another rail":
        supply = given.supply * draw.choice([5 / 12, 0.5, 2.0, draw.uniform(1.25, 1.5)])
    leak = draw.choice([draw.uniform(0, 50), draw.uniform(0, 2e4)]) if fault == "pinched wire" else OPEN
    rest = draw.gauss(0, 0.008)
    if fault == "dead output":
        rest = draw.choice([-1, 1]) * draw.uniform(0.2, given.supply / 2)
    return {
        "meter.coils": [meter.read_ohms(loop)],
        "meter.unconnected": [meter.read_ohms(leak)],
        "meter.supply": [meter.read_volts(supply)],
        "meter.rest": [meter.read_volts(rest)],
    }


CHANNEL = Bench(
    build_channel,
    {
        "meter.coils": ("joined wrongly", "coil shorted", "coil open"),
        "meter.unconnected": ("pinched wire",),
        "meter.supply": ("another rail",),
        "meter.rest": ("dead output",),
    },
)

# --- pin-order ----------------------------------------------------------------------------------------


def build_lead(case: SolvedLead, draw: Random, fault: str) -> Shown | None:
    """Build the made-up lead: which board pin hangs on which source pin, through how much."""
    meter, planned = HandMeter(draw), case.limits.lead_resistance
    given = case.given

    def draw_one() -> float:
        if given.lead_resistance is not None or given.lead_gauge is None:
            return planned * draw.uniform(0.2, 1.0)
        # One of the two wires, and a contact at either end.
        copper = draw_wires(draw, "stranded", given.lead_length, given.lead_gauge.area) / 2 * draw_room(draw)
        return copper + sum(given.contact_resistance * draw.uniform(0.3, 1.0) for _ in range(2))

    wires = {wire.there.index: (wire.here, draw_one()) for wire in case.wires}
    kinds = {wire.there.index: wire.there.role.kind for wire in case.wires}
    supplies = [pin for pin, kind in kinds.items() if kind == "supply"]
    grounds = [pin for pin, kind in kinds.items() if kind == "ground"]
    signals = [voltage.pins[0].index for voltage in case.voltages if kinds[voltage.pins[0].index] != "supply"]
    bridged: set[int] = set()
    match fault:
        case "open wire":
            del wires[draw.choice(list(wires))]
        case "dirty contact":
            pin = draw.choice(supplies + grounds)
            wires[pin] = (wires[pin][0], planned * draw.uniform(1.5, 10))
        case "solder bridge" if supplies and grounds:
            bridged = {draw.choice(supplies), draw.choice(grounds)}
        case "bridge to a signal" if supplies and signals:
            bridged = {draw.choice(supplies), draw.choice(signals)}
        case "swapped with ground" if supplies and grounds:
            one, other = supplies[0], grounds[0]
            wires[one], wires[other] = wires[other], wires[one]
        case "swapped with signal" if supplies and signals:
            one, other = supplies[0], draw.choice(signals)
            wires[one], wires[other] = wires[other], wires[one]
        case "":
            pass
        case _:
            return None
    return dict(_read_lead(case, draw, meter, wires, bridged))


def _read_lead(
    case: SolvedLead, draw: Random, meter: HandMeter, wires: Mapping[int, tuple[Pin, float]],
    bridged: set[int],
) -> Iterator[tuple[str, list[float]]]:  # fmt: skip
    source_off = draw.uniform(0.97, 1.03)

    def find_end_to_end(here: int, there: int) -> float:
        found = wires.get(there)
        return found[1] if found and found[0].index == here else OPEN

    def find_volts(pin: int) -> float:
        found = wires.get(pin)
        if found is None or found[0].role.kind == "ground":
            return 0.0
        role = found[0].role
        if role.kind != "supply":
            return draw.uniform(0, 0.1) * case.given.signal_level
        return role.voltage * (draw.uniform(0.75, 1.0) if role.feed == "battery" else source_off)

    for number, group in enumerate(case.wire_groups):
        ends = [find_end_to_end(wire.here.index, wire.there.index) for wire in group.wires]
        yield f"wire_groups.{number}.reading", [meter.read_ohms(end) for end in ends]
        if group.test:
            current = set_current(draw, group.test.current)
            # A bench supply turned down to 2 V drives nothing through an open wire, and shows its 2 V.
            volts = [meter.read_volts(min(current * end, 2.0)) for end in ends]
            yield f"wire_groups.{number}.test.contact", volts
    for number, gap in enumerate(case.gaps):
        apart = [
            0.2 if {pin.index, other.index} == bridged else OPEN for pin in gap.pins for other in gap.apart
        ]
        yield f"gaps.{number}.reading", [meter.read_ohms(one) for one in apart]
    for number, voltage in enumerate(case.voltages):
        black = find_volts(voltage.ground.index)
        yield (
            f"voltages.{number}.reading",
            [meter.read_volts(find_volts(pin.index) - black) for pin in voltage.pins],
        )


LEAD = Bench(
    build_lead,
    {
        "wire_groups.reading": ("open wire", "swapped with ground", "swapped with signal"),
        "wire_groups.test.contact": ("dirty contact",),
        "gaps.reading": ("solder bridge", "bridge to a signal"),
        "voltages.reading": ("swapped with ground", "swapped with signal"),
    },
)
