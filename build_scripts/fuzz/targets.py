"""The ways in that are tried: each draws an input and says what is wrong with what became of it.

An input is what it is `about` (a calculator's slug, a field, a kind of quantity) and `texts` by name, so that
one way of making it smaller serves all.
"""

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from random import Random
from urllib.parse import parse_qsl, urlsplit

from markdown import Markdown
from mkdocs.utils.yaml import yaml_load

from build_scripts.authoring.articles import check_article, split_lines
from build_scripts.authoring.fence import fill_placeholders, find_fences, read_fence
from build_scripts.fuzz.faults import ROOT, check_answers, check_markup, check_refusal, check_time
from build_scripts.fuzz.texts import NUMBERS, SIGNS, draw_fields, draw_hostile, draw_text
from calculators import find_calculator, list_calculators
from calculators.forms.rows import RowsInput
from calculators.notation.errors import InputError, NotationError
from calculators.notation.quantity import read_quantity
from calculators.notation.units import KINDS, list_units
from calculators.presentation.as_html import render_link

type Texts = Mapping[str, str]

_ANCHOR = "c-figures"


@dataclass(frozen=True, slots=True)
class Target:
    """One way in: `draw` makes an input, `find_fault` returns what is wrong with it, "" for nothing."""

    draw: Callable[[Random], tuple[str, dict[str, str]]]
    find_fault: Callable[[str, Texts], str]
    share: int
    """Of the time, next to the others' shares."""


def find_fault(target: str, about: str, texts: Texts) -> str:
    """Return what is wrong with one input, "" for nothing; the reported tests call it."""
    return check_time(lambda: TARGETS[target].find_fault(about, texts))


def _draw_notation(random: Random) -> tuple[str, dict[str, str]]:
    if random.random() < 0.3:
        kind = random.choice(tuple(KINDS))
        unit = random.choice((*list_units(kind), ""))
        number = random.choice(NUMBERS) if random.random() < 0.5 else repr(random.uniform(-1e4, 1e4))
        return kind, {"text": f"{random.choice(SIGNS)}{number} {unit}"}
    calculator = random.choice(list_calculators())
    item = random.choice(calculator.inputs)
    draw = draw_text if random.random() < 0.3 else draw_hostile
    return f"{calculator.slug}.{item.name}", {"text": draw(calculator, item, random)}


def _find_notation_fault(about: str, texts: Texts) -> str:
    if about in KINDS:
        units = list_units(about)
        try:
            value: object = read_quantity(texts["text"], about, units[0] if units else "")
        except NotationError as error:
            return check_refusal(about, about, str(error))
    else:
        slug, _, name = about.partition(".")
        item = find_calculator(slug).fields[name]
        try:
            value = item.read(texts["text"])
            if isinstance(item, RowsInput):
                cells = item.list_rows(texts["text"])
                return "" if item.list_rows(item.write_rows(cells)) == cells else "written rows are others"
        except InputError as error:
            return check_refusal(error.field if error.field == name else "", error.label, error.problem)
    return "what was read is not finite" if isinstance(value, float) and not math.isfinite(value) else ""


def _draw_answer(random: Random) -> tuple[str, dict[str, str]]:
    calculator = random.choice(list_calculators())
    return calculator.slug, draw_fields(calculator, random, random.choice((0, 0, 0.1)))


def _draw_refused(random: Random) -> tuple[str, dict[str, str]]:
    calculator = random.choice(list_calculators())
    fields = draw_fields(calculator, random, 0.5)
    if random.random() < 0.1:
        fields[random.choice(SIGNS) or "no such"] = random.choice(NUMBERS)
    return calculator.slug, fields


def _find_answer_fault(about: str, texts: Texts) -> str:
    return check_answers(about, texts, "imperial" if len("".join(texts.values())) % 2 else "metric")


def _draw_link(random: Random) -> tuple[str, dict[str, str]]:
    calculator = random.choice(list_calculators())
    query = urlsplit(render_link(_ANCHOR, _drop_surrogates(draw_fields(calculator, random, 0.3)))).query
    if query and random.random() < 0.3:
        index = random.randrange(len(query))
        query = (
            query[:index] + random.choice(("%", "%00", "%ff", "%C3", "&", "=", "+", "#", ";")) + query[index:]
        )
    return calculator.slug, {"query": query}


def _find_link_fault(about: str, texts: Texts) -> str:
    calculator = find_calculator(about)
    # As the page reads its own address: names of other blocks and of no field are passed over.
    pairs = parse_qsl(texts["query"], keep_blank_values=True, errors="replace")
    named = {name.removeprefix(f"{_ANCHOR}."): text for name, text in pairs if name.startswith(f"{_ANCHOR}.")}
    fields = {name: text for name, text in named.items() if name in calculator.fields}
    again = urlsplit(render_link(_ANCHOR, fields)).query
    kept = dict(parse_qsl(again, keep_blank_values=True))
    if kept != {f"{_ANCHOR}.{name}": text for name, text in fields.items()}:
        return "a shared link does not bring the same figures"
    return check_answers(about, fields, "metric")


