"""The circuit solver against ngspice, numpy, textbook distributors, LED ladders, series-parallel networks."""

import math
import os
import random
import re
import shutil
import subprocess
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import count, pairwise
from pathlib import Path

import numpy as np
import pytest

from calculators.led_current.ladder import Feed, solve_falling, solve_uniform
from calculators.physics.circuit import (
    Circuit,
    CircuitError,
    CurrentLoad,
    CurveLoad,
    Element,
    Fault,
    Flow,
    PowerLoad,
    Reason,
    Resistor,
    Solution,
    Supply,
    solve_circuit,
)
from calculators.speaker_load.dc_network import Network, Part, find_currents, find_resistance, join


def solve(*elements: Element, faults: dict[str, Fault] | None = None) -> Solution:
    return solve_circuit(Circuit(elements, "0"), faults or {})


def read_flow(solution: Solution, name: str) -> tuple[float, float]:
    return solution.flows[name].voltage, solution.flows[name].current


def check_rest(circuit: Circuit, solution: Solution) -> None:
    """Currents at every node and all powers add up to nothing; voltages are the nodes' differences."""
    leaving = dict.fromkeys(solution.voltages, 0.0)
    strength = 1e-9 * (1 + max(abs(flow.current) for flow in solution.flows.values()))
    for element in circuit.elements:
        flow = solution.flows[element.name]
        leaving[element.start] += flow.current
        leaving[element.end] -= flow.current
        across = solution.voltages[element.start] - solution.voltages[element.end]
        assert flow.voltage == pytest.approx(across, rel=1e-9, abs=1e-9)
    assert list(leaving.values()) == pytest.approx([0.0] * len(leaving), abs=strength)
    powers = [flow.power for flow in solution.flows.values()]
    assert math.fsum(powers) == pytest.approx(0.0, abs=1e-9 * (1 + sum(map(abs, powers))))
    assert solution.voltages[circuit.ground] == 0.0


# V. K. Mehta, R. Mehta, Principles of Power System, example 13.1: 0.01 Ω/km per conductor, 300 V, loads of
# 100, 150, 200 and 50 A after 500, 500, 600 and 400 m. Printed: 295, 291, 288, 287.6 V.
MEHTA = ((500, 100), (500, 150), (600, 200), (400, 50))


@pytest.mark.parametrize("both_conductors", [False, True])
def test_distributor_of_the_textbook(both_conductors: bool) -> None:
    elements: list[Element] = [Supply("station", "+0", "-0", 300.0)]
    for place, (length, current) in enumerate(MEHTA):
        leads = (
            [("+", 1e-5 * length), ("-", 1e-5 * length)]
            if both_conductors
            else [("+", 2e-5 * length), ("-", 0)]
        )
        elements += [
            Resistor(f"{side}{place}", f"{side}{place}", f"{side}{place + 1}", r) for side, r in leads
        ]
        elements.append(CurrentLoad(f"load {place}", f"+{place + 1}", f"-{place + 1}", current))
    circuit = Circuit(tuple(elements), "-0")
    solution = solve_circuit(circuit)
    found = [solution.flows[f"load {place}"].voltage for place in range(4)]
    assert found == pytest.approx([295.0, 291.0, 288.0, 287.6], abs=1e-9)
    assert solution.flows["station"].current == pytest.approx(-500.0, rel=1e-12)
    check_rest(circuit, solution)


# Question on d.c. distribution in a published collection: 500 V, 2 km + 2 km of 0.02 Ω/km per conductor,
# 100 A and then 200 A. Printed: 476 V and 460 V.
def test_two_loads_of_a_published_question() -> None:
    solution = solve(
        Supply("station", "a", "0", 500.0),
        Resistor("first 2 km", "a", "b", 0.08),
        Resistor("second 2 km", "b", "c", 0.08),
        CurrentLoad("100 A", "b", "0", 100.0),
        CurrentLoad("200 A", "c", "0", 200.0),
    )
    assert solution.voltages == pytest.approx({"0": 0, "a": 500, "b": 476, "c": 460}, abs=1e-9)


# A lecture's distributor fed at both ends: 600 m, 220 V, 20, 40, 50 and 30 A at 100, 250, 400 and 500 m,
# 1 cm², 1.7 µΩ cm. By the sum of moments 61.67 A from the near end, lowest at 400 m: 215.69 V.
def test_distributor_fed_at_both_ends() -> None:
    elements: list[Element] = [Supply("near", "0 m", "0", 220.0), Supply("far", "600 m", "0", 220.0)]
    places = [0, 100, 250, 400, 500, 600]
    for start, end, current in zip(places, places[1:], [20.0, 40.0, 50.0, 30.0, 0.0], strict=False):
        elements.append(Resistor(f"to {end} m", f"{start} m", f"{end} m", 2 * 1.7e-4 * (end - start)))
        if current:
            elements.append(CurrentLoad(f"at {end} m", f"{end} m", "0", current))
    solution = solve(*elements)
    assert -solution.flows["near"].current == pytest.approx(61.67, abs=0.005)
    fed = {node: voltage for node, voltage in solution.voltages.items() if node != "0"}
    assert min(fed, key=fed.__getitem__) == "400 m"
    assert fed["400 m"] == pytest.approx(215.69, abs=0.005)


