"""The speaker-load calculator against data sheets, cable guides, acoustics courses, ngspice and numpy."""

import itertools
import json
import math
import re
from collections.abc import Mapping, Sequence

import eseries
import networkx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calculators import find_calculator
from calculators.notation.errors import InputErrors
from calculators.notation.showing import Figure
from calculators.results.result import Reading, Result
from calculators.speaker_load.calculator import CALCULATOR
from calculators.speaker_load.channel import MEANINGS
from calculators.speaker_load.dc_network import Network, Part, list_numbers
from calculators.speaker_load.given import Given
from calculators.speaker_load.network import read_speaker_network
from calculators.speaker_load.solve import Solved, solve
from tests.calculators.labels import check_labels
from tests.calculators.running import (
    find_finding,
    find_number,
    find_table,
    find_text,
    list_codes,
    list_rows,
    make_run,
    run_ngspice,
)

IDEAL = {"on_resistance": "0", "lead_length": "0", "contacts": "0", "speakers": ""}
"""Nothing in the loop but the speakers, as data sheets reckon."""

MEASURED = "20 W, 86 dB, 6, 0.24 mH, 70.7 Hz, 4.27, 0.34"
WOOFER = {"network": "8", "speakers": f"all, {MEASURED}"}
"""The woofer of an acoustics consultant's article on measuring drivers; see test_driver.py."""

COIL = MEASURED.replace(" 6,", " {},")
"""The same with another coil."""

SHAKEN = {
    "network": "left:8 || right:8 + shaker:4",
    "speakers": "all, 20 W, 86 dB\nshaker, 25 W, , 3.4, 0.2 mH, 40 Hz, 5, 0.8",
}
"""A shaker whose resonance is known, in series with two speakers."""


CASE = {
    "network": "left:8 || right:8 + shaker:4", "supply": "12.8 V", "lead_length": "1.2 m",
    "contact_resistance": "30 mΩ", "contact_rating": "3 A", "speakers": "all, 20 W, 86 dB\nshaker, 25 W",
}  # fmt: skip

run = make_run(CALCULATOR, **CASE)


def solve_case(**texts: str) -> Solved:
    return solve(Given(**CALCULATOR.read({**CASE, **texts})))  # type: ignore[arg-type]  # by name, as read


# --- loads -------------------------------------------------------------------------------------------


def test_unequal_speakers_share_by_ohms_law() -> None:
    # At 4 V r.m.s. 4 Ω takes 4 W and 8 Ω takes 2 W; at 12 V r.m.s. in series 4 W and 8 W.
    beside = list_rows(run(**IDEAL, network="4 || 8", supply=f"{4 * math.sqrt(2)} V"), "speakers")
    assert [row["power"] for row in beside] == pytest.approx([4, 2])
    behind = list_rows(run(**IDEAL, network="4 + 8", supply=f"{12 * math.sqrt(2)} V"), "speakers")
    assert [row["power"] for row in behind] == pytest.approx([4, 8])
    assert [row["share"] for row in behind] == pytest.approx([1 / 3, 2 / 3])
    assert [row["current"] for row in behind] == pytest.approx([1, 1])
    assert [row["voltage"] for row in behind] == pytest.approx([4, 8])


# --- power -------------------------------------------------------------------------------------------


# A second maker's data sheet, section on output power: 0.15 Ω switch and 0.05 Ω in each output, and the
# shortest pulse of 80 ns at 320 kHz takes 2.56 % of the supply. V, Ω, W unclipped, W at 10 %.
@pytest.mark.parametrize(
    ("supply", "load", "power", "clipped"),
    [(12, "8", 7.751, 9.688), (12, "4", 14.12, 17.66), (22, "8", 26.05, 32.56)],
)
def test_power_by_a_second_makers_formula(supply: float, load: str, power: float, clipped: float) -> None:
    usable = supply * (1 - 80e-9 * 320e3)
    result = run(**{**IDEAL, "on_resistance": "0.2 ohm"}, network=load, supply=f"{usable} V")
    assert find_number(result, "power") == pytest.approx(power, rel=1e-3)
    assert find_number(result, "power_at_10_percent") == pytest.approx(clipped, rel=1e-3)


# Data sheets of six class-D amplifier chips: supply V, load Ω, W at 1 % (None: not stated), W at 10 %.
# The row 3.6 V into 4 Ω is printed as 1.5 mW in one sheet's table and as 1.5 W on its first page.
DATA_SHEETS = [
    (5.0, "4", 2.5, 3.2),
    (3.0, "4", 0.85, 1.3),
    (5.0, "8", None, 1.8),
    (5.0, "8", 1.4, 1.72),
    (5.0, "4", None, 2.8),
    (3.6, "4", None, 1.5),
    (3.3, "8", 0.4725, 0.5739),
    (14.4, "4", None, 25),
    (21.0, "4", None, 50),
]


@pytest.mark.parametrize(("supply", "load", "clean", "clipped"), DATA_SHEETS)
def test_data_sheets_lie_within_the_ideal(
    supply: float, load: str, clean: float | None, clipped: float
) -> None:
    result = run(**IDEAL, network=load, supply=f"{supply} V")
    ideal = find_number(result, "power")
    # The makers measure 0.69 to 0.90 of the ideal at 1 % and 0.84 to 1.16 of it at 10 %.
    assert clean is None or 0.69 <= clean / ideal <= 0.90
    assert 0.84 <= clipped / ideal <= 1.16
    assert clipped <= find_number(result, "power_at_10_percent")


def test_supply_current_is_power_over_efficiency() -> None:
    result = run(**IDEAL, network="8", supply="12 V", efficiency="85 %")
    assert find_number(result, "peak_current") == pytest.approx(1.5)
    assert find_number(result, "supply_current") == pytest.approx(9 / (0.85 * 12))


def test_a_single_output_gives_a_quarter_of_the_power() -> None:
    # A maker's data sheet: a bridge gives four times the power into the same load.
    bridge = run(**IDEAL, network="8")
    single = run(**IDEAL, network="8", bridge_tied="no")
    assert find_number(bridge, "power") == pytest.approx(4 * find_number(single, "power"))


NETWORKS = st.recursive(
    st.sampled_from(["4", "8", "16", "6.5", "3R3"]),
    lambda inner: st.tuples(st.sampled_from([" + ", " || "]), st.lists(inner, min_size=2, max_size=3)),
    max_leaves=7,
)


type Tree = str | tuple[str, list[Tree]]


def spell(tree: Tree) -> str:
    if isinstance(tree, str):
        return tree
    sign, members = tree
    return "(" + sign.join(spell(member) for member in members) + ")"


def list_elements(network: Network, values: tuple[float, ...], start: str, end: str) -> list[str]:
    """Return the network as lines of a netlist; every element is named by its place."""
    if isinstance(network, Part):
        return [f"R{network.number} {start} {end} {values[network.number]!r}"]
    if network.joined == "parallel":
        return [line for member in network.members for line in list_elements(member, values, start, end)]
    nodes = [start, *(f"n{list_numbers(member)[0]}" for member in network.members[1:]), end]
    pairs = zip(network.members, nodes[:-1], nodes[1:], strict=True)
    return [line for member, a, b in pairs for line in list_elements(member, values, a, b)]


@pytest.mark.prepared
@pytest.mark.parametrize(
    "network",
    ["left:8 || right:8 + shaker:4", "(8 + 4 || 6) || (16 + 2 x 8 in parallel) + 3R3", "5 x 16 || (4 + 8)"],
)
def test_ngspice_finds_the_same_powers(network: str) -> None:
    result = run(network=network, lead_conductor="solid")
    read = read_speaker_network(network)
    # 2.4 m of 20 AWG at 10.15 ohm per 1000 ft (Floyd's table), two contacts of 30 mΩ, two outputs of 0.15 Ω.
    lead = 2.4 / 304.8 * 10.15
    lines = ["one channel", "V1 a 0 12.8", f"Rloop a b {lead + 0.06 + 0.3!r}"]
    lines += list_elements(read.tree, read.nominals, "b", "0")
    lines += [".control", "set numdgt=9", "op", "print i(V1)", "print v(b)"]
    lines += [f"print @R{place}[p]" for place in range(len(read.nominals))]
    told = run_ngspice("\n".join([*lines, ".endc", ".end", ""]))
    found = {
        name.lower(): float(number) for name, number in re.findall(r"^(\S+) = (\S+)$", told, re.MULTILINE)
    }
    # The table's four figures leave 0.05 % on the lead, far less on the whole; a sine: half the peak power.
    assert find_number(result, "peak_current") == pytest.approx(-found["i(v1)"], rel=1e-5)
    assert find_number(result, "load") == pytest.approx(found["v(b)"] / -found["i(v1)"], rel=1e-6)
    powers = [found[f"@r{place}[p]"] / 2 for place in range(len(read.nominals))]
    assert [row["power"] for row in list_rows(result, "speakers")] == pytest.approx(powers, rel=2e-5)
    assert find_number(result, "power") == pytest.approx(sum(powers), rel=2e-5)


