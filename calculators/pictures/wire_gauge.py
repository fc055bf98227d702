"""Pictures for the wire-gauge calculator: drop against length, and copper temperature against current."""

from dataclasses import dataclass

from calculators.physics.ampacity import find_bundled_temperature
from calculators.physics.wire_run import Judged, Run
from calculators.vocabulary.drawing import Axis, Mark, Series, draw_chart
from calculators.vocabulary.units import System

_TONES = ("two", "one", "three")
_STEPS = 8


@dataclass(frozen=True, slots=True)
class DropLine:
    """One size in the drop picture: its `label` and the `slope` of its line in V per metre of run."""

    label: str
    slope: float


def draw_drops(
    lines: tuple[DropLine, ...], contact_drop: float, length: float, allowed: float, system: System
) -> str:
    """Return the drop of up to three sizes against the length (m), with the allowed drop (V) marked."""
    longest = 2 * length
    series = tuple(
        Series(line.label, ((0.0, contact_drop), (longest, contact_drop + line.slope * longest)), tone)
        for line, tone in zip(lines, _TONES, strict=False)
    )
    marks = (Mark("allowed drop", allowed), Mark("this run", length, across=False))
    return draw_chart(
        Axis("one way", "length", low=0.0, high=longest),
        Axis("drop", "voltage", low=0.0),
        series,
        marks,
        system=system,
    )


def draw_temperatures(run: Run, judged: Judged, system: System) -> str:
    """Return the copper's temperature (°C) against the current (A), from none to a little over the load."""
    load, limit = judged.heating, run.insulation.temperature
    top = 1.25 * max(load, min(judged.capacity, 2 * load))
    points = []
    for step in range(_STEPS + 1):
        amperes = top * step / _STEPS
        temperature = find_bundled_temperature(judged.wire, amperes, run.ambient, run.bundle)
        if temperature is None:
            break
        points.append((amperes, temperature))
    return draw_chart(
        Axis("current", "current", low=0.0, high=top),
        Axis("copper", "temperature"),
        (Series(judged.gauge.label, tuple(points)),),
        (Mark("insulation's limit", limit), Mark("this load", load, across=False, tone="one")),
        system=system,
    )