# A solved example (Millman's theorem): a node fed by 225 V through 5 Ω, 210/1, 230/1, 230/2 and 240/2.
# Printed: 225 V, and 0, -15, 5, 2.5, 7.5 A into the node.
def test_node_fed_by_five_supplies() -> None:
    feeds = [(225.0, 5.0), (210.0, 1.0), (230.0, 1.0), (230.0, 2.0), (240.0, 2.0)]
    solution = solve(*(Supply(f"feed {place}", "node", "0", *feed) for place, feed in enumerate(feeds)))
    assert solution.voltages["node"] == pytest.approx(225.0, rel=1e-12)
    given = [-flow.current for flow in solution.flows.values()]
    assert given == pytest.approx([0.0, -15.0, 5.0, 2.5, 7.5], abs=1e-9)


def draw_network(draw: random.Random, parts: int, values: list[float]) -> Network:
    """Return a series-parallel network of that many parts; their resistances are added to `values`."""
    if parts == 1:
        values.append(draw.uniform(0.1, 100.0))
        return Part(len(values) - 1)
    first = draw.randrange(1, parts)
    halves = [draw_network(draw, first, values), draw_network(draw, parts - first, values)]
    return join("series" if draw.random() < 0.5 else "parallel", halves)


def list_parts(
    network: Network, values: list[float], start: str, end: str, spare: "count[int]"
) -> list[Element]:
    if isinstance(network, Part):
        return [Resistor(str(network.number), start, end, values[network.number])]
    nodes = [start, *(f"n{next(spare)}" for _ in network.members[1:]), end]
    spans = pairwise(nodes) if network.joined == "series" else [(start, end)] * len(network.members)
    return [
        each
        for member, ends in zip(network.members, spans, strict=True)
        for each in list_parts(member, values, *ends, spare)
    ]


@pytest.mark.parametrize("fault", [None, "open", "short"])
@pytest.mark.parametrize("seed", range(20))
def test_series_parallel_networks(seed: int, fault: Fault | None) -> None:
    draw, values = random.Random(seed), list[float]()
    network = draw_network(draw, draw.randrange(2, 12), values)
    parts = list_parts(network, values, "a", "0", count())
    if fault:
        values[0] = math.inf if fault == "open" else 0.0
    beside = Resistor("beside", "a", "0", 50.0)
    solution = solve(
        CurrentLoad("given", "0", "a", 3.0), beside, *parts, faults={"0": fault} if fault else {}
    )
    whole = find_resistance(network, values)
    expected = 3.0 / (1 / whole + 1 / 50.0) if whole else 0.0
    assert solution.voltages["a"] == pytest.approx(expected, rel=1e-12)
    currents = [solution.flows[str(place)].current for place in range(len(values))]
    assert currents == pytest.approx(
        find_currents(network, values, 3.0 - expected / 50.0), rel=1e-9, abs=1e-12
    )


def list_string(length: int, segment: float, feeds: Sequence[Feed], led: Element) -> Circuit:
    """Return a string of LEDs at nodes 1 to `length`, with a bare end at either side, fed with 5 V."""
    elements: list[Element] = [Supply("supply", "plus", "return", 5.0)]
    elements += [
        Resistor(f"section {node}", f"n{node}", f"n{node + 1}", segment) for node in range(length + 1)
    ]
    elements += [Resistor(f"feed {feed.node}", "plus", f"n{feed.node}", feed.resistance) for feed in feeds]
    elements += [replace(led, name=f"LED {node}", start=f"n{node}") for node in range(1, length + 1)]
    return Circuit(tuple(elements), "return")


@pytest.mark.parametrize("seed", range(15))
def test_strings_of_leds(seed: int) -> None:
    draw = random.Random(seed)
    length, segment, current = draw.randrange(1, 150), draw.uniform(0.0005, 0.05), draw.uniform(0.001, 0.06)
    places = draw.sample(range(length + 2), min(length, draw.randrange(1, 5)))
    feeds = tuple(Feed(place, draw.choice((0.0, draw.uniform(0.001, 0.5)))) for place in sorted(places))
    if sum(not feed.resistance for feed in feeds) > 1:
        feeds = feeds[:1]
    held = list_string(length, segment, feeds, CurrentLoad("LED", "", "return", current))
    solution = solve_circuit(held)
    found = [solution.voltages[f"n{node}"] for node in range(length + 2)]
    ladder = solve_uniform(5.0, current, segment, length, feeds)
    assert found == pytest.approx(ladder.list_voltages(), rel=1e-9, abs=1e-9)
    given = [solution.flows[f"feed {feed.node}"].current for feed in feeds]
    assert given == pytest.approx(ladder.feed_currents, rel=1e-9, abs=1e-9)
    check_rest(held, solution)
    dark, full = 3.0, 4.1
    curve = CurveLoad("LED", "", "return", ((dark, 0.0), (full, current)))
    falling = list_string(length, segment, feeds, curve)
    solution = solve_circuit(falling)
    found = [solution.voltages[f"n{node}"] for node in range(length + 2)]
    assert found == pytest.approx(solve_falling(5.0, current, full, dark, segment, length, feeds), rel=1e-9)
    check_rest(falling, solution)