@settings(max_examples=50)
@given(NETWORKS)
def test_powers_obey_nodal_analysis(tree: Tree) -> None:
    text = spell(tree)
    result = run(**IDEAL, network=text)
    read = read_speaker_network(text)
    elements = [line.split() for line in list_elements(read.tree, read.nominals, "top", "0")]
    nodes = sorted({node for _, a, b, _ in elements for node in (a, b)} - {"0", "top"})
    matrix, right = np.zeros((len(nodes), len(nodes))), np.zeros(len(nodes))
    known = {"0": 0.0, "top": 12.8}
    for _, a, b, ohms in elements:
        for node, other in ((a, b), (b, a)):
            if node in nodes:
                matrix[nodes.index(node), nodes.index(node)] += 1 / float(ohms)
                if other in known:
                    right[nodes.index(node)] += known[other] / float(ohms)
                else:
                    matrix[nodes.index(node), nodes.index(other)] -= 1 / float(ohms)
    volts = known | dict(zip(nodes, np.linalg.solve(matrix, right).tolist(), strict=True))
    expected = [(volts[a] - volts[b]) ** 2 / float(ohms) / 2 for _, a, b, ohms in elements]
    assert [row["power"] for row in list_rows(result, "speakers")] == pytest.approx(expected, rel=1e-9)


@settings(max_examples=30)
@given(NETWORKS, st.floats(0, 20), st.floats(0.01, 20))
def test_more_lead_never_gives_more(tree: Tree, length: float, more: float) -> None:
    short = run(network=spell(tree), lead_length=f"{length:.4f} m")
    long = run(network=spell(tree), lead_length=f"{length + more:.4f} m")
    assert find_number(long, "power") < find_number(short, "power")
    assert find_number(long, "cable_loss") > find_number(short, "cable_loss")
    assert find_number(long, "damping_factor") < find_number(short, "damping_factor")
    assert find_number(long, "load") == find_number(short, "load")


@settings(max_examples=30)
@given(NETWORKS)
def test_a_speaker_in_parallel_lowers_the_load(tree: Tree) -> None:
    before = find_number(run(network=spell(tree)), "load")
    after = find_number(run(network=f"{spell(tree)} || 8"), "load")
    assert after < min(before, 8)
    assert find_number(run(network=f"{spell(tree)} + 8"), "load") == pytest.approx(before + 8)


# --- lead, contacts and damping ----------------------------------------------------------------------


def test_loss_in_power_is_not_the_linear_share() -> None:
    # A published slip takes the cable's share of the load for the power lost; the current falls as well.
    without, with_lead = (
        run(**IDEAL, network="4"),
        run(**{**IDEAL, "lead_length": "10 m"}, network="4"),
    )
    lead = 10 ** (find_number(with_lead, "cable_loss") / 20) - 1
    lost = 1 - find_number(with_lead, "power") / find_number(without, "power")
    assert lost == pytest.approx(1 - 1 / (1 + lead) ** 2)
    assert find_number(with_lead, "cable_loss") == pytest.approx(
        10 * math.log10(find_number(without, "power") / find_number(with_lead, "power"))
    )


def test_a_wiring_of_a_twentieth_of_the_load() -> None:
    guide = {**IDEAL, "contacts": "1", "contact_resistance": "0.3 ohm", "contact_rating": ""}
    # Five per cent of the load: 20, and 0.424 dB.
    twentieth = run(**{**guide, "contact_resistance": "0.4 ohm"}, network="8")
    assert find_number(twentieth, "damping_factor") == pytest.approx(20)
    assert find_number(twentieth, "cable_loss") == pytest.approx(0.424, abs=5e-4)


def test_no_resistance_means_no_damping_factor() -> None:
    assert run(**IDEAL, network="8").outputs["damping_factor"] is None


# --- level -------------------------------------------------------------------------------------------


def test_sensitivity_at_volts_counts_the_ohms() -> None:
    # 2.83 V are 2 W into 4 Ω: the figure per volts is 3.01 dB above the one per watt.
    per_watt = run(network="4", speakers="all, 20 W, 88 dB")
    per_volts = run(network="4", speakers="all, 20 W, 88 dB", sensitivity_reference="2.83 V")
    assert find_number(per_watt, "level") - find_number(per_volts, "level") == pytest.approx(3.01, abs=0.005)
    assert find_number(
        run(network="8", speakers="all, 20 W, 88 dB", sensitivity_reference="2.83 V"), "level"
    ) == pytest.approx(find_number(run(network="8", speakers="all, 20 W, 88 dB"), "level"))


def test_a_shaker_alone_has_no_level() -> None:
    assert run(network="shaker:4").outputs["level"] is None
    assert run(network="8", speakers="all, 20 W").outputs["level"] is None


# --- capacitor ---------------------------------------------------------------------------------------


# Two pages on crossovers: 3000 Hz and 4 Ω want 13.3 µF; the last rows by the constant 0.159 of a third.
@pytest.mark.parametrize(
    ("frequency", "nominal", "microfarads"), [("3 kHz", "4", 13.3), ("100", "8", 198.9), ("5 kHz", "4", 7.96)]
)
def test_published_capacitors(frequency: str, nominal: str, microfarads: float) -> None:
    (row,) = list_rows(run(network=nominal, high_pass=frequency), "capacitors")
    exact = row["exact"]
    assert isinstance(exact, float)
    assert exact * 1e6 == pytest.approx(microfarads, rel=4e-3)
    for name, series in (("e6", eseries.E6), ("e12", eseries.E12)):
        # Spared below the frequency means turned over at it or above: the next smaller capacitor.
        assert row[name] == pytest.approx(eseries.find_less_than_or_equal(series, exact))
        assert float(str(row[f"{name}_frequency"])) >= 0.159155 / (float(nominal) * exact) * (1 - 1e-6)
        assert row[f"{name}_frequency"] == pytest.approx(
            0.159155 / (float(nominal) * float(str(row[name]))), rel=1e-5
        )


def test_the_capacitor_of_a_published_thread() -> None:
    # 10 µF and 8 Ω turn over at 1989 Hz.
    (row,) = list_rows(run(network="8", high_pass="1989 Hz"), "capacitors")
    assert row["e6"] == row["e12"] == 10e-6
    assert row["e12_frequency"] == pytest.approx(1989.4, abs=0.1)


# --- arrangements and faults -------------------------------------------------------------------------


def test_all_arrangements_of_the_demonstration() -> None:
    result = run()
    found = list_rows(result, "arrangements")
    loads = sorted(float(str(row["load"])) for row in found)
    # By hand: all parallel, 4 || 16, 8 || 12, (8 || 8) + 4, 8 + (8 || 4), all in series.
    assert loads == pytest.approx([2, 3.2, 4.8, 8, 32 / 3, 20])
    assert found[0]["network"] == "(left || right) + shaker"
    assert found[0]["verdict"] == "yours, holds"
    marks = find_table(result, "arrangements").marks
    assert marks == ("chosen", "", "", "", "stop", "stop")
    assert all(float(str(row["load"])) < 4 for row, mark in zip(found, marks, strict=True) if mark == "stop")
    evenness = [row["evenness"] for row in found[:3]]
    assert evenness == sorted(evenness, key=lambda share: -float(str(share)))


# OEIS A000084: how many networks n equal parts make.
@pytest.mark.parametrize(("number", "count"), [(2, 2), (3, 4), (4, 10), (5, 24), (6, 66)])
def test_arrangements_of_equal_speakers(number: int, count: int) -> None:
    result = run(network=f"{number} x 8 in series")
    found = list_rows(result, "arrangements")
    assert len(found) == count
    assert sum(str(row["verdict"]).startswith("yours") for row in found) == 1


FIVE = "a:4 || b:5 || c:6 || d:8 || e:16"
SIX = "4 || 5 || 6 || 7 || 8 || 9"


def rank(row: Mapping[str, object]) -> tuple[bool, float]:
    verdict = str(row["verdict"]).removeprefix("yours, ")
    return verdict != "holds", -round(float(str(row["evenness"])), 9)


def test_all_arrangements_of_five_different_speakers_are_ranked() -> None:
    # OEIS A006351: five different parts make 472 networks.
    result = run(network=FIVE, speakers="all, , 86 dB")
    found = list_rows(result, "arrangements")
    assert len({str(row["network"]) for row in found}) == len(found) == 472
    assert found == sorted(found, key=rank)
    holding = [row for row in found if not rank(row)[0]]
    caption = find_table(result, "arrangements").caption
    assert caption == f"All 472 ways to join these speakers, by verdict and evenness; {len(holding)} hold"
    # Nominal ohms, as long as nobody says that the amplifier's 4 Ω are anything else.
    assert 4 <= min(float(str(row["load"])) for row in holding) < 4 / 0.8
    stop = find_finding(result, "load-below-minimum")
    assert stop is not None
    best = str(found[0]["network"])
    assert f"Join them as {best} (9.19\u00a0Ω), the most even of {len(holding)} ways" in stop.text.write()


