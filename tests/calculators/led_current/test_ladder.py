"""The d.c. ladder against textbook examples, closed forms, a matrix solver and a circuit simulator."""

import random
import re
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from calculators.led_current.ladder import (
    Feed,
    find_feeds_needed,
    place_evenly,
    solve_falling,
    solve_ladder,
    solve_tridiagonal,
    solve_uniform,
)
from tests.calculators.running import run_ngspice


def solve_dense(
    supply: float,
    segments: list[float],
    taps: list[float],
    feeds: list[Feed],
    slopes: list[float] | None = None,
) -> np.ndarray:
    """Solve the same network as a full matrix of node voltages with numpy."""
    size = len(taps)
    matrix, right = np.zeros((size, size)), -np.array(taps)
    for node, segment in enumerate(segments):
        matrix[node : node + 2, node : node + 2] += np.array([[1, -1], [-1, 1]]) / segment
    matrix += np.diag(slopes if slopes is not None else [0.0] * size)
    for feed in feeds:
        matrix[feed.node, feed.node] += 1 / feed.resistance
        right[feed.node] += supply / feed.resistance
    return np.linalg.solve(matrix, right)


def find_voltages(lines: list[str], nodes: int) -> list[float]:
    """Return the node voltages of an operating point, as ngspice prints them."""
    prints = [f"print v(n{node})" for node in range(nodes)]
    told = run_ngspice(
        "\n".join(["ladder", *lines, ".control", "set numdgt=12", "op", *prints, "quit", ".endc", ".end", ""])
    )
    found = dict(re.findall(r"v\(n(\d+)\) = (\S+)", told))
    return [float(found[str(node)]) for node in range(nodes)]


def list_netlist(supply: float, segment: float, count: int, feeds: tuple[Feed, ...], tap: str) -> list[str]:
    lines = [f"Vs s 0 {supply}"]
    lines += [f"Rs{node} n{node} n{node + 1} {segment}" for node in range(count + 1)]
    lines += [f"Rf{feed.node} s n{feed.node} {feed.resistance}" for feed in feeds]
    return lines + [tap.format(node=node) for node in range(1, count + 1)]


# A lecture's problem on a distributor fed at both ends: 600 m, 220 V, 20, 40, 50 and 30 A at 100, 250,
# 400 and 500 m, 1 cm², 1.7 µΩ cm. The sum of moments gives 61.67 A from the near end; lowest at 400 m:
# 215.69 V, by arithmetic.
def test_both_ends_by_the_sum_of_moments() -> None:
    per_metre = 2 * 1.7e-6 / 1.0 * 100
    places = [0, 100, 250, 400, 500, 600]
    segments = [per_metre * (b - a) for a, b in pairwise(places)]
    voltages = solve_ladder(220.0, segments, [0.0, 20.0, 40.0, 50.0, 30.0, 0.0], [Feed(0, 0.0), Feed(5, 0.0)])
    from_near_end = (20 * 500 + 40 * 350 + 50 * 200 + 30 * 100) / 600
    assert (220 - voltages[1]) / segments[0] == pytest.approx(from_near_end, rel=1e-9)
    assert from_near_end == pytest.approx(61.67, abs=0.005)
    assert voltages.index(min(voltages)) == 3
    assert min(voltages) == pytest.approx(215.69, abs=0.005)


# The textbook's rules for a uniformly loaded distributor: I R/2 from one end, I R/8 from both.
@pytest.mark.parametrize(("feeds", "share"), [((0,), 1 / 2), ((0, 1001), 1 / 8)])
def test_rules_for_a_uniform_load(feeds: tuple[int, ...], share: float) -> None:
    ladder = solve_uniform(12.0, 0.003, 0.001, 1000, [Feed(node, 0.0) for node in feeds])
    assert 12.0 - ladder.find_lowest()[1] == pytest.approx(3.0 * 1.0 * share, rel=3e-3)


# V = supply - I r N (N + 1)/2, computed beforehand with numpy and ngspice; from both ends likewise.
@pytest.mark.parametrize(
    ("count", "segment", "current", "one_end", "both_ends"),
    [(10, 0.01, 0.06, 4.9670, None), (60, 0.005, 0.06, 4.4510, 4.8605), (144, 0.003, 0.02, 4.3736, 4.8423)],
)
def test_equal_taps(
    count: int, segment: float, current: float, one_end: float, both_ends: float | None
) -> None:
    alone = solve_uniform(5.0, current, segment, count, [Feed(0, 0.0)])
    assert alone.find_lowest()[0] == count
    assert alone.find_lowest()[1] == pytest.approx(one_end, abs=5e-5)
    assert alone.find_lowest()[1] == pytest.approx(5 - current * segment * count * (count + 1) / 2, rel=1e-12)
    if both_ends is not None:
        pair = solve_uniform(5.0, current, segment, count, [Feed(0, 0.0), Feed(count + 1, 0.0)])
        assert pair.find_lowest()[1] == pytest.approx(both_ends, abs=5e-5)


