"""What speaker-load is given: the fields of its form."""

from dataclasses import dataclass, replace
from typing import Literal, get_args

from calculators.forms.fields import (
    ChoiceInput,
    GaugeInput,
    QuantityInput,
    TextInput,
    WholeInput,
    YesNoInput,
    ask,
    ask_or_none,
)
from calculators.forms.rows import refuse_cell
from calculators.forms.shared_fields import (
    CONTACT_RATING,
    CONTACT_RESISTANCE,
    CONTACTS_SHARED,
    LEAD_LENGTH,
)
from calculators.notation.errors import InputError
from calculators.notation.gauge import Gauge
from calculators.notation.units import Ampere, Hertz, Metre, Ohm, Share, Volt, Watt
from calculators.physics.copper import CONDUCTOR_KINDS, ConductorKind
from calculators.speaker_load.channel import MEANINGS, Meaning
from calculators.speaker_load.figures import (
    ALL,
    SPEAKERS,
    SpeakerFigures,
    read_figures,
)
from calculators.speaker_load.network import Speaker, SpeakerNetwork, read_speaker_network

NARROWEST_BAND = 1.01
"""A band's end over its beginning, at least; a curve over less than that cannot be drawn."""

type MinusWire = Literal["a contact of its own", "shares a contact", "joined to ground"]
MINUS_WIRES: tuple[MinusWire, ...] = get_args(MinusWire.__value__)

type SensitivityReference = Literal["1 W", "2.83 V"]
REFERENCES: tuple[SensitivityReference, ...] = get_args(SensitivityReference.__value__)


