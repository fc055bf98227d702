"""The only place that reads notation: text such as `500 mA`, `4R7` or `2 ft 3 in` becomes an SI number.

RKM code as in IEC 60062. A decimal comma is read; what can mean two things, as a comma or a point that could
also group thousands, is asked back with both.
"""

import math
import re
import unicodedata

from calculators.notation.errors import NotationError
from calculators.notation.units import KINDS, Unit, find_kinds, find_unit, list_meanings, list_units

LONGEST_TEXT = 60
"""More characters than any quantity needs; a longer text is a slip of the clipboard."""

SMALLEST = 1e-15
"""In the coherent SI unit: less than this, and not nothing, is no figure of a workbench but a slip."""

_SYMBOLS = "µΩ°²Δ"
_SAME_CHARACTER = str.maketrans(
    {
        "\u03bc": "µ",
        "\u2126": "Ω",
        "\u03a9": "Ω",
        "\u00a0": " ",
        "\u202f": " ",
        "\u2009": " ",
        "\u2033": '"',
        "\u2032": "'",
        "\u201d": '"',
        "\u2019": "'",
    }
)

_NUMBER = r"(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?"
_PLAIN = re.compile(rf"(?P<sign>[+-]?)\s*(?P<number>{_NUMBER})\s*(?P<unit>.*)", re.DOTALL)
_FRACTION = re.compile(
    r"(?P<sign>[+-]?)\s*(?:(?P<whole>\d+)(?:\s+|-|\s+and\s+))?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)"
    r"\s*(?:(?:of )?an?\s+)?(?P<unit>.*)"
)
_PART = re.compile(r"(?:an?\s+)?(?P<word>half|quarter)[\s-]+(?:of\s+)?(?:an?\s+)?", re.IGNORECASE)
_PARTS = {"half": "1/2 ", "quarter": "1/4 "}

_HIGH = rf"(?P<sign>[+-]?)\s*(?P<high>{_NUMBER})\s*"
_AND = r"\s*,?\s*(?:and\s+)?"
_PAIRS = tuple(
    (greater, smaller, re.compile(_HIGH + rest, re.IGNORECASE))
    for greater, smaller, rest in (
        (
            "ft", "in",
            rf"(?:ft\.?|feet|foot|')(?:{_AND}|-)(?P<low>(?:\d+[\s-]+)?\d+\s*/\s*\d+|{_NUMBER}(?=\s*(?:in|\"|''))|1[01]|\d)"
            r"\s*(?:in\.?|inch|inches|ins|\"|'')?",
        ),
        (
            "h", "min",
            rf"(?:h|hrs?|hours?){_AND}(?P<low>{_NUMBER}(?=\s*m)|[0-5]\d)\s*(?:m|mins?|minutes?)?",
        ),
        ("min", "s", rf"m(?:ins?|inutes?)?{_AND}(?P<low>{_NUMBER})\s*(?:s|secs?|seconds?)"),
    )
)  # fmt: skip
"""The greater and the smaller unit of what is said in two figures, and how it is written."""

_CLOCK = re.compile(r"(?P<high>\d{1,3}):(?P<low>[0-5]\d)\s*(?P<unit>.*)")
_GROUPED = re.compile(r"[1-9]\d{0,2}[.,]\d{3}")
_RKM = re.compile(r"(?P<whole>\d*)(?P<letter>[RrKkMGpnuµm])(?P<part>\d+)")
_POINT = re.compile(r"(?P<sign>[+-]?)(?P<whole>\d+)(?P<unit>[VvA])(?P<part>\d+)")
"""The unit in the place of the point, as circuit diagrams and fuses have it: 3V3, 3A15."""

_RKM_RESISTANCE = {"R": 1.0, "r": 1.0, "k": 1e3, "K": 1e3, "M": 1e6, "G": 1e9}
_RKM_CAPACITANCE = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "µ": 1e-6, "m": 1e-3}


