"""The working, the readings and the tables of the speaker-load calculator."""

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from functools import partial

from calculators.notation.showing import Figure, Phrase, list_names, say
from calculators.numbers.decibel import find_decibels
from calculators.numbers.preferred_values import find_next_below, remove_dust
from calculators.results.result import Cell, Column, LateTable, Reading, Rows, Step, Table
from calculators.speaker_load.channel import CLIPPED_GAIN, LOWEST_SHARE, Channel, Fault
from calculators.speaker_load.dc_network import Group, Network, find_resistance
from calculators.speaker_load.driver import Curve
from calculators.speaker_load.network import SpeakerNetwork, write_network
from calculators.speaker_load.ranking import MOST_ROWS, Ranking

POINTS_PER_ROW = 4
"""Of the curve's points in its table: eight rows in a decade of the usual band."""

DC_SHARES = (0.70, 0.85)
"""A meter shows this share of a speaker's nominal impedance; common practice."""


def _ohms(value: float) -> Figure:
    return Figure(value, "resistance")


def _watts(value: float) -> Figure:
    return Figure(value, "power")


def _amps(value: float) -> Figure:
    return Figure(value, "current")


def list_speakers(channel: Channel) -> Table:
    """Return the table of what each speaker gets."""
    drive, over = channel.drive, channel.drive.find_overloaded(channel.driven)
    rows: list[tuple[Cell, ...]] = []
    for place, (name, speaker) in enumerate(zip(channel.network.names, channel.driven, strict=True)):
        current, power = drive.currents[place], drive.powers[place]
        margin = None if speaker.rating is None else 1 - power / speaker.rating
        rows.append(
            (
                name,
                speaker.nominal,
                current,
                current * speaker.nominal,
                power,
                power / drive.power,
                speaker.rating,
                margin,
            )
        )
    return Table(
        "speakers",
        "What each speaker gets at full sine, unclipped (r.m.s.)",
        (
            Column("name", "Speaker"),
            Column("nominal", "Nominal", "resistance", exact=True),
            Column("current", "Current", "current"),
            Column("voltage", "Voltage", "voltage"),
            Column("power", "Power", "power"),
            Column("share", "Share", "fraction"),
            Column("rating", "Rating", "power", exact=True),
            Column("margin", "Left of its rating", "fraction"),
        ),
        tuple(rows),
        tuple("stop" if place in over else "" for place in range(len(rows))),
    )


def list_arrangements(ranking: Ranking) -> LateTable:
    """Return the ranked table of arrangements."""
    total = ranking.total
    hold = {0: "none holds", 1: "1 holds"}.get(ranking.holding, f"{ranking.holding} hold")
    which = f"All {total}" if total <= MOST_ROWS else f"The first {MOST_ROWS} of {total}"
    caption = f"{which} ways to join these speakers, by verdict and evenness; {hold}"
    if total == 1:
        caption = "The only way to join one speaker"
    return LateTable(
        "arrangements",
        caption,
        (
            Column("network", "Joined as"),
            Column("load", "Load", "resistance"),
            Column("power", "Power", "power"),
            Column("evenness", "Least to most", "fraction"),
            Column("level", "Level at 1 m", "level"),
            Column("verdict", "Verdict"),
        ),
        partial(_find_arrangement_rows, ranking),
    )


def _find_arrangement_rows(ranking: Ranking) -> tuple[Rows, tuple[str, ...]]:
    names = ranking.channel.network.names
    rows: list[tuple[Cell, ...]] = []
    for row in ranking.rows:
        drive = row.drive
        words = f"yours, {row.words}" if row.chosen else row.words
        text = write_network(row.network, names)
        rows.append((text, drive.load, drive.power, drive.evenness, row.level, words))
    return tuple(rows), tuple(row.mark or ("chosen" if row.chosen else "") for row in ranking.rows)


def list_faults(faults: Sequence[Fault]) -> Table:
    """Return the table of what happens when one speaker opens or shorts."""
    return Table(
        "faults",
        "When one speaker fails",
        (
            Column("speaker", "Speaker"),
            Column("event", "Fault"),
            Column("load", "Load left", "resistance"),
            Column("peak_current", "Peak current", "current"),
            Column("power", "Power", "power"),
            Column("busiest", "Hardest worked"),
            Column("busiest_power", "Its power", "power"),
            Column("verdict", "What happens"),
        ),
        tuple(
            (
                fault.name,
                fault.event,
                None if fault.load == math.inf else fault.load,
                None if fault.peak_current == math.inf else fault.peak_current,
                fault.power,
                fault.busiest if fault.power else None,
                fault.busiest_power if fault.power else None,
                fault.words,
            )
            for fault in faults
        ),
        tuple(fault.mark for fault in faults),
    )


