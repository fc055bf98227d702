"""A joint contact against its rating, on each side of each threshold, as two calculators tell it."""

import pytest

from calculators.led_current.calculator import CALCULATOR as LED_CURRENT
from calculators.physics.contacts import judge_contact
from calculators.wire_gauge.calculator import CALCULATOR as WIRE_GAUGE
from tests.calculators.running import find_finding, find_text, list_codes, make_run

TOLD = {"contact-over-rating": "stop", "contact-near-rating": "caution", "contacts-not-judged": "note"}
run = make_run(WIRE_GAUGE, current="3 A", contacts="2", length="0.5 m", allowed_drop="10 %", gauge="14 AWG")


@pytest.mark.parametrize(
    ("current", "trouble", "wanted"),
    [
        (4.49, "", 2),
        (4.5, "", 2),
        (4.51, "near rating", 3),
        (6.0, "near rating", 3),
        (6.01, "over rating", 3),
        (6.76, "over rating", 4),
    ],
)
def test_two_contacts_of_three_amperes(current: float, trouble: str, wanted: int) -> None:
    judged = judge_contact(current, 2, 3.0)
    assert (judged.current, judged.trouble, judged.wanted) == (current / 2, trouble, wanted)
    # As many as are wanted are no trouble.
    assert judge_contact(current, wanted, 3.0).trouble == ""


def test_nothing_is_said_without_a_rating() -> None:
    judged = judge_contact(100.0, 2, None)
    assert (judged.current, judged.trouble, judged.wanted) == (50.0, "", None)


@pytest.mark.parametrize(
    ("rating", "shared", "code"),
    [
        ("2.99 A", "1", "contact-over-rating"),
        ("3 A", "1", "contact-near-rating"),
        ("3.99 A", "1", "contact-near-rating"),
        ("4 A", "1", ""),
        ("1.49 A", "2", "contact-over-rating"),
        ("1.5 A", "2", "contact-near-rating"),
        ("2 A", "2", ""),
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
    assert "carry 3.15 A, more than its rating of 3 A. Put 3 contacts side by side at each crossing" in told
    assert find_finding(run(peak="4.5 A", **pair), "contact-near-rating") is None
    assert find_finding(run(peak="4.51 A", **pair), "contact-near-rating") is not None


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