def check_characters(text: str) -> str:
    """Return `text` trimmed, with equal-looking unit signs made one.

    Raises NotationError for empty or absurdly long text and for any character that only looks like the
    one meant (full-width digits, Cyrillic letters, typographic minus signs and the like).
    """
    if len(text) > LONGEST_TEXT:
        raise NotationError(
            f"this is {len(text)} characters long; give one figure of at most {LONGEST_TEXT} characters"
        )
    cleaned = text.translate(_SAME_CHARACTER).strip()
    if not cleaned:
        raise NotationError("nothing is entered; give a figure")
    for character in cleaned:
        if (ord(character) > 126 and character not in _SYMBOLS) or ord(character) < 32:
            name = unicodedata.name(character, "a control character").lower()
            raise NotationError(
                f"the character “{character}” ({name}, U+{ord(character):04X}) is not read here; "
                "type plain digits, a plain minus sign and plain letters"
            )
    return cleaned


def find_meanings(text: str) -> tuple[str, str] | None:
    """Return both readings of a number whose mark can group thousands or set off decimals; None for others.

    Either is written as it can be typed: with other than three digits after the point, 1,500 is 1500 or 1.5,
    and 1.234 is 1234 or 1.2340.
    """
    if not _GROUPED.fullmatch(text):
        return None
    left, right = re.split("[.,]", text)
    decimals = f"{right}0" if right[-1] != "0" else right.rstrip("0") or "0"
    return f"{left}{right}", f"{left}.{decimals}"


def read_number(text: str) -> float:
    """Read a bare decimal number, with a point or a comma; raises NotationError for anything else."""
    readings = find_meanings(text)
    if readings is not None:
        whole, broken = readings
        raise NotationError(f"“{text}” can mean {whole} or {broken}; write {whole} or {broken}")
    if text.count(",") + text.count(".") > 1:
        raise NotationError(f"“{text}” has more than one decimal sign; write it without grouping the digits")
    value = float(text.replace(",", "."))
    if not math.isfinite(value):
        raise NotationError(f"“{text}” is larger than any figure here can be")
    return value


def read_quantity(text: str, kind: str, unit: str) -> float:
    """Read `text` as a quantity of `kind` (a key of KINDS) and return it in the coherent SI unit.

    A bare number takes `unit`. Raises NotationError, with a sentence that says what was found and what
    is allowed, for everything else.
    """
    cleaned = check_characters(text)
    if cleaned.lower().lstrip("+-") in ("inf", "infinity", "nan"):
        raise NotationError(f"“{cleaned}” is not a figure; give a finite number, such as 12 {unit}".rstrip())
    (value,) = (
        _read_pair(cleaned, kind)
        or _read_clock(cleaned, kind)
        or _read_fraction(cleaned, kind, unit)
        or _read_rkm(cleaned, kind)
        or _read_point(cleaned, kind)
        or _read_plain(cleaned, kind, unit)
    )
    if not math.isfinite(value):
        raise NotationError(f"“{cleaned}” is larger than any figure here can be")
    if 0 < abs(value) < SMALLEST:
        raise NotationError(f"“{cleaned}” is smaller than any figure here can be; write 0 for nothing at all")
    return value


# Each reader returns a tuple of one value, so that a value of zero is not taken for "does not apply".
type _Found = tuple[float] | None


def _read_pair(text: str, kind: str) -> _Found:
    for greater, smaller, pattern in _PAIRS:
        match = pattern.fullmatch(text)
        if match is not None:
            factor = _require_unit(kind, greater, text).factor
            (low,) = _read_fraction(match["low"], kind, smaller) or _read_plain(match["low"], kind, smaller)
            value = read_number(match["high"]) * factor + low
            return (-value if match["sign"] == "-" else value,)
    return None


def _read_clock(text: str, kind: str) -> _Found:
    match = _CLOCK.fullmatch(text)
    if match is None or kind != "time":
        return None
    if not match["unit"]:
        first, second = (
            f"{match['high']} {high} {match['low']} {low}" for high, low in (("h", "min"), ("min", "s"))
        )
        raise NotationError(f"“{text}” can mean {first} or {second}; write {first} or {second}")
    return (_convert(int(match["high"]) + int(match["low"]) / 60, kind, match["unit"], text),)


