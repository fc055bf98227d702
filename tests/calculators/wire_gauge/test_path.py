"""The whole path from source to load: the fuse and its source, contacts, pairs, cords, constant power."""

import math

import pytest

from calculators.notation.errors import InputErrors
from calculators.notation.showing import GAP
from calculators.parts import read_rows
from calculators.physics.fuse import FuseKind, FusePoint, list_fuse_kinds
from calculators.results.result import Result
from calculators.wire_gauge.calculator import CALCULATOR
from tests.calculators.running import find_finding, find_number, find_text, list_codes, make_run
from tests.conftest import ROOT

run = make_run(CALCULATOR, current="5 A", supply="12 V", length="1 m", gauge="14 AWG")


def answer(**texts: str) -> str:
    return run(**texts).answer.write().replace(GAP, " ")


def tell(code: str, **texts: str) -> str:
    return find_text(run(**texts), code).replace(GAP, " ")


def apply(result: Result, code: str) -> dict[str, str]:
    finding = find_finding(result, code)
    assert finding is not None
    return dict(finding.apply)


# --- the fuse and its source ---


def test_a_converter_that_cannot_open_its_fuse_does_not_simply_hold() -> None:
    # 105 % of a blade's rating need never open it (ISO 8820-3: 110 % for 100 h).
    weak = {"fuse": "10 A", "source_current": "10.5 A"}
    assert list_codes(run(**weak))["fuse-opens-late"] == "caution"
    told = tell("fuse-opens-late", **weak)
    assert "into a short the source gives 10.5 A, 105 % of a 10 A blade fuse, which need never open" in told
    # 5 A want 6.67 A of fuse, so 7.5 A; 160 % of that open it within 50 s.
    assert told.startswith("Take a source that gives 12 A, and a 7.5 A fuse")
    assert answer(**weak) == (
        "Change it before you build it: feed it from a source that gives 12 A, keep 14 AWG, and fit a 7.5 A "
        "fuse."
    )
    mended = apply(run(**weak), "fuse-opens-late")
    assert run(**(weak | mended)).holds


@pytest.mark.parametrize(
    ("kind", "source", "told"),
    [
        ("blade", "13.4 A", "need never open"),
        ("blade", "13.5 A", "may take 10 min to open"),
        ("blade", "15.9 A", "may take 10 min to open"),
        ("blade", "16 A", ""),
        ("6.3x32", "13.4 A", "need never open"),
        ("6.3x32", "19.9 A", "may take 1 h to open"),
        ("6.3x32", "20 A", ""),
        ("5x20 quick", "20.9 A", "need never open"),
        ("5x20 quick", "27.4 A", "may take 30 min to open"),
        ("5x20 quick", "27.5 A", ""),
    ],
)
def test_each_kind_opens_at_its_own_current(kind: str, source: str, told: str) -> None:
    result = run(fuse="10 A", fuse_kind=kind, source_current=source)
    assert result.holds == (told == "")
    if told:
        assert told in find_text(result, "fuse-opens-late").replace(GAP, " ")


def test_a_long_thin_run_keeps_a_short_from_opening_its_fuse() -> None:
    thin = {"current": "1 A", "gauge": "26 AWG", "allowed_drop": "50 %", "fuse": "2 A"}
    loop = 2 * find_number(run(**thin), "resistance_per_km_hot") / 1000
    # A 2 A blade is sure to open at 160 %: so long may the wire be.
    length = 12 / (2 * 1.6) / loop
    assert "fuse-opens-late" not in list_codes(run(**thin, length=f"{0.99 * length:.4f} m"))
    late = run(**thin, length=f"{1.01 * length:.4f} m")
    assert find_number(late, "fault_current") == pytest.approx(3.2 / 1.01, rel=1e-3)
    assert find_text(late, "fuse-opens-late").startswith(
        "Take thicker wire or a shorter run: into a short the run"
    )
    assert "gauge" in apply(late, "fuse-opens-late")