def test_of_very_many_arrangements_the_best_are_listed_and_all_are_counted() -> None:
    # OEIS A006351: six different parts make 5504 networks.
    result = run(network=SIX, minimum_load="4 ohm")
    found = list_rows(result, "arrangements")
    caption = find_table(result, "arrangements").caption
    counted = re.fullmatch(r"The first 500 of 5504 ways .*; (\d+) hold", caption)
    assert counted is not None
    assert int(counted[1]) > 500
    assert len(found) == 500
    assert str(found[-1]["verdict"]).startswith("yours")
    assert found[:-1] == sorted(found[:-1], key=rank)
    assert {row["verdict"] for row in found[:-1]} == {"holds"}


def test_what_is_counted_is_what_is_listed() -> None:
    # Loads, ratings and the given network's own verdict, each worked out in full for every row.
    for texts in (
        {"network": FIVE, "speakers": "all, 1 W, 86 dB\ne, 0.15 W, 86 dB"},
        {"network": FIVE, "speakers": "all, 3 W, 86 dB", "minimum_meaning": "the lowest impedance"},
        {"network": FIVE, "contact_rating": "0.5 A"},
        {
            "network": "a:4 || b:4 + c:8 || d:8",
            "speakers": "all, 1 W, 86 dB\nb, , 86 dB",
            "bridge_tied": "no",
            "supply": "30",
        },
        {"network": "8 || 8 || 8", "speakers": "all, 0.25 W, 86 dB", "current_limit": "3 A"},
    ):
        result = run(**texts)
        found = list_rows(result, "arrangements")
        holding = sum(not rank(row)[0] for row in found)
        words = {0: "; none holds", 1: "; 1 holds"}.get(holding, f"; {holding} hold")
        assert find_table(result, "arrangements").caption.endswith(words)
        for row, mark in zip(found, find_table(result, "arrangements").marks, strict=True):
            again = run(**{**texts, "network": add_values(str(row["network"]), texts["network"])})
            stopped = any(item.level == "stop" for item in again.findings)
            assert mark in (("stop",) if stopped else ("", "chosen")), row


def add_values(arranged: str, given: str) -> str:
    """Return a network of names with each speaker's ohms put beside its name, as the given one has them."""
    read = read_speaker_network(given)
    ohms = {speaker.name: f"{speaker.name}:{speaker.nominal!r}" for speaker in read.speakers}
    return re.sub("|".join(ohms), lambda name: ohms[name[0]], arranged)


def test_a_weaker_speaker_makes_another_arrangement() -> None:
    equal = run(network="a:8 || b:8 || c:8")
    weaker = run(network="a:8 || b:8 || c:8", speakers="all, 20 W, 86 dB\nc, 1 W, 86 dB")
    assert len(list_rows(equal, "arrangements")) == 4
    assert len(list_rows(weaker, "arrangements")) == 6
    assert any("c over its rating" in str(row["verdict"]) for row in list_rows(weaker, "arrangements"))


def test_faults_of_the_demonstration() -> None:
    found = {(row["speaker"], row["event"]): row for row in list_rows(run(), "faults")}
    assert found["left", "opens"]["load"] == 12
    assert found["left", "opens"]["busiest"] == "right"
    assert found["left", "shorts"]["load"] == 4
    assert found["left", "shorts"]["verdict"] == "right silent too"
    assert found["shaker", "opens"]["load"] is None
    assert found["shaker", "opens"]["verdict"] == "all silent, nothing overloaded"
    assert found["shaker", "shorts"]["load"] == pytest.approx(4)


def test_a_shorted_speaker_shows_what_the_amplifier_would_have_to_give() -> None:
    # Ohm's law: 12.8 V over two outputs of 0.15 Ω and two contacts of 30 mΩ, and no lead.
    shorted = list_rows(run(network="8", lead_length="0"), "faults")[1]
    assert (shorted["power"], shorted["peak_current"]) == (0, pytest.approx(12.8 / 0.36))
    opened = list_rows(run(network="8"), "faults")[0]
    assert opened["peak_current"] == 0
    # With nothing at all in the loop there is no figure for it.
    assert list_rows(run(**IDEAL, network="8"), "faults")[1]["peak_current"] is None
    partner = {(row["speaker"], row["event"]): row for row in list_rows(run(**IDEAL), "faults")}
    assert partner["left", "shorts"]["peak_current"] == pytest.approx(12.8 / 4)


def test_faults_that_stop() -> None:
    beside = list_rows(run(network="8 || 8"), "faults")
    assert [row["verdict"] for row in beside if row["event"] == "shorts"] == ["the amplifier is shorted"] * 2
    assert "load too low" in [row["verdict"] for row in list_rows(run(network="4 + 2"), "faults")]
    weak = list_rows(run(network="4 + 4", speakers="all, 3 W, 86 dB"), "faults")
    assert "S2 over its rating" in [row["verdict"] for row in weak]
    weak = list_rows(run(network="4 + 4", contact_rating="1 A"), "faults")
    assert [row["verdict"] for row in weak if row["event"] == "shorts"] == ["too much current"] * 2


# --- drivers -----------------------------------------------------------------------------------------


def test_the_true_minimum_replaces_the_rule() -> None:
    # The published woofer, 8 Ω nominal, never falls below 6.024 Ω; 80 % of nominal would be 6.4 Ω.
    result = run(**WOOFER)
    assert find_number(result, "lowest_load") == pytest.approx(6.024, abs=5e-4)
    above = run(**WOOFER, band_low="5 kHz")
    # Far above the resonance the coil's inductance is left, less the moving mass as a capacitor of 127.6 µF.
    reactance = 2 * math.pi * 5000 * 0.24e-3 - 1 / (2 * math.pi * 5000 * 127.56e-6)
    assert find_number(above, "lowest_load") == pytest.approx(abs(complex(6, reactance)), rel=1e-3)
    assert [picture.name for picture in result.pictures] == ["wiring", "impedance"]


def test_speakers_without_parameters_count_at_80_percent() -> None:
    left = f"left, {MEASURED}"
    result = run(network="left:8 + shaker:4", speakers=left)
    assert find_number(result, "lowest_load") == pytest.approx(6.024 + 3.2, abs=1e-3)
    assert find_finding(result, "parameters-missing")
    both = run(network="left:8 + shaker:4", speakers=f"{left}\nshaker, 25 W, , 3.4, 0.1 mH, 40 Hz, 3, 0.9")
    assert find_finding(both, "parameters-missing") is None
    assert 6 + 3.4 < find_number(both, "lowest_load") < 6.1 + 3.5


# --- findings ----------------------------------------------------------------------------------------

FINDINGS = [
    ("stop", "load-below-minimum", {"network": "8 || 8 || 4"}),
    ("stop", "load-below-minimum", {"network": "4 || 4"}),
    ("stop", "load-below-minimum", {"network": "7 x 8 in parallel"}),
    ("stop", "load-below-minimum", {"network": "2"}),
    ("stop", "load-below-minimum", {"network": "1 || 1"}),
    ("stop", "lowest-load-below-minimum", {"network": "4", "minimum_meaning": "the lowest impedance"}),
    ("stop", "lowest-load-below-minimum", {"network": "4", "speakers": f"all, {COIL.format(2.5)}"}),
    ("stop", "speaker-over-rating", {"speakers": "all, 1 W, 86 dB"}),
    ("caution", "speaker-over-rating-clipped", {"speakers": "all, 2 W, 86 dB"}),
    ("note", "full-sine-over-rating", {"speakers": "all, 4 W, 86 dB"}),
    ("stop", "current-limit", {"current_limit": "1.5 A"}),
    ("caution", "current-limit", {"current_limit": "1.6 A"}),
    ("note", "unequal-sharing", {"network": "4 || 8"}),
    ("caution", "unequal-sharing", {"network": "4 || 17"}),
    ("stop", "contact-over-rating", {"contact_rating": "0.7 A"}),
    ("caution", "contact-near-rating", {"contact_rating": "1 A"}),
    ("note", "contacts-not-judged", {"contact_rating": ""}),
    ("stop", "lead-over-capacity", {"lead_gauge": "36 AWG", "lead_length": "0.15 m"}),
    ("note", "rating-missing", {"speakers": "all, 20 W, 86 dB\nshaker"}),
    ("note", "bridge-tied-shares-nothing", {}),
    ("stop", "bridge-tied-minus-shared", {"minus_wire": "shares a contact"}),
    ("stop", "bridge-tied-minus-grounded", {"minus_wire": "joined to ground"}),
    ("note", "single-ended-capacitor", {"bridge_tied": "no"}),
    ("caution", "amplifier-over-rating", {"rated_power": "4.5 W"}),
    ("note", "amplifier-over-rating", {"rated_power": "9 W"}),
    ("note", "rated-power-out-of-reach", {"rated_power": "50 W"}),
    ("note", "lead-loss", {"lead_length": "10 m"}),
    ("caution", "lead-loss", {"lead_length": "25 m"}),
    ("note", "low-damping", {"amplifier_damping": "100", "lead_length": "10 m"}),
    ("note", "series-resonance", SHAKEN),
    ("note", "single-fault-overloads", {"network": "8 || 8"}),
    ("caution", "re-does-not-fit", {**WOOFER, "network": "4"}),
    ("note", "inductance-missing", {**WOOFER, "speakers": f"all, {MEASURED}".replace("0.24 mH", "")}),
    ("note", "parameters-missing", {"network": "a:8 + b:8", "speakers": f"a, {MEASURED}"}),
    ("note", "names-not-in-network", {"speakers": "all, 20 W, 86 dB\nshakre, 5 W"}),
    ("note", "capacitor-beside-others", {"high_pass": "150 Hz"}),
    ("caution", "joining-not-said", {"network": "8 8"}),
    ("note", "arrangements-not-listed", {"network": "7 x 8 in series"}),
    ("note", "loud", {"network": "8 || 8", "speakers": ", 20 W, 95 dB"}),
    ("note", "unusual-input", {"efficiency": "30 %"}),
]