def list_capacitors(network: SpeakerNetwork, frequency: float) -> Table:
    """Return the table of series capacitors that spare a small speaker below `frequency` Hz."""
    rows: list[tuple[Cell, ...]] = []
    for nominal in dict.fromkeys(network.nominals):
        names = [speaker.name for speaker in network.speakers if speaker.nominal == nominal]
        exact = remove_dust(1 / (2 * math.pi * frequency * nominal))
        cells: list[Cell] = [list_names(names), nominal, exact]
        for series in ("E6", "E12"):
            # The next below, so that the frequency comes out above the one that was asked for.
            value = find_next_below(exact, series)
            cells += [value, 1 / (2 * math.pi * value * nominal)]
        rows.append(tuple(cells))
    return Table(
        "capacitors",
        "Series capacitor (bipolar, first order) for a speaker straight across the amplifier",
        (
            Column("speakers", "Speaker"),
            Column("nominal", "Nominal", "resistance", exact=True),
            Column("exact", "Exact", "capacitance"),
            Column("e6", "From E6", "capacitance", exact=True),
            Column("e6_frequency", "with it", "frequency"),
            Column("e12", "From E12", "capacitance", exact=True),
            Column("e12_frequency", "with it", "frequency"),
        ),
        tuple(rows),
    )


def list_impedance(curve: Curve) -> LateTable:
    """Return the impedance against frequency as numbers, the lowest point marked."""
    return LateTable(
        "impedance",
        "Impedance against frequency, its lowest point among it",
        (Column("frequency", "Frequency", "frequency"), Column("impedance", "Impedance", "resistance")),
        partial(_find_impedance_rows, curve),
    )


def _find_impedance_rows(curve: Curve) -> tuple[Rows, tuple[str, ...]]:
    rows = sorted({*curve.points[::POINTS_PER_ROW], curve.lowest})
    return tuple(rows), tuple("chosen" if row == curve.lowest else "" for row in rows)


def list_readings(
    channel: Channel, *, with_capacitor: bool, minus_grounded: bool, powered: bool
) -> tuple[Reading, ...]:
    """Return what a meter shows on the finished wiring, with the battery on only if it may be `powered`."""
    loop, tree = channel.loop, channel.network.tree
    low_share, high_share = DC_SHARES
    low, high, middle = (
        find_resistance(
            tree,
            [
                driver.re * spread if driver is not None else nominal * share
                for driver, nominal in zip(channel.drivers, channel.network.nominals, strict=True)
            ],
        )
        for share, spread in ((low_share, 0.9), (high_share, 1.1), ((low_share + high_share) / 2, 1.0))
    )
    # Real stranded wire lies up to 24 % above solid copper; contacts may be far better than allowed.
    capacitor = with_capacitor or not loop.bridge_tied
    through = "; measure at the speakers' side of a series capacitor" if capacitor else ""
    open_circuit = (Figure(20e6, "resistance"), Figure(1e6, "resistance"), Figure(1e9, "resistance"))
    coils = (
        _ohms(middle + loop.wiring),
        _ohms(low + loop.lead),
        _ohms(high + loop.lead * 1.24 + loop.joint),
    )
    readings = [
        Reading(
            "Direct-current resistance of the whole channel",
            "across the two pins of the speaker plug, pulled from the amplifier; short the probes first and "
            "take "
            f"their own reading off{through}",
            "off",
            *coils,
        )
    ]
    if minus_grounded and not loop.bridge_tied:
        readings.append(
            Reading(
                "Plus wire to ground: the speakers again, and nothing beside them",
                f"plus pin of the pulled speaker plug to the battery's minus{through}",
                "off",
                *coils,
            )
        )
    else:
        readings.append(
            Reading(
                "Plus wire to ground: no connection (over-range)",
                "plus pin of the pulled speaker plug to the battery's minus and to bare metal of the frame",
                "off",
                *open_circuit,
            )
        )
    if loop.bridge_tied:
        readings += [
            Reading(
                "Minus wire to ground: no connection (over-range)",
                "minus pin of the pulled speaker plug to the battery's minus and to bare metal of the frame",
                "off",
                *open_circuit,
            ),
            Reading(
                "Minus wires of the two channels: no connection (over-range)",
                "minus pin of one pulled speaker plug to the minus pin of the other channel's",
                "off",
                *open_circuit,
            ),
        ]
    if not powered:
        return tuple(readings)
    volts = loop.supply
    readings += [
        Reading(
            "Supply at the amplifier",
            "across the amplifier's supply terminals, no signal",
            "on",
            Figure(volts, "voltage"),
            Figure(0.9 * volts, "voltage"),
            Figure(1.15 * volts, "voltage"),
        ),
        Reading(
            "Direct voltage on the speakers, no signal",
            "across the speaker terminals of the amplifier, on the direct-voltage range",
            "on",
            Figure(0.0, "voltage"),
            Figure(-0.05, "voltage"),
            Figure(0.05, "voltage"),
        ),
    ]
    return tuple(readings)


