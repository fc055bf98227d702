"""What the readings let pass: sound builds do, and none with the fault that a reading is meant to find."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from itertools import islice
from random import Random
from typing import Any

import pytest

from calculators import find_calculator
from calculators.led_current import report as led_report
from calculators.led_current.given import Given as StringGiven
from calculators.led_current.solve import Solved as SolvedString
from calculators.led_current.solve import solve as solve_string
from calculators.notation.errors import InputError, InputErrors
from calculators.pin_order import report as pin_report
from calculators.pin_order.given import Given as LeadGiven
from calculators.pin_order.solve import Solved as SolvedLead
from calculators.pin_order.solve import solve as solve_lead
from calculators.results.case import About, Span, find_value
from calculators.speaker_load import report as speaker_report
from calculators.speaker_load.given import Given as ChannelGiven
from calculators.speaker_load.solve import solve as solve_channel
from calculators.wire_gauge import report as wire_report
from calculators.wire_gauge.given import Given as RunGiven
from calculators.wire_gauge.solve import Solved as SolvedRun
from calculators.wire_gauge.solve import solve as solve_run
from tests.calculators.benches import CHANNEL, LEAD, RUN, STRING, Bench, Shown

PLANS = 60
"""Plans of each calculator; each is built several times."""

SOUND_BUILDS, FAULTY_BUILDS = 20, 10
"""Of each plan, and of each of its faults."""

MOST_SOUND_FAILED, MOST_FAULTY_PASSED = 0.01, 0.05

FEWEST = 40
"""Builds from which a share is worth the name."""


def draw_run(draw: Random) -> dict[str, str]:
    if draw.random() < 0.2:
        # A sensor at the other end of the hall.
        return {
            "current": f"{draw.uniform(5, 40):.2g} mA",
            "supply": "12 V",
            "length": f"{draw.uniform(40, 190):.3g} m",
            "allowed_drop": "20 %",
            "gauge": draw.choice(["22 AWG", "24 AWG"]),
        }
    current = 0.2 * 150 ** draw.random()
    return {
        "current": f"{current:.3g} A",
        "supply": draw.choice(["5 V", "6 V", "12 V", "12.8 V", "24 V"]),
        "length": f"{0.2 * 50 ** draw.random():.2g} m",
        "allowed_drop": f"{draw.uniform(3, 8):.2g} %",
        "conductor": draw.choice(["stranded", "solid", "tinned", "worst case"]),
        "bundle": str(draw.choice([2, 2, 4, 6])),
        "contacts": str(draw.choice([0, 0, 2, 4])),
        "contact_resistance": f"{draw.uniform(2, 30):.2g} mohm",
        "contacts_shared": str(draw.choice([1, 2, 3])),
        "contact_rating": f"{2 * current + 1:.2g} A",
    }


def draw_string(draw: Random) -> dict[str, str]:
    return {
        "led_type": draw.choice(["RGB 12 mA", "RGB 20 mA", "RGBW 20 mA"]),
        "count": str(draw.randint(10, 150)),
        "feed": draw.choice(["one end", "both ends", "middle", "both ends", "every 30"]),
        "segment_resistance": f"{draw.uniform(1, 5):.2g} mohm",
        "lead_length": f"{draw.uniform(0.1, 1.5):.2g} m",
        "lead_gauge": draw.choice(["20 AWG", "18 AWG", "16 AWG"]),
        "strings": str(draw.choice([1, 1, 2, 3])),
        "contacts": str(draw.choice([0, 0, 2])),
        "contact_resistance": f"{draw.uniform(2, 20):.2g} mohm",
        "contacts_shared": str(draw.choice([1, 2, 3])),
        "contact_rating": "10 A",
        "converter_limit": "40 A",
        "ground_shift": draw.choice(["0 V", "0 V", "50 mV"]),
    }


def draw_channel(draw: Random) -> dict[str, str]:
    networks = (
        "8", "4", "6", "left:8 || right:8", "8 + 8", "4 + 4", "4 || 4", "16 || 16", "32 || 32",
        "(8 + 8) || (8 + 8)", "8 || 8 + 4", "(4 + 4) || 8", "3 x 8 in series",
        "(left:8 || right:8) + shaker:4",
    )  # fmt: skip
    return {
        "network": draw.choice(networks),
        "supply": draw.choice(["5 V", "12 V", "12.8 V", "24 V"]),
        "minimum_load": "2 ohm",
        "lead_length": f"{0.2 * 20 ** draw.random():.2g} m",
        "lead_gauge": draw.choice(["22 AWG", "20 AWG", "18 AWG"]),
        "contacts": str(draw.choice([0, 2, 4])),
        "contact_rating": "20 A",
        **draw.choice([{}, {"speakers": "all, 50 W, , 6.2 ohm, 60 Hz, 4, 0.5, 0.3 mH"}]),
    }


def draw_lead(draw: Random) -> dict[str, str]:
    roles = draw.choice([
        ["+5V", "ground", "signal"], ["+5V", "ground", "data", "clock"], ["+12V", "ground", "data"],
        ["battery", "ground", "signal"], ["+5V", "+5V", "ground", "ground", "data"],
        ["+5V", "+12V", "ground", "data"],
    ])  # fmt: skip
    board = draw.sample(roles, len(roles))
    return {
        "from_pins": ", ".join(roles),
        "to_pins": ", ".join(board),
        **draw.choice(
            [
                {"lead_resistance": f"{5 * 60 ** draw.random():.2g} mohm"},
                {"lead_length": f"{0.1 * 15 ** draw.random():.2g} m"},
            ]
        ),
    }


@dataclass(frozen=True, eq=False)
class Trade:
    """One calculator: how plans for it are drawn, solved and read, and how they are built."""

    slug: str
    draw_plan: Callable[[Random], dict[str, str]]
    form: Callable[..., Any]
    solve: Callable[[Any], Any]
    readings: tuple[Any, ...]
    bench: Bench


TRADES = (
    Trade("wire-gauge", draw_run, RunGiven, solve_run, wire_report.READINGS, RUN),
    Trade("led-current", draw_string, StringGiven, solve_string, led_report.READINGS, STRING),
    Trade("speaker-load", draw_channel, ChannelGiven, solve_channel, speaker_report.READINGS, CHANNEL),
    Trade("pin-order", draw_lead, LeadGiven, solve_lead, pin_report.READINGS, LEAD),
)


def list_spans(rules: tuple[Any, ...], case: Any) -> Iterator[tuple[str, Span]]:
    """Yield the range of each reading that is shown of the case, by its path."""
    for rule in rules:
        if isinstance(rule, About):
            parts = find_value(case, rule.path)
            assert isinstance(parts, tuple)
            for number, part in enumerate(parts):
                yield from (
                    (f"{rule.path}.{number}.{path}", span) for path, span in list_spans(rule.rules, part)
                )
        elif rule.when is None or rule.when(case):
            span = find_value(case, rule.span)
            if isinstance(span, Span):
                yield rule.span, span


@dataclass
class Tally:
    """How many builds each reading was taken of, and how many passed, by fault; "" is sound work."""

    taken: Counter[tuple[str, str]] = field(default_factory=Counter)
    passed: Counter[tuple[str, str]] = field(default_factory=Counter)
    builds: int = 0

    def find_share(self, name: str, fault: str) -> float:
        return self.passed[name, fault] / self.taken[name, fault]


def passes(span: Span, shown: float) -> bool:
    # “Over range” is what passes where nothing is to be connected.
    return span.low <= shown <= span.high or (shown == float("inf") and span.high >= 1e9)


def list_plans(trade: Trade) -> Iterator[tuple[dict[str, str], Any]]:
    """Yield plans of a calculator and their solved cases, without end."""
    draw, calculator = Random(f"plans for {trade.slug}"), find_calculator(trade.slug)
    while True:
        texts = trade.draw_plan(draw)
        try:
            yield texts, trade.solve(trade.form(**calculator.read(texts)))
        except (InputError, InputErrors):
            continue


@cache
def build_all(trade: Trade) -> Tally:
    """Build plans that hold, soundly and with each fault, and count what the meter makes of it."""
    draw, tally, calculator = Random(f"{trade.slug} on the bench"), Tally(), find_calculator(trade.slug)
    # Plugs that meet wrongly are what a lead is made for.
    sound = (
        case
        for texts, case in list_plans(trade)
        if (case.own.is_served if isinstance(case, SolvedLead) else calculator.run(texts).holds)
    )
    for case in islice(sound, PLANS):
        spans = dict(list_spans(trade.readings, case))
        for fault in ("", *sorted({fault for found in trade.bench.finds.values() for fault in found})):
            for _ in range(FAULTY_BUILDS if fault else SOUND_BUILDS):
                count_build(tally, spans, trade.bench.build(case, draw, fault), fault)
    return tally


def count_build(tally: Tally, spans: Mapping[str, Span], shown: Shown | None, fault: str) -> None:
    if shown is None:
        return
    tally.builds += 1
    found: dict[str, bool] = {}
    for path, span in spans.items():
        name = ".".join(part for part in path.split(".") if not part.isdigit())
        ok = all(passes(span, one) for one in shown[path])
        found[name] = found.get(name, True) and ok
    for name, ok in found.items():
        tally.taken[name, fault] += 1
        tally.passed[name, fault] += ok


READ = [(trade, name) for trade in TRADES for name in trade.bench.finds]
MEANT = [(trade, name, fault) for trade, name in READ for fault in trade.bench.finds[name]]


@pytest.mark.parametrize(("trade", "name"), READ, ids=[f"{trade.slug} {name}" for trade, name in READ])
def test_sound_work_passes(trade: Trade, name: str) -> None:
    tally = build_all(trade)
    assert tally.taken[name, ""] >= FEWEST
    assert 1 - tally.find_share(name, "") < MOST_SOUND_FAILED


@pytest.mark.parametrize(
    ("trade", "name", "fault"), MEANT, ids=[f"{trade.slug} {name} {fault}" for trade, name, fault in MEANT]
)
def test_a_reading_finds_the_fault_that_it_is_meant_to_find(trade: Trade, name: str, fault: str) -> None:
    tally = build_all(trade)
    assert tally.taken[name, fault] >= FEWEST
    assert tally.find_share(name, fault) < MOST_FAULTY_PASSED


def test_every_reading_is_meant_to_find_something() -> None:
    for trade in TRADES:
        spans = {name for name, _ in build_all(trade).taken}
        assert spans == set(trade.bench.finds)


def test_enough_is_built() -> None:
    assert sum(build_all(trade).builds for trade in TRADES) >= 10_000


def list_limits(case: Any) -> Iterator[tuple[str, float, float]]:
    """Yield what each reading of a case may pass at most, by what the calculator itself finds wrong."""
    if isinstance(case, SolvedRun):
        run = case.run
        yield "meter.lost", 0.0, run.allowed * run.current / run.peak
        yield "meter.warmth", 0.0, run.insulation.temperature - run.ambient
        if case.meter and case.judged.hot:
            warm = case.judged.hot / case.judged.cold
            loop = (run.allowed - run.contact_drop) / run.peak / warm
            yield "meter.run.wire", 0.0, loop * case.meter.run.current
    elif isinstance(case, SolvedString):
        given = case.given
        lost = given.supply - case.floor
        yield from (("meter.start", 0.0, lost), ("meter.weakest", 0.0, lost))
        yield "meter.lowest", case.floor, case.led.highest_supply or given.supply * 1.05
        yield "meter.full", 0.0, given.converter_limit or float("inf")
        yield "meter.shift", 0.0, case.input_overdrive
    elif isinstance(case, SolvedLead):
        for number, voltage in enumerate(case.voltages):
            role = voltage.pins[0].role
            if role.kind == "supply":
                limits = case.limits.find_lowest(role), case.limits.find_highest(role)
                yield (f"voltages.{number}.reading", *limits)


@pytest.mark.parametrize("trade", TRADES, ids=[trade.slug for trade in TRADES])
def test_no_range_passes_what_the_calculator_itself_calls_too_low_or_too_much(trade: Trade) -> None:
    near = 0
    for _, case in islice(list_plans(trade), 4 * PLANS):
        spans = dict(list_spans(trade.readings, case))
        for path, lowest, highest in list_limits(case):
            if span := spans.get(path):
                assert lowest - 1e-9 <= span.low, path
                assert span.high <= highest + 1e-9, path
                near += span.low < lowest + 1e-9 or span.high > highest - 1e-9
    # Where such a limit lies within what sound work may show, the range ends there.
    assert near or trade.slug == "speaker-load"


@pytest.mark.parametrize("trade", TRADES, ids=[trade.slug for trade in TRADES])
def test_no_range_is_finer_than_the_steps_of_the_meter(trade: Trade) -> None:
    for texts, _ in islice(list_plans(trade), 4 * PLANS):
        for reading in find_calculator(trade.slug).run(texts).readings:
            step = {"voltage": 1e-4, "resistance": 0.1, "current": 1e-4, "temperature difference": 0.1}[
                reading.expected.kind
            ]
            while reading.high.value >= 2000 * step:
                step *= 10
            assert reading.high.value - reading.low.value >= 3 * step, reading.label
