"""Speaker load: what several speakers on one amplifier channel ask of it, and what each of them gets.

Limits of validity: nominal impedances count as resistances and the signal is a sine at the edge of
clipping, as in every power figure of the trade. The lowest impedance is 80 % of nominal unless the
drivers' small-signal parameters are given; those hold in free air and for small signals, a box moves the
resonance. Wires have their resistance at 20 °C; the inductance of the lead is left out.
"""

from collections.abc import Sequence
from functools import cache, partial

from calculators.forms.calculator import Calculator, Output
from calculators.forms.fields import (
    ChoiceInput,
    GaugeInput,
    Input,
    QuantityInput,
    TextInput,
    WholeInput,
    YesNoInput,
)
from calculators.notation.errors import InputError, NotationError
from calculators.notation.gauge import Gauge
from calculators.notation.quantity import read_quantity
from calculators.notation.showing import Figure, say, write_quantity
from calculators.notation.units import System
from calculators.numbers.decibel import find_decibels
from calculators.physics.copper import find_wire_resistance
from calculators.results.result import Cell, Picture, Result, Source
from calculators.speaker_load.channel import (
    CLIPPED_GAIN,
    LOWEST_SHARE,
    MEANINGS,
    Channel,
    DrivenSpeaker,
    Loop,
    Meaning,
    drive_network,
    find_faults,
    find_weight,
)
from calculators.speaker_load.driver import Curve, Driver
from calculators.speaker_load.findings import MINUS_WIRES, find_channel_findings
from calculators.speaker_load.network import (
    DRIVER_LIMITS,
    PerSpeaker,
    SpeakerNetwork,
    read_driver,
    read_per_speaker,
    read_plain_number,
    read_speaker_network,
    write_network,
)
from calculators.speaker_load.picture import ImpedanceLine, SpeakerLabel, draw_impedance, draw_wiring
from calculators.speaker_load.ranking import rank_arrangements
from calculators.speaker_load.report import (
    list_arrangements,
    list_capacitors,
    list_faults,
    list_impedance,
    list_readings,
    list_speakers,
    write_working,
)

REFERENCES = ("1 W", "2.83 V")
NARROWEST_BAND = 1.01
"""A band's end over its beginning, at least; a curve over less than that cannot be drawn."""


def _read_rating(text: str) -> float:
    power = read_quantity(text, "power", "W")
    if not 0.05 <= power <= 5000:
        raise NotationError(f"“{text.strip()}” is not a speaker's rating; allowed: 0.05 W to 5 kW")
    return power


def _read_sensitivity(text: str) -> float:
    level = read_quantity(text, "level", "dB")
    if not 50 <= level <= 130:
        raise NotationError(f"“{text.strip()}” is not a speaker's sensitivity; allowed: 50 dB to 130 dB")
    return level


def _read_names(text: str) -> tuple[str, ...]:
    return tuple(name.strip() for name in text.split(",") if name.strip())


def _q_factor(name: str, label: str, help_text: str) -> TextInput:
    _, _, lowest, highest = DRIVER_LIMITS[name]
    return TextInput(
        name=name,
        label=label,
        help=help_text,
        section="Measured drivers",
        optional=True,
        reader=partial(read_plain_number, lowest=lowest, highest=highest),
        form=f"a plain number from {lowest:g} to {highest:g}",
    )


def _parameter(name: str, label: str, help_text: str) -> QuantityInput:
    kind, unit, lowest, highest = DRIVER_LIMITS[name]
    return QuantityInput(
        name=name,
        label=label,
        help=help_text,
        section="Measured drivers",
        optional=True,
        kind=kind,
        unit=unit,
        lowest=lowest,
        highest=highest,
    )


