"""The check of an article's prose: raw HTML, links and pictures, attribute lists, each with its line."""

import re
from collections.abc import Iterable, Mapping
from html.parser import HTMLParser

from build_scripts.authoring.allowed_html import (
    AUTHOR_CLASSES,
    AUTHOR_TAGS,
    BESIDE,
    BOXES,
    GLOBAL_ATTRIBUTES,
    VOID_TAGS,
    check_link,
    check_picture,
    find_refused,
    is_own_address,
)

_CODE_SPAN = re.compile(r"(?<![\\`])(`+)(?!`)(?:(?!\n[ \t>]*\n).)+?(?<!`)\1(?!`)", re.DOTALL)
_COMMENT = re.compile(r"<!--(?!-?>)(?:(?!--|\n[ \t>]*\n).)*-->", re.DOTALL)
# With and without regard to quotation marks, which may hold a brace or be only signs.
_ATTRIBUTE_LISTS = (
    re.compile(r"\{:?[ ]*(?P<body>[^{}\n]*)\}"),
    re.compile(r"\{:?[ ]*(?P<body>(?>\"[^\"\n]*\"|'[^'\n]*'|[^{}\n\"'])*+)\}"),
)
# Markdown reads braces as attributes behind an element, on a line of their own, and at the end of a heading,
# a cell or a term; anywhere else they are words.
_BEHIND_ELEMENT = tuple(")]*_`>~")
_LINE_START = re.compile(r"[ \t>]*(?:(?:[-*+:]|\d+[.)])[ \t]+)*")
_PART_END = re.compile(r"[ \t#]*(?:\||$)")
_UNDER_HEADING_OR_TERM = re.compile(r"[ \t>]*(?:=+|-+)[ \t]*$|[ \t>]*:[ \t]")
_ATTRIBUTE = re.compile(r"(?P<name>[\w:@-]+)\s*=")
_NAMED = re.compile(r"(?P<name>class|id)\s*=\s*(?P<value>\"[^\"]*\"|'[^']*'|[^\s}]+)", re.IGNORECASE)
_SHORT_ATTRIBUTE = re.compile(r"(?:^|(?<=\s))(?P<mark>[.#])(?P<name>[^\s.#=]+)")
_IMAGE = re.compile(r"!(?:(?<!\\!)|(?<=\\\\!))\[(?:[^\[\]]|\[[^\[\]]*\])*\]\(\s*<?\s*(?P<address>[^\s)>]+)")
_LINK = re.compile(r"\]\(\s*<?\s*(?P<address>[^\s)>]+)")
_DEFINITION = re.compile(
    r"^[ \t>]*(?:(?:[-*+:]|\d+[.)])[ \t][ \t>]*)*\[(?P<name>[^\[\]]*)\]:\s*<?(?P<address>[^\s>]+)",
    re.MULTILINE,
)
_BRACKETED_ADDRESS = re.compile(r"<(?:https?://|mailto:)[^\s<>\"']+>|<[\w.+-]+@[\w.-]+>")
_IMAGE_REFERENCE = re.compile(r"!(?:(?<!\\!)|(?<=\\\\!))\[(?P<text>[^\]]*)\](?:\s?\[(?P<name>[^\]]*)\])?")
_BOX = re.compile(
    r"(?:[ \t>]|[-*+:][ \t]|\d+[.)][ \t])*(?:!!!|\?{3}\+?) *(?P<classes>[\w-]+(?: +[\w-]+)*)(?: +\".*\")? *"
)
_LIST_ATTRIBUTES = GLOBAL_ATTRIBUTES | {
    "width",
    "height",
    "loading",
    "target",
    "start",
    "hl_lines",
    "linenums",
}


def check_prose(prose: str, anchors: Mapping[str, int]) -> list[tuple[int, str]]:
    """Return the problems of what `blank_code` has left of an article as (line from 1, sentence).

    `anchors` are the ids of its blocks with their lines; nothing else may bear one of them.
    """
    return [
        *_check_html(prose, anchors),
        *_check_addresses(prose),
        *_check_boxes(prose),
        *_check_attribute_lists(prose, anchors),
    ]


