"""The wire-gauge calculator as its users meet it: texts in, sizes, findings, readings and pictures out."""

import json
import math
import re
import xml.etree.ElementTree as ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calculators.notation.errors import InputErrors
from calculators.notation.insulation import read_insulation
from calculators.notation.showing import GAP, Figure
from calculators.parts import read_rows
from calculators.presentation.as_json import render_json
from calculators.presentation.as_text import render_text
from calculators.results.result import Reading, Result
from calculators.wire_gauge.allowed_drop import AllowedDrop, read_allowed_drop
from calculators.wire_gauge.calculator import CALCULATOR
from tests.calculators.labels import check_labels
from tests.calculators.running import find_number, find_text, list_codes, make_run, run_ngspice

run = make_run(
    CALCULATOR,
    current="6.5 A",
    supply="12.8 V",
    length="1.2 m",
    conductor="solid",
    contact_resistance="30 mΩ",
)


def test_an_ordinary_run_holds_and_every_declared_output_is_there() -> None:
    result = run()
    assert list(result.outputs) == [output.name for output in CALCULATOR.outputs]
    assert (result.outputs["gauge"], result.outputs["gauge_metric"]) == ("18 AWG", "1 mm²")
    assert result.holds
    assert CALCULATOR.run({}).holds
    assert CALCULATOR.run(CALCULATOR.example).holds


# IEC 60228, table 3 (class 5): size, plain and tinned Ω/km.
@pytest.mark.parametrize(
    ("gauge", "plain", "tinned"), [("0.5 mm2", 39.0, 40.1), ("1,5 mm²", 13.3, 13.7), ("6 mm2", 3.30, 3.39)]
)
def test_resistance_of_stranded_conductors(gauge: str, plain: float, tinned: float) -> None:
    for conductor, ohms in (("stranded", plain), ("tinned", tinned)):
        found = find_number(run(gauge=gauge, conductor=conductor), "resistance_per_km")
        assert found == pytest.approx(ohms, rel=1e-9)
    worst = find_number(run(gauge=gauge, conductor="worst case"), "resistance_per_km")
    assert worst == pytest.approx(1.24 * find_number(run(gauge=gauge), "resistance_per_km"), rel=1e-12)


def test_the_bilge_pump_of_small_craft_practice_in_metric() -> None:
    # ABYC E-11 worked by a chandler: 10 A, 11 ft + 10 ft of wire, 12 V, 3 %: 6271 circular mils, 3.177 mm².
    result = run(current="10 A", length="10.5 ft", supply="12 V", allowed_drop="3 %")
    assert result.outputs["gauge_metric"] == "4 mm²"


def test_fusing_currents_of_the_judged_size() -> None:
    # Preece's 80 d^1.5 and Onderdonk for 1 s from 25 °C, reckoned apart: 22 AWG 41.3 A and 94 A.
    result = run(gauge="22 AWG", ambient="25 °C")
    assert find_number(result, "fusing_current") == pytest.approx(80 * 0.6438**1.5, rel=1e-3)
    onderdonk = 642.4 * math.sqrt(math.log10((1083 - 25) / (234 + 25) + 1) / 33)
    assert find_number(result, "fusing_current_1s") == pytest.approx(onderdonk, rel=1e-3)


@pytest.mark.prepared
def test_drop_agrees_with_ngspice() -> None:
    result = run(
        current="4 A", peak="7 A", length="2.4 m", contacts="4", contact_resistance="30 mohm", gauge="14 AWG"
    )
    wire = find_number(result, "resistance_per_km_hot") * 0.0024
    deck = f"""wire run
v1 a 0 12.8
r1 a b {wire!r}
r2 b c 0.06
i1 c d 7
r3 d e 0.06
r4 e 0 {wire!r}
.control
op
print v(c) v(d)
quit
.endc
.end
"""
    lines = [line for line in run_ngspice(deck).splitlines() if line.startswith("v(")]
    nodes = {line[:4]: float(line.split("=")[1]) for line in lines}
    drop = 12.8 - (nodes["v(c)"] - nodes["v(d)"])
    assert find_number(result, "drop") == pytest.approx(drop, abs=2e-5)
    assert find_number(result, "drop_percent") == pytest.approx(100 * drop / 12.8, abs=2e-4)


def test_shares_and_resistances_are_told_in_the_units_of_the_trade() -> None:
    texts = {"gauge": "18 AWG", "current": "0.5 A"}
    result = run(**texts)
    told = render_json(CALCULATOR, texts, result)["outputs"]
    assert isinstance(told, dict)
    # Floyd's wire table (NBS Circular 31 lineage): 6.385 Ω per 1000 ft, which is 20.95 Ω/km.
    assert told["resistance_per_km"] == {"value": pytest.approx(20.95, rel=1e-3), "unit": "ohm/km"}
    assert told["resistance_per_km_hot"]["unit"] == "ohm/km"
    assert told["drop_percent"]["unit"] == "%"
    assert "20.95 Ω/km" in render_text(CALCULATOR, texts, result)
    assert "6.385 Ω/1000 ft" in render_text(CALCULATOR, texts, result, "imperial")


