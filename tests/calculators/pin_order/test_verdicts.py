"""pin-order's verdicts: what supplies withstand, the lead, its contacts and its fuse, and who harms whom."""

import pytest

from calculators.pin_order.calculator import CALCULATOR
from calculators.results.result import Result
from calculators.wire_gauge.calculator import CALCULATOR as WIRE_GAUGE
from tests.calculators.pin_order.test_calculator import FINDINGS
from tests.calculators.pin_order.test_calculator import run as run_lantern
from tests.calculators.running import find_finding, find_number, find_text, list_codes, list_rows, make_run

PREVENTED = {"keyed": "yes", "shrouded": "yes"}
run = make_run(CALCULATOR, from_pins="+5V, data, ground", to_pins="+5V, data in, ground", **PREVENTED)
feed = make_run(CALCULATOR, from_pins="battery, ground", to_pins="+12V, ground", **PREVENTED)


# What a supply input withstands


def test_an_input_for_12_volts_takes_a_charging_battery_and_what_it_bears_is_asked() -> None:
    result = feed(battery_voltage="14.6 V")
    assert (result.outputs["straight"], result.holds) == ("harmless", True)
    text = find_text(result, "supply-maximum-unknown").replace("\u00a0", " ")
    assert "Look up what pin 1 (+12V) of the board withstands" in text
    assert "“+12V max … V”: 14.6 V reach it" in text
    known = feed(battery_voltage="14.6 V", to_pins="+12V max 24V, ground")
    assert "supply-maximum-unknown" not in list_codes(known)
    assert "other-voltage" in list_codes(known)


@pytest.mark.parametrize(
    ("pin", "volts", "verdict"),
    [
        # ISO 16750-2, from memory: 16 V for 12 V, 32 V for 24 V.
        ("+12V", "16 V", "harmless"),
        ("+12V", "16.01 V", "damages"),
        ("+24V", "32 V", "harmless"),
        ("+24V", "32.1 V", "damages"),
        # A maker's data sheet of a 5 V addressable LED: 5.3 V at most.
        ("+5V", "5.3 V", "harmless"),
        ("+5V", "5.31 V", "damages"),
        # Ordinary logic bears 7 V at most, so what is made for more has a regulator before it.
        ("+7V", "9.3 V", "harmless"),
        ("+6.99V", "9.3 V", "damages"),
        ("+12V max 13.2 V", "14.6 V", "damages"),
    ],
)
def test_what_is_not_known_is_taken_from_inputs_of_that_voltage(pin: str, volts: str, verdict: str) -> None:
    assert feed(to_pins=f"{pin}, ground", battery_voltage=volts).outputs["straight"] == verdict


def test_what_is_taken_to_be_borne_is_said_to_be_unknown() -> None:
    result = feed(from_pins="+24V, ground")
    (row,) = [row for row in list_rows(result, "straight_pins") if row["verdict"] == "damages"]
    assert "what it withstands is not given" in str(row["reason"])
    (row,) = [
        row
        for row in list_rows(feed(from_pins="+24V, ground", supply_over="6 %"), "straight_pins")
        if row["verdict"] == "damages"
    ]
    assert "which withstands 12.7\u00a0V" in str(row["reason"])


# The lead


@pytest.mark.parametrize(("gauge", "length", "current"), [("20 AWG", 1.5, 1.5), ("24 AWG", 0.6, 2.0)])
def test_a_lead_is_judged_as_wire_gauge_judges_it(gauge: str, length: float, current: float) -> None:
    both = {"fuse": "3 A", "contact_resistance": "5 mΩ"}
    here = run(**both, lead_gauge=gauge, lead_length=f"{length} m", board_current=f"{current} A")
    wire = {"current": f"{current} A", "length": f"{length} m", "gauge": gauge}
    there = WIRE_GAUGE.run({**both, **wire, "supply": "5 V", "contacts": "4"})
    assert find_number(here, "drop") == pytest.approx(find_number(there, "drop"), rel=1e-12)
    assert ("drop-too-large" in list_codes(here)) == ("drop-too-large" in list_codes(there))
    finding = find_finding(here, "drop-too-large")
    assert finding
    wanted = finding.apply["lead_gauge"]
    assert wanted == there.outputs["gauge"]


