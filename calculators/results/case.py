"""What is said of a solved case: rules whose texts name their figures by path and unit.

A template is plain text with places in curly brackets. From the solved case a place finds
    {judged.gauge.label}        words, or a whole number
    {judged.drop:V}             a figure in this SI unit, shown in one that suits its size and the reader
    {judged.gauge.area:m2,4}    the same with four significant figures
    {run.peak:A|I}              in a formula the letter, in the figures put into it the value
    {each.label}                something of the one item that a rule or a list with `each` stands for
    {each:ohm}                  that item itself
    {Each.label}                the same where a sentence begins: its first letter is a large one
    {names}                     several words, as a sentence lists them
    {advice}                    a wording that the rule brings along in `words`
Nothing is read that begins with an underscore, and only words and numbers are shown.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache, partial
from typing import Any, Literal

from calculators.notation.showing import Figure, Phrase, list_names
from calculators.results.result import FieldTexts, Finding, Level, Reading, Step

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
    """Words about the part of the case at `path`, or about “each” of a list; to them it is the case."""

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


@dataclass(frozen=True, slots=True)
class Remedy[S]:
    """Figures that may mend a finding: templates of what to put into the fields, by their names.

    A figure is written as what it is, to twelve digits in its SI unit. What is no plain figure, such as
    rows, a function of the case writes; None leaves the field as it is. Whether it mends is tried before it
    is offered: a remedy need only be a good proposal.
    """

    fields: Mapping[str, str | Callable[[S], str | None]]
    when: When[S] | None = None


@dataclass(frozen=True)
class AnswerRule[S](Rule[S]):
    """The answer in one imperative sentence with the figures that decide."""

    text: str


@dataclass(frozen=True)
class FindingRule[S](Rule[S]):
    """A finding: its `level`, its `code`, the template of its text, and what may mend it, the best first."""

    level: Level
    code: str
    text: str
    remedies: tuple[Remedy[S], ...] = ()


@dataclass(frozen=True)
class StepRule[S](Rule[S]):
    """A step of the working: the templates of its `label`, its `formula` and its `outcome`.

    The figures are put in the formula's places, from its first equals sign or limit to a comma outside
    brackets, behind which it says what its letters mean; or a template of their own says what they are.
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
        Finding(
            rule.level, rule.code, fill(rule.text, case, item, rule.words),
            partial(_list_remedies, rule, case, item) if rule.remedies else None,
        )
        for rule, case, item in _list_told(rules, solved)
    )  # fmt: skip


def find_answer[S](rules: Rules[AnswerRule[S]], solved: S) -> Phrase:
    """Return the answer of the first rule that applies; raises LookupError where none does."""
    for rule, case, item in _list_told(rules, solved):
        return fill(rule.text, case, item, rule.words)
    raise LookupError("no rule answers this case")


def has_stop[S](rules: Rules[FindingRule[S]], solved: S) -> bool:
    """Return whether a stop is among the findings of these rules."""
    return any(rule.level == "stop" for rule, _, _ in _list_told(rules, solved))


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
    found = [(place.name, _find_part(place, solved, item, words or {})) for place in places]
    return Phrase(text, tuple(found))


def _list_remedies[S](rule: FindingRule[S], case: S, item: object) -> Iterator[FieldTexts]:
    """Yield the remedies that apply and whose figures there are."""
    for remedy in rule.remedies:
        if remedy.when is None or remedy.when(case):
            try:
                texts = {
                    name: wanted(case) if callable(wanted) else _write_entry(wanted, case, item, rule.words)
                    for name, wanted in remedy.fields.items()
                }
                yield {name: text for name, text in texts.items() if text is not None}
            except _MissingError:
                continue


class _MissingError(LookupError):
    """A figure that this case does not have."""


def _write_entry[S](template: str, solved: S, item: object, words: Words[S]) -> str:
    """Return what to put into a field, with each figure to twelve digits in its SI unit."""
    text, places = _read_template(template)
    parts = []
    for place in places:
        if place.path not in words and _find_placed(place.path, solved, item) is None:
            raise _MissingError(place.path)
        found = _find_part(place, solved, item, words)
        shown = found.write_exactly() if isinstance(found, Figure) else found
        parts.append((place.name, shown))
    return Phrase(text, tuple(parts)).write()


