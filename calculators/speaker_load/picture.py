"""The pictures of speaker-load: the wiring of a channel, impedance and level against frequency."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from calculators.notation.showing import write_number, write_quantity
from calculators.notation.units import System
from calculators.numbers.decibel import find_decibels
from calculators.results.case import Wording, fill
from calculators.results.drawing import DASHES, LETTER_WIDTH, TEXT_HEIGHT, WIDTH, Canvas, Point
from calculators.results.result import Picture
from calculators.speaker_load.dc_network import Group, Network, Part
from calculators.speaker_load.driver import Curve
from calculators.speaker_load.network import write_network
from calculators.speaker_load.solve import Solved, SpeakerAtWork

_GAP = 12.0
_RAIL = 9.0
_TURN = 2 * _RAIL
_MARGIN = 22.0
_TERMINAL = 42.0
"""Beside a drawing from left to right: room for what the amplifier's terminals are called."""

_LINE = 15.0


def draw_pictures(case: Solved) -> tuple[Picture, ...]:
    """Return the wiring, and the impedance where it is known, with what they show in words."""
    labels = [
        read.label + " (over its rating)" * speaker.is_overloaded
        for read, speaker in zip(case.given.network.speakers, case.speakers, strict=True)
    ]
    plus, minus = _name_terminals(case)
    wiring = fill(
        f"Circuit from {plus} through the speakers to {minus}: {{network}}, which is {{drive.load:ohm}}.",
        case,
        words={"network": (Wording(write_network(case.given.network.tree, labels)),)},
    )
    pictures = [
        Picture("wiring", "The wiring of the channel", wiring, lambda system: draw_wiring(case, system))
    ]
    curve = case.curve
    if curve:
        impedance = fill(
            "Impedance of the whole network from {given.band_low:Hz} to {given.band_high:Hz}: it {falls}"
            "rises to about {curve.highest:ohm,2}. The amplifier allows {given.minimum_load:ohm}.",
            case,
            words={
                "falls": (
                    Wording(
                        "falls to {lowest_load:ohm} at {curve.lowest_place:Hz} and ",
                        lambda case: case.is_measured,
                    ),
                    Wording(""),
                )
            },
        )
        title = "Impedance against frequency"
        pictures.append(Picture("impedance", title, impedance, lambda system: draw_impedance(case, curve)))
    if len(case.levels) > 1:
        level = fill(
            "Level at 1 m with every speaker's own response flat: {level:dB} as reckoned, and "
            "{quietest_by:dB,2} less at {quietest_place:Hz}, where the speakers are quietest.",
            case,
        )
        title = "Level against frequency"
        pictures.append(Picture("levels", title, level, lambda system: draw_levels(case)))
    return tuple(pictures)


@dataclass(frozen=True, slots=True)
class _Layout:
    """How a network is laid out: `level` is True when the current runs from left to right.

    Distances `along` run with the current, `across` from branch to branch; `cell` is one speaker's
    width and height in pixels. A chain longer than its `room` (pixels along) is laid in several rows.
    """

    level: bool
    cell: tuple[float, float]
    room: float = math.inf

    def measure(self, network: Network, room: float) -> tuple[float, float]:
        """Return the size along and across the current, in pixels, with so much room along."""
        if isinstance(network, Part):
            return self.cell if self.level else (self.cell[1], self.cell[0])
        if network.joined == "series":
            rows = self.split(network, room)
            along, across = max(row.along for row in rows), sum(row.across for row in rows)
            turns = 2 * _TURN if len(rows) > 1 else 0
            return along + turns, across + _GAP * (len(rows) - 1)
        sizes = [self.measure(member, room - 2 * _RAIL) for member in network.members]
        gaps = _GAP * (len(sizes) - 1)
        return (max(size[0] for size in sizes) + 2 * _RAIL, sum(size[1] for size in sizes) + gaps)

    def split(self, chain: Group, room: float) -> list["_Row"]:
        """Return the rows in which a chain is laid; one where it fits."""
        whole = self._lay_row(chain.members, room)
        if whole.along <= room:
            return [whole]
        inside = room - 2 * _TURN
        rows: list[_Row] = []
        for member in chain.members:
            longer = self._lay_row([*(rows[-1].members if rows else ()), member], inside)
            if rows and longer.along <= inside:
                rows[-1] = longer
            else:
                rows.append(self._lay_row([member], inside))
        return rows

    def _lay_row(self, members: Sequence[Network], room: float) -> "_Row":
        sizes = [self.measure(member, room) for member in members]
        along = sum(size[0] for size in sizes) + _GAP * (len(sizes) - 1)
        return _Row(tuple(members), along, max(size[1] for size in sizes), room)

    def find_width(self, network: Network) -> float:
        """Return the width of the whole drawing, ends included."""
        along, across = self.measure(network, self.room)
        return along + 2 * _TERMINAL if self.level else across + 2 * _MARGIN

    def find_height(self, network: Network) -> float:
        """Return the height of the whole drawing, ends included."""
        along, across = self.measure(network, self.room)
        return (across if self.level else along) + 2 * _MARGIN

    def place(self, along: float, across: float) -> Point:
        """Return the point on the canvas."""
        return (along, across) if self.level else (across, along)


