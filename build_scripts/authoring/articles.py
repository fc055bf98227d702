"""The check of all articles before anything is built: every problem with file and line, all at once."""

import re
from collections.abc import Collection, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path

from build_scripts.authoring.allowed_html import (
    AUTHOR_TAGS,
    GLOBAL_ATTRIBUTES,
    LINK_SCHEMES,
    find_reserved,
    find_scheme,
    is_own_address,
)
from build_scripts.authoring.fence import Embedding, Fence, FenceError, find_fences, read_fence

FILE_ENDINGS = (".md", ".png", ".jpg", ".jpeg", ".webp", ".avif", ".gif", ".pdf", ".toml", ".csv")
"""What may lie beside the articles: nothing that a browser would run or take for a page."""

_CODE_SPAN = re.compile(r"(?<![\\`])(`+)(?!`)(?:(?!\n[ \t>]*\n).)+?(?<!`)\1(?!`)", re.DOTALL)
_COMMENT = re.compile(r"<!--(?!-?>)(?:(?!--|\n[ \t>]*\n).)*-->", re.DOTALL)
_FENCE_WORDS = re.compile(r"\.?[\w.+#-]*\s*(\{[^{}]*\})?(\s*[A-Za-z]\w*=(\"[^\"]*\"|'[^']*'))*")
_QUOTED_FENCE = re.compile(r"^[ \t]*>[> \t]*(?:`{3,}|~{3,})\s*calculator\b", re.MULTILINE)
_ATTRIBUTE_LIST = re.compile(r"\{:?[ ]*(?P<body>(?:\"[^\"\n]*\"|'[^'\n]*'|[^{}\n])*)\}")
_ATTRIBUTE = re.compile(r"(?P<name>[\w:@-]+)\s*=")
_NAMED = re.compile(r"(?P<name>class|id)\s*=\s*(?P<value>\"[^\"]*\"|'[^']*'|[^\s}]+)", re.IGNORECASE)
_SHORT_ATTRIBUTE = re.compile(r"(?:^|(?<=\s))(?P<mark>[.#])(?P<name>[^\s.#=]+)")
_IMAGE = re.compile(r"!\[(?:[^\[\]]|\[[^\[\]]*\])*\]\(\s*<?(?P<address>[^\s)>]+)")
_LINK = re.compile(r"\]\(\s*<?(?P<address>[^\s)>]+)")
_DEFINITION = re.compile(r"^[ \t>]*\[(?P<name>[^\]^]+)\]:\s*<?(?P<address>[^\s>]+)", re.MULTILINE)
_BRACKETED_ADDRESS = re.compile(r"<(?:https?://|mailto:)[^\s<>\"']+>|<[\w.+-]+@[\w.-]+>")
_IMAGE_REFERENCE = re.compile(r"!\[(?P<text>[^\]]*)\](?:\s?\[(?P<name>[^\]]*)\])?")
_LIST_ATTRIBUTES = GLOBAL_ATTRIBUTES | {
    "width",
    "height",
    "loading",
    "target",
    "start",
    "hl_lines",
    "linenums",
}


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """Something an author has to mend, with where it stands."""

    file: str
    line: int
    text: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.text}"


def check_articles(folder: Path, root: Path, known: Collection[Embedding] = ()) -> list[Problem]:
    """Return the problems of all files below `folder`, with paths relative to `root`, in order.

    Embeddings that are `known` have been computed before and are not computed again.
    """
    problems: list[Problem] = []
    for path in sorted(folder.rglob("*")):
        if not path.is_file() or path.name.startswith("."):
            continue
        name = path.relative_to(root).as_posix()
        if path.suffix not in FILE_ENDINGS:
            allowed = ", ".join(FILE_ENDINGS)
            problems.append(
                Problem(name, 1, f"files of this kind may not lie among the articles; allowed: {allowed}")
            )
            continue
        if path.suffix != ".md":
            continue
        try:
            text = path.read_text("utf-8-sig")
        except UnicodeDecodeError as error:
            line = path.read_bytes()[: error.start].count(b"\n") + 1
            problems.append(Problem(name, line, "this is not UTF-8 text; save the file as UTF-8"))
            continue
        problems += [Problem(name, line, words) for line, words in check_article(text, known)]
    return sorted(problems)