INPUTS: tuple[Input, ...] = (
    TextInput(
        name="network",
        label="Speakers",
        default="left:8 || right:8 + shaker:4",
        help="+ joins in series, || in parallel and binds tighter; brackets, names and counts are read: "
        "left:8, (8 + 8) || 4, 3 x 8 in parallel.",
        reader=read_speaker_network,
        form="a network of nominal impedances such as left:8 || right:8 + shaker:4",
    ),
    QuantityInput(
        name="supply",
        label="Supply of the amplifier",
        default="12.8 V",
        help="The voltage at the amplifier's own plug, under load.",
        kind="voltage",
        unit="V",
        lowest=1,
        highest=100,
        usual=(2.5, 60),
    ),
    YesNoInput(
        name="bridge_tied",
        label="Bridge-tied output",
        default="yes",
        help="Yes when the speaker lies between two driven outputs; nearly all small class-D amplifiers.",
    ),
    QuantityInput(
        name="minimum_load",
        label="Smallest load allowed",
        default="4 ohm",
        help="From the amplifier's data sheet, for this supply and for one channel.",
        kind="resistance",
        unit="Ω",
        lowest=0.5,
        highest=1000,
        usual=(1.5, 32),
    ),
    ChoiceInput(
        name="minimum_meaning",
        label="That figure is",
        default="not known",
        help="Data sheets rarely say whether they mean a speaker's nominal figure or the lowest it falls to.",
        section="Amplifier",
        options=MEANINGS,
    ),
    QuantityInput(
        name="on_resistance",
        label="Resistance of one output",
        default="0.15 ohm",
        help="Switch and filter coil of one output; a bridge has two of them in the loop.",
        section="Amplifier",
        kind="resistance",
        unit="Ω",
        lowest=0,
        highest=10,
        usual=(0, 1),
    ),
    QuantityInput(
        name="rated_power",
        label="Rated power of the channel",
        help="What the amplifier can give for long; leave empty if it is not known.",
        section="Amplifier",
        optional=True,
        kind="power",
        unit="W",
        lowest=0.01,
        highest=10000,
    ),
    QuantityInput(
        name="efficiency",
        label="Efficiency at full power",
        default="90 %",
        help="Power at the speaker plug over power drawn from the supply.",
        section="Amplifier",
        kind="fraction",
        unit="%",
        lowest=0.05,
        highest=1,
        usual=(0.5, 0.97),
    ),
    TextInput(
        name="amplifier_damping",
        label="Damping factor of the amplifier",
        help="From its data sheet, into a load like this one; empty: from the outputs' resistance.",
        section="Amplifier",
        optional=True,
        reader=partial(read_plain_number, lowest=1, highest=100000),
        form="a plain number from 1 to 100000",
    ),
    ChoiceInput(
        name="minus_wire",
        label="The minus wire",
        default="a contact of its own",
        help="How the wire of the second output crosses the joint and where else it goes.",
        section="Lead and joint",
        options=MINUS_WIRES,
    ),
    QuantityInput(
        name="lead_length",
        label="Lead, one way",
        default="1.2 m",
        help="From the amplifier's plug to the speakers; the way back is added.",
        section="Lead and joint",
        kind="length",
        unit="m",
        lowest=0,
        highest=500,
        usual=(0, 50),
    ),
    GaugeInput(
        name="lead_gauge",
        label="Wire of the lead",
        default="20 AWG",
        help="The size printed on the reel; counted as solid copper at 20 °C.",
        section="Lead and joint",
    ),
    WholeInput(
        name="contacts",
        label="Joint contacts in the loop",
        default="2",
        help="Out and back together: a plug in a two-wire lead counts 2.",
        section="Lead and joint",
        lowest=0,
        highest=100,
    ),
    QuantityInput(
        name="contact_resistance",
        label="Resistance of one contact",
        default="30 mohm",
        help="The worst the maker allows, not the best.",
        section="Lead and joint",
        kind="resistance",
        unit="mΩ",
        lowest=0,
        highest=10,
        usual=(0, 0.2),
    ),
    QuantityInput(
        name="contact_rating",
        label="Current rating of one contact",
        default="3 A",
        help="Leave empty if no contact is in the loop.",
        section="Lead and joint",
        optional=True,
        kind="current",
        unit="A",
        lowest=0.01,
        highest=1000,
    ),
    TextInput(
        name="rating",
        label="Power rating of a speaker",
        default="20 W; shaker: 25 W",
        help="One figure for all, or by name: 20 W; shaker: 25 W; horn: none.",
        section="Speakers",
        optional=True,
        reader=partial(read_per_speaker, read=_read_rating, sample="20 W"),
        form="a power, or powers by name",
    ),
    TextInput(
        name="sensitivity",
        label="Sensitivity of a speaker",
        default="86 dB; shaker: none",
        help="Level at 1 m; a shaker is felt, not heard: none.",
        section="Speakers",
        optional=True,
        reader=partial(read_per_speaker, read=_read_sensitivity, sample="86 dB"),
        form="a level, or levels by name",
    ),
    ChoiceInput(
        name="sensitivity_reference",
        label="Sensitivity is stated at",
        default="1 W",
        help="2.83 V is 1 W into 8 Ω but 2 W into 4 Ω.",
        section="Speakers",
        options=REFERENCES,
    ),
    QuantityInput(
        name="high_pass",
        label="High-pass for small speakers",
        help="The frequency below which a small speaker is to be spared; empty: no capacitor.",
        section="Speakers",
        optional=True,
        kind="frequency",
        unit="Hz",
        lowest=5,
        highest=50000,
        usual=(20, 10000),
    ),
    _parameter("re", "Re", "Resistance of the voice coil, as a meter shows it."),
    _parameter("le", "Le", "Inductance of the voice coil; empty counts as none."),
    _parameter("fs", "fs", "Resonance in free air."),
    _q_factor("qms", "Qms", "Mechanical Q at the resonance."),
    _q_factor("qes", "Qes", "Electrical Q at the resonance."),
    TextInput(
        name="driver_of",
        label="These are the figures of",
        help="Names of speakers, with commas; empty: of all of them.",
        section="Measured drivers",
        optional=True,
        reader=_read_names,
        form="names such as left, right",
    ),
    TextInput(
        name="other_drivers",
        label="Figures of other speakers",
        help="By name: shaker: Re 3.4, Le 0.2 mH, fs 40 Hz, Qms 3, Qes 0.9.",
        section="Measured drivers",
        optional=True,
        reader=partial(read_per_speaker, read=read_driver, sample="Re 3.4, fs 40 Hz, Qms 3, Qes 0.9"),
        form="small-signal parameters by name",
    ),
    QuantityInput(
        name="band_low",
        label="Band from",
        default="20 Hz",
        help="The lowest frequency that is played.",
        section="Measured drivers",
        kind="frequency",
        unit="Hz",
        lowest=1,
        highest=20000,
    ),
    QuantityInput(
        name="band_high",
        label="Band to",
        default="20 kHz",
        help="The highest frequency that is played.",
        section="Measured drivers",
        kind="frequency",
        unit="Hz",
        lowest=2,
        highest=100000,
    ),
)

