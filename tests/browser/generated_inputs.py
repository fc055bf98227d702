"""Inputs made from the declarations, the same on every run: what both Pythons are asked in the comparison."""

import random
from collections.abc import Callable, Iterator, Mapping

from calculators.vocabulary.declaration import (
    Calculator,
    ChoiceInput,
    GaugeInput,
    Input,
    QuantityInput,
    TextInput,
    WholeInput,
    YesNoInput,
)
from calculators.vocabulary.units import UNITS

GAUGES = (
    "10 AWG",
    "14 AWG",
    "18 AWG",
    "22",
    "24 awg",
    "28 AWG",
    "0.5 mm2",
    "0.75 mm²",
    "1,5 mm2",
    "2.5 mm2",
    "4/0",
)

type _Maker = Callable[[random.Random], str]


def make_inputs(calculator: Calculator, count: int) -> Iterator[dict[str, str]]:
    """Yield `count` sets of field texts; each changes up to four fields of the default."""
    # A fixed seed per calculator: a failing set can be asked again.
    source = random.Random(calculator.slug)
    for _ in range(count):
        chosen = source.sample(calculator.inputs, k=source.randint(1, 4))
        yield {item.name: _make_text(calculator.slug, item, source) for item in chosen}


def _make_text(slug: str, item: Input, source: random.Random) -> str:
    if item.optional and source.random() < 0.2:
        return ""
    if isinstance(item, QuantityInput):
        return _make_quantity(item, source)
    if isinstance(item, WholeInput):
        return str(source.randint(item.lowest, min(item.highest, max(item.lowest, 300))))
    if isinstance(item, ChoiceInput):
        return source.choice(item.options)
    if isinstance(item, YesNoInput):
        return source.choice(("yes", "no"))
    if isinstance(item, GaugeInput):
        return source.choice(GAUGES)
    if isinstance(item, TextInput):
        return _TEXTS[slug, item.name](source)
    raise TypeError(f"{slug}.{item.name}: say here how texts for a {type(item).__name__} are made")


def _make_quantity(item: QuantityInput, source: random.Random) -> str:
    low, high = item.usual or (item.lowest, item.highest)
    low = max(low, item.lowest, -1e3)
    high = min(high, item.highest, 1e6)
    value = low + (high - low) * source.random() ** 3
    units = [unit for unit in UNITS if unit.kind == item.kind and unit.symbol]
    if not units:
        return f"{value:.4g}"
    unit = source.choice(units)
    number = f"{(value - unit.offset) / unit.factor:.5g}"
    return f"{number.replace('.', source.choice('.,'))} {unit.symbol}" if "," not in number else number


def _join(source: random.Random, words: tuple[str, ...], most: int, sign: str) -> str:
    return sign.join(source.choice(words) for _ in range(source.randint(1, most)))


def _make_network(source: random.Random) -> str:
    def branch(depth: int) -> str:
        if depth == 0 or source.random() < 0.45:
            return source.choice(("4", "8", "8", "16", "4R7", "6 ohm"))
        sign = source.choice((" + ", " || "))
        return "(" + sign.join(branch(depth - 1) for _ in range(source.randint(2, 3))) + ")"

    return branch(2)


def _make_pins(source: random.Random) -> str:
    roles = ("signal", "+5V", "ground", "data", "clock", "+12V", "-", "data out")
    return ", ".join(source.choice(roles) for _ in range(source.randint(2, 5)))


_TEXTS: Mapping[tuple[str, str], _Maker] = {
    ("speaker-load", "network"): _make_network,
    ("speaker-load", "rating"): lambda source: f"{source.randint(3, 80)} W",
    ("speaker-load", "sensitivity"): lambda source: f"{source.randint(78, 98)} dB",
    ("speaker-load", "driver_of"): lambda source: source.choice(("left", "right", "shaker", "left, right")),
    ("speaker-load", "other_drivers"): lambda source: "",
    ("wire-gauge", "insulation"): lambda source: source.choice(("pvc", "silicone", "105 °C", "80")),
    ("wire-gauge", "allowed_drop"): lambda source: source.choice(("3 %", "10 %", "0.4 V", "150 mV", "5")),
    ("led-current", "feed"): lambda source: source.choice(
        ("one end", "both ends", "middle", "every 20", "every 7")
    ),
    ("led-current", "colour"): lambda source: source.choice(("white", "red", "255/120/0", "0/0/40")),
    ("led-current", "own_frames"): lambda source: (
        f"{source.randint(1, 60)}: white; {source.randint(1, 60)}: 255/120/0"
    ),
    ("pin-order", "from_pins"): _make_pins,
    ("pin-order", "to_pins"): _make_pins,
    ("pin-order", "boards"): lambda source: f"one: {_make_pins(source)}; two: {_make_pins(source)}",
}
