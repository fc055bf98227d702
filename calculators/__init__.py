"""Calculators in pure Python: the same code answers at build time, in the browser, the terminal and in tests.

`CALCULATORS` is the one list of them, in the order in which they are shown.
"""

import difflib

from calculators.led_current import CALCULATOR as LED_CURRENT
from calculators.pin_order import CALCULATOR as PIN_ORDER
from calculators.speaker_load import CALCULATOR as SPEAKER_LOAD
from calculators.vocabulary.declaration import Calculator
from calculators.vocabulary.errors import UnknownCalculatorError
from calculators.wire_gauge import CALCULATOR as WIRE_GAUGE

CALCULATORS: tuple[Calculator, ...] = (SPEAKER_LOAD, WIRE_GAUGE, LED_CURRENT, PIN_ORDER)


def find_calculator(slug: str) -> Calculator:
    """Return the calculator of this slug; raises UnknownCalculatorError that lists those that exist."""
    for calculator in CALCULATORS:
        if calculator.slug == slug:
            return calculator
    slugs = [calculator.slug for calculator in CALCULATORS]
    near = difflib.get_close_matches(slug, slugs, 1)
    hint = f"did you mean “{near[0]}”? " if near else ""
    raise UnknownCalculatorError(f"there is no calculator “{slug}”; {hint}allowed: {', '.join(slugs)}")
