"""What speaker-load is given: the fields of its form."""

from dataclasses import dataclass, replace
from functools import cache, partial
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
from calculators.forms.shared_fields import CONTACT_RATING, CONTACT_RESISTANCE, LEAD_LENGTH
from calculators.notation.errors import InputError
from calculators.notation.gauge import Gauge
from calculators.notation.units import Ampere, Decibel, Henry, Hertz, Metre, Ohm, Share, Volt, Watt
from calculators.speaker_load.channel import MEANINGS, Meaning
from calculators.speaker_load.driver import Driver
from calculators.speaker_load.network import SpeakerNetwork, read_speaker_network
from calculators.speaker_load.per_speaker import (
    DRIVER_LIMITS,
    PerSpeaker,
    read_drivers,
    read_names,
    read_plain_number,
    read_ratings,
    read_sensitivities,
)

NARROWEST_BAND = 1.01
"""A band's end over its beginning, at least; a curve over less than that cannot be drawn."""

type MinusWire = Literal["a contact of its own", "shares a contact", "joined to ground"]
MINUS_WIRES: tuple[MinusWire, ...] = get_args(MinusWire.__value__)

type SensitivityReference = Literal["1 W", "2.83 V"]
REFERENCES: tuple[SensitivityReference, ...] = get_args(SensitivityReference.__value__)

RATING = TextInput[PerSpeaker[Watt]](
    label="Power rating of a speaker", default="20 W; shaker: 25 W", reader=read_ratings,
    form="a power, or powers by name", section="Speakers",
    help="One figure for all, or by name: 20 W; shaker: 25 W; horn: none.",
)  # fmt: skip
SENSITIVITY = TextInput[PerSpeaker[Decibel]](
    label="Sensitivity of a speaker", default="86 dB; shaker: none", reader=read_sensitivities,
    form="a level, or levels by name", section="Speakers",
    help="Level at 1 m; a shaker is felt, not heard: none.",
)  # fmt: skip


_USUAL_DRIVERS = {"re": (1.5, 64), "le": (20e-6, 5e-3), "fs": (15, 2500)}


def _make_parameter(name: str, label: str, help_text: str) -> QuantityInput:
    kind, unit, lowest, highest = DRIVER_LIMITS[name]
    return QuantityInput(
        label=label, kind=kind, unit=unit, lowest=lowest, highest=highest, section="Measured drivers",
        usual=_USUAL_DRIVERS[name], help=help_text,
    )  # fmt: skip