OUTPUTS = (
    Output(name="load", label="Nominal load", kind="resistance", main=True),
    Output(name="lowest_load", label="Lowest load", kind="resistance", main=True),
    Output(name="power", label="Power into the speakers, unclipped", kind="power", main=True),
    Output(name="power_at_10_percent", label="Power at 10 % distortion", kind="power"),
    Output(name="peak_current", label="Peak current", kind="current"),
    Output(name="supply_current", label="Current drawn at full sine", kind="current"),
    Output(name="cable_loss", label="Loss in lead and contacts", kind="level", figures=2),
    Output(name="damping_factor", label="Damping factor", kind="number", figures=2),
    Output(name="level", label="Level at 1 m", kind="level", main=True),
)


def compute(
    *,
    network: SpeakerNetwork,
    supply: float,
    bridge_tied: bool,
    minimum_load: float,
    minimum_meaning: Meaning,
    on_resistance: float,
    rated_power: float | None,
    efficiency: float,
    amplifier_damping: float | None,
    minus_wire: str,
    lead_length: float,
    lead_gauge: Gauge,
    contacts: int,
    contact_resistance: float,
    contact_rating: float | None,
    rating: PerSpeaker[float] | None,
    sensitivity: PerSpeaker[float] | None,
    sensitivity_reference: str,
    high_pass: float | None,
    re: float | None,
    le: float | None,
    fs: float | None,
    qms: float | None,
    qes: float | None,
    driver_of: tuple[str, ...] | None,
    other_drivers: PerSpeaker[Driver] | None,
    band_low: float,
    band_high: float,
) -> Result:
    """Return what the channel's speakers ask of the amplifier and what each gets.

    All values in SI units. Raises InputError for small-signal parameters that are incomplete, belong to
    no speaker, or come with an empty band.
    """
    if band_high < NARROWEST_BAND * band_low:
        raise InputError("band_high", "the band ends below or right where it begins; give a higher frequency")
    drivers = _assign_drivers(network, _make_driver(re, le, fs, qms, qes), driver_of, other_drivers)
    lead = find_wire_resistance(2 * lead_length, lead_gauge.area)
    loop = Loop(supply, bridge_tied, on_resistance, lead, contacts * contact_resistance)
    driven = _list_driven(network, rating, sensitivity, sensitivity_reference)
    drive = drive_network(loop, network.tree, network.nominals)
    channel = Channel(network, driven, loop, minimum_load, minimum_meaning, drivers, drive)
    curve = channel.find_curve(band_low, band_high)
    lowest = curve.lowest[1] if curve else LOWEST_SHARE * drive.load
    amplifier = loop.outputs if amplifier_damping is None else drive.load / amplifier_damping
    resistance = loop.wiring + amplifier
    outputs: dict[str, Cell] = {
        "load": drive.load,
        "lowest_load": lowest,
        "power": drive.power,
        "power_at_10_percent": CLIPPED_GAIN * drive.power,
        "peak_current": loop.find_peak_current(drive.load),
        "supply_current": loop.find_supply_current(drive.load, efficiency),
        "cable_loss": 2 * find_decibels((drive.load + loop.wiring) / drive.load),
        "damping_factor": drive.load / resistance if resistance > 0 else None,
        "level": drive.find_level(driven),
    }
    ranking = rank_arrangements(channel, lowest)
    faults = tuple(find_faults(channel))
    unknown_names = dict.fromkeys(
        name
        for field, given in (("rating", rating), ("sensitivity", sensitivity))
        # Who left a field as it was has misspelt no name in it.
        if given and given != _read_default(field)
        for name in given.list_unknown_names(network.speakers)
    )
    findings = find_channel_findings(
        channel,
        outputs,
        curve,
        ranking,
        faults,
        rated_power=rated_power,
        lead_length=lead_length,
        lead_gauge=lead_gauge,
        contacts=contacts,
        contact_rating=contact_rating,
        minus_wire=minus_wire,
        high_pass=high_pass,
        unknown_names=tuple(unknown_names),
    )
    return Result(
        outputs=outputs,
        working=tuple(
            write_working(
                channel,
                outputs,
                curve,
                efficiency=efficiency,
                amplifier=amplifier,
                lead_length=lead_length,
                gauge_label=lead_gauge.label,
                contacts=contacts,
            )
        ),
        findings=findings,
        readings=list_readings(
            channel,
            with_capacitor=high_pass is not None,
            minus_grounded=minus_wire == MINUS_WIRES[2],
            # What must not be built is not switched on either.
            powered=all(finding.level != "stop" for finding in findings),
        ),
        tables=(
            list_speakers(channel),
            *((list_arrangements(ranking),) if ranking else ()),
            list_faults(faults),
            *((list_capacitors(network, high_pass),) if high_pass is not None else ()),
            *((list_impedance(curve),) if curve else ()),
        ),
        pictures=_draw_pictures(channel, curve, lead_length, lead_gauge, contacts),
    )


