"""Light patterns: the gamma table and every pattern's sums against numpy, LED by LED."""

from typing import get_args

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calculators.forms.rows import RowsInput
from calculators.led_current.own_frames import Run, list_frames
from calculators.led_current.pattern import (
    PATTERNS,
    Colour,
    Frame,
    Pattern,
    PatternName,
    find_percentile,
    make_gamma_table,
    read_colour,
    simulate,
    spread_colour,
)
from calculators.notation.errors import NotationError

AMBER: Colour = (255, 120, 0)


def read_frames(text: str) -> tuple[Frame, ...]:
    return list_frames(RowsInput(label="Frames", row=Run).read_value(text))


def light(levels: np.ndarray, gamma: float) -> np.ndarray:
    """Return numpy's share of full light for levels of 0 to 255, rounded as 8-bit outputs are."""
    return np.round(255 * (levels / 255) ** gamma) / 255


@pytest.mark.parametrize("gamma", [0.5, 1.0, 1.8, 2.0, 2.2, 2.5, 2.8, 3.0, 4.37, 5.0])
def test_gamma_table_against_numpy(gamma: float) -> None:
    assert list(make_gamma_table(gamma)) == (255 * light(np.arange(256), gamma)).round().astype(int).tolist()


# Computed beforehand for gamma 2.8: level -> output.
@pytest.mark.parametrize(
    ("level", "output"),
    [
        (16, 0),
        (32, 1),
        (64, 5),
        (96, 17),
        (127, 36),
        (128, 37),
        (160, 69),
        (192, 115),
        (224, 177),
        (255, 255),
    ],
)
def test_gamma_table_row_by_row(level: int, output: int) -> None:
    assert make_gamma_table(2.8)[level] == output


# The mean of a ramp bent by gamma g is 1/(g + 1); over 256 steps 0.31324 for 2.2, 0.26409 for 2.8. Rounding
# to whole outputs moves it by less than 0.0005.
@pytest.mark.parametrize(("gamma", "mean"), [(2.2, 0.31324), (2.8, 0.26409)])
def test_mean_of_a_ramp(gamma: float, mean: float) -> None:
    assert sum(make_gamma_table(gamma)) / 256 / 255 == pytest.approx(mean, abs=5e-4)


def test_all_white_and_one_colour() -> None:
    assert simulate(Pattern("all white", 96, 3, 2.2, frames=10)) == (288.0,) * 10
    found = simulate(Pattern("one colour", 96, 3, 2.2, AMBER, frames=10))
    assert found == pytest.approx([96 * float(light(np.array(AMBER), 2.2).sum())] * 10)


@pytest.mark.parametrize("frames", [10, 11])
def test_slow_fade_against_numpy(frames: int) -> None:
    half = (frames - 1) / 2
    heights = 1 - np.abs(np.arange(frames) - half) / half
    expected = [60 * light(np.round(np.array(AMBER) * height), 2.2).sum() for height in heights]
    assert simulate(Pattern("slow fade", 60, 3, 2.2, AMBER, frames=frames)) == pytest.approx(expected)


@pytest.mark.parametrize(("count", "tail"), [(60, 8), (5, 5), (96, 1), (20, 17)])
def test_chase_against_numpy(count: int, tail: int) -> None:
    frames = 40
    expected = []
    for frame in range(frames):
        head = frame * (count + tail) // (frames - 1)
        string = np.zeros((count, 3))
        for behind in range(tail):
            led = head - 1 - behind
            if 0 <= led < count:
                string[led] = np.round(np.array(AMBER) * (1 - behind / tail))
        expected.append(float(light(string, 2.2).sum()))
    found = simulate(Pattern("chase", count, 3, 2.2, AMBER, tail, frames=frames))
    assert found == pytest.approx(expected)
    assert found[0] == found[-1] == 0


def test_own_frames_against_numpy() -> None:
    own = read_frames("2, white\n1, 255/120/0, 48\n, off, 48\n3, 40 %, 10\n, off\n1, 0/0/7, 5")
    strings = []
    for hold, levels in [
        (2, [255] * 288),
        (1, [255, 120, 0] * 48),
        (3, [102] * 30),
        (1, [0, 0, 7] * 5),
    ]:
        strings += [float(light(np.array(levels), 2.2).sum())] * hold
    assert simulate(Pattern("own frames", 96, 3, 2.2, own=own)) == pytest.approx(strings)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.51, 0.9])
