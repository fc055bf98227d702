"""Fusing currents against printed tables."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculators.notation.gauge import AWG_NUMBERS, make_awg
from calculators.wire_gauge.fusing import find_brief_fusing_current, find_fusing_current


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
