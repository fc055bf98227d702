"""What is said of a solved case: rules whose texts name their figures by path and unit.

A template is plain text with places in curly brackets. From the solved case a place finds
    {judged.gauge.label}        words, or a whole number
    {judged.drop:V}             a figure in this SI unit, shown in one that suits its size and the reader
    {judged.gauge.area:m2,4}    the same with four significant figures
    {run.peak:A|I}              in a formula the letter, in the figures put into it the value
    {each.label}                something of the one item that a rule with `each` stands for
    {Each.label}                the same where a sentence begins: its first letter is a large one
    {advice}                    a wording that the rule brings along in `words`
Nothing is read that begins with an underscore, and only words and numbers are shown.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, is_dataclass
from functools import lru_cache
from typing import Any, Literal

from calculators.notation.showing import Figure, Phrase
from calculators.results.result import Finding, Level, Reading, Step

PLACE_UNITS: Mapping[str, str] = {
    "V": "voltage", "A": "current", "ohm": "resistance", "W": "power", "m": "length", "mm": "diameter",
    "m2": "area", "degC": "temperature", "K": "temperature difference", "s": "time", "Hz": "frequency",
    "%": "fraction", "C": "charge", "F": "capacitance", "H": "inductance", "dB": "level",
    "ohm/m": "resistance per length", "ohm/km": "resistance per kilometre", "W/m": "power per length",
    "percent": "percent", "B": "memory", "1": "number",
}  # fmt: skip
"""The kind of quantity that a place's unit stands for; values are in the SI unit of that kind."""

PLACE = re.compile(
    r"\{(?P<path>[A-Za-z][a-z0-9_]*(?:\.[a-z][a-z0-9_]*)*)"
    r"(?::(?P<unit>[^{}|,]+)(?:,(?P<figures>[1-7]))?)?(?:\|(?P<letter>[^{}]+))?\}"
)

type When[S] = Callable[[S], object]
"""Says of a solved case whether something applies: anything that is true or false in Python."""


@dataclass(frozen=True, slots=True)
class Wording[S]:
    """One of several ways to put something; without `when` it is the one for all other cases."""

    text: str
    when: When[S] | None = None


@dataclass(frozen=True, slots=True)
class Listed:
    """The same words for each of several items, one after the other; `each` is their path.

    `last` stands before the last of them, where that is not what stands between the others.
    """

    each: str
    text: str
    between: str = ", "
    last: str = ""


@dataclass(frozen=True, slots=True)
class Within[P]:
    """Words about the part of the case at `path`; for their own places and words it is the case."""

    path: str
    text: str
    words: "Words[P]"


type Words[S] = Mapping[str, tuple[Wording[S], ...] | Listed | Within[Any]]


@dataclass(frozen=True, kw_only=True)
class Rule[S]:
    """What findings, steps and readings have in common.

    It applies `when` that is true of the solved case, or always; with `each`, the path of several items,
    once for each of them.
    """

    when: When[S] | None = None
    each: str = ""
    words: Words[S] = field(default_factory=dict)


@dataclass(frozen=True)
class FindingRule[S](Rule[S]):
    """A finding: its `level`, its `code` and the template of its text."""

    level: Level
    code: str
    text: str


@dataclass(frozen=True)
class StepRule[S](Rule[S]):
    """A step of the working: the templates of its `label`, its `formula` and its `outcome`.

    The figures are put in the formula's places, after its first equals sign or limit; or a template of their
    own says what they are.
    """

    label: str
    formula: str
    outcome: str
    figures: str = ""


@dataclass(frozen=True, slots=True)
class About[R: Rule[Any]]:
    """Rules about the part of the case at `path`, their case; about each, if there are several."""

    path: str
    rules: "Rules[R]"


type Rules[R: Rule[Any]] = tuple[R | About[Any], ...]


