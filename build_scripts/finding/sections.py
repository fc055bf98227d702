"""What can be found: the sections of every page, and the calculators in them."""

import re
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from html import unescape

from build_scripts.authoring.fence import PLACEHOLDER

CALCULATOR = "calculator"
FAULT = "fault"
"""The kinds of what is found that a reader is told of, besides sections of articles."""

BEHIND = frozenset({"contributing.md", "hosting.md", "index.md", "offline.md"})
"""Pages for those who keep the handbook, and the first one, which only leads to others: behind all that a
reader at the bench may mean."""

_FOR_CHECKERS = ("Published cases", "Sources")
"""Headings of what a calculator's page was compared with."""

FAULTS = "faults.md"
"""The page whose sections are named after what is seen, heard or smelt."""

LONGEST_TEXT = 1500
"""In signs: what makes a section findable stands at its beginning, and the index is fetched whole."""

_LONGEST_EXCERPT = 110
_HEADING = re.compile(r'<h[2-4] id="(?P<anchor>[^"]*)">(?P<words>.*?)</h[2-4]>', re.DOTALL)
_TITLE = re.compile(r"<h1\b.*?</h1>", re.DOTALL)
_LEFT_OUT = re.compile(r'<a class="headerlink".*?</a>|<pre\b.*?</pre>|<table\b.*?</table>', re.DOTALL)
_BREAK = re.compile(r"</?(?:blockquote|br|d[dlt]|div|h\d|li|ol|p|ul)\b[^>]*>")
_TAG = re.compile(r"<[^>]*>")


@dataclass(frozen=True)
class Section:
    """One place that can be found."""

    url: str
    """Below the site, with the anchor."""
    page: str
    """The title of its page."""
    heading: str
    """Empty for the beginning of a page."""
    text: str
    excerpt: str
    kind: str = ""
    behind: bool = False

    def describe(self) -> dict[str, object]:
        """Return it as JSON has it."""
        return asdict(self)


def list_sections(source: str, url: str, title: str, description: str, content: str) -> Iterator[Section]:
    """Yield the sections of one page: of its article's file, its address, and its HTML before blocks are in.

    The calculators that stand in it are sections as well, under their captions.
    """
    behind = source in BEHIND
    is_about_calculator = source.startswith("calculators/")
    content = _TITLE.sub("", content, count=1)
    anchor, heading, start = "", "", 0
    for found in [*_HEADING.finditer(content), None]:
        part = content[start : found.start() if found else None]
        text = _read_text(PLACEHOLDER.sub("", part))
        kind = CALCULATOR if is_about_calculator and not anchor else ""
        if source == FAULTS and anchor:
            kind = FAULT
        if not anchor:
            text = f"{description} {text}"
        place = f"{url}#{anchor}" if anchor else url
        excerpt = _cut(text, _LONGEST_EXCERPT)
        late = behind or (is_about_calculator and heading in _FOR_CHECKERS)
        yield Section(place, title, heading, _cut(text, LONGEST_TEXT), excerpt, kind, late)
        for block in PLACEHOLDER.finditer(part):
            caption = unescape(block["caption"])
            yield Section(f"{url}#{block['anchor']}", title, caption, "", "", CALCULATOR, behind)
        if found:
            anchor, heading = unescape(found["anchor"]), _read_text(found["words"])
            start = found.end()


def _read_text(html: str) -> str:
    return " ".join(unescape(_TAG.sub("", _BREAK.sub(" ", _LEFT_OUT.sub(" ", html)))).split())


def _cut(text: str, longest: int) -> str:
    text = " ".join(text.split())
    if len(text) <= longest:
        return text
    return f"{text[:longest].rpartition(' ')[0]} …"
