"""A joint contact against its rating, on each side of each threshold, as two calculators tell it."""

import pytest

from calculators.led_current.calculator import CALCULATOR as LED_CURRENT
from calculators.physics.contacts import find_contact_heat, find_worst_share, judge_contact
from calculators.wire_gauge.calculator import CALCULATOR as WIRE_GAUGE
from tests.calculators.running import find_finding, find_text, list_codes, make_run

TOLD = {"contact-over-rating": "stop", "contact-near-rating": "caution", "contacts-not-judged": "note"}
run = make_run(WIRE_GAUGE, current="3 A", contacts="2", length="0.5 m", allowed_drop="10 %", gauge="14 AWG")


@pytest.mark.parametrize(
    ("current", "shared", "trouble", "cause", "wanted"),
    [
        (2.25, 1, "", "", 1),
        (2.26, 1, "near rating", "alone", 2),
        (3.01, 1, "over rating", "alone", 3),
        # Of two contacts one bears it all when the other is open.
        (3.0, 2, "", "", 2),
        (3.01, 2, "near rating", "one open", 3),
        (4.5, 2, "near rating", "one open", 3),
        # With half the resistance of the other, one carries two thirds.
        (4.51, 2, "near rating", "unequal", 3),
        (6.0, 2, "near rating", "unequal", 3),
        (6.01, 2, "over rating", "unequal", 4),
        (6.0, 3, "", "", 3),
        (6.01, 3, "near rating", "unequal", 4),
        (9.01, 3, "over rating", "unequal", 6),
    ],
)
def test_contacts_of_three_amperes(
    current: float, shared: int, trouble: str, cause: str, wanted: int
) -> None:
    judged = judge_contact(current, shared, 3.0)
    assert (judged.trouble, judged.cause, judged.wanted) == (trouble, cause, wanted)
    assert judged.current == current / shared
    # As many as are wanted are no trouble, and one fewer is.
    assert judge_contact(current, wanted, 3.0).trouble == ""
    assert wanted == 1 or judge_contact(current, wanted - 1, 3.0).trouble


# 14.10 A over n pins, reckoned apart: equal shares, and those with one open.
@pytest.mark.parametrize(("pins", "equal", "one_open"), [(4, 3.53, 4.70), (5, 2.82, 3.53), (8, 1.76, 2.01)])
def test_pins_share_equally_or_with_one_fewer(pins: int, equal: float, one_open: float) -> None:
    judged = judge_contact(14.10, pins, None)
    assert judged.others is not None
    assert (round(judged.current + 1e-9, 2), round(judged.others + 1e-9, 2)) == (equal, one_open)
    assert 14.10 * find_worst_share(pins, spread=1.0) == pytest.approx(judged.current)


@pytest.mark.parametrize("shared", [1, 2, 3, 7])
def test_unequal_contacts_divide_as_conductances_do(shared: int) -> None:
    conductances = [1 / 0.010, *[1 / 0.020] * (shared - 1)]
    assert judge_contact(5.0, shared, None).worst == pytest.approx(5.0 * conductances[0] / sum(conductances))


def test_a_contact_makes_its_heat() -> None:
    # 2 A through 30 mΩ, a spring contact's example: 0.12 W.
    assert find_contact_heat(2.0, 0.030) == pytest.approx(0.12)


def test_nothing_is_said_without_a_rating() -> None:
    judged = judge_contact(100.0, 2, None)
    assert (judged.current, judged.trouble, judged.cause, judged.wanted) == (50.0, "", "", None)


@pytest.mark.parametrize(
    ("rating", "shared", "code"),
    [
        ("2.99 A", "1", "contact-over-rating"),
        ("3 A", "1", "contact-near-rating"),
        ("3.99 A", "1", "contact-near-rating"),
        ("4 A", "1", ""),
        ("1.49 A", "2", "contact-over-rating"),
        ("1.5 A", "2", "contact-near-rating"),
        ("2.99 A", "2", "contact-near-rating"),
        ("3 A", "2", ""),
        ("", "2", "contacts-not-judged"),
    ],
)
def test_a_run_judges_each_contact(rating: str, shared: str, code: str) -> None:
    result = run(contact_rating=rating, contacts_shared=shared)
    told = {name: level for name, level in list_codes(result).items() if name in TOLD}
    assert told == ({code: TOLD[code]} if code else {})
    assert result.holds == (TOLD.get(code) in (None, "note"))


def test_a_run_without_a_joint_says_nothing_of_contacts() -> None:
    for rating in ("", "0.1 A"):
        assert not TOLD.keys() & list_codes(run(contacts="0", contact_rating=rating)).keys()


def test_a_contact_is_judged_at_the_peak() -> None:
    pair = {"contacts_shared": "2", "contact_rating": "3 A"}
    told = find_text(run(peak="6.3 A", **pair), "contact-over-rating").replace("\u00a0", " ")
    assert "carry 3.15 A, more than its rating of 3 A. Put 4 contacts side by side at each crossing" in told
    assert find_finding(run(peak="3 A", **pair), "contact-near-rating") is None
    assert find_finding(run(peak="3.01 A", **pair), "contact-near-rating") is not None


def test_contacts_side_by_side_divide_the_joints_drop() -> None:
    one, three = run(contact_resistance="10 mohm"), run(contact_resistance="30 mohm", contacts_shared="3")
    assert three.outputs["drop"] == pytest.approx(one.outputs["drop"], rel=1e-12)


@pytest.mark.parametrize(("rating", "shared"), [("2 A", "1"), ("2.2 A", "2"), ("3 A", "3"), ("1.2 A", "2")])
def test_led_current_says_the_same(rating: str, shared: str) -> None:
    joint = {"contacts": "2", "contacts_shared": shared, "contact_rating": rating}
    # Fifty LEDs of 37 mA on one feed, and a run that carries as much.
    lamps = LED_CURRENT.run({"count": "50", "feed": "one end", **joint})
    codes = [list_codes(result) for result in (lamps, run(current="1.85 A", **joint))]
    told = [{name: found[name] for name in TOLD if name in found} for found in codes]
    assert told[0] == told[1]
