"""What others have published of pin orders, views and wrong matings, row by row."""

from pathlib import Path

import pytest

from calculators.pin_order.calculator import CALCULATOR
from calculators.pin_order.colours import find_colours
from calculators.pin_order.pairs import find_pairs, turn_places
from calculators.pin_order.pin_list import list_common_plugs, read_plug
from tests.calculators.published import Case, read_published
from tests.conftest import ROOT


def list_labels(name: str) -> list[str]:
    return [role.label for role in list_common_plugs()[name].pins]


def find_order(name: str) -> str:
    return ", ".join(list_labels(name))


def find_turned_middle(name: str) -> str:
    labels = list_labels(name)
    return labels[turn_places(len(labels))[len(labels) // 2]]


def find_meeting_numbers(male: str, female: str, halves: str) -> str:
    """Two rows, numbered as the manual draws them, both seen on their mating faces."""
    pairs = find_pairs(8, 8, rows=2, mirrored=halves == "a plug and its socket")
    return ", ".join(sorted(f"{male.split()[here]}-{female.split()[there]}" for here, there in pairs))


def find_colour(role: str) -> str:
    (found,) = find_colours(read_plug(role).pins)
    return found


PUBLISHED = read_published(
    CALCULATOR,
    Path(__file__).with_name("published.toml"),
    ROOT / "build_scripts" / "pages" / "calculators" / "pin-order.md",
    {
        "Common order": find_order,
        "What the middle pin meets, turned round": find_turned_middle,
        "Numbers that meet": find_meeting_numbers,
        "Colour of a role's wire": find_colour,
    },
)


@pytest.mark.parametrize("case", PUBLISHED.cases, ids=str)
def test_published_case(case: Case) -> None:
    case.check()


def test_the_page_ends_with_the_published_cases(pytestconfig: pytest.Config) -> None:
    PUBLISHED.check_page(pytestconfig)