@pytest.mark.parametrize(("level", "code", "texts"), FINDINGS)
def test_every_finding_fires(level: str, code: str, texts: Mapping[str, str]) -> None:
    found = find_finding(run(**texts), code)
    assert found is not None
    assert found.level == level


# The most even of the ways that hold comes first, then the one of the lowest load.
@pytest.mark.parametrize(
    ("listed", "minimum", "joined"),
    [
        ("8 8 8 8", "4 ohm", "(S1 8 Ω || S2 8 Ω) + (S3 8 Ω || S4 8 Ω)"),
        ("8 8 8 8", "16 ohm", "S1 8 Ω + S2 8 Ω + S3 8 Ω + S4 8 Ω"),
        ("left 8, right 8", "3 ohm", "left 8 Ω || right 8 Ω"),
        ("4 4", "100 ohm", "S1 4 Ω || S2 4 Ω"),
    ],
)
def test_listed_speakers_are_joined_as_the_ranking_has_it(listed: str, minimum: str, joined: str) -> None:
    texts = {"minimum_load": minimum, "minimum_meaning": "a speaker's nominal"}
    result, written = run(network=listed, **texts), run(network=joined, **texts)
    assert result.outputs == written.outputs
    assert list_rows(result, "speakers") == list_rows(written, "speakers")
    assert joined in find_text(result, "joining-not-said").replace("\u00a0", " ")
    told = find_finding(result, "joining-not-said")
    assert told is not None
    if written.holds:
        assert run(**{**texts, **told.apply}).outputs == written.outputs
    assert "joining-not-said" not in list_codes(written)
    verdicts = [str(row["verdict"]) for row in list_rows(result, "arrangements")]
    assert [verdict.startswith("taken here, ") for verdict in verdicts] == [True] + [False] * (
        len(verdicts) - 1
    )


# Equal volts: the powers of two in parallel are as their impedances the other way round. Half as much again
# is worth a note, four times as much (6 dB) a caution: common practice.
@pytest.mark.parametrize(
    ("other", "level"), [("11.9", None), ("12.1", "note"), ("31.8", "note"), ("32.2", "caution")]
)
def test_uneven_powers_are_told(other: str, level: str | None) -> None:
    assert list_codes(run(**IDEAL, network=f"8 || {other}")).get("unequal-sharing") == level


# One contact of so many ohms before 8 Ω: 20 log10(1 + R / 8) dB.
@pytest.mark.parametrize(("loss", "level"), [(0.49, None), (0.51, "note"), (0.99, "note"), (1.01, "caution")])
def test_losses_of_half_and_of_one_decibel_are_told(loss: float, level: str | None) -> None:
    ohms = 8 * (10 ** (loss / 20) - 1)
    texts = {**IDEAL, "contacts": "1", "contact_resistance": f"{ohms!r} ohm", "contact_rating": ""}
    result = run(**texts, network="8")
    assert find_number(result, "cable_loss") == pytest.approx(loss)
    assert list_codes(result).get("lead-loss") == level


# The cable guide above: a damping factor of 25 is the least.
@pytest.mark.parametrize(("damping", "fires"), [(25.5, False), (24.5, True)])
def test_damping_below_25_is_told(damping: float, fires: bool) -> None:
    texts = {**IDEAL, "contacts": "1", "contact_resistance": f"{8 / damping!r} ohm", "contact_rating": ""}
    # What feedback makes of the amplifier's own resistance is known from its data sheet alone.
    assert "low-damping" not in list_codes(run(**texts, network="8"))
    assert ("low-damping" in list_codes(run(**texts, network="8", amplifier_damping="99999"))) == fires


# 12.8 V of peak into 8 Ω are 10.24 W, 10.1 dB above 1 W; NIOSH allows 15 minutes a day at 100 dB.
@pytest.mark.parametrize(("sensitivity", "fires"), [("89.8 dB", False), ("90 dB", True)])
def test_what_harms_hearing_is_told(sensitivity: str, fires: bool) -> None:
    assert ("loud" in list_codes(run(**{**IDEAL, "speakers": f"all, , {sensitivity}"}, network="8"))) == fires


# A coil has less than its nominal impedance, and hardly less than half of it.
@pytest.mark.parametrize(("coil", "fires"), [("3.9", True), ("4.1", False), ("7.9", False), ("8.1", True)])
def test_a_coil_that_is_not_of_this_speaker_is_told(coil: str, fires: bool) -> None:
    assert (
        "re-does-not-fit"
        in list_codes(run(network="8", speakers=f"all, {MEASURED}".replace(" 6,", f" {coil},")))
    ) == fires


def test_the_demonstration_holds_and_the_obvious_wiring_does_not() -> None:
    assert run().holds
    assert set(list_codes(run())) == {"unequal-sharing", "bridge-tied-shares-nothing"}
    wrong = run(network="left:8 || right:8 || shaker:4")
    assert not wrong.holds
    stop = find_finding(wrong, "load-below-minimum")
    assert stop is not None
    assert "(left || right) + shaker" in stop.text.write()


def test_names_that_nobody_wrote_are_not_reproached() -> None:
    assert find_finding(CALCULATOR.run({"network": "8"}), "names-not-in-network") is None
    assert find_finding(run(network="8", speakers=""), "names-not-in-network") is None
    wrong = find_finding(
        run(network="8", speakers="all, 20 W, 86 dB\nfoo, 3 W\nbar, 4 W"), "names-not-in-network"
    )
    assert wrong is not None
    assert wrong.text.write().startswith(
        "No speaker here is called foo or bar; figures given by that name are not used."
    )


# 12.8 V into 8 Ω: 10.24 W of full sine, 2.56 W of loud music, 5.12 W of clipped music.
@pytest.mark.parametrize(
    ("rating", "code"),
    [
        ("2.55 W", "speaker-over-rating"),
        ("2.57 W", "speaker-over-rating-clipped"),
        ("5.11 W", "speaker-over-rating-clipped"),
        ("5.13 W", "full-sine-over-rating"),
        ("10.2 W", "full-sine-over-rating"),
        ("10.3 W", ""),
    ],
)
def test_ratings_are_judged_on_music(rating: str, code: str) -> None:
    found = list_codes(run(**{**IDEAL, "speakers": f"all, {rating}, 80 dB"}, network="8"))
    assert {one for one in found if "rating" in one} == ({code} if code else set())


def test_a_nine_watt_speaker_bears_the_music_of_nine_watts() -> None:
    assert run(network="8", speakers="all, 9 W, 80 dB").holds


# Clipped music: half the power of a full sine, 12.8 V / 8 Ω / 2 = 0.8 A.
@pytest.mark.parametrize(
    ("rating", "level"), [("0.79 A", "stop"), ("0.81 A", "caution"), ("1.06 A", "caution"), ("1.07 A", None)]
)
def test_contacts_are_judged_on_clipped_music(rating: str, level: str | None) -> None:
    texts = {**IDEAL, "contacts": "2", "contact_resistance": "0", "contact_rating": rating}
    found = list_codes(run(**texts, network="8"))
    assert found.get("contact-over-rating") == (level if level == "stop" else None)
    assert found.get("contact-near-rating") == (level if level == "caution" else None)


