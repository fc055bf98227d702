"""A d.c. network at rest: its voltages and currents by nodal analysis, with faults where they are asked for.

Elements lead from node to node; both bear the caller's own names. A voltage is that of `start` above `end`,
a current flows through the element from `start` to `end`, a power is what the element takes: all powers
together are zero, and a supply that gives has a current and a power below zero.

Elements without resistance (wires, ideal supplies) join their nodes to groups with known heights, so that
only voltages are unknown. Groups are then eliminated by star-mesh transformation, those with the fewest
neighbours first: it needs no pivoting and, without falling loads, no subtraction. Loads that are no straight
line take Newton's method, damped. A load of constant power can rest at two voltages, the upper one stable;
from the unloaded network downwards the method meets it first (the monotone Newton iterations of J. M. Ortega
and W. C. Rheinboldt, Iterative Solution of Nonlinear Equations in Several Variables). Where it does not get
there at once, the power grows in parts.
"""

import math
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from itertools import pairwise
from operator import mul
from types import MappingProxyType
from typing import ClassVar, Literal, NamedTuple

type Fault = Literal["open", "short"]
type Reason = Literal["loop", "cut off", "starved", "no convergence"]
type Fed = Mapping[str, PowerLoad]

NO_FAULTS: Mapping[str, Fault] = MappingProxyType({})


class _Method(NamedTuple):
    """How exactly a network is solved; none of it is a limit that a circuit keeps or not."""

    most_rounds: int = 60
    settled: float = 1e-12
    """A step this small, as a share of the largest voltage, is the last one."""
    leak: float = 1e-9
    """What a level piece of a curve conducts beside its steepest one while a step is sought."""
    near_collapse: float = 0.01
    """How closely the power at which the network collapses is approached, to see which load starves."""


_METHOD = _Method()
_RESISTANCES: Mapping[Fault, float] = MappingProxyType({"open": math.inf, "short": 0.0})
_PROBLEMS: Mapping[Reason, str] = MappingProxyType(
    {
        "loop": "closes a loop in which nothing has a resistance: give one of its elements its real one",
        "cut off": "is to draw a fixed current or power, but nothing leads that to it and back",
        "starved": "is to draw more power than can reach it",
        "no convergence": "is the node where the currents still differ most: no state of rest was found",
    }
)


class CircuitError(ValueError):
    """The network has no solution.

    `reason` says why, and `place` where: the name of an element or, for "no convergence", of a node.
    """

    def __init__(self, reason: Reason, place: str) -> None:
        self.reason = reason
        self.place = place
        super().__init__(f"“{place}” {_PROBLEMS[reason]}")


@dataclass(frozen=True, slots=True)
class Element:
    """What every element has: a `name` of its own and the names of the nodes at its `start` and `end`."""

    name: str
    start: str
    end: str


@dataclass(frozen=True, slots=True)
class Resistor(Element):
    """A lead, contact, fuse or switch of `resistance` Ω; 0 is a plain wire and infinity is open."""

    resistance: float
    voltage: ClassVar[float] = 0.0


@dataclass(frozen=True, slots=True)
class Supply(Element):
    """A battery or supply: `voltage` (V) without load, its plus at `start`, and `resistance` within (Ω)."""

    voltage: float
    resistance: float = 0.0


@dataclass(frozen=True, slots=True)
class CurrentLoad(Element):
    """A load that holds `current` (A) at any voltage; one below zero at it means that it could not really."""

    current: float


@dataclass(frozen=True, slots=True)
class PowerLoad(Element):
    """A converter that draws `power` (W) at any voltage from `lowest_voltage` upwards, and is off below it.

    Without a lowest voltage it never switches off, and a network that cannot feed it has no solution.
    """

    power: float
    lowest_voltage: float = 0.0


