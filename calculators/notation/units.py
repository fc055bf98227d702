"""The units the handbook reads and shows, as one table of frozen rows.

Factors are exact by definition (SI Brochure, 9th edition; inch and foot: international yard and pound
agreement of 1959; circular mil: the area of a circle one thousandth of an inch across). The tests check
every row against an independent units library.
"""

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Literal

type System = Literal["metric", "imperial"]
"""How results are shown; both systems are always accepted as input."""

INCH = 0.0254
FOOT = 0.3048
CIRCULAR_MIL = math.pi / 4 * (INCH / 1000) * (INCH / 1000)


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: `symbol` as shown, the `kind` of quantity, `factor` and `offset` to the coherent SI unit.

    value in SI = value in this unit * factor + offset. `aliases` are other spellings that are read.
    """

    symbol: str
    kind: str
    factor: float
    aliases: tuple[str, ...] = ()
    offset: float = 0.0


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of quantity: its `name` for people, SI unit, and the units results are shown in.

    `metric` and `imperial` list symbols from small to large; the largest that leaves at least one whole
    unit is used.
    """

    name: str
    si: str
    metric: tuple[str, ...]
    imperial: tuple[str, ...] = ()


def _name_degrees(letter: str, word: str) -> Iterator[str]:
    return (f"{degrees} {name}" for degrees in ("°", "deg", "degrees") for name in (letter, word))


KINDS: dict[str, Kind] = {
    "voltage": Kind("a voltage", "V", ("mV", "V")),
    "current": Kind("a current", "A", ("µA", "mA", "A")),
    "resistance": Kind("a resistance", "ohm", ("mΩ", "Ω", "kΩ", "MΩ")),
    "power": Kind("a power", "W", ("mW", "W", "kW")),
    "length": Kind("a length", "m", ("mm", "m"), ("in", "ft")),
    "diameter": Kind("a diameter", "m", ("mm",), ("in",)),
    "area": Kind("an area", "m2", ("mm²",), ("cmil",)),
    "temperature": Kind("a temperature", "degC", ("°C",), ("°F",)),
    "temperature difference": Kind("a temperature difference", "K", ("K",), ("Δ°F",)),
    "time": Kind("a time", "s", ("µs", "ms", "s", "min", "h")),
    "frequency": Kind("a frequency", "Hz", ("Hz", "kHz", "MHz")),
    "fraction": Kind("a share", "1", ("%",)),
    "charge": Kind("a charge", "C", ("mA h", "A h")),
    "capacitance": Kind("a capacitance", "F", ("pF", "nF", "µF", "mF")),
    "inductance": Kind("an inductance", "H", ("µH", "mH", "H")),
    "level": Kind("a level", "dB", ("dB",)),
    "resistance per length": Kind("a resistance per length", "ohm/m", ("mΩ/m", "Ω/m"), ("Ω/1000 ft",)),
    "resistance per kilometre": Kind("a resistance per kilometre", "ohm/km", ("Ω/km",), ("Ω/1000 ft",)),
    "power per length": Kind("a heat per length", "W/m", ("W/m",), ("W/ft",)),
    "percent": Kind("a percentage", "%", ("%",)),
    "memory": Kind("a memory size", "B", ("B",)),
    "number": Kind("a number", "1", ("",)),
}

