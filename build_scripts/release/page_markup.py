"""What may stand in a page: read from the theme's templates and from the calculators' renderer.

Both are texts with HTML in them and gaps that are filled in later. Each element that one of them writes
becomes a pattern: its tag, its attributes, and their values or that these are filled in. So another theme,
another override and another part of the renderer bring their own patterns along.
"""

import ast
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from html import escape
from html.parser import HTMLParser
from pathlib import Path

import calculators
from build_scripts.authoring.allowed_html import LINK_SCHEMES, find_scheme, is_own_address
from build_scripts.authoring.fence import ANCHOR_PREFIX
from build_scripts.release.own_scripts import INLINE, read_inline

GAP = "\ue000"
"""Stands where something is filled in; a sign that no template has."""

_ROOTS = ("main.html", "404.html")
_RENDERER = ("presentation/as_html.py", "results/drawing.py")
_FILLED_IN = re.compile(r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}", re.DOTALL)
_QUOTED = re.compile(r"\"([^\"]*)\"|'([^']*)'")
_FOLLOWED = re.compile(r"\{%-?\s*(?:extends|from|import|include)\s+[\"']([^\"']+\.html)[\"']")
_BLOCK = re.compile(r"\{%-?\s*(?:(?P<end>endblock)\b|block\s+(?P<name>\w+)).*?%\}", re.DOTALL)
_LOOSE = re.compile(rf"(?:[A-Za-z-]+(?:=\"[^\"]*\"|(?=\s|$))\s*|{GAP}\s*)+")
_TIGHT = re.compile(rf"(<[a-z0-9]+){GAP}")
_WORD = re.compile(r"[^\s<>\"'=]+")
# What is filled into a script is an address; what could end a string or a script is no part of one.
_IN_SCRIPT = r"[\w.:/%~+-]*"
# The theme makes such styles of icons that the settings name: pictures under names of its own, no more.
_ICON_STYLE = re.compile(
    r"(?:[:.][\w.-]+\{(?:--[\w-]+:url\('data:image/svg\+xml;charset=utf-8,[\w%.~/-]*'\);)*\})+"
)
_OWN_SCRIPT = re.compile(r"[\w./%~+-]+\.m?js(?:\?[\w./%~+-]*)?")
_SWITCHES = frozenset({"checked", "disabled", "hidden", "open", "readonly", "selected"})
_ADDRESSES = frozenset({"action", "background", "cite", "data", "formaction", "href"}) | frozenset(
    {"manifest", "ping", "poster", "src", "srcset", "xlink:href"}
)
_NAMES = frozenset({"class", "for", "id"})
_LEADING = frozenset({"alternate", "canonical", "next", "prev"})
_POLICY = "Content-Security-Policy"
_HASH = re.compile(r"sha256-[\w+/]{43}=")
_ADDED = {
    "data-scripts": re.compile(r"[\w./%~+ -]+"),
    "data-theme": _OWN_SCRIPT,
    "data-theme-integrity": _HASH,
    "data-rows-integrity": _HASH,
    "data-engine-integrity": _HASH,
    "integrity": _HASH,
}
"""What the release steps add to scripts that a template holds."""

_HELD = {"src": "data-src", "type": "text/plain"}
"""What they make of a script that is to be run later: where its address stands, and its type."""

_SHAPES = ("svg", "g", "path", "circle", "ellipse", "line", "polygon", "polyline", "rect")
_SHAPE_ATTRIBUTES = (
    "aria-hidden clip-rule cx cy d fill fill-rule height opacity points r rx ry stroke stroke-linecap "
    "stroke-linejoin stroke-width transform viewbox width x x1 x2 xmlns y y1 y2"
)


@dataclass(frozen=True)
class Pattern:
    """An element as it is written: its attributes with their values, GAP where something is filled in."""

    attributes: Mapping[str, str]
    open: bool
    """Whether whole attributes are filled in as well."""


