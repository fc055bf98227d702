"""Proves every finished page: it holds only what the theme, the calculators and articles may write.

A page is read as browsers read it and written out again from what came of that: there, whatever the page's
own text tried, each “<” begins an element. Every element has to be one that a template of the theme writes;
within the article one that authors may write; within a block one of the calculators' renderer. This does not
ask how something came in, so it also stops what nobody has thought of.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from html import unescape
from pathlib import Path, PurePosixPath

from selectolax.lexbor import LexborHTMLParser

from build_scripts.authoring.allowed_html import find_stranger
from build_scripts.authoring.files import list_homes
from build_scripts.errors import BuildError
from build_scripts.release.page_markup import Markup, read_renderer, read_theme, write_opening
from build_scripts.release.pages import Pages

_SETTINGS = "mkdocs.yml"
_SHOWN = 120
_TELLING = 4
# In what the parser has written, values hold neither quotation marks nor angle brackets.
_MARK = re.compile(r"<[^>]*>")
_ELEMENT = re.compile(r"<(?P<tag>[A-Za-z][A-Za-z0-9-]*)(?P<attributes>(?: [\w:-]+=\"[^\"<>]*\")*)>")
_ATTRIBUTE = re.compile(r" ([\w:-]+)=\"([^\"]*)\"")
_END = re.compile(r"</[A-Za-z][A-Za-z0-9-]*>")
_DOCTYPE = "<!DOCTYPE html>"
_BODY = re.compile(
    r"<(?:(?P<tag>script|style)(?P<attributes>\b[^>]*)>(?P<body>.*?)</(?P=tag)>|!--.*?-->)", re.DOTALL
)
_ARTICLE, _ARTICLE_END = '<article class="md-content__inner', "</article>"
_BLOCK, _BLOCK_END = '<section class="sl-block"', "</section>"
# Browsers with scripts take all of it for text. Case is ignored only where letters are, so that the search
# leaps from one “<” to the next.
_NOSCRIPT = re.compile(r"<(?i:noscript).*?</(?i:noscript)[^>]*>", re.DOTALL)
_NOSCRIPT_START = re.compile(r"<(?i:noscript)")
_VALUE = re.compile(r"=\"([^\"]+)\"")


@dataclass(frozen=True)
class AllowedMarkup:
    """What pages may hold, by where it stands in them."""

    theme: Markup
    beside: Markup
    """What the theme writes beside an article's text."""
    blocks: Markup


@dataclass(frozen=True)
class _Fault:
    written: str
    """What should not be there, as it would stand in a page."""
    within: bool
    """Whether it stands in the article."""


def read_allowed(templates: Sequence[Path]) -> AllowedMarkup:
    """Return what may stand in pages made with the theme in these folders."""
    return AllowedMarkup(*read_theme(templates), read_renderer())


def prove_pages(pages: Pages, allowed: AllowedMarkup, root: Path) -> None:
    """Make sure that the pages hold only what is allowed; `root` holds docs/ and mkdocs.yml.

    Raises BuildError that names each page, what it holds, and where in the sources that seems to come from.
    """
    proof = _Proof(allowed)
    faults = [(name, fault) for name, text in pages.items() for fault in proof.find_faults(text)]
    if faults:
        raise BuildError("\n".join(_describe(root, name, fault) for name, fault in faults))