UNITS: tuple[Unit, ...] = (
    Unit("V", "voltage", 1.0, ("v", "volt", "volts")),
    Unit("mV", "voltage", 1e-3, ("millivolt", "millivolts")),
    Unit("kV", "voltage", 1e3),
    Unit("A", "current", 1.0, ("a", "amp", "amps", "ampere", "amperes")),
    Unit("mA", "current", 1e-3, ("ma", "milliamp", "milliamps", "milliampere", "milliamperes")),
    Unit("µA", "current", 1e-6, ("uA", "microamp", "microamps")),
    Unit("Ω", "resistance", 1.0, ("ohm", "ohms", "Ohm", "Ohms", "R", "r")),
    Unit("mΩ", "resistance", 1e-3, ("mohm", "mohms", "mOhm", "mOhms", "milliohm", "milliohms")),
    Unit("kΩ", "resistance", 1e3, ("kohm", "kohms", "kOhm", "k", "K", "kilohm", "kilohms")),
    Unit("MΩ", "resistance", 1e6, ("Mohm", "Mohms", "MOhm", "M", "megohm", "megohms")),
    Unit("W", "power", 1.0, ("w", "watt", "watts")),
    Unit("mW", "power", 1e-3, ("milliwatt", "milliwatts")),
    Unit("kW", "power", 1e3, ("kilowatt", "kilowatts")),
    Unit("m", "length", 1.0, ("metre", "metres", "meter", "meters")),
    Unit("mm", "length", 1e-3, ("millimetre", "millimetres", "millimeter", "millimeters")),
    Unit("cm", "length", 1e-2, ("centimetre", "centimetres", "centimeter", "centimeters")),
    Unit("km", "length", 1e3),
    Unit("in", "length", INCH, ('"', "''", "inch", "inches", "ins")),
    Unit("ft", "length", FOOT, ("'", "foot", "feet")),
    Unit(
        "mm²",
        "area",
        1e-6,
        (
            "mm2",
            "mm^2",
            "sqmm",
            "sq mm",
            "mm sq",
            "qmm",
            "square mm",
            "square millimetres",
            "square millimeters",
        ),
    ),
    Unit("cm²", "area", 1e-4, ("cm2", "cm^2")),
    Unit("m²", "area", 1.0, ("m2", "m^2")),
    Unit("cmil", "area", CIRCULAR_MIL, ("circ mil", "circmil")),
    Unit("kcmil", "area", 1000 * CIRCULAR_MIL),
    Unit("°C", "temperature", 1.0, ("degC", "C", "c", "celsius", *_name_degrees("C", "celsius"))),
    Unit(
        "°F",
        "temperature",
        5 / 9,
        ("degF", "F", "f", "fahrenheit", *_name_degrees("F", "fahrenheit")),
        -160 / 9,
    ),
    Unit("K", "temperature", 1.0, ("kelvin",), -273.15),
    Unit("K", "temperature difference", 1.0, ("kelvin", "°C", "degC")),
    Unit("Δ°F", "temperature difference", 5 / 9, ("°F", "degF")),
    Unit("s", "time", 1.0, ("sec", "secs", "second", "seconds")),
    Unit("ms", "time", 1e-3, ("msec", "millisecond", "milliseconds")),
    Unit("µs", "time", 1e-6, ("us", "usec", "µsec", "microsecond", "microseconds")),
    Unit("min", "time", 60.0, ("mins", "minute", "minutes")),
    Unit("h", "time", 3600.0, ("hour", "hours", "hr", "hrs")),
    Unit("Hz", "frequency", 1.0, ("hz", "HZ", "hertz", "fps", "frames/s", "frames/second")),
    Unit("kHz", "frequency", 1e3, ("khz", "kilohertz", "kbit/s", "kbps")),
    Unit("MHz", "frequency", 1e6, ("megahertz", "Mbit/s", "Mbps")),
    Unit("%", "fraction", 1e-2, ("percent", "per cent", "pct")),
    Unit("A h", "charge", 3600.0, ("Ah", "ah")),
    Unit("mA h", "charge", 3.6, ("mAh", "mah")),
    Unit("F", "capacitance", 1.0),
    Unit("mF", "capacitance", 1e-3),
    Unit("µF", "capacitance", 1e-6, ("uF", "µ", "u")),
    Unit("nF", "capacitance", 1e-9, ("n",)),
    Unit("pF", "capacitance", 1e-12, ("p",)),
    Unit("H", "inductance", 1.0),
    Unit("mH", "inductance", 1e-3),
    Unit("µH", "inductance", 1e-6, ("uH",)),
    Unit("dB", "level", 1.0, ("db", "decibel", "decibels")),
    Unit(
        "Ω/m",
        "resistance per length",
        1.0,
        ("ohm/m", "ohms/m", "ohm/metre", "ohm/meter", "ohms/metre", "ohms/meter"),
    ),
    Unit("mΩ/m", "resistance per length", 1e-3, ("mohm/m", "milliohm/m", "milliohms/m", "Ω/km", "ohm/km")),
    Unit("Ω/1000 ft", "resistance per length", 1 / (1000 * FOOT), ("ohm/1000 ft", "ohm/kft")),
    Unit("Ω/ft", "resistance per length", 1 / FOOT, ("ohm/ft",)),
    Unit("Ω/km", "resistance per kilometre", 1.0, ("ohm/km",)),
    Unit("Ω/1000 ft", "resistance per kilometre", 1 / FOOT, ("ohm/1000 ft", "ohm/kft")),
    Unit("W/m", "power per length", 1.0),
    Unit("W/ft", "power per length", 1 / FOOT),
    Unit("%", "percent", 1.0, ("percent", "per cent", "pct")),
    Unit("B", "memory", 1.0, ("byte", "bytes")),
    Unit("kB", "memory", 1e3),
)


