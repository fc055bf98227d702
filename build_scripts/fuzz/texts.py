"""Makes texts for fields out of the calculators' declarations: usual, at the limits, hostile."""

import math
import re
from collections.abc import Sequence
from functools import lru_cache
from random import Random
from typing import Any

from calculators.forms.calculator import Calculator
from calculators.forms.fields import ChoiceInput, GaugeInput, Input, QuantityInput, WholeInput, YesNoInput
from calculators.forms.rows import RowsInput
from calculators.notation.gauge import AWG_NUMBERS, METRIC_SIZES
from calculators.notation.units import UNITS, Unit, find_unit, list_units

NUMBERS = (
    *("0", "-0", "1", "-1", "0.1", "0,5", ".5", "5.", "007", "1/3", "1 1/2", "3/0", "1e3", "1E-3", "1e+2"),
    *("5e-324", "2e-25", "1e-15", "9.9e-16", "1e308", "1.8e308", "1e400", "-1e400", "nan", "inf", "-inf"),
    *("1,500", "1.500", "10.500", "0.500", "0,125", "1,234,567", "1 500", "2.5.1", "19.999999999999996"),
    *("4R7", "2k2", "k47", "4n7", "1M", "2 ft 3 in", "1' 2\"", "1 ft 2 m in", "1 ft 1/0 in"),
    *("9" * 60, "9" * 61, "9" * 5000, "0." + "0" * 57 + "1", "1e" + "9" * 40, "0x1F", "1_000"),
)
SIGNS = (
    *(
        "",
        " ",
        "  ",
        "\t",
        "\n",
        "\r\n",
        "\x00",
        "\x0b",
        "\x1b",
        "\x7f",
        "\x85",
        "\u00a0",
        "\u2028",
        "\ufeff",
    ),
    *("\u200b", "\u200d", "\u202e", "\u2066", "\u00ad", "\U000e0041", "\ufffe", "\ud800", "e\u0301", "😀"),
    *("５", "٥", "५", "²", "½", "∞", "−", "–", "×", "‖", "μ", "Ω", "Ω", "K", "А", "Α", "ﬁ", "İ", "ß"),
    *("<", ">", "&", '"', "'", "`", "{", "}", "{0}", "%s", "${1}", "\\", "=", "#", ";", ":", ",", "|", "||"),
    *("+", "-", "*", "/", "//", "(", ")", "((((", "_", "~", "@", "!", "?", ".", "..", "&amp;", "&#x3c;"),
    *(
        "<script>alert(1)</script>",
        '"><img src=x onerror=alert(1)>',
        "</script>",
        "</textarea>",
        "<!--",
        "]]>",
    ),
    *("javascript:alert(1)", "x" * 500, "8 + " * 200, "(" * 300, "left:8 || " * 40, "null", "../../etc"),
)
"""What is put into texts at any place."""

_WORD = re.compile(r"[A-Za-z]+|\d+(?:[.,]\d+)?|\s+|.", re.DOTALL)
_MOST_FIELDS = 5
_MOST_ROWS = 4
"""More than the fewest, but for a few tables that are as long as can be."""


def draw_fields(calculator: Calculator, random: Random, hostility: float) -> dict[str, str]:
    """Return texts for some fields, or for all of one section: such as say something only together.

    `hostility` is each text's chance to be none that a person would type.
    """
    inputs: Sequence[Input[Any]] = calculator.inputs
    if random.random() < 0.3:
        section = random.choice(inputs).section
        chosen = [item for item in inputs if item.section == section]
    else:
        chosen = random.sample(inputs, random.randint(0, min(_MOST_FIELDS, len(inputs))))
    return {
        item.name: draw_hostile(calculator, item, random)
        if random.random() < hostility
        else draw_text(calculator, item, random)
        for item in chosen
    }


def draw_text(calculator: Calculator, item: Input[Any], random: Random) -> str:
    """Return a text that the field can nearly always use."""
    if item.optional and random.random() < 0.1:
        return ""
    match item:
        case QuantityInput():
            return _draw_quantity(item, random)
        case WholeInput():
            return str(random.choice((item.lowest, item.highest, random.randint(item.lowest, item.highest))))
        case ChoiceInput():
            return str(random.choice(item.options))
        case YesNoInput():
            return random.choice(("yes", "no"))
        case GaugeInput():
            return random.choice(
                (
                    f"{random.choice(AWG_NUMBERS)} AWG",
                    f"{random.choice(METRIC_SIZES)} mm2",
                    "4/0",
                    "0.001 mm2",
                )
            )
        case RowsInput():
            return _draw_rows(calculator, item, random)
        case _:
            text = random.choice(_list_samples(calculator, item))
            return _change_numbers(text, random) if random.random() < 0.7 else text