# 0.8 A through two: the better one takes two thirds, 0.533 A; with one open the other carries it all.
@pytest.mark.parametrize(
    ("shared", "rating", "words"),
    [
        ("2", "0.5 A", "sharing unequally one carries 533\u00a0mA of clipped music"),
        ("2", "0.6 A", "with one of them open each carries 800\u00a0mA of clipped music"),
        ("2", "0.81 A", None),
        ("3", "0.39 A", "sharing unequally one carries 400\u00a0mA of clipped music"),
        ("3", "0.41 A", None),
    ],
)
def test_contacts_side_by_side_share_unequally(shared: str, rating: str, words: str | None) -> None:
    texts = {**IDEAL, "contacts": "2", "contact_resistance": "0", "contact_rating": rating, "network": "8"}
    found = find_finding(run(**texts, contacts_shared=shared), "contact-near-rating")
    assert (found is None) if words is None else (found is not None and words in found.text.write())


def test_contacts_side_by_side_lose_less() -> None:
    # Ten of 0.3 Ω are 3 Ω one after the other, and 1 Ω when each crossing has three.
    texts = {**IDEAL, "contacts": "10", "contact_resistance": "0.3 ohm", "network": "8", "supply": "18 V"}
    assert find_number(run(**texts), "peak_current") == pytest.approx(18 / 11)
    assert find_number(run(**texts, contacts_shared="3"), "peak_current") == pytest.approx(2)


# The amplifier gives 12.8 V / 8 Ω = 1.6 A at nominal, 2 A where 8 Ω fall to 6.4 Ω.
@pytest.mark.parametrize(
    ("limit", "level"), [("1.59 A", "stop"), ("1.61 A", "caution"), ("1.99 A", "caution"), ("2.01 A", None)]
)
def test_the_amplifiers_current_limit_is_judged(limit: str, level: str | None) -> None:
    assert list_codes(run(**IDEAL, network="8", current_limit=limit)).get("current-limit") == level


# 10.24 W of full sine, half of it of clipped music.
@pytest.mark.parametrize(
    ("rated", "level"), [("5.1 W", "caution"), ("5.2 W", "note"), ("10.2 W", "note"), ("10.3 W", None)]
)
def test_the_amplifiers_power_is_judged_on_music(rated: str, level: str | None) -> None:
    assert list_codes(run(**IDEAL, network="8", rated_power=rated)).get("amplifier-over-rating") == level


def test_a_shared_return_carries_two_channels() -> None:
    # Single output of 12 V over 8 Ω: 0.375 A of clipped music a channel, twice that in the shared contact.
    single = {**IDEAL, "network": "8", "supply": "12 V", "bridge_tied": "no", "contacts": "2"}
    texts = {**single, "contact_resistance": "0", "contact_rating": "0.7 A"}
    assert find_finding(run(**texts), "contact-over-rating") is None
    shared = find_text(run(**texts, minus_wire="shares a contact"), "contact-over-rating")
    assert "the one that two channels share carries 750\u00a0mA of clipped music" in shared


@pytest.mark.parametrize("kind", ["solid", "stranded"])
def test_the_lead_bears_what_wire_gauge_says(kind: str) -> None:
    judged = find_calculator("wire-gauge").run(
        {"gauge": "36 AWG", "current": "0.1 A", "bundle": "2", "conductor": kind, "length": "0.15 m"}
    )
    capacity = find_number(judged, "capacity")
    wire = 2 * 0.15 * find_number(judged, "resistance_per_km") / 1000
    thin = {
        **IDEAL, "network": "8", "lead_gauge": "36 AWG", "lead_length": "0.15 m", "lead_conductor": kind,
    }  # fmt: skip
    # Clipped music has half the power of a full sine: its r.m.s. current is half of its peaks.
    supply = 2 * capacity * (8 + wire)
    assert "lead-over-capacity" not in list_codes(run(**thin, supply=f"{0.99 * supply} V"))
    hot = find_text(run(**thin, supply=f"{1.01 * supply} V"), "lead-over-capacity")
    assert hot.startswith("Take 34 AWG for the lead: it carries")
    # Where there is no lead, none gets warm.
    assert "lead-over-capacity" not in list_codes(run(**{**thin, "lead_length": "0"}, supply="30 V"))


def test_a_lead_of_strands_has_more_resistance() -> None:
    strands, solid = (
        find_number(run(lead_gauge="26 AWG", lead_conductor=kind), "cable_loss")
        for kind in ("stranded", "solid")
    )
    assert find_number(run(lead_gauge="26 AWG"), "cable_loss") == strands > solid


def test_findings_keep_still_when_nothing_is_wrong() -> None:
    result = run(**{**IDEAL, "speakers": "all, 20 W"}, network="8", rated_power="10.5 W", contact_rating="")
    assert {item.code for item in result.findings} == {"bridge-tied-shares-nothing", "single-fault-overloads"}
    # Exactly at the limits nothing is below or above them, dust or not.
    edge = run(**{**IDEAL, "speakers": "all, 9 W"}, network="8", supply="12 V")
    assert find_finding(edge, "speaker-over-rating") is None
    exact = run(network="3 x 12 in parallel", minimum_meaning="a speaker's nominal")
    assert find_finding(exact, "load-below-minimum") is None
    assert find_finding(exact, "lowest-load-below-minimum") is None


@pytest.mark.parametrize(
    ("texts", "words"),
    [
        ({"network": "2"}, "Use a speaker of higher impedance, 4\u00a0Ω at least."),
        ({"network": "1 || 1"}, "Use speakers of higher impedance, such as S1 2\u00a0Ω + S2 2\u00a0Ω."),
        ({"network": "4 || 4"}, "Join them as S1 + S2 (8\u00a0Ω), the only way that holds."),
        ({"network": "8 || 8 || 4"}, "(8\u00a0Ω), the most even of 4 ways that hold."),
        ({"network": "7 x 8 in parallel"}, "Join them as S1 + S2 + S3 + S4 + S5 + S6 + S7 (56\u00a0Ω)."),
        ({"network": "8 x 8 in parallel"}, "(S1 + S2) || (S3 + S4) || (S5 + S6) || (S7 + S8) (4\u00a0Ω)."),
    ],
)
def test_the_remedy_comes_from_all_arrangements(texts: Mapping[str, str], words: str) -> None:
    stop = find_finding(run(**texts), "load-below-minimum")
    assert stop is not None
    assert words in stop.text.write()


def test_a_measured_minimum_settles_what_the_lowest_impedance_allows() -> None:
    # The published woofer never falls below 6.024 Ω, whatever is printed on it.
    texts = {**WOOFER, "network": "5.9", "minimum_load": "6 ohm", "minimum_meaning": "the lowest impedance"}
    assert find_finding(run(**texts), "load-below-minimum") is None
    assert find_finding(run(**{**texts, "minimum_load": "6.1 ohm"}), "load-below-minimum")
    assert find_finding(run(**{**texts, "minimum_meaning": "not known"}), "load-below-minimum")


@pytest.mark.parametrize("meaning", ["a speaker's nominal", "not known"])
def test_four_ohms_hold_on_an_amplifier_for_four_ohms(meaning: str) -> None:
    assert run(network="4", minimum_meaning=meaning, speakers="all, 30 W, 86 dB").holds
    assert not run(network="3.9", minimum_meaning=meaning, speakers="all, 30 W, 86 dB").holds


# Coils of 4 Ω speakers measure some 3 Ω; below 0.65 of it, 2.6 Ω, it is no speaker of 4 Ω.
@pytest.mark.parametrize(("coil", "stopped"), [("2.65", False), ("2.55", True)])
def test_a_measured_load_is_stopped_where_no_speaker_of_that_figure_falls(coil: str, stopped: bool) -> None:
    result = run(network="4", speakers=f"all, {COIL.format(coil)}")
    assert ("lowest-load-below-minimum" in list_codes(result)) == stopped


def test_what_is_not_known_of_a_driver_does_not_decide() -> None:
    # Without the coil's inductance the model falls to Re at the end of the band, which no driver does.
    texts = {**WOOFER, "minimum_load": "6.3 ohm", "minimum_meaning": "the lowest impedance"}
    known, unknown = run(**texts), run(**{**texts, "speakers": f"all, {MEASURED}".replace("0.24 mH", "")})
    assert "lowest-load-below-minimum" in list_codes(known)
    assert "lowest-load-below-minimum" not in list_codes(unknown)
    assert find_number(unknown, "lowest_load") == pytest.approx(0.8 * 8)
    assert "20\u00a0kHz" not in " ".join(item.text.write() for item in unknown.findings)
    assert not any(find_table(unknown, "impedance").marks)
    assert "lowest" not in unknown.pictures[1].draw("metric")
    assert "falls to" not in unknown.pictures[1].description.write()


