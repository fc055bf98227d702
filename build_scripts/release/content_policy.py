"""Puts a Content-Security-Policy into every page: the handbook's own scripts and files, nothing else.

The inline scripts that the theme writes are allowed by their hashes, and only those: a script that no
template of the theme holds has come from somewhere else, and the site is not published. All pages get the
same policy, with the hashes of all of them, because pages are exchanged in place under the policy of the page
opened first.
"""

import re
from base64 import b64encode
from collections.abc import Collection, Iterable, Iterator, Mapping
from functools import lru_cache
from hashlib import sha256
from html import escape
from html.parser import HTMLParser
from pathlib import Path

from build_scripts.errors import BuildError
from build_scripts.release.pages import Pages

# What begins a script and does not end as one is found as well. Case is ignored only where letters are, so
# that the search leaps from one “<” to the next.
_SCRIPT = re.compile(r"<(?i:script)\b(?:(?P<attributes>[^>]*)>(?P<body>.*?)</(?i:script)>)?", re.DOTALL)
_TEMPLATES = ("*.html", "partials/**/*.html")
_FILLED_IN = re.compile(r"\{\{.*?\}\}", re.DOTALL)
# A template fills in addresses; what could end a string or a script is no part of one.
_ADDRESS = r"[\w.:/%~+-]*"
_OWN_SCRIPT = re.compile(r"(?!//)[\w./%~+-]+\.js(?:\?[\w./%~+-]*)?")
_HARMLESS_ATTRIBUTE = re.compile(r"async|data-[a-z-]+")
# Browsers look for the encoding in the first kilobyte, so the policy goes behind it.
_HEAD = re.compile(r"<head>(?:\s*<meta charset=\"?utf-8\"?\s*/?>)?", re.IGNORECASE)
_SHOWN = 60

type InlineScripts = tuple[re.Pattern[str], ...]
"""The inline scripts of a theme, with room for the addresses that it fills in."""

FROM_HOST = {
    "script-src": "'self'",
    "connect-src": "'self'",
    "worker-src": "'self'",
    # A new release is helped to take over by a page that nobody sees (browser/offline.js).
    "frame-src": "'self'",
}
"""The rules where a host serves the pages. Workers fetch the runtime, under a policy that the host sets."""

FROM_FOLDER = {
    # A worker made of a text keeps the policy of its page, and Python is WebAssembly.
    "script-src": "'self' 'wasm-unsafe-eval'",
    "connect-src": "'none'",
    "worker-src": "blob:",
    "frame-src": "'none'",
}
"""The rules where pages are opened without a server: nothing is fetched, and workers are made of texts."""


def read_inline_scripts(templates: Iterable[Path]) -> InlineScripts:
    """Return the inline scripts that the templates in these folders hold.

    Read from the templates and not from pages, because what an article says reaches every page.
    """
    texts = (
        path.read_text("utf-8") for folder in templates for name in _TEMPLATES for path in folder.glob(name)
    )
    bodies = {found["body"] for text in texts for found in _SCRIPT.finditer(text) if found["body"]}
    return tuple(
        re.compile(_ADDRESS.join(re.escape(part) for part in _FILLED_IN.split(body)))
        for body in sorted(bodies)
    )


def add_content_policy(pages: Pages, known: InlineScripts, rules: Mapping[str, str] = FROM_HOST) -> None:
    """Write the policy into every page.

    Raises BuildError that names the page for a script that is neither `known` nor a file of the handbook, and
    for a page that has no head to put the policy in.
    """
    hashes = {value for name, text in pages.items() for value in _find_hashes(name, text, known)}
    policy = escape(make_policy(hashes, rules), quote=True)
    meta = f'<meta http-equiv="Content-Security-Policy" content="{policy}">'
    for name, text in pages.items():
        head = _HEAD.search(text)
        if head is None:
            raise BuildError(f"{name}: this page has no <head>, so no policy can be put in")
        pages[name] = text[: head.end()] + meta + text[head.end() :]


def make_policy(hashes: Collection[str], rules: Mapping[str, str] = FROM_HOST) -> str:
    """Return the policy that allows inline scripts with these hashes, by FROM_HOST or FROM_FOLDER."""
    allowed = " ".join(f"'sha256-{value}'" for value in sorted(hashes))
    return "; ".join(
        (
            "default-src 'none'",
            f"script-src {rules['script-src']} {allowed}".rstrip(),
            # The theme and tables align by style attributes; styles can fetch nothing under this policy.
            "style-src 'self' 'unsafe-inline'",
            "img-src 'self' data:",
            "font-src 'self'",
            f"connect-src {rules['connect-src']}",
            f"worker-src {rules['worker-src']}",
            f"frame-src {rules['frame-src']}",
            "manifest-src 'self'",
            "base-uri 'self'",
            "form-action 'none'",
        )
    )


def _find_hashes(name: str, page: str, known: InlineScripts) -> Iterator[str]:
    for found in _SCRIPT.finditer(page):
        attributes = _read_attributes(found["attributes"] or "")
        body = found["body"] or ""
        if _is_own(attributes, body):
            continue
        if attributes is None or not any(script.fullmatch(body) for script in known):
            shown = " ".join(found[0][:_SHOWN].split())
            raise BuildError(
                f"{name}: this page holds a script that is not the handbook's own: “{shown}”; "
                "find where it came in, in an article or in mkdocs.yml, and remove it there"
            )
        yield b64encode(sha256(body.encode()).digest()).decode()


def _is_own(attributes: Mapping[str, str] | None, body: str) -> bool:
    """Whether it is the theme's settings, or runs a file of the handbook, now or later."""
    if attributes == {"id": "__config", "type": "application/json"}:
        return True
    address = attributes and (attributes.get("src") or attributes.get("data-later"))
    return bool(address) and not body and _OWN_SCRIPT.fullmatch(address or "") is not None


@lru_cache
def _read_attributes(written: str) -> Mapping[str, str] | None:
    """Return the attributes of a script; None for some that a page of the handbook never holds."""
    reader = _OpeningReader()
    reader.feed(f"<script{written}>")
    if len(reader.found) != 1:
        return None
    attributes = {name: value or "" for name, value in reader.found[0]}
    unusual = {name for name in attributes if not _HARMLESS_ATTRIBUTE.fullmatch(name)} - {"src", "id", "type"}
    return None if unusual else attributes


class _OpeningReader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[list[tuple[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append(attrs)
