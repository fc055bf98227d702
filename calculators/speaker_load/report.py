"""The working, the readings and the tables of speaker-load."""

import math
from functools import partial

from calculators.notation.showing import list_names
from calculators.results.case import (
    About,
    Listed,
    ReadingRule,
    Rules,
    StepRule,
    Within,
    Wording,
    Words,
    has_stop,
)
from calculators.results.result import Cell, Column, LateTable, Rows, Table
from calculators.speaker_load.channel import Fault
from calculators.speaker_load.driver import Curve
from calculators.speaker_load.findings import FINDINGS
from calculators.speaker_load.high_pass import find_capacitors
from calculators.speaker_load.network import SpeakerNetwork, write_network
from calculators.speaker_load.ranking import MOST_ROWS, RankedArrangement, Ranking
from calculators.speaker_load.solve import GroupLoad, Solved, SoundTerm

POINTS_PER_ROW = 4
"""Of the curve's points in its table: eight rows in a decade of the usual band."""

_GROUP: Words[GroupLoad] = {
    "label": (Wording("Nominal load: {written}", lambda group: group.is_whole), Wording("{written}")),
    "members": Listed("members", "{each:ohm}", " + "),
    "inverses": Listed("members", "1/{each:ohm}", " + "),
}
_TERM: Words[SoundTerm] = {"times": (Wording("{count} × ", lambda term: term.count > 1), Wording(""))}

WORKING: Rules[StepRule[Solved]] = (
    StepRule(
        "Network as read", "|| joins in parallel and comes first, + in series", "{number}",
        "{given.network.written}",
        words={
            "number": (Wording("1 speaker", lambda case: case.count == 1), Wording("{count} speakers"))
        },
    ),
    About("groups", (
        StepRule[GroupLoad](
            "{label}", "sum", "{load:ohm}", "{members}", words=_GROUP,
            when=lambda group: group.joined == "series",
        ),
        StepRule[GroupLoad](
            "{label}", "1 ÷ sum of 1/R", "{load:ohm}", "1 ÷ ({inverses})", words=_GROUP,
            when=lambda group: group.joined == "parallel",
        ),
    )),
    StepRule(
        "Lowest load", "{lowest_share:1|0.8} × {drive.load:ohm|nominal}", "{lowest_load:ohm}",
        when=lambda case: not case.is_measured,
    ),
    StepRule(
        "Impedance of {each.names} at {curve.lowest_place:Hz}",
        "Re + j 2π f Le + Res ÷ (1 + j Qms x), x = f/fs − fs/f, Res = Re Qms ÷ Qes",
        "{each.real:ohm} {each.sign} j {each.imaginary:ohm}",
        "{each.driver.re:ohm} + j 2π × {curve.lowest_place:Hz} × {each.driver.le:H} + "
        "{each.driver.peak:ohm} ÷ (1 + j {each.driver.qms:1} × {each.detuning:1})",
        each="impedances",
    ),
    StepRule(
        "Lowest load", "least |Z| over the band, joined like resistances; |Z| = √(real² + imaginary²)",
        "{lowest_load:ohm}", "√(({curve.real:ohm})² + ({curve.imaginary:ohm})²) at {curve.lowest_place:Hz}",
        when=lambda case: case.is_measured,
    ),
    StepRule(
        "Lead, out and back", "2 × length ÷ (58 MS/m × area), and what strands add", "{loop.lead:ohm}",
        "2 × {given.lead_length:m} of {given.lead_gauge.label}, {given.lead_conductor}",
    ),
    StepRule(
        "Whole loop", "load + lead + contacts + outputs", "{whole_loop:ohm}",
        "{drive.load:ohm} + {loop.lead:ohm} + {loop.joint:ohm} ({given.contacts} contacts{shared}) + "
        "{loop.outputs:ohm}",
        words={
            "shared": (
                Wording(
                    ", {given.contacts_shared} side by side",
                    lambda case: case.given.contacts_shared > 1,
                ),
                Wording(""),
            )
        },
    ),
    StepRule(
        "Peak current", "{loop.peak_voltage:V|supply} ÷ {whole_loop:ohm|loop}", "{peak_current:A}",
        when=lambda case: case.given.bridge_tied,
    ),
    StepRule(
        "Peak current", "{loop.peak_voltage:V|half the supply} ÷ {whole_loop:ohm|loop}", "{peak_current:A}",
        when=lambda case: not case.given.bridge_tied,
    ),
    StepRule(
        "Power into the speakers, unclipped", "{peak_current:A|peak}² × {drive.load:ohm|load} ÷ 2",
        "{drive.power:W}",
    ),
    StepRule(
        "Power at 10 % distortion", "{clipped_gain:1|1.25} × {drive.power:W|unclipped}",
        "{power_at_10_percent:W}",
    ),
    StepRule(
        "Current drawn at full sine",
        "{power_at_plug:W|power at the plug} ÷ ({efficiency:%|efficiency} × {given.supply:V|supply})",
        "{supply_current:A}",
    ),
    StepRule(
        "Loss in lead and contacts",
        "20 log₁₀({load_at_plug:ohm|(load + lead + contacts)} ÷ {drive.load:ohm|load})", "{cable_loss:dB,2}",
    ),
    StepRule(
        "Damping factor",
        "{drive.load:ohm|load} ÷ ({loop.wiring:ohm|lead + contacts} + {amplifier:ohm|amplifier})",
        "{damping_factor:1,2}", when=lambda case: case.damping_factor is not None,
    ),
    StepRule(
        "Level at 1 m", "10 log₁₀ of the sum of power × 10^(sensitivity at 1 W ÷ 10)", "{level:dB}",
        "10 log₁₀({terms})", when=lambda case: case.level is not None,
        words={
            "terms": Listed("sound", "{term}", " + "),
            "term": Within("each", "{times}{power:W} × 10^({sensitivity:dB} ÷ 10)", _TERM),
        },
    ),
)  # fmt: skip

