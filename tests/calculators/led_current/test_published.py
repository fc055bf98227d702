"""What others have published of loads along two conductors, of data timing and of levels, row by row."""

from pathlib import Path

import pytest

from calculators.led_current.calculator import CALCULATOR
from calculators.led_current.data_level import list_shifters
from calculators.led_current.ladder import Feed, solve_ladder, solve_uniform
from calculators.notation.quantity import read_number, read_quantity
from tests.calculators.published import Case, read_published
from tests.calculators.running import find_number, make_run
from tests.conftest import ROOT

run = make_run(CALCULATOR)


def list_numbers(text: str, unit: str) -> list[float]:
    return [read_number(number.strip()) for number in text.removesuffix(f" {unit}").split(",")]


def read_resistivity(text: str) -> float:
    return float(text.removesuffix(" Ω m"))


def find_voltage(supply: str, resistance: str, sections: str, loads: str, at: str) -> float:
    """At one of several loads, with so many metres from each to the next; the resistance is out and back."""
    ohms = [
        read_quantity(resistance, "resistance per length", "Ω/m") * metres
        for metres in list_numbers(sections, "m")
    ]
    taps = [0.0, *list_numbers(loads, "A")]
    return solve_ladder(read_quantity(supply, "voltage", "V"), ohms, taps, [Feed(0, 0.0)])[int(at)]


def find_copper(drop: str, sections: str, loads: str, resistivity: str) -> float:
    """The area of each conductor in m² at which the last load loses this much; the drop goes as 1/area."""
    ohms = [2 * metres * read_resistivity(resistivity) for metres in list_numbers(sections, "m")]
    lost = -solve_ladder(0.0, ohms, [0.0, *list_numbers(loads, "A")], [Feed(0, 0.0)])[-1]
    return lost / read_quantity(drop, "voltage", "V")


def find_copper_of_uniform_load(drop: str, length: str, load: str, resistivity: str) -> float:
    """The same for a load all along, taken as 5000 equal loads: 1/5000 more than a continuous one."""
    metres = read_quantity(length, "length", "m")
    ladder = solve_uniform(
        0.0,
        read_number(load.removesuffix(" A/m")) * metres / 5000,
        2 * metres * read_resistivity(resistivity) / 5000,
        5000,
        [Feed(0, 0.0)],
    )
    return -ladder.find_lowest()[1] / read_quantity(drop, "voltage", "V")


def find_leds_in_a_second(led_type: str) -> float:
    return 1000 / find_number(run(led_type=led_type, count="1000"), "send_time")


def find_battery_power(**texts: str) -> float:
    drawn = find_number(run(**texts), "battery_current")
    return drawn * read_quantity(texts["battery_voltage"], "voltage", "V")


def find_high_threshold(shifter: str, supply: str) -> float:
    (found,) = [one for one in list_shifters() if one.name == shifter]
    return found.find_threshold(read_quantity(supply, "voltage", "V"))


PUBLISHED = read_published(
    CALCULATOR,
    Path(__file__).with_name("published.toml"),
    ROOT / "build_scripts" / "pages" / "calculators" / "led-current.md",
    {
        "Voltage at a load": find_voltage,
        "Copper for this drop": find_copper,
        "Copper for this drop, uniform load": find_copper_of_uniform_load,
        "LEDs in a second": find_leds_in_a_second,
        "Power drawn from the battery": find_battery_power,
        "High from, at the buffer's input": find_high_threshold,
    },
)


@pytest.mark.parametrize("case", PUBLISHED.cases, ids=str)
def test_published_case(case: Case) -> None:
    case.check()


def test_the_page_ends_with_the_published_cases(pytestconfig: pytest.Config) -> None:
    PUBLISHED.check_page(pytestconfig)
