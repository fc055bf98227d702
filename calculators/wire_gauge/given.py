"""What wire-gauge is given: the fields of its form."""

from dataclasses import dataclass, replace

from calculators.forms.fields import (
    ChoiceInput,
    GaugeInput,
    QuantityInput,
    TextInput,
    WholeInput,
    ask,
    ask_or_none,
)
from calculators.forms.shared_fields import (
    CABLE,
    CONTACT_RATING,
    CONTACT_RESISTANCE,
    CONTACTS_SHARED,
    FUSE,
    FUSE_BREAKING,
    FUSE_KIND,
    LOAD_DRAWS,
    SOURCE_CURRENT,
    CableKind,
    LoadDraws,
)
from calculators.notation.errors import InputError
from calculators.notation.gauge import Gauge
from calculators.notation.insulation import Insulation, read_insulation
from calculators.notation.units import Ampere, Celsius, Metre, Ohm, Second, Share, Volt
from calculators.physics.copper import CONDUCTOR_KINDS, ConductorKind
from calculators.wire_gauge.allowed_drop import LARGEST_SHARE, AllowedDrop, AllowedDropInput


@dataclass(frozen=True, kw_only=True)
class Given:
    """One d.c. run of two equal wires, and the place it lies in."""

    current: Ampere = ask(QuantityInput(
        label="Current", kind="current", unit="A", default="5 A", lowest=1e-6, highest=400,
        usual=(0.01, 60), help="What flows for hours, with all pairs together.",
    ))  # fmt: skip
    supply: Volt = ask(QuantityInput(
        label="Supply", kind="voltage", unit="V", default="12 V", lowest=0.5, highest=60,
        usual=(3, 52), help="Voltage at the feeding end, d.c.",
    ))  # fmt: skip
    length: Metre = ask(QuantityInput(
        label="Length, one way", kind="length", unit="m", default="1 m", lowest=0.005, highest=200,
        usual=(0.02, 30), help="From source to load along the wire; the way back is added.",
    ))  # fmt: skip
    allowed_drop: AllowedDrop = ask(AllowedDropInput(
        label="Allowed drop (% or V)", default="3 %",
        help="3 % for electronics and motors, 10 % for plain lamps.",
    ))  # fmt: skip
    gauge: Gauge | None = ask_or_none(GaugeInput(
        label="Size to judge",
        help="A wire you have, AWG or mm². Empty: the recommended size is judged.",
    ))  # fmt: skip
    conductor: ConductorKind = ask(ChoiceInput(
        label="Conductor", default="stranded", options=CONDUCTOR_KINDS, section="Wire",
        help="Stranded and tinned: IEC 60228 class 5. Worst case: hook-up wire, 24 % above solid. "
        "Solid breaks where it moves.",
    ))  # fmt: skip
    cable: CableKind = ask(replace(CABLE, section="Wire"))
    pairs: int = ask(WholeInput(
        label="Pairs side by side", default="1", lowest=1, highest=20, section="Wire",
        help="Equal pairs that share the current, each with a fuse of its own.",
    ))  # fmt: skip
    insulation: Insulation = ask(TextInput(
        label="Insulation", default="80 °C", reader=read_insulation, longest=40, section="Wire",
        form="a temperature such as 105 °C, or pvc, pvc 80, pvc 105, xlpe, silicone, ptfe",
        help="Its temperature as printed on the reel, or the material.",
    ))  # fmt: skip
    wall: Metre = ask(QuantityInput(
        label="Thickness of the insulation", kind="length", unit="mm", default="0.4 mm", lowest=0.00005,
        highest=0.003, usual=(0.0001, 0.0015), section="Wire",
        help="A thin wall is the cautious guess: there is less surface to cool by.",
    ))  # fmt: skip
    ambient: Celsius = ask(QuantityInput(
        label="Air round the wire", kind="temperature", unit="°C", default="30 °C", lowest=-20,
        highest=80, usual=(0, 60), section="Place",
        help="Inside the figure, on a hot day, with everything running.",
    ))  # fmt: skip
    bundle: int = ask(WholeInput(
        label="Loaded wires together", default="2", lowest=1, highest=60, section="Place",
        help="All wires in the bundle that carry current; out and back are two.",
    ))  # fmt: skip
    contacts: int = ask(WholeInput(
        label="Joint contacts in the loop", default="0", lowest=0, highest=40, section="Joint",
        help="Contacts that the current crosses one after the other, out and back.",
    ))  # fmt: skip
    contact_resistance: Ohm = ask(CONTACT_RESISTANCE)
    contacts_shared: int = ask(CONTACTS_SHARED)
    contact_rating: Ampere | None = ask_or_none(replace(
        CONTACT_RATING, default="", help="From the maker's sheet. Empty: the contacts are not judged.",
    ))  # fmt: skip
    fuse: Ampere | None = ask_or_none(replace(
        FUSE, section="Fuse and source", help="The one at the source end. Empty: one is proposed.",
    ))  # fmt: skip
    fuse_kind: str = ask(replace(FUSE_KIND, section="Fuse and source"))
    fuse_breaking: Ampere | None = ask_or_none(replace(FUSE_BREAKING, section="Fuse and source"))
    source_current: Ampere | None = ask_or_none(replace(
        SOURCE_CURRENT, section="Fuse and source",
        help="A converter's limit; of a battery what flows into a short. Empty: the source is not judged.",
    ))  # fmt: skip
    inrush: Ampere | None = ask_or_none(QuantityInput(
        label="Inrush", kind="current", unit="A", lowest=1e-6, highest=5000, usual=(0.5, 500),
        section="Fuse and source", help="At switching on, while capacitors fill. Empty: none.",
    ))  # fmt: skip
    inrush_time: Second = ask(QuantityInput(
        label="The inrush lasts", kind="time", unit="ms", default="5 ms", lowest=1e-6, highest=10,
        usual=(1e-5, 1), section="Fuse and source", help="Counts only when an inrush is given.",
    ))  # fmt: skip
    load: LoadDraws = ask(replace(LOAD_DRAWS, section="Load"))
    lowest_supply: Volt | None = ask_or_none(QuantityInput(
        label="Supply at its lowest", kind="voltage", unit="V", lowest=0.25, highest=60, usual=(3, 52),
        section="Load", help="Such as of a battery nearly empty. Counts for a load of the same power.",
    ))  # fmt: skip
    peak: Ampere | None = ask_or_none(QuantityInput(
        label="Peak current", kind="current", unit="A", lowest=1e-6, highest=1000, usual=(0.02, 200),
        section="Load", help="Returns again and again. Empty: no peaks.",
    ))  # fmt: skip
    duty: Share = ask(QuantityInput(
        label="Share of time at peak", kind="fraction", unit="%", default="10 %", lowest=0.001, highest=1,
        usual=(0.01, 0.9), section="Load", help="Counts only when a peak is given.",
    ))  # fmt: skip
    peak_time: Second = ask(QuantityInput(
        label="One peak lasts", kind="time", unit="s", default="1 s", lowest=0.001, highest=36000,
        usual=(0.01, 600), section="Load",
        help="A peak much longer than the wire takes to warm counts in full.",
    ))  # fmt: skip

    @property
    def allowed(self) -> Volt:
        """The drop that is allowed."""
        return self.allowed_drop.find_volts(self.supply)

    @property
    def load_voltage(self) -> Volt:
        """The least that the load is left with when the drop is as allowed."""
        return (self.lowest_supply or self.supply) - self.allowed

    @property
    def rise(self) -> float:
        """What a load of the same power draws at that voltage, of what it draws at the full supply."""
        return self.supply / self.load_voltage if self.load == "same power" else 1.0

    def __post_init__(self) -> None:
        """Refuse what does not go together; raises InputError."""
        if self.peak is not None and self.peak < self.current:
            raise InputError(
                "peak", "the peak is below the lasting current; give the larger one, or leave it empty"
            )
        if self.allowed > LARGEST_SHARE * self.supply:
            raise InputError("allowed_drop", "this is more than half of the supply; give at most half of it")
        if self.lowest_supply is not None and not self.allowed / LARGEST_SHARE <= self.lowest_supply:
            raise InputError("lowest_supply", "the allowed drop is more than half of this; allow less drop")
        if self.lowest_supply is not None and self.lowest_supply > self.supply:
            raise InputError("lowest_supply", "this is above the supply; give the voltage of a weak source")
        if self.insulation.temperature < self.ambient + 5:
            raise InputError(
                "insulation", "it bears hardly more than the air's warmth; take a better one or cooler air"
            )