_TAILS: Mapping[str, re.Pattern[str]] = {
    **dict.fromkeys(("voltage", "current"), re.compile(r"(?<=.)\s*d\.?c\.?$", re.IGNORECASE)),
    "power": re.compile(r"(?<=.)\s*rms$", re.IGNORECASE),
    "level": re.compile(
        r"(?<=.)(?:\s*SPL)?\s*(?:[/@,(]|at)?\s*(?:1\s*)?W(?:\s*[/@,]\s*(?:1\s*)?m)?\)?$", re.IGNORECASE
    ),
}
"""What may stand behind a unit of a kind and says no more than the unit does: 12 V DC, 86 dB/W/m."""


def find_unit(kind: str, spelling: str) -> Unit | None:
    """Return the unit of `kind` with this symbol or alias, or as a builder writes it; None for others.

    Full stops, `per` for a stroke and what says no more than the kind (12 V DC) make no difference; capitals
    make none in a word of three letters or more, unless another unit is written so.
    """
    found = _SPELLINGS.get((kind, spelling))
    if found is not None or not spelling:
        return found
    settled = " ".join(re.sub(r"\s*(?:/|\bper\b(?! cent))\s*", "/", spelling).split())
    tail = _TAILS.get(kind)
    if tail is not None:
        settled = tail.sub("", settled)
    settled = re.sub(r"\.(?=\s|$)", "", settled)
    near = _list_alike(kind, settled) if len(settled) > 2 else ()
    return _SPELLINGS.get((kind, settled)) or (
        near[0] if len(near) == 1 and (kind, settled.lower()) in _SPELLINGS else None
    )


def list_meanings(kind: str, spelling: str) -> tuple[str, ...]:
    """Return the symbols of the units of `kind` that a spelling which is none of them can mean."""
    if kind == "temperature" and spelling in ("°", "deg", "degrees"):
        return ("°C", "°F")
    return tuple(unit.symbol for unit in _list_alike(kind, spelling))


def _list_alike(kind: str, spelling: str) -> tuple[Unit, ...]:
    """Return the units of a kind with a spelling that differs from this one in capitals only."""
    alike = (
        unit
        for (known, word), unit in _SPELLINGS.items()
        if known == kind and word.lower() == spelling.lower()
    )
    return tuple(dict.fromkeys(alike))


def find_kinds(spelling: str) -> tuple[str, ...]:
    """Return the kinds of quantity in which this spelling is a unit, in the table's order."""
    exact = tuple(kind for kind, known in _SPELLINGS if known == spelling)
    return exact or tuple(kind for kind in KINDS if find_unit(kind, spelling) is not None)


@cache
def list_units(kind: str) -> tuple[str, ...]:
    """Return the symbols of all units of `kind`, in the table's order."""
    return tuple(unit.symbol for unit in UNITS if unit.kind == _table_kind(kind))


def _table_kind(kind: str) -> str:
    # A diameter is a length; only the unit it is shown in differs.
    return "length" if kind == "diameter" else kind


def _index_spellings() -> dict[tuple[str, str], Unit]:
    spellings: dict[tuple[str, str], Unit] = {}
    for unit in UNITS:
        kinds = (unit.kind, "diameter") if unit.kind == "length" else (unit.kind,)
        for kind in kinds:
            for spelling in (unit.symbol, *unit.aliases):
                if (kind, spelling) in spellings:
                    raise ValueError(f"the unit spelling {spelling!r} stands twice for {kind}")
                spellings[kind, spelling] = unit
    return spellings


_SPELLINGS = _index_spellings()


# What a number in a record is measured in, for readers and for the test of every text that names one.
type Volt = float
type Ampere = float
type Ohm = float
type Watt = float
type Metre = float
type SquareMetre = float
type Celsius = float
type Kelvin = float
type Second = float
type Hertz = float
type Share = float
type Percent = float
type Coulomb = float
type Farad = float
type Henry = float
type Decibel = float
type OhmPerMetre = float
type OhmPerKilometre = float
type WattPerMetre = float
