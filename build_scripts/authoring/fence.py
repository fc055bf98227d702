"""The calculator fence: reads it from Markdown, checks it, and renders the block it stands for.

    ``` calculator
    speaker-load: Both flanks on one channel
    network = left:8 || right:8
    supply = 12.8 V        # measured after a show
    ```

The first line is `slug: caption`; then one `field = value` a line. A line that begins with `#`, or what
follows ` # ` in a line, is a comment. Fields that are not named take the calculator's default.
"""

import json
import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from html import escape, unescape

from calculators import find_calculator
from calculators.vocabulary.errors import InputErrors, UnknownCalculatorError

LANGUAGE = "calculator"
"""The word after the opening marks that makes a fence ours."""

_OPENING = re.compile(r"(?P<indent>[ \t]*)(?P<marks>`{3,}|~{3,})\s*(?P<info>[^`]*)")
_COMMENT = re.compile(r"(?:^|\s)#(?:\s.*)?$")
_ANCHOR_PREFIX = "c-"
_PLACEHOLDER = re.compile(r'<div class="sl-block" id="[^"]*" data-embedding="(?P<kept>[^"]*)">[^<]*</div>')


@dataclass(frozen=True, slots=True)
class Fence:
    """One fence as it stands in a text: `info` words, `first` and `last` line (from 0), indent and body."""

    info: str
    indent: str
    first: int
    last: int
    body: tuple[str, ...]
    closed: bool

    @property
    def is_calculator(self) -> bool:
        """True for a fence that embeds a calculator."""
        return self.info.split(None, 1)[:1] == [LANGUAGE]


@dataclass(frozen=True, slots=True)
class Embedding:
    """A calculator as an article embeds it: `fields` are (name, text) pairs, `anchor` the block's id."""

    slug: str
    caption: str
    fields: tuple[tuple[str, str], ...]

    @property
    def anchor(self) -> str:
        """The id of the block, made from the caption; the prefix keeps it apart from the headings' ids."""
        return _ANCHOR_PREFIX + re.sub(r"[^a-z0-9]+", "-", self.caption.lower()).strip("-")

    def render(self) -> str:
        """Return the block's HTML; raises InputErrors or UnknownCalculatorError."""
        return _render(self)

    def render_placeholder(self) -> str:
        """Return what stands for the block until `fill_placeholders` puts it in; it holds all it needs."""
        kept = json.dumps([self.slug, self.caption, self.fields])
        return (
            f'<div class="sl-block" id="{escape(self.anchor)}" data-embedding="{escape(kept)}">'
            f"{escape(self.caption)}</div>"
        )


class FenceError(ValueError):
    """A fence cannot be used; `line` counts from 1 in the article's text, `problem` is a sentence."""

    def __init__(self, line: int, problem: str) -> None:
        self.line = line
        self.problem = problem
        super().__init__(f"line {line}: {problem}")


def fill_placeholders(page: str, blocks: Mapping[Embedding, str]) -> str:
    """Return `page` with `blocks` in the place of what `render_placeholder` wrote.

    Markdown may read a fence with other white space than the file has; such a block is computed here.
    """

    def fill(found: re.Match[str]) -> str:
        embedding = _read_placeholder(unescape(found["kept"]))
        return blocks.get(embedding) or embedding.render()

    return _PLACEHOLDER.sub(fill, page)


def _read_placeholder(kept: str) -> Embedding:
    slug, caption, fields = json.loads(kept)
    return Embedding(slug, caption, tuple((name, text) for name, text in fields))


def find_fences(lines: Sequence[str]) -> Iterator[Fence]:
    """Yield every fence, ours or not, so that one shown inside a longer fence is left alone."""
    place = 0
    while place < len(lines):
        opening = _OPENING.fullmatch(lines[place].rstrip())
        if opening is None:
            place += 1
            continue
        marks, indent = opening["marks"], opening["indent"]
        closing = re.compile(rf"[ \t]*{re.escape(marks[0])}{{{len(marks)},}}\s*")
        last = next((n for n in range(place + 1, len(lines)) if closing.fullmatch(lines[n])), None)
        end = len(lines) - 1 if last is None else last
        body = tuple(lines[place + 1 : end if last is not None else end + 1])
        yield Fence(opening["info"].strip(), indent, place, end, body, last is not None)
        place = end + 1


def read_fence(fence: Fence, *, compute: bool = True, known: Collection[Embedding] = ()) -> Embedding:
    """Return what a fence embeds, checked against the calculator's declarations and computed once.

    Without `compute`, and for what is `known` to compute, only the form of the fence is checked. Raises
    FenceError for the first thing that an author has to mend.
    """
    first_line = fence.first + 1
    if not fence.closed:
        raise FenceError(
            first_line, "this calculator fence is never closed; end it with the same marks on a line"
        )
    if fence.info != LANGUAGE:
        raise FenceError(first_line, f"“{fence.info}” after the marks; write just “{LANGUAGE}” there")
    rows = [
        (first_line + 1 + place, words)
        for place, line in enumerate(fence.body)
        if (words := _COMMENT.sub("", line).strip())
    ]
    if not rows:
        raise FenceError(first_line, "this calculator fence is empty; begin it with a line “slug: caption”")
    head_line, head = rows[0]
    slug, colon, caption = (part.strip() for part in head.partition(":"))
    if not colon or not re.search(r"[A-Za-z0-9]", caption):
        raise FenceError(
            head_line, f"“{head}” is not “slug: caption”, such as “wire-gauge: Feed to the shell”"
        )
    lines: dict[str, int] = {}
    fields: list[tuple[str, str]] = []
    for line, words in rows[1:]:
        name, equals, text = (part.strip() for part in words.partition("="))
        if not equals or not name:
            raise FenceError(line, f"“{words}” is not “field = value”")
        if name in lines:
            raise FenceError(line, f"“{name}” is given twice, first in line {lines[name]}; keep one")
        lines[name] = line
        fields.append((name, text))
    embedding = Embedding(slug, caption, tuple(fields))
    if not compute or embedding in known:
        return embedding
    try:
        embedding.render()
    except UnknownCalculatorError as error:
        raise FenceError(head_line, str(error)) from None
    except InputErrors as refused:
        first = refused.errors[0]
        raise FenceError(lines.get(first.field, head_line), f"{first.field}: {first.problem}") from None
    return embedding


@lru_cache(maxsize=4096)
def _render(embedding: Embedding) -> str:
    # Kept, because every article is first checked and then written.
    # Imported here, because the process that writes the pages computes nothing.
    from calculators.presentation.as_html import render_block

    fields: Mapping[str, str] = dict(embedding.fields)
    return render_block(find_calculator(embedding.slug), fields, embedding.anchor, embedding.caption)