# --- refusals ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("texts", "field", "words"),
    [
        ({"network": "7 x 8"}, "network", "nothing says how these 7 speakers are joined"),
        ({"network": ""}, "network", "nothing is entered"),
        ({"network": "8 || " * 200}, "network", "at most 400"),
        ({"supply": "0 V"}, "supply", "outside"),
        ({"supply": "3 m"}, "supply", "a length"),
        ({"minimum_load": "-4"}, "minimum_load", "outside"),
        ({"minimum_meaning": "both"}, "minimum_meaning", "not one of the choices"),
        ({"contacts": "2.5"}, "contacts", "not a whole number"),
        ({"lead_gauge": "99 AWG"}, "lead_gauge", "sizes run"),
        ({"speakers": "all, 0 W"}, "speakers", "row 1, Rating: “0 W” is outside what can be computed"),
        ({"speakers": "all, 1 W, 300 dB"}, "speakers", "row 1, Sensitivity: “300 dB” is outside"),
        ({"amplifier_damping": "0.5"}, "amplifier_damping", "outside"),
        ({"amplifier_damping": "4 V"}, "amplifier_damping", "a voltage, but a number"),
        ({"speakers": "left, , , 6, , 70, 0, 1"}, "speakers", "row 1, Qms: “0” is outside"),
        ({"speakers": "all\nleft, , , 6"}, "speakers", "row 2, fs: nothing is entered, but a driver is"),
        ({"speakers": "left, , , , 1 mH"}, "speakers", "row 1, Re: nothing is entered, but a driver is"),
        ({"speakers": "left, , , 6, , 70, 4"}, "speakers", "row 1, Qes: nothing is entered, but a driver is"),
        ({"speakers": "left\nall\nleft"}, "speakers", "row 3, Speaker: “left” has a row already; keep one"),
        ({"speakers": ", 1 W\nall"}, "speakers", "row 2, Speaker: “all” has a row already"),
        ({"speakers": "1"}, "speakers", "row 1, Speaker: “1” is not a speaker's name"),
        ({"speakers": "\n".join(f"a{n}" for n in range(49))}, "speakers", "49 rows; allowed: 1 to 48 rows"),
        ({"band_low": "10 kHz", "band_high": "1 kHz"}, "band_high", "ends below or right where it begins"),
        ({"band_low": "10 kHz", "band_high": "10090 Hz"}, "band_high", "ends below or right where it begins"),
    ],
)
def test_what_cannot_be_used_is_refused_by_field(texts: Mapping[str, str], field: str, words: str) -> None:
    with pytest.raises(InputErrors) as refused:
        run(**texts)
    assert [error.field for error in refused.value.errors] == [field]
    assert words in refused.value.errors[0].problem


@pytest.mark.parametrize(
    ("former", "rows"),
    [
        ({"rating": "40 W"}, ["all; 40 W; 86 dB", "shaker; 40 W"]),
        (
            {"sensitivity": "88 dB; left, right: none"},
            ["all; 20 W; 88 dB", "shaker; 25 W; 88 dB", "left; 20 W", "right; 20 W"],
        ),
        (
            {"rating": "9 W", "re": "6", "le": "0,24 mH", "fs": "70", "qms": "4", "qes": ".3"},
            ["all; 9 W; 86 dB; 6; 0,24 mH; 70; 4; .3", "shaker; 9 W; ; 6; 0,24 mH; 70; 4; .3"],
        ),
        (
            {"re": "6", "fs": "70", "qms": "4", "qes": "1", "driver_of": "left"},
            ["all; 20 W; 86 dB", "shaker; 25 W", "left; 20 W; 86 dB; 6; ; 70; 4; 1"],
        ),
        (
            {"other_drivers": "shaker: Re 3.4, Le 0.2 mH, fs 40 Hz, Qms 3, Qes=0.9"},
            ["all; 20 W; 86 dB", "shaker; 25 W; ; 3.4; 0.2 mH; 40 Hz; 3; 0.9"],
        ),
    ],
)
def test_figures_as_they_were_once_written_are_spelt_out_in_rows(
    former: Mapping[str, str], rows: list[str]
) -> None:
    with pytest.raises(InputErrors) as refused:
        CALCULATOR.run(former)
    first, *others = refused.value.errors
    told = "this is written in rows of “speakers” now, each in a line of its own: "
    assert first.problem == told + ", ".join(f"“{row}”" for row in rows)
    assert [error.field for error in (first, *others)] == list(former)
    assert all("goes into the same rows as" in error.problem for error in others)
    # So does a page with what a link held.
    with pytest.raises(InputErrors, match=re.escape(rows[-1])):
        run(speakers="\n".join(f"{name} = {text}" for name, text in former.items()))
    assert run(speakers="\n".join(rows)).outputs["power"]


def test_a_speaker_has_its_own_row_its_groups_or_that_of_all() -> None:
    result = run(network="2 x left:8 || right:8", speakers="all, 20 W\nleft, 5 W\nleft2, 6 W")
    assert [row["rating"] for row in list_rows(result, "speakers")] == [5, 6, 20]


# --- readings, working, pictures ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("texts", "answer"),
    [
        ({}, "Join them as (left 8 Ω || right 8 Ω) + shaker 4 Ω: 8 Ω, 9.18 W unclipped."),
        ({"network": "4"}, "Connect S1: 4 Ω, 16.5 W unclipped."),
        (
            {"network": "8 8 8 8"},
            "Join them as (S1 8 Ω || S2 8 Ω) + (S3 8 Ω || S4 8 Ω): 8 Ω, 9.18 W unclipped, the most even of "
            "8 ways that hold.",
        ),
        (
            {"network": "4 || 4"},
            "Join them as S1 + S2 (8 Ω), the only way that holds: as written the load would be 2 Ω, and the "
            "amplifier allows 4 Ω.",
        ),
        (
            {"network": "4", "minimum_meaning": "the lowest impedance"},
            "Use a speaker of higher impedance, 6 Ω at least: as written the load falls to 3.2 Ω, and "
            "the amplifier allows 4 Ω.",
        ),
        (
            {"minus_wire": "joined to ground"},
            "Keep the minus wire off ground: it is a driven output and stands at 6.4 V.",
        ),
        (
            {"minus_wire": "shares a contact"},
            "Give each of the four speaker wires a contact of its own: both wires of a bridge are driven, "
            "and stand at 6.4 V.",
        ),
        (
            {"network": "8", "speakers": "all, 1 W, 86 dB"},
            "Feed the amplifier 5.9 V at most: of loud music S1 would get 2.29 W, and it is rated 1 W.",
        ),
        (
            {"network": "8", "current_limit": "1 A"},
            "Feed the amplifier 6.8 V at most: 12.8 V drives 1.51 A through 8 Ω, and the amplifier cuts "
            "out at 1 A.",
        ),
        (
            {"network": "8", "lead_gauge": "36 AWG"},
            "Take 26 AWG for the lead: music sends 535 mA through it, and 36 AWG bears 179 mA.",
        ),
        (
            {"network": "8", "speakers": "all, 4 W, 86 dB"},
            "Connect S1: 8 Ω, 9.18 W unclipped, and feed the amplifier 11.5 V at most.",
        ),
        (
            {"network": "8", "contact_rating": "0.9 A"},
            "Connect S1: 8 Ω, 9.18 W unclipped, with 2 contacts side by side.",
        ),
        (
            {"network": "4 || 17", "minimum_load": "2 ohm"},
            "Join them as S1 4 Ω || S2 17 Ω: 3.24 Ω, 19.5 W unclipped, with equal speakers.",
        ),
        (
            {"network": "8", "contact_resistance": "1 ohm", "contact_rating": "5 A"},
            "Connect S1: 8 Ω, 6.07 W unclipped, and put 9 contacts side by side.",
        ),
    ],
)
def test_the_answer_is_one_sentence_with_the_figures_that_decide(
    texts: Mapping[str, str], answer: str
) -> None:
    assert run(**texts).answer.write().replace("\u00a0", " ") == answer


@settings(max_examples=60)
@given(
    NETWORKS,
    st.sampled_from(MEANINGS),
    st.sampled_from(["2 ohm", "4 ohm", "8 ohm"]),
    st.sampled_from(["1 A", "5 A"]),
)
def test_what_is_proposed_in_its_place_holds(tree: Tree, meaning: str, least: str, rating: str) -> None:
    texts = {
        "network": spell(tree), "minimum_load": least, "minimum_meaning": meaning, "contact_rating": rating,
        "speakers": f"all, {MEASURED}" if meaning == "not known" else "all, 3 W, 86 dB",
    }  # fmt: skip
    proposed = solve_case(**texts).other_way
    if proposed is not None:
        joined = solve_case(**{**texts, "network": proposed.entry})
        assert joined.trouble == ""
        assert not joined.overloaded
        assert joined.drive.load == pytest.approx(proposed.load)