def test_what_a_battery_drives_through_a_short_has_to_be_broken() -> None:
    glass = {"current": "2 A", "fuse": "3 A", "fuse_kind": "5x20 quick"}
    assert run(**glass, source_current="35 A").holds
    strong = run(**glass, source_current="35.1 A")
    assert list_codes(strong)["fuse-breaking"] == "stop"
    assert apply(strong, "fuse-breaking") == {"fuse_kind": "usual"}
    assert run(**glass, source_current="500 A", fuse_breaking="500 A").holds
    assert "fuse-breaking" in list_codes(run(**glass, source_current="501 A", fuse_breaking="500 A"))
    # Of what is usual the one is taken that can.
    assert run(current="0.3 A", source_current="35 A").outputs["fuse_to_fit"] == 0.4
    assert run(current="0.3 A", source_current="36 A").outputs["fuse_to_fit"] == 1.0


def test_a_fuse_has_a_voltage() -> None:
    blade = {"fuse": "7.5 A", "fuse_kind": "blade"}
    assert run(**blade, supply="32 V").holds
    high = run(**blade, supply="32.1 V")
    assert list_codes(high)["fuse-voltage"] == "stop"
    assert apply(high, "fuse-voltage") == {"fuse_kind": "usual"}
    assert run(fuse="7.5 A", supply="48 V").holds
    # Nothing in the table breaks more than 58 V.
    assert run(fuse="7.5 A", supply="58 V").holds
    assert apply(run(fuse="7.5 A", supply="58.1 V"), "fuse-voltage") == {"supply": "58 V"}
    assert "feed it with 58 V at most, which a fuse can break" in answer(supply="60 V")


def test_a_kind_that_is_not_made_in_the_rating_is_told() -> None:
    assert "fuse-not-made" not in list_codes(run(current="0.7 A", fuse="1 A", fuse_kind="blade"))
    odd = run(current="0.3 A", fuse="0.5 A", fuse_kind="blade")
    assert list_codes(odd)["fuse-not-made"] == "caution"
    assert apply(odd, "fuse-not-made")


def test_the_source_has_to_give_what_the_load_draws() -> None:
    assert "source-overloaded" not in list_codes(run(source_current="5 A"))
    weak = run(source_current="4.99 A")
    assert list_codes(weak)["source-overloaded"] == "stop"
    assert apply(weak, "source-overloaded") == {"source_current": "12.0 A"}
    assert "source-not-judged" not in list_codes(weak)
    assert list_codes(run())["source-not-judged"] == "note"


def test_an_inrush_is_borne_as_long_as_the_fuse_lasts() -> None:
    # ISO 8820-3: 600 % for 20 ms; beyond it the square of the current times the time stays the same.
    for inrush, lasts, bears in (
        ("45 A", "20 ms", True), ("45 A", "20.1 ms", False),
        ("90 A", "5 ms", True), ("90 A", "5.1 ms", False),
    ):  # fmt: skip
        result = run(fuse="7.5 A", inrush=inrush, inrush_time=lasts)
        assert ("inrush-opens-fuse" in list_codes(result)) != bears
    late = run(fuse="7.5 A", inrush="90 A", inrush_time="6 ms")
    assert apply(late, "inrush-opens-fuse") == {"fuse": "10 A"}
    # A time-lag fuse bears ten times its rating for 20 ms, a quick one promises less.
    glass = {"current": "2 A", "fuse": "4 A", "inrush": "40 A", "inrush_time": "20 ms"}
    assert run(**glass, fuse_kind="5x20 time-lag").holds
    assert not run(**glass, fuse_kind="5x20 quick").holds
    # Where no fuse bears it, it has to be slower.
    hard = run(fuse="7.5 A", inrush="4000 A", inrush_time="1 s")
    assert run(
        fuse="7.5 A", **({"inrush": "4000 A", "inrush_time": "1 s"} | apply(hard, "inrush-opens-fuse"))
    ).holds
    assert "let no more than" in answer(fuse="7.5 A", inrush="4000 A", inrush_time="1 s")


