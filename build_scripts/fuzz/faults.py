"""What must never be in an answer or a page: each check returns a sentence about the fault, or nothing."""

import json
import re
import time
import traceback
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from calculators import find_calculator
from calculators.answers import answer
from calculators.forms.calculator import ENDLESS

LONGEST = 1.0
"""Seconds of the processor's time that one answer may take."""

ROOT = Path(__file__).resolve().parents[2]
_EMPTY = re.compile(r"<((?:br|hr|input|img)\b[^>]*?)/?>")
_BARE = re.compile(
    r"(?<= )(hidden|open|readonly|disabled|selected|novalidate|data-search-exclude|data-shown|data-table)"
    r"(?=[ >])"
)
_TAGS = frozenset(
    [
        *(
            "a",
            "abbr",
            "b",
            "br",
            "button",
            "caption",
            "circle",
            "code",
            "dd",
            "details",
            "div",
            "dl",
            "dt",
            "em",
        ),
        *(
            "figcaption",
            "figure",
            "form",
            "g",
            "h2",
            "h3",
            "input",
            "label",
            "li",
            "noscript",
            "ol",
            "option",
        ),
        *("p", "path", "polyline", "rect", "section", "select", "small", "span", "strong", "sub", "summary"),
        *("sup", "svg", "table", "tbody", "td", "text", "textarea", "th", "thead", "tr", "ul"),
    ]
)
_NO_NUMBER = re.compile(r"(?<![\w“])[+-]?(?:nan|inf|infinity)(?![\w:”])", re.IGNORECASE)


def name_exception(error: BaseException) -> str:
    """Return what was raised and where, in the handbook's own code as far as it was there."""
    places = [frame for frame in traceback.extract_tb(error.__traceback__) if str(ROOT) in frame.filename]
    place = places[-1] if places else traceback.extract_tb(error.__traceback__)[-1]
    name = Path(place.filename).resolve()
    shown = name.relative_to(ROOT) if name.is_relative_to(ROOT) else name.name
    return f"{type(error).__name__} in {shown}, line {place.lineno}"


def check_time(work: Callable[[], str]) -> str:
    """Return the fault that `work` finds, or that it raised or took too long."""
    start = time.process_time()
    try:
        fault = work()
    except Exception as error:
        return name_exception(error)
    if not fault and time.process_time() - start > LONGEST:
        return f"it took more than {LONGEST:g} s"
    return fault


def check_refusal(field: str, label: str, words: str) -> str:
    """Return what is wrong with a refusal."""
    if not field or not label:
        return "a refusal names no field"
    if len(words) < 10 or "Traceback" in words:
        return "a refusal says nothing"
    return "limits and checks let through what cannot be computed" if words == ENDLESS else ""


def check_markup(html: str, typed: str = "") -> str:
    """Return what is wrong with a fragment of a page; `typed` is the text that came from outside."""
    # A browser skips what is no character, which here would end the reading.
    text = re.sub("[\ufffe\uffff]", "", _BARE.sub(r'\1=""', _EMPTY.sub(r"<\1/>", html)))
    try:
        whole = ElementTree.fromstring(f"<div>{text}</div>")
    except ElementTree.ParseError:
        return "the HTML is not well formed"
    for element in whole.iter():
        if element.tag not in _TAGS:
            return f"the HTML holds <{element.tag}>"
        for name in element.attrib:
            if name.startswith("on") or name == "style":
                return f"the HTML holds the attribute {name}"
    return check_words(" ".join(whole.itertext()), typed, "HTML")


def check_words(words: str, typed: str, form: str) -> str:
    """Return the fault where there is a number that is none, unless its word was `typed`."""
    found = _NO_NUMBER.search(words)
    return f"the {form} holds “{found[0]}”" if found and found[0].lower() not in typed.lower() else ""


def check_answers(slug: str, fields: Mapping[str, str], units: str) -> str:
    """Return what is wrong with the answers to the same question in all three forms."""
    told: dict[str, dict[str, Any]] = {}
    typed = " ".join(fields.values())
    for form in ("html", "text", "json"):
        question = json.dumps({"calculator": slug, "fields": dict(fields), "units": units, "form": form})
        start = time.process_time()
        told[form] = json.loads(answer(question), parse_constant=_refuse_constant)
        if time.process_time() - start > LONGEST:
            return f"the answer as {form} took more than {LONGEST:g} s"
    refusals = [reply.get("errors") for reply in told.values()]
    if refusals != [refusals[0]] * len(refusals):
        return "the forms do not agree on what is refused"
    if refusals[0] is not None:
        known = {*find_calculator(slug).fields, *fields}
        for error in refusals[0]:
            if fault := check_refusal(error["field"], error["label"], error["text"]):
                return fault
            if error["field"] not in known:
                return "a refusal names a field that is none"
        return "" if refusals[0] else "a refusal without a reason"
    html, text, data = (told[form]["result"] for form in ("html", "text", "json"))
    return (
        check_markup("".join(filter(None, html.values())) + told["html"]["brief"], typed)
        or check_words(text, typed, "text")
        or check_words(json.dumps(data["outputs"]), typed, "JSON")
        or _check_verdicts(html, told["html"]["brief"], text, data)
    )


def _check_verdicts(html: Mapping[str, str], brief: str, text: str, data: Mapping[str, Any]) -> str:
    levels = [finding["level"] for finding in data["findings"]]
    verdict = next((level for level in ("stop", "caution") if level in levels), "holds")
    shown = f'class="sl-verdict sl-{verdict}"' in html["verdict"] and f'class="sl-{verdict}"' in brief
    told = ("\nHolds: no stop and no caution.\n" in text) == (verdict == "holds")
    listed = all(
        len(re.findall(rf"^  \[{word}\] ", text, re.MULTILINE)) == levels.count(level)
        for level, word in (("stop", "STOP"), ("caution", "CAUTION"), ("note", "note"))
    )
    return "" if shown and told and listed else "the forms do not agree on the verdict"


def _refuse_constant(name: str) -> float:
    raise ValueError(f"{name} stands in the JSON")