@cache
def _read_default(field: str) -> object:
    item = next(item for item in INPUTS if item.name == field)
    return item.read(item.default)


def _make_driver(
    re: float | None, le: float | None, fs: float | None, qms: float | None, qes: float | None
) -> Driver | None:
    if re is None and le is None and fs is None and qms is None and qes is None:
        return None
    if re is None or fs is None or qms is None or qes is None:
        needed = {"re": re, "fs": fs, "qms": qms, "qes": qes}
        missing = next(name for name, value in needed.items() if value is None)
        raise InputError(
            missing,
            "nothing is entered, but a driver is described by all four; give Re, fs, Qms and Qes, or none",
        )
    return Driver(re, le or 0.0, fs, qms, qes)


def _assign_drivers(
    network: SpeakerNetwork,
    driver: Driver | None,
    driver_of: Sequence[str] | None,
    other_drivers: PerSpeaker[Driver] | None,
) -> tuple[Driver | None, ...]:
    """Return the known parameters by place; raises InputError for names that no speaker has."""
    if driver_of and driver is None:
        raise InputError("driver_of", "no figures are given; fill in Re, fs, Qms and Qes, or empty this")
    own = PerSpeaker(None if driver_of else driver, dict.fromkeys(driver_of or (), driver))
    others = other_drivers or PerSpeaker[Driver](None, {})
    for field, given in (("driver_of", own), ("other_drivers", others)):
        unknown_names = given.list_unknown_names(network.speakers)
        if unknown_names:
            raise InputError(
                field, f"no speaker here is called “{unknown_names[0]}”; there are {', '.join(network.names)}"
            )
    found = []
    for speaker in network.speakers:
        named = speaker.name in others.named or speaker.group in others.named
        found.append(others.find(speaker) if named else own.find(speaker) or others.general)
    return tuple(found)


