"""The browser's way in: one JSON question becomes one JSON answer.

The worker passes strings only, so that nothing of JavaScript is held by Python.
"""

import json
from collections.abc import Mapping

from calculators import find_calculator, list_calculators
from calculators.presentation.as_html import render_block, render_result
from calculators.presentation.as_json import render_json
from calculators.presentation.as_text import render_text
from calculators.vocabulary.declaration import Calculator
from calculators.vocabulary.errors import InputErrors
from calculators.vocabulary.units import System


def answer(question: str) -> str:
    """Answer one question in JSON.

    It is `{"calculator": slug, "fields": {name: text}, "units": system, "form": form}` with the system
    "metric" or "imperial" and the form "html", "text" or "json".
    Returns `{"ok": true, "result": …}` (a string for html and text, an object for json), or
    `{"ok": false, "errors": [{"field", "label", "given", "text"}]}` for figures the reader has to mend.
    Raises UnknownCalculatorError for a slug that does not exist.
    """
    asked = json.loads(question)
    calculator = find_calculator(asked["calculator"])
    fields: dict[str, str] = asked["fields"]
    try:
        result = _render(
            calculator, fields, "imperial" if asked.get("units") == "imperial" else "metric", asked["form"]
        )
    except InputErrors as refused:
        errors = [
            {"field": error.field, "label": error.label, "given": error.given, "text": error.problem}
            for error in refused.errors
        ]
        return json.dumps({"ok": False, "errors": errors})
    return json.dumps({"ok": True, "result": result}, allow_nan=False)


def warm() -> None:
    """Run every calculator once in every form, so that a frozen interpreter has all of it in memory."""
    for calculator in list_calculators():
        render_block(calculator, calculator.example, calculator.slug, calculator.title)
        for form in ("html", "text", "json"):
            for units in ("metric", "imperial"):
                answer(
                    json.dumps({"calculator": calculator.slug, "fields": {}, "units": units, "form": form})
                )
        answer(
            json.dumps({"calculator": calculator.slug, "fields": {"": ""}, "units": "metric", "form": "html"})
        )


def _render(calculator: Calculator, fields: Mapping[str, str], system: System, form: str) -> object:
    result = calculator.run(fields)
    if form == "json":
        return render_json(calculator, fields, result)
    if form == "text":
        return render_text(calculator, fields, result, system)
    return render_result(calculator, result, system)
