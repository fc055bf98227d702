"""What others have published of loads, powers, leads, levels and crossovers, row by row."""

import math
from pathlib import Path

import pytest

from calculators.notation.quantity import read_quantity
from calculators.speaker_load.calculator import CALCULATOR
from calculators.speaker_load.driver import Driver
from calculators.speaker_load.high_pass import SERIES, find_capacitors
from tests.calculators.published import Case, read_published
from tests.calculators.running import find_number, make_run
from tests.conftest import ROOT

BARE = {"on_resistance": "0", "contacts": "0", "speakers": "", "lead_conductor": "solid"}
"""Nothing but the speakers and a lead of solid copper."""

run = make_run(CALCULATOR)


def find_share_of_load(gauge: str, length: str, load: str) -> float:
    """What the loss in decibels says of the lead's resistance over the load's."""
    result = run(**BARE, network=load, lead_gauge=gauge, lead_length=length)
    return float(10 ** (find_number(result, "cable_loss") / 20)) - 1


def find_lead(gauge: str, length: str) -> float:
    return 8 * find_share_of_load(gauge, length, "8")


def find_level(sensitivity: str, power: str) -> float:
    supply = math.sqrt(2 * 4 * read_quantity(power, "power", "W"))
    bare = {**BARE, "lead_length": "0", "speakers": f"all, , {sensitivity}"}
    return find_number(run(**bare, network="4", supply=f"{supply!r} V"), "level")


def find_sum(one: str, other: str) -> float:
    """Each gets 1 W: 4 V of supply into 8 Ω, at the edge of clipping."""
    bare = {**BARE, "lead_length": "0", "speakers": f"low, , {one}\nhigh, , {other}"}
    return find_number(run(**bare, network="low:8 || high:8", supply="4 V"), "level")


def find_capacitor(frequency: str, impedance: str) -> float:
    hertz, ohms = read_quantity(frequency, "frequency", "Hz"), read_quantity(impedance, "resistance", "Ω")
    return find_capacitors(hertz, ohms)[0]


def find_corner(frequency: str, impedance: str) -> float:
    hertz, ohms = read_quantity(frequency, "frequency", "Hz"), read_quantity(impedance, "resistance", "Ω")
    return find_capacitors(hertz, ohms)[1][SERIES.index("E12")].frequency


def find_peak(re: str, le: str, fs: str, qms: str, qes: str) -> float:
    return Driver(
        read_quantity(re, "resistance", "Ω"),
        read_quantity(le, "inductance", "H"),
        read_quantity(fs, "frequency", "Hz"),
        float(qms),
        float(qes),
    ).peak


PUBLISHED = read_published(
    CALCULATOR,
    Path(__file__).with_name("published.toml"),
    ROOT / "build_scripts" / "pages" / "calculators" / "speaker-load.md",
    {
        "Resistance of the lead, out and back": find_lead,
        "Lead, of the load": find_share_of_load,
        "Level at 1 m of a power": find_level,
        "Level of two speakers at 1 W each": find_sum,
        "Capacitor": find_capacitor,
        "Corner frequency, next E12 capacitor": find_corner,
        "Resistance of the resonance (Res)": find_peak,
    },
)


@pytest.mark.parametrize("case", PUBLISHED.cases, ids=str)
def test_published_case(case: Case) -> None:
    case.check()


def test_the_page_ends_with_the_published_cases(pytestconfig: pytest.Config) -> None:
    PUBLISHED.check_page(pytestconfig)