@dataclass(frozen=True, slots=True)
class Span:
    """What a meter should show: the `expected` value, and `low` to `high`, which passes; in one SI unit."""

    expected: float
    low: float
    high: float


@dataclass(frozen=True)
class ReadingRule[S](Rule[S]):
    """A reading: the templates of its `label` and `probes`; `span` is the path of its Span, in `unit`."""

    label: str
    probes: str
    battery: Literal["off", "on"]
    span: str
    unit: str
    figures: int = 3


def find_findings[S](rules: Rules[FindingRule[S]], solved: S) -> tuple[Finding, ...]:
    """Return the findings of the rules that apply."""
    return tuple(
        Finding(rule.level, rule.code, fill(rule.text, case, item, rule.words))
        for rule, case, item in _list_told(rules, solved)
    )


def list_steps[S](rules: Rules[StepRule[S]], solved: S) -> tuple[Step, ...]:
    """Return the steps of the rules that apply."""
    return tuple(
        Step(
            fill(rule.label, case, item, rule.words).write(),
            write_formula(rule.formula),
            fill(rule.figures or _put_in(rule.formula), case, item, rule.words),
            _take_figure(fill(rule.outcome, case, item, rule.words)),
        )
        for rule, case, item in _list_told(rules, solved)
    )


def list_readings[S](rules: Rules[ReadingRule[S]], solved: S) -> tuple[Reading, ...]:
    """Return the readings of the rules that apply and whose span there is."""
    found = []
    for rule, case, item in _list_told(rules, solved):
        span = _find_placed(rule.span, case, item)
        if not isinstance(span, Span):
            continue
        shown = (
            Figure(value, PLACE_UNITS[rule.unit], rule.figures)
            for value in (span.expected, span.low, span.high)
        )
        label = fill(rule.label, case, item, rule.words).write()
        probes = fill(rule.probes, case, item, rule.words).write()
        found.append(Reading(label, probes, rule.battery, *shown))
    return tuple(found)


def fill[S](template: str, solved: S, item: object = None, words: Words[S] | None = None) -> Phrase:
    """Return the sentence with what its places name.

    Raises LookupError for a place that names neither words nor a figure.
    """
    text, places = _read_template(template)
    return Phrase(
        text, tuple([(place.name, _find_part(place, solved, item, words or {})) for place in places])
    )


def write_formula(template: str) -> str:
    """Return a formula with the letters of its places."""
    return PLACE.sub(lambda place: place["letter"] or place["path"], template)


def find_value(record: object, path: str) -> object:
    """Return what a record, one of the calculators' own, holds at a path; None where it ends on the way.

    Raises LookupError for a path that there is not.
    """
    for name in _split_path(path):
        if record is None:
            return None
        if not is_dataclass(record):
            raise LookupError(f"“{path}”: no record holds “{name}”")
        record = getattr(record, name)
    return record


@lru_cache(maxsize=1024)
def _split_path(path: str) -> tuple[str, ...]:
    if not re.fullmatch(r"[a-z][a-z0-9_]*(\.[a-z][a-z0-9_]*)*", path):
        raise LookupError(f"“{path}” is no path to what a record holds")
    return tuple(path.split("."))


def read_path(place: re.Match[str]) -> str:
    """Return the path of a place, also of one that begins a sentence."""
    return place["path"][0].lower() + place["path"][1:]


def _list_told[R: Rule[Any]](rules: Rules[R], case: object) -> Iterator[tuple[R, Any, object]]:
    """Yield each rule that applies, the case that it tells of, and the item."""
    for rule in rules:
        if isinstance(rule, About):
            found = find_value(case, rule.path)
            for part in found if isinstance(found, tuple) else (found,):
                yield from _list_told(rule.rules, part) if part is not None else ()
        else:
            yield from ((rule, case, item) for item in _list_items(rule, case))


def _list_items[S](rule: Rule[S], solved: S) -> tuple[object, ...]:
    if rule.when is not None and not rule.when(solved):
        return ()
    return _find_items(solved, rule.each) if rule.each else (None,)


