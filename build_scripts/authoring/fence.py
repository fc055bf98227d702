"""The calculator fence: reads it from Markdown, checks it, and renders the block it stands for.

    ``` calculator
    speaker-load: Both flanks on one channel
    network = left:8 || right:8
    supply = 12.8 V        # measured after a show
    ```

The first line is `slug: caption`; then one `field = value` a line. A line that begins with `#` is a comment,
and so is what follows a `#` between two spaces. Fields that are not named take the calculator's default.
Rows stand below the name of their field, one a line and further in:

    strings =
        left flank, 60, 2.1 A
        right flank, 60, 2.1 A
"""

import json
import re
import unicodedata
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from html import escape, unescape

from calculators import find_calculator
from calculators.notation.errors import InputError, InputErrors, UnknownCalculatorError

LANGUAGE = "calculator"
"""The word after the opening marks that makes a fence ours."""

ANCHOR_PREFIX = "c-"
"""Begins the ids of blocks and of their fields, and no other id in an article."""

_OPENING = re.compile(r"(?P<indent>[ \t]*)(?P<marks>`{3,}|~{3,})\s*(?P<info>[^`]*)")
_COMMENT = re.compile(r"^\s*#.*|\s#(?:\s.*)?$")
# In a row, what stands in quotation marks from the beginning of a cell is no comment.
_ROW_COMMENT = re.compile(r'(?P<kept>(?:^|[\t;,])\s*"(?:[^"]|"")*")|^\s*#.*|\s#(?:\s.*)?$')
_ALMOST_COMMENT = re.compile(r"\s#\S")
PLACEHOLDER = re.compile(
    r'<div class="sl-block" id="(?P<anchor>[^"]*)" data-embedding="(?P<kept>[^"]*)">(?P<caption>[^<]*)</div>'
)
"""What stands for a block until it is put in."""


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
        plain = unicodedata.normalize("NFKC", self.caption).lower()
        # Letters of every script with their marks, and digits.
        kept = "".join(sign if unicodedata.category(sign)[0] in "LMN" else " " for sign in plain)
        return ANCHOR_PREFIX + "-".join(kept.split())

    def render(self) -> str:
        """Return the block's HTML; raises InputErrors or UnknownCalculatorError."""
        return _render(self)

    def render_placeholder(self) -> str:
        """Return what stands for the block until `fill_placeholders` puts it in; it holds all it needs."""
        return _render_placeholder([self.slug, self.caption, self.fields], self.anchor, self.caption)


class FenceError(ValueError):
    """A fence cannot be used; `problems` are (line from 1 in the article's text, sentence) pairs."""

    def __init__(self, *problems: tuple[int, str]) -> None:
        self.problems = problems
        super().__init__("; ".join(f"line {line}: {problem}" for line, problem in problems))


class PlaceholderError(ValueError):
    """A page holds the place of a block that cannot be put in; the message says which and why."""


def render_problem(problem: str) -> str:
    """Return what stands in a page for a fence that could not be used: no page with it is ever published."""
    return _render_placeholder(problem, "", "")


def _render_placeholder(kept: object, anchor: str, words: str) -> str:
    return (
        f'<div class="sl-block" id="{escape(anchor)}" data-embedding="{escape(json.dumps(kept))}">'
        f"{escape(words)}</div>"
    )


def fill_placeholders(page: str, blocks: Mapping[Embedding, str]) -> str:
    """Return `page` with `blocks` in the place of what `render_placeholder` wrote.

    Markdown may read a fence with other white space than the file has; such a block is computed here.

    Raises PlaceholderError for what `render_problem` wrote, and for a block that cannot be computed.
    """

    def fill(found: re.Match[str]) -> str:
        embedding = _read_placeholder(unescape(found["kept"]))
        if embedding in blocks:
            return blocks[embedding]
        try:
            return embedding.render()
        except (UnknownCalculatorError, InputErrors) as error:
            raise PlaceholderError(f"“{embedding.caption}”: {error}") from None

    return PLACEHOLDER.sub(fill, page)


def _read_placeholder(kept: str) -> Embedding:
    read = json.loads(kept)
    if isinstance(read, str):
        raise PlaceholderError(read)
    slug, caption, fields = read
    return Embedding(slug, caption, tuple((name, text) for name, text in fields))


def find_fences(lines: Sequence[str]) -> Iterator[Fence]:
    """Yield every fence, ours or not, so that one shown inside a longer fence is left alone."""
    index = 0
    while index < len(lines):
        opening = _OPENING.fullmatch(lines[index].rstrip())
        if opening is None:
            index += 1
            continue
        marks, indent = opening["marks"], opening["indent"]
        closing = re.compile(rf"[ \t]*{re.escape(marks[0])}{{{len(marks)},}}\s*")
        last = next((n for n in range(index + 1, len(lines)) if closing.fullmatch(lines[n])), None)
        end = len(lines) - 1 if last is None else last
        body = tuple(lines[index + 1 : end if last is not None else end + 1])
        yield Fence(opening["info"].strip(), indent, index, end, body, last is not None)
        index = end + 1


