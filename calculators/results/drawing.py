"""A small canvas that writes SVG for the results' pictures.

A canvas is 340 wide. On a 360-pixel-wide phone a picture gets some 294 pixels, so text that is 13 high here
is still 11 pixels high there, and nothing has to be zoomed at the bench. Ink takes the page's own text
colour, so that light and dark both work; meaning is carried by labels and dash patterns, never by colour
alone. Tones are CSS classes: "soft" (grids, outlines), "good", "caution", "stop", and "one", "two", "three"
for series.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Literal

from calculators.notation.errors import NotFiniteError
from calculators.notation.showing import choose_unit, convert_to, write_number
from calculators.notation.units import System
from calculators.results.escaping import escape

WIDTH = 340.0
TEXT_HEIGHT = 13.0
"""Of every text; smaller ones could not be read on a phone."""

LETTER_WIDTH = 7.0
"""Mean width of a letter, used to keep labels apart; text is never cut by it."""

_DIGIT_WIDTH = 8.0
"""Of a digit at most, in the widest of the usual fonts."""

_BOLD_WIDTH = 8.4
"""The same in bold type; the labels of lines stand close together, so the widest usual font counts."""

_GAP = 4.0
"""Between two labels of a chart on one level."""

type Anchor = Literal["start", "middle", "end"]
type Point = tuple[float, float]

DASHES = {"one": "", "two": "6 3", "three": "2 3", "four": "8 3 2 3"}


@dataclass
class Canvas:
    """Collects SVG elements; `render` returns the drawing. Coordinates grow right and down, in pixels."""

    height: float
    width: float = WIDTH
    parts: list[str] = field(default_factory=list)

    def line(self, start: Point, end: Point, tone: str = "", *, dash: str = "", thick: float = 1.5) -> None:
        """Draw a straight line."""
        self.path([start, end], tone, dash=dash, thick=thick)

    def path(self, points: Iterable[Point], tone: str = "", *, dash: str = "", thick: float = 1.5) -> None:
        """Draw an open line through the points."""
        # Written at once: a curve has a hundred points, and it is drawn anew at every keystroke.
        steps = " ".join([f"{x:.1f},{y:.1f}" for x, y in points]).replace(".0,", ",").replace(".0 ", " ")
        if "n" in steps:  # of “nan” or “inf”
            raise NotFiniteError("a line of a picture goes through no place")
        self.parts.append(
            f'<polyline points="{steps.removesuffix(".0")}" fill="none" stroke="currentColor"{_tone(tone)} '
            f'stroke-width="{_short(thick)}"{_dashes(dash)}/>'
        )

    def curve(self, start: Point, end: Point, tone: str = "", *, dash: str = "", thick: float = 2.0) -> None:
        """Draw a wire that leaves `start` and reaches `end` level, with an easy bend between."""
        middle = (start[0] + end[0]) / 2
        self.parts.append(
            f'<path d="M{_short(start[0])},{_short(start[1])} C{_short(middle)},{_short(start[1])} '
            f'{_short(middle)},{_short(end[1])} {_short(end[0])},{_short(end[1])}" fill="none" '
            f'stroke="currentColor"{_tone(tone)} stroke-width="{_short(thick)}"{_dashes(dash)}/>'
        )

    def box(
        self, corner: Point, size: Point, tone: str = "", *, filled: bool = False, round_by: float = 3
    ) -> None:
        """Draw a rectangle; `filled` tints it."""
        fill = 'fill="currentColor" fill-opacity="0.14"' if filled else 'fill="none"'
        self.parts.append(
            f'<rect x="{_short(corner[0])}" y="{_short(corner[1])}" width="{_short(size[0])}" '
            f'height="{_short(size[1])}" rx="{_short(round_by)}" {fill} stroke="currentColor"{_tone(tone)} '
            'stroke-width="1.5"/>'
        )

    def dot(self, centre: Point, radius: float = 3, tone: str = "", *, filled: bool = True) -> None:
        """Draw a disc, or a ring when not filled."""
        fill = "currentColor" if filled else "none"
        self.parts.append(
            f'<circle cx="{_short(centre[0])}" cy="{_short(centre[1])}" r="{_short(radius)}" fill="{fill}" '
            f'stroke="currentColor"{_tone(tone)}/>'
        )

    def text(
        self,
        place: Point,
        words: str,
        tone: str = "",
        *,
        anchor: Anchor = "start",
        bold: bool = False,
        clear: bool = False,
        within: float = math.inf,
    ) -> None:
        """Write one line of text with its baseline at `place`; the words are escaped here.

        `clear` keeps lines drawn before it off the letters; it is for text on the bare page. What might be
        wider than `within` pixels is set closer to fit. Nothing is drawn for no words.
        """
        if not words:
            return
        squeezed = ""
        if len(words) * (_BOLD_WIDTH if bold else LETTER_WIDTH) > within:
            squeezed = f' textLength="{_short(within)}" lengthAdjust="spacingAndGlyphs"'
        weight = ' font-weight="600"' if bold else ""
        self.parts.append(
            f'<text x="{_short(place[0])}" y="{_short(place[1])}" font-size="{_short(TEXT_HEIGHT)}"'
            f' fill="currentColor"{_tone(tone, "clear" if clear else "")}'
            f' text-anchor="{anchor}"{weight}{squeezed}>{escape(words)}</text>'
        )

    def lay(self, layer: "Canvas") -> None:
        """Put a whole layer on top of what is drawn.

        A layer is an element of its own: one part more or less of it leaves the rest of a page alone.
        """
        self.parts.append(f"<g>{''.join(layer.parts)}</g>")

    def render(self) -> str:
        """Return the SVG element; its text alternative is set by whoever puts it on a page."""
        return (
            f'<svg class="sl-drawing" viewBox="0 0 {_short(self.width)} {_short(self.height)}" '
            f'width="{_short(self.width)}" height="{_short(self.height)}" '
            'aria-hidden="true" focusable="false">'
            f"{''.join(self.parts)}</svg>"
        )


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis of a chart: `label`, the `kind` of its values and, where wanted, fixed ends in SI units."""

    label: str
    kind: str
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Series:
    """One line of a chart: `label` stands near its end, `points` are SI, `tone` picks line and dash."""

    label: str
    points: tuple[Point, ...]
    tone: str = "one"