def draw_element(draw: random.Random, name: str, start: str, end: str, *, ideal: bool) -> Element:
    resistance = 0.0 if ideal and draw.random() < 0.3 else 10 ** draw.uniform(-2, 2)
    if draw.random() < 0.25:
        return Supply(name, start, end, draw.uniform(-24, 24), resistance)
    return Resistor(name, start, end, resistance)


def draw_linear(draw: random.Random) -> list[Element]:
    """Return supplies and resistors between up to nine nodes and the ground, everything in one piece."""
    nodes, elements = ["0"], list[Element]([])
    for number in range(1, draw.randrange(3, 10)):
        name = f"tree {number}"
        elements.append(draw_element(draw, name, f"n{number}", draw.choice(nodes), ideal=True))
        nodes.append(f"n{number}")
    elements.append(Supply("main", "n1", "0", draw.uniform(5, 24), draw.uniform(0.01, 1.0)))
    for number in range(draw.randrange(1, 8)):
        elements.append(draw_element(draw, f"extra {number}", *draw.sample(nodes, 2), ideal=False))
    return elements


def draw_load(draw: random.Random, name: str, elements: list[Element]) -> Element | None:
    """Return a load that the network can about feed, or None between two nodes with hardly a voltage."""
    start, end = draw.sample(sorted({node for each in elements for node in (each.start, each.end)}), 2)
    usual = solve(*elements).voltages
    voltage = usual[start] - usual[end]
    if voltage < 0:
        start, end, voltage = end, start, -voltage
    if voltage < 0.5:
        return None
    probed = solve(*elements, CurrentLoad("probe", start, end, 1.0)).voltages
    resistance = max(voltage - (probed[start] - probed[end]), 0.05)
    most = voltage / resistance
    match draw.randrange(3):
        case 0:
            return CurrentLoad(name, start, end, draw.uniform(-0.3, 0.3) * most)
        case 1:
            lowest = draw.choice((0.0, draw.uniform(0.5, 0.95) * voltage))
            return PowerLoad(name, start, end, draw.uniform(0.1, 0.9) * voltage * most / 4, lowest)
    volts = [draw.uniform(-0.2, 0.6) * voltage]
    amperes = [draw.choice((0.0, draw.uniform(-0.2, 0.2) * most))]
    for _ in range(draw.randrange(1, 4)):
        volts.append(volts[-1] + draw.uniform(0.1, 0.4) * voltage)
        # Now and then the current falls, less steeply than the network's own resistance allows.
        amperes.append(amperes[-1] + draw.choice((0.3, 0.3, -0.01)) * draw.random() * most)
    return CurveLoad(name, start, end, tuple(zip(volts, amperes, strict=True)))


def draw_circuit(seed: int) -> tuple[Circuit, dict[str, Fault], Solution]:
    """Return a network of all kinds of elements with, now and then, a fault, and its solution."""
    draw = random.Random(seed)
    linear = draw_linear(draw)
    loads = [load for number in range(4) if (load := draw_load(draw, f"load {number}", linear))]
    fault: dict[str, Fault] = {}
    if draw.random() < 0.4:
        broken = draw.choice([each for each in linear if each.name.startswith("extra")])
        fault = {broken.name: "open" if draw.random() < 0.5 else "short"}
    while True:
        circuit = Circuit((*linear, *loads), "0")
        try:
            return circuit, fault, solve_circuit(circuit, fault)
        except CircuitError as error:
            if error.reason == "loop":
                fault = {}
            elif error.reason == "starved":
                loads = [load for load in loads if load.name != error.place]
            else:
                raise


SEEDS = range(240)