@st.composite
def draw_strings(draw: st.DrawFn) -> tuple[float, float, int, list[Feed]]:
    count = draw(st.integers(1, 60))
    nodes = draw(st.lists(st.integers(0, count + 1), min_size=1, max_size=5, unique=True))
    feeds = [Feed(node, draw(st.floats(0.001, 2.0))) for node in nodes]
    return draw(st.floats(0.0001, 0.2)), draw(st.floats(0.0005, 0.1)), count, feeds


@given(draw_strings())
@settings(max_examples=80)
def test_closed_form_is_what_numpy_solves(string: tuple[float, float, int, list[Feed]]) -> None:
    current, segment, count, feeds = string
    ladder = solve_uniform(5.0, current, segment, count, feeds)
    taps = [0.0, *([current] * count), 0.0]
    dense = solve_dense(5.0, [segment] * (count + 1), taps, feeds)
    size = 1 + float(np.max(np.abs(dense)))
    assert ladder.list_voltages() == pytest.approx(dense.tolist(), abs=1e-9 * size)
    assert solve_ladder(5.0, [segment] * (count + 1), taps, feeds) == pytest.approx(
        dense.tolist(), abs=1e-9 * size
    )
    led, lowest = ladder.find_lowest()
    assert lowest == pytest.approx(float(np.min(dense[1:-1])), abs=1e-9 * size)
    assert dense[led] == pytest.approx(lowest, abs=1e-9 * size)
    assert ladder.find_total_drop() == pytest.approx(
        float(np.sum(5.0 - dense[1:-1])), abs=1e-8 * size * count
    )
    expected = [(5.0 - dense[feed.node]) / feed.resistance for feed in ladder.feeds]
    assert ladder.feed_currents == pytest.approx(expected, rel=1e-6, abs=1e-9)
    assert sum(ladder.feed_currents) == pytest.approx(count * current, rel=1e-9)


def check_falling(current: float, segment: float, count: int, feeds: list[Feed], dark: float) -> None:
    full = dark + 1.0
    found = solve_falling(
        5.0, current, full, dark, segment, count, tuple(sorted(feeds, key=lambda f: f.node))
    )
    drawn = [min(1.0, max(0.0, v - dark)) * current for v in found]
    drawn[0] = drawn[-1] = 0.0
    # The currents that belong to these voltages give back the same voltages in numpy's full matrix.
    dense = solve_dense(5.0, [segment] * (count + 1), drawn, feeds)
    assert found == pytest.approx(dense.tolist(), abs=1e-8 * (1 + count * count * segment))
    held = solve_uniform(5.0, current, segment, count, feeds).find_lowest()[1]
    assert min(found[1:-1]) >= held - 1e-9


@given(draw_strings(), st.floats(0.1, 3.0))
@settings(max_examples=60)
def test_falling_currents_satisfy_every_node(
    string: tuple[float, float, int, list[Feed]], dark: float
) -> None:
    check_falling(*string, dark)


@given(draw_strings(), st.floats(0.1, 3.0))
@example((0.06, 0.02, 60, [Feed(0, 0.1)]), 3.0)
@example((0.06, 0.02, 61, [Feed(0, 0.1), Feed(31, 0.2)]), 3.0)
@example((0.06, 0.02, 61, [Feed(0, 0.1)]), 3.0)
@settings(max_examples=60)
def test_they_do_in_a_string_that_is_the_same_from_either_end(
    string: tuple[float, float, int, list[Feed]], dark: float
) -> None:
    current, segment, count, feeds = string
    half = {min(feed.node, count + 1 - feed.node): feed.resistance for feed in feeds}
    both = half | {count + 1 - node: resistance for node, resistance in half.items()}
    check_falling(current, segment, count, [Feed(*feed) for feed in both.items()], dark)


def test_taps_that_are_resistors() -> None:
    # Currents in proportion to the voltage: full at 5 V and dark at 0 V is a resistor of 5 V / I.
    feeds = (Feed(0, 0.12), Feed(61, 0.12))
    found = solve_falling(5.0, 0.06, 5.0, 0.0, 0.005, 60, feeds)
    slopes = [0.0, *([0.06 / 5] * 60), 0.0]
    expected = solve_dense(5.0, [0.005] * 61, [0.0] * 62, list(feeds), slopes).tolist()
    assert found == pytest.approx(expected, rel=1e-12)
    assert solve_ladder(5.0, [0.005] * 61, [0.0] * 62, feeds, slopes) == pytest.approx(expected, rel=1e-12)