def test_a_lead_may_lose_what_is_allowed_and_no_more_than_leaves_the_board_enough() -> None:
    """Three per cent of 5 V are 150 mV."""
    for length, found in (("60 cm", set()), ("4 m", {"drop-too-large"}), ("20 m", {"drop-below-need"})):
        told = list_codes(run(lead_length=length))
        assert {code for code in told if code.startswith("drop")} == found
    lost = run(lead_length="60 cm", lead_resistance="160 mΩ")
    assert find_number(lost, "drop") == pytest.approx(2 * 0.16 * 0.5)
    assert "drop-too-large" in list_codes(lost)
    assert "drop-too-large" not in list_codes(run(lead_length="60 cm", lead_resistance="149 mΩ"))


def test_two_halves_that_meet_have_half_the_contacts_of_a_lead() -> None:
    meeting = {"halves": "a plug and its socket", "to_view": "wire side"}
    alike, halves = run(), run(**meeting)
    assert find_number(alike, "drop") - find_number(halves, "drop") == pytest.approx(2 * 0.02 * 0.5)


def test_contacts_side_by_side_share_unequally_and_one_may_be_open() -> None:
    """Half the resistance carries two thirds of two, and all of it when the other is open."""
    pair = {"from_pins": "+5V, +5V, ground, ground", "to_pins": "+5V, +5V, ground, ground"}
    wired = {"lead_gauge": "14 AWG", "fuse": "7.5 A", "source_current": "40 A", "allowed_drop": "10 %"}

    def judge(current: str, **texts: str) -> str | None:
        codes = list_codes(run(**wired, **texts, contact_rating="3 A", board_current=current))
        return next((code for code in codes if code.startswith("contact")), None)

    assert judge("2.25 A") is None
    assert judge("2.26 A") == "contact-near-rating"
    assert judge("3.01 A") == "contact-over-rating"
    assert judge("3 A", **pair) is None
    assert judge("3.01 A", **pair) == "contact-near-rating"
    # One pin of the source feeds both of the board's: there the current goes through one contact.
    assert judge("3.01 A", **{**pair, "from_pins": "+5V, ground"}, joined="by the made-up lead") == (
        "contact-over-rating"
    )


@pytest.mark.parametrize(
    ("texts", "code"),
    [
        ({"fuse": "10 A", "source_current": "10.5 A"}, "fuse-never-opens"),
        ({"fuse": "2 A", "source_current": "2.2 A"}, "fuse-never-opens"),
        ({"fuse": "10 A", "source_current": "14 A"}, "fuse-opens-late"),
        ({"fuse": "10 A", "source_current": "20 A"}, None),
        ({"fuse": "0.8 A", "source_current": "100 A"}, "fuse-cannot-break"),
    ],
)
def test_a_fuse_needs_its_time_and_so_the_source(texts: dict[str, str], code: str | None) -> None:
    result = run(lead_gauge="12 AWG", lead_length="20 cm", contact_resistance="1 mΩ", **texts)
    found = [one for one in list_codes(result) if one in ("fuse-never-opens", "fuse-opens-late")]
    found += [one for one in list_codes(result) if one == "fuse-cannot-break"]
    assert found == ([code] if code else [])


def test_what_is_proposed_is_rounded_to_the_safe_side() -> None:
    """Three times 0.9 A are 2.7 A; 150 mV over what 1 A loses here, less a tenth, is 0.3 A and a little."""
    weak = find_finding(run(board_current="0.9 A", source_current="0.8 A", fuse="2 A"), "source-too-weak")
    assert weak
    assert weak.remedies
    assert next(iter(weak.remedies())) == {"source_current": "2.7 A"}
    lossy = find_finding(run(contact_resistance="100 mΩ"), "drop-too-large")
    assert lossy
    assert lossy.remedies
    assert [*lossy.remedies()][-1]["board_current"] == "0.3 A"


def test_a_lead_of_no_length_and_no_resistance_still_limits_a_short() -> None:
    bare = run(lead_length="0", contact_resistance="0", from_pins="ground, +5V", source_current="5000 A")
    # 5 V less a diode over twice the least that any wire has; a mΩ is the least that can be entered.
    assert find_number(bare, "fault_current") == pytest.approx((5 - 0.6) / 0.002)


# How they are joined


def test_a_made_up_lead_is_what_mends_a_straight_one() -> None:
    straight = run_lantern()
    finding = find_finding(straight, "straight-damages")
    assert finding
    assert finding.apply == {"joined": "by the made-up lead"}
    lead = run_lantern(**finding.apply, **PREVENTED)
    assert lead.holds
    assert lead.outputs["straight"] == lead.outputs["lead"] == "holds"
    assert "one without crossing looks the same" in find_text(lead, "mark-both-ends")
    assert lead.answer.write().startswith("Join them by the made-up lead 1-2, 2-1, 3-3 of 22 AWG")