def write_netlist(circuit: Circuit, fault: dict[str, Fault], solution: Solution) -> str:
    """Return the network for ngspice, its elements numbered.

    A power load has two states of rest. Below half of its voltage without any power load it is a resistor
    here, so that the lower one is none.
    """
    unfed = [replace(each, power=0.0) if isinstance(each, PowerLoad) else each for each in circuit.elements]
    usual = solve_circuit(Circuit(tuple(unfed), circuit.ground), fault).flows
    lines = ["network"]
    for number, each in enumerate(circuit.elements):
        ends = f"{each.start} {each.end}"
        across = f"v({each.start},{each.end})" if each.end != "0" else f"v({each.start})"
        across = f"(-v({each.end}))" if each.start == "0" else across
        match each:
            case _ if each.name in fault:
                lines += [f"V{number} {ends} 0"] if fault[each.name] == "short" else []
            case Resistor(resistance=resistance) if resistance:
                lines.append(f"R{number} {ends} {resistance!r}")
            case Resistor():
                lines.append(f"V{number} {ends} 0")
            case Supply(voltage=voltage, resistance=resistance) if resistance:
                lines += [f"V{number} {each.start} i{number} {voltage!r}"]
                lines += [f"R{number} i{number} {each.end} {resistance!r}"]
            case Supply(voltage=voltage):
                lines.append(f"V{number} {ends} {voltage!r}")
            case CurrentLoad(current=current):
                lines.append(f"I{number} {ends} {current!r}")
            case PowerLoad(power=power) if each.name not in solution.off:
                half = min(usual[each.name].voltage / 2, 0.9 * solution.flows[each.name].voltage)
                law = f"{across} > {half!r} ? {power!r}/{across} : {power / half**2!r}*{across}"
                lines.append(f"B{number} {ends} I = {law}")
            case CurveLoad(points=points):
                pieces = [
                    f"{(high - low) / (right - left)!r}*(min(max({across},{left!r}),{right!r})-({left!r}))"
                    for (left, low), (right, high) in pairwise(points)
                ]
                lines.append(f"B{number} {ends} I = {' + '.join([f'({points[0][1]!r})', *pieces])}")
    lines.append(".options reltol=1e-10 vntol=1e-12 abstol=1e-14 itl1=2000")
    curves = [each.points for each in circuit.elements if isinstance(each, CurveLoad)]
    if any(high < low for points in curves for (_, low), (_, high) in pairwise(points)):
        # Started from nothing, it jumps to and fro over the corners of falling curves for ever.
        near = (f"v({node})={0.98 * voltage!r}" for node, voltage in solution.voltages.items() if node != "0")
        lines.append(f".nodeset {' '.join(near)}")
    return "\n".join([*lines, ".end", ""])


def run_ngspice(netlists: Sequence[str], folder: Path) -> list[dict[str, float]]:
    """Return what ngspice, started once, finds as the operating point of each network."""
    program = os.environ.get("HANDBOOK_NGSPICE") or shutil.which("ngspice")
    assert program, "ngspice is needed for this test: install it or name it in HANDBOOK_NGSPICE"
    commands = ["all", ".control", "set numdgt=15"]
    for number, netlist in enumerate(netlists):
        (folder / f"{number}.cir").write_text(netlist)
        commands += [
            f"source {number}.cir",
            f"echo network {number}",
            "op",
            "print all",
            "destroy all",
            "remcirc",
        ]
    (folder / "all.cir").write_text("\n".join([*commands, "quit", ".endc", ".end", ""]))
    run = subprocess.run(
        [program, "-b", "all.cir"], cwd=folder, capture_output=True, text=True, timeout=120, check=False
    )
    answers = re.split(r"^network \d+$", run.stdout, flags=re.MULTILINE)[1:]
    return [
        {name: float(value) for name, value in re.findall(r"^(\S+) = (\S+)$", answer, re.MULTILINE)}
        for answer in answers
    ]


def test_generated_networks_against_ngspice(tmp_path: Path) -> None:
    networks = [draw_circuit(seed) for seed in SEEDS]
    answers = run_ngspice([write_netlist(*network) for network in networks], tmp_path)
    assert len(answers) == len(networks)
    met: Counter[str] = Counter()
    for seed, (circuit, fault, solution), answer in zip(SEEDS, networks, answers, strict=True):
        check_rest(circuit, solution)
        for name, voltage in solution.voltages.items():
            if name != "0":
                assert answer[name] == pytest.approx(voltage, rel=1e-6, abs=1e-9), (seed, name)
        for number, (name, flow) in enumerate(solution.flows.items()):
            if f"v{number}#branch" in answer:
                assert answer[f"v{number}#branch"] == pytest.approx(flow.current, rel=1e-6, abs=1e-8), (
                    seed,
                    name,
                )
        met.update(
            type(each).__name__ for each in circuit.elements if each.name not in {*fault, *solution.off}
        )
        met.update([*fault.values(), *("off" for _ in solution.off)])
    assert all(
        met[kind] >= 20
        for kind in ("Resistor", "Supply", "CurrentLoad", "PowerLoad", "CurveLoad", "open", "short", "off")
    ), met


