"""One feed of several lost, against the same string fed at the others."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calculators.led_current.calculator import CALCULATOR
from calculators.led_current.ladder import Feed, solve_uniform
from calculators.led_current.lost_feed import find_lost_feed
from tests.calculators.running import find_finding, find_number, find_text, list_codes, make_run

run = make_run(CALCULATOR, count="96", lead_length="0.9 m", converter_limit="15 A")


def test_of_two_feeds_the_other_carries_all() -> None:
    both, one = run(), run(feed="one end")
    assert find_number(both, "lost_feed_current") == pytest.approx(find_number(one, "peak_current"))
    assert find_number(both, "lost_feed_voltage") == pytest.approx(find_number(one, "lowest_voltage"))
    assert one.outputs["lost_feed_current"] is None
    assert "lost-feed" not in list_codes(one)


@settings(max_examples=40)
@given(st.lists(st.integers(1, 200), min_size=2, max_size=12, unique=True), st.floats(0.001, 0.3))
def test_the_worst_of_all_losses_is_found(places: list[int], resistance: float) -> None:
    feeds = [Feed(place, resistance) for place in sorted(places)]
    lost = find_lost_feed(solve_uniform(5.0, 0.037, 0.005, 200, feeds), (2.0,) * len(feeds))
    left = [
        solve_uniform(5.0, 0.037, 0.005, 200, [feed for feed in feeds if feed is not gone]) for gone in feeds
    ]
    assert lost is not None
    worst, lowest = max(max(one.feed_currents) for one in left), min(one.find_lowest()[1] for one in left)
    if len(feeds) <= 5:
        assert lost.current == pytest.approx(worst)
        assert lost.lowest == pytest.approx(lowest)
    else:  # of more, the outer ones and the pairs that carry most
        assert lost.current == pytest.approx(worst, rel=0.15)
        assert lost.lowest == pytest.approx(lowest, abs=0.1)
    assert lost.opening is not None
    assert lost.opening.load == pytest.approx(lost.current / 2.0)


# Of many feeds the four pairs that carry most are tried. In the first string three would miss the worst by
# 6 %; in the second only a fifth pair would find it. All losses were computed one by one.
@pytest.mark.parametrize(
    ("places", "found"),
    [
        ((3, 11, 39, 83, 86, 102, 157, 175, 193, 199, 200), 1.402622),
        ((6, 16, 42, 47, 102, 107, 122, 176, 185, 199), 1.310734),
    ],
)
def test_four_pairs_are_tried(places: tuple[int, ...], found: float) -> None:
    held = solve_uniform(5.0, 0.037, 0.005, 200, [Feed(place, 0.05) for place in places])
    lost = find_lost_feed(held, (None,) * len(places))
    assert lost is not None
    assert lost.opening is None
    assert lost.current == pytest.approx(found, rel=1e-6)


# 96 LEDs of 37 mA: 1.78 A for each of two feeds, 3.55 A for one. Contacts bear their rating.
@pytest.mark.parametrize(("rating", "fires"), [("3.54 A", True), ("3.56 A", False)])
def test_contacts_bear_a_lost_feed(rating: str, fires: bool) -> None:
    texts = {"contacts": "2", "contact_rating": rating, "contact_resistance": "1 mΩ"}
    result = run(**texts)
    assert ("lost-feed-contact" in list_codes(result)) == fires
    if fires:
        finding = find_finding(result, "lost-feed-contact")
        assert finding
        # Two would carry all of it unevenly, and one of them alone when the other is open.
        assert finding.apply == {"contacts_shared": "3"}


def test_a_contact_over_its_rating_is_told_once() -> None:
    codes = list_codes(run(contacts="2", contact_rating="1 A"))
    assert "contact-over-rating" in codes
    assert "lost-feed-contact" not in codes


def test_where_it_is_lost_is_named() -> None:
    told = find_text(run(), "lost-feed")
    assert "the one at the start lost, that at the end carries 3.55" in told
    assert "LED 1 is left with 3.99" in told
    inside = find_text(run(feed="at 20, 70"), "lost-feed")
    assert "the one at LED 20 lost, that at LED 70 carries" in inside
    dark = find_text(run(count="300", converter_limit="20 A"), "lost-feed")
    assert dark.endswith("is left with nothing.")


# Two contacts of 40 mΩ in the loop, two side by side each: 40 mΩ, and 60 mΩ with one open.
def test_one_contact_open() -> None:
    joint = {"contacts": "2", "contact_resistance": "40 mΩ", "feed": "middle"}
    two = run(**joint, contacts_shared="2")
    assert find_number(two, "feed_resistance") - find_number(run(feed="middle"), "feed_resistance") == (
        pytest.approx(0.04)
    )
    open_one = run(**joint | {"contact_resistance": "30 mΩ"})
    assert find_number(two, "open_contact_voltage") == pytest.approx(
        find_number(open_one, "lowest_voltage"), abs=1e-9
    )
    assert "with one of 2 contacts open, the others carry 3.55" in find_text(two, "open-contact")
    assert open_one.outputs["open_contact_voltage"] is None
    assert "open-contact" not in list_codes(open_one)