def write_working(
    channel: Channel,
    outputs: Mapping[str, Cell],
    curve: Curve | None,
    *,
    efficiency: float,
    amplifier: float,
    lead_length: float,
    gauge_label: str,
    contacts: int,
) -> Iterator[Step]:
    """Yield the working, step by step; `amplifier` is its output resistance in Ω for the damping factor."""
    loop, drive = channel.loop, channel.drive
    labels = [
        f"{name} {_ohms(value).write()}"
        for name, value in zip(channel.network.names, channel.network.nominals, strict=True)
    ]
    yield Step(
        "Network as read",
        "|| joins in parallel and comes first, + in series",
        say("{text}", text=write_network(channel.network.tree, labels)),
        say("1 speaker" if len(labels) == 1 else f"{len(labels)} speakers"),
    )
    yield from _write_groups(channel.network.tree, channel)
    if curve is None:
        yield Step(
            "Lowest load",
            "0.8 × nominal",
            say("{share} × {load}", share=Figure(LOWEST_SHARE, "number"), load=_ohms(drive.load)),
            _ohms(float(outputs["lowest_load"] or 0)),
        )
    else:
        yield from _write_drivers(channel, curve)
    yield Step(
        "Lead, out and back",
        "2 × length ÷ (58 MS/m × area)",
        say("2 × {length} of {gauge}", length=Figure(lead_length, "length"), gauge=gauge_label),
        _ohms(loop.lead),
    )
    yield Step(
        "Whole loop",
        "load + lead + contacts + outputs",
        say(
            "{load} + {lead} + {joint} ({contacts} contacts) + {outputs}",
            load=_ohms(drive.load),
            lead=_ohms(loop.lead),
            joint=_ohms(loop.joint),
            contacts=contacts,
            outputs=_ohms(loop.outputs),
        ),
        _ohms(drive.load + loop.wiring + loop.outputs),
    )
    peak = float(outputs["peak_current"] or 0)
    yield Step(
        "Peak current",
        "supply ÷ loop" if loop.bridge_tied else "half the supply ÷ loop",
        say(
            "{volts} ÷ {loop}",
            volts=Figure(loop.peak_voltage, "voltage"),
            loop=_ohms(drive.load + loop.wiring + loop.outputs),
        ),
        _amps(peak),
    )
    yield Step(
        "Power into the speakers, unclipped",
        "peak² × load ÷ 2",
        say("({peak})² × {load} ÷ 2", peak=_amps(peak), load=_ohms(drive.load)),
        _watts(drive.power),
    )
    yield Step(
        "Power at 10 % distortion",
        "1.25 × unclipped",
        say("{gain} × {power}", gain=Figure(CLIPPED_GAIN, "number"), power=_watts(drive.power)),
        _watts(CLIPPED_GAIN * drive.power),
    )
    yield Step(
        "Current drawn at full sine",
        "power at the plug ÷ (efficiency × supply)",
        say(
            "{power} ÷ ({efficiency} × {volts})",
            power=_watts(peak * peak / 2 * (drive.load + loop.wiring)),
            efficiency=Figure(loop.find_efficiency(drive.load, efficiency), "fraction"),
            volts=Figure(loop.supply, "voltage"),
        ),
        _amps(float(outputs["supply_current"] or 0)),
    )
    yield Step(
        "Loss in lead and contacts",
        "20 log₁₀((load + lead + contacts) ÷ load)",
        say("20 log₁₀({all} ÷ {load})", all=_ohms(drive.load + loop.wiring), load=_ohms(drive.load)),
        Figure(float(outputs["cable_loss"] or 0), "level", 2),
    )
    damping = outputs["damping_factor"]
    if isinstance(damping, float):
        yield Step(
            "Damping factor",
            "load ÷ (lead + contacts + amplifier)",
            say(
                "{load} ÷ ({wiring} + {amplifier})",
                load=_ohms(drive.load),
                wiring=_ohms(loop.wiring),
                amplifier=_ohms(amplifier),
            ),
            Figure(damping, "number", 2),
        )
    level = outputs["level"]
    if isinstance(level, float):
        yield Step(
            "Level at 1 m",
            "10 log₁₀ of the sum of power × 10^(sensitivity at 1 W ÷ 10)",
            _fill_level(channel),
            Figure(level, "level"),
        )


