"""The hand meter that readings allow for: steps, errors, and the test current for milliohms."""

import pytest

from calculators.physics.meter import (
    OPEN_CIRCUIT,
    RESISTANCE,
    SOURCE_SPREAD,
    VOLTAGE,
    Wires,
    choose_test_current,
    find_contact_span,
    find_current_error,
    find_lost_span,
    find_run_test,
    find_test_error,
    make_span,
    widen,
)


# 2,000 counts: 199.9 is the last that the finest range shows.
@pytest.mark.parametrize(
    ("value", "ohms", "volts"),
    [(0.0, 0.1, 1e-4), (0.1999, 0.1, 1e-4), (0.2, 0.1, 1e-3), (19.99, 0.1, 1e-2), (20.0, 0.1, 0.1),
     (199.9, 0.1, 0.1), (200.0, 1.0, 1.0), (-200.0, 1.0, 1.0)],
)  # fmt: skip
def test_steps_grow_with_what_is_shown(value: float, ohms: float, volts: float) -> None:
    assert RESISTANCE.find_step(value) == pytest.approx(ohms)
    assert VOLTAGE.find_step(value) == pytest.approx(volts)


def test_errors_are_a_share_and_some_steps() -> None:
    # ±(0.8 % + 5 digits), two of which go with what the probes show held together; ±(0.5 % + 3 digits).
    assert RESISTANCE.find_error(100.0) == pytest.approx(0.8 + 0.3)
    assert VOLTAGE.find_error(-0.1) == pytest.approx(5e-4 + 3e-4)
    # A source of 5 V that is set 4 % off, read with ±(0.5 % + 3 digits) of 10 mV, is within this.
    assert 1 + SOURCE_SPREAD > 1.04 * 1.005 + 0.03 / 5 - 0.002


# ±(2 % + 5 digits): of 0.1 mA on the range of 200 mA, of 10 mA on that of 10 A; a clamp's ±(3 % + 0.3 A).
@pytest.mark.parametrize(
    ("current", "error"),
    [(0.15, 0.0035), (0.151, 0.05302), (10.0, 0.25), (10.01, 0.6003)],
)
def test_currents_have_three_ranges(current: float, error: float) -> None:
    assert find_current_error(current) == pytest.approx(error)


@pytest.mark.parametrize(
    ("least", "most", "bears", "current"),
    [
        (0.0201, 0.0201, 9.0, 1.0),
        (0.0199, 0.0199, 9.0, 2.0),
        (0.0101, 0.0101, 9.0, 2.0),
        (0.0099, 0.0099, 9.0, 5.0),
        (0.001, 0.001, 9.0, 5.0),
        (0.001, 0.001, 4.9, 2.0),  # no more than is borne
        (0.001, 0.001, 0.3, 0.2),
        (0.001, 0.001, 0.05, 0.1),
        (0.3, 0.99, 9.0, 1.0),  # no more than 1 V along it
        (0.3, 1.01, 9.0, 0.5),
    ],
)
def test_the_test_current(least: float, most: float, bears: float, current: float) -> None:
    assert choose_test_current(least, most, bears) == current


def test_a_reading_at_a_test_current_knows_how_well_that_is_set() -> None:
    # 1 % and a step of 10 mA of the bench supply, 0.5 % and 3 steps of 0.1 mV of the meter.
    assert find_test_error(1.0, 0.1) == pytest.approx(0.1 * 0.025 + 3e-4)
    assert find_test_error(0.1, 0.1, readings=3) == pytest.approx(0.1 * 0.115 + 9e-4)


@pytest.mark.parametrize(("resistance", "told"), [(3.1e-4, True), (2.9e-4, False)])
def test_a_contact_that_would_not_show_is_no_reading(resistance: float, told: bool) -> None:
    assert (find_contact_span(resistance, 1.0) is not None) == told


@pytest.mark.parametrize(("expected", "told"), [(0.081, True), (0.079, False)])
def test_a_loss_is_read_where_the_steps_leave_something_of_it(expected: float, told: bool) -> None:
    span = find_lost_span(12.0, expected, 0.05, 0.1, 1.0)
    assert (span is not None) == told
    assert span is None or (span.low, span.high) == pytest.approx((0.03, 0.12))


def test_ranges_begin_at_nought_and_end_at_the_limit() -> None:
    span = widen(1.0, 0.5, 2.0, lambda _: 0.7, most=2.5)
    assert span
    assert (span.low, span.high) == (0.0, 2.5)
    assert make_span(1.0, 1.0, 1.0)
    assert make_span(1.0, 1.1, 2.0) is None
    assert make_span(1.0, 0.0, 0.9) is None
    # Fingertips and damp leave 100 kΩ of no connection.
    assert OPEN_CIRCUIT.low == 1e5


# A pair of 30 mΩ, solid, and a joint of two crossings.
@pytest.mark.parametrize(("shared", "several"), [(1, False), (2, True)])
def test_a_run_is_read_wire_and_contacts_apart(shared: int, several: bool) -> None:
    test = find_run_test(Wires(0.03, 0.033), 0.02 * shared, shared, 2, 9.0)
    assert (test.current, test.ohms) == (1.0, None)
    assert test.wire
    assert test.crossing
    assert test.crossing.expected == pytest.approx(0.02)
    assert (test.contact is not None) == several
    without = find_run_test(Wires(0.03, 0.033), 0.02, 1, 0, 9.0)
    assert (without.crossing, without.contact) == (None, None)
    assert without.wire
    assert without.wire.high < test.wire.high
    # What would lose too much as planned has nothing that passes.
    assert find_run_test(Wires(0.03, 0.033), 0.02, 1, 0, 9.0, most=0.032).wire is None