def _draw_fence(random: Random) -> tuple[str, dict[str, str]]:
    calculator = random.choice(list_calculators())
    fields = _drop_surrogates(draw_fields(calculator, random, random.choice((0, 0.3))))
    lines = [f"{calculator.slug}: Figures {random.choice(SIGNS)}".encode(errors="replace").decode()]
    for name, text in fields.items():
        rows = text.split("\n") if isinstance(calculator.fields[name], RowsInput) else ()
        lines += [f"{name} =", *(f"  {row}" for row in rows)] if rows else [f"{name} = {text}"]
    if random.random() < 0.4:
        index = random.randrange(len(lines))
        spoilt = random.choice(
            (" # ", "#", " = ", "=", ":", "\t", "```", "~~~~", "\n", "\n\n", " #x", "> ", "- ")
        )
        lines[index] = random.choice((spoilt + lines[index], lines[index] + spoilt, lines[index] * 2))
    marks = random.choice(("```", "```", "~~~", "````"))
    return "", {
        "text": "\n".join([f"{marks} calculator", *lines, random.choice((marks, marks, marks[:2], ""))])
    }


def _find_fence_fault(_about: str, texts: Texts) -> str:
    if problems := check_article(texts["text"]):
        return _check_problems(problems, texts["text"])
    for fence in find_fences(split_lines(texts["text"])):
        if not fence.is_calculator:
            continue
        embedding = read_fence(fence)
        block = embedding.render()
        if fill_placeholders(embedding.render_placeholder(), {embedding: block}) != block:
            return "a block does not come into its place"
        if fault := check_markup(block, texts["text"]):
            return fault
    return ""


_MARKDOWN = (
    *(
        "# Figures\n\n",
        "\n\n",
        "\n",
        "- ",
        "1. ",
        "> ",
        "    ",
        "| a | b |\n|---|---|\n| 1 | 2 |\n",
        "[^1]",
        "[^1]: ",
    ),
    *(
        "**",
        "*",
        "__",
        "`",
        "``",
        "```\n",
        "~~~\n",
        "[",
        "](",
        ")",
        "![",
        "](x.png)",
        "<",
        ">",
        "[a]: ",
        "{#x .y}",
    ),
    *(
        "<details>",
        "</details>",
        "<b onclick=x>",
        "<a href='",
        "<svg><",
        "<p\n",
        "<!-- ",
        "--",
        "-->",
        "<![CDATA[",
    ),
    *(
        "<iframe srcdoc=",
        "<style>",
        "<math>",
        "&lt;",
        "&#0;",
        "&#x202e;",
        "&unknown;",
        "---\n",
        "---\ntitle: a\n",
    ),
    *(
        "!!! note\n    ",
        '=== "tab"\n    ',
        "words ",
        "http://a.b/",
        "a.md#b",
        "javascript:x",
        "data:text/html,x",
    ),
)


def _draw_article(random: Random) -> tuple[str, dict[str, str]]:
    pieces = [
        random.choice(random.choice((_MARKDOWN, _MARKDOWN, SIGNS))) * random.choice((1, 1, 1, 5))
        for _ in range(random.randint(1, 25))
    ]
    if random.random() < 0.2:
        pieces.insert(random.randrange(len(pieces)), "\n\n" + _draw_fence(random)[1]["text"] + "\n\n")
    return "", _drop_surrogates({"text": "".join(pieces)})


def _find_article_fault(_about: str, texts: Texts) -> str:
    if problems := check_article(texts["text"]):
        return _check_problems(problems, texts["text"])
    make_reader().reset().convert(texts["text"])
    return ""


def _check_problems(problems: Iterable[tuple[int, str]], text: str) -> str:
    lines = text.count("\n") + text.count("\r") + 1
    for line, words in problems:
        if not 1 <= line <= lines:
            return "a problem names a line that is not there"
        if fault := check_refusal("line", "line", words):
            return fault
    return ""


@cache
def make_reader() -> Markdown:
    """Return Markdown with the handbook's own extensions."""
    rows = yaml_load((ROOT / "mkdocs.yml").read_text("utf-8"))["markdown_extensions"]
    settings = {name: options for row in rows if isinstance(row, dict) for name, options in row.items()}
    return Markdown(
        extensions=[row if isinstance(row, str) else next(iter(row)) for row in rows],
        extension_configs=settings,
    )


def _drop_surrogates(texts: Texts) -> dict[str, str]:
    """Return the texts as a file or an address can hold them."""
    return {name: text.encode(errors="replace").decode() for name, text in texts.items()}


TARGETS: Mapping[str, Target] = {
    "notation": Target(_draw_notation, _find_notation_fault, 1),
    "refusal": Target(_draw_refused, _find_answer_fault, 2),
    "answer": Target(_draw_answer, _find_answer_fault, 6),
    "link": Target(_draw_link, _find_link_fault, 1),
    "fence": Target(_draw_fence, _find_fence_fault, 1),
    "article": Target(_draw_article, _find_article_fault, 1),
}