@lru_cache(maxsize=256)
def write_formula(template: str) -> str:
    """Return a formula with the letters of its places."""
    return PLACE.sub(lambda place: place["letter"] or place["path"], template)


def find_value(record: object, path: str) -> object:
    """Return what a record holds at a path; None where it ends on the way.

    Raises LookupError for what is no path, AttributeError for one that there is not.
    """
    for name in _split_path(path):
        if record is None:
            return None
        record = getattr(record, name)
    return record


@lru_cache(maxsize=1024)
def _split_path(path: str) -> tuple[str, ...]:
    names = tuple(path.split("."))
    for name in names:
        if not re.fullmatch("[a-z][a-z0-9_]*", name):
            raise LookupError(f"“{path}”: no record holds “{name}”")
    return names


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
    return _find_items(rule.each, solved, None) if rule.each else (None,)


def _find_items(path: str, solved: object, item: object) -> tuple[object, ...]:
    items = _find_placed(path, solved, item)
    if not isinstance(items, tuple):
        raise LookupError(f"“{path}” holds no items")
    return items


def _find_placed(path: str, solved: object, item: object) -> object:
    if path == "each":
        return item
    if path.startswith("each."):
        return find_value(item, path.removeprefix("each."))
    return find_value(solved, path)


@dataclass(frozen=True, slots=True)
class _Place:
    """A place as read: the `name` of its part in the phrase, the `kind` of a figure, "" for words.

    `is_first` is true for one that begins a sentence.
    """

    name: str
    path: str
    kind: str
    figures: int
    is_first: bool


@lru_cache(maxsize=1024)
def _read_template(template: str) -> tuple[str, tuple[_Place, ...]]:
    places = []
    for number, found in enumerate(PLACE.finditer(template)):
        path, kind = read_path(found), PLACE_UNITS.get(found["unit"], "")
        is_first = path != found["path"]
        places.append(_Place(f"p{number}", path, kind, int(found["figures"] or 3), is_first))
    names = iter(places)
    return PLACE.sub(lambda _: "{" + next(names).name + "}", template), tuple(places)


def _find_part[S](place: _Place, solved: S, item: object, words: Words[S]) -> Figure | Phrase | str | int:
    value = _find_words(place, solved, item, words)
    return _begin_large(value) if place.is_first else value


def _find_words[S](place: _Place, solved: S, item: object, words: Words[S]) -> Figure | Phrase | str | int:
    if place.path in words:
        return _choose_words(words[place.path], solved, item, words)
    value = _find_placed(place.path, solved, item)
    if place.kind:
        if isinstance(value, float | int) and not isinstance(value, bool):
            return Figure(value, place.kind, place.figures)
    elif isinstance(value, str | int):
        return value
    elif isinstance(value, tuple) and value and all(isinstance(one, str) for one in value):
        return list_names(value)
    raise LookupError(f"what “{place.path}” names in a text is neither words nor a figure")


def _choose_words[S](
    chosen: tuple[Wording[S], ...] | Listed | Within[Any], solved: S, item: object, words: Words[S]
) -> Phrase:
    if isinstance(chosen, Within):
        return fill(chosen.text, _find_placed(chosen.path, solved, item), words=chosen.words)
    if isinstance(chosen, Listed):
        parts = [fill(chosen.text, solved, one, words) for one in _find_items(chosen.each, solved, item)]
        names = [f"p{number}" for number in range(len(parts))]
        places = ["{" + name + "}" for name in names]
        ends = filter(None, (chosen.between.join(places[:-1]), *places[-1:]))
        text = (chosen.last or chosen.between).join(ends)
        return Phrase(text, tuple(zip(names, parts, strict=True)))
    for wording in chosen:
        if wording.when is None or wording.when(solved):
            return fill(wording.text, solved, item, words)
    return Phrase("")


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


@lru_cache(maxsize=256)
def _put_in(formula: str) -> str:
    """Return the template of a formula's figures, with brackets round what is raised to a power."""
    right = re.split(" [=≤≥<>] ", formula, maxsplit=1)[-1]
    # A comma within brackets stands between two values, as in min(a, b).
    ends = (
        at.start()
        for at in re.finditer(", ", right)
        if right.count("(", 0, at.start()) == right.count(")", 0, at.start())
    )
    right = right[: next(ends, None)]
    return re.sub(r"(\{[^{}]*\})(?=[²³^])", r"(\1)", right)
