"""What a meter should show on a finished run: its wires and contacts, what they lose, how warm they get."""

import math
from dataclasses import dataclass

from calculators.notation.units import Ohm, Volt
from calculators.physics.ampacity import find_bundle_factor
from calculators.physics.heat_balance import find_temperature
from calculators.physics.meter import (
    LEAST_SET,
    WIRE_SHARES,
    RunTest,
    Wires,
    find_current_error,
    find_lost_span,
    find_run_test,
    make_span,
)
from calculators.physics.wire_run import JudgedSize, Run
from calculators.results.case import Span
from calculators.wire_gauge.given import Given

THERMOMETER = 2.5
"""K by which a thermometer may be wrong: a type K bead of class 2, IEC 60584-1."""

LEAST_RISE = 3 * THERMOMETER
"""K of rise from which a thermometer tells a wire that is far too thin from a sound one."""


@dataclass(frozen=True, slots=True)
class Meter:
    """The run with a test current, what it loses in use, and its rise above the air.

    What would not pass as planned is left out, and so is what a meter cannot tell.
    """

    run: RunTest
    lost: Span | None
    warmth: Span | None


def find_meter(given: Given, run: Run, judged: JudgedSize, joint: Ohm) -> Meter:
    """Return what to read of the run with this size."""
    planned = 2 * run.length * judged.cold
    wires = Wires(planned / judged.wire.factor, planned)
    # What is not rated is planned to bear its part of the load.
    contact = given.contact_rating or max(run.peak / given.contacts_shared, LEAST_SET)
    bears = min(judged.capacity, contact) if given.contacts else judged.capacity
    most = math.inf
    if judged.hot is not None:
        # What the wires may have at 20 °C without losing too much when they are warm.
        most = (run.allowed - run.contact_drop) / run.peak * judged.cold / judged.hot
    tested = find_run_test(
        wires, given.contact_resistance, given.contacts_shared, given.contacts, bears, most
    )  # fmt: skip
    lost = _find_lost(run, judged, given.supply, wires.solid, joint)
    return Meter(tested, lost, _find_warmth(run, judged))


def _find_lost(run: Run, judged: JudgedSize, supply: Volt, solid: Ohm, joint: Ohm) -> Span | None:
    """Return what is lost while the lasting current flows; no more than leaves room for the peak."""
    if judged.drop is None or judged.hot is None or judged.fails:
        return None
    share = run.current / run.peak
    expected, allowed = judged.drop * share, run.allowed * share
    error = find_current_error(run.current) / run.current
    low = run.current * WIRE_SHARES[0] * solid
    high = run.current * (WIRE_SHARES[1] * solid * judged.hot / judged.cold + joint)
    return find_lost_span(supply, expected, (1 - error) * low, (1 + error) * high, allowed)


def _find_warmth(run: Run, judged: JudgedSize) -> Span | None:
    """The workshop is rarely as warm as the place in use, so what is compared is the rise above its air."""
    if judged.temperature is None or judged.fails:
        return None
    highest = judged.temperature - run.ambient
    if highest <= LEAST_RISE:
        return None
    alone = find_temperature(judged.wire, judged.heating / find_bundle_factor(run.bundle), run.ambient)
    rise = highest if alone is None else alone - run.ambient
    most = run.insulation.temperature - run.ambient
    return make_span(rise, 0.0, min(max(highest, rise + THERMOMETER), most))