# --- contacts and pairs ---

JOINT = {"contacts": "2", "contact_resistance": "5 mΩ"}


def test_the_worst_contact_and_its_heat_are_worked_out() -> None:
    result = run(**JOINT, current="4 A", contacts_shared="3", contact_rating="3 A")
    # One of 5 mΩ beside two of 10 mΩ carries half.
    assert find_number(result, "contact_worst") == pytest.approx(2.0)
    steps = {step.label: step for step in result.working}
    heat = steps["Heat of that contact"].outcome
    assert heat.write().replace(GAP, " ") == "20 mW"  # 2² · 5 mΩ
    assert steps["The others when one is open"].outcome.write().replace(GAP, " ") == "2 A"
    assert "The others when one is open" not in {step.label for step in run(**JOINT).working}


@pytest.mark.parametrize(
    ("shared", "rating", "reason"),
    [
        ("1", "6 A", "would carry 5 A of its 6 A"),
        ("2", "4.9 A", "would carry 5 A of its 4.9 A as soon as one of the others is open"),
        ("2", "3 A", "would carry up to 3.33 A of its 3 A, for contacts never share evenly"),
    ],
)
def test_why_a_contact_is_too_weak(shared: str, rating: str, reason: str) -> None:
    told = tell("contact-near-rating", **JOINT, contacts_shared=shared, contact_rating=rating)
    assert reason in told
    result = run(**JOINT, contacts_shared=shared, contact_rating=rating)
    wanted = apply(result, "contact-near-rating")["contacts_shared"]
    assert told.startswith(f"Put {wanted} contacts side by side")
    assert f"put {wanted} contacts side by side" in result.answer.write()


def test_pairs_share_and_one_of_them_may_be_lost() -> None:
    one, two = run(current="4 A"), run(current="8 A", pairs="2")
    for name in ("drop", "conductor_temperature", "fuse_to_fit"):
        assert two.outputs[name] == one.outputs[name]
    assert find_number(two, "power_lost") == pytest.approx(2 * find_number(one, "power_lost"))
    # 4 A want 5.33 A of fuse, so 7.5 A; the other pair would carry 8 A.
    assert "each of the others carries 8 A, and its fuse of 7.5 A opens some time later" in tell(
        "one-pair-lost", current="8 A", pairs="2"
    )
    assert "carries 6 A, and its fuse of 7.5 A bears it" in tell("one-pair-lost", current="12 A", pairs="3")
    assert "one-pair-lost" not in list_codes(one)


@pytest.mark.parametrize(("rating", "cautioned"), [("8.01 A", False), ("7.99 A", True)])
def test_the_contacts_of_the_other_pair_have_to_bear_it_all(rating: str, cautioned: bool) -> None:
    result = run(**JOINT, current="8 A", pairs="2", contact_rating=rating, allowed_drop="5 %")
    assert ("pair-lost" in list_codes(result)) == cautioned
    if cautioned:
        assert apply(result, "pair-lost") == {"contacts_shared": "2"}


# --- loads of the same power, cords ---


def test_a_converter_draws_more_as_its_supply_sags() -> None:
    constant = {"load": "same power", "lowest_supply": "10 V", "allowed_drop": "0.5 V"}
    result = run(**constant)
    # 60 W at 9.5 V, the least that is left at the load.
    drawn = 60 / 9.5
    loop = 2 * find_number(result, "resistance_per_km_hot") / 1000
    assert find_number(result, "drop") == pytest.approx(drawn * loop)
    step = next(step for step in result.working if step.label.startswith("Current at the load's"))
    assert step.outcome.write().replace(GAP, " ") == "6.32 A"
    # It never draws more than that: with its real drop the circuit settles below (P = U I - R I²).
    settled = (10 - math.sqrt(100 - 4 * loop * 60)) / (2 * loop)
    assert 5 < settled <= drawn
    assert find_number(run(load="same power"), "drop") == pytest.approx(
        find_number(run(current=f"{5 / 0.97!r} A"), "drop")
    )
    assert run(lowest_supply="10 V", allowed_drop="0.5 V").outputs["drop"] == run().outputs["drop"]


