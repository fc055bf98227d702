"""Holds the places of templates against the types of a solved case: is there such a path, in that unit?"""

import inspect
import types
from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import Any, ClassVar, Literal, TypeAliasType, Union, get_args, get_origin, get_type_hints

from calculators.results.case import (
    PLACE,
    About,
    AnswerRule,
    FindingRule,
    Listed,
    ReadingRule,
    Span,
    StepRule,
    Within,
    Words,
    read_path,
)

type AnyRule = AnswerRule[Any] | FindingRule[Any] | StepRule[Any] | ReadingRule[Any]

UNITS = {
    "Volt": {"V"}, "Ampere": {"A"}, "Ohm": {"ohm"}, "Watt": {"W"}, "Metre": {"m", "mm"},
    "SquareMetre": {"m2"}, "Celsius": {"degC"}, "Kelvin": {"K"}, "Second": {"s"}, "Hertz": {"Hz"},
    "Share": {"%"}, "Percent": {"percent"}, "Coulomb": {"C"}, "Farad": {"F"}, "Henry": {"H"},
    "Decibel": {"dB"},
    "OhmPerMetre": {"ohm/m"}, "OhmPerKilometre": {"ohm/km"}, "WattPerMetre": {"W/m"},
}  # fmt: skip
"""Which units a template may show what is annotated so in; a bare number is a number."""


def find_wrong_places(rules: Iterable[AnyRule | About[Any]], case: type) -> list[str]:
    """Return what is wrong with the places of these rules, for a solved case of this type."""
    found = []
    for rule in rules:
        if not isinstance(rule, About):
            found += [f"{rule}: {words}" for words in _check_rule(rule, case)]
            continue
        try:
            found += find_wrong_places(rule.rules, find_part_type(case, rule.path))
        except LookupError as error:
            found.append(str(error))
    return found


def _check_rule(rule: AnyRule, case: type) -> Iterator[str]:
    item = None
    if rule.each:
        try:
            item = find_item_type(case, rule.each)
        except LookupError as error:
            yield str(error)
            return
    match rule:
        case AnswerRule():
            texts = [rule.text]
        case FindingRule():
            put_in = [text for remedy in rule.remedies for text in remedy.fields.values()]
            texts = [rule.text, *(text for text in put_in if isinstance(text, str))]
        case StepRule():
            texts = [rule.label, rule.formula, rule.figures, rule.outcome]
            if any(place["unit"] and not place["letter"] for place in PLACE.finditer(rule.formula)):
                yield f"a figure in the formula “{rule.formula}” has no letter"
        case ReadingRule():
            texts = [rule.label, rule.probes]
            yield from _check_span(rule, case, item)
    for text in texts:
        yield from check_text(text, case, item, rule.words)


def check_text(text: str, case: type, item: Any = None, words: Words[Any] | None = None) -> Iterator[str]:
    """Yield what is wrong with the places of one template."""
    if "{" in PLACE.sub("", text) or "}" in PLACE.sub("", text):
        yield f"“{text}” has a bracket that is no place"
    for place in PLACE.finditer(text):
        path, unit = read_path(place), place["unit"]
        if words and path in words:
            yield from _check_words(path, case, item, words)
            continue
        try:
            found = _find_placed_type(path, case, item)
        except LookupError as error:
            yield str(error)
            continue
        if not unit:
            if not all(_is_word(one) for one in found):
                yield f"{place[0]} is no word: {found}"
        elif not all(unit in _list_units(one) for one in found):
            yield f"{place[0]} is none in {unit}: {found}"


def find_type(record: type | None, path: str) -> list[Any]:
    """Return the types that may stand at a path, None left out; raises LookupError."""
    found: list[Any] = [record]
    for name in path.split("."):
        found = [kind for holder in found for kind in _find_attribute(holder, name, path)]
    return found


def find_item_type(record: type, path: str, item: Any = None) -> Any:
    """Return the type of the items of the tuple at a path; raises LookupError."""
    (found,) = _find_placed_type(path, record, item)
    if get_origin(found) is not tuple or get_args(found)[1:] != (...,):
        raise LookupError(f"“{path}” holds no items: {found}")
    return get_args(found)[0]


def find_part_type(record: type, path: str, item: Any = None) -> Any:
    """Return the type of the part at a path, of each one where there are several; raises LookupError."""
    (found,) = _find_placed_type(path, record, item)
    return find_item_type(record, path, item) if get_origin(found) is tuple else found


def _find_placed_type(path: str, case: type, item: Any) -> list[Any]:
    if path == "each":
        return [item]
    own = path.removeprefix("each.")
    return find_type(case, path) if own == path else find_type(item, own)


def _check_words(path: str, case: type, item: Any, words: Words[Any]) -> Iterator[str]:
    try:
        match words[path]:
            case Listed() as listed:
                one = find_item_type(case, listed.each, item)
                yield from check_text(listed.text, case, one, words)
            case Within() as within:
                part = find_part_type(case, within.path, item)
                yield from check_text(within.text, part, None, within.words)
            case wordings:
                for wording in wordings:
                    yield from check_text(wording.text, case, item, words)
                if any(wording.when is None for wording in wordings[:-1]):
                    yield "a wording stands behind the one for all other cases"
    except LookupError as error:
        yield str(error)


def _check_span(rule: ReadingRule[Any], case: type, item: Any) -> Iterator[str]:
    path = rule.span
    try:
        found = _find_placed_type(path, case, item)
    except LookupError as error:
        yield str(error)
        return
    if found != [Span]:
        yield f"“{path}” is no span: {found}"
    if rule.unit not in set().union(*UNITS.values()) | {"1"}:
        yield f"“{rule.unit}” is no unit"


def _find_attribute(holder: Any, name: str, path: str) -> list[Any]:
    while isinstance(holder, TypeAliasType):
        holder = holder.__value__
    hints = get_type_hints(holder) if inspect.isclass(holder) else {}
    declared = getattr(holder, name, None)
    if name in hints:
        kind = hints[name]
    elif isinstance(declared, property) and declared.fget:
        kind = get_type_hints(declared.fget)["return"]
    elif isinstance(declared, cached_property):
        kind = get_type_hints(declared.func)["return"]
    else:
        raise LookupError(f"“{path}”: {holder} has no “{name}”")
    if get_origin(kind) is ClassVar:
        (kind,) = get_args(kind)
    options = get_args(kind) if get_origin(kind) in (Union, types.UnionType) else (kind,)
    return [option for option in options if option is not type(None)]


def _is_word(kind: Any) -> bool:
    while isinstance(kind, TypeAliasType):
        kind = kind.__value__
    return kind in (str, int, tuple[str, ...]) or get_origin(kind) is Literal


def _list_units(kind: Any) -> set[str]:
    if isinstance(kind, TypeAliasType):
        return UNITS.get(kind.__name__, set())
    return {"1"} if kind in (float, int) else set()
