"""Puts a Content-Security-Policy into every page: exactly the handbook's own scripts, and its files.

Scripts are allowed by their hashes, inline ones and files alike: what lies among the articles is a file of
the site too, and never a script. A script that no template of the theme holds, or that is no script of the
handbook's, has come from somewhere else, and the site is not published. All pages get the same policy, with
the hashes of all of them, because pages are exchanged in place under the policy of the page opened first.
"""

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import lru_cache
from html import escape
from html.parser import HTMLParser
from pathlib import Path

from build_scripts.errors import BuildError
from build_scripts.release.own_scripts import hash_script
from build_scripts.release.pages import Pages

# What begins a script and does not end as one is found as well. Case is ignored only where letters are, so
# that the search leaps from one “<” to the next.
_SCRIPT = re.compile(r"<(?i:script)\b(?:(?P<attributes>[^>]*)>(?P<body>.*?)</(?i:script)>)?", re.DOTALL)
_STYLE = re.compile(r"<(?i:style)\b(?:[^>]*>(?P<body>.*?)</(?i:style)>)?", re.DOTALL)
# The icons that mkdocs.yml may choose, as the theme writes them into the head.
_ICONS = re.compile(r":root\{(?:--md-[\w-]+:url\('data:image/svg\+xml;charset=utf-8,[\w%./~-]*'\);)*\}")
# Tables say by a style how a column is aligned, which the policy does not allow, or by an attribute of old.
_ALIGNED = re.compile(r'(<t[dh]\b[^>]*?) style="text-align: ?(left|center|right);?"')
_TEMPLATES = ("*.html", "partials/**/*.html")
_FILLED_IN = re.compile(r"\{\{.*?\}\}", re.DOTALL)
# A template fills in addresses; what could end a string or a script is no part of one.
_ADDRESS = r"[\w.:/%~+-]*"
_SETTINGS = {"id": "__config", "type": "application/json"}
_ADDRESSES = ("src", "data-src", "data-theme", "data-rows", "data-engine")
_HARMLESS_ATTRIBUTE = re.compile(r"async|data-[a-z-]+")
# Browsers look for the encoding in the first kilobyte, so the policy goes behind it.
_HEAD = re.compile(r"<head>(?:\s*<meta charset=\"?utf-8\"?\s*/?>)?", re.IGNORECASE)
_SHOWN = 60

type InlineScripts = tuple[re.Pattern[str], ...]
"""The inline scripts of a theme, with room for the addresses that it fills in."""

type Rules = Sequence[Mapping[str, str]]
"""Policies that hold together; {inline}, {files} and {styles} stand for the hashes of what pages hold."""

_EVERYWHERE = {
    "default-src": "'none'",
    "style-src": "'self' {styles}",
    "img-src": "'self' data:",
    "font-src": "'self'",
    "manifest-src": "'self'",
    "base-uri": "'none'",
    "form-action": "'none'",
    # Texts become markup, scripts and their addresses by browser/guard.js alone.
    "require-trusted-types-for": "'script'",
    "trusted-types": "default",
}

FROM_HOST: Rules = (
    {
        **_EVERYWHERE,
        "script-src": "{inline} {files}",
        "connect-src": "'self'",
        "worker-src": "'self'",
        # A new release is helped to take over by a page that nobody sees (browser/offline.js).
        "frame-src": "'self'",
    },
)
"""The rules where a host serves the pages. Workers fetch the runtime, under a policy that the host sets."""

FROM_FOLDER: Rules = (
    {
        **_EVERYWHERE,
        # No file has a hash here: browser/held_scripts.js, which has one, runs those that the head names.
        # A worker made of a text keeps the policy of its page, and Python is WebAssembly.
        "script-src": "{inline} 'strict-dynamic' 'wasm-unsafe-eval'",
        "connect-src": "'none'",
        "worker-src": "blob:",
        "frame-src": "'none'",
    },
    # What such a script asks for in its turn has to be a file as well, and none of another host.
    {"script-src": "{inline} 'self' 'wasm-unsafe-eval'", "worker-src": "blob:"},
)
"""The rules where pages are opened without a server: nothing is fetched, and workers are made of texts."""