def test_power_is_the_mean_over_the_peaks_as_numpy_finds_it() -> None:
    result = run(
        current="2 A", peak="6 A", duty="25 %", gauge="16 AWG", contacts="2", contact_resistance="20 mohm"
    )
    cycle = np.array([6.0] * 25 + [2.0] * 75)
    loop = 2 * 0.0012 * find_number(result, "resistance_per_km_hot") + 0.04
    assert find_number(result, "power_lost") == pytest.approx(float(np.mean(cycle**2)) * loop, rel=1e-9)


def test_at_its_capacity_a_thick_wire_is_at_its_insulations_temperature() -> None:
    capacity = find_number(run(gauge="6 AWG", insulation="90 °C"), "capacity")
    warm = run(gauge="6 AWG", insulation="90 °C", current=f"{capacity!r} A", allowed_drop="50 %")
    assert find_number(warm, "conductor_temperature") == pytest.approx(90, abs=1e-3)
    assert "too-hot" not in list_codes(warm)


def test_a_thinner_neighbour_fails_and_the_table_says_why() -> None:
    result = run()
    (table,) = result.tables
    rows = {row[0]: (row[1], mark) for row, mark in zip(table.rows, table.marks, strict=True)}
    assert rows["18 AWG"] == ("passes", "chosen")
    assert rows["1 mm²"] == ("passes", "chosen")
    assert rows["0.75 mm²"] == ("drop too large", "caution")
    assert rows["20 AWG"] == ("drop too large, no fuse protects it", "stop")
    areas = [row[-1] for row in table.rows]
    assert areas == sorted(areas)  # type: ignore[type-var]


def test_dust_does_not_cost_a_size() -> None:
    # A drop that is allowed exactly: the size that loses it still passes.
    drop = find_number(run(gauge="16 AWG"), "drop")
    assert run(allowed_drop=f"{drop * (1 - 1e-13)!r} V").outputs["gauge"] == "16 AWG"


DROPPING = {"current": "10 A", "length": "6 m", "gauge": "12 AWG"}
FIRES: tuple[tuple[str, str, dict[str, str]], ...] = (
    ("stop", "contacts-alone-fail", {"contacts": "8", "contact_resistance": "30 mohm"}),
    ("stop", "no-size-passes", {"current": "200 A", "length": "60 m"}),
    ("stop", "runs-away", {"gauge": "26 AWG", "length": "0.05 m", "current": "20 A"}),
    ("stop", "too-hot", {"gauge": "22 AWG", "length": "0.1 m"}),
    ("stop", "drop-above-supply", {"current": "6 A", "length": "30 m", "gauge": "22 AWG"}),
    ("caution", "drop-too-large", DROPPING),
    ("stop", "no-fuse-made", {"current": "300 A", "length": "0.1 m"}),
    ("stop", "no-fuse-fits", {"gauge": "22 AWG", "length": "0.1 m", "current": "4.2 A"}),
    ("stop", "fuse-too-large", {"fuse": "30 A", "gauge": "16 AWG"}),
    ("caution", "fuse-too-small", {"fuse": "7.5 A"}),
    ("stop", "source-overloaded", {"source_current": "6 A"}),
    ("stop", "fuse-voltage", {"supply": "48 V", "fuse": "10 A", "fuse_kind": "blade"}),
    ("stop", "fuse-breaking", {"source_current": "2000 A", "fuse": "10 A", "fuse_kind": "blade"}),
    ("caution", "fuse-opens-late", {"source_current": "10.5 A", "fuse": "10 A"}),
    ("caution", "fuse-not-made", {"current": "0.3 A", "fuse": "0.5 A", "fuse_kind": "blade"}),
    ("caution", "inrush-opens-fuse", {"inrush": "100 A", "inrush_time": "50 ms"}),
    (
        "caution",
        "pair-lost",
        {"pairs": "2", "contacts": "2", "contact_rating": "6 A", "contact_resistance": "1 mohm"},
    ),
    ("note", "one-pair-lost", {"pairs": "2"}),
    ("note", "source-not-judged", {}),
    ("note", "add-fuse", {}),
    ("note", "softens-plastic", {"current": "25 A", "length": "0.2 m", "insulation": "105 °C"}),
    ("note", "contacts-lose-most", {"contacts": "2", "contact_resistance": "20 mohm"}),
    ("note", "real-wire", {}),
    ("note", "long-peaks", {"peak": "9 A", "peak_time": "5 min"}),
    ("note", "thinner-would-do", {"gauge": "10 AWG"}),
    ("note", "breaks-easily", {"current": "0.2 A"}),
    ("note", "unusual-input", {"length": "40 m"}),
)


@pytest.mark.parametrize(("level", "code", "texts"), FIRES, ids=[fire[1] for fire in FIRES])
def test_every_finding_fires(level: str, code: str, texts: dict[str, str]) -> None:
    result = run(**texts)
    assert (level, code) in [(finding.level, finding.code) for finding in result.findings]
    assert result.holds == all(finding.level == "note" for finding in result.findings)
    for finding in result.findings:
        for system in ("metric", "imperial"):
            text = finding.text.write(system)
            assert text.endswith(".")
            assert "{" not in text


