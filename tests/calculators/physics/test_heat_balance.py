"""The heat balance against textbook examples, another library's printed values, and scipy's solvers."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from calculators.notation.gauge import make_awg
from calculators.physics.copper import HEAT_CAPACITY
from calculators.physics.heat_balance import (
    EMISSIVITY,
    INSULATION_HEAT_CAPACITY,
    Wire,
    _find_root,
    find_current,
    find_heat_loss,
    find_temperature,
    find_time_constant,
)


def test_no_heat_leaves_a_wire_at_the_airs_temperature() -> None:
    assert find_heat_loss(20, 20, 0.002) == 0
    assert find_heat_loss(10, 20, 0.002) == 0


def find_loss_independently(surface: float, ambient: float, diameter: float) -> float:
    """The same physics from other properties of air: Sutherland's law (Poling, Prausnitz and O'Connell)."""
    surface = max(surface, ambient)
    film = (surface + ambient) / 2 + 273.15
    density = 351.99 / film + 344.88 / film**2
    viscosity = 1.4592e-6 * film**1.5 / (109.10 + film)
    conductivity = 2.3340e-3 * film**1.5 / (164.54 + film)
    heat = 1030.5 - 0.19975 * film + 3.9734e-4 * film**2
    prandtl = heat * viscosity / conductivity
    grashof = 9.80665 / film * (surface - ambient) * diameter**3 * (density / viscosity) ** 2
    term = 0.387 * (grashof * prandtl) ** (1 / 6) / (1 + (0.559 / prandtl) ** (9 / 16)) ** (8 / 27)
    convected = (0.60 + term) ** 2 * conductivity / diameter * (surface - ambient)
    radiated = EMISSIVITY * 5.670374e-8 * ((surface + 273.15) ** 4 - (ambient + 273.15) ** 4)
    loss: float = math.pi * diameter * (convected + radiated)
    return loss


def find_heat_made(wire: Wire, current: float, temperature: float) -> float:
    return current * current / 58e6 / wire.area * wire.factor * (1 + 0.00393 * (temperature - 20))


def find_barrier(wire: Wire) -> float:
    inner = math.sqrt(wire.area / math.pi)
    return wire.thermal_resistivity / (2 * math.pi) * math.log((inner + wire.wall) / inner)


WIRES = tuple(
    Wire(make_awg(number).area, factor, wall, 5.0)
    for number, factor, wall in (
        (30, 1.0, 0.0002),
        (22, 1.24, 0.0004),
        (18, 1.0, 0.0008),
        (10, 1.1, 0.0004),
        (-3, 1, 0.002),
    )
)


@pytest.mark.parametrize("wire", WIRES)
@pytest.mark.parametrize(("limit", "ambient"), [(80, 30), (105, 40), (200, -10), (60, 50)])
def test_current_agrees_with_scipys_root(wire: Wire, limit: float, ambient: float) -> None:
    def miss(current: float) -> float:
        heat = find_heat_made(wire, current, limit)
        surface = limit - heat * find_barrier(wire)
        return find_loss_independently(surface, ambient, wire.outer_diameter) - heat

    # Within 1 %, which the two sets of air properties leave between them.
    assert find_current(wire, limit, ambient) == pytest.approx(brentq(miss, 1e-6, 3000), rel=0.01)


@pytest.mark.parametrize("wire", WIRES)
@pytest.mark.parametrize("share", [0.2, 0.7, 1.0, 1.2])
def test_temperature_agrees_with_scipys_transient(wire: Wire, share: float) -> None:
    current = share * find_current(wire, 90, 30)
    found = find_temperature(wire, current, 30)
    assert found is not None
    outer = wire.outer_diameter
    capacity = HEAT_CAPACITY * wire.area + INSULATION_HEAT_CAPACITY * (math.pi / 4 * outer**2 - wire.area)
    barrier = find_barrier(wire)

    def find_slope(_: float, state: np.ndarray) -> list[float]:
        # Surface and copper warm together: the step across the insulation follows the heat at once.
        copper = float(state[0])

        def miss(surface: float) -> float:
            return surface + barrier * find_loss_independently(surface, 30, outer) - copper

        surface = brentq(miss, 30, copper) if copper > 30 else 30
        lost = find_loss_independently(surface, 30, outer)
        return [(find_heat_made(wire, current, copper) - lost) / capacity]

    constant = find_time_constant(wire, 90, 30)
    run = solve_ivp(find_slope, (0, 12 * constant), [30.001], rtol=1e-6, atol=1e-4, method="LSODA")
    assert found == pytest.approx(float(run.y[0, -1]), abs=0.012 * (found - 30) + 0.01)
    if share == 1.0:
        # The rise is not quite exponential; the time to 63 % of it agrees to a fifth.
        reached = float(np.interp(30 + 0.632 * (found - 30), run.y[0], run.t))
        assert constant == pytest.approx(reached, rel=0.2)


areas = st.floats(0.05e-6, 120e-6)
ambients = st.floats(-20, 60)


@given(area=areas, wall=st.floats(0.0001, 0.002), limit=st.floats(70, 200), ambient=ambients)
def test_current_and_temperature_are_inverse(area: float, wall: float, limit: float, ambient: float) -> None:
    wire = Wire(area, 1.0, wall, 5.0)
    found = find_temperature(wire, find_current(wire, limit, ambient), ambient)
    assert found == pytest.approx(limit, abs=1e-4)


@given(area=areas, ambient=ambients, current=st.floats(0.001, 20))
def test_more_current_or_hotter_air_never_cools(area: float, ambient: float, current: float) -> None:
    wire = Wire(area, 1.0, 0.0004, 5.0)
    found = find_temperature(wire, current, ambient)
    more = find_temperature(wire, 1.1 * current, ambient)
    hotter = find_temperature(wire, current, ambient + 5)
    assert found is None or found >= ambient
    assert (found is None) <= (more is None)
    assert found is None or more is None or more > found
    assert found is None or hotter is None or hotter > found


def test_a_wire_that_runs_away_has_no_temperature() -> None:
    wire = Wire(make_awg(30).area, 1.0, 0.0004, 5.0)
    assert find_temperature(wire, 20, 30) is None
    # Here the insulation alone holds back more heat than any surface temperature could drive through it.
    assert find_temperature(wire, 2000, 30) is None
    assert find_temperature(wire, 0, 30) == 30


def test_refusals() -> None:
    wire = WIRES[0]
    with pytest.raises(ValueError, match="up to 220"):
        find_current(wire, 221, 30)
    assert find_current(wire, 30, 30) == 0
    with pytest.raises(ValueError, match="no warmer than the air"):
        find_time_constant(wire, 30, 30)


# From -1 at 0 and 1 at 1 the first try is 0.5; a miss of δ there moves the next by 0.5 δ / (1 + δ).
@pytest.mark.parametrize(("step", "tries"), [(0.98e-7, 2), (1.02e-7, 3)])
def test_the_search_ends_when_a_step_is_below_a_ten_millionth(step: float, tries: int) -> None:
    tried: list[float] = []

    def miss(place: float) -> float:
        tried.append(place)
        return {0.0: -1.0, 0.5: 2 * step, 1.0: 1.0}.get(place, 1e-9)

    _find_root(miss, 0.0, 1.0)
    assert len(tried) == 2 + tries
    assert abs(tried[3] - tried[2]) == pytest.approx(step, rel=1e-3)


def test_the_balance_is_used_up_to_220_degrees() -> None:
    wire = WIRES[0]
    assert find_temperature(wire, find_current(wire, 219.9, 30), 30) == pytest.approx(219.9, abs=1e-3)
    for temperature in (220.1, 231):
        with pytest.raises(ValueError, match="up to 220"):
            find_current(wire, temperature, 30)
