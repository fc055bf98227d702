"""What an article's HTML may hold: one allow list for the check of the source and for the built page."""

import re
from collections.abc import Mapping
from html import unescape
from urllib.parse import urlsplit

import nh3

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

LINK_SCHEMES = frozenset({"", "http", "https", "mailto", "tel"})

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
    "div": frozenset({"data-embedding"}),
    "img": frozenset({"src", "alt", "width", "height", "loading"}),
    "ol": frozenset({"start"}),
    "td": frozenset({"style", "colspan", "rowspan"}),
    "th": frozenset({"style", "colspan", "rowspan", "scope"}),
}


# The calculators' own classes drive the page's script, and the theme reads its settings from such ids.
_RESERVED = re.compile(r"sl-|__", re.IGNORECASE)


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


def find_reserved(attribute: str, value: str) -> str:
    """Return the first class or id in `value` that belongs to the calculators or the theme, or ""."""
    names = value.split() if attribute in ("class", "id") else []
    return next((name for name in names if _RESERVED.match(name)), "")


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
    # Images come from the handbook itself: nothing is ever fetched from another origin.
    if tag == "img" and attribute == "src" and not is_own_address(value):
        return None
    if find_reserved(attribute, value):
        return None
    return value


_MARKUP = re.compile("[<>&\\x00-\\x1f\\x7f-\\xa0]")
"""What cleaning may remove or write otherwise."""

_CLEANER = nh3.Cleaner(
    tags=set(_PAGE_TAGS),
    attributes={tag: set(own | GLOBAL_ATTRIBUTES) for tag, own in _PAGE_TAGS.items()},
    attribute_filter=_filter_attribute,
    filter_style_properties={"text-align"},
    url_schemes={scheme for scheme in LINK_SCHEMES if scheme},
    strip_comments=True,
)
