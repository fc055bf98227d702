"""What an article's HTML may hold: one allow list for the check of the source and for the built page."""

import re
from collections.abc import Mapping
from html import unescape
from urllib.parse import urlsplit

import nh3
from pygments.token import STANDARD_TYPES

from build_scripts.authoring.fence import ANCHOR_PREFIX

AUTHOR_TAGS: Mapping[str, frozenset[str]] = {
    **{tag: frozenset() for tag in ("b", "br", "dd", "dl", "dt", "em", "figcaption", "figure", "hr", "i")},
    **{
        tag: frozenset() for tag in ("kbd", "mark", "p", "s", "small", "strong", "sub", "summary", "sup", "u")
    },
    "a": frozenset({"href"}),
    "abbr": frozenset({"title"}),
    "details": frozenset({"open"}),
}
"""Tags that authors may write, each with its own attributes; GLOBAL_ATTRIBUTES go on any of them.

No pictures: the generator resolves, and misses, only those that Markdown names.
"""

VOID_TAGS = frozenset({"br", "hr"})
"""Those among them that are never closed."""

GLOBAL_ATTRIBUTES = frozenset({"class", "id", "lang", "title"})

BOXES = frozenset({"abstract", "bug", "danger", "example", "failure", "info"}) | frozenset(
    {"note", "question", "quote", "success", "tip", "warning"}
)
"""Kinds of boxes, and of what is folded away, that the theme has a look for."""

BESIDE = frozenset({"end", "inline"})
"""What may stand behind the kind: the box goes beside the text."""

AUTHOR_CLASSES = BOXES | BESIDE | {"admonition", "cards", "grid", "md-button", "md-button--primary"}
"""Classes that authors may write; every other one is the theme's, the scripts', or means nothing."""

_PAGE_CLASSES = (
    AUTHOR_CLASSES
    | {"admonition-title", "code", "codehilite", "filename", "footnote", "footnote-backref", "footnote-ref"}
    | {"headerlink", "highlight", "highlighttable", "linenodiv", "linenos", "normal", "toc", "toctitle"}
    | set(STANDARD_TYPES.values()) - {""}
)
"""With those that Markdown gives to notes, headings and code."""

_LANGUAGE_CLASS = re.compile(r"language-[\w.+#-]+")

LINK_SCHEMES = frozenset({"", "http", "https", "mailto", "tel"})

_PLACE = "data-embedding"

_PAGE_TAGS: Mapping[str, frozenset[str]] = {
    **AUTHOR_TAGS,
    **{
        tag: frozenset()
        for tag in ("blockquote", "code", "del", "div", "h1", "h2", "h3", "h4", "h5", "h6", "ins")
    },
    **{
        tag: frozenset()
        for tag in ("li", "nav", "pre", "section", "span", "table", "tbody", "thead", "tr", "ul")
    },
    "a": frozenset({"href", "target"}),
    "div": frozenset({_PLACE}),
    "img": frozenset({"src", "alt", "width", "height", "loading"}),
    "ol": frozenset({"start"}),
    "td": frozenset({"align", "style", "colspan", "rowspan"}),
    "th": frozenset({"align", "style", "colspan", "rowspan", "scope"}),
}


# Words of any script in small letters, as headings make them; and what Markdown numbers. A script's own names
# have capitals, or begin otherwise.
_ID = re.compile(r"_\d+|-?[^\W_][\w.:-]*")
_FOOTNOTE = re.compile(r"fn(?:ref\d*)?:\S+")
# The calculators and the theme have ids that begin so.
_RESERVED = re.compile(rf"{ANCHOR_PREFIX}|sl-|md-")
# These are asked for by scripts of the theme though no browser has them.
_LOOKED_UP = frozenset({"define", "mermaid"})


def find_scheme(address: str) -> str:
    """Return the scheme of an address as a browser reads it, in small letters; "" for one without.

    Raises ValueError for what is no address at all.
    """
    return urlsplit(_read_as_browser(address)).scheme


def is_own_address(address: str) -> bool:
    """True for an address inside the handbook: no scheme and no host."""
    read = _read_as_browser(address)
    try:
        # Any number of slashes from two upwards begins a host.
        return not read.startswith("//") and not urlsplit(read).scheme
    except ValueError:
        return False