def blank_code(prose: str) -> str:
    """Return `prose` with spaces for all that Markdown takes for code within a paragraph."""
    # Same length and same lines, so that what follows still knows where it stands. Blank is only what is
    # code both within its line and within its paragraph: which of the two counts takes a whole parser to
    # know, and so does indented code, which is left in. Refusing a little too much is safe.
    if "`" not in prose:
        return prose
    by_paragraph = _CODE_SPAN.sub(_blank_span, prose)
    by_line = "\n".join(_CODE_SPAN.sub(_blank_span, line) for line in prose.split("\n"))
    if by_line == by_paragraph:
        return by_line
    return "".join(a if a == b else c for a, b, c in zip(by_paragraph, by_line, prose, strict=True))


def blank_comments(prose: str) -> str:
    """Return `prose` with spaces for its comments."""
    return _COMMENT.sub(_blank, prose)


def _blank_span(found: re.Match[str]) -> str:
    # Its end stays: attributes may follow it.
    return f"{_blank(found)[:-1]}`"


def _blank(found: re.Match[str]) -> str:
    return re.sub(r"[^\n]", " ", found[0])


def _check_html(prose: str, anchors: Mapping[str, int]) -> list[tuple[int, str]]:
    reader = _TagReader(anchors)
    # Comments come to nothing, and Markdown's addresses in angle brackets are links, not tags.
    prose = _BRACKETED_ADDRESS.sub(_blank, blank_comments(prose))
    problems = [
        (
            count_line(prose, found.start()),
            "“<!” begins a comment that is not closed by “-->” in its paragraph, or something else "
            "that an article may not hold; close the comment or remove it",
        )
        for found in re.finditer("<!", prose)
    ]
    # What follows such a mark is still looked at.
    reader.feed(prose.replace("<!", "  "))
    reader.close()
    return problems + reader.problems


