"""Fusing currents against printed tables."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculators.notation.gauge import AWG_NUMBERS, make_awg
from calculators.notation.units import CIRCULAR_MIL
from calculators.wire_gauge.fusing import find_brief_fusing_current, find_fusing_current

# Preece: fusing current in A and copper diameter in inches, an engineering office's table.
PREECE = (
    (1, 0.0021),
    (2, 0.0034),
    (5, 0.0062),
    (10, 0.0098),
    (20, 0.0156),
    (50, 0.0288),
    (100, 0.0457),
)


@pytest.mark.parametrize(("amperes", "inches"), PREECE)
def test_preece_agrees_with_the_table(amperes: float, inches: float) -> None:
    area = CIRCULAR_MIL * (1000 * inches) ** 2
    # The diameters are printed to 0.0001 in: half of that, to the power 1.5, is the tolerance.
    assert find_fusing_current(area) == pytest.approx(amperes, rel=1.6 * 0.00005 / inches)


# Onderdonk for 1 s from 25 °C: AWG and kiloamperes, engineering tables of a free textbook.
ONDERDONK = ((-3, 31), (-2, 24.5), (-1, 19.5), (0, 15.5), (1, 12), (2, 9.7), (4, 6.1), (6, 3.8), (8, 2.4))


@pytest.mark.parametrize(("number", "kiloamperes"), ONDERDONK)
def test_onderdonk_agrees_with_the_table(number: int, kiloamperes: float) -> None:
    found = find_brief_fusing_current(make_awg(number).area) / 1000
    assert found == pytest.approx(kiloamperes, rel=0.021)


def test_onderdonks_sign_is_right() -> None:
    # A forum's 16 AWG example (2581 circular mils, 5 s) has 234 - Ta and gets 178 A; 234 + Ta gives 168.9 A.
    found = find_brief_fusing_current(2581 * CIRCULAR_MIL, seconds=5, ambient=25)
    assert found == pytest.approx(168.9, abs=0.2)


@given(number=st.sampled_from(AWG_NUMBERS), ambient=st.floats(-20, 80), seconds=st.floats(0.01, 5))
def test_thicker_cooler_or_briefer_never_melts_sooner(number: int, ambient: float, seconds: float) -> None:
    area = make_awg(number).area
    found = find_brief_fusing_current(area, seconds, ambient)
    assert find_brief_fusing_current(1.1 * area, seconds, ambient) > found
    assert find_brief_fusing_current(area, 1.1 * seconds, ambient) < found
    assert find_brief_fusing_current(area, seconds, ambient + 5) < found
    assert find_fusing_current(1.1 * area) > find_fusing_current(area)


@pytest.mark.parametrize(("seconds", "ambient"), [(0, 25), (-1, 25), (1, 1083), (1, -300)])
def test_refusals(seconds: float, ambient: float) -> None:
    with pytest.raises(ValueError, match="Onderdonk"):
        find_brief_fusing_current(1e-6, seconds, ambient)
