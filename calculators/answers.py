"""The browser's way in: one JSON question becomes one JSON answer.

The worker passes strings only, so that nothing of JavaScript is held by Python.
"""

import json
from functools import lru_cache

from calculators import find_calculator, list_calculators
from calculators.forms.calculator import Calculator
from calculators.notation.errors import InputErrors
from calculators.notation.units import System
from calculators.presentation.as_html import render_block, render_brief, render_parts
from calculators.presentation.as_json import render_json
from calculators.presentation.as_text import render_text
from calculators.results.result import Result


def answer(question: str) -> str:
    """Answer one question in JSON.

    It is `{"calculator": slug, "fields": {name: text}, "units": system, "form": form}` with the system
    "metric" or "imperial" and the form "html", "text" or "json". With html may come `"closed": [key]`: the
    folds whose bodies can wait until the reader pauses or opens them.
    Returns `{"ok": true, "result": …}` (an object for json; for html the fragments by name, null for those
    that stay as they are, and beside them `"brief"`, the two lines above the form; a string for text), or
    `{"ok": false, "errors": [{"field", "label", "given", "text", "cells"}]}` for figures the reader has to
    mend; `cells` of a table are pairs of the row's number and the column's name.
    Raises UnknownCalculatorError for a slug that does not exist.
    """
    asked = json.loads(question)
    calculator = find_calculator(asked["calculator"])
    fields: dict[str, str] = asked["fields"]
    system: System = "imperial" if asked.get("units") == "imperial" else "metric"
    reply: dict[str, object] = {"ok": True}
    try:
        result = _compute(calculator, tuple(fields.items()))
        match asked["form"]:
            case "json":
                reply["result"] = render_json(calculator, fields, result)
            case "text":
                reply["result"] = render_text(calculator, fields, result, system)
            case _:
                reply["result"] = render_parts(calculator, result, system, asked.get("closed"))
                reply["brief"] = render_brief(calculator, result, system)
    except InputErrors as refused:
        errors = [
            {
                "field": error.field,
                "label": error.label,
                "given": error.given,
                "text": error.problem,
                "cells": [(cell.row, cell.column) for cell in error.cells],
            }
            for error in refused.errors
        ]
        return json.dumps({"ok": False, "errors": errors})
    return json.dumps(reply, allow_nan=False)


def warm() -> None:
    """Run every calculator once in every form, so that all that they ever import is imported."""
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


# What was left out of a first answer is asked for next, and the same figures come back in other units.
@lru_cache(maxsize=8)
def _compute(calculator: Calculator, fields: tuple[tuple[str, str], ...]) -> Result:
    return calculator.run(dict(fields))