def test_a_cord_carries_what_its_table_says() -> None:
    # A maker's table of two-core PVC cords at 30 °C: mm², A.
    for size, amperes in ((0.5, 4), (0.75, 7), (1.0, 12), (1.5, 15), (2.5, 20), (4.0, 27)):
        cord = run(gauge=f"{size} mm2", cable="two-core cord", current="1 A")
        assert find_number(cord, "capacity") == pytest.approx(amperes)
        assert find_number(cord, "conductor_temperature") > find_number(
            run(gauge=f"{size} mm2", current="1 A"), "conductor_temperature"
        )
    # BS 7671: the square root of what rise is left; at 50 °C 0.71.
    warm = run(gauge="1 mm2", cable="two-core cord", current="1 A", ambient="50 °C")
    assert find_number(warm, "capacity") == pytest.approx(12 * 0.71, rel=0.01)
    cool = run(gauge="1 mm2", cable="two-core cord", current="1 A", ambient="10 °C")
    assert find_number(cool, "capacity") == 12
    # Thinner than the table, and between two of its sizes: never better than the thinner one.
    for name, least in (("0.25 mm2", 2.0), ("20 AWG", 4.0), ("0.7 mm2", 4.0)):
        thin = run(gauge=name, cable="two-core cord", current="1 A")
        assert find_number(thin, "capacity") == pytest.approx(least)
    label = "Carries for hours, two-core cord"
    assert label in {step.label for step in warm.working}
    assert label not in {step.label for step in run().working}


def test_a_cord_never_carries_more_than_single_wires() -> None:
    for size in [str(row["area"]) for row in read_rows("conductors")]:
        for ambient in ("-20 °C", "30 °C", "60 °C"):
            texts = {"gauge": f"{size} mm2", "ambient": ambient, "bundle": "2"}
            cord = find_number(run(**texts, cable="two-core cord"), "capacity")
            assert cord <= find_number(run(**texts), "capacity")


# --- answers ---


def test_the_answer_names_the_fuse_to_fit_and_the_largest_stands_among_the_figures() -> None:
    result = run(current="3 A")
    assert result.answer.write().replace(GAP, " ") == "Keep 14 AWG, and fit a 4 A fuse."
    assert result.outputs["fuse_to_fit"] == 4.0
    assert find_number(result, "largest_fuse") > 15
    main = [output.name for output in CALCULATOR.outputs if output.main]
    assert "fuse_to_fit" in main
    assert "largest_fuse" not in main


@pytest.mark.parametrize(
    ("texts", "told"),
    [
        ({"gauge": ""}, "Take 18 AWG or 0.75 mm², and fit a 7.5 A fuse."),
        ({"gauge": "26 AWG"}, "Do not build it like this: take 18 AWG or 0.75 mm², and fit a 7.5 A fuse."),
        ({"fuse": "5 A"}, "Change it before you build it: keep 14 AWG, and fit a 7.5 A fuse."),
        (
            {"contacts": "8", "contact_resistance": "30 mΩ", "gauge": ""},
            "Do not build it like this: put 5 contacts side by side at each crossing, ",
        ),
        (
            {"current": "400 A", "gauge": ""},
            "Do not build it like this: share it between 3 pairs with a fuse each, take ",
        ),
        ({"current": "100 A", "length": "60 m", "gauge": ""}, "Do not build it like this: keep it to "),
        (
            {"current": "2 A", "fuse": "3 A", "fuse_kind": "5x20 quick", "source_current": "400 A"},
            "Do not build it like this: keep 14 AWG, and fit a 3 A blade fuse.",
        ),
        (
            {"fuse": "7.5 A", "source_current": "3000 A"},
            "Do not build it like this: keep 14 AWG, and fit a 7.5 A fuse that breaks 3000 A.",
        ),
        (
            {"contacts": "40", "contact_resistance": "10 Ω", "contact_rating": "0.01 A"},
            "Do not build it like this: put 20 contacts side by side at each crossing, take contacts rated ",
        ),
    ],
)  # fmt: skip
def test_the_answer_never_recommends_what_is_stopped(texts: dict[str, str], told: str) -> None:
    assert answer(**texts).startswith(told)
    result = run(**texts)
    for finding in result.findings:
        if finding.level == "stop":
            mended = answer(**{**texts, **finding.apply})
            assert mended.startswith(("Keep ", "Take ", "Change "))


