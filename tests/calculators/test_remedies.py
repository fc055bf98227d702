"""What a stop or a caution proposes mends it: put in, the finding is gone and no graver one has come."""

import json
import random
from collections import Counter
from functools import cache

import pytest

from build_scripts.fuzz.texts import draw_fields
from calculators import find_calculator, list_calculators
from calculators.answers import answer
from calculators.notation.errors import InputErrors
from calculators.results.result import LEVELS
from tests.calculators.builds import list_unmended

CASES = 500
"""Of each calculator."""

LEAST_MENDED = 0.9
"""Share of the findings of one code, found in generated cases, that comes with a remedy."""


def ask(slug: str, texts: dict[str, str]) -> list[dict[str, object]]:
    """The findings as the page and scripts get them."""
    asked = {"calculator": slug, "fields": texts, "units": "metric", "form": "json"}
    answered = json.loads(answer(json.dumps(asked)))
    assert answered["ok"], answered
    found: list[dict[str, object]] = answered["result"]["findings"]
    return found


@cache
def list_cases(slug: str) -> tuple[dict[str, str], ...]:
    """Generated figures that the calculator can use, and that are usual ones."""
    drawn, calculator = random.Random(20261128), find_calculator(slug)
    cases: list[dict[str, str]] = []
    while len(cases) < CASES:
        texts = draw_fields(calculator, drawn, hostility=0.0)
        try:
            result = calculator.run(texts)
        except InputErrors:
            continue
        # What nobody builds, nobody has to mend: all figures are in their usual ranges.
        if all(finding.code != "unusual-input" for finding in result.findings):
            cases.append(texts)
    return tuple(cases)


@pytest.mark.parametrize("slug", [one.slug for one in list_calculators()])
def test_what_is_proposed_mends(slug: str) -> None:
    unmended = list_unmended(slug)
    seen, mended = Counter[str](), Counter[str]()
    for texts in list_cases(slug):
        before = ask(slug, texts)
        for finding in before:
            code, level = str(finding["code"]), str(finding["level"])
            if level == "note":
                continue
            seen[code] += 1
            apply = finding.get("apply")
            if not isinstance(apply, dict):
                continue
            mended[code] += 1
            after = ask(slug, {**texts, **apply})
            graver = {str(one["code"]) for one in after if LEVELS.index(one["level"]) <= LEVELS.index(level)}
            assert code not in graver, (texts, apply)
            assert graver <= {str(one["code"]) for one in before}, (texts, apply)
    for code in seen:
        if code not in unmended:
            assert mended[code] >= LEAST_MENDED * seen[code], f"{code}: {mended[code]} of {seen[code]}"


@pytest.mark.parametrize("slug", [one.slug for one in list_calculators()])
def test_what_cannot_be_mended_says_why(slug: str) -> None:
    for code, why in list_unmended(slug).items():
        assert len(why.split()) > 3, code
