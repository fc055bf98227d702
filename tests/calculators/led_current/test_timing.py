"""Data timing of LED strings against published timing of 800 kHz LEDs."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculators.led_current.timing import PixelTiming

OLDER = PixelTiming(24, 800e3, 50e-6)
NEWER = PixelTiming(24, 800e3, 280e-6)
FOUR = PixelTiming(32, 800e3, 80e-6)
CLOCKED = PixelTiming(32, 4e6, 0.0, clocked=True)


# Makers' data sheet of the newer kind: reset above 280 µs; 3280 µs and 304.9 frames a second by arithmetic.
def test_hundred_leds_with_the_longer_reset() -> None:
    assert NEWER.find_frame_time(100) == pytest.approx(3280e-6, rel=1e-12)
    assert 1 / NEWER.find_frame_time(100) == pytest.approx(304.9, abs=0.05)


# By arithmetic from the published figures: (1/60 s − 50 µs) / 30 µs = 553.9; at 30 a second 1109.4.
@pytest.mark.parametrize(("rate", "largest"), [(60.0, 553), (30.0, 1109)])
def test_largest_count(rate: float, largest: int) -> None:
    assert OLDER.find_largest_count(rate) == largest


# Three or four bytes for each LED: 300 LEDs are 900 B and 1200 B (24 and 32 bits in the data sheets).
def test_memory() -> None:
    assert OLDER.find_memory(300) == 900
    assert FOUR.find_memory(300) == 1200


# Device notes of an open bus tool: 32 zero bits, 32 bits for each LED, at least n/2 clocks at the end.
def test_clocked_strip() -> None:
    assert CLOCKED.find_frame_time(96) == pytest.approx((32 + 96 * 32 + 48) / 4e6, rel=1e-12)
    assert CLOCKED.find_send_time(97) == pytest.approx((32 + 97 * 32 + 49) / 4e6, rel=1e-12)


def test_an_exact_fit_is_not_lost_to_rounding() -> None:
    for count in range(1, 1200):
        assert NEWER.find_largest_count(1 / NEWER.find_frame_time(count)) == count


def test_no_led_fits_into_a_pause() -> None:
    assert PixelTiming(24, 800e3, 0.02).find_largest_count(60.0) == 0


@given(
    st.sampled_from((24, 32)),
    st.floats(1e5, 2e7),
    st.floats(0.0, 1e-3),
    st.booleans(),
    st.floats(5.0, 500.0),
)
def test_largest_count_fits_and_one_more_does_not(
    bits: int, rate: float, reset: float, clocked: bool, frames: float
) -> None:
    timing = PixelTiming(bits, rate, reset, clocked)
    largest = timing.find_largest_count(frames)
    assert timing.find_frame_time(largest) <= (1 + 1e-9) / frames or largest == 0
    assert timing.find_frame_time(largest + 1) > (1 - 1e-9) / frames