_THROUGH: Words[Solved] = {
    "through": (
        Wording(
            "; measure at the speakers' side of a series capacitor",
            lambda case: case.given.high_pass is not None or not case.given.bridge_tied,
        ),
        Wording(""),
    )
}


def _is_grounded(case: Solved) -> bool:
    return not case.given.bridge_tied and case.given.minus_wire == "joined to ground"


def _may_be_powered(case: Solved) -> bool:
    """What must not be built is not switched on either."""
    return not has_stop(FINDINGS, case)


READINGS: tuple[ReadingRule[Solved], ...] = (
    ReadingRule(
        "Direct-current resistance of the whole channel",
        "across the two pins of the speaker plug, pulled from the amplifier; short the probes first and take "
        "their own reading off{through}",
        "off", "meter.coils", "ohm", words=_THROUGH,
    ),
    ReadingRule(
        "Plus wire to ground: the speakers again, and nothing beside them",
        "plus pin of the pulled speaker plug to the battery's minus{through}",
        "off", "meter.coils", "ohm", when=_is_grounded, words=_THROUGH,
    ),
    ReadingRule(
        "Plus wire to ground: no connection (over-range)",
        "plus pin of the pulled speaker plug to the battery's minus and to bare metal of the frame",
        "off", "meter.unconnected", "ohm", when=lambda case: not _is_grounded(case),
    ),
    ReadingRule(
        "Minus wire to ground: no connection (over-range)",
        "minus pin of the pulled speaker plug to the battery's minus and to bare metal of the frame",
        "off", "meter.unconnected", "ohm", when=lambda case: case.given.bridge_tied,
    ),
    ReadingRule(
        "Minus wires of the two channels: no connection (over-range)",
        "minus pin of one pulled speaker plug to the minus pin of the other channel's",
        "off", "meter.unconnected", "ohm", when=lambda case: case.given.bridge_tied,
    ),
    ReadingRule(
        "Supply at the amplifier", "across the amplifier's supply terminals, no signal",
        "on", "meter.supply", "V", when=_may_be_powered,
    ),
    ReadingRule(
        "Direct voltage on the speakers, no signal",
        "across the speaker terminals of the amplifier, on the direct-voltage range",
        "on", "meter.rest", "V", when=_may_be_powered,
    ),
)  # fmt: skip


def list_tables(case: Solved) -> tuple[Table | LateTable, ...]:
    """Return the tables of speakers, arrangements, faults, capacitors and impedance, as far as they apply."""
    tables: list[Table | LateTable] = [list_speakers(case)]
    if case.ranking:
        tables.append(list_ways(case.ranking))
    tables.append(list_faults(case.faults))
    if case.given.high_pass is not None:
        tables.append(list_capacitors(case.given.network, case.given.high_pass))
    if case.curve:
        tables.append(list_impedance(case, case.curve))
    return tuple(tables)


def list_speakers(case: Solved) -> Table:
    """Return the table of what each speaker gets."""
    columns = (
        Column("name", "Speaker"),
        Column("nominal", "Nominal", "resistance", exact=True),
        Column("current", "Current", "current"),
        Column("voltage", "Voltage", "voltage"),
        Column("power", "Power", "power"),
        Column("share", "Share", "fraction"),
        Column("music", "Of loud music", "power"),
        Column("rating", "Rating", "power", exact=True),
        Column("margin", "Left of its rating", "fraction"),
    )
    rows = tuple(
        (
            speaker.name, speaker.nominal, speaker.current, speaker.current * speaker.nominal, speaker.power,
            speaker.power / case.drive.power, speaker.music, speaker.rating,
            None if speaker.rating is None else 1 - speaker.music / speaker.rating,
        )
        for speaker in case.speakers
    )  # fmt: skip
    marks = tuple("stop" if speaker.is_overloaded else "" for speaker in case.speakers)
    return Table("speakers", "What each speaker gets at full sine, unclipped (r.m.s.)", columns, rows, marks)