def test_a_copy_that_is_joined_otherwise_keeps_its_row() -> None:
    # What is proposed names the copies one by one; a row for all of them still holds for each.
    texts = {"network": "2 x eye:4 || mouth:8", "speakers": "all, 9 W, 86 dB\neye, 3 W, 80 dB"}
    stop = find_finding(run(**texts), "load-below-minimum")
    assert stop is not None
    mended = run(**{**texts, **stop.apply})
    assert [row["rating"] for row in list_rows(mended, "speakers")] == [3, 3, 9]
    assert "names-not-in-network" not in list_codes(mended)


# Half a decibel of 8 Ω is 0.474 Ω, of which contacts take half at most: 50 m of wire have 8.3 mΩ/m left.
@pytest.mark.parametrize(
    ("texts", "apply"),
    [
        ({"lead_length": "25 m"}, {"lead_gauge": "12 AWG"}),
        ({"lead_length": "25 m", "lead_gauge": "0.5 mm2"}, {"lead_gauge": "2.5 mm²"}),
        ({"lead_length": "500 m", "lead_gauge": "0.5 mm2"}, {"lead_gauge": "50 mm²"}),
        ({"contact_resistance": "1 ohm"}, {"contacts_shared": "9"}),
        ({"contact_resistance": "2.3 ohm"}, {"contacts_shared": "20"}),
        ({"contact_resistance": "2.45 ohm"}, {"contact_resistance": "0.11 Ω"}),
    ],
)
def test_what_mends_a_loss(texts: Mapping[str, str], apply: Mapping[str, str]) -> None:
    loss = find_finding(run(network="8", **texts), "lead-loss")
    assert loss is not None
    assert loss.apply == apply


def find_reading(result: Result, words: str) -> Reading:
    return next(item for item in result.readings if words in item.label)


def test_the_meter_shows_the_coils_and_the_lead() -> None:
    # Common practice: a coil has 65 % to 95 % of its nominal; the meter may be off by 0.8 % and 3 steps.
    reading = find_reading(run(network="8", contacts="0", lead_length="0"), "resistance of the whole channel")
    assert (reading.low.value, reading.high.value) == pytest.approx((5.2 * 0.992 - 0.3, 7.6 * 1.008 + 0.3))
    assert reading.battery == "off"
    wired = find_reading(run(), "resistance of the whole channel")
    assert wired.expected.value > 0.8 * 8
    assert wired.low.value < wired.expected.value < wired.high.value
    measured = find_reading(run(**WOOFER, contacts="0", lead_length="0"), "resistance of the whole channel")
    # A measured coil of 6 Ω is found again to a tenth.
    assert measured.expected.value == pytest.approx(6)
    assert (measured.low.value, measured.high.value) == pytest.approx((5.4 * 0.992 - 0.3, 6.6 * 1.008 + 0.3))
    behind = find_reading(run(network="8", high_pass="150"), "resistance of the whole channel")
    assert "capacitor" in behind.probes


def test_readings_prove_that_nothing_is_shared() -> None:
    labels = [item.label for item in run().readings]
    assert sum("no connection" in label for label in labels) == 3
    single = [item.label for item in run(bridge_tied="no").readings]
    assert not any("two channels" in label for label in single)
    supply = find_reading(run(supply="14 V"), "Supply at the amplifier")
    assert supply.battery == "on"
    assert supply.expected.value == 14
    assert (supply.low.value, supply.high.value) == pytest.approx((0.92 * 14, 1.12 * 14))
    rest = find_reading(run(), "Direct voltage")
    assert (rest.low.value, rest.high.value) == (-0.05, 0.05)


def test_a_single_outputs_minus_may_be_ground() -> None:
    result = run(bridge_tied="no", minus_wire="joined to ground")
    assert not any("no connection" in item.label for item in result.readings)
    # From plus the meter then sees the speakers, and no open circuit.
    plus = find_reading(result, "Plus wire to ground")
    across = find_reading(result, "resistance of the whole channel")
    assert (plus.low, plus.expected, plus.high) == (across.low, across.expected, across.high)
    assert "speakers' side of a series capacitor" in across.probes


def test_what_must_not_be_built_is_not_switched_on() -> None:
    for wrong in ({"minus_wire": "joined to ground"}, {"network": "2"}, {"contact_rating": "0.5 A"}):
        result = run(**wrong)
        assert {item.level for item in result.findings} >= {"stop"}
        assert {item.battery for item in result.readings} == {"off"}
    assert {item.battery for item in run().readings} == {"off", "on"}


def test_the_working_ends_in_the_outputs() -> None:
    result = run(lead_conductor="solid")
    written = {step.label: step.outcome.write() for step in result.working}
    assert written["Nominal load: (left || right) + shaker"] == "8\u00a0Ω"
    assert written["left || right"] == "4\u00a0Ω"
    assert written["Peak current"] == "1.52\u00a0A"
    assert written["Power into the speakers, unclipped"] == "9.2\u00a0W"
    figures = {step.label: step.figures.write() for step in result.working}
    assert figures["Power into the speakers, unclipped"] == "(1.52\u00a0A)² × 8\u00a0Ω ÷ 2"
    # Two flanks alike; the shaker has no sensitivity. 2 × 2.3 W × 10^8.6 are 92.6 dB.
    assert figures["Level at 1 m"] == "10 log₁₀(2 × 2.3\u00a0W × 10^(86\u00a0dB ÷ 10))"
    assert written["Level at 1 m"] == "92.6\u00a0dB"
    for name in ("cable_loss", "damping_factor"):
        output = next(item for item in CALCULATOR.outputs if item.name == name)
        shown = Figure(find_number(result, name), output.kind, output.figures).write()
        assert shown in written.values()
    assert all(step.figures.write() and step.figures.write("imperial") for step in result.working)


def test_the_working_of_a_measured_minimum_can_be_reckoned_again() -> None:
    result = run(**WOOFER, band_low="5 kHz")
    (driver,) = [step for step in result.working if step.label.startswith("Impedance of S1")]
    assert driver.label == "Impedance of S1 at 5\u00a0kHz"
    assert driver.figures.write() == (
        "6\u00a0Ω + j 2π × 5\u00a0kHz × 240\u00a0µH + 75.4\u00a0Ω ÷ (1 + j 4.27 × 70.7)"
    )
    # The figures shown, put into the formula shown.
    again = 6 + 2j * math.pi * 5000 * 240e-6 + 75.4 / (1 + 4.27j * 70.7)
    assert driver.outcome.write() == f"{again.real:.3g}\u00a0Ω + j {again.imag:.3g}\u00a0Ω"
    (whole,) = [step for step in result.working if step.label == "Lowest load"]
    assert whole.figures.write() == "√((6\u00a0Ω)² + (7.29\u00a0Ω)²) at 5\u00a0kHz"
    assert whole.outcome.write() == f"{math.hypot(6, 7.29):.3g}\u00a0Ω"
    below = run(**WOOFER, band_low="80 Hz", band_high="200 Hz")
    assert any("− j" in step.outcome.write() for step in below.working)


def test_impedance_against_frequency_is_a_table_too() -> None:
    found = list_rows(run(**WOOFER), "impedance")
    marks = find_table(run(**WOOFER), "impedance").marks
    assert 20 < len(found) < 40
    assert [row["frequency"] for row in found] == sorted(float(str(row["frequency"])) for row in found)
    (lowest,) = [row for row, mark in zip(found, marks, strict=True) if mark]
    assert lowest["impedance"] == find_number(run(**WOOFER), "lowest_load")
    for row in found:
        frequency = float(str(row["frequency"]))
        detuning = frequency / 70.7 - 70.7 / frequency
        model = 6 + 2j * math.pi * frequency * 0.24e-3 + 6 * 4.27 / 0.34 / (1 + 4.27j * detuning)
        assert row["impedance"] == pytest.approx(abs(model))
    assert "impedance" not in [item.name for item in run().tables]


def find_driver(frequency: float, re: float, le: float, fs: float, qms: float, qes: float) -> complex:
    detuning = frequency / fs - fs / frequency
    return re + 2j * math.pi * frequency * le + re * qms / qes / (1 + 1j * qms * detuning)