class _Proof:
    def __init__(self, allowed: AllowedMarkup) -> None:
        self.allowed = allowed
        # Most elements stand in many pages.
        self.proven: dict[str, set[str]] = {"theme": {_DOCTYPE}, "article": set(), "block": set()}

    def find_faults(self, page: str) -> Iterator[_Fault]:
        """Yield what a page should not hold, once each."""
        found = dict.fromkeys(self._check(LexborHTMLParser(page).html or ""))
        if not _reads_alike(page):
            with_scripts = LexborHTMLParser(page, scripting=True).html or ""
            found |= dict.fromkeys(self._check(_NOSCRIPT.sub("<noscript></noscript>", with_scripts)))
        yield from found

    def _check(self, written: str) -> Iterator[_Fault]:
        bodies: list[re.Match[str]] = []

        def take_out(found: re.Match[str]) -> str:
            # A comment, once it is read as one, does nothing.
            if not found["tag"]:
                return ""
            bodies.append(found)
            return f"<{found['tag']}{found['attributes']}>"

        theme, articles = _cut(_BODY.sub(take_out, written), _ARTICLE, _ARTICLE_END)
        rest, blocks = _cut(articles, _BLOCK, _BLOCK_END)
        for body in bodies:
            if fault := self._find_wrong_body(body):
                yield _Fault(fault, within=False)
        for place, text in (("theme", theme), ("article", rest), ("block", blocks)):
            for mark in sorted(set(_MARK.findall(text)) - self.proven[place]):
                if fault := self._find_fault(mark, place):
                    yield _Fault(fault, within=place != "theme")
                else:
                    self.proven[place].add(mark)

    def _find_wrong_body(self, found: re.Match[str]) -> str:
        """Return a script or a style that no template holds, or ""."""
        attributes = dict(_ATTRIBUTE.findall(found["attributes"]))
        return "" if self.allowed.theme.is_known_body(found["tag"], attributes, found["body"]) else found[0]

    def _find_fault(self, mark: str, place: str) -> str:
        """Return what may not stand in this place, or ""."""
        element = _ELEMENT.fullmatch(mark)
        if element is None:
            return "" if _END.fullmatch(mark) else mark
        tag = element["tag"]
        read = {name.lower(): unescape(value) for name, value in _ATTRIBUTE.findall(element["attributes"])}
        # What stands in a template is in no page until a script copies it there, so it cannot be proven here.
        if tag == "template":
            return mark
        # The article's own tags are the theme's.
        if place == "theme" or tag == "article":
            return self.allowed.theme.find_fault(tag, read)
        if place == "block":
            return self.allowed.blocks.find_fault(tag, read)
        stranger = find_stranger(tag, read)
        if not stranger or not self.allowed.beside.find_fault(tag, read):
            return ""
        return write_opening(tag, read if stranger == tag else {stranger: read[stranger]})


def _cut(text: str, start: str, end: str) -> tuple[str, str]:
    """Return what is outside and what is inside of the parts between two marks, which are inside as well."""
    first, *parts = text.split(start)
    pairs = [part.partition(end) for part in parts]
    return first + "".join(pair[2] for pair in pairs), "".join(f"{start}{pair[0]}{end}" for pair in pairs)


def _reads_alike(page: str) -> bool:
    """Whether browsers read a page alike with scripts on and off, but for what is within <noscript>.

    So it is where all that stands there is plain markup that ends where the <noscript> does.
    """
    found = _NOSCRIPT.findall(page)
    return len(found) == len(_NOSCRIPT_START.findall(page)) and all(map(_is_plain, found))


@cache
def _is_plain(markup: str) -> bool:
    body = LexborHTMLParser(f"<body>{markup}").body
    return body is not None and body.inner_html == markup


def _describe(root: Path, page: str, fault: _Fault) -> str:
    written = " ".join(fault.written.split())
    shown = written if len(written) <= _SHOWN else f"{written[:_SHOWN]}…"
    said = (
        f"holds “{shown}”, which neither the theme nor a calculator writes and an article may not; remove it"
    )
    article = _find_article(root, page)
    files = [file for file in ((article, _SETTINGS) if fault.within else (_SETTINGS, article)) if file]
    # What is longest tells most; the shortest values stand everywhere.
    values = sorted(map(unescape, _VALUE.findall(fault.written)), key=len, reverse=True)
    for value in (written, *(value for value in values if len(value) >= _TELLING)):
        for file in files:
            if line := _find_line(root / file, value):
                return f"{file}:{line}: the page {page} {said}"
    return f"{page}: this page {said}; look for it in {' and '.join(files)}"


def _find_article(root: Path, page: str) -> str:
    """Return the name of the article that a page is made from, "" for a page without one."""
    path = PurePosixPath(page)
    folder = [path.parent.with_suffix(".md")] if path.parent.name else []
    names = (path.with_suffix(".md"), *folder, path.with_name("README.md"))
    homes = [home.relative_to(root).as_posix() for home in list_homes(root)]
    articles = (f"{home}/{name}" for home in homes for name in names)
    return next((article for article in articles if (root / article).is_file()), "")


def _find_line(file: Path, words: str) -> int:
    lines = file.read_text("utf-8-sig", "replace").split("\n")
    return next((number for number, line in enumerate(lines, 1) if words in line), 0)