def list_ways(ranking: Ranking) -> LateTable:
    """Return the table of all arrangements, ranked."""
    columns = (
        Column("network", "Joined as"),
        Column("load", "Load", "resistance"),
        Column("power", "Power", "power"),
        Column("evenness", "Least to most", "fraction"),
        Column("level", "Level at 1 m", "level"),
        Column("verdict", "Verdict"),
    )
    total = ranking.total
    hold = {0: "none holds", 1: "1 holds"}.get(ranking.holding, f"{ranking.holding} hold")
    which = f"All {total}" if total <= MOST_ROWS else f"The first {MOST_ROWS} of {total}"
    caption = f"{which} ways to join these speakers, by verdict and evenness; {hold}"
    if total == 1:
        caption = "The only way to join one speaker"
    return LateTable("arrangements", caption, columns, partial(_find_way_rows, ranking))


def _find_way_rows(ranking: Ranking) -> tuple[Rows, tuple[str, ...]]:
    names = ranking.channel.network.names
    rows: list[tuple[Cell, ...]] = []
    for row in ranking.rows:
        figures = (row.drive.load, row.drive.power, row.drive.evenness, row.level)
        rows.append(
            (write_network(row.network, names), *figures, _write_verdict(row, ranking.channel.network.joined))
        )
    return tuple(rows), tuple(_find_mark(row) for row in ranking.rows)


def _find_mark(row: RankedArrangement) -> str:
    if row.trouble or row.overloaded:
        return "stop"
    return "chosen" if row.chosen else ""


def _write_verdict(row: RankedArrangement, joined: bool) -> str:
    words = {"load": "load too low", "current": "too much current", "": "holds"}[row.trouble]
    if row.overloaded:
        words = f"{row.overloaded} over its rating"
    chosen = "yours" if joined else "taken here"
    return f"{chosen}, {words}" if row.chosen else words


def list_faults(faults: tuple[Fault, ...]) -> Table:
    """Return the table of what happens when one speaker opens or shorts."""
    columns = (
        Column("speaker", "Speaker"),
        Column("event", "Fault"),
        Column("load", "Load left", "resistance"),
        Column("peak_current", "Peak current", "current"),
        Column("power", "Power", "power"),
        Column("busiest", "Hardest worked"),
        Column("busiest_power", "Its power", "power"),
        Column("verdict", "What happens"),
    )
    rows = tuple(
        (
            fault.name, fault.event,
            None if fault.load == math.inf else fault.load,
            None if fault.peak_current == math.inf else fault.peak_current,
            fault.power,
            fault.busiest if fault.power else None,
            fault.busiest_power if fault.power else None,
            _write_outcome(fault),
        )
        for fault in faults
    )  # fmt: skip
    marks = tuple("stop" if fault.outcome else "" for fault in faults)
    return Table("faults", "When one speaker fails", columns, rows, marks)


_OUTCOMES = {
    "shorted": "the amplifier is shorted",
    "load": "load too low",
    "current": "too much current",
}


def _write_outcome(fault: Fault) -> str:
    if fault.load == math.inf:
        return "all silent, nothing overloaded"
    if fault.overloaded:
        return f"{fault.overloaded} over its rating"
    others = f"{list_names(fault.silent)} silent too" if fault.silent else "the others go on"
    return _OUTCOMES.get(fault.outcome, others)


def list_capacitors(network: SpeakerNetwork, frequency: float) -> Table:
    """Return the table of series capacitors that spare a small speaker below `frequency` Hz."""
    columns = (
        Column("speakers", "Speaker"),
        Column("nominal", "Nominal", "resistance", exact=True),
        Column("exact", "Exact", "capacitance"),
        Column("e6", "From E6", "capacitance", exact=True),
        Column("e6_frequency", "with it", "frequency"),
        Column("e12", "From E12", "capacitance", exact=True),
        Column("e12_frequency", "with it", "frequency"),
    )
    rows: list[tuple[Cell, ...]] = []
    for nominal in dict.fromkeys(network.nominals):
        names = list_names([speaker.name for speaker in network.speakers if speaker.nominal == nominal])
        exact, (e6, e12) = find_capacitors(frequency, nominal)
        rows.append((names, nominal, exact, e6.value, e6.frequency, e12.value, e12.frequency))
    caption = "Series capacitor (bipolar, first order) for a speaker straight across the amplifier"
    return Table("capacitors", caption, columns, tuple(rows))


def list_impedance(case: Solved, curve: Curve) -> LateTable:
    """Return impedance and level against frequency as numbers, the lowest load marked where it is known."""
    columns = [Column("frequency", "Frequency", "frequency"), Column("impedance", "Impedance", "resistance")]
    caption = "Impedance against frequency"
    if case.levels:
        columns.append(Column("level", "Level at 1 m", "level"))
        caption = "Impedance, and level if each speaker's own response were flat, against frequency"
    if case.is_measured:
        caption += "; the lowest load is marked"
    return LateTable("impedance", caption, tuple(columns), partial(_find_impedance_rows, case, curve))


def _find_impedance_rows(case: Solved, curve: Curve) -> tuple[Rows, tuple[str, ...]]:
    levels = dict(case.levels)
    lowest = {curve.lowest} if case.is_measured else set()
    rows = sorted({*curve.points[::POINTS_PER_ROW], *lowest})
    marks = tuple("chosen" if row in lowest else "" for row in rows)
    return tuple((*row, levels.get(row[0])) if levels else row for row in rows), marks
