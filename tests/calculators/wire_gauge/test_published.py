"""What others have published of copper, heat and fuses, row by row as the page shows it."""

import math
from pathlib import Path

import pytest

from calculators.notation.gauge import read_gauge
from calculators.notation.quantity import read_quantity
from calculators.notation.units import CIRCULAR_MIL
from calculators.physics.ampacity import FUSE_LOADING, find_bundle_factor
from calculators.physics.copper import (
    find_conductor_factor,
    find_resistance_per_metre,
    find_round_diameter,
    find_warm_factor,
    find_wire_resistance,
)
from calculators.physics.fuse import FusePlace, find_fuse_kind, find_opening
from calculators.physics.heat_balance import EMISSIVITY, STEFAN_BOLTZMANN, find_heat_loss, find_nusselt
from calculators.wire_gauge.calculator import CALCULATOR
from calculators.wire_gauge.fusing import find_brief_fusing_current, find_fusing_current
from tests.calculators.published import Case, read_published
from tests.conftest import ROOT


def find_warm_resistance(gauge: str, temperature: str) -> float:
    return find_resistance_per_metre(read_gauge(gauge).area, read_quantity(temperature, "temperature", "°C"))


def find_factor_to_20_degrees(temperature: str) -> float:
    return 1 / find_warm_factor(read_quantity(temperature, "temperature", "°C"))


def find_drop(gauge: str, length: str, current: str) -> float:
    """One way of tinned wire: the circular counts the whole run, out and back, as its length."""
    area = read_gauge(gauge).area
    resistance = find_wire_resistance(
        read_quantity(length, "length", "m"), area, factor=find_conductor_factor(area, "tinned")
    )
    return read_quantity(current, "current", "A") * resistance


def find_melting_diameter(current: str) -> float:
    """The table tells the diameter for a current: halved until the calculator's current is that one."""
    wanted, thin, thick = read_quantity(current, "current", "A"), 1e-12, 1e-4
    for _ in range(60):
        middle = (thin + thick) / 2
        thin, thick = (middle, thick) if find_fusing_current(middle) < wanted else (thin, middle)
    return find_round_diameter(thick)


def find_brief_current(area: str, time: str, ambient: str) -> float:
    return find_brief_fusing_current(
        read_quantity(area, "area", "cmil"),
        read_quantity(time, "time", "s"),
        read_quantity(ambient, "temperature", "°C"),
    )


def find_cylinders_nusselt(prandtl: str, grashof: str = "", rayleigh: str = "") -> float:
    return find_nusselt(float(rayleigh) if rayleigh else float(prandtl) * float(grashof), float(prandtl))


def find_convection(diameter: str, length: str, surface: str, air: str) -> float:
    """What a pipe loses to the air alone: the balance's loss without what it radiates."""
    wide = read_quantity(diameter, "diameter", "mm")
    hot, cool = (read_quantity(text, "temperature", "°C") for text in (surface, air))
    radiated = EMISSIVITY * STEFAN_BOLTZMANN * math.pi * wide * ((hot + 273.15) ** 4 - (cool + 273.15) ** 4)
    return read_quantity(length, "length", "m") * (find_heat_loss(hot, cool, wide) - radiated)


def find_latest(kind: str, rating: str, current: str) -> float | None:
    rated = read_quantity(rating, "current", "A")
    amperes = read_quantity(current, "current", "A")
    return find_opening(find_fuse_kind(FusePlace(kind), rated), rated, amperes).latest


PUBLISHED = read_published(
    CALCULATOR,
    Path(__file__).with_name("published.toml"),
    ROOT / "build_scripts" / "pages" / "calculators" / "wire-gauge.md",
    {
        "Resistance, warm": find_warm_resistance,
        "Factor to 20 °C": find_factor_to_20_degrees,
        "Volts lost, tinned": find_drop,
        "Copper diameter that melts (Preece)": find_melting_diameter,
        "Melts within this time at (Onderdonk)": find_brief_current,
        "Nusselt number, level cylinder": find_cylinders_nusselt,
        "Heat lost by convection": find_convection,
        "Fuse open by": find_latest,
        "Bundle factor": lambda count: find_bundle_factor(int(count)),
        "Share of a fuse's rating for hours": lambda rating: FUSE_LOADING,
    },
)


@pytest.mark.parametrize("case", PUBLISHED.cases, ids=str)
def test_published_case(case: Case) -> None:
    case.check()


def test_the_rule_said_to_decide_does() -> None:
    for rivals in PUBLISHED.rivals:
        rivals.check()
    assert len(PUBLISHED.rivals) == 2


def test_the_page_ends_with_the_published_cases(pytestconfig: pytest.Config) -> None:
    PUBLISHED.check_page(pytestconfig)


def test_a_circular_mil_is_what_the_tables_count_by() -> None:
    assert read_quantity("2581 cmil", "area", "cmil") == 2581 * CIRCULAR_MIL