@pytest.mark.parametrize("seed", range(40))
def test_linear_networks_against_numpy(seed: int) -> None:
    elements = draw_linear(random.Random(seed))
    solution = solve(*elements)
    # Modified nodal analysis as in textbooks: voltages and the current of every element are unknown.
    nodes = {name: row for row, name in enumerate(solution.voltages)}
    size = len(nodes) + len(elements)
    matrix, right = np.zeros((size, size)), np.zeros(size)
    matrix[0, 0] = 1.0
    for row, each in enumerate(elements, len(nodes)):
        assert isinstance(each, Resistor | Supply)
        for node, sign in ((nodes[each.start], 1.0), (nodes[each.end], -1.0)):
            matrix[row, node] = sign
            if node:
                matrix[node, row] = sign
        matrix[row, row], right[row] = -each.resistance, each.voltage
    expected = np.linalg.solve(matrix, right).tolist()
    strength = 1e-9 * max(map(abs, expected))
    found = [*solution.voltages.values(), *(flow.current for flow in solution.flows.values())]
    assert found == pytest.approx(expected, rel=1e-9, abs=strength)


def silence(element: Element) -> Element:
    if isinstance(element, Supply):
        return replace(element, voltage=0.0)
    return replace(element, current=0.0) if isinstance(element, CurrentLoad) else element


@pytest.mark.parametrize("seed", range(20))
def test_effects_of_sources_add_up(seed: int) -> None:
    elements = draw_linear(random.Random(seed))
    elements.append(CurrentLoad("held", "n1", "n2", 1.5))
    together = solve(*elements)
    apart = [
        solve(*(each if each is source else silence(each) for each in elements))
        for source in elements
        if not isinstance(source, Resistor)
    ]
    for name, voltage in together.voltages.items():
        assert voltage == pytest.approx(math.fsum(one.voltages[name] for one in apart), rel=1e-9, abs=1e-9)
    for name, flow in together.flows.items():
        total = math.fsum(one.flows[name].current for one in apart)
        assert flow.current == pytest.approx(total, rel=1e-8, abs=1e-8)


@pytest.mark.parametrize("seed", range(20))
def test_names_change_no_digit(seed: int) -> None:
    circuit, fault, solution = draw_circuit(seed)
    names = dict(
        zip(solution.voltages, random.Random(seed).sample(range(100), len(solution.voltages)), strict=True)
    )
    renamed = tuple(
        replace(each, name=f"* {each.name}", start=f"{names[each.start]}", end=f"{names[each.end]}")
        for each in circuit.elements
    )
    again = solve_circuit(
        Circuit(renamed, f"{names['0']}"), {f"* {name}": kind for name, kind in fault.items()}
    )
    assert list(again.voltages.values()) == list(solution.voltages.values())
    assert list(again.flows.values()) == list(solution.flows.values())


def find_error(*elements: Element, faults: dict[str, Fault] | None = None) -> tuple[Reason, str]:
    with pytest.raises(CircuitError) as caught:
        solve(*elements, faults=faults)
    assert f"“{caught.value.place}”" in str(caught.value)
    return caught.value.reason, caught.value.place


BATTERY = Supply("battery", "plus", "0", 12.0, 0.1)
LEAD = Resistor("lead", "plus", "board", 0.4)


def test_loops_without_resistance() -> None:
    wire = Resistor("wire", "plus", "board", 0.0)
    assert find_error(BATTERY, LEAD, wire, replace(wire, name="second wire")) == ("loop", "second wire")
    assert find_error(Supply("one", "a", "0", 5.0), Supply("two", "a", "0", 5.0)) == ("loop", "two")
    assert find_error(BATTERY, wire, LEAD, faults={"lead": "short"}) == ("loop", "lead")
    ring = [Resistor("a to b", "a", "b", 0.0), Resistor("b to 0", "b", "0", 0.0)]
    assert find_error(*ring, Supply("supply", "a", "0", 5.0)) == ("loop", "supply")
    solution = solve(*ring, Supply("supply", "a", "0", 5.0, 1e-6))
    assert solution.flows["a to b"].current == pytest.approx(5e6)


def test_a_held_current_that_is_cut_off() -> None:
    led = CurrentLoad("LED", "board", "0", 0.02)
    assert find_error(BATTERY, LEAD, led, faults={"lead": "open"}) == ("cut off", "LED")
    assert find_error(BATTERY, replace(LEAD, resistance=math.inf), led) == ("cut off", "LED")
    assert solve(BATTERY, replace(LEAD, resistance=1e6), led).voltages["board"] < 0
    # A part of its own: its current has no way back.
    floating = [Resistor("left", "a", "b", 1.0), Resistor("right", "b", "a", 2.0)]
    assert find_error(BATTERY, *floating, replace(led, start="plus", end="a")) == ("cut off", "LED")
    solution = solve(BATTERY, *floating, replace(led, start="plus", end="a", current=0.0))
    assert solution.voltages == {"0": 0.0, "plus": 12.0, "a": 12.0, "b": 12.0}


