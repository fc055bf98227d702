"""Inputs made from the declarations, the same on every run: what both Pythons are asked in the comparison."""

import random
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from calculators.forms.calculator import Calculator
from calculators.forms.fields import (
    ChoiceInput,
    GaugeInput,
    Input,
    QuantityInput,
    WholeInput,
    YesNoInput,
)
from calculators.notation.quantity import find_meanings
from calculators.notation.units import UNITS

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

_TOGETHER: Mapping[str, tuple[str, ...]] = {
    "pin-order": ("rows", "from_pins", "to_pins", "boards"),
}
"""Fields that say something only together: one of them alone would be refused."""


def make_inputs(calculator: Calculator, count: int) -> Iterator[dict[str, str]]:
    """Yield `count` sets of field texts: up to four fields off their defaults, and what these need."""
    # A fixed seed per calculator: a failing set can be asked again.
    source = random.Random(calculator.slug)
    for _ in range(count):
        chosen = {
            item.name: item
            for item in source.sample(calculator.inputs, k=source.randint(1, min(4, len(calculator.inputs))))
        }
        group = _TOGETHER.get(calculator.slug, ())
        if chosen.keys() & group:
            chosen |= {name: calculator.fields[name] for name in group}
        yield {
            name: ""
            if item.optional and name not in group and source.random() < 0.2
            else _make_text(calculator.slug, item, source)
            for name, item in chosen.items()
        }


def _make_text(slug: str, item: Input[Any], source: random.Random) -> str:
    if isinstance(item, QuantityInput):
        return _make_quantity(item, source)
    if isinstance(item, WholeInput):
        return str(source.randint(item.lowest, min(item.highest, max(item.lowest, 300))))
    if isinstance(item, ChoiceInput):
        return str(source.choice(item.options))
    if isinstance(item, YesNoInput):
        return source.choice(("yes", "no"))
    if isinstance(item, GaugeInput):
        return source.choice(GAUGES)
    if (slug, item.name) in _TEXTS:
        return _TEXTS[slug, item.name](source)
    raise TypeError(f"{slug}.{item.name}: say here how texts for a {type(item).__name__} are made")


def _make_quantity(item: QuantityInput, source: random.Random) -> str:
    low, high = item.usual or (item.lowest, item.highest)
    low = max(low, item.lowest, -1e3)
    high = min(high, item.highest, 1e6)
    value = low + (high - low) * source.random() ** 3
    units = [unit for unit in UNITS if unit.kind == item.kind and unit.symbol]
    if not units:
        return _write_figure(value, 4)
    unit = source.choice(units)
    number = _write_figure((value - unit.offset) / unit.factor, 5)
    return f"{number.replace('.', source.choice('.,'))} {unit.symbol}" if "," not in number else number


def _write_figure(value: float, figures: int) -> str:
    number = f"{value:.{figures}g}"
    # Without a nought more, three decimals are asked back.
    return f"{number}0" if find_meanings(number.lstrip("-")) else number


def _join(source: random.Random, words: tuple[str, ...], most: int, sign: str) -> str:
    return sign.join(source.choice(words) for _ in range(source.randint(1, most)))


def _make_network(source: random.Random) -> str:
    # The names that other fields speak of are always there.
    def branch(names: list[str]) -> str:
        if not names:
            return source.choice(("4", "8", "8", "16", "4R7", "6 ohm"))
        if len(names) == 1 and source.random() < 0.8:
            return f"{names[0]}:{branch([])}"
        source.shuffle(names)
        cut = source.randint(0, len(names) - 1)
        sign = source.choice((" + ", " || "))
        return f"({branch(names[:cut])}{sign}{branch(names[cut:])})"

    return branch(["left", "right", "shaker"])


def _make_speaker(source: random.Random, name: str) -> str:
    known = f"{name}; {source.randint(3, 80)} W; {source.randint(78, 98)} dB"
    coil = f"{source.uniform(2.5, 3.9):.3g}; {source.uniform(0.05, 1.5):.2g} mH; {source.randint(25, 90)} Hz"
    losses = f"{source.uniform(0.5, 9):.3g}; {source.uniform(0.2, 3):.2g}"
    return source.choice((name, known, f"{known}; {coil}; {losses}"))


def _make_pins(source: random.Random) -> str:
    roles = ("signal", "+5V", "ground", "data", "clock", "+12V", "-", "data out")
    return ", ".join(source.choice(roles) for _ in range(source.choice((2, 3, 4, 4, 6))))


_TEXTS: Mapping[tuple[str, str], _Maker] = {
    ("speaker-load", "network"): _make_network,
    ("speaker-load", "speakers"): lambda source: "\n".join(
        _make_speaker(source, name) for name in ("all", "left", "shaker")[: source.randint(1, 3)]
    ),
    ("wire-gauge", "insulation"): lambda source: source.choice(("pvc", "silicone", "105 °C", "80")),
    ("wire-gauge", "allowed_drop"): lambda source: source.choice(("3 %", "10 %", "0.4 V", "150 mV", "5")),
    ("led-current", "feed"): lambda source: source.choice(
        ("one end", "both ends", "middle", "every 20", "every 7")
    ),
    ("led-current", "colour"): lambda source: source.choice(("white", "30 %", "255/120/0", "0/0/40")),
    ("led-current", "own_frames"): lambda source: (
        f"{source.randint(1, 60)}, white\n{source.randint(1, 60)}, 255/120/0, 9\n, 20 %"
    ),
    ("pin-order", "from_pins"): _make_pins,
    ("pin-order", "to_pins"): _make_pins,
    ("pin-order", "boards"): lambda source: f"one; {_make_pins(source)}\ntwo; {_make_pins(source)}",
}