def _find_items(solved: object, path: str) -> tuple[object, ...]:
    items = find_value(solved, path)
    if not isinstance(items, tuple):
        raise LookupError(f"“{path}” holds no items")
    return items


def _find_placed(path: str, solved: object, item: object) -> object:
    own = path.removeprefix("each.")
    return find_value(solved, path) if own == path else find_value(item, own)


@dataclass(frozen=True, slots=True)
class _Place:
    """A place of a template, by its `name` in the phrase; without a `kind` of quantity it holds words."""

    name: str
    written: str
    path: str
    begins: bool
    kind: str
    figures: int


@lru_cache(maxsize=1024)
def _read_template(template: str) -> tuple[str, tuple[_Place, ...]]:
    places = tuple(
        _Place(
            f"p{number}", place[0], path := read_path(place), path != place["path"],
            PLACE_UNITS[place["unit"]] if place["unit"] else "", int(place["figures"] or 3),
        )
        for number, place in enumerate(PLACE.finditer(template))
    )  # fmt: skip
    names = iter(places)
    return PLACE.sub(lambda _: "{" + next(names).name + "}", template), places


def _find_part[S](place: _Place, solved: S, item: object, words: Words[S]) -> Figure | Phrase | str | int:
    chosen = words.get(place.path)
    if chosen is not None:
        phrase = _choose_words(chosen, solved, item, words)
        return _begin_large(phrase) if place.begins else phrase
    value = _find_placed(place.path, solved, item)
    if place.kind:
        if isinstance(value, float | int) and not isinstance(value, bool):
            return Figure(value, place.kind, place.figures)
    elif isinstance(value, str | int):
        return _begin_large(value) if place.begins else value
    raise LookupError(f"{place.written} in a text holds neither words nor a figure")


def _choose_words[S](
    chosen: tuple[Wording[S], ...] | Listed | Within[Any], solved: S, item: object, words: Words[S]
) -> Phrase:
    if isinstance(chosen, tuple):
        for wording in chosen:
            if wording.when is None or wording.when(solved):
                return fill(wording.text, solved, item, words)
        return Phrase("")
    if isinstance(chosen, Within):
        return fill(chosen.text, find_value(solved, chosen.path), words=chosen.words)
    parts = [fill(chosen.text, solved, one, words) for one in _find_items(solved, chosen.each)]
    names = [f"p{number}" for number in range(len(parts))]
    places = ["{" + name + "}" for name in names]
    ends = filter(None, (chosen.between.join(places[:-1]), *places[-1:]))
    text = (chosen.last or chosen.between).join(ends)
    return Phrase(text, tuple(zip(names, parts, strict=True)))


def _begin_large(part: Figure | Phrase | str | int) -> Figure | Phrase | str | int:
    """Return words with their first letter large and all others left alone."""
    if isinstance(part, str):
        return part[:1].upper() + part[1:]
    if isinstance(part, Phrase):
        first = part.template.startswith("{p0}")
        parts = ((name, _begin_large(one) if first and name == "p0" else one) for name, one in part.parts)
        template = part.template if first else part.template[:1].upper() + part.template[1:]
        return Phrase(template, tuple(parts))
    return part


def _take_figure(phrase: Phrase) -> Figure | Phrase:
    """Return the figure that a phrase is nothing but, or the phrase."""
    if len(phrase.parts) == 1 and phrase.template == "{p0}":
        part = phrase.parts[0][1]
        if isinstance(part, Figure):
            return part
        if isinstance(part, Phrase):
            return _take_figure(part)
    return phrase


def _put_in(formula: str) -> str:
    """Return the template of a formula's figures, with brackets round what is raised to a power."""
    right = re.split(" [=≤≥<>] ", formula, maxsplit=1)[-1]
    return re.sub(r"(\{[^{}]*\})(?=[²³^])", r"(\1)", right)
