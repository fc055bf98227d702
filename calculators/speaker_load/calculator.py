"""Speaker load: what several speakers on one amplifier channel ask of it, and what each of them gets.

Limits of validity: nominal impedances count as resistances and the signal is a sine at the edge of
clipping, as in every power figure of the trade; ratings, contacts and lead are judged on music. The lowest
impedance is 80 % of nominal unless the drivers' small-signal parameters are given; those hold in free air
and for small signals, a box moves the resonance. Wires have their resistance at 20 °C; the inductance of
the lead is left out.
"""

from calculators.forms.calculator import Output, make_calculator
from calculators.results.result import Source
from calculators.speaker_load.findings import ANSWERS, FINDINGS
from calculators.speaker_load.given import Given
from calculators.speaker_load.picture import draw_pictures
from calculators.speaker_load.report import READINGS, WORKING, list_tables
from calculators.speaker_load.solve import solve

OUTPUTS = (
    Output(name="load", path="drive.load", label="Nominal load", kind="resistance", main=True),
    Output(name="lowest_load", label="Lowest load", kind="resistance", main=True),
    Output(
        name="power", path="drive.power", label="Power into the speakers, unclipped", kind="power", main=True
    ),
    Output(name="power_at_10_percent", label="Power at 10 % distortion", kind="power"),
    Output(name="peak_current", label="Peak current", kind="current"),
    Output(name="supply_current", label="Current drawn at full sine", kind="current"),
    Output(name="cable_loss", label="Loss in lead and contacts", kind="level", figures=2),
    Output(name="damping_factor", label="Damping factor", kind="number", figures=2),
    Output(name="level", label="Level at 1 m", kind="level", main=True),
)

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
    Source(
        "Common practice",
        "music has a tenth to a quarter of a full sine's power, half of it when it clips, hence programme "
        "ratings of twice the lasting one; “minimum load” means a speaker's nominal impedance; a coil has "
        "0.65 of its nominal impedance at least",
    ),
    Source("NIOSH publication 98-126", "table 1-1: 100 dB(A) for 15 minutes a day"),
)

CALCULATOR = make_calculator(
    slug="speaker-load",
    title="Speaker load",
    summary="What several speakers on one amplifier channel ask of it, what each of them gets, "
    "and every other way to join them.",
    form=Given,
    solve=solve,
    outputs=OUTPUTS,
    answers=ANSWERS,
    findings=FINDINGS,
    working=WORKING,
    readings=READINGS,
    list_tables=list_tables,
    draw_pictures=draw_pictures,
    sources=SOURCES,
    limits=(
        "Nominal impedances count as resistances; power, current and level are those of a sine at the edge "
        "of clipping. Ratings, contacts and lead are judged on music: a quarter of that power when it is "
        "loud, half of it when it clips. A siren or a test tone is a full sine.",
        "The lowest load is 80 % of nominal, or the true minimum over the band where the parameters are "
        "known, inductance included; those hold in free air and for small signals.",
        "The voice coil's inductance is taken as constant; above a few kilohertz real drivers show less. "
        "Level against frequency is what the network does to speakers whose own response is flat, up to "
        "2 kHz.",
        "Levels add as powers, at 1 m on axis; speakers close together that play the same can be up to 3 dB "
        "louder in the bass for each doubling.",
        "Wire has its resistance at 20 °C, stranded unless another kind is chosen. Its heating is judged "
        "for two wires in still air of 30 °C and insulation for 80 °C.",
        "At most 24 speakers; other arrangements are listed for up to 6.",
    ),
    example={
        "network": "left:8 || right:8 + bass:4",
        "supply": "14.4 V",
        "minimum_load": "4 ohm",
        "lead_length": "2 m",
        "lead_gauge": "18 AWG",
    },
    cautions=(
        "Loud sound harms hearing without pain: begin with the level down, wear ear protection at the "
        "bench, and measure the level where the public stands.",
        "Disconnect the battery before you change speaker wiring: a short between two outputs, or from one "
        "to ground, can burn the amplifier and the wire.",
        "A fuse in the amplifier's supply protects the wire, not the speakers.",
    ),
)