def test_a_converter_that_is_cut_off() -> None:
    converter = PowerLoad("converter", "board", "0", 10.0)
    assert find_error(BATTERY, LEAD, converter, faults={"lead": "open"}) == ("cut off", "converter")
    solution = solve(BATTERY, LEAD, replace(converter, lowest_voltage=6.0), faults={"lead": "open"})
    assert solution.off == ("converter",)
    assert solution.voltages == {"0": 0.0, "plus": 12.0, "board": 0.0}
    assert solution.flows["converter"] == Flow(0.0, 0.0)
    assert solution.flows["lead"] == Flow(12.0, 0.0)
    assert solve(BATTERY, LEAD, replace(converter, power=0.0), faults={"lead": "open"}).off == ()


# A source of voltage E behind R gives E²/4R at most, to a load of R (maximum power transfer): 72 W here.
@pytest.mark.parametrize("power", [0.0, 1.0, 40.0, 71.9, 71.999999])
def test_power_that_the_source_can_give(power: float) -> None:
    solution = solve(BATTERY, LEAD, PowerLoad("converter", "board", "0", power))
    upper = 6.0 + math.sqrt(36.0 - 0.5 * power)
    assert solution.voltages["board"] == pytest.approx(upper, rel=1e-9)
    assert solution.flows["converter"].power == pytest.approx(power, rel=1e-9)
    assert solution.off == ()


def test_power_that_it_cannot_give() -> None:
    converter = PowerLoad("converter", "board", "0", 72.000001)
    assert find_error(BATTERY, LEAD, converter) == ("starved", "converter")
    for power in (
        100.0,
        144.0,
        200.0,
        1e9,
    ):  # at 144 W the first step would end at 0 V, where P/V has no value
        assert find_error(BATTERY, LEAD, replace(converter, power=power)) == ("starved", "converter")
    assert find_error(BATTERY, LEAD, replace(converter, start="0", end="board")) == ("starved", "converter")
    assert (
        find_error(BATTERY, LEAD, replace(converter, power=1.0), faults={"battery": "short"})[0] == "starved"
    )
    assert find_error(BATTERY, replace(converter, start="a"), Resistor("b", "a", "0", 1.0))[0] == "starved"
    # Of two, the one that asks too much of its lead is named, whichever comes first.
    strong = PowerLoad("strong", "plus", "0", 1.0)
    assert find_error(BATTERY, LEAD, strong, converter) == ("starved", "converter")
    assert find_error(BATTERY, LEAD, converter, strong) == ("starved", "converter")


@pytest.mark.parametrize("seed", range(60))
def test_what_starves_is_what_the_plain_iteration_finds_no_rest_for(seed: int) -> None:
    # Loads on a ladder: v = E - R·(P/v), from no load downwards, sinks to the upper rest, or through zero.
    draw = random.Random(seed)
    sections = [draw.uniform(0.05, 0.5) for _ in range(draw.randrange(1, 6))]
    powers = [draw.uniform(0.0, 80.0 / len(sections) ** 2) for _ in sections]
    reach = np.cumsum(sections)
    shared = np.minimum.outer(reach, reach)
    volts = np.full(len(sections), 12.0)
    for _ in range(20000):
        volts = 12.0 - shared @ (np.array(powers) / volts)
        if volts.min() <= 0:
            break
    nodes = ["plus", *(f"n{number}" for number in range(len(sections)))]
    elements: list[Element] = [Supply("supply", "plus", "0", 12.0)]
    for number, (start, end) in enumerate(pairwise(nodes)):
        elements.append(Resistor(f"section {number}", start, end, sections[number]))
        elements.append(PowerLoad(f"load {number}", end, "0", powers[number]))
    if volts.min() <= 0:
        assert find_error(*elements)[0] == "starved"
    else:
        found = [solve(*elements).voltages[node] for node in nodes[1:]]
        assert found == pytest.approx(volts.tolist(), rel=1e-7)


@pytest.mark.parametrize(("seed", "more"), [(68, 1.5), (1124, 2.0), (196, 3.0)])
def test_power_that_has_to_grow_in_parts(seed: int, more: float) -> None:
    circuit, fault, _ = draw_circuit(seed)
    elements = [
        replace(each, power=each.power * more, lowest_voltage=0.0) if isinstance(each, PowerLoad) else each
        for each in circuit.elements
    ]
    circuit = Circuit(tuple(elements), "0")
    solution = solve_circuit(circuit, fault)
    check_rest(circuit, solution)
    for load in elements:
        if isinstance(load, PowerLoad):
            assert solution.flows[load.name].power == pytest.approx(load.power, rel=1e-9)


def test_lowest_voltage_on_both_sides() -> None:
    # 40 W behind 0.5 Ω: the upper voltage is 10 V.
    converter = PowerLoad("converter", "board", "0", 40.0, 9.999999)
    solution = solve(BATTERY, LEAD, converter)
    assert solution.off == ()
    assert solution.voltages["board"] == pytest.approx(10.0, rel=1e-12)
    assert solve(BATTERY, LEAD, replace(converter, lowest_voltage=10.0)).off == ()
    solution = solve(BATTERY, LEAD, replace(converter, lowest_voltage=10.000001))
    assert (solution.off, solution.voltages["board"]) == (("converter",), 12.0)
    # More power than there is, and it goes off instead of being refused.
    assert solve(BATTERY, LEAD, replace(converter, power=72.1, lowest_voltage=5.0)).off == ("converter",)
    # Turned round, or without any voltage, it is off.
    assert solve(BATTERY, LEAD, replace(converter, start="0", end="board")).off == ("converter",)