@dataclass
class Markup:
    """All that some texts with gaps write."""

    patterns: dict[str, list[Pattern]] = field(default_factory=dict)
    """By tag."""

    bodies: dict[str, set[str]] = field(default_factory=lambda: {"script": set(), "style": set()})
    """What stands in scripts and in styles."""

    loose: dict[str, set[str]] = field(default_factory=dict)
    """Attributes that are filled in as a whole, each with its values."""

    names: set[str] = field(default_factory=set)
    """Classes and ids …"""

    stems: set[str] = field(default_factory=set)
    """… and what some begin with, where the rest is filled in."""

    def add(self, text: str) -> None:
        """Take in the elements of a text, and what else may be put into gaps."""
        if "<" in text:
            reader = _Reader(self)
            reader.feed(_TIGHT.sub(rf"\1 {GAP}", text))
            reader.close()
        elif _LOOSE.fullmatch(text.strip()) and ("=" in text or text.strip() in _SWITCHES):
            written = Markup()
            written.add(f"<x {text.strip()}>")
            for pattern in written.patterns["x"]:
                for name, value in pattern.attributes.items():
                    self.loose.setdefault(name, set()).add(value)
            self.names |= written.names
            self.stems |= written.stems
        elif "=" not in text:
            self.add_names(text)

    def add_names(self, text: str) -> None:
        """Take in classes or ids, or parts of them."""
        for word in _WORD.findall(text):
            stem, gap, _ = word.partition(GAP)
            if gap or word.endswith(("-", "_")):
                self.stems |= {stem} if len(stem) > 1 else set()
            else:
                self.names.add(word)

    def find_fault(self, tag: str, attributes: Mapping[str, str]) -> str:
        """Return what none of the texts writes of an element, as it would stand in a page, or ""."""
        patterns = self.patterns.get(tag, ())
        if tag == "script":
            attributes = _undo_steps(attributes)
        for pattern in patterns:
            if (pattern.open or attributes.keys() <= pattern.attributes.keys()) and all(
                self._is_known(tag, name, attributes, pattern) for name in attributes
            ):
                return ""
        for name, value in attributes.items():
            if patterns and not any(self._is_known(tag, name, attributes, pattern) for pattern in patterns):
                return write_opening(tag, {name: value})
        return write_opening(tag, attributes)

    def is_known_body(self, tag: str, attributes: Mapping[str, str], body: str) -> bool:
        """Whether a text holds a script or style with this body, or one that may have any."""
        if tag == "style":
            return body in self.bodies[tag] or _ICON_STYLE.fullmatch(body) is not None
        if tag != "script" or attributes.get("type") == "application/json":
            return True
        if "src" in _undo_steps(attributes):
            return not body
        return any(_fit(known).fullmatch(body) for known in self.bodies[tag])

    def _is_known(self, tag: str, name: str, attributes: Mapping[str, str], pattern: Pattern) -> bool:
        expected = pattern.attributes.get(name)
        if expected is not None and self._is_known_value(tag, name, expected, attributes):
            return True
        if not pattern.open:
            return False
        return (name in _SWITCHES and not attributes[name]) or any(
            self._is_known_value(tag, name, loose, attributes) for loose in self.loose.get(name, ())
        )

    def _is_known_value(self, tag: str, name: str, expected: str, attributes: Mapping[str, str]) -> bool:
        value = attributes[name]
        # Whatever a template says: pages run no scripts from attributes, and the policy would stop them.
        if name.startswith("on") or name == "srcdoc" or (name == "http-equiv" and value != _POLICY):
            return False
        if name in _ADDRESSES and not (tag == "a" and value == expected):
            return _is_known_address(tag, name, value, attributes) and (GAP in expected or value == expected)
        if GAP not in expected:
            return value == expected
        if name in _NAMES:
            stems = tuple(self.stems)
            return all(word in self.names or word.startswith(stems) for word in value.split())
        return name != "style"


class _Reader(HTMLParser):
    """Puts what a text writes into a Markup."""

    def __init__(self, markup: Markup) -> None:
        super().__init__()
        self.markup = markup
        self.body: list[str] | None = None

    def handle_starttag(self, tag: str, attrs: Sequence[tuple[str, str | None]]) -> None:
        read = {name.strip(GAP): value or "" for name, value in attrs}
        pattern = Pattern({name: value for name, value in read.items() if name}, "" in read)
        patterns = self.markup.patterns.setdefault(tag, [])
        if pattern not in patterns:
            patterns.append(pattern)
        for name in _NAMES & read.keys():
            self.markup.add_names(read[name])
        if tag in ("script", "style"):
            self.body = []

    def handle_data(self, data: str) -> None:
        if self.body is not None:
            self.body.append(data)

    def handle_endtag(self, tag: str) -> None:
        if self.body is not None:
            self.markup.bodies[tag].add("".join(self.body))
            self.body = None


def read_theme(folders: Sequence[Path]) -> tuple[Markup, Markup]:
    """Return what the templates in these folders write, and of that what stands beside an article's text."""
    texts = _follow(folders, _ROOTS)
    within = [text for source in texts for text in _find_content(source)]
    beside = _follow(folders, [name for text in within for name in _FOLLOWED.findall(text)])
    return _read_templates([_STEPS, *texts]), _read_templates([*within, *beside])