def _write_part(match: re.Match[str]) -> str:
    return _PARTS[match["word"].lower()] if match.start() == 0 else match[0]


def _read_fraction(text: str, kind: str, unit: str) -> _Found:
    match = _FRACTION.fullmatch(_PART.sub(_write_part, text, count=1))
    if match is None:
        return None
    if int(match["bottom"]) == 0:
        raise NotationError(f"“{text}” divides by zero")
    value = int(match["whole"] or 0) + int(match["top"]) / int(match["bottom"])
    return (_convert(-value if match["sign"] == "-" else value, kind, match["unit"].strip() or unit, text),)


def _read_rkm(text: str, kind: str) -> _Found:
    body = text
    for ending in ("Ω", "ohms", "ohm", "F"):
        body = body.removesuffix(ending).rstrip()
    match = _RKM.fullmatch(body)
    if match is None:
        return None
    letter = match["letter"]
    for code, code_kind in ((_RKM_RESISTANCE, "resistance"), (_RKM_CAPACITANCE, "capacitance")):
        if letter in code and kind == code_kind:
            return (float(f"{match['whole'] or 0}.{match['part']}") * code[letter],)
        if letter in code and kind not in ("resistance", "capacitance"):
            wanted = ", ".join(list_units(kind)) or "no unit"
            raise NotationError(
                f"“{text}” is {KINDS[code_kind].name} (IEC 60062 code), "
                f"but {KINDS[kind].name} is asked for (in {wanted})"
            )
    return None


def _read_point(text: str, kind: str) -> _Found:
    match = _POINT.fullmatch(text)
    if match is None:
        return None
    return (_convert(float(f"{match['sign']}{match['whole']}.{match['part']}"), kind, match["unit"], text),)


def _read_plain(text: str, kind: str, unit: str) -> tuple[float]:
    match = _PLAIN.fullmatch(text)
    if match is None:
        raise NotationError(
            f"“{text}” does not begin with a number; give {KINDS[kind].name}, such as 12 {unit}".rstrip()
        )
    rest = match["unit"].strip()
    if rest[:1] in (",", "."):
        raise NotationError(f"“{text}” has more than one decimal sign; write it without grouping the digits")
    if re.match(r"\d", rest):
        raise NotationError(f"“{text}” has a gap inside the number; write the digits together")
    value = read_number(match["number"])
    return (_convert(-value if match["sign"] == "-" else value, kind, rest or unit, text),)


def _convert(value: float, kind: str, spelling: str, text: str) -> float:
    if not spelling and not list_units(kind):
        return value
    unit = _require_unit(kind, spelling, text)
    # Dividing by a whole number keeps figures such as 20 mA at the float nearest to 0.02.
    inverse = 1.0 / unit.factor
    scaled = (
        value / round(inverse)
        if inverse >= 10 and abs(inverse - round(inverse)) < 1e-6
        else value * unit.factor
    )
    # What moving the zero point leaves behind is swept up: −459.67 °F is −273.15 °C, and not below it.
    return round(scaled + unit.offset, 12) if unit.offset else scaled + 0.0


def _require_unit(kind: str, spelling: str, text: str) -> Unit:
    spelling = re.sub(r"\s+", " ", spelling)
    unit = find_unit(kind, spelling)
    if unit is not None:
        return unit
    wanted = ", ".join(list_units(kind)) or "no unit"
    others = find_kinds(spelling)
    if others:
        raise NotationError(
            f"“{text}” is {KINDS[others[0]].name}, but {KINDS[kind].name} is asked for (in {wanted})"
        )
    meanings = list_meanings(kind, spelling)
    if len(meanings) > 1:
        number = text.removesuffix(spelling).strip()
        both = " or ".join(f"{number} {symbol}" for symbol in meanings)
        raise NotationError(f"“{text}” can mean {both}; write {both}")
    # Phones write a capital first: “500 Ma” may be meant as mA, and a guess is offered, never taken.
    hint = f"did you mean “{meanings[0]}”? " if meanings else ""
    raise NotationError(
        f"“{spelling}” in “{text}” is not a unit of {KINDS[kind].name}; {hint}allowed: {wanted}"
    )