def tell(code: str, **texts: str) -> str:
    return find_text(run(**texts), code).replace(GAP, " ")


# Fuse makers' guides: 75 % for hours, so 6.5 A want 8.67 A; ISO 8820-3 has 10 A. IEC 60364-4-43, 433.1: a
# fuse never above what the wire carries.
def test_what_to_do_about_a_fuse() -> None:
    assert "7.5 A fuse ages and opens in use" in tell("fuse-too-small", fuse="7.5 A")
    below = tell("fuse-too-small", fuse="5 A")
    assert below.startswith("A 5 A fuse is overloaded by 6.5 A and opens in use: load")
    assert below.endswith("Fit 10 A.")
    short = {"length": "0.1 m", "gauge": "18 AWG", "current": "9 A"}
    assert tell("fuse-too-small", **short, fuse="10 A").endswith("Fit 15 A, and a wire that carries as much.")
    assert tell("fuse-too-small", current="300 A", length="0.1 m", fuse="250 A").endswith("a fuse each.")
    assert "Fit a 10 A fuse, or take 10 AWG or 4 mm²." in tell("fuse-too-large", fuse="30 A", gauge="16 AWG")
    assert "one of 8.67 A at least; take" in tell(
        "fuse-too-large", fuse="30 A", gauge="22 AWG", length="0.1 m"
    )


def test_what_is_too_hot_or_fused_too_high_is_not_to_be_shortened() -> None:
    # At 60 m no size keeps the drop of 200 A within 3 %, so none can be named.
    long = {"current": "200 A", "length": "60 m", "gauge": "26 AWG"}
    for code in ("runs-away", "fuse-too-large"):
        text = tell(code, **long, fuse="100 A")
        assert "horten" not in text
        assert "take wire that carries" in text
    # 200 A want a fuse of 200 A / 0.75; the wire has to carry that, not the 100 A of the fuse at hand.
    assert "one of 267 A at least; take wire that carries 267 A, or" in tell(
        "fuse-too-large", **long, fuse="100 A"
    )
    assert "horten" not in tell("no-fuse-fits", current="60 A", length="60 m", gauge="4 AWG", bundle="20")
    assert "shorten the run" in tell(
        "drop-too-large", current="40 A", length="60 m", gauge="4/0 AWG", supply="24 V", allowed_drop="1 %"
    )


def test_a_drop_beyond_the_supply_is_a_stop() -> None:
    # Floyd's wire table: 22 AWG has 52.96 Ω/km, so 6 A over 2 x 30 m lose 19 V and more when warm.
    found = {
        finding.code: finding.level for finding in run(current="6 A", length="30 m", gauge="22 AWG").findings
    }
    assert found["drop-above-supply"] == "stop"
    assert "drop-too-large" not in found
    # The drop itself does not depend on the supply.
    long = {"gauge": "18 AWG", "length": "20 m"}
    drop = find_number(run(**long), "drop")
    assert "drop-too-large" in list_codes(run(**long, supply=f"{1.01 * drop} V"))
    assert "drop-above-supply" in list_codes(run(**long, supply=f"{0.99 * drop} V"))


def read_numbers(drawing: str) -> list[float]:
    return [float(number) for number in re.findall(r">(-?\d+(?:\.\d+)?)</text>", drawing)]


def test_the_drop_picture_goes_no_further_than_the_supply() -> None:
    beyond = run(gauge="26 AWG", current="90 A").pictures[0].draw("metric")
    # Above the supply there is only room for the labels of the lines that end on it.
    assert max(read_numbers(beyond)) <= 1.3 * 12.8
    assert ">supply<" in beyond
    assert ">supply<" not in run().pictures[0].draw("metric")


def test_the_warm_curve_is_drawn_as_far_as_there_is_a_balance() -> None:
    drawing = run(gauge="26 AWG", current="90 A").pictures[1].draw("metric")
    (points,) = [text.split() for text in re.findall(r'points="([^"]*)"[^>]*stroke-width="2"', drawing)]
    heights = [float(point.split(",")[1]) for point in points]
    assert len(points) == 9
    assert heights == sorted(heights, reverse=True)
    # The balance is used up to 220 °C, on an axis that goes to 250 °C.
    assert heights[-1] == pytest.approx(24 + (182 - 24) * (250 - 220) / 250, abs=0.2)


CROWDED: tuple[dict[str, str], ...] = (
    {"gauge": "26 AWG", "current": "90 A"},
    {"length": "5 mm", "current": "10 mA"},
    {"current": "6 A", "length": "30 m", "gauge": "22 AWG"},
    # A limit that is the top of its axis: 80 °C, 150 mV.
    {"current": "1.5 A", "peak": "6.3 A", "length": "0.7 m", "ambient": "50 °C", "bundle": "5"},
    {"current": "4.7 A", "length": "2 cm", "gauge": "14 AWG", "allowed_drop": "0.15 V", "contacts": "3"},
)


