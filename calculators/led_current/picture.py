"""The pictures of led-current: voltage along the string, and the current over the pattern's time."""

import math
from collections.abc import Sequence

from calculators.led_current.feed import name_node
from calculators.led_current.ladder import UniformLadder
from calculators.notation.showing import Figure, say
from calculators.notation.units import System
from calculators.results.drawing import Axis, Mark, Series, draw_chart
from calculators.results.result import Picture

LEVEL_TONES = ("two", "three", "four")

POINTS = 60
"""Points of a line; more cannot be told apart on a phone."""


def draw_voltage(
    held: UniformLadder, falling: Sequence[float] | None, one_end: UniformLadder | None, floor: float
) -> Picture:
    """Return the picture of the voltage (V) at every LED, all channels on.

    `falling` holds the voltages of all nodes with currents that fall, where they differ; `one_end` is the
    same string fed at one end, for comparison.
    """
    lowest_led, lowest = held.find_lowest()

    def draw(system: System) -> str:
        nodes = _pick_nodes(held, lowest_led)
        series = [_trace("currents hold", nodes, held.find_voltages(nodes), "one")]
        if falling is not None:
            series.append(_trace("currents fall", nodes, [falling[node] for node in nodes], "two"))
        if one_end is not None:
            series.append(_trace("one end only", nodes, one_end.find_voltages(nodes), "three"))
        marks = [Mark("lowest wanted", floor), Mark("", held.supply, tone="soft")]
        for index, feed in enumerate(held.feeds):
            # One label speaks for all; several would cover each other and the lines.
            label = "" if index else "feed" if len(held.feeds) == 1 else f"{len(held.feeds)} feeds"
            marks.append(Mark(label, float(feed.node), across=False, tone="soft"))
        low = min(floor, *(volts for line in series for _, volts in line.points))
        # Room above the supply keeps the feeds' label off the lines.
        high = max(held.supply, floor)
        top = Axis("Voltage", "voltage", high=high + 0.15 * (high - low))
        # The string's two bare ends are nodes too, before the first LED and after the last.
        along = Axis("LED", "number", low=0.0, high=held.count + 1.0)
        return draw_chart(along, top, tuple(series), tuple(marks), system=system)

    return Picture(
        "voltage",
        "Voltage along the string, all channels on",
        say(
            "Line chart of the voltage from LED 1 to LED {count}. Fed at: {where}; the lowest point is "
            "{lowest} at LED {place}. The voltage wanted everywhere, {floor}, is a dashed line. Lines are "
            "cut at 0 V.",
            count=held.count,
            where=_name_feeds(held),
            lowest=Figure(lowest, "voltage"),
            place=lowest_led,
            floor=Figure(floor, "voltage"),
        ),
        draw,
    )


def draw_current(
    drawn: Sequence[float], frame_rate: float, average: float, high: float, peak: float, pattern: str
) -> Picture:
    """Return the picture of the current (A) over the simulated frames, `frame_rate` (Hz) of them a second."""

    def draw(system: System) -> str:
        end = len(drawn) / frame_rate
        series = [Series("", tuple((index / frame_rate, value) for index, value in _thin_out(drawn)))]
        levels: list[float] = []
        # From the top down; a level too near to one that is drawn shares its line.
        for label, level in (("all channels on", peak), ("99 % of frames", high), ("average", average)):
            if all(abs(level - other) > 0.08 * peak for other in levels):
                series.append(Series(label, ((0.0, level), (end, level)), LEVEL_TONES[len(levels)]))
                levels.append(level)
        # The labels stand in the free space after the last frame.
        time = Axis("Time", "time", high=1.9 * end)
        return draw_chart(time, Axis("Current", "current", low=0.0), tuple(series), system=system)

    return Picture(
        "current",
        "Current over the pattern",
        say(
            "Line chart of the current over {frames} frames of the pattern {pattern}, {time} long: "
            "{average} on average, at most {high} in 99 of 100 frames; all channels on would be {peak}.",
            frames=len(drawn),
            pattern=pattern,
            time=Figure(len(drawn) / frame_rate, "time"),
            average=Figure(average, "current"),
            high=Figure(high, "current"),
            peak=Figure(peak, "current"),
        ),
        draw,
    )


def _trace(label: str, nodes: Sequence[int], voltages: Sequence[float], tone: str) -> Series:
    # Voltages below zero mean that such currents cannot flow; the picture is cut there.
    points = tuple((node, max(0.0, voltage)) for node, voltage in zip(nodes, voltages, strict=True))
    return Series(label, points, tone)


def _name_feeds(held: UniformLadder) -> str:
    names = [name_node(feed.node, held.count) for feed in held.feeds]
    if len(names) == 1:
        return names[0]
    if len(names) == 2:
        return f"{names[0]} and {names[1]}"
    return f"{names[0]}, {names[-1]} and {len(names) - 2} more between"


def _pick_nodes(held: UniformLadder, lowest_led: int) -> list[int]:
    stride = math.ceil(held.count / POINTS)
    places = {*range(1, held.count + 1, stride), held.count, lowest_led}
    places.update(feed.node for feed in held.feeds if 1 <= feed.node <= held.count)
    return sorted(places)


def _thin_out(drawn: Sequence[float]) -> list[tuple[int, float]]:
    # Of each group of frames the largest current is kept: peaks must not vanish from the picture.
    stride = math.ceil(len(drawn) / (2 * POINTS))
    kept = []
    for start in range(0, len(drawn), stride):
        group = drawn[start : start + stride]
        best = max(group)
        kept.append((start + group.index(best), best))
    return kept
