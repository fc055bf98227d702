"""What led-current is given: the fields of its form."""

from dataclasses import dataclass, replace
from typing import Any

from calculators.forms.fields import (
    ChoiceInput,
    GaugeInput,
    QuantityInput,
    TextInput,
    WholeInput,
    ask,
    ask_or_none,
)
from calculators.forms.rows import RowsInput
from calculators.forms.shared_fields import (
    CONTACT_RATING,
    CONTACT_RESISTANCE,
    CONTACTS_SHARED,
    LEAD_LENGTH,
)
from calculators.led_current.data_level import SHIFTER_PLACES, ShifterPlace, list_shifters
from calculators.led_current.feed import FEED_FORM, FeedPlan, place_feeds, read_feed_plan
from calculators.led_current.led import OWN_FIGURES, RESERVE, Led, list_leds
from calculators.led_current.own_frames import Run, check_runs, list_frames, rewrite_frames
from calculators.led_current.pattern import (
    COLOUR_FORM,
    PATTERNS,
    Colour,
    Pattern,
    PatternName,
    make_pattern,
    read_colour,
)
from calculators.notation.errors import InputError, NotationError
from calculators.notation.gauge import Gauge
from calculators.notation.units import Ampere, Hertz, Metre, Ohm, OhmPerMetre, Second, Share, Volt
from calculators.physics.copper import CONDUCTOR_KINDS, ConductorKind

NO_SHIFTER = "none"

CUT_OFF_SHARE: Share = 0.78
"""Of a battery's voltage, at cut-off: lithium iron phosphate 10.0 V of 12.8 V; common practice.

Others stop higher: lead-acid at 10.5 V of 12.6 V, lithium-ion at 3.0 V of 3.7 V.
"""

_DETAILS = "The LED's own figures"
_PATTERN = "Pattern"
_COPPER = "Strip, leads and contacts"
_DATA = "Data"
_SUPPLY = "Supply and battery"


