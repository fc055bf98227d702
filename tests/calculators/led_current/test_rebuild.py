"""What is proposed in place of a string that does not hold."""

import pytest

from calculators.led_current.calculator import CALCULATOR
from calculators.led_current.given import Given
from calculators.led_current.rebuild import (
    CONVERTERS,
    FEED_LIMIT,
    Rebuild,
    begin_anew,
    bring_near,
    find_converter,
    refeed,
    thicken,
)
from calculators.led_current.solve import RATINGS, Solved, solve
from calculators.numbers.rounding import exceeds
from calculators.physics.lead import find_lead_capacity


def read(**texts: str) -> Given:
    return Given(**CALCULATOR.read(texts))  # type: ignore[arg-type]  # what the form's own fields have read


def build(rebuilt: Rebuild | None, **texts: str) -> Solved:
    assert rebuilt is not None
    return solve(
        read(
            **{
                **texts,
                "feed": rebuilt.feed, "lead_gauge": rebuilt.gauge.label, "lead_length": f"{rebuilt.length} m",
                "contacts": str(rebuilt.contacts), "segment_resistance": f"{rebuilt.segment} Ω",
                "strip_resistance": "", "count": str(rebuilt.count), "supply": f"{rebuilt.supply} V",
                "floor": f"{rebuilt.floor} V",
            }
        )
    )  # fmt: skip


FAR = {"count": "400", "feed": "one end", "lead_length": "4 m", "contacts": "2", "converter_limit": "40 A"}


@pytest.mark.parametrize("rebuild", [thicken, bring_near, begin_anew])
def test_what_is_rebuilt_holds(rebuild) -> None:  # type: ignore[no-untyped-def]
    given = read(**FAR)
    rebuilt = rebuild(given, given.find_led(), 4.5)
    solved = build(rebuilt, **FAR)
    assert solved.string.lowest >= 4.5 - 1e-9
    assert solved.busiest.fuse == rebuilt.fuse
    assert not exceeds(rebuilt.fuse, find_lead_capacity(rebuilt.gauge, "stranded"))


def test_a_feed_takes_ten_amperes_and_no_more() -> None:
    # A strip without resistance to speak of would do with one feed, at any current.
    for amps, feeds in ((9.9, 1), (10.1, 2)):
        texts = {"led_type": "own figures", "channels": "1", "idle_current": "0 A", "count": "10"}
        given = read(
            **texts, channel_current=f"{amps / 10} A", segment_resistance="0.001 mΩ", lead_gauge="10 AWG",
            lead_length="0.1 m",
        )  # fmt: skip
        found = refeed(given, given.find_led(), 4.5)
        assert found is not None
        assert len(found.nodes) == feeds
    assert FEED_LIMIT == 10


def test_a_wire_that_no_fuse_protects_is_not_proposed() -> None:
    for gauge, bears in (("26 AWG", False), ("20 AWG", True)):
        given = read(count="144", feed="one end", lead_gauge=gauge, lead_length="0.1 m")
        found = refeed(given, given.find_led(), 4.5)
        assert bool(found) == bears


def test_leads_become_thicker_and_shorter_and_never_thinner_or_longer() -> None:
    for gauge, length, thick, short in (("18 AWG", "1 m", "12 AWG", 0.3), ("8 AWG", "0.2 m", "8 AWG", 0.2)):
        given = read(lead_gauge=gauge, lead_length=length, contacts="2")
        near = bring_near(given, given.find_led(), 4.5)
        assert near is not None
        assert (near.gauge.label, near.length, near.contacts) == (thick, short, 0)
        thicker = thicken(given, given.find_led(), 4.5)
        assert thicker is not None
        assert (thicker.gauge.label, thicker.length, thicker.contacts) == (thick, given.lead_length, 2)


def test_all_anew_takes_an_ordinary_strip_and_no_more_than_ten_amperes() -> None:
    given = read(count="1500", segment_resistance="7 mΩ", supply="3 V", floor="8 V")
    anew = begin_anew(given, given.find_led(), 8.0)
    assert anew is not None
    # 270 LEDs of 37 mA are 9.99 A; 4.5 V is what careful builders want of 5 V.
    assert (anew.count, anew.segment, anew.supply, anew.floor) == (270, 0.005, 5.0, 4.5)
    small = read(count="20", segment_resistance="4 mΩ")
    same = begin_anew(small, small.find_led(), 4.0)
    assert same is not None
    assert (same.count, same.segment, same.floor) == (20, 0.004, 4.0)


def test_sizes_on_sale() -> None:
    assert [find_converter(amps) for amps in (0.1, 8.0, 8.1, 1000.0, 1001.0)] == [
        1.0,
        8.0,
        10.0,
        1000.0,
        None,
    ]
    for sizes in (CONVERTERS, RATINGS):
        assert list(sizes) == sorted(set(sizes))