def test_no_more_converters_go_off_than_have_to() -> None:
    one, two = PowerLoad("one", "board", "0", 40.0, 9.0), PowerLoad("two", "board", "0", 20.0, 8.5)
    # Together they draw the battery down to 8.4 V; 20 W leave 11.1 V, 40 W 10 V.
    assert solve(BATTERY, LEAD, one).off == solve(BATTERY, LEAD, two).off == ()
    solution = solve(BATTERY, LEAD, one, two)
    assert solution.off == ("one",)
    assert solution.voltages["board"] == pytest.approx(6.0 + math.sqrt(26.0), rel=1e-12)
    # The weakest is off first; as the next, heavy one goes, the first has its voltage again.
    heavy = PowerLoad("heavy", "board", "0", 500.0, 5.0)
    assert solve(BATTERY, LEAD, PowerLoad("early", "board", "0", 5.0, 11.0), heavy).off == ("heavy",)
    # One without a lowest voltage is fed first of all.
    always = PowerLoad("always", "board", "0", 65.0)
    assert solve(BATTERY, LEAD, one, always).off == ("one",)


def test_falling_curves() -> None:
    source = Supply("source", "a", "0", 14.0, 1.0)
    gentle = CurveLoad("curve", "a", "0", ((2.0, 0.0), (9.0, 4.0), (14.0, 1.5)))
    assert read_flow(solve(source, gentle), "curve") == pytest.approx((11.0, 3.0))
    # This one falls more steeply than the source, so that the only rest lies where it rises.
    steep = replace(gentle, points=((2.0, 0.0), (9.0, 20.0), (16.0, 0.0)))
    assert solve(source, steep).voltages["a"] == pytest.approx((14.0 + 40 / 7) / (1 + 20 / 7), rel=1e-9)


@pytest.mark.parametrize(
    ("voltage", "current"),
    [(-1.0, 0.1), (1.0, 0.1), (2.0, 0.1), (2.5, 0.2), (3.0, 0.3), (4.0, 0.8), (5.0, 1.3), (9.0, 1.3)],
)
def test_curves_between_and_beyond_their_points(voltage: float, current: float) -> None:
    curve = CurveLoad("curve", "a", "0", ((2.0, 0.1), (3.0, 0.3), (5.0, 1.3)))
    held = solve(Supply("held", "a", "0", voltage), curve)
    assert read_flow(held, "curve") == pytest.approx((voltage, current), rel=1e-12)
    behind = solve(Supply("held", "b", "0", voltage + 2 * current), Resistor("r", "b", "a", 2.0), curve)
    assert read_flow(behind, "curve") == pytest.approx((voltage, current), rel=1e-9)


def test_a_curve_that_gives() -> None:
    # A solar panel: 3 A up to 17 V, nothing at 21 V. 8 Ω take 2.25 A at 18 V, and 4 Ω 3 A at 12 V.
    panel = CurveLoad("panel", "a", "0", ((17.0, -3.0), (21.0, 0.0)))
    assert solve(panel, Resistor("load", "a", "0", 8.0)).voltages["a"] == pytest.approx(18.0, rel=1e-12)
    assert solve(panel, Resistor("load", "a", "0", 4.0)).voltages["a"] == pytest.approx(12.0, rel=1e-12)
    assert solve(panel, PowerLoad("load", "a", "0", 40.5)).voltages["a"] == pytest.approx(18.0, rel=1e-12)

    # The other way round, its voltages are below zero.
    turned = replace(panel, points=((-21.0, 0.0), (-17.0, 3.0)))
    assert solve(turned, PowerLoad("load", "0", "a", 40.5)).voltages["a"] == pytest.approx(-18.0, rel=1e-12)


@pytest.mark.parametrize("seed", [170, 417])
def test_corners_over_which_plain_steps_go_to_and_fro(seed: int) -> None:
    circuit, _, solution = draw_circuit(seed)
    check_rest(circuit, solution)


def test_no_state_of_rest() -> None:
    stubborn = CurveLoad("stubborn", "a", "0", ((0.0, 0.02), (5.0, 0.02)))
    assert find_error(BATTERY, stubborn) == ("no convergence", "a")
    assert solve(BATTERY, replace(stubborn, points=((0.0, 0.0), (5.0, 0.02)))).voltages["a"] == 0.0


