"""Pictures for the wire-gauge calculator: drop against length, and copper temperature against current."""

from dataclasses import dataclass

from calculators.notation.units import System
from calculators.physics.ampacity import find_bundled_current, find_bundled_temperature
from calculators.physics.heat_balance import HOTTEST
from calculators.physics.wire_run import JudgedSize, Run
from calculators.results.drawing import Axis, Mark, Series, draw_chart

_TONES = ("two", "one", "three")
_STEPS = 8


@dataclass(frozen=True, slots=True)
class DropLine:
    """One size in the drop picture: its `label` and the `slope` of its line in V per metre of run."""

    label: str
    slope: float


def draw_drops(
    lines: tuple[DropLine, ...],
    contact_drop: float,
    length: float,
    allowed: float,
    supply: float,
    system: System,
) -> str:
    """Return the drop of up to three sizes against the length (m), with the allowed drop (V) marked.

    A line ends where the whole `supply` (V) would be lost: no more than that can be.
    """
    longest = 2 * length
    series = []
    highest = 0.0
    for line, tone in zip(lines, _TONES, strict=False):
        start, end = (0.0, contact_drop), (longest, contact_drop + line.slope * longest)
        if end[1] > supply:
            end = (max(0.0, supply - contact_drop) / line.slope, supply)
        series.append(Series(line.label, (start, end), tone))
        highest = max(highest, end[1])
    marks = [Mark("allowed drop", allowed), Mark("this run", length, across=False)]
    top = None
    if highest == supply:
        marks.append(Mark("supply", supply, tone="soft"))
        # Room for the labels of lines that end close together.
        top = 1.3 * supply
    return draw_chart(
        Axis("one way", "length", low=0.0, high=longest),
        Axis("drop", "voltage", low=0.0, high=top),
        tuple(series),
        tuple(marks),
        system=system,
    )


def draw_temperatures(run: Run, judged: JudgedSize, system: System) -> str:
    """Return the copper's temperature (°C) against the current (A), from none to a little over the load."""
    load, limit = judged.heating, run.insulation.temperature
    top = 1.25 * max(load, min(judged.capacity, 2 * load))
    last = top
    if find_bundled_temperature(judged.wire, top, run.ambient, run.bundle) is None:
        last = find_bundled_current(judged.wire, HOTTEST, run.ambient, run.bundle)
    points = []
    for step in range(_STEPS + 1):
        amperes = last * step / _STEPS
        temperature = find_bundled_temperature(judged.wire, amperes, run.ambient, run.bundle)
        # Rounding alone may take the curve's last point beyond the end of the balance.
        points.append((amperes, HOTTEST if temperature is None else temperature))
    return draw_chart(
        Axis("current", "current", low=0.0, high=top),
        Axis("copper", "temperature"),
        (Series(judged.gauge.label, tuple(points)),),
        (Mark("insulation's limit", limit), Mark("this load", load, across=False, tone="one")),
        system=system,
    )