@cache
def read_renderer() -> Markup:
    """Return what the calculators' renderer writes."""
    markup = Markup(stems={ANCHOR_PREFIX})
    for name in _RENDERER:
        tree = ast.parse((Path(calculators.__file__).parent / name).read_text("utf-8"))
        for text in _list_strings(tree):
            markup.add(text)
    return markup


def write_opening(tag: str, attributes: Mapping[str, str]) -> str:
    """Return an element's opening tag, as it would stand in a page."""
    return f"<{tag}{''.join(f' {name}="{escape(value)}"' for name, value in attributes.items())}>"


def _follow(folders: Sequence[Path], names: Iterable[str]) -> list[str]:
    """Return the texts of templates, and of all that they take in by name."""
    waiting, texts = list(names), dict[str, str]()
    while waiting:
        name = waiting.pop()
        found = next((folder / name for folder in folders if (folder / name).is_file()), None)
        if found and name not in texts:
            texts[name] = found.read_text("utf-8")
            waiting += _FOLLOWED.findall(texts[name])
    # Those without an element, the translations, only hold words.
    return [text for text in texts.values() if "<" in text]


def _find_content(source: str) -> Iterator[str]:
    """Yield the text of each block “content”, in which the article's text stands."""
    opened: list[tuple[str, int]] = []
    for found in _BLOCK.finditer(source):
        if not found["end"]:
            opened.append((found["name"], found.end()))
        elif opened:
            name, start = opened.pop()
            if name == "content":
                yield source[start : found.start()]


def _undo_steps(attributes: Mapping[str, str]) -> Mapping[str, str]:
    """Return a script's attributes as its template has them."""
    kept = {
        name: value
        for name, value in attributes.items()
        if name not in _ADDED or not _ADDED[name].fullmatch(value)
    }
    if kept.get("type") == _HELD["type"] and _HELD["src"] in kept:
        del kept["type"]
        kept["src"] = kept.pop(_HELD["src"])
    return kept


def _read_templates(texts: Iterable[str]) -> Markup:
    markup = Markup()
    markup.bodies["script"] |= set(map(read_inline, INLINE))
    for tag in _SHAPES:
        # Icons lie in files of their own: shapes, which do nothing.
        markup.add(f"<{tag} {' '.join(f'{name}="{GAP}"' for name in _SHAPE_ATTRIBUTES.split())}>")
    for text in texts:
        markup.add(_FILLED_IN.sub(lambda found: "" if found[0].startswith("{#") else GAP, text))
        for filled in _FILLED_IN.findall(text):
            for quoted in _QUOTED.finditer(filled):
                markup.add(_read_escapes(quoted[1] or quoted[2] or ""))
    return markup


def _read_escapes(text: str) -> str:
    return re.sub(r"\\u([0-9a-f]{4})", lambda found: chr(int(found[1], 16)), text)


def _list_strings(tree: ast.AST) -> Iterator[str]:
    for child in ast.iter_child_nodes(tree):
        if isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant):
            # Describes what stands beside it.
            continue
        if isinstance(child, ast.JoinedStr):
            yield "".join(
                value.value if isinstance(value, ast.Constant) else GAP  # type: ignore[misc]
                for value in child.values
            )
            # What is filled in may be written by another string within.
            for value in child.values:
                yield from () if isinstance(value, ast.Constant) else _list_strings(value)
        elif isinstance(child, ast.Constant) and isinstance(child.value, str):
            yield child.value
        else:
            yield from _list_strings(child)


def _is_known_address(tag: str, name: str, value: str, attributes: Mapping[str, str]) -> bool:
    try:
        scheme = find_scheme(value)
    except ValueError:
        return False
    if tag == "a" or (tag == "link" and attributes.get("rel") in _LEADING):
        return scheme in LINK_SCHEMES
    # All else is fetched, and nothing is ever fetched from another place.
    return is_own_address(value) and (tag != "script" or _OWN_SCRIPT.fullmatch(value) is not None)


@cache
def _fit(text: str) -> re.Pattern[str]:
    return re.compile(_IN_SCRIPT.join(map(re.escape, text.split(GAP))))


_STEPS = (
    f'<meta http-equiv="{_POLICY}" content="{GAP}"><script src="{GAP}" type="module" async defer></script>'
)
"""What the release steps write into pages, and the generator for scripts that the settings name."""