def test_a_part_of_its_own() -> None:
    torch = (Supply("cell", "c", "d", 1.5), Resistor("bulb", "d", "c", 5.0))
    solution = solve(BATTERY, LEAD, *torch)
    assert solution.voltages == {"0": 0.0, "plus": 12.0, "board": 12.0, "c": 0.0, "d": -1.5}
    assert solution.flows["bulb"] == Flow(-1.5, -0.3)
    assert solution.flows["cell"] == Flow(1.5, -0.3)


@pytest.mark.parametrize("seed", range(50))
def test_currents_of_kiloamperes_in_a_part_that_is_hardly_held(seed: int) -> None:
    draw = random.Random(seed)
    elements: list[Element] = [Supply("cell", "a", "b", draw.uniform(1, 30), 10 ** draw.uniform(-5, -2))]
    for number in range(8):
        resistance = 10 ** draw.uniform(-5, -2)
        start, end = draw.sample("abcde", 2)
        elements.append(Resistor(f"bar {number}", start, end, resistance))
    solution = solve(*elements, Resistor("bleed", "b", "0", 10 ** draw.uniform(3, 8)))
    # All comes back on its own ways, and nothing through the ground.
    assert solution.flows["bleed"].current == pytest.approx(0.0, abs=1e-12)
    assert solution.voltages["b"] == pytest.approx(0.0, abs=1e-9)


def test_parallel_contacts_share_unequally() -> None:
    contacts = [Resistor("good", "plus", "board", 0.002), Resistor("worn", "plus", "board", 0.004)]
    load = CurrentLoad("load", "board", "0", 9.0)
    shares = solve(BATTERY, *contacts, load).flows
    assert [shares[name].current for name in ("good", "worn")] == pytest.approx([6.0, 3.0])
    alone = solve(BATTERY, *contacts, load, faults={"good": "open"}).flows
    assert [alone[name].current for name in ("good", "worn")] == [0.0, pytest.approx(9.0)]
    assert alone["good"].voltage == pytest.approx(0.036)
    bridged = solve(BATTERY, *contacts, load, faults={"good": "short"}).flows
    assert [bridged[name].current for name in ("good", "worn")] == [pytest.approx(9.0), 0.0]


@pytest.mark.parametrize(
    "element",
    [
        Resistor("x", "a", "0", -1e-9),
        Resistor("x", "a", "0", math.nan),
        Resistor("x", "a", "a", 1.0),
        Supply("x", "a", "0", math.inf),
        Supply("x", "a", "0", 5.0, -1e-9),
        Supply("x", "a", "0", 5.0, math.inf),
        CurrentLoad("x", "a", "0", math.nan),
        PowerLoad("x", "a", "0", -1e-9),
        PowerLoad("x", "a", "0", math.inf),
        PowerLoad("x", "a", "0", 1.0, -1e-9),
        PowerLoad("x", "a", "0", 1.0, math.inf),
        CurveLoad("x", "a", "0", ()),
        CurveLoad("x", "a", "0", ((1.0, 1.0),)),
        CurveLoad("x", "a", "0", ((1.0, 1.0), (1.0, 2.0))),
        CurveLoad("x", "a", "0", ((1.0, 1.0), (2.0, math.inf))),
        Element("x", "a", "0"),
        replace(LEAD, name="battery"),
    ],
)
def test_what_cannot_be_an_element(element: Element) -> None:
    with pytest.raises(ValueError, match=re.escape(f"{element}")):
        Circuit((BATTERY, element), "0")


def test_names_that_are_not_there() -> None:
    with pytest.raises(ValueError, match="'earth'"):
        Circuit((BATTERY,), "earth")
    with pytest.raises(ValueError, match="'fuse'"):
        solve(BATTERY, faults={"fuse": "open"})


@pytest.mark.parametrize(
    "led",
    [
        CurrentLoad("LED", "", "return", 0.02),
        PowerLoad("LED", "", "return", 0.05),
        CurveLoad("LED", "", "return", ((3.0, 0.0), (5.0, 0.02))),
    ],
    ids=lambda led: type(led).__name__,
)
def test_a_ladder_of_400_nodes(led: Element) -> None:
    circuit = list_string(400, 0.0004, [Feed(0, 0.01)], led)
    check_rest(circuit, solve_circuit(circuit))


def test_a_grid_of_200_rows() -> None:
    elements: list[Element] = [Supply("supply", "0 0", "0", 5.0)]
    for row in range(200):
        for column in range(5):
            here = f"{row} {column}"
            if column:
                elements.append(Resistor(f"along {here}", f"{row} {column - 1}", here, 0.01))
            if row:
                elements.append(Resistor(f"down {here}", f"{row - 1} {column}", here, 0.02))
            elements.append(CurrentLoad(f"load {here}", here, "0", 0.001))
    circuit = Circuit(tuple(elements), "0")
    solution = solve_circuit(circuit)
    check_rest(circuit, solution)
    assert solution.flows["supply"].current == pytest.approx(-1.0, rel=1e-9)