@dataclass(frozen=True, slots=True)
class CurveLoad(Element):
    """A load of which `points` of voltage (V, rising) and current (A) are given; level beyond its ends."""

    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Circuit:
    """Elements, and the node from which voltages count. Raises ValueError for what cannot be an element.

    A part without any way to `ground` counts from the first of its nodes that was named; one that hangs only
    on loads without current, from their far side.
    """

    elements: tuple[Element, ...]
    ground: str

    def __post_init__(self) -> None:
        names = set()
        for element in self.elements:
            if element.name in names or element.start == element.end or not _is_possible(element):
                raise ValueError(f"a second one of its name, or no element that can be: {element}")
            names.add(element.name)
        if not any(self.ground in (element.start, element.end) for element in self.elements):
            raise ValueError(f"no element leads to the ground {self.ground!r}")


@dataclass(frozen=True, slots=True)
class Flow:
    """The `voltage` (V) from start to end of an element and the `current` (A) through it."""

    voltage: float
    current: float

    @property
    def power(self) -> float:
        """The power in W that the element takes; below zero, it gives."""
        return self.voltage * self.current


@dataclass(frozen=True, slots=True)
class Solution:
    """The `voltages` (V) by node, the `flows` by element, and the names of the power loads that are `off`."""

    voltages: Mapping[str, float]
    flows: Mapping[str, Flow]
    off: tuple[str, ...]


def solve_circuit(circuit: Circuit, faults: Mapping[str, Fault] = NO_FAULTS) -> Solution:
    """Solve a network whose elements in `faults` are taken away ("open") or replaced by a wire ("short").

    Of the power loads that cannot all be fed, the one goes off whose voltage is lowest beside its own lowest
    one, and then the next, until the others hold. Raises CircuitError where there is no solution, and
    ValueError for a fault of an element that is not there.
    """
    unknown = sorted(faults.keys() - {each.name for each in circuit.elements})
    if unknown:
        raise ValueError(f"no element is named {unknown[0]!r}")
    network = _Network(
        tuple(
            Resistor(each.name, each.start, each.end, _RESISTANCES[faults[each.name]])
            if each.name in faults
            else each
            for each in circuit.elements
        ),
        circuit.ground,
    )
    fed, off = network.hungry, []
    potentials, holds = network.feed_loads(fed)
    while not holds:
        off.append(network.find_weakest(potentials, fed))
        if not off[-1].lowest_voltage:
            raise CircuitError("starved", off[-1].name)
        fed = {name: load for name, load in fed.items() if load is not off[-1]}
        potentials, holds = network.feed_loads(fed)
    for load in off:  # what went off later may have been what this one lacked
        more = {**fed, load.name: load}
        found, holds = network.feed_loads(more)
        if holds:
            potentials, fed = found, more
    return network.describe(potentials, fed)


def _is_possible(element: Element) -> bool:
    match element:
        case Resistor(resistance=resistance):
            return resistance >= 0
        case Supply(voltage=voltage, resistance=resistance):
            return math.isfinite(voltage) and 0 <= resistance < math.inf
        case CurrentLoad(current=current):
            return math.isfinite(current)
        case PowerLoad(power=power, lowest_voltage=lowest):
            return 0 <= power < math.inf and 0 <= lowest < math.inf
        case CurveLoad(points=points):
            rising = all(left < right for (left, _), (right, _) in pairwise(points))
            return (
                len(points) > 1
                and rising
                and all(math.isfinite(number) for pair in points for number in pair)
            )
    return False


def _leads(element: Element) -> bool:
    """Return whether a current of any strength can find its way through."""
    is_open = isinstance(element, Resistor) and element.resistance == math.inf
    return not is_open and not isinstance(element, CurrentLoad | PowerLoad)


def _find_leak(element: Element) -> float:
    if not isinstance(element, CurveLoad):
        return 0.0
    pieces = pairwise(element.points)
    return _METHOD.leak * (
        max(abs((high - low) / (right - left)) for (left, low), (right, high) in pieces) or 1.0
    )