@dataclass(frozen=True, slots=True)
class Mark:
    """A level (`across`, horizontal) or a place (vertical) in a chart, with its label."""

    label: str
    value: float
    across: bool = True
    tone: str = "caution"


# Most fields leave a chart as it is, and a keystroke taken back brings the one before.
@lru_cache(maxsize=32)
def draw_chart(
    x: Axis,
    y: Axis,
    series: tuple[Series, ...],
    marks: tuple[Mark, ...] = (),
    *,
    system: System = "metric",
    height: float = 220,
) -> str:
    """Return a line chart as SVG, with round steps on both axes and each line labelled where it ends."""
    x_values = [point[0] for line in series for point in line.points] + [
        m.value for m in marks if not m.across
    ]
    y_values = [point[1] for line in series for point in line.points] + [m.value for m in marks if m.across]
    x_scale, y_scale = _scale_axis(x, x_values, system), _scale_axis(y, y_values, system)
    left, right, top, bottom = 48.0, 12.0, 24.0, 38.0
    canvas = Canvas(height)
    lines, numbers, curves, levels, names, ends = (Canvas(height) for _ in range(6))
    floor, ceiling = height - bottom, top
    wide, high = canvas.width - left - right, floor - ceiling
    x_low, x_span = x_scale.low, x_scale.high - x_scale.low
    y_low, y_span = y_scale.low, y_scale.high - y_scale.low

    def place_all(points: Iterable[Point]) -> list[Point]:
        x_factor, x_offset = x_scale.factor, x_scale.offset
        y_factor, y_offset = y_scale.factor, y_scale.offset
        return [
            (
                left + ((x - x_offset) / x_factor - x_low) / x_span * wide,
                floor - ((y - y_offset) / y_factor - y_low) / y_span * high,
            )
            for x, y in points
        ]

    for step in y_scale.steps:
        level = floor - (step - y_low) / y_span * high
        lines.line((left, level), (canvas.width - right, level), "soft", thick=0.6)
        numbers.text((left - 5, level + 4), write_number(step, 4), anchor="end")
    for step in x_scale.steps:
        across, number = left + (step - x_low) / x_span * wide, write_number(step, 4)
        lines.line((across, floor), (across, floor + 4), "soft", thick=1)
        # A long number under the chart's last step is moved in, so that it is not cut off.
        middle = min(across, canvas.width - len(number) * _DIGIT_WIDTH / 2)
        numbers.text((middle, floor + 16), number, anchor="middle")
    room, heading = _Room(floor), _name_axis(y, y_scale)
    canvas.text(room.find(len(heading) * LETTER_WIDTH, [(4, 13, "start")])[0], heading)
    canvas.text((canvas.width - right, height - 5), _name_axis(x, x_scale), anchor="end")
    for line in series:
        curves.path(place_all(line.points), line.tone, dash=DASHES.get(line.tone, ""), thick=2)
    # From the lowest up, so that labels that have to give way stand in the order of their lines.
    ended = [(place_all(line.points[-2:]), line) for line in reversed(series) if line.label]
    for tail, line in sorted(ended, key=lambda one: -one[0][-1][1]):
        width = len(line.label) * _BOLD_WIDTH
        place, anchor = room.find(width, _list_end_places(tail, width, canvas.width - right))
        ends.text(place, line.label, line.tone, anchor=anchor, bold=True, clear=True)
    for mark in marks:
        if mark.across:
            ((_, level),) = place_all([(x_values[0], mark.value)])
            levels.line((left, level), (canvas.width - right, level), mark.tone, dash="4 4", thick=1.2)
            places = _list_level_places(level, left, canvas.width - right)
        else:
            ((across, _),) = place_all([(mark.value, y_values[0])])
            levels.line((across, ceiling), (across, floor), mark.tone, dash="4 4", thick=1.2)
            places = _list_side_places(across, ceiling, floor)
        if mark.label:
            place, anchor = room.find(len(mark.label) * LETTER_WIDTH, places)
            names.text(place, mark.label, mark.tone, anchor=anchor, clear=True)
    for layer in (lines, numbers, curves, levels, names, ends):
        canvas.lay(layer)
    return canvas.render()