def compute_articles(
    folder: Path, root: Path, known: Mapping[Embedding, str]
) -> tuple[list[Problem], dict[Embedding, str]]:
    """Return the problems of all files below `folder`, and where there are none every block's HTML.

    Blocks that are `known` are taken from there.
    """
    problems = check_articles(folder, root, known)
    if problems:
        return problems, {}
    return [], {key: known.get(key) or key.render() for key in find_embeddings(folder)}


def find_embeddings(folder: Path) -> list[Embedding]:
    """Return what the fences of all articles below `folder` embed, as far as they can be read."""
    embeddings: list[Embedding] = []
    for path in sorted(folder.rglob("*.md")):
        for fence in find_fences(path.read_text("utf-8-sig", "replace").split("\n")):
            if fence.is_calculator:
                # What is wrong with it is for the check to say, with its place.
                with suppress(FenceError):
                    embeddings.append(read_fence(fence, compute=False))
    return embeddings


def check_article(text: str, known: Collection[Embedding] = ()) -> list[tuple[int, str]]:
    """Return the problems of one article as (line from 1, sentence); `known` embeddings are not computed."""
    # Only these end a line for Markdown and for editors; str.splitlines knows more.
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    problems: list[tuple[int, str]] = []
    anchors: dict[str, int] = {}
    prose = list(lines)
    for fence in find_fences(lines):
        if not fence.is_calculator and (problem := _check_code_fence(fence, lines)):
            problems.append((fence.first + 1, problem))
            continue
        prose[fence.first : fence.last + 1] = [""] * (fence.last + 1 - fence.first)
        if not fence.is_calculator:
            prose[fence.first] = fence.info[fence.info.find("{") :] if "{" in fence.info else ""
            continue
        try:
            embedding = read_fence(fence, known=known)
        except FenceError as error:
            problems.append((error.line, error.problem))
            continue
        if embedding.anchor in anchors:
            problems.append(
                (
                    fence.first + 1,
                    f"the caption “{embedding.caption}” gives the same link as the block in line "
                    f"{anchors[embedding.anchor]}; give each block a caption of its own",
                )
            )
        anchors[embedding.anchor] = fence.first + 1
    blanked = _blank_code("\n".join(prose))
    problems += [
        (
            _count_line(blanked, quoted.start()),
            "a calculator fence cannot stand in a quotation; move it out of the “>” lines",
        )
        for quoted in _QUOTED_FENCE.finditer(blanked)
    ]
    return sorted(
        [*problems, *_check_html(blanked), *_check_addresses(blanked), *_check_attribute_lists(blanked)]
    )


def _check_code_fence(fence: Fence, lines: list[str]) -> str:
    # A fence that Markdown would read otherwise than this check would hide what stands in it.
    if not fence.closed:
        return "this fence is never closed; end it with the same marks on a line"
    if not _FENCE_WORDS.fullmatch(fence.info):
        return f"“{fence.info}” after the marks is not read; write one language name, or nothing"
    indent = _measure_indent(fence.indent)
    if any(line.strip() and _measure_indent(line) < indent for line in lines[fence.first : fence.last + 1]):
        return "lines of this fence stand further left than its first line; indent them alike"
    if _measure_indent(lines[fence.last]) != indent:
        last = fence.last + 1
        return f"the last line of this fence (line {last}) is indented otherwise than its first; mend it"
    return ""


def _measure_indent(line: str) -> int:
    line = line.expandtabs(4)
    return len(line) - len(line.lstrip())


def _blank_code(prose: str) -> str:
    # Same length and same lines, so that what follows still knows where it stands. Blank is only what is
    # code both within its line and within its paragraph: which of the two counts takes a whole parser to
    # know, and so does indented code, which is left in. Refusing a little too much is safe.
    if "`" not in prose:
        return prose
    by_paragraph = _CODE_SPAN.sub(_blank, prose)
    by_line = "\n".join(_CODE_SPAN.sub(_blank, line) for line in prose.split("\n"))
    return "".join(a if a == b else c for a, b, c in zip(by_paragraph, by_line, prose, strict=True))


def _blank(found: re.Match[str]) -> str:
    return re.sub(r"[^\n]", " ", found[0])


