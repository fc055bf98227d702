"""The drawings of the speaker-load calculator: the wiring of a channel, and impedance against frequency."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from calculators.physics.dc_network import Network, Part
from calculators.physics.decibel import find_decibels
from calculators.physics.driver import Curve
from calculators.vocabulary.drawing import DASHES, LETTER_WIDTH, TEXT_HEIGHT, WIDTH, Canvas, Point
from calculators.vocabulary.showing import write_number, write_quantity
from calculators.vocabulary.units import System

_GAP = 12.0
_RAIL = 9.0
_MARGIN = 22.0
_LINE = 14.0


@dataclass(frozen=True, slots=True)
class SpeakerLabel:
    """What stands on one speaker: `name`, `nominal` in Ω, `power` in W, and whether that is too much."""

    name: str
    nominal: float
    power: float
    overloaded: bool


@dataclass(frozen=True, slots=True)
class _Layout:
    """How a network is laid out: `level` is True when the current runs from left to right.

    Distances `along` run with the current, `across` from branch to branch; `cell` is one speaker's
    width and height in pixels.
    """

    level: bool
    cell: tuple[float, float]

    def measure(self, network: Network) -> tuple[float, float]:
        """Return the size along and across the current, in pixels."""
        if isinstance(network, Part):
            return self.cell if self.level else (self.cell[1], self.cell[0])
        sizes = [self.measure(member) for member in network.members]
        gaps = _GAP * (len(sizes) - 1)
        if network.joined == "series":
            return (sum(size[0] for size in sizes) + gaps, max(size[1] for size in sizes))
        return (max(size[0] for size in sizes) + 2 * _RAIL, sum(size[1] for size in sizes) + gaps)

    def find_width(self, network: Network) -> float:
        """Return the width of the whole drawing, ends included."""
        along, across = self.measure(network)
        return (along if self.level else across) + 2 * _MARGIN

    def find_height(self, network: Network) -> float:
        """Return the height of the whole drawing, ends included."""
        along, across = self.measure(network)
        return (across if self.level else along) + 2 * _MARGIN

    def place(self, along: float, across: float) -> Point:
        """Return the point on the canvas."""
        return (along, across) if self.level else (across, along)


def draw_wiring(
    network: Network, labels: Sequence[SpeakerLabel], plus: str, minus: str, lead: str, system: System
) -> str:
    """Return the channel's circuit as SVG: series runs with the current, parallel branches lie side by side.

    The current runs across the page or down it, whichever fits and is shorter; where neither fits with
    the names, the speakers are numbered and the names stand in a list below.
    """
    lines = [_write_lines(label, system) for label in labels]
    widest = max(len(line) for group in lines for line in group)
    layout, numbered = _choose_layout(network, (widest * LETTER_WIDTH + 14, 3 * _LINE + 6)), False
    if layout.find_width(network) > WIDTH:
        widest = max(len(group[1]) for group in lines)
        layout, numbered = _choose_layout(network, (widest * LETTER_WIDTH + 8, 2 * _LINE + 6)), True
    legend = (
        [f"{number}  {' · '.join(group)}" for number, group in enumerate(lines, start=1)] if numbered else []
    )
    along, _ = layout.measure(network)
    width = max(WIDTH, layout.find_width(network))
    drawn = layout.find_height(network)
    top = 20.0
    canvas = Canvas(top + drawn + _LINE * len(legend) + 4, width)
    middle = (top + drawn / 2) if layout.level else width / 2
    start = (width - along) / 2 if layout.level else top + _MARGIN
    ends = (6.0, width - 6.0) if layout.level else (top + 6.0, top + drawn - 6.0)
    canvas.text((0, 13), lead)
    canvas.path([layout.place(ends[0], middle), layout.place(start, middle)])
    canvas.path([layout.place(start + along, middle), layout.place(ends[1], middle)])
    for end, words, last in ((ends[0], plus, False), (ends[1], minus, True)):
        canvas.dot(layout.place(end, middle), 3.5)
        x, y = layout.place(end, middle)
        if layout.level:
            canvas.text((width if last else 0, y - 9), words, anchor="end" if last else "start", bold=True)
        else:
            canvas.text((x + 9, y + 4), words, bold=True)
    shown = [(str(number), group[1]) for number, group in enumerate(lines, start=1)] if numbered else lines
    _draw_network(canvas, layout, network, (start, middle), shown, labels)
    for number, line in enumerate(legend):
        canvas.text((0, top + drawn + _LINE * number + 10), line)
    return canvas.render()


def _write_lines(label: SpeakerLabel, system: System) -> tuple[str, ...]:
    power = write_quantity(label.power, "power", system, 2)
    return (
        label.name,
        write_quantity(label.nominal, "resistance", system),
        f"{power} !" if label.overloaded else power,
    )


def _choose_layout(network: Network, cell: tuple[float, float]) -> _Layout:
    layouts = (_Layout(True, cell), _Layout(False, cell))
    fitting = [layout for layout in layouts if layout.find_width(network) <= WIDTH]
    if fitting:
        return min(fitting, key=lambda layout: layout.find_height(network))
    return min(layouts, key=lambda layout: layout.find_width(network))


def _draw_network(
    canvas: Canvas,
    layout: _Layout,
    network: Network,
    start: Point,
    lines: Sequence[tuple[str, ...]],
    labels: Sequence[SpeakerLabel],
) -> None:
    """Draw a network whose wire enters at `start` (along, across)."""
    along, across = start
    size = layout.measure(network)
    if isinstance(network, Part):
        _draw_speaker(canvas, layout, network.place, start, lines, labels)
    elif network.joined == "series":
        for number, member in enumerate(network.members):
            if number:
                canvas.path([layout.place(along - _GAP, across), layout.place(along, across)])
            _draw_network(canvas, layout, member, (along, across), lines, labels)
            along += layout.measure(member)[0] + _GAP
    else:
        side = across - size[1] / 2
        near, far = along, along + size[0]
        wires = []
        for member in network.members:
            length, breadth = layout.measure(member)
            wire = side + breadth / 2
            first = along + (size[0] - length) / 2
            canvas.path([layout.place(near, wire), layout.place(first, wire)])
            canvas.path([layout.place(first + length, wire), layout.place(far, wire)])
            _draw_network(canvas, layout, member, (first, wire), lines, labels)
            wires.append(wire)
            side += breadth + _GAP
        for rail in (near, far):
            canvas.path([layout.place(rail, wires[0]), layout.place(rail, wires[-1])])
            canvas.dot(layout.place(rail, across), 2.5)


def _draw_speaker(
    canvas: Canvas,
    layout: _Layout,
    place: int,
    start: Point,
    lines: Sequence[tuple[str, ...]],
    labels: Sequence[SpeakerLabel],
) -> None:
    width, height = layout.cell
    x, y = layout.place(*start)
    left, top = (x, y - height / 2) if layout.level else (x - width / 2, y)
    tone = "stop" if labels[place].overloaded else ""
    canvas.box((left, top), (width, height), tone, filled=True)
    for number, line in enumerate(lines[place]):
        canvas.text(
            (left + width / 2, top + TEXT_HEIGHT + 2 + number * _LINE),
            line,
            tone,
            anchor="middle",
            bold=number == 0,
        )


_X_STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1e3, 2e3, 5e3, 1e4, 2e4, 5e4, 1e5)
_Y_STEPS = (0.5, 1, 2, 3, 4, 5, 6, 8, 10, 15, 20, 30, 50, 100, 200, 500, 1000, 2000, 5000)


@dataclass(frozen=True, slots=True)
class Level:
    """A horizontal line in the impedance drawing: `label` and `value` in Ω, drawn in `tone`."""

    label: str
    value: float
    tone: str


def draw_impedance(curve: Curve, levels: Sequence[Level]) -> str:
    """Return impedance against frequency as SVG, both on logarithmic axes, with the lowest point marked."""
    height, left, right, top, bottom = 230.0, 38.0, 10.0, 24.0, 38.0
    canvas = Canvas(height)
    moduli = [point[1] for point in curve.points] + [level.value for level in levels] + [curve.lowest[1]]
    low, high = min(moduli) * 0.8, max(moduli) * 1.2
    first, last = curve.points[0][0], curve.points[-1][0]
    x_low, x_span = _find_decibels(first), _find_decibels(last) - _find_decibels(first)
    y_low, y_span = find_decibels(low), find_decibels(high) - find_decibels(low)

    def place_x(frequency: float) -> float:
        return left + (_find_decibels(frequency) - x_low) / x_span * (WIDTH - left - right)

    def place_y(modulus: float) -> float:
        return height - bottom - (find_decibels(modulus) - y_low) / y_span * (height - top - bottom)

    previous = -1e9
    for step in _X_STEPS:
        if first <= step <= last:
            x = place_x(step)
            canvas.line((x, top), (x, height - bottom), "soft", thick=0.6)
            label = f"{write_number(step / 1000)}k" if step >= 1000 else write_number(step)
            if x - previous > len(label) * LETTER_WIDTH + 6:
                canvas.text((x, height - bottom + 15), label, anchor="middle")
                previous = x
    previous = 1e9
    for step in _Y_STEPS:
        if low <= step <= high and previous - place_y(step) >= TEXT_HEIGHT + 2:
            previous = place_y(step)
            canvas.line((left, previous), (WIDTH - right, previous), "soft", thick=0.6)
            canvas.text((left - 5, previous + 4), write_number(step), anchor="end")
    place, modulus = curve.lowest
    lowest = f"● {write_quantity(modulus, 'resistance')} at {write_quantity(place, 'frequency')}"
    canvas.text((4, 13), "Impedance (Ω)")
    canvas.text((WIDTH - right, 13), f"lowest {lowest}", "one", anchor="end")
    canvas.text((WIDTH - right, height - 5), "Frequency (Hz)", anchor="end")
    taken: list[float] = []
    labels: list[tuple[float, Level]] = []
    for level in levels:
        y = place_y(level.value)
        canvas.line((left, y), (WIDTH - right, y), level.tone, dash=DASHES["two"], thick=1.2)
        words = y - 4
        while any(abs(words - other) < TEXT_HEIGHT for other in taken):
            words -= TEXT_HEIGHT
        taken.append(words)
        labels.append((words, level))
    # The curve's points lie in equal ratios, so that no logarithm is needed for them.
    across = (WIDTH - left - right) / (len(curve.points) - 1)
    canvas.path(
        [(left + across * n, place_y(point[1])) for n, point in enumerate(curve.points)], "one", thick=2
    )
    canvas.dot((place_x(place), place_y(modulus)), 4, "one")
    for words, level in labels:
        canvas.text((WIDTH - right - 3, words), level.label, level.tone, anchor="end", clear=True)
    return canvas.render()


@lru_cache(maxsize=64)
def _find_decibels(frequency: float) -> float:
    # The ends of the axis and its steps hardly ever change; only the curve does.
    return find_decibels(frequency)