def _fill_level(channel: Channel) -> Phrase:
    """Return the sum under the logarithm, speakers that do the same counted."""
    sounding = Counter(
        (power, speaker.weight)
        for speaker, power in zip(channel.driven, channel.drive.powers, strict=True)
        if speaker.weight is not None
    )
    terms = [
        say(
            "{count}{power} × 10^({sensitivity} ÷ 10)",
            count=f"{count} × " if count > 1 else "",
            power=_watts(power),
            sensitivity=Figure(find_decibels(weight), "level"),
        )
        for (power, weight), count in sounding.items()
    ]
    parts = {f"t{number}": term for number, term in enumerate(terms)}
    return say("10 log₁₀(" + " + ".join(f"{{{name}}}" for name in parts) + ")", **parts)


def _write_drivers(channel: Channel, curve: Curve) -> Iterator[Step]:
    """Yield the impedance of every kind of speaker where that of the network is lowest, and the network's."""
    frequency = curve.lowest[0]
    place = Figure(frequency, "frequency")
    for driver in dict.fromkeys(driver for driver in channel.drivers if driver is not None):
        names = [
            name for name, own in zip(channel.network.names, channel.drivers, strict=True) if own == driver
        ]
        detuning = frequency / driver.fs - driver.fs / frequency
        yield Step(
            f"Impedance of {list_names(names)} at {place.write()}",
            "Re + j 2π f Le + Res ÷ (1 + j Qms x), x = f/fs − fs/f, Res = Re Qms ÷ Qes",
            say(
                "{re} + j 2π × {place} × {le} + {res} ÷ (1 + j {qms} × {x})",
                re=_ohms(driver.re),
                place=place,
                le=Figure(driver.le, "inductance"),
                res=_ohms(driver.peak),
                qms=Figure(driver.qms, "number"),
                x=Figure(detuning, "number"),
            ),
            _write_impedance(driver.find_impedance(frequency)),
        )
    real, imaginary = (Figure(abs(part), "resistance") for part in curve.parts)
    yield Step(
        "Lowest load",
        "least |Z| over the band, joined like resistances; |Z| = √(real² + imaginary²)",
        say("√(({real})² + ({imaginary})²) at {place}", real=real, imaginary=imaginary, place=place),
        _ohms(curve.lowest[1]),
    )


def _write_impedance(impedance: tuple[float, float]) -> Phrase:
    real, imaginary = impedance
    sign = "−" if imaginary < 0 else "+"
    return say("{real} {sign} j {size}", real=_ohms(real), sign=sign, size=_ohms(abs(imaginary)))


def _write_groups(network: Network, channel: Channel) -> Iterator[Step]:
    """Yield one step for every group, the innermost first."""
    if not isinstance(network, Group):
        return
    for member in network.members:
        yield from _write_groups(member, channel)
    nominals = channel.network.nominals
    values = {
        f"r{number}": _ohms(find_resistance(member, nominals))
        for number, member in enumerate(network.members)
    }
    if network.joined == "series":
        formula, template = "sum", " + ".join(f"{{{name}}}" for name in values)
    else:
        formula, template = "1 ÷ sum of 1/R", "1 ÷ (" + " + ".join(f"1/{{{name}}}" for name in values) + ")"
    whole = network is channel.network.tree
    outcome = _ohms(find_resistance(network, nominals))
    label = write_network(network, channel.network.names)
    yield Step(f"Nominal load: {label}" if whole else label, formula, say(template, **values), outcome)