class _Levels:
    """Nodes joined to groups in which each has a known height in V above the leading one; node 0 leads."""

    def __init__(self, count: int) -> None:
        self.leaders = list(range(count))
        self.heights = [0.0] * count

    def find(self, node: int) -> tuple[int, float]:
        """Return the leading node of the group, and the height of `node` above it."""
        height = 0.0
        while self.leaders[node] != node:
            height += self.heights[node]
            node = self.leaders[node]
        return node, height

    def join(self, start: int, end: int, voltage: float = 0.0) -> bool:
        """Put `start` that voltage above `end`; return False, changing nothing, where one group has both."""
        (upper, above), (lower, below) = self.find(start), self.find(end)
        if upper == lower:
            return False
        height = below + voltage - above
        if upper == 0:
            upper, lower, height = lower, upper, -height
        self.leaders[upper], self.heights[upper] = lower, height
        return True


@dataclass(frozen=True, slots=True)
class _Span:
    """An element between two groups of nodes: its voltage is that of `upper` above `lower`, and `rise`."""

    element: Element
    upper: int
    lower: int
    rise: float
    leak: float

    def find_voltage(self, potentials: Sequence[float]) -> float:
        return potentials[self.upper] - potentials[self.lower] + self.rise

    def find_current(self, voltage: float, share: float, fed: Fed) -> tuple[float, float]:
        """Return the current, and by how much (S) it rises with the voltage; `fed` draw a share of power."""
        match self.element:
            case Resistor(resistance=resistance, voltage=own) | Supply(resistance=resistance, voltage=own):
                return (voltage - own) / resistance, 1 / resistance
            case CurrentLoad(current=current):
                return current, 0.0
            case PowerLoad(name=name, power=power) if name in fed:
                current = power * share / voltage
                return current, -current / voltage
            case CurveLoad(points=points):
                if not points[0][0] <= voltage <= points[-1][0]:
                    return points[0 if voltage < points[0][0] else -1][1], 0.0
                index = min(bisect_right(points, (voltage, math.inf)), len(points) - 1)
                (left, low), (right, high) = points[index - 1 : index + 1]
                slope = (high - low) / (right - left)
                return low + (voltage - left) * slope, slope
        return 0.0, 0.0

    def limit_change(self, voltage: float, change: float, fed: Fed) -> float:
        """Return the share of this change of voltage that may come at once.

        A load of constant power may lose half of its voltage, and a curve is not skipped as a whole.
        """
        match self.element:
            case PowerLoad(name=name) if name in fed and change < -voltage / 2:
                return -voltage / 2 / change
            case CurveLoad(points=((first, _), *_, (last, _))):
                if voltage < first and voltage + change > last:
                    return (last - voltage) / change
                if voltage > last and voltage + change < first:
                    return (first - voltage) / change
        return 1.0