@pytest.mark.parametrize(
    ("field", "part", "texts"),
    [
        ("lowest_supply", "above the supply", {"lowest_supply": "12.1 V"}),
        ("lowest_supply", "more than half", {"lowest_supply": "5.9 V", "allowed_drop": "3 V"}),
        ("pairs", "outside", {"pairs": "21"}),
        ("load", "choices", {"load": "different"}),
        ("fuse_kind", "choices", {"fuse_kind": "wishful"}),
    ],
)
def test_what_does_not_go_together_is_refused(field: str, part: str, texts: dict[str, str]) -> None:
    with pytest.raises(InputErrors) as caught:
        run(**texts)
    (error,) = caught.value.errors
    assert error.field == field
    assert part in error.problem


# --- the page's table of kinds ---


def write_time(seconds: float) -> str:
    """Hours from two on, minutes from two on, as the page has them."""
    for unit, size in (("h", 3600), ("min", 60)):
        if seconds >= 2 * size:
            return f"{seconds / size:g} {unit}"
    return f"{seconds:g} s" if seconds >= 0.1 else f"{1000 * seconds:g} ms"


def write_point(point: FusePoint, kind: FuseKind) -> str:
    told = f"{100 * point.load:g} %"
    if any(other.load == point.load and other.largest != point.largest for other in kind.points):
        told += f" (to {point.largest:g} A)"
    match point.earliest, point.latest:
        case float() | int() as least, None:
            return f"{told}: lasts {write_time(least)}"
        case None, float() | int() as most:
            return f"{told}: within {write_time(most)}"
        case least, most:
            return f"{told}: {write_time(least or 0.0)} to {write_time(most or 0.0)}"


def test_the_page_tells_the_opening_times_of_the_parts_table() -> None:
    page = (ROOT / "build_scripts" / "pages" / "calculators" / "wire-gauge.md").read_text("utf-8")
    for kind in list_fuse_kinds():
        points = "; ".join(write_point(point, kind) for point in kind.points)
        made = f"{kind.smallest:g} to {kind.largest:g} A"
        row = f"| {kind.name} | {made} | {kind.voltage:g} V | {kind.breaking:g} A | {points} |"
        assert row in page.splitlines(), row
    assert len([line for line in page.splitlines() if " V | " in line and " to " in line]) == len(
        list_fuse_kinds()
    )


# --- what is proposed ---


@pytest.mark.parametrize(
    ("drops", "contacts", "better"), [(2.98, 3, False), (3.02, 4, False), (19.9, 20, False), (20.1, 20, True)]
)
def test_contacts_are_proposed_that_leave_a_fifth_of_the_drop_to_the_wire(
    drops: float, contacts: int, better: bool
) -> None:
    # 3 % of 12 V, of which contacts may take 80 %; two of them carry 5 A one after the other.
    resistance = drops * 0.8 * 0.36 / (2 * 5)
    result = run(contacts="2", contact_resistance=f"{resistance!r} ohm")
    mended = apply(result, "contacts-alone-fail")
    assert mended["contacts_shared"] == str(contacts)
    told = result.answer.write()
    assert f"put {contacts} contacts side by side" in told
    assert ("take contacts of" in told) == better