def _check_html(prose: str) -> list[tuple[int, str]]:
    reader = _TagReader()
    # Comments come to nothing, and Markdown's addresses in angle brackets are links, not tags.
    prose = _BRACKETED_ADDRESS.sub(_blank, _COMMENT.sub(_blank, prose))
    problems = [
        (
            _count_line(prose, found.start()),
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
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.problems: list[tuple[int, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        line = self.getpos()[0]
        own = AUTHOR_TAGS.get(tag)
        if own is None:
            allowed = ", ".join(sorted(AUTHOR_TAGS))
            self.problems.append(
                (line, f"the HTML tag <{tag}> is not allowed in an article; allowed: {allowed}")
            )
            return
        for name, value in attrs:
            if name not in own | GLOBAL_ATTRIBUTES:
                allowed = ", ".join(sorted(own | GLOBAL_ATTRIBUTES))
                self.problems.append((line, f"<{tag}> may not have “{name}”; allowed: {allowed}"))
            elif name == "src" and not is_own_address(value or ""):
                self.problems.append((line, _refuse_image(value or "")))
            elif name == "href" and (problem := _check_link(value or "")):
                self.problems.append((line, problem))
            elif reserved := find_reserved(name, value or ""):
                self.problems.append((line, _refuse_reserved(name, reserved)))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)

    def handle_pi(self, data: str) -> None:
        self.problems.append(
            (self.getpos()[0], "processing instructions (<? …) are not allowed in an article")
        )


def _check_addresses(prose: str) -> Iterable[tuple[int, str]]:
    definitions = {" ".join(match["name"].lower().split()): match for match in _DEFINITION.finditer(prose)}
    images = {match.start("address") for match in _IMAGE.finditer(prose)}
    for match in _LINK.finditer(prose):
        line, address = _count_line(prose, match.start("address")), match["address"]
        if match.start("address") in images:
            if not is_own_address(address):
                yield line, _refuse_image(address)
        elif problem := _check_link(address):
            yield line, problem
    for match in definitions.values():
        if problem := _check_link(match["address"]):
            yield _count_line(prose, match.start()), problem
    for match in _IMAGE_REFERENCE.finditer(prose):
        definition = definitions.get(" ".join((match["name"] or match["text"]).lower().split()))
        if definition is not None and not is_own_address(definition["address"]):
            yield _count_line(prose, match.start()), _refuse_image(definition["address"])


def _check_attribute_lists(prose: str) -> Iterable[tuple[int, str]]:
    for match in _ATTRIBUTE_LIST.finditer(prose):
        body = re.sub(r"\"[^\"]*\"|'[^']*'", "", match["body"])
        for attribute in _ATTRIBUTE.finditer(body):
            name = attribute["name"].lower()
            if name not in _LIST_ATTRIBUTES:
                allowed = ", ".join(sorted(_LIST_ATTRIBUTES))
                yield (
                    _count_line(prose, match.start()),
                    f"“{name}” may not be set in braces; allowed: {allowed}",
                )
        named = [(word["name"], word["value"].strip("\"'")) for word in _NAMED.finditer(match["body"])]
        short = [
            ("class" if word["mark"] == "." else "id", word["name"])
            for word in _SHORT_ATTRIBUTE.finditer(body)
        ]
        for name, value in (*named, *short):
            if reserved := find_reserved(name.lower(), value):
                yield _count_line(prose, match.start()), _refuse_reserved(name.lower(), reserved)


def _check_link(address: str) -> str:
    try:
        scheme = find_scheme(address)
    except ValueError:
        return f"“{address}” is not an address; mend or remove the link"
    if scheme in LINK_SCHEMES:
        return ""
    allowed = ", ".join(sorted(scheme for scheme in LINK_SCHEMES if scheme))
    return f"a link may not begin with “{scheme}:”; allowed: {allowed} and pages of the handbook"


def _refuse_image(address: str) -> str:
    return (
        f"the picture “{address}” comes from another place and would be missing offline; "
        "put the file beside the article and link to it there"
    )


def _refuse_reserved(attribute: str, name: str) -> str:
    return f"the {attribute} “{name}” belongs to the calculators or the theme; choose another name"


def _count_line(text: str, place: int) -> int:
    return text.count("\n", 0, place) + 1
