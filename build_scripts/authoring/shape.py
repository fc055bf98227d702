"""How large and how deep an article may be: what Markdown and the check read in time, and without giving up.

Both look through the rest of a paragraph for the end of whatever begins in it, once for each beginning, and
both go one step deeper with each thing that stands in another. Within these limits the time is in proportion
to the article's length. They are far above what anybody can read.
"""

import re
from collections.abc import Iterator

from build_scripts.authoring.prose import blank_comments, count_line

DEEPEST = 20
"""How deep brackets, emphasis, lists, quotations and notes may stand in one another."""

OPEN_TAGS = 20
"""How many times in an article a “<” may begin a tag and not end it: “a <b” is words."""

LONGEST_LINE = 10_000
"""In signs."""

LINES_TOGETHER = 400
"""How many lines may follow each other without an empty one."""

MOST_PARAGRAPHS = 2_000
"""Groups of lines with an empty one between them."""

_COLUMNS_OF_A_LEVEL = 4
_LEVEL = re.compile(r">|(?:[-*+:]|\d+[.)])(?=[ \t])")
_LEVELS = re.compile(rf"(?:[ \t]*(?:{_LEVEL.pattern}))*[ \t]*")
_MARK = re.compile(r"\\.|[\[\]()]|\*+|_+", re.DOTALL)
_PAIRS = {"[": ("[", 1), "]": ("[", -1), "(": ("(", 1), ")": ("(", -1)}
_OPEN_TAG = re.compile(r"<[A-Za-z!?/](?![^<>]*>)")
_FENCE = re.compile(r"[ \t>]*(?:`{3,}|~{3,})(?P<info>[^`]*)")
_FENCE_WORDS = re.compile(r"\s*\.?[\w.+#-]*\s*(\{[^{}]*\})?(\s*[A-Za-z]\w*=(\"[^\"]*\"|'[^']*'))*\s*")
_QUOTES_READ = 2
_CONTENTS = re.compile(r"[ \t]*\[TOC\][ \t]*")


def check_shape(lines: list[str], prose: str) -> list[tuple[int, str]]:
    """Return where an article goes beyond the limits, as (line from 1, sentence).

    `prose` is what `blank_code` has left of its `lines`.
    """
    prose = blank_comments(prose)
    return sorted({*_check_lines(lines), *_check_blocks(prose.split("\n")), *_check_tags(prose)})


def can_read_fence(info: str) -> bool:
    """Whether Markdown reads these words behind a fence's marks: a language, and settings."""
    return _FENCE_WORDS.fullmatch(info) is not None


def _check_lines(lines: list[str]) -> Iterator[tuple[int, str]]:
    for number, line in enumerate(lines, 1):
        if len(line) > LONGEST_LINE:
            yield number, f"this line has more than {LONGEST_LINE:,} signs; break it into several"
        fence = _FENCE.fullmatch(line)
        # It tries out every way of pairing quotation marks, where the words are not what it expects.
        if (
            fence
            and len(re.findall("[\"']", fence["info"])) > _QUOTES_READ
            and not can_read_fence(fence["info"])
        ):
            yield number, "what stands behind these marks is not read; write one language name, or nothing"


def _check_blocks(lines: list[str]) -> Iterator[tuple[int, str]]:
    paragraphs = contents = first = 0
    for number, line in enumerate([*lines, ""]):
        if line.strip(" \t>"):
            if problem := _check_levels(line):
                yield number + 1, problem
            contents += _CONTENTS.fullmatch(line) is not None
            if contents > 1:
                yield number + 1, "the table of contents, [TOC], stands here a second time; remove it"
                contents = 1
            continue
        if first < number:
            paragraphs += 1
            if number - first > LINES_TOGETHER:
                yield (
                    first + 1,
                    f"more than {LINES_TOGETHER} lines follow here without an empty one; put empty lines "
                    "between them (a long table is better a .csv file beside the article)",
                )
            if paragraphs == MOST_PARAGRAPHS + 1:
                yield (
                    first + 1,
                    f"this article has more than {MOST_PARAGRAPHS:,} paragraphs; make several of it",
                )
            yield from _check_marks(lines[first:number], first)
        first = number + 1


def _check_levels(line: str) -> str:
    begin = _LEVELS.match(line)
    before = begin[0].expandtabs(_COLUMNS_OF_A_LEVEL) if begin else ""
    marks = len(_LEVEL.findall(before))
    # The space behind a mark is no step to the right.
    if marks + max(0, before.count(" ") - marks) // _COLUMNS_OF_A_LEVEL > DEEPEST:
        return (
            f"lists, quotations or notes stand more than {DEEPEST} deep in one another here; say it with "
            "fewer, and put what is to stay as it is between fences (“```”)"
        )
    return ""


def _check_marks(block: list[str], first: int) -> Iterator[tuple[int, str]]:
    text = "\n".join(block)
    open_now = {"[": 0, "(": 0, "*": 0}
    for mark in _MARK.finditer(text):
        sign, step = _PAIRS.get(mark[0], ("*", _find_step(text, mark)))
        open_now[sign] = max(0, open_now[sign] + step)
        if open_now[sign] > DEEPEST:
            line = first + count_line(text, mark.start())
            what = "emphasis (“*” or “_”)" if sign == "*" else f"brackets (“{sign}”)"
            yield (
                line,
                f"{what} stand open here more than {DEEPEST} deep; close them, or write “\\{sign}” where one "
                "is only a sign",
            )
            return


def _find_step(text: str, mark: re.Match[str]) -> int:
    """Return by how much the marks of emphasis at this place go deeper (above 0) or come back."""
    before, after = text[mark.start() - 1 : mark.start()], text[mark.end() : mark.end() + 1]
    if mark[0].startswith("\\") or (not before.strip() and not after.strip()):
        return 0
    # Before a word, with none before it, they open; everywhere else they may close what is open.
    opens = after.strip() != "" and not before.isalnum() and (after.isalnum() or not before.strip())
    return len(mark[0]) if opens else -len(mark[0])


def _check_tags(prose: str) -> Iterator[tuple[int, str]]:
    for count, found in enumerate(_OPEN_TAG.finditer(prose), 1):
        if count > OPEN_TAGS:
            line = count_line(prose, found.start())
            yield (
                line,
                f"more than {OPEN_TAGS} times “<” begins a tag that no “>” ends; write “&lt;” for the sign",
            )
            return