def test_random_rows_are_lit_as_often_as_asked(share: float) -> None:
    found = simulate(Pattern("random rows lit", 1500, 3, 2.2, group=1, lit_share=share, frames=300))
    draws = 1500 * 300
    spread = (share * (1 - share) / draws) ** 0.5
    # Five standard deviations of a fair draw, and the 1/512 to which the share is rounded.
    assert sum(found) / 3 / draws == pytest.approx(share, abs=5 * spread + 1 / 512)
    # The frames spread as independent rows do: the binomial's standard deviation, within a fifth.
    assert np.std(found) / 3 == pytest.approx((1500 * share * (1 - share)) ** 0.5, rel=0.2)


def test_random_rows_are_whole_rows_and_repeat() -> None:
    pattern = Pattern("random rows lit", 20, 3, 1.0, group=8, frames=200)
    found = simulate(pattern)
    # Rows of 8, 8 and 4 LEDs with three channels each.
    assert set(found) == {3.0 * lit for lit in (0, 4, 8, 12, 16, 20)}
    simulate.cache_clear()
    assert simulate(pattern) == found
    assert simulate(Pattern("random rows lit", 20, 3, 1.0, group=8, frames=200, seed=2)) != found


@pytest.mark.parametrize(("share", "lit"), [(0.0, 0.0), (1.0, 60.0)])
def test_no_row_and_every_row(share: float, lit: float) -> None:
    assert set(simulate(Pattern("random rows lit", 20, 3, 2.2, group=8, lit_share=share))) == {lit}


@given(st.lists(st.floats(0, 100), min_size=1, max_size=50), st.floats(0, 1))
def test_percentile_against_numpy(values: list[float], share: float) -> None:
    expected = float(np.percentile(values, 100 * share))
    assert find_percentile(tuple(values), share) == pytest.approx(expected, rel=1e-9, abs=1e-9)


@given(
    st.sampled_from(get_args(PatternName.__value__)),
    st.integers(1, 200),
    st.sampled_from((1, 3, 4)),
    st.integers(1, 200),
    st.floats(0, 1),
    st.integers(10, 60),
)
@settings(max_examples=80)
def test_no_frame_is_brighter_than_all_white(
    name: PatternName, count: int, channels: int, group: int, share: float, frames: int
) -> None:
    own = read_frames("3, white\n1, 40 %")
    found = simulate(Pattern(name, count, channels, 2.2, (200,), min(group, count), share, frames, own=own))
    assert min(found) >= 0
    assert max(found) <= count * channels
    assert len(found) == (4 if name == "own frames" else frames)


def test_patterns_are_those_of_the_specification() -> None:
    assert PATTERNS == ("all white", "one colour", "random rows lit", "slow fade", "chase", "own frames")


@pytest.mark.parametrize(
    ("text", "colour"),
    [
        ("white", (255,)),
        (" OFF ", (0,)),
        ("40 %", (102,)),
        ("100%", (255,)),
        ("255/120/0", AMBER),
        ("1 / 2 / 3 / 4", (1, 2, 3, 4)),
    ],
)
def test_colours_that_are_read(text: str, colour: Colour) -> None:
    assert read_colour(text) == colour


@pytest.mark.parametrize("text", ["reddish", "256/0/0", "101 %", "-1/0/0", "1/2/", "２５５/0/0", "1.5/2/3"])
def test_colours_that_are_refused(text: str) -> None:
    with pytest.raises(NotationError, match="is not a colour"):
        read_colour(text)


def test_a_fourth_channel_not_named_stays_off() -> None:
    assert spread_colour(AMBER, 4) == (255, 120, 0, 0)
    assert spread_colour((255,), 4) == (255, 255, 255, 255)
    with pytest.raises(NotationError, match="4 levels are given, but this LED has 3"):
        spread_colour((1, 2, 3, 4), 3)