def check_link(address: str) -> str:
    """Return what is wrong with where a link leads, as a sentence, or ""."""
    try:
        scheme = find_scheme(address)
    except ValueError:
        return f"“{address}” is not an address; mend or remove the link"
    if scheme in LINK_SCHEMES:
        return ""
    allowed = ", ".join(sorted(scheme for scheme in LINK_SCHEMES if scheme))
    return f"a link may not begin with “{scheme}:”; allowed: {allowed} and pages of the handbook"


def check_picture(address: str) -> str:
    """Return what is wrong with where a picture comes from, as a sentence, or ""."""
    if is_own_address(address):
        return ""
    return (
        f"the picture “{address}” comes from another place and would be missing offline; "
        "put the file beside the article and link to it there"
    )


def is_author_id(name: str) -> bool:
    """True for an id that an article may take: no script and no template looks anything up by it."""
    if _FOOTNOTE.fullmatch(name):
        return True
    return name == name.lower() and bool(
        _ID.fullmatch(name) and not _RESERVED.match(name) and name not in _LOOKED_UP
    )


def make_heading_id(slug: str) -> str:
    """Return the id of a heading: the slug that Markdown has made of its words, or one like it."""
    if not slug or is_author_id(slug):
        return slug
    return "h-" + re.sub(r"[^\w-]+", "-", slug.lower()).strip("_-")


def find_refused(attribute: str, value: str) -> str:
    """Return the first class or the id in `value` that authors may not write, or ""."""
    if attribute == "id":
        return "" if is_author_id(value) else value
    names = value.split() if attribute == "class" else []
    return next((name for name in names if name not in AUTHOR_CLASSES), "")


def find_stranger(tag: str, attributes: Mapping[str, str]) -> str:
    """Return the name of what cleaning would not have left of an element, its tag or an attribute, or ""."""
    if tag not in _PAGE_TAGS:
        return tag
    for name, value in attributes.items():
        if name == "rel" and tag == "a" and value == _RELATION:
            continue
        allowed = name in _PAGE_TAGS[tag] or name in GLOBAL_ATTRIBUTES
        if not allowed or name == _PLACE or _filter_attribute(tag, name, value) != value:
            return name
    return ""


def _read_as_browser(address: str) -> str:
    # Browsers settle entities, skip white space and control characters, and take \\ for /.
    return re.sub(r"[\x00-\x20\x7f]", "", unescape(address)).replace("\\", "/")


def clean_page(html: str) -> str:
    """Return `html` with everything removed that the allow list does not name.

    The check of the source refuses such things with file and line; this is the second line of defence.
    """
    # Markdown asks for every heading by itself, and most are words only.
    return _CLEANER.clean(html) if _MARKUP.search(html) else html


def _filter_attribute(tag: str, attribute: str, value: str) -> str | None:
    if attribute == "class":
        kept = [name for name in value.split() if name in _PAGE_CLASSES or _LANGUAGE_CLASS.fullmatch(name)]
        return " ".join(kept) or None
    if attribute == "id":
        # The place of a block is taken by the block; that of one that cannot be used has no name.
        is_place = tag == "div" and (value.startswith(ANCHOR_PREFIX) or not value)
        return value if is_place or is_author_id(value) else None
    # Images come from the handbook itself: nothing is ever fetched from another origin.
    if tag == "img" and attribute == "src" and not is_own_address(value):
        return None
    if attribute == "style":
        return value if _STYLE.fullmatch(value) else None
    if attribute == "align":
        return value if value in _ALIGNMENTS else None
    if attribute == "href" and check_link(value):
        return None
    return value


_STYLE = re.compile(r"\s*text-align:\s*[a-z]+\s*;?\s*")
_ALIGNMENTS = ("left", "center", "right")
_RELATION = "noopener noreferrer"
_MARKUP = re.compile("[<>&\\x00-\\x1f\\x7f-\\xa0]")
"""What cleaning may remove or write otherwise."""

_CLEANER = nh3.Cleaner(
    tags=set(_PAGE_TAGS),
    attributes={tag: set(own | GLOBAL_ATTRIBUTES) for tag, own in _PAGE_TAGS.items()},
    attribute_filter=_filter_attribute,
    filter_style_properties={"text-align"},
    url_schemes={scheme for scheme in LINK_SCHEMES if scheme},
    strip_comments=True,
    link_rel=_RELATION,
)