def test_labels_that_give_way_stand_in_the_order_of_their_lines() -> None:
    drawing = run(**CROWDED[4]).pictures[0].draw("metric")
    heights = [
        float(height)
        for size in (16, 14, 12)
        for height in re.findall(rf'y="([\d.]+)"[^>]*>{size} AWG<', drawing)
    ]
    assert heights == sorted(heights)
    assert len(heights) == 3


def test_no_label_covers_another_in_the_charts() -> None:
    for texts in (*EDGES, *CROWDED):
        for picture in run(**texts).pictures:
            for system in ("metric", "imperial"):
                check_labels(picture.draw(system))


def test_no_figures_are_given_for_a_wire_that_nobody_recommends() -> None:
    # Two contacts of 30 mΩ lose 0.6 V at 10 A; 3 % of 12.8 V is 0.38 V.
    result = run(contacts="2", current="10 A")
    assert set(result.outputs.values()) == {None}
    assert not result.readings
    assert list(list_codes(result)) == ["contacts-alone-fail", "contacts-not-judged"]
    # What is there is judged all the same.
    given = run(contacts="2", current="10 A", gauge="10 AWG")
    assert given.outputs["judged"] == "10 AWG"
    assert "add-fuse" in list_codes(given)


def test_a_metric_size_alone_is_judged() -> None:
    # Between 4/0 AWG (107 mm²) and 120 mm² only the metric size loses little enough.
    drop = find_number(run(gauge="120 mm2", current="100 A", length="10 m", allowed_drop="50 %"), "drop")
    result = run(current="100 A", length="10 m", allowed_drop=f"{1.01 * drop} V")
    assert (result.outputs["gauge"], result.outputs["gauge_metric"]) == (None, "120 mm²")
    assert result.outputs["judged"] == "120 mm²"
    assert result.holds


def find_step(label: str, **texts: str) -> tuple[str, str, float]:
    step = next(step for step in run(**texts).working if step.label == label)
    assert isinstance(step.outcome, Figure)
    return step.formula, step.figures.write().replace(GAP, " "), step.outcome.value


def read_figure(figures: str, before: str, unit: str) -> float:
    found = re.search(rf"{re.escape(before)}(-?[\d.]+) {re.escape(unit)}", figures)
    assert found is not None, figures
    return float(found[1])


def test_the_allowed_drop_is_worked_out_as_it_was_given() -> None:
    assert find_step("Allowed drop")[:2] == ("ΔU ≤ share × U", "3 % × 12.8 V")
    formula, figures, volts = find_step("Allowed drop", allowed_drop="0.4 V")
    assert "share" not in formula
    assert (figures, volts) == ("of 12.8 V", 0.4)


def test_the_heat_balance_is_shown_and_balances() -> None:
    task = {"gauge": "18 AWG", "current": "9 A", "bundle": "1", "ambient": "40 °C"}
    _, figures, copper = find_step("Copper temperature", **task)
    single = read_figure(figures, "warms like ", "A alone")
    heat, convected, radiated = (read_figure(figures, before, "W/m") for before in (": ", "= ", "+ "))
    surface = read_figure(figures, "surface ", "°C")
    hot = find_number(run(**task), "resistance_per_km_hot") / 1000
    assert heat == pytest.approx(single * single * hot, rel=0.01)
    assert heat == pytest.approx(convected + radiated, abs=0.011)
    # IEC 60287-2-1: the insulation is a tube, 0.4 mm over 1.024 mm of copper. A temperature alone takes the
    # largest resistivity.
    resistivity = max(
        read_insulation(name).thermal_resistivity for name in ("pvc", "xlpe", "silicone", "ptfe")
    )
    tube = resistivity / (2 * math.pi) * math.log((1.0237 + 0.8) / 1.0237)
    assert copper - surface == pytest.approx(heat * tube, rel=0.02)
    # Stefan and Boltzmann at 0.9, over the insulation's outside.
    outside = math.pi * 1.8237e-3
    gray = 0.9 * 5.670374419e-8 * ((surface + 273.15) ** 4 - 313.15**4)
    assert radiated == pytest.approx(outside * gray, rel=0.01)


def test_the_peaks_weight_is_shown() -> None:
    formula, figures, heating = find_step("Current that heats", peak="9 A", peak_time="60 s", gauge="16 AWG")
    assert "w = (1 − e^(−t/τ)) / (1 − e^(−t/(d τ)))" in formula
    constant, weight = read_figure(figures, "τ = ", "s"), read_figure(figures + " ", "w = ", "")
    expected = (1 - math.exp(-60 / constant)) / (1 - math.exp(-60 / (0.1 * constant)))
    assert weight == pytest.approx(expected, rel=0.01)
    assert heating == pytest.approx(math.sqrt(6.5**2 + (9**2 - 6.5**2) * weight), rel=0.005)


def test_the_capacity_can_be_recomputed() -> None:
    _, figures, capacity = find_step("Carries for hours", gauge="10 AWG")
    alone = read_figure(figures, "I(ϑ max = 80 °C) = ", "A")
    assert capacity == pytest.approx(0.94 * min(0.8 * alone, 15 * 5.261), rel=0.005)