type _Place = tuple[float, float, Anchor]
"""Where a label may stand: x and y of its baseline in pixels, and which end of it is there."""


@dataclass
class _Room:
    """Keeps a chart's labels from covering each other; none stands below `lowest`, in pixels, or cut off."""

    lowest: float
    taken: list[tuple[float, float, float]] = field(default_factory=list)

    def find(self, width: float, places: Iterable[_Place]) -> tuple[Point, Anchor]:
        """Return the first place that is free for so many pixels, or the last, and take it."""
        for place in places:
            x, level, anchor = place
            left = x - width if anchor == "end" else x
            if self._is_free(left, left + width, level):
                break
        self.taken.append((left - _GAP, left + width + _GAP, level))
        return (x, level), anchor

    def _is_free(self, left: float, right: float, level: float) -> bool:
        if left < 0 or right > WIDTH or not TEXT_HEIGHT <= level <= self.lowest:
            return False
        for start, end, other in self.taken:
            if start < right and left < end and abs(level - other) < TEXT_HEIGHT:
                return False
        return True


def _list_end_places(tail: Sequence[Point], width: float, right: float) -> Iterator[_Place]:
    """Yield where a label `width` wide may stand at a line that ends with `tail`, the best place first."""
    x, y = tail[-1]
    if x + 5 + width > right:
        for off in (-5, -5 - TEXT_HEIGHT, -5 - 2 * TEXT_HEIGHT, 14, 14 + TEXT_HEIGHT, 14 + 2 * TEXT_HEIGHT):
            yield x - 2, y + off, "end"
    elif tail[0][1] == y:
        for row in (0, 1, -1, 2, -2):
            yield x + 5, y + 4 + TEXT_HEIGHT * row, "start"
    else:
        for row in range(4):
            yield x - 4, y - 5 - TEXT_HEIGHT * row, "start"


def _list_level_places(level: float, left: float, right: float) -> Iterator[_Place]:
    """Yield where the label of a level line may stand: above it if there is room."""
    for baseline in (level - 4, level + 14):
        yield left + 4, baseline, "start"
        yield right - 4, baseline, "end"


def _list_side_places(x: float, ceiling: float, floor: float) -> Iterator[_Place]:
    """Yield where the label of an upright line may stand: beside it, as far up as there is room."""
    for row in range(int((floor - ceiling) / TEXT_HEIGHT)):
        baseline = ceiling + 12 + TEXT_HEIGHT * row
        yield x + 4, baseline, "start"
        yield x - 4, baseline, "end"


@dataclass(frozen=True, slots=True)
class _Scale:
    low: float
    high: float
    steps: tuple[float, ...]
    factor: float
    offset: float
    symbol: str


def _scale_axis(axis: Axis, values: Sequence[float], system: System) -> _Scale:
    low = axis.low if axis.low is not None else min(values)
    high = axis.high if axis.high is not None else max(values)
    unit = choose_unit(max(abs(low), abs(high)), axis.kind, system)
    factor, offset, symbol = (unit.factor, unit.offset, unit.symbol) if unit else (1.0, 0.0, "")
    if unit:
        low, high = convert_to(low, unit), convert_to(high, unit)
    if high - low < 1e-9 * max(1.0, abs(high)):
        low, high = low - 0.5, high + 0.5
    step = _round_step((high - low) / 4)
    first = low if axis.low is not None else math.floor(low / step + 1e-9) * step
    last = high if axis.high is not None else math.ceil(high / step - 1e-9) * step
    start = math.ceil(first / step - 1e-9)
    steps = tuple(step * number for number in range(start, math.floor(last / step + 1e-9) + 1))
    return _Scale(first, last, steps, factor, offset, symbol)


def _round_step(rough: float) -> float:
    exponent = int(f"{rough:e}".partition("e")[2])
    decade = float(f"1e{exponent}")
    return next(decade * size for size in (1, 2, 2.5, 5, 10) if decade * size >= rough * (1 - 1e-9))


def _name_axis(axis: Axis, scale: _Scale) -> str:
    return f"{axis.label} ({scale.symbol})" if scale.symbol else axis.label


def _short(number: float) -> str:
    if not math.isfinite(number):
        raise NotFiniteError(f"a part of a picture stands at {number}")
    return f"{number:.1f}".removesuffix(".0")


def _tone(*tones: str) -> str:
    names = " ".join(f"sl-{tone}" for tone in tones if tone)
    return f' class="{names}"' if names else ""


def _dashes(dash: str) -> str:
    return f' stroke-dasharray="{dash}"' if dash else ""
