"""Copper against the wire tables of handbooks and standards."""

import numpy as np
import pint
import pytest

from calculators.notation.gauge import make_awg, make_metric
from calculators.notation.units import FOOT
from calculators.parts import read_rows
from calculators.physics.copper import (
    CONDUCTOR_KINDS,
    RESISTIVITY,
    find_conductor_factor,
    find_resistance_per_metre,
    find_round_diameter,
    find_warm_factor,
    find_wire_resistance,
)


def test_a_stray_list_is_not_reproduced() -> None:
    # An unsigned list on the web gives 10.4 ohms per 1000 ft for 20 AWG, 2.4 % too much.
    assert find_wire_resistance(1000 * FOOT, make_awg(20).area) < 10.2


def test_all_gauges_agree_with_numpy_from_the_definition() -> None:
    numbers = np.arange(-3, 41)
    diameters = 0.005 * 0.0254 * np.power(92.0, (36 - numbers) / 39)  # ASTM B258
    expected = 1 / 58e6 / (np.pi / 4 * diameters**2)
    ours = [find_resistance_per_metre(make_awg(int(number)).area) for number in numbers]
    np.testing.assert_allclose(ours, expected, rtol=1e-12)


def test_resistivity_in_the_older_unit() -> None:
    # 10.37 ohm per circular mil and foot: printed wire tables; units by an independent library.
    registry = pint.UnitRegistry()
    found: float = (RESISTIVITY * registry.ohm * registry.meter).to("ohm * circular_mil / foot").magnitude
    assert found == pytest.approx(10.37, abs=0.005)


def test_the_constant_of_small_craft_practice_is_warm_copper() -> None:
    # ABYC E-11 uses K = 10.75 ohm circular mil per foot: copper at 29.3 °C.
    assert 10.3712 * find_warm_factor(29.3) == pytest.approx(10.75, abs=0.005)


def test_no_optimistic_constant() -> None:
    # 0.0164 ohm mm²/m goes round for boats (from memory, ISO 10133); copper at 20 °C has more (IEC 60028).
    ours = RESISTIVITY * 1e6
    assert ours == pytest.approx(0.017241, abs=5e-7)
    assert ours > 1.05 * 0.0164


@pytest.mark.parametrize("temperature", [-20, 0, 40, 70, 105, 150])
def test_temperature_factor_agrees_with_the_aircraft_circular(temperature: float) -> None:
    # FAA AC 43.13-1B, paragraph 11-66 d(4).
    assert find_warm_factor(temperature) == pytest.approx((234.5 + temperature) / 254.5, rel=1e-3)


# IEC 60228, tables 1 to 3 (below 0.5 mm²: VDE 0295): mm², solid, solid tinned, class 5, class 5 tinned, Ω/km.
IEC_60228 = (
    (0.05, None, None, 380, 392),
    (0.08, None, None, 237, 244),
    (0.14, None, None, 134, 138),
    (0.25, None, None, 76, 79),
    (0.34, None, None, 53, 56),
    (0.5, 36.0, 36.7, 39.0, 40.1),
    (0.75, 24.5, 24.8, 26.0, 26.7),
    (1.0, 18.1, 18.2, 19.5, 20.0),
    (1.5, 12.1, 12.2, 13.3, 13.7),
    (2.5, 7.41, 7.56, 7.98, 8.21),
    (4, 4.61, 4.70, 4.95, 5.09),
    (6, 3.08, 3.11, 3.30, 3.39),
    (10, 1.83, 1.84, 1.91, 1.95),
    (16, 1.15, 1.16, 1.21, 1.24),
    (25, 0.727, 0.734, 0.780, 0.795),
    (35, 0.524, 0.529, 0.554, 0.565),
    (50, 0.387, 0.391, 0.386, 0.393),
    (70, 0.268, 0.270, 0.272, 0.277),
    (95, 0.193, 0.195, 0.206, 0.210),
    (120, 0.153, 0.154, 0.161, 0.164),
)


@pytest.mark.parametrize(("size", "solid", "solid_tinned", "stranded", "tinned"), IEC_60228)
def test_metric_rows_are_those_of_iec_60228(
    size: float, solid: float | None, solid_tinned: float | None, stranded: float, tinned: float
) -> None:
    area = make_metric(size).area
    for kind, published in (("stranded", stranded), ("tinned", tinned)):
        factor = find_conductor_factor(area, kind)
        assert 1000 * find_resistance_per_metre(area, factor=factor) == pytest.approx(published, rel=1e-9)
    row = next(row for row in read_rows("conductors") if row["area"] == size)
    assert (row.get("solid"), row.get("solid_tinned")) == (solid, solid_tinned)
    if solid is not None:
        # What the standard allows a solid wire is never less than pure copper of that size has.
        assert 1000 * find_resistance_per_metre(area) < solid


def test_gauges_between_the_rows_take_the_worse_neighbour() -> None:
    # 22 AWG lies between 0.25 mm² (76 Ω/km) and 0.34 mm² (53 Ω/km), IEC 60228 and VDE 0295.
    worse = max(76 * 0.25, 53 * 0.34) * 58 / 1000
    assert find_conductor_factor(make_awg(22).area, "stranded") == pytest.approx(worse, rel=1e-9)
    # Beyond the table's end its last row counts.
    assert find_conductor_factor(1e-9, "stranded") == find_conductor_factor(0.05e-6, "stranded")
    assert find_conductor_factor(2e-4, "tinned") == find_conductor_factor(1.2e-4, "tinned")


# UL 1015 hook-up wire, lead table in the manual of a bench supply: strands, strand mm, largest Ω/km.
HOOK_UP = (
    (11, 0.16, 88.6),
    (17, 0.16, 62.5),
    (21, 0.18, 39.5),
    (34, 0.18, 24.4),
    (26, 0.254, 15.6),
    (41, 0.254, 9.90),
    (65, 0.254, 6.24),
    (65, 0.32, 3.90),
)


@pytest.mark.parametrize(("strands", "strand", "largest"), HOOK_UP)
def test_worst_case_covers_real_hook_up_wire(strands: int, strand: float, largest: float) -> None:
    area = strands * np.pi / 4 * (strand / 1000) ** 2
    worst = 1000 * find_resistance_per_metre(area, factor=find_conductor_factor(area, "worst case"))
    assert largest <= worst <= 1.10 * largest


def test_round_diameter() -> None:
    assert find_round_diameter(make_awg(36).area) == pytest.approx(0.005 * 0.0254, rel=1e-12)  # ASTM B258


def test_kinds_and_refusals() -> None:
    assert CONDUCTOR_KINDS == ("solid", "stranded", "tinned", "worst case")
    with pytest.raises(ValueError, match="above zero"):
        find_resistance_per_metre(0)
    with pytest.raises(ValueError, match="not a kind of conductor"):
        find_conductor_factor(1e-6, "silver")