FEEDS = (Feed(16, 0.08), Feed(40, 0.2))


@pytest.mark.prepared
def test_held_currents_against_ngspice() -> None:
    lines = list_netlist(5.0, 0.005, 96, FEEDS, "I{node} n{node} 0 0.037")
    ladder = solve_uniform(5.0, 0.037, 0.005, 96, FEEDS)
    assert ladder.list_voltages() == pytest.approx(find_voltages(lines, 98), abs=1e-6)


@pytest.mark.prepared
def test_falling_currents_against_ngspice() -> None:
    tap = "B{node} n{node} 0 I = 0.061*min(1,max(0,(v(n{node})-3.0)/1.1))"
    lines = list_netlist(5.0, 0.006, 96, FEEDS, tap)
    found = solve_falling(5.0, 0.061, 4.1, 3.0, 0.006, 96, FEEDS)
    assert 3.0 < min(found) < 4.1 < max(found)  # both parts of the characteristic are met
    assert found == pytest.approx(find_voltages(lines, 98), abs=2e-5)


def test_a_supply_below_dark_lights_nothing() -> None:
    assert solve_falling(2.5, 0.06, 4.0, 3.0, 0.005, 4, (Feed(0, 0.1),)) == (2.5,) * 6


@given(st.integers(1, 200), st.floats(0.0005, 0.02), st.floats(0.0, 0.5), st.floats(3.5, 4.99))
@settings(max_examples=60)
def test_feeds_needed_is_the_smallest_number(
    count: int, segment: float, resistance: float, floor: float
) -> None:
    def find_lowest(number: int) -> float:
        feeds = [Feed(node, resistance) for node in place_evenly(count, number)]
        return solve_uniform(5.0, 0.037, segment, count, feeds).find_lowest()[1]

    needed = find_feeds_needed(5.0, 0.037, segment, count, resistance, floor, 64)
    if needed is None:
        assert find_lowest(min(count, 64)) < floor + 1e-9
    else:
        assert find_lowest(needed) >= floor - 1e-9
        assert all(find_lowest(number) < floor for number in range(1, needed))


@given(st.integers(1, 300), st.data())
def test_even_places_are_even(count: int, data: st.DataObject) -> None:
    number = data.draw(st.integers(1, count))
    places = place_evenly(count, number)
    assert len(set(places)) == number
    assert all(1 <= place <= count for place in places)
    # No LED is further from its feed than half of an equal share.
    reach = max(min(abs(led - place) for place in places) for led in range(1, count + 1))
    assert reach <= -(-count // number) // 2


def test_tridiagonal_against_numpy() -> None:
    draw = random.Random(4)
    lower, upper = ([draw.uniform(-1, 1) for _ in range(40)] for _ in range(2))
    diagonal = [draw.choice((-3, 3)) + draw.random() / 2 for _ in range(40)]
    right = [draw.uniform(-5, 5) for _ in range(40)]
    matrix = np.diag(diagonal) + np.diag(lower[1:], -1) + np.diag(upper[:-1], 1)
    assert solve_tridiagonal(lower, diagonal, upper, right) == pytest.approx(
        np.linalg.solve(matrix, right).tolist()
    )


@pytest.mark.parametrize(
    "feeds", [[], [Feed(0, 0.1), Feed(0, 0.2)], [Feed(-1, 0.1)], [Feed(12, 0.1)], [Feed(3, -0.1)]]
)
def test_impossible_feeds_are_refused(feeds: list[Feed]) -> None:
    with pytest.raises(ValueError, match="feed"):
        solve_uniform(5.0, 0.06, 0.005, 10, feeds)
    with pytest.raises(ValueError, match="feed"):
        solve_ladder(5.0, [0.005] * 11, [0.06] * 12, feeds)


def test_impossible_strings_are_refused() -> None:
    with pytest.raises(ValueError, match="resistance"):
        solve_uniform(5.0, 0.06, 0.0, 10, [Feed(0, 0.0)])
    with pytest.raises(ValueError, match="one tap"):
        solve_uniform(5.0, 0.06, 0.005, 0, [Feed(0, 0.0)])
    with pytest.raises(ValueError, match="sections"):
        solve_ladder(5.0, [0.005] * 3, [0.06] * 12, [Feed(0, 0.0)])
    with pytest.raises(ValueError, match="fall"):
        solve_falling(5.0, 0.06, 3.0, 3.0, 0.005, 10, (Feed(0, 0.0),))