def test_level_against_frequency_is_what_complex_numbers_say() -> None:
    rows, lowest = list_rows(run(**SHAKEN), "impedance"), find_number(run(**SHAKEN), "lowest_load")
    told = [row for row in rows if row["level"] is not None]
    # Above 2 kHz a coil's inductance is no longer what is stated, and no level is told.
    assert [row["frequency"] for row in rows if row["level"] is None and row["impedance"] != lowest] == [
        row["frequency"] for row in rows if float(str(row["frequency"])) > 2000
    ]
    outside = run(network="8")
    loop = 12.8 / find_number(outside, "peak_current") - 8
    for row in told:
        frequency = float(str(row["frequency"]))
        shaker = find_driver(frequency, 3.4, 0.2e-3, 40, 5, 0.8)
        flank = abs(4 / (4 + shaker + loop)) * 12.8
        # Two flanks of 8 Ω, each with 86 dB for a watt.
        assert row["level"] == pytest.approx(10 * math.log10(2 * flank**2 / 2 / 8 * 10**8.6), abs=1e-9)
    assert "level" not in list_rows(run(**WOOFER), "impedance")[0]
    # The last of the points, which lie 1.45 % apart, is the last up to 2 kHz.
    near = {**SHAKEN, "band_low": "1 kHz", "band_high": "4 kHz"}
    assert 1971 < solve_case(**near).levels[-1][0] <= 2000


# In series with 8 Ω a coil of 2 Ω that rises at its resonance: the sound falls by 20 log10((10 + x) / 10).
@pytest.mark.parametrize(("dip", "fires"), [(2.9, False), (3.1, True)])
def test_a_dip_of_three_decibels_is_told(dip: float, fires: bool) -> None:
    rise = 10 * (10 ** (dip / 20) - 1) / 2
    shaker = f"shaker, , , 2, 0, 100 Hz, 1, {1 / rise!r}"
    texts = {**IDEAL, "network": "left:8 + shaker:2", "speakers": f"left, , 86 dB\n{shaker}"}
    found = list_codes(run(**texts))
    assert ("series-resonance" in found) == fires
    # Rising inductance far above is no resonance.
    assert "series-resonance" not in list_codes(run(**texts, band_low="1 kHz"))


def trace_wires(svg: str, boxes: Sequence[tuple[float, ...]]) -> tuple[int, int]:
    """Return into how many pieces boxes and wires fall, and how many ends of wires touch nothing."""
    lines = [
        [tuple(float(number) for number in point.split(",")) for point in text.split()]
        for text in re.findall(r'<polyline points="([^"]*)"', svg)
    ]
    # Boxes and stretches of wire as rectangles, with the rounding of the drawing round them.
    shapes = [(("box", number), x, y, x + wide, y + high) for number, (x, y, wide, high) in enumerate(boxes)]
    for number, line in enumerate(lines):
        for (ax, ay), (bx, by) in itertools.pairwise(line):
            shapes.append((("wire", number), min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)))
    graph: networkx.Graph[tuple[str, int]] = networkx.Graph()
    graph.add_nodes_from(name for name, *_ in shapes)
    loose = 0
    for number, line in enumerate(lines):
        for x, y in (line[0], line[-1]):
            touched = {
                name
                for name, left, top, right, bottom in shapes
                if name != ("wire", number)
                and left - 0.2 <= x <= right + 0.2
                and top - 0.2 <= y <= bottom + 0.2
            }
            graph.add_edges_from((("wire", number), name) for name in touched)
            loose += not touched
    return networkx.number_connected_components(graph), loose


@pytest.mark.parametrize(
    "network",
    [
        "8",
        "8 x 8 in series",
        "8 x 8 in parallel",
        "(8 + 8 + 8 + 8) || (8 + 8 + 8 + 8)",
        "2 x 8 || (8 + 8) + 8 || 2 x 16 || 8",
        "left front:8 || right front:8 + left rear:4 || right rear:4",
        "4 x (6 x 8 in series) in parallel",
        "24 x 8 in parallel",
        "12 x 8 || (12 x 4 in series)",
        "12 x 8 || (3 x 4 + (2 x 8 in parallel) + 2 x (4 || 8 + 4) in series)",
    ],
)
def test_the_wiring_fits_a_phone_and_names_every_speaker(network: str) -> None:
    result = run(network=network)
    (picture,) = result.pictures
    svg = picture.draw("metric")
    box = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)
    assert box is not None
    assert float(box[1]) == 340
    for row in list_rows(result, "speakers"):
        assert re.search(rf">(\d+  )?{row['name']}(<| · )", svg)
        assert str(row["name"]) in picture.description.write()
    check_labels(svg)
    boxes = [
        tuple(float(number) for number in box)
        for box in re.findall(r'<rect x="([-\d.]+)" y="([-\d.]+)" width="([\d.]+)" height="([\d.]+)"', svg)
    ]
    assert len(boxes) == len(list_rows(result, "speakers"))
    for x, y, width, height in boxes:
        assert x >= 0
        assert x + width <= 340
        assert not [
            other
            for other in boxes
            if other != (x, y, width, height)
            and x < other[0] + other[2]
            and other[0] < x + width
            and y < other[1] + other[3]
            and other[1] < y + height
        ]
    # Only at the two terminals does a wire end on nothing that is drawn by box or line.
    assert trace_wires(svg, boxes) == (1, 2)


def test_a_network_too_wide_for_names_is_numbered_with_a_list() -> None:
    chain = "(" + " + ".join(f"speaker {letter}:8" for letter in "abcd") + ")"
    other = chain.replace("speaker", "woofer")
    result = run(network=f"({chain} || {other}) + ({chain.replace('speaker', 'tweeter')} || 3 x buzzer:8)")
    svg = result.pictures[0].draw("metric")
    assert ">1<" in svg
    assert "speaker a" in svg


def test_the_lines_of_a_speaker_stand_clear_of_each_other_in_its_box() -> None:
    # 13 pixels high and 15 apart, in a box that reaches 2 above the first and 6 below the last.
    svg = run(network="8").pictures[0].draw("metric")
    (box,) = re.findall(r'<rect [^>]*y="([\d.]+)" width="[\d.]+" height="([\d.]+)"', svg)
    top, height = map(float, box)
    lines = [float(y) - top for y in re.findall(r' y="([\d.]+)"[^>]* text-anchor="middle"', svg)]
    assert (lines, height) == ([15, 30, 45], 51)


def test_an_overloaded_speaker_is_marked_without_colour() -> None:
    svg = run(speakers="all, 0.5 W, 86 dB").pictures[0].draw("metric")
    assert svg.count(" !<") == 3
    assert "!" not in run().pictures[0].draw("metric")


def test_the_impedance_picture_marks_the_lowest_point() -> None:
    picture = run(**WOOFER).pictures[1]
    svg = picture.draw("metric")
    assert "6.02\u00a0Ω at 947\u00a0Hz" in svg
    assert "amplifier's smallest" in svg.replace("&#x27;", "'")
    assert "6.02\u00a0Ω at 947\u00a0Hz" in picture.description.write()


@pytest.mark.parametrize("q", ["0.1", "0.8", "50"])
@pytest.mark.parametrize("band", [("20 Hz", "20 kHz"), ("30 Hz", "60 Hz"), ("1.9 kHz", "3 kHz")])
def test_the_level_picture_marks_the_quietest_point(q: str, band: tuple[str, str]) -> None:
    speakers = SHAKEN["speakers"].replace("0.8", q)
    texts = {"network": SHAKEN["network"], "speakers": speakers, "band_low": band[0], "band_high": band[1]}
    result = run(**texts)
    picture = result.pictures[2]
    svg = picture.draw("metric")
    check_labels(svg)
    for drawn in result.pictures:
        check_labels(drawn.draw("imperial"))
    place, level = min(solve_case(**texts).levels, key=lambda point: point[1])
    for words in (f"{place:.3g}\u00a0Hz" if place < 1000 else "kHz", f"{level:.3g}\u00a0dB"):
        assert words in svg
    assert picture.description.write().endswith("where the speakers are quietest.")


@settings(max_examples=40)
@given(NETWORKS, st.sampled_from(["yes", "no"]), st.floats(1, 100), st.sampled_from(["", "150"]))
def test_results_are_whole_for_any_network(tree: Tree, bridge: str, supply: float, high_pass: str) -> None:
    result = run(network=spell(tree), bridge_tied=bridge, supply=f"{supply:.4f}", high_pass=high_pass)
    assert set(result.outputs) == {output.name for output in CALCULATOR.outputs}
    json.dumps([dict(result.outputs), [item.rows for item in result.tables]], allow_nan=False)
    assert sum(float(str(row["share"])) for row in list_rows(result, "speakers")) == pytest.approx(1)
    assert sum(float(str(row["power"])) for row in list_rows(result, "speakers")) == pytest.approx(
        find_number(result, "power")
    )
    texts = [item.text for item in result.findings] + [picture.description for picture in result.pictures]
    assert not any("{" in text.write() for text in texts)


def test_the_narrowest_band_is_drawn() -> None:
    picture = run(**WOOFER, band_low="10 kHz", band_high="10.1 kHz").pictures[1]
    assert "<polyline" in picture.draw("metric")
    with pytest.raises(InputErrors, match="ends below or right where it begins"):
        run(**WOOFER, band_low="10 kHz", band_high="10.0999 kHz")