def test_contacts_that_fail_alone_are_not_blamed_on_the_wire() -> None:
    assert "drop-too-large" not in list_codes(run(contacts="8", contact_resistance="30 mohm"))


def test_a_given_fuse_silences_the_proposal_and_sizes_the_wire() -> None:
    assert "add-fuse" not in list_codes(run(fuse="10 A"))
    # A 30 A fuse needs a wire that carries 30 A: larger than the load alone would take.
    bigger = run(fuse="30 A")
    assert bigger.holds
    assert find_number(bigger, "capacity") >= 30
    assert find_number(bigger, "area") > find_number(run(), "area")


def test_wire_that_would_lose_more_than_is_allowed_is_told() -> None:
    stranded = {"gauge": "18 AWG", "conductor": "stranded"}

    def find(name: str) -> float:
        return find_number(run(**stranded), name)

    # As warm as it is, the worst wire has 1.24 times the 20.95 Ω/km of solid copper.
    worst = 1.24 * 20.948 / find("resistance_per_km") * find("drop")
    told = find_text(run(**stranded, allowed_drop="3.3 %"), "real-wire").replace("\u00a0", " ")
    assert f"with that the drop would be {1000 * worst:.0f} mV, more than is allowed" in told
    for share, is_told in ((0.999, True), (1.001, False)):
        codes = list_codes(run(**stranded, allowed_drop=f"{share * worst} V"))
        assert ("real-wire" in codes, "drop-too-large" in codes) == (is_told, False)
    # Of a drop that is too large already, and of wire that is taken to be the worst, nothing more is said.
    assert "real-wire" not in list_codes(run(**DROPPING))
    assert "real-wire" not in list_codes(run(conductor="worst case", gauge="18 AWG", allowed_drop="5 %"))


def test_short_peaks_heat_by_their_mean_but_drop_in_full() -> None:
    steady, peaking = run(gauge="16 AWG"), run(gauge="16 AWG", peak="13 A", peak_time="0.01 s", duty="1 %")
    assert find_number(peaking, "drop") == pytest.approx(2 * find_number(steady, "drop"), rel=0.01)
    difference = find_number(peaking, "conductor_temperature") - find_number(steady, "conductor_temperature")
    assert 0 < difference < 1
    assert "long-peaks" not in list_codes(peaking)


def find_current(rise: float, **texts: str) -> str:
    """The current that warms the wire so far above air of 30 °C, by halving; more current warms more."""
    low, high = 0.0, 40.0
    for _ in range(40):
        middle = (low + high) / 2
        warm = find_number(run(**texts, current=f"{middle:.9f} A"), "conductor_temperature") - 30
        low, high = (middle, high) if warm < rise else (low, middle)
    return f"{high:.9f} A"


# Printed PLA softens from 55 °C: common practice.
@pytest.mark.parametrize(("temperature", "fires"), [(54.5, False), (55.5, True)])
def test_copper_that_softens_printed_parts_is_told(temperature: float, fires: bool) -> None:
    texts = {"gauge": "16 AWG", "length": "0.1 m", "ambient": "30 °C", "insulation": "105 °C"}
    warm = run(**texts, current=find_current(temperature - 30, **texts))
    assert find_number(warm, "conductor_temperature") == pytest.approx(temperature, abs=1e-3)
    assert ("softens-plastic" in list_codes(warm)) == fires


# IEC 60584-1: a type K bead of class 2 may be wrong by 2.5 K; a wire that is too thin has to be told from it.
@pytest.mark.parametrize(("rise", "shown"), [(7.45, False), (7.55, True)])
def test_a_rise_that_a_thermometer_cannot_tell_is_no_reading(rise: float, shown: bool) -> None:
    texts = {"gauge": "16 AWG", "length": "0.1 m", "ambient": "30 °C"}
    labels = [reading.label for reading in run(**texts, current=find_current(rise, **texts)).readings]
    assert any("Warmer" in label for label in labels) == shown


# Thinner than 0.3 mm² it breaks where it is handled: common practice.
@pytest.mark.parametrize(("gauge", "fires"), [("0.29 mm2", True), ("0.31 mm2", False)])
def test_thin_wire_breaks_easily(gauge: str, fires: bool) -> None:
    assert ("breaks-easily" in list_codes(run(gauge=gauge, current="0.2 A"))) == fires


@pytest.mark.parametrize("drop", ["49.9 %", "6.39 V"])
def test_half_of_the_supply_may_be_lost(drop: str) -> None:
    assert run(allowed_drop=drop, supply="12.8 V").holds


