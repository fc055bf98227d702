"""The pictures of led-current: voltage along the string, and the current over the pattern's time."""

import math
from collections.abc import Sequence

from calculators.led_current.solve import Solved
from calculators.notation.units import System
from calculators.results.case import Wording, fill
from calculators.results.drawing import Axis, Mark, Series, draw_chart
from calculators.results.result import Picture

LEVEL_TONES = ("two", "three", "four")

POINTS = 60
"""Points of a line; more cannot be told apart on a phone."""


def draw_pictures(case: Solved) -> tuple[Picture, ...]:
    """Return both pictures with what they show in words."""
    voltage = fill(
        "Line chart of the voltage from LED 1 to LED {given.count}. Fed at: {feeds}; the lowest point is "
        "{string.lowest:V} at LED {string.lowest_led}. The voltage wanted everywhere, {floor:V}, is a "
        "dashed line. Lines are cut at 0 V.",
        case,
        words={
            "feeds": (
                Wording("{first_feed.place}", lambda case: len(case.feeds) == 1),
                Wording("{first_feed.place} and {last_feed.place}", lambda case: len(case.feeds) == 2),
                Wording("{first_feed.place}, {last_feed.place} and {feeds_between} more between"),
            )
        },
    )  # fmt: skip
    current = fill(
        "Line chart of the current over {frame_count} frames of the pattern {given.pattern}, {duration:s} "
        "long: {average_current:A} on average, at most {high_current:A} in 99 of 100 frames; all channels on "
        "would be {string.peak:A}.",
        case,
    )
    title = "Voltage along the string, all channels on"
    return (
        Picture("voltage", title, voltage, lambda system: draw_voltage(case, system)),
        Picture("current", "Current over the pattern", current, lambda system: draw_current(case, system)),
    )


def draw_voltage(case: Solved, system: System) -> str:
    """Return the voltage at every LED, all channels on; beside it that of the string fed at one end only."""
    string, floor, count = case.string, case.floor, case.given.count
    nodes = _pick_nodes(case)
    series = [_trace("currents hold", nodes, string.held.find_voltages(nodes), "one")]
    if string.falling is not None:
        series.append(_trace("currents fall", nodes, [string.falling[node] for node in nodes], "two"))
    if case.given.feed.kind != "one end":
        one_end = string.solve_fed_at((0,))
        series.append(_trace("one end only", nodes, one_end.find_voltages(nodes), "three"))
    marks = [Mark("lowest wanted", floor), Mark("", case.given.supply, tone="soft")]
    for index, feed in enumerate(case.feeds):
        # One label speaks for all; several would cover each other and the lines.
        label = "" if index else "feed" if len(case.feeds) == 1 else f"{len(case.feeds)} feeds"
        marks.append(Mark(label, float(feed.node), across=False, tone="soft"))
    low = min(floor, *(volts for line in series for _, volts in line.points))
    # Room above the supply keeps the feeds' label off the lines.
    high = max(case.given.supply, floor)
    top = Axis("Voltage", "voltage", high=high + 0.15 * (high - low))
    # The string's two bare ends are nodes too, before the first LED and after the last.
    along = Axis("LED", "number", low=0.0, high=count + 1.0)
    return draw_chart(along, top, tuple(series), tuple(marks), system=system)


def draw_current(case: Solved, system: System) -> str:
    """Return the current over the simulated frames."""
    rate, end, peak = case.given.target_rate, case.duration, case.string.peak
    series = [Series("", tuple((index / rate, value) for index, value in _thin_out(case.drawn)))]
    levels: list[float] = []
    # From the top down; a level too near to one that is drawn shares its line.
    for label, level in (
        ("all channels on", peak),
        ("99 % of frames", case.high_current),
        ("average", case.average_current),
    ):
        if all(abs(level - other) > 0.08 * peak for other in levels):
            series.append(Series(label, ((0.0, level), (end, level)), LEVEL_TONES[len(levels)]))
            levels.append(level)
    # The labels stand in the free space after the last frame.
    time = Axis("Time", "time", high=1.9 * end)
    return draw_chart(time, Axis("Current", "current", low=0.0), tuple(series), system=system)


def _trace(label: str, nodes: Sequence[int], voltages: Sequence[float], tone: str) -> Series:
    # Voltages below zero mean that such currents cannot flow; the picture is cut there.
    points = tuple((node, max(0.0, voltage)) for node, voltage in zip(nodes, voltages, strict=True))
    return Series(label, points, tone)


def _pick_nodes(case: Solved) -> list[int]:
    count = case.given.count
    stride = math.ceil(count / POINTS)
    places = {*range(1, count + 1, stride), count, case.string.lowest_led}
    places.update(feed.node for feed in case.feeds if 1 <= feed.node <= count)
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