def test_a_made_up_leads_plug_can_go_in_wrongly_too() -> None:
    """The lead brings each board pin what it needs, so that turned round it meets what its opposite needs."""
    lead = run_lantern(joined="by the made-up lead")
    alike = run_lantern(from_pins="+5V, data, ground")
    assert lead.outputs["reversed"] == alike.outputs["reversed"] == "damages"
    for name in ("shifted_left", "shifted_right"):
        assert lead.outputs[name] == alike.outputs[name]
    two_rows = {"from_pins": "+5V, ground, data, clock", "to_pins": "ground, clock in, data in, +5V"}
    turned = run_lantern(**two_rows, rows="2", joined="by the made-up lead", to_view="wire side")
    (row,) = [row for row in list_rows(turned, "reversed_pins") if row["from_role"] == "+5V"]
    assert row["to_role"] == "ground"


@pytest.mark.parametrize("texts", [row[2] for row in FINDINGS], ids=[row[0] for row in FINDINGS])
def test_no_answer_recommends_what_a_finding_stops(texts: dict[str, str]) -> None:
    result = run_lantern(**texts)
    said = result.answer.write()
    stops = {finding.code for finding in result.findings if finding.level == "stop"}
    assert said.endswith(".")
    assert said.count(". ") == 0
    if stops - {"straight-damages"}:
        assert said.startswith(("Put", "Use", "Make the lead", "Do not", "Bring", "Share")), said
    elif stops:
        assert said.startswith("Make up a lead"), said


def count_sentences(text: str) -> int:
    return text.count(". ") + 1


@pytest.mark.parametrize("row", FINDINGS, ids=[row[0] for row in FINDINGS])
def test_a_finding_is_one_or_two_sentences(row: tuple[str, str, dict[str, str]]) -> None:
    code, _, texts = row
    if code != "check-the-print":  # it repeats what each common order wants heeded
        assert count_sentences(find_text(run_lantern(**texts), code)) <= 2


def test_the_story_of_the_diode_is_told_once() -> None:
    told = [finding.text.write() for finding in run_lantern().findings]
    assert sum("diode" in text for text in told) == 1


# Roles


def list_verdicts(source: str, board: str, **texts: str) -> tuple[object, object]:
    outputs = run(from_pins=source, to_pins=board, **texts).outputs
    return outputs["straight"], outputs["crossing"]


@pytest.mark.parametrize(
    ("source", "board", "straight", "crossing"),
    [
        ("+5V, TX, RX, ground", "+5V, TX, RX, ground", "does not work", "1-1, 2-3, 3-2, 4-4"),
        ("+5V, TX, RX, ground", "+5V, RX, TX, ground", "holds", "1-1, 2-2, 3-3, 4-4"),
        ("+5V, SDA, SCL, ground", "+5V, SDA, SCL, ground", "holds", "1-1, 2-2, 3-3, 4-4"),
        ("+5V, SDA, SCL, ground", "+5V, SCL, SDA, ground", "does not work", "1-1, 2-3, 3-2, 4-4"),
        ("+5V, signal, ground", "+5V, PWM, ground", "holds", "1-1, 2-2, 3-3"),
        ("+5V, signal, ground", "+5V, data, ground", "holds", "1-1, 2-2, 3-3"),
        ("+5V, data, ground", "+5V, PWM, ground", "does not work", "1-1, 3-3"),
        ("+5V, signal, ground", "+5V, SDA, ground", "does not work", "1-1, 3-3"),
        (
            "audio left, audio right, audio ground",
            "audio right, audio ground, audio left",
            "does not work",
            "1-3, 2-1, 3-2",
        ),
        ("audio left, audio ground, ground", "audio left, ground, audio ground", "harmless", "1-1, 2-3, 3-2"),
        # The supply through a coupling capacitor is silence; what is above its maximum is not.
        ("+5V, ground", "audio left, ground", "does not work", "2-2"),
        ("+12V, ground", "audio left, ground", "damages", "2-2"),
        ("speaker +, ground", "audio left, ground", "damages", "2-2"),
    ],
)
def test_each_role_meets_its_like(source: str, board: str, straight: str, crossing: str) -> None:
    assert list_verdicts(source, board) == (straight, crossing)