@dataclass(frozen=True, kw_only=True)
class Given:
    """One channel: its speakers, the amplifier, the lead to them, and what is known of each speaker."""

    network: SpeakerNetwork = ask(TextInput(
        label="Speakers", default="left:8 || right:8", reader=read_speaker_network,
        form="a network of nominal impedances such as left:8 || right:8 + bass:4",
        help="+ joins in series, || in parallel and binds tighter; brackets, names and counts are read: "
        "left:8, (8 + 8) || 4, 3 x 8 in parallel.",
    ))  # fmt: skip
    supply: Volt = ask(QuantityInput(
        label="Supply of the amplifier", kind="voltage", unit="V", default="12 V", lowest=1, highest=100,
        usual=(2.5, 60), help="The voltage at the amplifier's own plug, under load.",
    ))  # fmt: skip
    bridge_tied: bool = ask(YesNoInput(
        label="Bridge-tied output", default="yes",
        help="Yes when the speaker lies between two driven outputs; nearly all small class-D amplifiers.",
    ))  # fmt: skip
    minimum_load: Ohm = ask(QuantityInput(
        label="Smallest load allowed", kind="resistance", unit="Ω", default="4 ohm", lowest=0.5,
        highest=1000, usual=(1.5, 32),
        help="From the amplifier's data sheet, for this supply and for one channel.",
    ))  # fmt: skip
    minimum_meaning: Meaning = ask(ChoiceInput(
        label="That figure is", default="not known", options=MEANINGS, section="Amplifier",
        help="Not known counts as a speaker's nominal figure, as the trade means it; some data sheets give "
        "the lowest impedance at any frequency.",
    ))  # fmt: skip
    on_resistance: Ohm = ask(QuantityInput(
        label="Resistance of one output", kind="resistance", unit="Ω", default="0.15 ohm", lowest=0,
        highest=10, usual=(0.005, 1), section="Amplifier",
        help="Switch and filter coil of one output; a bridge has two of them in the loop.",
    ))  # fmt: skip
    rated_power: Watt | None = ask_or_none(QuantityInput(
        label="Rated power of the channel", kind="power", unit="W", lowest=0.01, highest=10000,
        usual=(1, 500),
        section="Amplifier", help="What the amplifier can give for long; leave empty if it is not known.",
    ))  # fmt: skip
    current_limit: Ampere | None = ask_or_none(QuantityInput(
        label="Current at which it cuts out", kind="current", unit="A", lowest=0.01, highest=1000,
        usual=(0.5, 50),
        section="Amplifier", help="Its overcurrent protection, a peak value; empty if it is not known.",
    ))  # fmt: skip
    efficiency: Share = ask(QuantityInput(
        label="Efficiency at full power", kind="fraction", unit="%", default="90 %", lowest=0.05, highest=1,
        usual=(0.5, 0.97), section="Amplifier",
        help="Power at the speaker plug over power drawn from the supply.",
    ))  # fmt: skip
    amplifier_damping: float | None = ask_or_none(QuantityInput(
        label="Damping factor of the amplifier", kind="number", unit="", lowest=1, highest=100000,
        usual=(5, 5000), section="Amplifier",
        help="From its data sheet, into a load like this one; empty: from the outputs' resistance.",
    ))  # fmt: skip
    minus_wire: MinusWire = ask(ChoiceInput(
        label="The minus wire", default="a contact of its own", options=MINUS_WIRES, section="Lead and joint",
        help="How the wire of the second output crosses the joint and where else it goes.",
    ))  # fmt: skip
    lead_length: Metre = ask(replace(
        LEAD_LENGTH, default="1 m", section="Lead and joint",
        help="From the amplifier's plug to the speakers; the way back is added.",
    ))  # fmt: skip
    lead_gauge: Gauge = ask(GaugeInput(
        label="Wire of the lead", default="20 AWG", section="Lead and joint",
        help="The size printed on the reel.",
    ))  # fmt: skip
    lead_conductor: ConductorKind = ask(ChoiceInput(
        label="Kind of wire", default="stranded", options=CONDUCTOR_KINDS, section="Lead and joint",
    ))  # fmt: skip
    contacts: int = ask(WholeInput(
        label="Joint contacts in the loop", default="2", lowest=0, highest=100, section="Lead and joint",
        help="Crossings, out and back together: a plug in a two-wire lead counts 2.",
    ))  # fmt: skip
    contact_resistance: Ohm = ask(replace(
        CONTACT_RESISTANCE, section="Lead and joint",
        help="The worst the maker allows, not the best.",
    ))  # fmt: skip
    contacts_shared: int = ask(replace(CONTACTS_SHARED, section="Lead and joint"))
    contact_rating: Ampere | None = ask_or_none(replace(
        CONTACT_RATING, label="Current rating of one contact", section="Lead and joint",
        help="Leave empty if no contact is in the loop.",
    ))  # fmt: skip
    speakers: tuple[SpeakerFigures, ...] | None = ask_or_none(SPEAKERS)
    sensitivity_reference: SensitivityReference = ask(ChoiceInput(
        label="Sensitivity is stated at", default="1 W", options=REFERENCES, section="Speakers",
        help="2.83 V is 1 W into 8 Ω but 2 W into 4 Ω.",
    ))  # fmt: skip
    high_pass: Hertz | None = ask_or_none(QuantityInput(
        label="High-pass for small speakers", kind="frequency", unit="Hz", lowest=5, highest=50000,
        usual=(20, 10000), section="Speakers",
        help="The frequency below which a small speaker is to be spared; empty: no capacitor.",
    ))  # fmt: skip
    band_low: Hertz = ask(QuantityInput(
        label="Band from", kind="frequency", unit="Hz", default="20 Hz", lowest=1, highest=20000,
        usual=(10, 5000),
        section="Speakers", help="The lowest frequency that is played.",
    ))  # fmt: skip
    band_high: Hertz = ask(QuantityInput(
        label="Band to", kind="frequency", unit="Hz", default="20 kHz", lowest=2, highest=100000,
        usual=(100, 40000),
        section="Speakers", help="The highest frequency that is played.",
    ))  # fmt: skip

    def __post_init__(self) -> None:
        """Refuse what does not go together; raises InputError."""
        if self.band_high < NARROWEST_BAND * self.band_low:
            raise InputError(
                "band_high", "the band ends below or right where it begins; give a higher frequency"
            )
        names = [figures.name for figures in self.speakers or ()]
        for number, name in enumerate(names, 1):
            if name in names[: number - 1]:
                raise refuse_cell("speakers", number, "name", f"“{name}” has a row already; keep one")

    def find_figures(self, speaker: Speaker) -> SpeakerFigures:
        """Return what is known of this speaker, by its name, then by its group's, then by what is of all."""
        rows = {figures.name: figures for figures in self.speakers or ()}
        return next(
            (rows[name] for name in (*_list_names(speaker), ALL) if name in rows), read_figures(ALL)[0]
        )

    @property
    def unknown_names(self) -> tuple[str, ...]:
        """The names of rows that no speaker has."""
        known = {ALL, *(name for one in self.network.speakers for name in _list_names(one))}
        return tuple(figures.name for figures in self.speakers or () if figures.name not in known)


def _list_names(speaker: Speaker) -> tuple[str, str, str]:
    """Return its name, its group's, and its name without a number: a copy that is joined otherwise alone."""
    return speaker.name, speaker.group, speaker.name.rstrip("0123456789")