def read_inline_scripts(templates: Iterable[Path], *texts: str) -> InlineScripts:
    """Return the inline scripts that the templates in these folders hold, and those with these texts.

    Read from the templates and not from pages, because what an article says reaches every page.
    """
    read = (
        path.read_text("utf-8") for folder in templates for name in _TEMPLATES for path in folder.glob(name)
    )
    bodies = {found["body"] for text in read for found in _SCRIPT.finditer(text) if found["body"]}
    return tuple(
        re.compile(_ADDRESS.join(re.escape(part) for part in _FILLED_IN.split(body)))
        for body in sorted(bodies)
    ) + tuple(re.compile(re.escape(text)) for text in texts)


def add_content_policy(
    pages: Pages, known: InlineScripts, own: Mapping[str, str], rules: Rules = FROM_HOST
) -> None:
    """Write the policy into every page, and into what runs a file the file's hash, where the policy needs it.

    `own` has the hashes of the handbook's scripts by their names below the site.

    Raises BuildError that names the page for a script that is neither `known` nor `own`, for a style that is
    not the theme's, and for a page that has no head to put the policy in.
    """
    hashed = own if any("{files}" in values for policy in rules for values in policy.values()) else {}
    inline: set[str] = set()
    styles: set[str] = set()
    for name, text in pages.items():
        styles |= {hash_script(body.encode()) for body in _check_styles(name, text)}
        text, found = _check_scripts(name, text, known, own, hashed)
        inline |= found
        pages[name] = _ALIGNED.sub(r'\1 align="\2"', text)
    metas = "".join(
        f'<meta http-equiv="Content-Security-Policy" content="{escape(policy, quote=True)}">'
        for policy in make_policies(inline, hashed.values(), styles, rules)
    )
    for name, text in pages.items():
        head = _HEAD.search(text)
        if head is None:
            raise BuildError(f"{name}: this page has no <head>, so no policy can be put in")
        pages[name] = text[: head.end()] + metas + text[head.end() :]


def make_policies(
    inline: Collection[str] = (),
    files: Collection[str] = (),
    styles: Collection[str] = (),
    rules: Rules = FROM_HOST,
) -> list[str]:
    """Return the policies that allow inline scripts, files and inline styles with these hashes."""
    hashes = {"inline": inline, "files": files, "styles": styles}
    sources = {kind: " ".join(f"'{value}'" for value in sorted(values)) for kind, values in hashes.items()}
    return [
        "; ".join(" ".join(f"{name} {values.format(**sources)}".split()) for name, values in policy.items())
        for policy in rules
    ]


def _check_scripts(
    name: str, page: str, known: InlineScripts, own: Mapping[str, str], hashed: Mapping[str, str]
) -> tuple[str, set[str]]:
    """Return the page with the hashes of the files it runs, and the hashes of its inline scripts."""
    inline: set[str] = set()

    def check(found: re.Match[str]) -> str:
        attributes, body = _read_attributes(found["attributes"] or ""), found["body"] or ""
        if attributes == _SETTINGS:
            return found[0]
        addresses = {key: attributes[key] for key in _ADDRESSES if key in attributes} if attributes else {}
        files = {key: file for key, address in addresses.items() if (file := _find_file(address, own))}
        if files and not body and len(files) == len(addresses):
            told = "".join(
                f' {"integrity" if key == "src" else f"{key}-integrity"}="{hashed[file]}"'
                for key, file in files.items()
                if file in hashed
            )
            return f"<script{told}{found['attributes']}></script>"
        if attributes is None or addresses or not any(script.fullmatch(body) for script in known):
            raise BuildError(
                f"{name}: this page holds a script that is not the handbook's own: “{_show(found)}”; "
                "find where it came in, in an article or in mkdocs.yml, and remove it there"
            )
        inline.add(hash_script(body.encode()))
        return found[0]

    return _SCRIPT.sub(check, page), inline


def _check_styles(name: str, page: str) -> set[str]:
    styles = set()
    for found in _STYLE.finditer(page):
        if not _ICONS.fullmatch(found["body"] or ""):
            raise BuildError(
                f"{name}: this page holds a style that is not the handbook's own: “{_show(found)}”; "
                "find where it came in, in an article or in mkdocs.yml (“font:” has to be false), and remove "
                "it there"
            )
        styles.add(found["body"])
    return styles


def _show(found: re.Match[str]) -> str:
    return " ".join(found[0][:_SHOWN].split())


def _find_file(address: str, own: Mapping[str, str]) -> str | None:
    """Return the script of the handbook's that this address leads to, in whatever folder the site lies."""
    folder = r"(?!//)(?:[\w.%~+-]*/)*"
    return next((file for file in own if re.fullmatch(folder + re.escape(file), address)), None)


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