@dataclass(frozen=True, slots=True)
class _Row:
    """Members of a chain that lie in one row, the row's size, and the room each member has along."""

    members: tuple[Network, ...]
    along: float
    across: float
    room: float


def draw_wiring(case: Solved, system: System) -> str:
    """Return the channel's circuit as SVG: series runs with the current, parallel branches lie side by side.

    The current runs across the page or down it, whichever fits and is shorter; where neither fits with
    the names, the speakers are numbered and the names stand in a list below. Where that does not fit either,
    chains are laid in rows, as words are.
    """
    given, network = case.given, case.given.network.tree
    lines = [_write_lines(speaker, system) for speaker in case.speakers]
    widest = max(len(line) for group in lines for line in group)
    layout, numbered = _choose_layout(network, (widest * LETTER_WIDTH + 14, 3 * _LINE + 6)), False
    if layout.find_width(network) > WIDTH:
        widest = max(len(group[1]) for group in lines)
        layout, numbered = _choose_layout(network, (widest * LETTER_WIDTH + 8, 2 * _LINE + 6)), True
    if layout.find_width(network) > WIDTH:
        layout = _Layout(True, layout.cell, WIDTH - 2 * _TERMINAL)
    legend = (
        [f"{number}  {' · '.join(group)}" for number, group in enumerate(lines, start=1)] if numbered else []
    )
    along, _ = layout.measure(network, layout.room)
    width = max(WIDTH, layout.find_width(network))
    drawn = layout.find_height(network)
    top = 20.0
    canvas = Canvas(top + drawn + _LINE * len(legend) + 4, width)
    middle = (top + drawn / 2) if layout.level else width / 2
    start = (width - along) / 2 if layout.level else top + _MARGIN
    ends = (6.0, width - 6.0) if layout.level else (top + 6.0, top + drawn - 6.0)
    length = write_quantity(given.lead_length, "length", system)
    lead = f"lead {length} of {given.lead_gauge.label}, contacts in the loop: {given.contacts}"
    canvas.text((0, 13), lead, within=width)
    canvas.path([layout.place(ends[0], middle), layout.place(start, middle)])
    canvas.path([layout.place(start + along, middle), layout.place(ends[1], middle)])
    for end, words, last in zip(ends, _name_terminals(case), (False, True), strict=True):
        canvas.dot(layout.place(end, middle), 3.5)
        x, y = layout.place(end, middle)
        if layout.level:
            canvas.text((width if last else 0, y - 9), words, anchor="end" if last else "start", bold=True)
        else:
            canvas.text((x + 9, y + 4), words, bold=True)
    shown = [(str(number), group[1]) for number, group in enumerate(lines, start=1)] if numbered else lines
    pen = _Pen(canvas, layout, shown, case.speakers)
    pen.draw(network, (start, middle), layout.room)
    for number, line in enumerate(legend):
        canvas.text((0, top + drawn + _LINE * number + 10), line)
    return canvas.render()


def _name_terminals(case: Solved) -> tuple[str, str]:
    return ("out +", "out −") if case.given.bridge_tied else ("out", "ground")


def _write_lines(speaker: SpeakerAtWork, system: System) -> tuple[str, ...]:
    nominal = write_quantity(speaker.nominal, "resistance", system)
    power = write_quantity(speaker.power, "power", system, 2)
    return (speaker.name, nominal, f"{power} !" if speaker.is_overloaded else power)


def _choose_layout(network: Network, cell: tuple[float, float]) -> _Layout:
    layouts = (_Layout(True, cell), _Layout(False, cell))
    fitting = [layout for layout in layouts if layout.find_width(network) <= WIDTH]
    if fitting:
        return min(fitting, key=lambda layout: layout.find_height(network))
    return min(layouts, key=lambda layout: layout.find_width(network))