class _Network:
    """A circuit with its groups of nodes, and its potentials at rest without any power load."""

    def __init__(self, elements: Sequence[Element], ground: str) -> None:
        names = (node for each in elements for node in (each.start, each.end))
        self.nodes = {node: number for number, node in enumerate(dict.fromkeys((ground, *names)))}
        self.ends = {each.name: (self.nodes[each.start], self.nodes[each.end]) for each in elements}
        self.ideal = [
            each for each in elements if isinstance(each, Resistor | Supply) and not each.resistance
        ]
        self.hungry = {each.name: each for each in elements if isinstance(each, PowerLoad) and each.power}
        self.power_loads = tuple(self.hungry)
        self.levels = self._join_groups(elements)
        ideal = {each.name for each in self.ideal}
        self.spans = {}
        for element in elements:
            if element.name not in ideal:
                (upper, above), (lower, below) = (self.levels[node] for node in self.ends[element.name])
                self.spans[element.name] = _Span(element, upper, lower, above - below, _find_leak(element))
        self.free = [span for span in self.spans.values() if span.upper != span.lower]
        self.largest = max((abs(each.voltage) for each in elements if isinstance(each, Supply)), default=0.0)
        self.unloaded = self._settle([0.0] * len(self.nodes), 1.0, {})

    def _join_groups(self, elements: Sequence[Element]) -> list[tuple[int, float]]:
        """Return the leading node and the height above it for each node; take out loads that are cut off."""
        levels, parts, ties = _Levels(len(self.nodes)), _Levels(len(self.nodes)), []
        for ideal in self.ideal:
            if not levels.join(*self.ends[ideal.name], ideal.voltage):
                raise CircuitError("loop", ideal.name)
        for element in elements:
            if _leads(element):
                parts.join(*self.ends[element.name])
        for load in elements:
            start, end = self.ends[load.name]
            if isinstance(load, CurrentLoad | PowerLoad) and parts.find(start)[0] != parts.find(end)[0]:
                if load.current if isinstance(load, CurrentLoad) else load.power and not load.lowest_voltage:
                    raise CircuitError("cut off", load.name)
                self.hungry.pop(load.name, None)
                ties.append((start, end))
        # What nothing holds at a voltage is put where the far side of its loads is, or else at the ground.
        for start, end in [*ties, *((node, 0) for node in self.nodes.values())]:
            if parts.join(start, end):
                levels.join(start, end)
        return [levels.find(node) for node in self.nodes.values()]

    def feed_loads(self, fed: Fed) -> tuple[list[float], bool]:
        """Return the groups' potentials with these power loads fed, and whether that holds.

        It does not where one has less than its lowest voltage or the network collapses; the potentials are
        then those shortly before.
        """
        potentials, reached, part = self.unloaded, 0.0, 1.0
        if any(self.spans[name].find_voltage(potentials) <= 0 for name in fed):
            return potentials, False
        while fed and reached < 1:
            try:
                potentials = self._settle(potentials, reached + part, fed)
                reached, part = reached + part, min(2 * part, 1 - reached - part)
            except CircuitError:
                part /= 2
                if part < max(_METHOD.near_collapse * reached, _METHOD.settled):
                    return potentials, False
        return potentials, all(
            self.spans[name].find_voltage(potentials) >= load.lowest_voltage * (1 - _METHOD.settled)
            for name, load in fed.items()
        )

    def find_weakest(self, potentials: Sequence[float], fed: Fed) -> PowerLoad:
        """Return the load that is nearest to going off or, where none ever does, that sags the most."""

        def rate(load: PowerLoad) -> float:
            span = self.spans[load.name]
            usual = load.lowest_voltage or span.find_voltage(self.unloaded)
            return span.find_voltage(potentials) / usual if usual > 0 else 0.0

        return min([load for load in fed.values() if load.lowest_voltage] or fed.values(), key=rate)

    def describe(self, potentials: Sequence[float], fed: Fed) -> Solution:
        """Return the solution by names; what ideal elements carry is what their nodes are left with."""
        flows, left, touching = {}, [0.0] * len(self.nodes), [dict[str, float]() for _ in self.nodes]
        for name, (start, end) in self.ends.items():
            if name in self.spans:
                voltage = self.spans[name].find_voltage(potentials)
                flows[name] = Flow(voltage, self.spans[name].find_current(voltage, 1.0, fed)[0])
                left[start] -= flows[name].current
                left[end] += flows[name].current
        for ideal in self.ideal:
            for node in self.ends[ideal.name]:
                touching[node][ideal.name] = ideal.voltage
        # They form no loop: while one is left, some node touches only one.
        outer = [node for node, names in enumerate(touching) if len(names) == 1]
        for node in outer:
            while touching[node]:
                name, voltage = touching[node].popitem()
                other = sum(self.ends[name]) - node
                touching[other].pop(name)
                flows[name] = Flow(voltage, left[node] if node == self.ends[name][0] else 0.0 - left[node])
                left[other] += left[node]
                if len(touching[other]) == 1:
                    outer.append(other)
        return Solution(
            {
                name: potentials[self.levels[node][0]] + self.levels[node][1]
                for name, node in self.nodes.items()
            },
            {name: flows[name] for name in self.ends},
            tuple(name for name in self.power_loads if name not in fed),
        )

    def _settle(self, start: Sequence[float], share: float, fed: Fed) -> list[float]:
        """Return the potentials at which all currents balance. Raises CircuitError where none are found."""
        potentials = list(start)
        leaving, slopes = self._sum_currents(potentials, share, fed)
        for _ in range(_METHOD.most_rounds):
            step = self._find_step(leaving, slopes)
            if step is None:
                break
            settled = max(map(abs, step)) <= _METHOD.settled * max(self.largest, *map(abs, potentials))
            part = 1.0
            for span in self.free:
                change = step[span.upper] - step[span.lower]
                part = min(part, span.limit_change(span.find_voltage(potentials), change, fed))
            steepness = sum(map(mul, leaving, step))
            while True:
                moved = [potential + part * each for potential, each in zip(potentials, step, strict=True)]
                leaving, slopes = self._sum_currents(moved, share, fed)
                # Further on, the currents must not push back with more than half the strength of before.
                if settled or part < _METHOD.settled or sum(map(mul, leaving, step)) <= -steepness / 2:
                    break
                part /= 2
            potentials = moved
            if settled:
                return potentials
        worst = max(range(len(leaving)), key=lambda node: abs(leaving[node]))
        raise CircuitError("no convergence", tuple(self.nodes)[worst])

    def _sum_currents(
        self, potentials: Sequence[float], share: float, fed: Fed
    ) -> tuple[list[float], list[float]]:
        """Return the current that leaves each group, none for that of the ground, and each span's slope."""
        leaving, slopes = [list[float]() for _ in self.nodes], []
        for span in self.free:
            current, slope = span.find_current(span.find_voltage(potentials), share, fed)
            leaving[span.upper].append(current)
            leaving[span.lower].append(-current)
            slopes.append(slope)
        # Exact sums: what currents of kA leave by rounding would lift a part that is hardly held.
        return [0.0, *map(math.fsum, leaving[1:])], slopes

    def _find_step(self, leaving: Sequence[float], slopes: Sequence[float]) -> list[float] | None:
        """Return the changes of potential that straight lines promise; None where they lead to no rest."""
        for falling in (True, False):  # where a falling curve is unstable, it is taken as level
            rows = [dict[int, float]() for _ in self.nodes]
            for span, slope in zip(self.free, slopes, strict=True):
                level = not slope or (slope < 0 < span.leak and not falling)
                conductance = span.leak if level else slope
                if conductance:
                    joined = rows[span.upper].get(span.lower, 0.0) + conductance
                    rows[span.upper][span.lower] = rows[span.lower][span.upper] = joined
            step = _solve_mesh(rows, [-current for current in leaving])
            if step is not None:
                return step
        return None


def _solve_mesh(rows: Sequence[dict[int, float]], entering: list[float]) -> list[float] | None:
    """Return the potentials above node 0 of a mesh; None where a node would not hold its own.

    `rows` are the neighbours of each node and what leads there (S), `entering` is the current into each (A).
    Both are used up: a node is taken out and its star replaced by a mesh between its neighbours.
    """
    waiting = [(len(row), node) for node, row in enumerate(rows) if row and node]
    heapify(waiting)
    stars = []
    while waiting:
        degree, node = heappop(waiting)
        star = tuple(rows[node].items())
        if degree != len(star):
            continue
        total = sum(rows[node].values())
        if total <= 0:
            return None
        stars.append((node, total, star))
        rows[node].clear()
        for index, (here, conductance) in enumerate(star):
            row, share = rows[here], conductance / total
            entering[here] += entering[node] * share
            row.pop(node)
            for there, other in star[index + 1 :]:
                row[there] = rows[there][here] = row.get(there, 0.0) + share * other
            if here:
                heappush(waiting, (len(row), here))
    potentials = [0.0] * len(rows)
    for node, total, star in reversed(stars):
        flow = entering[node] + sum(conductance * potentials[there] for there, conductance in star)
        potentials[node] = flow / total
    return potentials