REFUSED: tuple[tuple[str, str, dict[str, str]], ...] = (
    ("peak", "below the lasting current", {"peak": "2 A"}),
    ("allowed_drop", "more than half", {"allowed_drop": "7 V"}),
    ("allowed_drop", "more than half", {"allowed_drop": "6.41 V", "supply": "12.8 V"}),
    ("allowed_drop", "outside", {"allowed_drop": "50.1 %"}),
    ("insulation", "hardly more than the air", {"insulation": "60 °C", "ambient": "58 °C"}),
    ("current", "a length", {"current": "3 m"}),
    ("current", "outside", {"current": "0 A"}),
    ("current", "outside", {"current": "-2 A"}),
    ("length", "1500 or 1.5", {"length": "1,500"}),
    ("supply", "not a figure", {"supply": "inf"}),
    ("gauge", "no 41 AWG", {"gauge": "41 AWG"}),
    ("conductor", "choices", {"conductor": "gold"}),
    ("bundle", "whole number", {"bundle": "2.5"}),
    ("bundle", "outside", {"bundle": "0"}),
    ("fuse", "outside", {"fuse": "0"}),
    ("allowed_drop", "a length", {"allowed_drop": "3 m"}),
    ("allowed_drop", "is not a figure; give per cent", {"allowed_drop": "little"}),
    ("allowed_drop", "is not a figure; give per cent", {"allowed_drop": "nan"}),
    ("allowed_drop", "cannot be read; give per cent", {"allowed_drop": "3 little"}),
    ("allowed_drop", "1500 or 1.5", {"allowed_drop": "1,500 V"}),
    ("allowed_drop", "outside", {"allowed_drop": "0"}),
    ("allowed_drop", "outside", {"allowed_drop": "-3 %"}),
    ("allowed_drop", "no drop at all", {"allowed_drop": "0 V"}),
    ("allowed_drop", "nothing is entered", {"allowed_drop": " "}),
    ("allowed_drop", "characters long", {"allowed_drop": "3" * 61}),
    ("insulation", "not in the table", {"insulation": "cotton"}),
    ("insulation", "outside", {"insulation": "300 °C"}),
    ("insulation", "a length", {"insulation": "3 mm"}),
    ("insulation", "full-width", {"insulation": "\uff18\uff10"}),
)


@pytest.mark.parametrize(("field", "part", "texts"), REFUSED)
def test_what_cannot_be_used_is_refused_by_name(field: str, part: str, texts: dict[str, str]) -> None:
    with pytest.raises(InputErrors) as caught:
        run(**texts)
    (error,) = caught.value.errors
    assert error.field == field
    assert part in error.problem.replace("fullwidth", "full-width")
    assert error.given == texts[field]


def test_notation_of_drop() -> None:
    assert read_allowed_drop("3") == read_allowed_drop("3 %") == AllowedDrop(0.03, is_share=True)
    assert read_allowed_drop("300 mV") == read_allowed_drop("0,3 V") == AllowedDrop(0.3, is_share=False)
    assert read_allowed_drop("1/2 V") == read_allowed_drop("5e-1 V") == AllowedDrop(0.5, is_share=False)
    assert read_allowed_drop("1e1 per cent") == AllowedDrop(0.1, is_share=True)
    assert read_allowed_drop("3 %").find_volts(12) == pytest.approx(0.36)
    assert read_allowed_drop("0.3V").find_volts(12) == 0.3


def find_reading(result: Result, words: str) -> Reading | None:
    return next((reading for reading in result.readings if words in reading.label), None)


def test_readings_say_what_the_meter_shows() -> None:
    result = run(contacts="2", contact_resistance="20 mohm", allowed_drop="6 %", conductor="worst case")
    wires, crossing, lost, warmth = result.readings
    # 18 AWG, 2 x 1.2 m at 20.95 Ω/km solid (Floyd), 24 % more as the worst of hook-up wire; at 1 A.
    assert wires.battery == crossing.battery == "off"
    assert wires.label.startswith("Both wires, as millivolts at 1")
    assert "limited to 1\u00a0A" in wires.probes
    assert "less what each crossing" in wires.probes
    assert wires.expected.value == pytest.approx(1.24 * 0.0024 * 20.95, rel=1e-3)
    # 0.92 of solid and 1.36 of it; the current is set to 2 %, read to 0.5 % + 3 digits, thrice.
    assert wires.low.value == pytest.approx(0.92 * 0.05028 * 0.975 - 9e-4, rel=1e-3)
    roomy = find_reading(
        run(contacts="2", contact_resistance="20 mohm", allowed_drop="8 %", conductor="worst case"), "Both"
    )
    assert roomy
    assert roomy.high.value == pytest.approx(1.36 * 0.05028 * 1.025 + 9e-4, rel=1e-3)
    # No more than would lose the 6 % allowed with the copper as warm as it may get.
    warm = find_number(result, "resistance_per_km_hot") / find_number(result, "resistance_per_km")
    assert wires.high.value == pytest.approx((0.06 * 12.8 / 6.5 - 0.04) / warm)
    assert (crossing.low.value, crossing.expected.value) == pytest.approx((0, 0.02))
    assert crossing.high.value == pytest.approx(0.02 * 1.025 + 3e-4)
    assert (lost.battery, warmth.battery) == ("on", "on")
    assert lost.expected.value == find_number(result, "drop")
    # 92 % of solid copper, an ammeter off by 2 % + 50 mA, two steps of 10 mV; never over 6 % of 12.8 V.
    assert lost.low.value == pytest.approx(0.92 * 0.05028 * (0.98 * 6.5 - 0.05) - 0.02, rel=1e-3)
    assert lost.high.value == pytest.approx(0.06 * 12.8)
    assert "ammeter on its range of 10 A, for 10 s at most" in lost.probes
    # A rise above the air: whoever measures in a cooler room than is planned for takes off that room's air.
    assert warmth.low.value < warmth.expected.value < warmth.high.value
    copper = find_number(result, "conductor_temperature")
    assert (warmth.low.value, warmth.high.value) == pytest.approx((0, copper - 30))
    assert warmth.expected.kind == warmth.high.kind == "temperature difference"
    assert "take off what it shows in the air" in warmth.probes