@dataclass(frozen=True, slots=True)
class _Pen:
    """Draws parts of a network: `lines` are what stands on its `speakers`, by number."""

    canvas: Canvas
    layout: _Layout
    lines: Sequence[tuple[str, ...]]
    speakers: Sequence[SpeakerAtWork]

    def draw(self, network: Network, start: Point, room: float) -> None:
        """Draw a network whose wire enters at `start` (along, across), with so much room along."""
        if isinstance(network, Part):
            self._draw_speaker(network.number, start)
        elif network.joined == "series":
            self._draw_chain(network, start, room)
        else:
            self._draw_branches(network, start, room)

    def _wire(self, *points: Point) -> None:
        self.canvas.path([self.layout.place(*point) for point in points])

    def _draw_chain(self, network: Group, start: Point, room: float) -> None:
        rows = self.layout.split(network, room)
        if len(rows) == 1:
            self._draw_row(rows[0], start)
            return
        along, across = start
        length, breadth = self.layout.measure(network, room)
        first, far = along + _TURN, along + length
        top = across - breadth / 2
        before = [(along, across)]
        for row in rows:
            wire = top + row.across / 2
            # The way in and out keeps outside the ways back from row to row, so that no wires cross.
            self._wire(*before, (before[-1][0], wire), (first, wire))
            end = self._draw_row(row, (first, wire))
            top += row.across + _GAP
            back = top - _GAP / 2
            before = [(end, wire), (far - _RAIL, wire), (far - _RAIL, back), (along + _RAIL, back)]
        self._wire((end, wire), (far, wire), (far, across))

    def _draw_row(self, row: _Row, start: Point) -> float:
        """Draw the members of a row one after the other and return where they end, along."""
        along, across = start
        for number, member in enumerate(row.members):
            if number:
                self._wire((along, across), (along + _GAP, across))
                along += _GAP
            self.draw(member, (along, across), row.room)
            along += self.layout.measure(member, row.room)[0]
        return along

    def _draw_branches(self, network: Group, start: Point, room: float) -> None:
        along, across = start
        length, breadth = self.layout.measure(network, room)
        inside = room - 2 * _RAIL
        side = across - breadth / 2
        near, far = along, along + length
        wires = []
        for member in network.members:
            long, wide = self.layout.measure(member, inside)
            wire = side + wide / 2
            first = along + (length - long) / 2
            self._wire((near, wire), (first, wire))
            self._wire((first + long, wire), (far, wire))
            self.draw(member, (first, wire), inside)
            wires.append(wire)
            side += wide + _GAP
        for rail in (near, far):
            self._wire((rail, wires[0]), (rail, wires[-1]))
            self.canvas.dot(self.layout.place(rail, across), 2.5)

    def _draw_speaker(self, index: int, start: Point) -> None:
        width, height = self.layout.cell
        x, y = self.layout.place(*start)
        left, top = (x, y - height / 2) if self.layout.level else (x - width / 2, y)
        tone = "stop" if self.speakers[index].is_overloaded else ""
        self.canvas.box((left, top), (width, height), tone, filled=True)
        for number, line in enumerate(self.lines[index]):
            spot = (left + width / 2, top + TEXT_HEIGHT + 2 + number * _LINE)
            self.canvas.text(spot, line, tone, anchor="middle", bold=number == 0)


_X_STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1e3, 2e3, 5e3, 1e4, 2e4, 5e4, 1e5)
_Y_STEPS = (0.5, 1, 2, 3, 4, 5, 6, 8, 10, 15, 20, 30, 50, 100, 200, 500, 1000, 2000, 5000)


_LEVEL_STEPS = (1, 2, 5, 10, 20, 50)
"""Decibels from line to line, of which the first that leaves room for the figures is taken."""


@dataclass(frozen=True, slots=True)
class _Frame:
    """A frame over frequencies in equal ratios, from `first` to `last` Hz; its measures are in pixels."""

    first: float
    last: float
    height: float = 230.0
    left: float = 38.0
    right: float = WIDTH - 14.0
    top: float = 24.0
    bottom: float = 192.0

    def place_x(self, frequency: float) -> float:
        """Return how far to the right a frequency lies."""
        low, high = _find_decibels(self.first), _find_decibels(self.last)
        return self.left + (_find_decibels(frequency) - low) / (high - low) * (self.right - self.left)

    def draw_frequencies(self, canvas: Canvas) -> None:
        """Draw the frequencies' axis with its figures."""
        previous = -1e9
        for step in _X_STEPS:
            if self.first <= step <= self.last:
                x = self.place_x(step)
                canvas.line((x, self.top), (x, self.bottom), "soft", thick=0.6)
                label = f"{write_number(step / 1000)}k" if step >= 1000 else write_number(step)
                if x - previous > len(label) * LETTER_WIDTH + 6:
                    canvas.text((x, self.bottom + 15), label, anchor="middle")
                    previous = x
        canvas.text((self.right, self.height - 5), "Frequency (Hz)", anchor="end")

    def draw_line(self, canvas: Canvas, y: float, label: str) -> None:
        """Draw a line across with its figure."""
        canvas.line((self.left, y), (self.right, y), "soft", thick=0.6)
        canvas.text((self.left - 5, y + 4), label, anchor="end")

    def draw_curve(self, canvas: Canvas, heights: Sequence[float]) -> None:
        """Draw a curve by its points' heights; they lie in equal ratios, so that no logarithm is needed."""
        across = (self.right - self.left) / (len(heights) - 1)
        canvas.path([(self.left + across * n, y) for n, y in enumerate(heights)], "one", thick=2)