def test_line_audio_is_weak() -> None:
    """2.8 V over 470 Ω are 5.96 mA (Ohm's law)."""
    shorted = run(from_pins="audio left, ground", to_pins="ground, ground")
    (row, *_) = list_rows(shorted, "straight_pins")
    assert "up to 5.96\u00a0mA" in str(row["reason"])
    beyond = run(from_pins="audio left, ground", to_pins="audio left, ground", input_maximum="2.5 V")
    (row, *_) = list_rows(beyond, "straight_pins")
    assert str(row["reason"]).startswith("2.8\u00a0V are above")


def test_a_bus_is_pulled_down_by_both_and_up_by_a_resistor() -> None:
    """5 V over a logic output's 25 Ω are 0.2 A: what pulls SDA down against a supply burns (Ohm's law)."""
    shorted = run(from_pins="SDA, ground", to_pins="+5V, ground", joined="directly")
    assert shorted.outputs["straight"] == "does not work"
    held = run(from_pins="+5V, ground", to_pins="SDA, ground")
    assert held.outputs["straight"] == "damages"
    assert "up to 200\u00a0mA" in find_text(held, "straight-damages")
    bus = {
        "from_pins": "+5V, SDA, ground", "to_pins": "+5V, SDA, ground", "controller_maximum": "3.6 V",
        "signal_level": "3.6 V",
    }  # fmt: skip
    lifted = run(**bus)
    finding = find_finding(lifted, "bus-pulled-up")
    assert finding
    assert finding.apply == {"bus_voltage": "3.6 V"}
    assert "bus-pulled-up" not in list_codes(run(**bus, bus_voltage="3.6 V"))
    # A pull-up of 100 Ω lets 14 mA into an input that bears 5 mA.
    burnt = run(**bus, pull_up="100 Ω", clamp_current="5 mA")
    assert burnt.outputs["straight"] == "damages"


# Several boards


BREAK_OUT = {"from_pins": "+12V, +5V, data, ground", "to_pins": "+12V, +5V, data in, ground"}


def list_harms(result: Result) -> list[tuple[object, object, object]]:
    return [(row["board"], row["way"], row["effect"]) for row in list_rows(result, "harms")]


def test_one_wrong_plug_harms_the_others_on_the_same_supply() -> None:
    result = run(**BREAK_OUT, boards="motor; +5V, +5V, data in, ground\nstrip; +5V, -, data in, ground")
    assert ("motor", "straight", "puts 12\u00a0V on the 5\u00a0V of strip") in list_harms(result)
    text = find_text(result, "others-damaged")
    assert text.startswith("Give motor a plug that goes in one way only")
    shorted = run(boards="a; ground, data in, +5V\nb; +5V, data in, ground")
    assert list_harms(shorted) == [("a", "straight", "takes the supply from b until a fuse opens")]
    muted = run(
        from_pins="signal, +5V, ground", boards="lantern; +5V, data, ground\nspine; data, +5V, ground",
        source_resistor="0 Ω", keyed="no",
    )  # fmt: skip
    assert any("takes the s" in str(effect) for _, _, effect in list_harms(muted))
    alone = run(boards="a; ground, data in, +5V")
    assert "harms" not in [table.name for table in alone.tables]


def test_what_a_made_up_lead_and_a_key_prevent_harms_nobody() -> None:
    boards = {"boards": "motor; +5V, +5V, data in, ground\nstrip; +5V, -, data in, ground"}
    finding = find_finding(run(**BREAK_OUT, **boards), "others-damaged")
    assert finding
    assert finding.apply
    assert "others-damaged" not in list_codes(run(**{**BREAK_OUT, **boards, **finding.apply}))


def test_what_is_missing_or_in_doubt_is_mended_in_the_pins() -> None:
    for source, board, code, field, wanted in (
        ("signal, +5V, -", "data, +5V, ground", "missing-ground", "from_pins", "signal, +5V, unused, ground"),
        ("+5V, ground", "+5V, RX, ground", "missing-signal", "from_pins", "+5V, ground, TX"),
        ("data, data, +5V, ground", "data, +5V, ground", "two-candidates", "to_pins", "data 1, +5V, ground"),
        ("ground", "speaker +, speaker -", "missing-speaker", "from_pins", "ground, speaker +, speaker -"),
    ):
        finding = find_finding(run(from_pins=source, to_pins=board), code)
        assert finding, code
        assert finding.apply.get(field) == wanted, (code, finding.apply)