def read_fence(fence: Fence, *, compute: bool = True, known: Collection[Embedding] = ()) -> Embedding:
    """Return what a fence embeds, checked against the calculator's declarations and computed once.

    Without `compute`, and for what is `known` to compute, only the form of the fence is checked. Raises
    FenceError with all that an author has to mend.
    """
    first_line = fence.first + 1
    if problem := _check_marks(fence):
        raise FenceError((first_line, problem))
    heads = (
        (first_line + 1 + index, _COMMENT.sub("", line).strip()) for index, line in enumerate(fence.body)
    )
    head_line, head = next((found for found in heads if found[1]), (0, ""))
    if not head:
        raise FenceError((first_line, "this calculator fence is empty; begin it with a line “slug: caption”"))
    slug, colon, caption = (part.strip() for part in head.partition(":"))
    if not colon or not slug or not caption:
        raise FenceError(
            (head_line, f"“{head}” is not “slug: caption”, such as “wire-gauge: Feed to the shell”")
        )
    given, problems = _read_fields(fence.body[head_line - first_line :], head_line + 1)
    fields = [(name, field.text) for name, field in given.items()]
    embedding = Embedding(slug, caption, tuple(fields))
    if embedding.anchor == ANCHOR_PREFIX:
        problems.append(
            (head_line, f"the caption “{caption}” makes the link and has no letter or digit; add a word")
        )
    if compute and embedding not in known:
        try:
            embedding.render()
        except UnknownCalculatorError as error:
            problems.append((head_line, str(error)))
        except InputErrors as refused:
            nowhere = _Field(head_line, 0, [])
            for refusal in refused.errors:
                problems += _place(slug, refusal, given.get(refusal.field, nowhere))
    if problems:
        raise FenceError(*sorted(problems))
    return embedding


@dataclass(slots=True)
class _Field:
    """A field of a fence: the line of its name, how far in that stands, and the lines of its text."""

    line: int
    indent: int
    rows: list[tuple[int, str]]

    @property
    def text(self) -> str:
        return "\n".join(words for _, words in self.rows)


def _read_fields(body: Sequence[str], first: int) -> tuple[dict[str, _Field], list[tuple[int, str]]]:
    """Return the fields by name, and what is wrong with their lines; `first` is the number of the first."""
    given: dict[str, _Field] = {}
    problems: list[tuple[int, str]] = []
    above: _Field | None = None
    """The field whose rows may follow."""
    for index, written in enumerate(body):
        line, indent = first + index, _measure_indent(written)
        if above and indent > above.indent:
            words = _ROW_COMMENT.sub(lambda found: found["kept"] or "", written).strip()
            if "\t" in words:
                problems.append((line, "a tab stands in this row; put commas or semicolons between cells"))
            if words:
                above.rows.append((line, words))
            continue
        words = _COMMENT.sub("", written).strip()
        if not words:
            continue
        name, equals, text = (part.strip() for part in words.partition("="))
        above = None
        if not equals or not name:
            problems.append((line, _refuse_row(words, body[:index])))
        elif name in given:
            problems.append((line, f"“{name}” is given twice, first in line {given[name].line}; keep one"))
        else:
            given[name] = _Field(line, indent, [(line, text)] if text else [])
            above = None if text else given[name]
    return given, problems


def _measure_indent(line: str) -> int:
    expanded = line.expandtabs(4)
    return len(expanded) - len(expanded.lstrip()) if expanded.strip() else 0


def _place(slug: str, error: InputError, field: _Field) -> Iterator[tuple[int, str]]:
    """Yield what is wrong with a field, and with each row of it, where it stands."""
    if not error.cells or not field.rows:
        yield field.line, _describe(error, field.text)
        return
    # Imported here, because the process that writes the pages computes nothing.
    from calculators.forms.rows import RowsInput

    item = find_calculator(slug).fields[error.field]
    if not isinstance(item, RowsInput):
        raise TypeError(f"{error.field} names cells and holds no rows")
    for row in sorted({cell.row for cell in error.cells}):
        line, words = field.rows[item.find_line(field.text, row)]
        cells = [cell for cell in error.cells if cell.row == row]
        yield line, _describe(item.refuse_cells(field.text, cells), words)


def _check_marks(fence: Fence) -> str:
    within = next(
        (
            number
            for number, line in enumerate(fence.body, fence.first + 2)
            if _OPENING.fullmatch(line.rstrip())
        ),
        0,
    )
    if within:
        return (
            f"this calculator fence is not closed before the one in line {within} begins; end it with the "
            "same marks on a line"
        )
    if not fence.closed:
        return "this calculator fence is never closed; end it with the same marks on a line"
    if fence.info != LANGUAGE:
        return f"“{fence.info}” after the marks; write just “{LANGUAGE}” there"
    return ""


def _refuse_row(words: str, above: Sequence[str]) -> str:
    # Behind an empty line it is more likely the article that goes on.
    unclosed = any(not line.strip() for line in above)
    hint = (
        "; if the fence should end before it, close it with the same marks on a line"
        if unclosed
        else "; rows stand further in, below a line of their own, “field =”"
        if words[:1].isalnum() and "," in words
        else ""
    )
    return f"“{words}” is not “field = value”{hint}"


def _describe(error: InputError, text: str) -> str:
    hint = " (a comment begins with “#” and a space)" if _ALMOST_COMMENT.search(text) else ""
    return f"{error.field}: {error.problem}{hint}"


@lru_cache(maxsize=4096)
def _render(embedding: Embedding) -> str:
    # Kept, because every article is first checked and then written.
    # Imported here, because the process that writes the pages computes nothing.
    from calculators.presentation.as_html import render_block

    fields: Mapping[str, str] = dict(embedding.fields)
    return render_block(find_calculator(embedding.slug), fields, embedding.anchor, embedding.caption)
