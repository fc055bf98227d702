"""What pin-order is given: the fields of its form."""

from dataclasses import dataclass, replace
from typing import Literal

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
from calculators.forms.rows import RowsInput, refuse_cell
from calculators.forms.shared_fields import (
    CONTACT_RATING,
    CONTACT_RESISTANCE,
    FUSE,
    FUSE_BREAKING,
    FUSE_KIND,
    LEAD_LENGTH,
    SOURCE_CURRENT,
)
from calculators.notation.errors import InputError
from calculators.notation.gauge import Gauge
from calculators.notation.units import Ampere, Metre, Ohm, Share, Volt
from calculators.pin_order.pin_list import PINS_FORM, Board, read_plug, rewrite_boards
from calculators.pin_order.plug import Plug

type View = Literal["mating face", "wire side"]
VIEWS: tuple[View, ...] = ("mating face", "wire side")
type Halves = Literal["plugs that look alike", "a plug and its socket"]
HALVES: tuple[Halves, ...] = ("plugs that look alike", "a plug and its socket")
type Joined = Literal["directly", "by the made-up lead"]
JOINED: tuple[Joined, ...] = ("directly", "by the made-up lead")


@dataclass(frozen=True, kw_only=True)
class Given:
    """Two plugs, how they are looked at, and what each side gives and withstands."""

    from_pins: Plug = ask(TextInput(
        label="Source: pins in order", default="+5V, ground, signal", reader=read_plug, form=PINS_FORM,
        help="The side that gives the power. A highest voltage may follow a pin, such as “data in max 3.6 "
        "V”.",
    ))  # fmt: skip
    from_view: View = ask(ChoiceInput(
        label="Source: seen from", default="mating face", options=VIEWS,
        help="The side you look at when you count from left to right, key upwards.",
    ))  # fmt: skip
    to_pins: Plug = ask(TextInput(
        label="Board: pins in order", default="+5V, signal, ground", reader=read_plug, form=PINS_FORM,
        help="The side that is fed. Read the board's own print; no order is a standard.",
    ))  # fmt: skip
    to_view: View = ask(ChoiceInput(
        label="Board: seen from", default="mating face", options=VIEWS,
        help="The side you look at when you count from left to right, key upwards.",
    ))  # fmt: skip
    boards: tuple[Board, ...] | None = ask_or_none(RowsInput(
        label="Boards on one break-out", row=Board, highest=12, former={"boards": ""}, rewrite=rewrite_boards,
        help="Every board fed from this source, with its name and pins; seen from the same side as the board "
        "above: “tail; +5V, data, ground”. No row: only the board above.",
    ))  # fmt: skip
    joined: Joined = ask(ChoiceInput(
        label="They are joined", default="directly", options=JOINED,
        help="Directly: one into the other, or by a lead wired straight. Otherwise it is the made-up lead's "
        "plug that is judged.",
    ))  # fmt: skip
    halves: Halves = ask(ChoiceInput(
        label="The two are", default="plugs that look alike", options=HALVES, section="Plugs",
        help="Two of a kind joined by a lead, or two halves that go straight into one another.",
    ))  # fmt: skip
    rows: int = ask(WholeInput(
        label="Rows of contacts", default="1", lowest=1, highest=2, section="Plugs",
        help="With two rows, list the top row from left to right, then the bottom row from left to right.",
    ))  # fmt: skip
    keyed: bool = ask(YesNoInput(
        label="A key stops it going in the wrong way round", default="no", section="Plugs",
        help="Yes only for a key that holds when somebody pushes.",
    ))  # fmt: skip
    shrouded: bool = ask(YesNoInput(
        label="A shroud stops it going in one place off", default="no", section="Plugs",
        help="Bare pin headers have none.",
    ))  # fmt: skip
    rail_voltage: Volt = ask(QuantityInput(
        label="Voltage of pins named “supply”", kind="voltage", unit="V", default="5 V", lowest=1.0,
        highest=60.0,
        usual=(3, 24), section="Voltages", help="For pins marked supply, VCC or V+ without a figure.",
    ))  # fmt: skip
    battery_voltage: Volt = ask(QuantityInput(
        label="Highest battery voltage", kind="voltage", unit="V", default="14.4 V", lowest=1.0, highest=60.0,
        usual=(3, 45),
        section="Voltages",
        help="For pins marked battery, and for what an amplifier's outputs swing up to. Fully charged, on "
        "the charger.",
    ))  # fmt: skip
    signal_level: Volt = ask(QuantityInput(
        label="Level of the source's signals", kind="voltage", unit="V", default="5 V", lowest=1.0,
        highest=24.0,
        usual=(1.8, 5.5), section="Voltages", help="What a signal output gives when it is high.",
    ))  # fmt: skip
    supply_over: Share | None = ask_or_none(QuantityInput(
        label="Supply inputs withstand, above their voltage", kind="fraction", unit="%",
        lowest=0.0, highest=5.0, usual=(0.02, 0.6), section="Voltages",
        help="From the data sheet; a pin's own “max” goes first. Empty, not known: 5 V inputs are taken to "
        "bear 5.3 V, as lights do, and 12 V inputs 16 V, as what runs from a battery does.",
    ))  # fmt: skip
    supply_under: Share = ask(QuantityInput(
        label="Supply inputs work, below their voltage", kind="fraction", unit="%", default="25 %",
        lowest=0.0, highest=0.9, usual=(0.02, 0.6), section="Voltages", help="3.75 V on a 5 V light is 25 %.",
    ))  # fmt: skip
    input_maximum: Volt = ask(QuantityInput(
        label="A board's signal input withstands", kind="voltage", unit="V", default="5.5 V", lowest=0.5,
        highest=60.0, usual=(3, 30), section="Voltages",
        help="Absolute maximum to the board's ground, from the data sheet. A pin's own “max” goes first.",
    ))  # fmt: skip
    controller_maximum: Volt = ask(QuantityInput(
        label="A controller's input withstands", kind="voltage", unit="V", default="5.5 V", lowest=0.5,
        highest=60.0, usual=(3, 15), section="Voltages",
        help="Absolute maximum of a source pin that listens; 3.6 V for most 3.3 V controllers.",
    ))  # fmt: skip
    source_current: Ampere = ask(replace(SOURCE_CURRENT, default="10 A", section="Currents"))
    fuse: Ampere | None = ask_or_none(replace(
        FUSE, label="Fuse of this branch", default="1 A", section="Currents",
        help="Leave empty without one.",
    ))  # fmt: skip
    fuse_kind: str = ask(replace(FUSE_KIND, section="Currents"))
    fuse_breaking: Ampere | None = ask_or_none(replace(FUSE_BREAKING, section="Currents"))
    board_current: Ampere = ask(QuantityInput(
        label="The board draws", kind="current", unit="A", default="500 mA", lowest=1e-6, highest=500.0,
        usual=(0.001, 20),
        section="Currents", help="At its brightest or busiest.",
    ))  # fmt: skip
    signal_current: Ampere = ask(QuantityInput(
        label="A signal output withstands", kind="current", unit="mA", default="40 mA", lowest=1e-6,
        highest=10.0, usual=(0.002, 0.1), section="Currents",
        help="Absolute maximum per pin, from the controller's data sheet.",
    ))  # fmt: skip
    clamp_current: Ampere = ask(QuantityInput(
        label="An input's protection diode withstands", kind="current", unit="mA", default="15 mA",
        lowest=1e-6, highest=10.0, usual=(0.0005, 0.1), section="Currents",
        help="The data sheet calls it injection or clamp current.",
    ))  # fmt: skip
    source_resistor: Ohm = ask(QuantityInput(
        label="Resistor in the source's signal wire", kind="resistance", unit="Ω", default="330 Ω",
        lowest=0.0, highest=1e6,
        usual=(10, 10e3), section="Currents", help="At the controller's pin; 0 without one.",
    ))  # fmt: skip
    input_resistor: Ohm = ask(QuantityInput(
        label="Resistor before the board's input", kind="resistance", unit="Ω", default="0 Ω", lowest=0.0,
        highest=1e6,
        usual=(10, 100e3), section="Currents", help="On the board, behind its pin; 0 without one.",
    ))  # fmt: skip
    pull_up: Ohm = ask(QuantityInput(
        label="Pull-up resistor of a two-wire bus", kind="resistance", unit="kΩ", default="4.7 kΩ",
        lowest=100.0, highest=1e6, usual=(1e3, 100e3), section="Currents",
        help="For SDA and SCL. Each side only pulls these wires down.",
    ))  # fmt: skip
    bus_voltage: Volt | None = ask_or_none(QuantityInput(
        label="The board's pull-ups lead to", kind="voltage", unit="V", lowest=1.0, highest=60.0,
        usual=(1.8, 5.5), section="Voltages", help="Empty: to the lowest supply of the board.",
    ))  # fmt: skip
    lead_gauge: Gauge | None = ask_or_none(GaugeInput(
        label="Wire of the lead", default="22 AWG", section="Lead",
        help="Stranded; judged as wire gauge does. Empty: not judged.",
    ))  # fmt: skip
    lead_length: Metre = ask(replace(
        LEAD_LENGTH, default="30 cm", section="Lead", help="From plug to plug.",
    ))  # fmt: skip
    allowed_drop: Share = ask(QuantityInput(
        label="The lead may lose", kind="fraction", unit="%", default="3 %", lowest=1e-4, highest=0.5,
        usual=(0.005, 0.15), section="Lead",
        help="Of the supply, its contacts included: 3 % for electronics and motors, 10 % for plain lamps.",
    ))  # fmt: skip
    contact_resistance: Ohm = ask(replace(CONTACT_RESISTANCE, section="Lead"))
    contact_rating: Ampere | None = ask_or_none(replace(
        CONTACT_RATING, default="", section="Lead",
        help="From the maker's sheet; 3 A for pins 2.54 mm apart. Empty: the contacts are not judged.",
    ))  # fmt: skip
    lead_resistance: Ohm | None = ask_or_none(QuantityInput(
        label="One wire of the lead, with its contacts", kind="resistance", unit="Ω",
        lowest=0.001, highest=10.0, usual=(0.005, 2), section="Lead",
        help="As measured; limits a short circuit. Empty: reckoned of wire, length and contacts.",
    ))  # fmt: skip

    def __post_init__(self) -> None:
        """Refuse plugs that do not fill the rows, and two boards of one name; raises InputError."""
        odd = "pins do not fill two rows; name the missing one “-”, or set one row"
        for field, plug in (("from_pins", self.from_pins), ("to_pins", self.to_pins)):
            if len(plug.pins) % self.rows:
                raise InputError(field, f"{len(plug.pins)} {odd}")
        boards = self.boards or ()
        for number, board in enumerate(boards, 1):
            if len(board.pins.pins) % self.rows:
                raise refuse_cell("boards", number, "pins", f"{len(board.pins.pins)} {odd}")
            if any(other.name == board.name for other in boards[: number - 1]):
                raise refuse_cell("boards", number, "name", f"“{board.name}” stands twice; give each its own")