@dataclass(frozen=True, kw_only=True)
class Given:
    """Equal strings of equal LEDs, their feeds and data line, and what they show."""

    led_type: str = ask(ChoiceInput(
        label="LED type", default="RGB 12 mA", options=tuple(list_leds()),
        help="Told by the strip: its voltage, contacts and white, and the current of one LED at full white, "
        "as the page says. “own figures” takes the fields of the next section.",
    ))  # fmt: skip
    count: int = ask(WholeInput(
        label="LEDs in one string", default="100", lowest=1, highest=1500,
        help="Where one controller drives three LEDs in series, the three count as one.",
    ))  # fmt: skip
    supply: Volt = ask(QuantityInput(
        label="Supply", default="5 V", kind="voltage", unit="V", lowest=1, highest=60, usual=(4.5, 13.5),
        help="At the converter's terminals.",
    ))  # fmt: skip
    feed: FeedPlan = ask(TextInput(
        label="Fed at", default="both ends", reader=read_feed_plan, form=FEED_FORM, longest=400,
        help="The same for each string. Every feed has its own pair of wires from the supply.",
    ))  # fmt: skip
    segment_resistance: Ohm | None = ask_or_none(QuantityInput(
        label="Resistance from LED to LED", default="5 mΩ", kind="resistance", unit="Ω", lowest=1e-6,
        highest=10, usual=(0.0002, 0.05),
        help="Out and back together. No maker prints it: measure it as the page says.",
    ))  # fmt: skip
    pattern: PatternName = ask(ChoiceInput(label="Pattern", default="random rows lit", options=PATTERNS))
    brightness: Share = ask(QuantityInput(
        label="Brightness", default="60 %", kind="fraction", unit="%", lowest=0, highest=1, usual=(0.05, 1),
        help="The controller's overall setting, for the pattern only; full current is always computed at "
        "100 %.",
    ))  # fmt: skip
    channel_current: Ampere | None = ask_or_none(QuantityInput(
        label="Current per channel", kind="current", unit="mA", lowest=1e-6, highest=2, usual=(0.002, 0.06),
        section=_DETAILS, help="Empty: the type's own figure.",
    ))  # fmt: skip
    channels: int | None = ask_or_none(WholeInput(
        label="Channels per LED", lowest=1, highest=5, section=_DETAILS, help="Empty: the type's own figure.",
    ))  # fmt: skip
    idle_current: Ampere | None = ask_or_none(QuantityInput(
        label="Idle current per LED", kind="current", unit="mA", lowest=0, highest=0.1, usual=(0.0001, 0.002),
        section=_DETAILS, help="Dark, but powered. Empty: the type's own figure.",
    ))  # fmt: skip
    full_voltage: Volt | None = ask_or_none(QuantityInput(
        label="Full current down to", kind="voltage", unit="V", lowest=0.5, highest=60,
        usual=(2.5, 12), section=_DETAILS,
        help="Below this the current falls. Empty: the type's own figure.",
    ))  # fmt: skip
    dark_voltage: Volt | None = ask_or_none(QuantityInput(
        label="Dark at", kind="voltage", unit="V", lowest=0, highest=60, usual=(1.5, 9), section=_DETAILS,
        help="No current at this voltage. Empty: the type's own figure.",
    ))  # fmt: skip
    logic_supply: Volt | None = ask_or_none(QuantityInput(
        label="Supply of its data input", kind="voltage", unit="V", lowest=0.5, highest=60, usual=(3, 5.5),
        section=_DETAILS,
        help="Where the LED makes one of its own inside, as 12 V strips do. Empty: the type's own figure.",
    ))  # fmt: skip
    colour: Colour = ask(TextInput(
        label="Colour", default="white", reader=read_colour, form=COLOUR_FORM, longest=40, section=_PATTERN,
        help="For every pattern but all white and own frames.",
    ))  # fmt: skip
    gamma: float = ask(QuantityInput(
        label="Gamma", default="2.2", kind="number", unit="", lowest=0.5, highest=5, usual=(1, 3),
        section=_PATTERN, help="How the controller bends levels into light; 1 switches it off.",
    ))  # fmt: skip
    group: int = ask(WholeInput(
        label="LEDs in a row or a tail", default="8", lowest=1, highest=1500, section=_PATTERN,
        help="The row that is lit as one, or the length of the chase's tail.",
    ))  # fmt: skip
    lit_share: Share = ask(QuantityInput(
        label="Rows lit", default="50 %", kind="fraction", unit="%", lowest=0, highest=1,
        usual=(0.05, 1), section=_PATTERN,
        help="Each row's chance to be lit in a frame.",
    ))  # fmt: skip
    own_frames: tuple[Run, ...] = ask(RowsInput(
        label="Own frames", default="20, white\n20, 255/0/0\n20, white, 10", row=Run, section=_PATTERN,
        former={"own_frames": "20: white; 20: 255/120/0; 20: 24 x white"}, rewrite=rewrite_frames,
        help="For the pattern “own frames”: a row for each run of LEDs. A row without a number of frames "
        "goes on in the frame above. LEDs not named are off.",
    ))  # fmt: skip
    frames: int = ask(WholeInput(
        label="Frames simulated", default="100", lowest=10, highest=300, section=_PATTERN,
        help="Own frames bring their own number.",
    ))  # fmt: skip
    seed: int = ask(WholeInput(
        label="Number of the draw", default="1", lowest=0, highest=9999, section=_PATTERN,
        help="Another number draws other rows.",
    ))  # fmt: skip
    strip_resistance: OhmPerMetre | None = ask_or_none(QuantityInput(
        label="Strip's resistance per metre", kind="resistance per length", unit="Ω/m", lowest=1e-4,
        highest=100, usual=(0.02, 2), section=_COPPER,
        help="Out and back together. When given, it replaces the resistance from LED to LED.",
    ))  # fmt: skip
    pitch: Metre | None = ask_or_none(QuantityInput(
        label="Pitch of the LEDs", default="16.7 mm", kind="length", unit="mm", lowest=0.0005, highest=2,
        usual=(0.003, 0.2),
        section=_COPPER, help="From LED to LED; 60 LEDs in a metre are 16.7 mm apart.",
    ))  # fmt: skip
    floor: Volt | None = ask_or_none(QuantityInput(
        label="Lowest voltage wanted", kind="voltage", unit="V", lowest=0.5, highest=60, usual=(3, 12),
        section=_COPPER,
        help="At every LED with all channels on. Empty: the type's own, 4.5 V for LEDs of 5 V, which is half "
        "a volt above where white begins to turn yellow.",
    ))  # fmt: skip
    lead_gauge: Gauge = ask(GaugeInput(label="Wire of each feed", default="18 AWG", section=_COPPER))
    lead_length: Metre = ask(replace(
        LEAD_LENGTH, label="Lead length, one way", default="1 m", usual=(0.02, 5), section=_COPPER,
        help="From the supply to one feed.",
    ))  # fmt: skip
    lead_conductor: ConductorKind = ask(ChoiceInput(
        label="Kind of wire", default="stranded", options=CONDUCTOR_KINDS, section=_COPPER,
    ))  # fmt: skip
    contacts: int = ask(WholeInput(
        label="Joint contacts in one feed's loop", default="0", lowest=0, highest=20, section=_COPPER,
        help="A loop crosses a joint twice, out and back; 0 without a joint.",
    ))  # fmt: skip
    contact_resistance: Ohm = ask(replace(CONTACT_RESISTANCE, section=_COPPER))
    contacts_shared: int = ask(replace(CONTACTS_SHARED, section=_COPPER))
    contact_rating: Ampere = ask(replace(CONTACT_RATING, section=_COPPER))
    lead_drop: Share = ask(QuantityInput(
        label="Drop allowed in a lead", default="5 %", kind="fraction", unit="%", lowest=0.001, highest=0.3,
        usual=(0.005, 0.1),
        section=_COPPER, help="Share of the supply lost in one feed's lead, out and back, the copper warm.",
    ))  # fmt: skip
    strings: int = ask(WholeInput(
        label="Strings sharing the data line", default="1", lowest=1, highest=16, section=_DATA,
        help="Equal strings that show the same. Feeds are those of each; the supply carries all.",
    ))  # fmt: skip
    target_rate: Hertz = ask(QuantityInput(
        label="Frames per second wanted", default="60 Hz", kind="frequency", unit="Hz", lowest=1,
        highest=1000, usual=(20, 120), section=_DATA,
    ))  # fmt: skip
    reset_time: Second | None = ask_or_none(QuantityInput(
        label="Reset time", kind="time", unit="µs", lowest=0, highest=0.1, usual=(40e-6, 1e-3), section=_DATA,
        help="The pause that ends a frame. Empty: the type's own figure.",
    ))  # fmt: skip
    bit_rate: Hertz | None = ask_or_none(QuantityInput(
        label="Bits per second", kind="frequency", unit="kHz", lowest=1e3, highest=5e7,
        usual=(4e5, 2e7), section=_DATA,
        help="800 kHz for one-wire LEDs. Empty: the type's own figure.",
    ))  # fmt: skip
    controller_level: Volt = ask(QuantityInput(
        label="Controller's high level", default="3.3 V", kind="voltage", unit="V", lowest=0.5, highest=30,
        usual=(1.8, 5.5),
        section=_DATA,
    ))  # fmt: skip
    controller_low: Volt = ask(QuantityInput(
        label="Controller's low level", default="0.4 V", kind="voltage", unit="V", lowest=0, highest=5,
        usual=(0.01, 0.8),
        section=_DATA, help="At most, as its data sheet has it; a lightly loaded output is nearer to 0.1 V.",
    ))  # fmt: skip
    level_shifter: str = ask(ChoiceInput(
        label="Level shifter", default="TTL-input buffer", section=_DATA,
        options=(NO_SHIFTER, *(shifter.name for shifter in list_shifters())),
        help="Between controller and first LED, fed from the LED supply, or with 12 V strips from 5 V.",
    ))  # fmt: skip
    shifter_place: ShifterPlace = ask(ChoiceInput(
        label="Where it sits", default="at the controller", options=SHIFTER_PLACES, section=_DATA,
        help="At the string its ground is the first LED's, and only its input crosses the ground shift.",
    ))  # fmt: skip
    high_threshold: Share | None = ask_or_none(QuantityInput(
        label="High from", kind="fraction", unit="%", lowest=0.05, highest=0.95,
        usual=(0.3, 0.8), section=_DATA,
        help="Share of the LED's own supply that counts as high. Empty: the type's own figure.",
    ))  # fmt: skip
    ground_shift: Volt = ask(QuantityInput(
        label="Further ground shift", default="0 V", kind="voltage", unit="mV", lowest=-5, highest=5,
        usual=(-0.5, 0.5),
        section=_DATA, help="What other loads in the same return lift the LEDs' ground; below zero where "
        "they lift the controller's.",
    ))  # fmt: skip
    margin: Share = ask(QuantityInput(
        label="Margin of the supply", default="20 %", kind="fraction", unit="%", lowest=0, highest=2,
        usual=(0.05, 1),
        section=_SUPPLY,
    ))  # fmt: skip
    converter_limit: Ampere | None = ask_or_none(QuantityInput(
        label="Converter's limit", default="10 A", kind="current", unit="A", lowest=0.01, highest=1000,
        usual=(0.5, 100),
        section=_SUPPLY,
    ))  # fmt: skip
    efficiency: Share = ask(QuantityInput(
        label="Converter's efficiency", default="90 %", kind="fraction", unit="%", lowest=0.2, highest=1,
        usual=(0.6, 0.98),
        section=_SUPPLY,
    ))  # fmt: skip
    battery_voltage: Volt | None = ask_or_none(QuantityInput(
        label="Battery", default="12 V", kind="voltage", unit="V", lowest=1, highest=1000,
        usual=(3, 60), section=_SUPPLY,
        help="Ahead of the converter; empty where there is none.",
    ))  # fmt: skip
    battery_cutoff: Volt | None = ask_or_none(QuantityInput(
        label="Battery at cut-off", kind="voltage", unit="V", lowest=0.5, highest=1000, usual=(2.5, 60),
        section=_SUPPLY,
        help="Where it is switched off: there it gives most current. Empty: 78 % of the battery's voltage.",
    ))  # fmt: skip

    def __post_init__(self) -> None:
        """Refuse what does not go together; raises InputError."""
        self.find_led()
        self.find_segment()
        self.find_nodes()
        self.find_pattern()
        cutoff = self.find_cutoff()
        if self.battery_voltage is not None and cutoff is not None and cutoff > self.battery_voltage:
            raise InputError("battery_cutoff", "a battery is cut off at less than its own voltage; give less")

    def find_led(self) -> Led:
        """Return the LED of the chosen family, with the builder's own figures where there are any."""
        own: dict[str, Any] = {
            "channel_current": self.channel_current, "idle_current": self.idle_current,
            "channels": self.channels, "full_voltage": self.full_voltage, "dark_voltage": self.dark_voltage,
            "high_threshold": self.high_threshold, "logic_supply": self.logic_supply,
            "bit_rate": self.bit_rate, "reset_time": self.reset_time,
        }  # fmt: skip
        if self.full_voltage is not None:
            own |= {"wanted_voltage": self.full_voltage + RESERVE}
        for name in ("channel_current", "idle_current", "channels"):
            if self.led_type == OWN_FIGURES and own[name] is None:
                raise InputError(name, "own figures need this one; fill it in, or choose an LED type")
        led = replace(
            list_leds()[self.led_type], **{name: value for name, value in own.items() if value is not None}
        )
        if led.dark_voltage >= led.full_voltage:
            raise InputError(
                "full_voltage" if self.dark_voltage is None else "dark_voltage",
                "an LED goes dark at a lower voltage than the one down to which it has full current",
            )
        return led

    def find_cutoff(self) -> Volt | None:
        """Return the battery's voltage at cut-off; None without a battery."""
        if self.battery_voltage is None:
            return None
        return self.battery_cutoff or CUT_OFF_SHARE * self.battery_voltage

    def find_segment(self) -> Ohm:
        """Return the resistance from LED to LED, out and back."""
        if self.strip_resistance is not None:
            if self.pitch is None:
                raise InputError("pitch", "a resistance per metre needs the pitch of the LEDs as well")
            return self.strip_resistance * self.pitch
        if self.segment_resistance is None:
            raise InputError(
                "segment_resistance", "give the resistance from LED to LED, or the strip's per metre"
            )
        return self.segment_resistance

    def find_nodes(self) -> tuple[int, ...]:
        """Return the nodes at which the string is fed."""
        try:
            return place_feeds(self.feed, self.count)
        except NotationError as error:
            raise InputError("feed", str(error)) from None

    def find_pattern(self) -> Pattern:
        """Return what the string shows."""
        channels = self.find_led().channels
        own = list_frames(self.own_frames)
        if self.pattern == "own frames":
            check_runs(self.own_frames, self.count, channels)
        try:
            return make_pattern(
                self.pattern, self.count, channels, self.gamma, self.colour, self.group, self.lit_share,
                self.frames, self.seed, own,
            )  # fmt: skip
        except NotationError as error:
            raise InputError("colour", str(error)) from None
