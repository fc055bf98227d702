"""Series-parallel networks against graph theory (networkx), published counts (OEIS) and plain limits."""

import math
from collections.abc import Iterator
from fractions import Fraction
from itertools import count

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calculators.speaker_load.dc_network import (
    Group,
    Joint,
    Network,
    Part,
    find_currents,
    find_resistance,
    find_step,
    join,
    join_parallel,
    list_arrangements,
    list_numbers,
)

RESISTANCES = st.floats(min_value=0.1, max_value=1000)
TREES = st.recursive(
    RESISTANCES,
    lambda inner: st.tuples(st.sampled_from(["series", "parallel"]), st.lists(inner, min_size=2, max_size=3)),
    max_leaves=10,
)


type Tree = float | tuple[Joint, list[Tree]]


def number_parts(tree: Tree, values: list[float]) -> Network:
    if isinstance(tree, float):
        values.append(tree)
        return Part(len(values) - 1)
    joint, members = tree
    return join(joint, [number_parts(member, values) for member in members])


def add_edges(
    graph: "nx.MultiGraph[int]",
    network: Network,
    values: list[float],
    ends: tuple[int, int],
    spare: Iterator[int],
) -> None:
    if isinstance(network, Part):
        graph.add_edge(*ends, weight=values[network.number])
    elif network.joined == "parallel":
        for member in network.members:
            add_edges(graph, member, values, ends, spare)
    else:
        nodes = [ends[0], *(next(spare) for _ in network.members[1:]), ends[1]]
        for member, start, end in zip(network.members, nodes[:-1], nodes[1:], strict=True):
            add_edges(graph, member, values, (start, end), spare)


@settings(max_examples=60)
@given(TREES)
def test_resistance_is_the_graphs_resistance_distance(tree: Tree) -> None:
    values: list[float] = []
    network = number_parts(tree, values)
    graph: nx.MultiGraph[int] = nx.MultiGraph()
    add_edges(graph, network, values, (0, 1), count(2))
    expected = nx.resistance_distance(graph, 0, 1, weight="weight", invert_weight=True)
    assert find_resistance(network, values) == pytest.approx(expected, rel=1e-6)


@given(TREES, st.floats(min_value=0.01, max_value=100))
def test_power_in_the_parts_is_power_into_the_whole(tree: Tree, current: float) -> None:
    # Tellegen's theorem.
    values: list[float] = []
    network = number_parts(tree, values)
    currents = find_currents(network, values, current)
    inside = math.fsum(flow * flow * value for flow, value in zip(currents, values, strict=True))
    assert inside == pytest.approx(current * current * find_resistance(network, values), rel=1e-9)


@given(st.lists(RESISTANCES, min_size=1, max_size=8))
def test_parallel_never_exceeds_the_smallest_branch(values: list[float]) -> None:
    assert join_parallel(values) <= min(values) * (1 + 1e-12)
    assert join_parallel([*values, 50.0]) < join_parallel(values)


# A speaker shop's sheet of sample wiring diagrams: nominal impedance of each, how many, joined, total.
@pytest.mark.parametrize(
    ("each", "branches", "in_series", "total"),
    [
        (4, 2, 1, 2),
        (8, 2, 1, 4),
        (8, 4, 1, 2),
        (2, 1, 2, 4),
        (4, 1, 2, 8),
        (8, 1, 2, 16),
        (4, 2, 2, 4),
        (8, 2, 2, 8),
        (16, 2, 2, 16),
    ],
)
def test_published_wiring_diagrams(each: float, branches: int, in_series: int, total: float) -> None:
    numbers = count()
    chains = [join("series", [Part(next(numbers)) for _ in range(in_series)]) for _ in range(branches)]
    assert find_resistance(join("parallel", chains), [float(each)] * (branches * in_series)) == pytest.approx(
        total
    )


def test_open_and_shorted_parts() -> None:
    network = join("series", [join("parallel", [Part(0), Part(1)]), Part(2)])
    assert find_resistance(network, [math.inf, 8.0, 4.0]) == 12
    assert find_resistance(network, [0.0, 8.0, 4.0]) == 4
    assert find_resistance(network, [8.0, 8.0, math.inf]) == math.inf
    assert find_currents(network, [8.0, 8.0, math.inf], 1.0) == (0, 0, 0)
    assert find_currents(network, [math.inf, 8.0, 4.0], 3.0) == (0, 3, 3)
    assert find_currents(network, [0.0, 8.0, 4.0], 3.0) == (3, 0, 3)
    assert find_currents(network, [0.0, 0.0, 4.0], 3.0) == (1.5, 1.5, 3)
    assert find_resistance(join("parallel", [Part(0), Part(1)]), [math.inf, math.inf]) == math.inf


def test_joining_keeps_one_tree_for_one_circuit() -> None:
    inner = join("series", [Part(0), Part(1)])
    assert join("series", [inner, Part(2)]) == Group("series", (Part(0), Part(1), Part(2)))
    assert join("parallel", [inner]) == inner
    assert list_numbers(join("parallel", [Part(2), inner])) == (2, 0, 1)


# OEIS A000084 (networks of n equal parts), A006351 (of n different parts) and A048211 (different
# resistances that n equal resistors can make in series and parallel).
@pytest.mark.parametrize(
    ("parts", "equal", "different", "resistances"),
    [(1, 1, 1, 1), (2, 2, 2, 2), (3, 4, 8, 4), (4, 10, 52, 9), (5, 24, 472, 22), (6, 66, 5504, 53)],
)
def test_published_counts_of_arrangements(parts: int, equal: int, different: int, resistances: int) -> None:
    alike = list_arrangements((parts,))
    assert len(alike.whole) == equal
    assert len(list_arrangements((1,) * parts).whole) == different
    one = Fraction(1)
    values = alike.find_resistances([one])  # type: ignore[list-item]
    assert len({values[step] for step in alike.whole}) == resistances


@pytest.mark.parametrize("counts", [(3,), (2, 1), (2, 2), (1, 1, 1, 1), (3, 2)])
def test_every_arrangement_is_another_and_is_found_again(counts: tuple[int, ...]) -> None:
    arrangements = list_arrangements(counts)
    kinds = [kind for kind, number in enumerate(counts) for _ in range(number)]
    places = [[place for place, kind in enumerate(kinds) if kind == wanted] for wanted in range(len(counts))]
    ohms = [3.0 * (kind + 1) + kind * kind for kind in kinds]
    values = arrangements.find_resistances([3.0 * (kind + 1) + kind * kind for kind in range(len(counts))])
    seen = set()
    for step in arrangements.whole:
        network = arrangements.make_network(step, places)
        assert sorted(list_numbers(network)) == list(range(len(kinds)))
        assert find_step(network, kinds, counts) == step
        assert find_resistance(network, ohms) == pytest.approx(values[step])
        seen.add(network)
    assert len(seen) == len(arrangements.whole)


@pytest.mark.parametrize("counts", [(), (0,), (7,), (4, 3), (-1, 2)])
def test_too_few_or_too_many_parts_are_refused(counts: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match="1 to 6 parts"):
        list_arrangements(counts)
