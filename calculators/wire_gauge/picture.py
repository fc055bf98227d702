"""The pictures of wire-gauge: drop against length, and copper temperature against current."""

from calculators.notation.units import System
from calculators.physics.ampacity import find_bundled_current, find_bundled_temperature
from calculators.physics.heat_balance import HOTTEST
from calculators.results.case import Listed, Wording, fill
from calculators.results.drawing import Axis, Mark, Series, draw_chart
from calculators.results.result import Picture
from calculators.wire_gauge.solve import Solved

_TONES = ("two", "one", "three")
_STEPS = 8


def draw_pictures(case: Solved) -> tuple[Picture, ...]:
    """Return both pictures with what they show in words."""
    drops = fill(
        "A straight line for each size, the thinnest the steepest: at {run.length:m}, {lines}. Allowed: "
        "{run.allowed:V}. No line goes on beyond the supply, {given.supply:V}.",
        case, words={"lines": Listed("lines", "{each.label} loses {each.loss:V}")},
    )  # fmt: skip
    temperatures = fill(
        "A curve that leaves the air's {run.ambient:degC} level and rises ever more steeply; at "
        "{judged.heating:A} the copper is {copper}. The insulation bears {run.insulation.temperature:degC}.",
        case,
        words={
            "copper": (
                Wording("at no steady temperature", lambda case: case.judged.temperature is None),
                Wording("at {judged.temperature:degC}"),
            )
        },
    )
    title = f"Copper temperature against current, {case.judged.gauge.label}"
    return (
        Picture("drop", "Drop against length", drops, lambda system: draw_drops(case, system)),
        Picture("temperature", title, temperatures, lambda system: draw_temperatures(case, system)),
    )


def draw_drops(case: Solved, system: System) -> str:
    """Return the drop of up to three sizes against the length, with the allowed drop marked.

    A line ends where the whole supply would be lost: no more than that can be.
    """
    run, supply = case.run, case.given.supply
    longest = 2 * run.length
    series = []
    highest = 0.0
    for line, tone in zip(case.lines, _TONES, strict=False):
        start, end = (0.0, run.contact_drop), (longest, run.contact_drop + line.slope * longest)
        if end[1] > supply:
            end = (max(0.0, supply - run.contact_drop) / line.slope, supply)
        series.append(Series(line.label, (start, end), tone))
        highest = max(highest, end[1])
    marks = [Mark("allowed drop", run.allowed), Mark("this run", run.length, across=False)]
    top = None
    if highest == supply:
        marks.append(Mark("supply", supply, tone="soft"))
        # Room for the labels of lines that end close together.
        top = 1.3 * supply
    across = Axis("one way", "length", low=0.0, high=longest)
    up = Axis("drop", "voltage", low=0.0, high=top)
    return draw_chart(across, up, tuple(series), tuple(marks), system=system)


def draw_temperatures(case: Solved, system: System) -> str:
    """Return the copper's temperature against the current, from none to a little over the load."""
    run, judged = case.run, case.judged
    load = judged.heating
    top = 1.25 * max(load, min(judged.capacity, 2 * load))
    last = top
    if find_bundled_temperature(judged.wire, top / judged.cord_share, run.ambient, run.bundle) is None:
        last = judged.cord_share * find_bundled_current(judged.wire, HOTTEST, run.ambient, run.bundle)
    points = []
    for step in range(_STEPS + 1):
        amperes = last * step / _STEPS
        warming = amperes / judged.cord_share
        temperature = find_bundled_temperature(judged.wire, warming, run.ambient, run.bundle)
        # Rounding alone may take the curve's last point beyond the end of the balance.
        points.append((amperes, HOTTEST if temperature is None else temperature))
    limit = Mark("insulation's limit", run.insulation.temperature)
    marks = (limit, Mark("this load", load, across=False, tone="one"))
    across, up = Axis("current", "current", low=0.0, high=top), Axis("copper", "temperature")
    return draw_chart(across, up, (Series(judged.gauge.label, tuple(points)),), marks, system=system)