def _list_driven(
    network: SpeakerNetwork,
    rating: PerSpeaker[float] | None,
    sensitivity: PerSpeaker[float] | None,
    reference: str,
) -> tuple[DrivenSpeaker, ...]:
    driven = []
    for speaker in network.speakers:
        level = sensitivity.find(speaker) if sensitivity else None
        weight = None if level is None else find_weight(level, speaker.nominal, reference == REFERENCES[1])
        driven.append(DrivenSpeaker(speaker.nominal, rating.find(speaker) if rating else None, weight))
    return tuple(driven)


def _draw_pictures(
    channel: Channel, curve: Curve | None, lead_length: float, lead_gauge: Gauge, contacts: int
) -> tuple[Picture, ...]:
    over = channel.drive.find_overloaded(channel.driven)
    labels = tuple(
        SpeakerLabel(speaker.name, speaker.nominal, power, place in over)
        for place, (speaker, power) in enumerate(
            zip(channel.network.speakers, channel.drive.powers, strict=True)
        )
    )
    plus, minus = ("out +", "out −") if channel.loop.bridge_tied else ("out", "ground")

    def draw_channel(system: System) -> str:
        length = write_quantity(lead_length, "length", system)
        lead = f"lead {length} of {lead_gauge.label}, contacts in the loop: {contacts}"
        return draw_wiring(channel.network.tree, labels, plus, minus, lead, system)

    over_rating = " (over its rating)"
    names = [
        f"{label.name} {write_quantity(label.nominal, 'resistance')}{over_rating * label.overloaded}"
        for label in labels
    ]
    wiring = Picture(
        "wiring",
        "The wiring of the channel",
        say(
            "Circuit from {plus} through the speakers to {minus}: {network}, which is {load}.",
            plus=plus,
            minus=minus,
            network=write_network(channel.network.tree, names),
            load=Figure(channel.drive.load, "resistance"),
        ),
        draw_channel,
    )
    if curve is None:
        return (wiring,)
    levels = (
        ImpedanceLine("amplifier's smallest", channel.minimum, "stop"),
        ImpedanceLine("nominal", channel.drive.load, "soft"),
    )
    impedance = Picture(
        "impedance",
        "Impedance against frequency",
        say(
            "Impedance of the whole network from {low} to {high}: it falls to {lowest} at {place} and "
            "rises to about {highest}. The amplifier allows {minimum}.",
            low=Figure(curve.points[0][0], "frequency"),
            high=Figure(curve.points[-1][0], "frequency"),
            lowest=Figure(curve.lowest[1], "resistance"),
            place=Figure(curve.lowest[0], "frequency"),
            highest=Figure(max(point[1] for point in curve.points), "resistance", 2),
            minimum=Figure(channel.minimum, "resistance"),
        ),
        lambda system: draw_impedance(curve, levels),
    )
    return (wiring, impedance)