def draw_hostile(calculator: Calculator, item: Input[Any], random: Random) -> str:
    """Return a text that breaks what can be broken: signs, lengths, numbers out of range."""
    if random.random() < 0.3:
        unit = random.choice(("", " ", random.choice(UNITS).symbol))
        return random.choice(NUMBERS) + unit
    words = _WORD.findall(draw_text(calculator, item, random)) or [""]
    for _ in range(random.randint(1, 3)):
        index = random.randrange(len(words))
        match random.randrange(6):
            case 0:
                words.insert(index, random.choice(SIGNS))
            case 1:
                words[index] = random.choice(SIGNS)
            case 2:
                words[index] = random.choice(NUMBERS)
            case 3:
                words[index] *= random.choice((0, 2, 30))
            case 4:
                words.insert(index, random.choice(words))
            case _:
                words[index] = chr(random.choice((random.randrange(0x250), random.randrange(0x11000))))
    return "".join(words)


def _draw_rows(calculator: Calculator, item: RowsInput[Any], random: Random) -> str:
    most = item.highest if random.random() < 0.02 else min(item.highest, item.lowest + _MOST_ROWS)
    number = random.choice((item.lowest, most, random.randint(item.lowest, most)))
    rows = [[draw_text(calculator, column, random) for column in item.columns] for _ in range(number)]
    if random.random() < 0.3:
        rows.insert(0, [random.choice((column.name, column.label)) for column in item.columns])
    # Without quotation marks a cell may come apart: that is tried as well.
    sign = random.choice((",", ",", ";", "\t"))
    return item.write_rows(rows) if sign == "," else "\n".join(map(sign.join, rows))


def _draw_quantity(item: QuantityInput, random: Random) -> str:
    low, high = max(item.lowest, -1e3), min(item.highest, 1e9)
    match random.randrange(8):
        case 0:
            value = random.choice((low, high))
        case 1:
            value = random.choice((math.nextafter(low, high), math.nextafter(high, low), low + 1e-15))
        case 2:
            # Over all orders of magnitude.
            value = max(low, high * 10 ** -(random.choice((3, 15, 320)) * random.random()))
        case 3 | 4:
            value = low + (high - low) * random.random()
        case _:
            least, most = item.usual or (low, high)
            value = least + (most - least) * random.random()
    units = [unit for symbol in list_units(item.kind) if (unit := find_unit(item.kind, symbol))]
    unit = random.choice((None, *units)) or find_unit(item.kind, item.unit)
    return _write(value, unit, random)


def _write(value: float, unit: Unit | None, random: Random) -> str:
    number = (value - unit.offset) / unit.factor if unit else value
    text = random.choice((repr(number), f"{number:.4g}", f"{number:.9f}"))
    return f"{text.replace('.', random.choice('.,'))} {unit.symbol}" if unit else text


@lru_cache(maxsize=256)
def _list_samples(calculator: Calculator, item: Input[Any]) -> tuple[str, ...]:
    """Return texts that the declaration shows: default, example, and the samples in its sentences."""
    quoted = re.findall(r"“([^”]+)”", f"{getattr(item, 'form', '')} {item.help}")
    after = re.findall(r"(?:such as|By name:|or|:) ([^;.:]+)", f"{getattr(item, 'form', '')}; {item.help}")
    ranged = re.findall(r"\d[\d.]*", getattr(item, "form", ""))
    found = (item.default, calculator.example.get(item.name, ""), *quoted, *after, *ranged)
    return tuple(dict.fromkeys(text for text in found if text)) or ("1",)


def _change_numbers(text: str, random: Random) -> str:
    def change(found: re.Match[str]) -> str:
        if random.random() < 0.5:
            return found[0]
        return random.choice(
            ("0", "1", "2", "16", "255", "0.5", str(random.randint(0, 999)), f"{random.random():.2g}")
        )

    return re.sub(r"\d+(?:\.\d+)?", change, text)