def _make_plain(lowest: float, highest: float, label: str, section: str, help_text: str) -> TextInput[float]:
    return TextInput(
        label=label, reader=partial(read_plain_number, lowest=lowest, highest=highest),
        form=f"a plain number from {lowest:g} to {highest:g}", section=section, help=help_text,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Given:
    """One channel: its speakers, the amplifier, the lead to them, and what is known of each speaker."""

    network: SpeakerNetwork = ask(TextInput(
        label="Speakers", default="left:8 || right:8 + shaker:4", reader=read_speaker_network,
        form="a network of nominal impedances such as left:8 || right:8 + shaker:4",
        help="+ joins in series, || in parallel and binds tighter; brackets, names and counts are read: "
        "left:8, (8 + 8) || 4, 3 x 8 in parallel.",
    ))  # fmt: skip
    supply: Volt = ask(QuantityInput(
        label="Supply of the amplifier", kind="voltage", unit="V", default="12.8 V", lowest=1, highest=100,
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
        help="Data sheets rarely say whether they mean a speaker's nominal figure or the lowest it falls to.",
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
    efficiency: Share = ask(QuantityInput(
        label="Efficiency at full power", kind="fraction", unit="%", default="90 %", lowest=0.05, highest=1,
        usual=(0.5, 0.97), section="Amplifier",
        help="Power at the speaker plug over power drawn from the supply.",
    ))  # fmt: skip
    amplifier_damping: float | None = ask_or_none(_make_plain(
        1, 100000, "Damping factor of the amplifier", "Amplifier",
        "From its data sheet, into a load like this one; empty: from the outputs' resistance.",
    ))  # fmt: skip
    minus_wire: MinusWire = ask(ChoiceInput(
        label="The minus wire", default="a contact of its own", options=MINUS_WIRES, section="Lead and joint",
        help="How the wire of the second output crosses the joint and where else it goes.",
    ))  # fmt: skip
    lead_length: Metre = ask(replace(
        LEAD_LENGTH, default="1.2 m", section="Lead and joint",
        help="From the amplifier's plug to the speakers; the way back is added.",
    ))  # fmt: skip
    lead_gauge: Gauge = ask(GaugeInput(
        label="Wire of the lead", default="20 AWG", section="Lead and joint",
        help="The size printed on the reel; counted as solid copper at 20 °C.",
    ))  # fmt: skip
    contacts: int = ask(WholeInput(
        label="Joint contacts in the loop", default="2", lowest=0, highest=100, section="Lead and joint",
        help="Out and back together: a plug in a two-wire lead counts 2.",
    ))  # fmt: skip
    contact_resistance: Ohm = ask(replace(
        CONTACT_RESISTANCE, default="30 mohm", section="Lead and joint",
        help="The worst the maker allows, not the best.",
    ))  # fmt: skip
    contact_rating: Ampere | None = ask_or_none(replace(
        CONTACT_RATING, label="Current rating of one contact", section="Lead and joint",
        help="Leave empty if no contact is in the loop.",
    ))  # fmt: skip
    rating: PerSpeaker[Watt] | None = ask_or_none(RATING)
    sensitivity: PerSpeaker[Decibel] | None = ask_or_none(SENSITIVITY)
    sensitivity_reference: SensitivityReference = ask(ChoiceInput(
        label="Sensitivity is stated at", default="1 W", options=REFERENCES, section="Speakers",
        help="2.83 V is 1 W into 8 Ω but 2 W into 4 Ω.",
    ))  # fmt: skip
    high_pass: Hertz | None = ask_or_none(QuantityInput(
        label="High-pass for small speakers", kind="frequency", unit="Hz", lowest=5, highest=50000,
        usual=(20, 10000), section="Speakers",
        help="The frequency below which a small speaker is to be spared; empty: no capacitor.",
    ))  # fmt: skip
    re: Ohm | None = ask_or_none(
        _make_parameter("re", "Re", "Resistance of the voice coil, as a meter shows it.")
    )
    le: Henry | None = ask_or_none(
        _make_parameter("le", "Le", "Inductance of the voice coil; empty counts as none.")
    )
    fs: Hertz | None = ask_or_none(_make_parameter("fs", "fs", "Resonance in free air."))
    qms: float | None = ask_or_none(
        _make_plain(*DRIVER_LIMITS["qms"][2:], "Qms", "Measured drivers", "Mechanical Q at the resonance.")
    )
    qes: float | None = ask_or_none(
        _make_plain(*DRIVER_LIMITS["qes"][2:], "Qes", "Measured drivers", "Electrical Q at the resonance.")
    )
    driver_of: tuple[str, ...] | None = ask_or_none(TextInput(
        label="These are the figures of", reader=read_names, form="names such as left, right",
        section="Measured drivers", help="Names of speakers, with commas; empty: of all of them.",
    ))  # fmt: skip
    other_drivers: PerSpeaker[Driver] | None = ask_or_none(TextInput(
        label="Figures of other speakers", reader=read_drivers, form="small-signal parameters by name",
        section="Measured drivers", help="By name: shaker: Re 3.4, Le 0.2 mH, fs 40 Hz, Qms 3, Qes 0.9.",
    ))  # fmt: skip
    band_low: Hertz = ask(QuantityInput(
        label="Band from", kind="frequency", unit="Hz", default="20 Hz", lowest=1, highest=20000,
        usual=(10, 5000),
        section="Measured drivers", help="The lowest frequency that is played.",
    ))  # fmt: skip
    band_high: Hertz = ask(QuantityInput(
        label="Band to", kind="frequency", unit="Hz", default="20 kHz", lowest=2, highest=100000,
        usual=(100, 40000),
        section="Measured drivers", help="The highest frequency that is played.",
    ))  # fmt: skip

    def __post_init__(self) -> None:
        """Refuse what does not go together; raises InputError."""
        if self.band_high < NARROWEST_BAND * self.band_low:
            raise InputError(
                "band_high", "the band ends below or right where it begins; give a higher frequency"
            )
        needed = {"re": self.re, "fs": self.fs, "qms": self.qms, "qes": self.qes}
        missing = [name for name, value in needed.items() if value is None]
        if missing and (len(missing) < len(needed) or self.le is not None):
            raise InputError(
                missing[0],
                "nothing is entered, but a driver is described by all four; give Re, fs, Qms and Qes, or "
                "none",
            )
        if self.driver_of and missing:
            raise InputError("driver_of", "no figures are given; fill in Re, fs, Qms and Qes, or empty this")
        for field, drivers in (("driver_of", self.own_drivers), ("other_drivers", self.other_drivers)):
            unknown = drivers.list_unknown_names(self.network.speakers) if drivers else ()
            if unknown:
                names = ", ".join(self.network.names)
                raise InputError(field, f"no speaker here is called “{unknown[0]}”; there are {names}")

    @property
    def own_drivers(self) -> PerSpeaker[Driver]:
        """The measured parameters of the form's own fields, by the speakers that they are of."""
        if self.re is None or self.fs is None or self.qms is None or self.qes is None:
            return PerSpeaker(None, {})
        driver = Driver(self.re, self.le or 0.0, self.fs, self.qms, self.qes)
        if self.driver_of:
            return PerSpeaker(None, dict.fromkeys(self.driver_of, driver))
        return PerSpeaker(driver, {})

    @property
    def unknown_names(self) -> tuple[str, ...]:
        """The names of ratings and sensitivities that no speaker has.

        Who left a field as it was has misspelt no name in it.
        """
        written = ((self.rating, _read_default(RATING)), (self.sensitivity, _read_default(SENSITIVITY)))
        changed = [figures for figures, default in written if figures and figures != default]
        names = [name for figures in changed for name in figures.list_unknown_names(self.network.speakers)]
        return tuple(dict.fromkeys(names))


@cache
def _read_default(field: TextInput[PerSpeaker[float]]) -> PerSpeaker[float] | None:
    return field.read(field.default)