def test_nothing_that_fails_is_put_under_power_for_a_reading() -> None:
    assert {reading.battery for reading in run(gauge="18 AWG", fuse="30 A").readings} == {"off"}
    # What loses too much as planned would only pass a reading that is wrong.
    assert not run(gauge="26 AWG", allowed_drop="1 %").readings
    shared = {"contacts": "2", "contact_resistance": "10 mohm", "allowed_drop": "6 %"}
    assert find_reading(run(**shared, contact_rating="20 A"), "lost")
    assert not find_reading(run(**shared, contact_rating="4 A"), "lost")


@pytest.mark.parametrize(
    ("texts", "current"),
    [
        ({"length": "1.2 m"}, "at 1\u00a0A"),
        ({"length": "0.4 m", "gauge": "14 AWG"}, "at 5\u00a0A"),
        ({"length": "0.5 m", "gauge": "14 AWG"}, "at 5\u00a0A"),
        ({"length": "0.9 m", "gauge": "14 AWG"}, "at 2\u00a0A"),
        ({"length": "1.4 m", "gauge": "14 AWG"}, "at 1\u00a0A"),
        ({"length": "0.3 m", "gauge": "18 AWG", "contacts": "2", "contact_rating": "1.5 A", "current": "1 A"},
         "at 1\u00a0A"),
        ({"length": "40 m", "current": "20 mA", "gauge": "24 AWG", "allowed_drop": "20 %"}, "at 0.1\u00a0A"),
    ],
)  # fmt: skip
def test_the_test_current_gives_millivolts_enough_and_is_borne(texts: dict[str, str], current: str) -> None:
    wires = find_reading(run(**texts), "Both wires, as millivolts")
    assert wires
    assert wires.label.replace("100\u00a0mA", "0.1\u00a0A").endswith(current)


# 4 mΩ are 0.241 m of a pair of 14 AWG, 8.286 Ω/km solid (Floyd); 10 Ω are 59.4 m of 24 AWG, 84.22 Ω/km.
@pytest.mark.parametrize(
    ("texts", "millivolts", "ohms"),
    [
        ({"length": "0.240 m", "gauge": "14 AWG"}, False, False),
        ({"length": "0.243 m", "gauge": "14 AWG"}, True, False),
        ({"length": "59.2 m", "gauge": "24 AWG", "current": "20 mA", "allowed_drop": "20 %"}, True, False),
        ({"length": "59.6 m", "gauge": "24 AWG", "current": "20 mA", "allowed_drop": "20 %"}, False, True),
    ],
)
def test_short_runs_are_not_told_from_their_lugs_and_long_ones_are_read_in_ohms(
    texts: dict[str, str], millivolts: bool, ohms: bool
) -> None:
    result = run(**texts)
    assert (find_reading(result, "Both wires, as millivolts") is not None) == millivolts
    assert (find_reading(result, "Resistance of both wires") is not None) == ohms


# The steps of two readings are 20 mV below 20 V and 200 mV from there on; a quarter of a loss is told.
@pytest.mark.parametrize(
    ("supply", "drop", "told"),
    [("12 V", 0.082, True), ("12 V", 0.078, False), ("19.9 V", 0.082, True), ("20 V", 0.082, False)],
)
def test_a_loss_that_the_steps_hide_is_no_reading(supply: str, drop: float, told: bool) -> None:
    texts = {"supply": supply, "gauge": "18 AWG", "allowed_drop": "6 %", "current": "2 A"}
    length = drop / find_number(run(**texts, length="1 m"), "drop")
    assert (find_reading(run(**texts, length=f"{length} m"), "lost") is not None) == told


@pytest.mark.parametrize(("current", "named"), [("10 A", "ammeter"), ("10.1 A", "clamp meter")])
def test_above_ten_amperes_a_clamp_meter_is_named(current: str, named: str) -> None:
    lost = find_reading(run(current=current, length="3 m"), "lost")
    assert lost
    assert lost.probes.startswith(named)


def test_one_of_several_contacts_is_read_by_itself() -> None:
    shared = run(contacts="2", contacts_shared="3", contact_resistance="30 mohm", allowed_drop="6 %")
    contact, crossing = (find_reading(shared, f"Each {one} of the joint") for one in ("contact", "crossing"))
    assert contact
    assert crossing
    assert contact.expected.value == pytest.approx(3 * crossing.expected.value)
    assert not find_reading(run(contacts="2", allowed_drop="8 %"), "Each contact")