SOURCES = (
    Source(
        "IEC 60268-5, Sound system equipment, loudspeakers",
        "rated impedance: the lowest modulus is at least 80 % of it",
    ),
    Source(
        "Maker's data sheets of two class-D amplifier chips",
        "output power: P = ((R/(R + 2Rs)) V)² / 2R; at 10 % distortion 1.25 P",
    ),
    Source(
        "A maker's evaluation-module manual of a bridge-tied amplifier",
        "p. 3-6: neither output to ground, nor to another amplifier's",
    ),
    Source("IEC 60028", "resistivity of standard annealed copper, 1/58 Ω mm²/m at 20 °C"),
    Source(
        "The wire-gauge calculator",
        "what two wires together carry for hours: heat balance of a wire, its sources there",
    ),
    Source("A loudspeaker maker's cable guide", "p. 21: damping factor of a system, 25 at least"),
    Source("IEC 60063", "preferred values E6 and E12"),
    Source(
        "R. H. Small, Direct-Radiator Loudspeaker System Analysis, J. Audio Eng. Soc. 20 (1972)",
        "electrical equivalent circuit of a driver",
    ),
    Source("NIOSH publication 98-126", "table 1-1: 100 dB(A) for 15 minutes a day"),
)

LIMITS = (
    "Nominal impedances count as resistances; the signal is a sine at the edge of clipping. Music has a "
    "tenth to a "
    "quarter of that power on average.",
    "The lowest load is 80 % of nominal, or the true minimum over the band where the parameters are known; "
    "those hold "
    "in free air and for small signals.",
    "The voice coil's inductance is taken as constant; above a few kilohertz real drivers show less.",
    "Levels add as powers, at 1 m on axis; speakers close together that play the same can be up to 3 dB "
    "louder in the "
    "bass for each doubling.",
    "Wire counts as solid copper at 20 °C; thin stranded hook-up wire has up to 24 % more resistance. Its "
    "heating is "
    "judged for two wires in still air of 30 °C and insulation for 80 °C.",
    "At most 24 speakers; other arrangements are listed for up to 6.",
)

CAUTIONS = (
    "Loud sound harms hearing without pain: begin with the level down, wear ear protection at the bench, "
    "and measure "
    "the level where the public stands.",
    "Disconnect the battery before you change speaker wiring: a short between two outputs, or from one to "
    "ground, can "
    "burn the amplifier and the wire.",
    "A fuse in the amplifier's supply protects the wire, not the speakers.",
)

CALCULATOR = Calculator(
    slug="speaker-load",
    title="Speaker load",
    summary="What several speakers on one amplifier channel ask of it, what each of them gets, "
    "and every other way to join them.",
    inputs=INPUTS,
    outputs=OUTPUTS,
    compute=compute,
    sources=SOURCES,
    limits=LIMITS,
    example={
        "network": "left:8 || right:8 + shaker:4",
        "supply": "12.8 V",
        "minimum_load": "4 ohm",
        "lead_length": "1.2 m",
        "lead_gauge": "20 AWG",
    },
    cautions=CAUTIONS,
)