def draw_impedance(case: Solved, curve: Curve) -> str:
    """Return impedance against frequency as SVG, both on logarithmic axes, with the lowest point marked."""
    frame = _Frame(curve.points[0][0], curve.points[-1][0])
    canvas = Canvas(frame.height)
    lines = (
        ("amplifier's smallest", case.given.minimum_load, "stop"),
        ("nominal", case.drive.load, "soft"),
    )
    moduli = [point[1] for point in (*curve.points, curve.lowest)] + [value for _, value, _ in lines]
    low, high = min(moduli) * 0.8, max(moduli) * 1.2
    y_low, y_span = find_decibels(low), find_decibels(high) - find_decibels(low)

    def place_y(modulus: float) -> float:
        return frame.bottom - (find_decibels(modulus) - y_low) / y_span * (frame.bottom - frame.top)

    frame.draw_frequencies(canvas)
    previous = 1e9
    for step in _Y_STEPS:
        if low <= step <= high and previous - place_y(step) >= TEXT_HEIGHT + 2:
            previous = place_y(step)
            frame.draw_line(canvas, previous, write_number(step))
    place, modulus = curve.lowest
    canvas.text((4, 13), "Impedance (Ω)")
    if case.is_measured:
        lowest = f"● {write_quantity(modulus, 'resistance')} at {write_quantity(place, 'frequency')}"
        canvas.text((frame.right, 13), f"lowest {lowest}", "one", anchor="end")
    taken: list[float] = []
    for _, value, tone in lines:
        y = place_y(value)
        canvas.line((frame.left, y), (frame.right, y), tone, dash=DASHES["two"], thick=1.2)
        words = y - 4
        while any(abs(words - other) < TEXT_HEIGHT for other in taken):
            words -= TEXT_HEIGHT
        taken.append(words)
    frame.draw_curve(canvas, [place_y(point[1]) for point in curve.points])
    if case.is_measured:
        canvas.dot((frame.place_x(place), place_y(modulus)), 4, "one")
    for words, (label, _, tone) in zip(taken, lines, strict=True):
        canvas.text((frame.right - 3, words), label, tone, anchor="end", clear=True)
    return canvas.render()


def draw_levels(case: Solved) -> str:
    """Return the level against frequency as SVG, with the quietest point marked."""
    frame = _Frame(case.levels[0][0], case.levels[-1][0])
    canvas = Canvas(frame.height)
    levels = [level for _, level in case.levels]
    low, high = math.floor(min(levels)) - 1, math.ceil(max(levels)) + 1

    def place_y(level: float) -> float:
        return frame.bottom - (level - low) / (high - low) * (frame.bottom - frame.top)

    frame.draw_frequencies(canvas)
    most = (frame.bottom - frame.top) / (TEXT_HEIGHT + 2)
    steps = next((step for step in _LEVEL_STEPS if high - low <= most * step), _LEVEL_STEPS[-1])
    for level in range(low + -low % steps, high + 1, steps):
        frame.draw_line(canvas, place_y(level), write_number(level))
    canvas.text((4, 13), "Level (dB)")
    quietest, place = min(levels), case.quietest_place
    lowest = f"● {write_quantity(quietest, 'level')} at {write_quantity(place, 'frequency')}"
    canvas.text((frame.right, 13), f"quietest {lowest}", "one", anchor="end")
    frame.draw_curve(canvas, [place_y(level) for level in levels])
    canvas.dot((frame.place_x(place), place_y(quietest)), 4, "one")
    return canvas.render()


@lru_cache(maxsize=64)
def _find_decibels(frequency: float) -> float:
    # The ends of the axis and its steps hardly ever change; only the curve does.
    return find_decibels(frequency)
