"""Calculators in pure Python: the same code answers at build time, in browser, terminal and tests.

`SLUGS` is the one list of them, in the order in which they are shown. Each is imported when it is first
asked for: a page that embeds one calculator does not wait for all the others.
"""

import difflib
from importlib import import_module
from typing import TYPE_CHECKING

from calculators.club import SLUGS as CLUB_SLUGS
from calculators.notation.errors import UnknownCalculatorError

if TYPE_CHECKING:
    from calculators.forms.calculator import Calculator

SLUGS = ("speaker-load", "wire-gauge", "led-current", "pin-order", *CLUB_SLUGS)


def find_calculator(slug: str) -> "Calculator":
    """Return the calculator of this slug; raises UnknownCalculatorError that lists those that exist."""
    if slug not in SLUGS:
        near = difflib.get_close_matches(slug, SLUGS, 1)
        hint = f"did you mean “{near[0]}”? " if near else ""
        raise UnknownCalculatorError(f"there is no calculator “{slug}”; {hint}allowed: {', '.join(SLUGS)}")
    calculator: Calculator
    if slug in CLUB_SLUGS:
        calculator = import_module(f"calculators.club.{slug.replace('-', '_')}.calculator").CALCULATOR
    else:
        calculator = import_module(f"calculators.{slug.replace('-', '_')}.calculator").CALCULATOR
    return calculator


def list_calculators() -> "tuple[Calculator, ...]":
    """Return all calculators, in the order of SLUGS."""
    return tuple(find_calculator(slug) for slug in SLUGS)