class _TagReader(HTMLParser):
    def __init__(self, anchors: Mapping[str, int]) -> None:
        super().__init__(convert_charrefs=True)
        self.anchors = anchors
        self.problems: list[tuple[int, str]] = []
        self.open: list[tuple[str, int]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        line = self.getpos()[0]
        own = AUTHOR_TAGS.get(tag)
        if own is None:
            self.problems.append((line, _refuse_tag(tag)))
            return
        if tag not in VOID_TAGS:
            self.open.append((tag, line))
        for name, value in attrs:
            if name not in own | GLOBAL_ATTRIBUTES:
                allowed = ", ".join(sorted(own | GLOBAL_ATTRIBUTES))
                self.problems.append((line, f"<{tag}> may not have “{name}”; allowed: {allowed}"))
                continue
            check = (
                _check_html_link(value or "")
                if name == "href"
                else _check_name(name, value or "", self.anchors)
            )
            if check:
                self.problems.append((line, check))

    def handle_endtag(self, tag: str) -> None:
        line = self.getpos()[0]
        if tag not in (name for name, _ in self.open):
            if tag in AUTHOR_TAGS:
                self.problems.append(
                    (line, f"</{tag}> closes nothing; remove it, or write <{tag}> before it")
                )
            return
        while self.open:
            name, opened = self.open.pop()
            if name == tag:
                return
            self.problems.append((opened, _refuse_unclosed(name)))

    def close(self) -> None:
        super().close()
        self.problems += [(line, _refuse_unclosed(tag)) for tag, line in self.open]

    def handle_pi(self, data: str) -> None:
        self.problems.append(
            (self.getpos()[0], "processing instructions (<? …) are not allowed in an article")
        )


def _check_addresses(prose: str) -> Iterable[tuple[int, str]]:
    definitions: dict[str, list[str]] = {}
    found: list[tuple[int, str]] = []
    for match in _DEFINITION.finditer(prose):
        definitions.setdefault(_read_name(match["name"]), []).append(match["address"])
        found.append((match.start("address"), _check_written_link(match["address"])))
    images = {match.start("address") for match in _IMAGE.finditer(prose)}
    for match in _LINK.finditer(prose):
        check = check_picture if match.start("address") in images else _check_written_link
        found.append((match.start("address"), check(match["address"])))
    for match in _IMAGE_REFERENCE.finditer(prose):
        for address in definitions.get(_read_name(match["name"] or match["text"]), []):
            found.append((match.start("text"), check_picture(address)))
    return [(count_line(prose, offset), problem) for offset, problem in found if problem]


def _check_written_link(address: str) -> str:
    # What stands between backticks is blank here but for the last of them.
    if "`" in address:
        return "a link's address stands between round brackets as it is, without backticks; remove them"
    return check_link(address)


def _read_name(name: str) -> str:
    return " ".join(name.lower().split())


def _check_boxes(prose: str) -> Iterable[tuple[int, str]]:
    for number, line in enumerate(prose.split("\n"), 1):
        found = _BOX.fullmatch(line)
        refused = (
            [name for name in found["classes"].lower().split() if name not in BOXES | BESIDE] if found else []
        )
        if refused:
            yield number, f"there is no box “{refused[0]}”; allowed: {', '.join(sorted(BOXES))}"


def _check_attribute_lists(prose: str, anchors: Mapping[str, int]) -> Iterable[tuple[int, str]]:
    if "{" not in prose:
        return
    lines = [*prose.split("\n"), ""]
    for number, line in enumerate(lines[:-1]):
        for match in (match for pattern in _ATTRIBUTE_LISTS for match in pattern.finditer(line)):
            if _is_attribute_list(line, match, lines[number + 1]):
                yield from ((number + 1, words) for words in _check_attribute_list(match["body"], anchors))


def _is_attribute_list(line: str, match: re.Match[str], next_line: str) -> bool:
    before = line[: match.start()]
    if before.endswith(_BEHIND_ELEMENT) or _LINE_START.fullmatch(before):
        return True
    if not _PART_END.match(line, match.end()):
        return False
    return "#" in before or "|" in line or _UNDER_HEADING_OR_TERM.match(next_line) is not None


def _check_attribute_list(body: str, anchors: Mapping[str, int]) -> Iterable[str]:
    unquoted = re.sub(r"\"[^\"]*\"|'[^']*'", "", body)
    for attribute in _ATTRIBUTE.finditer(unquoted):
        if attribute["name"].lower() not in _LIST_ATTRIBUTES:
            allowed = ", ".join(sorted(_LIST_ATTRIBUTES))
            yield f"“{attribute['name'].lower()}” may not be set in braces; allowed: {allowed}"
    named = [(word["name"].lower(), word["value"].strip("\"'")) for word in _NAMED.finditer(body)]
    short = [
        ("class" if word["mark"] == "." else "id", word["name"])
        for word in _SHORT_ATTRIBUTE.finditer(unquoted)
    ]
    for name, value in (*named, *short):
        if problem := _check_name(name, value, anchors):
            yield problem


def _check_name(attribute: str, value: str, anchors: Mapping[str, int]) -> str:
    if attribute == "id" and value in anchors:
        return f"the id “{value}” is that of the block in line {anchors[value]}; choose another name"
    if attribute == "id" and not value:
        return "an id needs a name; write one, or remove it"
    refused = find_refused(attribute, value)
    if not refused:
        return ""
    if attribute == "class":
        allowed = ", ".join(sorted(AUTHOR_CLASSES))
        return f"the class “{refused}” is not for articles; allowed: {allowed}"
    return (
        f"the id “{refused}” may be one that the calculators, the theme or a script looks for; write small "
        "letters, digits and hyphens, such as “tail-lift”, and neither “c-”, “md-”, “sl-” nor “_” in front"
    )


def _check_html_link(address: str) -> str:
    if is_own_address(address):
        return f"the link “{address}” stands in HTML, where nobody follows it; write it as [words]({address})"
    return check_link(address)


def _refuse_tag(tag: str) -> str:
    if tag == "img":
        return "a picture is not written as <img> but as ![what it shows](file.png)"
    allowed = ", ".join(sorted(AUTHOR_TAGS))
    return f"the HTML tag <{tag}> is not allowed in an article; allowed: {allowed}"


def _refuse_unclosed(tag: str) -> str:
    return (
        f"<{tag}> is never closed and would take in what follows; write </{tag}> where it ends, or put it "
        "between backticks to show it"
    )


def count_line(text: str, offset: int) -> int:
    """Return the line, from 1, in which an offset into a text stands."""
    return text.count("\n", 0, offset) + 1