EDGES: tuple[dict[str, str], ...] = (
    {},
    {"current": "400 A", "length": "200 m", "peak": "1000 A", "duty": "100 %"},
    {"current": "0.001 A", "length": "0.005 m", "supply": "60 V"},
    {"gauge": "0.001 mm2", "current": "400 A"},
    {"gauge": "250 mm2", "conductor": "tinned", "contacts": "40", "contact_resistance": "1 ohm"},
    {"ambient": "-20 °C", "insulation": "ptfe", "wall": "3 mm", "bundle": "60"},
    {"ambient": "80 °C", "insulation": "90 °C", "wall": "0.05 mm", "peak": "7 A", "peak_time": "10 h"},
    {"peak": "7 A", "peak_time": "1 ms", "duty": "0.1 %"},
)


@pytest.mark.parametrize("texts", EDGES, ids=[str(number) for number in range(len(EDGES))])
def test_the_edges_give_valid_json_and_drawings(texts: dict[str, str]) -> None:
    result = run(**texts)
    json.dumps([dict(result.outputs), [table.rows for table in result.tables]], allow_nan=False)
    for system in ("metric", "imperial"):
        for step in result.working:
            assert step.figures.write(system)
            assert step.outcome.write(system)
        for picture in result.pictures:
            drawing = ElementTree.fromstring(picture.draw(system))
            assert drawing.tag == "svg"
            assert len(list(drawing.iter())) > 20
            assert len(picture.description.write(system)) > 60


def test_the_drop_picture_names_three_sizes_and_the_cold_one() -> None:
    first = run().pictures[0].draw("metric")
    assert all(
        label in first for label in (">20 AWG<", ">18 AWG<", ">16 AWG<", ">allowed drop<", ">this run<")
    )
    assert ">32 AWG, cold<" in run(gauge="30 AWG", current="4 A", length="0.3 m").pictures[0].draw("metric")
    # At the ends of the range the third size stands on the other side.
    thick = run(gauge="4/0 AWG", current="100 A").pictures[0].draw("metric")
    assert all(f">{size} AWG<" in thick for size in ("4/0", "3/0", "2/0"))
    thin = run(gauge="40 AWG", current="0.01 A").pictures[0].draw("metric")
    assert all(f">{size} AWG<" in thin for size in ("40", "38", "36"))
    # A metric size stands between metric neighbours.
    assert ">0.75 mm²<" in run(gauge="1 mm2").pictures[0].draw("metric")


RUNS = {
    "current": st.floats(0.05, 30).map(lambda value: f"{value:.4f} A"),
    "length": st.floats(0.05, 20).map(lambda value: f"{value:.4f} m"),
    "ambient": st.integers(-10, 60).map(lambda value: f"{value} °C"),
    "bundle": st.integers(1, 40).map(str),
    "conductor": st.sampled_from(["solid", "stranded", "tinned", "worst case"]),
}


@settings(max_examples=60)
@given(texts=st.fixed_dictionaries(RUNS))
def test_what_is_recommended_passes_and_the_next_thinner_fails(texts: dict[str, str]) -> None:
    result = run(**texts)
    for name in ("gauge", "gauge_metric"):
        size = result.outputs[name]
        if size is None:
            assert "no-size-passes" in list_codes(result)
            continue
        judged = run(**texts, gauge=str(size))
        assert judged.holds
        assert find_number(judged, "drop") <= 0.03 * 12.8 * (1 + 1e-9)
        assert find_number(judged, "conductor_temperature") <= 80 + 1e-3
        (table,) = result.tables
        family = [row for row in table.rows if str(row[0]).endswith("AWG") == (name == "gauge")]
        place = [row[0] for row in family].index(size)
        assert all(row[1] != "passes" for row in family[:place])


@settings(max_examples=60)
@given(texts=st.fixed_dictionaries(RUNS), more=st.floats(1.01, 2))
def test_more_length_current_or_company_never_helps(texts: dict[str, str], more: float) -> None:
    given_gauge = {**texts, "gauge": "14 AWG"}
    result = run(**given_gauge)
    for field in ("length", "current"):
        number, unit = texts[field].split()
        worse = run(**{**given_gauge, field: f"{float(number) * more:.6f} {unit}"})
        assert find_number(worse, "drop_cold") > find_number(result, "drop_cold")
        if result.outputs["drop"] is None or worse.outputs["drop"] is None:
            assert worse.outputs["drop"] is None
            continue
        assert find_number(worse, "drop") > find_number(result, "drop")
    crowded = run(**{**given_gauge, "bundle": "60"})
    assert find_number(crowded, "capacity") <= find_number(result, "capacity")


def test_tables_name_a_source_on_every_row() -> None:
    for name in ("conductors", "insulation", "bundles", "fuses", "air"):
        assert all(row["source"] for row in read_rows(name))


def test_readings_of_several_pairs_are_those_of_one() -> None:
    single, double = (run(current="20 A", length="2 m", pairs=pairs).readings for pairs in ("1", "2"))
    assert not any("pair" in reading.label + reading.probes for reading in single)
    assert double[0].probes.endswith("; each pair by itself, the others open")
    assert any(reading.label.endswith("flowing through each pair") for reading in double)
