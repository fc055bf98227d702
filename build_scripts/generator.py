"""All that knows the site generator: it writes the pages, and its warnings become an author's problems."""

import logging
import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from html import unescape
from pathlib import Path, PurePath
from typing import TYPE_CHECKING, Any

from build_scripts.authoring.allowed_html import LINK_SCHEMES, find_scheme
from build_scripts.authoring.articles import find_prose, split_lines
from build_scripts.authoring.fence import find_fences
from build_scripts.authoring.files import ARTICLE as ARTICLE_ENDING
from build_scripts.authoring.files import DOCS, PAGES, find_home
from build_scripts.authoring.problems import Problem
from build_scripts.authoring.signs import find_unwanted_sign
from build_scripts.club import Club, check_club, read_club
from build_scripts.errors import BuildError
from build_scripts.finding.index import CONTENTS, name_engine
from build_scripts.finding.index import INDEX as SEARCH_INDEX
from build_scripts.finding.sections import FAULTS, Section, list_sections
from build_scripts.finding.words import WORDS, read_all_words, resolve_problems
from build_scripts.lines import settle_line_ends
from build_scripts.materials.page import ARTICLE, SOURCE, TITLE
from build_scripts.offline.web_manifest import write_web_manifest
from calculators import SLUGS, find_calculator

if TYPE_CHECKING:
    from jinja2 import Environment
    from mkdocs.config.defaults import MkDocsConfig
    from mkdocs.plugins import BasePlugin
    from mkdocs.structure import StructureItem
    from mkdocs.structure.files import Files
    from mkdocs.structure.nav import Navigation
    from mkdocs.structure.pages import Page
    from mkdocs.structure.toc import AnchorLink
    from mkdocs.utils.templates import TemplateContext

SETTINGS = "mkdocs.yml"
BROWSER_FILES = Path(__file__).parent / "browser"
CALCULATORS = "calculators"
"""The folder of the calculators' pages, below either folder of articles …"""
INDEX = f"{CALCULATORS}/index.md"
"""… and the list of them."""
OWN_PAGES = (FAULTS, "glossary.md", "reading-results.md", "offline.md", "contributing.md", "hosting.md")
"""What the engine has besides, in the order of the navigation."""
INSTALLED = "installed"
"""How pages are published: readers' browsers save them for offline use …"""
OFF = "off"
"""… or they do not, and remove what they saved before."""

_KEPT_TEMPLATES = 200
"""A build needs some forty; those of other checkouts and former themes are forgotten."""

_THEME_SEARCH = ("assets/javascripts/lunr/", "assets/javascripts/workers/")
"""The theme's own search, in whose place the handbook's stands."""

_COMMENT_LINE = re.compile(r"^[ \t]*//.*\n", re.MULTILINE)

_LINK = re.compile(
    r"Doc file '(?P<file>[^']*)' contains an? (?P<kind>unrecognized relative |absolute |)link "
    r"'(?P<link>.*?)', (?P<fault>.*?)(?: Did you mean '(?P<meant>.*)'\?)?",
    re.DOTALL,
)
_NO_ANCHOR = re.compile(r"but (?:there is no such anchor|the doc '.*' does not contain an anchor)")
_OMITTED = re.compile(
    r"The following pages exist in the docs directory, but are not.*?:\n(?P<list>.*)", re.DOTALL
)
_ROWS = re.compile(r"(?:^\| \[.*\n)+", re.MULTILINE)
_LISTED = re.compile(r"^  - (.*)$", re.MULTILINE)
_STUMBLED = re.compile(r"Error reading page '(?P<file>.*?)': ?(?P<fault>.*)", re.DOTALL)
_ARTICLE = re.compile(r"(?:[\w-][\w.-]*/)*[\w-][\w.-]*\.md")
# What RFC 3986 allows in an address, and letters of other scripts.
_ADDRESS = re.compile(r"[\w:/?#\[\]@!$&'()*+,;=.~%-]+")
_SHOWN_SETTINGS = ("site_name", "site_description", "site_author", "copyright", "repo_name", "repo_url")
_NAVIGATION = re.compile(
    r"(?:A reference|An absolute path) to '(?P<link>.*)' is included in the 'nav'.*", re.DOTALL
)


@dataclass(frozen=True)
class Written:
    """What came of writing the pages."""

    problems: tuple[Problem, ...]
    """What authors have to mend; the pages are not to be published then."""

    templates: tuple[Path, ...]
    """The folders of the theme."""

    scripts: tuple[str, ...]
    """The scripts that the pages ask for besides the theme's own, by their names below the site."""

    installed: bool
    """Whether readers' browsers are to save them for offline use."""

    found: Mapping[str, object]
    """What can be found in them, and by which words."""

    contents: Sequence[object]
    """All of them in the order of the navigation: title, address, and a list of such below a section."""


def write_pages(
    root: Path,
    folder: Path,
    runtime: str,
    settings: Mapping[str, Any],
    scripts: Mapping[str, str],
    cache: Path,
) -> Written:
    """Write the pages of the articles below `root` into `folder`, for the runtime with this release hash.

    `settings` take the place of those in mkdocs.yml; `scripts` are what theme/main.html asks for by
    `handbook.<name>`, where `{runtime}` stands for the release's folder. In the folder `cache` the theme's
    templates are kept compiled.

    Raises BuildError when mkdocs.yml cannot be read, or the generator fails for a reason that it alone knows.
    """
    # The generator is imported late: checking articles needs none of it.
    from mkdocs.commands.build import build
    from mkdocs.exceptions import Abort

    config = _load_settings(root, site_dir=str(folder), strict=True, **settings)
    problems = list(_check_settings(root, config))
    published = INSTALLED if config.extra.get("offline", True) else OFF
    handbook = {
        "script": f"assets/{_name_by_content(BROWSER_FILES / 'live.js')}",
        "rows": f"assets/{_name_by_content(BROWSER_FILES / 'rows.js')}",
        "style": f"assets/{_name_by_content(BROWSER_FILES / 'style.css')}",
        "offline": f"assets/{_name_by_content(BROWSER_FILES / 'offline.js')}",
        "published": published,
        "made_of": TITLE,
        "find": f"assets/{_name_by_content(BROWSER_FILES / 'find.js')}",
        "find_engine": name_engine(),
        "index": SEARCH_INDEX,
        "contents": CONTENTS,
        "runtime": f"runtime/{runtime}/",
        **{name: path.format(runtime=f"runtime/{runtime}") for name, path in scripts.items()},
    }
    # What is wrong in the club's settings is a problem, and nothing is published then.
    club = Club() if problems else read_club(config.extra)
    config.extra["handbook"] = handbook | {"colour": club.colour}
    published = handbook["published"]
    # A page leads to its neighbours, whatever the settings say: it has no list of all others.
    config.theme["features"] = [*dict.fromkeys([*config.theme.get("features", ()), "navigation.footer"])]
    _prepare_templates(config, cache / "page-templates")
    config.plugins["handbook"] = _make_plugin()
    config.plugins["pages"] = _make_pages_plugin(root)
    _leave_out_search(config)
    sections: list[Section] = []
    urls: dict[str, str] = {}
    navigation: list[StructureItem] = []
    config.plugins["finding"] = _make_finding_plugin(sections, urls, navigation)
    with _hear_generator() as heard:
        config.plugins.on_startup(command="build", dirty=False)
        try:
            build(config)
        except Abort as error:
            if not heard:
                raise BuildError(f"{SETTINGS}: {error}") from None
        # Whatever an article makes it stumble over, its author gets a sentence.
        except Exception as error:
            if not problems:
                words = [str(problem) for warning in heard for problem in read_warning(root, warning)]
                reason = "\n".join(words) or f"{SETTINGS}: the site generator failed: {error}"
                raise BuildError(reason) from error
        finally:
            config.plugins.on_shutdown()
    # What the generator says of a line that is refused already is the same once more.
    told = {(problem.file, problem.line) for problem in problems}
    said = [problem for warning in heard for problem in read_warning(root, warning)]
    problems += (problem for problem in said if (problem.file, problem.line) not in told)
    known, wrong = read_all_words(root)
    commonest, astray = resolve_problems(root, known, urls, frozenset(section.url for section in sections))
    problems += wrong or (astray if not problems else [])
    if not problems:
        if published == INSTALLED:
            description = config.site_description or config.site_name
            write_web_manifest(folder, config.site_name, description, config.theme["language"], club)
        if club.icon:
            # Imported late: it brings a library of pictures, and most handbooks have the engine's icon.
            from build_scripts.release.icons import write_icons

            write_icons(folder, root / DOCS / club.icon, club.colour)
        for name in ("live.js", "rows.js", "offline.js", "find.js", "style.css"):
            path = BROWSER_FILES / name
            (folder / "assets" / _name_by_content(path)).write_bytes(_read_published(path))
        _settle_copies(config, folder)
    asked_for = (
        *(handbook[name] for name in ("offline", "script", "rows", "find", "find_engine")),
        *map(str, config.extra_javascript),
    )
    templates = tuple(map(Path, config.theme.dirs))
    found = {
        "sections": [section.describe() for section in sections],
        "same": known.same,
        "skip": known.skip,
        "problems": commonest,
    }
    contents = list(map(_list_contents, navigation))
    return Written(tuple(problems), templates, asked_for, published == INSTALLED, found, contents)


def read_settings(root: Path) -> Club:
    """Read the club's own settings from mkdocs.yml; raises BuildError for one that is wrong."""
    config = _load_settings(root)
    if problems := list(_check_settings(root, config)):
        raise BuildError("\n".join(map(str, problems)))
    return read_club(config.extra)


def read_site_name(root: Path) -> str:
    """Read the handbook's name from mkdocs.yml; raises BuildError when that cannot be read."""
    return _load_settings(root).site_name


def read_warning(root: Path, warning: str) -> Iterator[Problem]:
    """Yield what a warning of the generator means to an author, with the file and line that it leaves out."""
    if found := _LINK.fullmatch(warning):
        name = _name_article(root, found["file"])
        lines = _find_link(root / name, found["link"])
        yield from (Problem(name, line, _refuse_link(found)) for line in lines)
    elif found := _OMITTED.fullmatch(warning):
        for path in _LISTED.findall(found["list"]):
            page = PurePath(path).as_posix()
            yield Problem(
                f"docs/{page}",
                1,
                f"this page is not in the navigation; add the line “- {page}” to nav: in {SETTINGS}, beside "
                "the pages of its subject",
            )
    elif found := _STUMBLED.fullmatch(warning):
        yield Problem(
            _name_article(root, found["file"]),
            1,
            f"this article cannot be made into a page ({found['fault']}); take out parts of it, beginning "
            "with what was written last, until the build goes through",
        )
    elif found := _NAVIGATION.fullmatch(warning):
        yield Problem(
            SETTINGS,
            _find_setting(root, found["link"]),
            f"the navigation names “{found['link']}”, which is no article; write a file as seen from docs/, "
            "such as wiring/tail-lift.md",
        )
    else:
        yield Problem(SETTINGS, 1, warning)


def _name_article(root: Path, name: str) -> str:
    return (find_home(root, name) / name).relative_to(root).as_posix()


def _refuse_link(found: re.Match[str]) -> str:
    link, meant = found["link"], found["meant"]
    advice = f"did you mean “{meant}”?" if meant else ""
    if _NO_ANCHOR.match(found["fault"]):
        return (
            f"the link “{link}” leads to no heading and no block; behind the “#” stand a heading's words, or "
            "“c-” and a caption's, in small letters with hyphens"
        )
    if found["kind"] == "absolute ":
        return (
            f"the link “{link}” begins at the host's root, and the handbook may lie in a folder there; "
            f"{advice or 'write it as seen from this article, such as “../wiring/tail-lift.md”'}"
        )
    advice = advice or "write the file as seen from this article, such as “../wiring/tail-lift.md”"
    return f"the link “{link}” leads to no file of the handbook; {advice}"


def _find_link(article: Path, link: str) -> list[int]:
    """Return the lines, from 1, in which an article links there."""
    text = split_lines(article.read_text("utf-8-sig", "replace"))
    lines = find_prose(text, find_fences(text)).split("\n")
    exact = re.compile(rf"(?:\]\(|\]:)\s*<?\s*{re.escape(link)}(?=[\s)>\"']|$)")
    found = [number for number, line in enumerate(lines, 1) if exact.search(line)]
    # Markdown may have read the address with other signs than the file has.
    return found or [number for number, line in enumerate(lines, 1) if link in line][:1] or [1]


def _load_settings(root: Path, **settings: Any) -> "MkDocsConfig":
    from mkdocs.config import load_config
    from mkdocs.exceptions import Abort, ConfigurationError

    with _hear_generator() as heard:
        try:
            return load_config(str(root / SETTINGS), **settings)
        except (Abort, ConfigurationError) as error:
            said = heard or [str(error)]
            raise BuildError("\n".join(f"{SETTINGS}: {words}" for words in said)) from None


def _prepare_templates(config: "MkDocsConfig", folder: Path) -> None:
    """Have the theme's templates write all that they fill in as text.

    And have them compiled once and not in every build; a changed one is compiled anew. And have the theme's
    thousands of icons not listed among the files that it publishes, where none of them is taken.
    """
    from jinja2 import Environment, FileSystemBytecodeCache, FileSystemLoader

    class ListingLoader(FileSystemLoader):
        def list_templates(self) -> list[str]:
            return sorted({name for folder in self.searchpath for name in _list_shown(Path(folder))})

    folder.mkdir(parents=True, exist_ok=True)
    kept = sorted(folder.glob("__jinja2_*.cache"), key=lambda path: path.stat().st_mtime, reverse=True)
    for former in kept[_KEPT_TEMPLATES:]:
        former.unlink(missing_ok=True)
    get_env = config.theme.get_env

    def get_keeping_env() -> Environment:
        env = get_env()
        env.loader = ListingLoader(config.theme.dirs)
        env.bytecode_cache = FileSystemBytecodeCache(str(folder))
        env.autoescape = _is_escaped
        return env

    config.theme.get_env = get_keeping_env  # type: ignore[method-assign]


def _list_shown(folder: Path) -> Iterator[str]:
    """Yield the files below a folder but for those in hidden ones, by their names in there."""
    for path, folders, files in folder.walk():
        folders[:] = [name for name in folders if not name.startswith(".")]
        for name in files:
            yield (path / name).relative_to(folder).as_posix()


def _settle_copies(config: "MkDocsConfig", folder: Path) -> None:
    """Settle the line ends of what the generator has copied from this checkout as it was."""
    for source in filter(None, (config.docs_dir, config.theme.custom_dir)):
        for path in Path(source).rglob("*"):
            copy = folder / path.relative_to(source)
            if path.is_file() and copy.is_file():
                copy.write_bytes(settle_line_ends(copy.read_bytes()))


def _is_escaped(template: str | None) -> bool:
    # Translations are words, escaped where they are put in; a style is put together from the theme's icons.
    return template is None or not template.startswith(("partials/language", "partials/icons.html"))


def _make_plugin() -> "BasePlugin[Any]":
    """Return what tells the templates which of the things they are given is HTML: only the article's text."""
    from markupsafe import Markup, escape
    from mkdocs.plugins import BasePlugin, event_priority

    class TextPlugin(BasePlugin):  # type: ignore[type-arg, no-untyped-call]
        def on_env(self, env: "Environment", *, config: "MkDocsConfig", files: "Files") -> "Environment":
            for file in files.documentation_pages():
                page = file.page
                if page is None or page.title is None:
                    continue
                # A heading is HTML: without its tags it is text again.
                page.title = escape(page.title if "title" in page.meta else Markup(page.title).striptags())
                _write_contents(page.toc)
            return env

        # After all others have read it.
        @event_priority(-100)
        def on_page_context(
            self, context: "TemplateContext", *, page: "Page", config: "MkDocsConfig", nav: "Navigation"
        ) -> "TemplateContext":
            page.content = Markup(page.content)
            return context

    def _write_contents(links: "Iterable[AnchorLink]") -> None:
        for link in links:
            link.title = escape(Markup(link.title).striptags())
            _write_contents(link.children)

    return TextPlugin()


def _leave_out_search(config: "MkDocsConfig") -> None:
    """Leave out the generator's own search, which it brings along wherever settings do not say otherwise."""
    for name in [name for name in config.plugins if name.rpartition("/")[2] == "search"]:
        plugin = config.plugins.pop(name)
        for methods in config.plugins.events.values():
            methods[:] = [method for method in methods if getattr(method, "__self__", None) is not plugin]


def _make_finding_plugin(
    sections: list[Section], urls: dict[str, str], navigation: "list[StructureItem]"
) -> "BasePlugin[Any]":
    """Return what collects what can be found, the addresses of the pages by their articles, and all pages."""
    from mkdocs.plugins import BasePlugin

    class FindingPlugin(BasePlugin):  # type: ignore[type-arg, no-untyped-call]
        def on_nav(self, nav: "Navigation", *, config: "MkDocsConfig", files: "Files") -> "Navigation":
            # The way home stands in each page.
            navigation.extend(item for item in nav.items if item is not nav.homepage)
            return nav

        def on_page_context(
            self, context: "TemplateContext", *, page: "Page", config: "MkDocsConfig", nav: "Navigation"
        ) -> "TemplateContext":
            source = page.file.src_uri
            if source != ARTICLE:
                urls[source] = page.url
                title, about = unescape(str(page.title)), str(page.meta.get("description", ""))
                sections.extend(list_sections(source, page.url, title, about, page.content or ""))
            return context

    return FindingPlugin()


def _list_contents(item: "StructureItem") -> list[object]:
    """Return an item of the navigation as title, address and what is below it."""
    title = unescape(str(item.title))
    below = getattr(item, "children", None)
    return (
        [title, getattr(item, "url", "")] if below is None else [title, "", list(map(_list_contents, below))]
    )


def _make_pages_plugin(root: Path) -> "BasePlugin[Any]":
    """Return what adds to the articles the engine's own pages, and the one with all components.

    An article of the club takes the place of the engine's page with the same address; none can be in the
    place of the other.
    """
    from mkdocs.plugins import BasePlugin
    from mkdocs.structure.files import File, InclusionLevel

    class PagesPlugin(BasePlugin):  # type: ignore[type-arg, no-untyped-call]
        def on_files(self, files: "Files", *, config: "MkDocsConfig") -> "Files":
            own = {file.src_uri for file in files}
            taken = {file.dest_uri.casefold() for file in files}
            for path in sorted((root / PAGES).rglob(f"*{ARTICLE_ENDING}")):
                name = path.relative_to(root / PAGES).as_posix()
                page = File.generated(config, name, abs_src_path=str(path))
                if name == INDEX:
                    text = list_own_calculators(path.read_text("utf-8"), own)
                    page = File.generated(config, name, content=text)
                if page.dest_uri.casefold() not in taken:
                    files.append(page)
            if config.nav is not None:
                add_to_navigation(config.nav, [file.src_uri for file in files.documentation_pages()])
            page = File.generated(config, ARTICLE, content=SOURCE, inclusion=InclusionLevel.NOT_IN_NAV)
            files.append(page)
            config.extra["handbook"]["materials"] = page.url
            faults = files.get_file_from_path(FAULTS)
            config.extra["handbook"]["faults"] = faults.url if faults else "."
            # Words for the search are no page, and the theme's own search has no work here.
            for file in [
                file for file in files if file.src_uri == WORDS or file.src_uri.startswith(_THEME_SEARCH)
            ]:
                files.remove(file)
            return files

    return PagesPlugin()


def list_own_calculators(text: str, articles: Collection[str]) -> str:
    """Return the list of calculators with a row for each that has its page among the club's articles."""
    pages = {f"{slug}{ARTICLE_ENDING}": slug for slug in SLUGS}
    # Only these are imported: most handbooks have none, and a build needs no other for its list.
    own = {
        page: find_calculator(slug)
        for page, slug in pages.items()
        if f"{CALCULATORS}/{page}" in articles and f"({page})" not in text
    }
    rows = "".join(f"| [{one.title}]({page}) | {one.summary} |\n" for page, one in own.items())
    return _ROWS.sub(lambda found: found[0] + rows, text, count=1)


def add_to_navigation(nav: list[Any], articles: Collection[str]) -> None:
    """Add those of the engine's pages, and of the calculators', to `nav:` that it does not name.

    Calculators come where the list of them stands.
    """
    named = {target for _, target in _list_navigation(nav)}
    beside = [name for name in articles if PurePath(name).parent.as_posix() == CALCULATORS]
    order = [INDEX, *(f"{CALCULATORS}/{slug}{ARTICLE_ENDING}" for slug in SLUGS)]
    missing = [name for name in order if name in beside and name not in named]
    section = _find_section(nav, INDEX)
    if section is not None:
        section += missing
    elif missing:
        nav.append({"Calculators": missing})
    nav += [name for name in OWN_PAGES if name in articles and name not in named]


def _find_section(nav: list[Any], page: str) -> list[Any] | None:
    """Return the list in `nav` that names this page, None where none does."""
    for item in nav:
        below = list(item.values()) if isinstance(item, dict) else [item]
        if page in below:
            return nav
        for deeper in below:
            if isinstance(deeper, list) and (found := _find_section(deeper, page)) is not None:
                return found
    return None


def _check_settings(root: Path, config: "MkDocsConfig") -> Iterator[Problem]:
    """Yield what is wrong in what strangers change, the navigation, and in the switch that must not fail."""
    offline = config.extra.get("offline", True)
    if not isinstance(offline, bool):
        yield Problem(
            SETTINGS,
            _find_setting(root, "offline:"),
            f"offline: “{offline}” is neither on nor off; allowed: true, false, without quotation marks",
        )
    if re.search(r"[\s\"'<>]", config.site_url or ""):
        yield Problem(
            SETTINGS,
            _find_setting(root, "site_url:"),
            f"site_url: “{config.site_url}” is no address; allowed: https://, a host and a folder, without "
            "spaces, quotation marks, “<” and “>”",
        )
    for name, words in check_club(config.extra, root / DOCS, root / PAGES):
        yield Problem(SETTINGS, _find_setting(root, f"{name}:"), words)
    for title, target in _list_navigation(config.nav):
        if re.search("[<>]", title):
            yield Problem(
                SETTINGS,
                _find_setting(root, title),
                f"the title “{title}” in nav: holds “<” or “>”, which belongs to HTML; say it in words",
            )
        if target and not _is_target(target) and not find_unwanted_sign(target):
            allowed = ", ".join(sorted(scheme for scheme in LINK_SCHEMES if scheme))
            yield Problem(
                SETTINGS,
                _find_setting(root, target),
                f"“{target}” in nav: is no article; allowed: an article below docs/, such as "
                f"wiring/tail-lift.md, and addresses with {allowed}, without spaces and quotation marks",
            )
    shown = [text for row in _list_navigation(config.nav) for text in row]
    shown += _list_texts([getattr(config, name) for name in _SHOWN_SETTINGS])
    shown += _list_texts([config.extra, dict(config.theme)])
    for text in dict.fromkeys(shown):
        if words := find_unwanted_sign(text):
            yield Problem(SETTINGS, _find_setting(root, text), f"“{_show_signs(text)}”: {words}")


def _is_target(address: str) -> bool:
    try:
        scheme = find_scheme(address)
    except ValueError:
        return False
    return bool(_ADDRESS.fullmatch(address) if scheme in LINK_SCHEMES - {""} else _ARTICLE.fullmatch(address))


def _list_texts(setting: object) -> Iterator[str]:
    """Yield every text in a setting."""
    if isinstance(setting, str):
        yield setting
    elif isinstance(setting, Mapping):
        for name, value in setting.items():
            yield from _list_texts([name, value])
    elif isinstance(setting, Iterable):
        for value in setting:
            yield from _list_texts(value)


def _show_signs(text: str) -> str:
    """Return a text with what cannot be seen in it written as its code."""
    return "".join(f"[U+{ord(sign):04X}]" if find_unwanted_sign(sign) else sign for sign in text)


def _list_navigation(nav: object) -> Iterator[tuple[str, str]]:
    """Yield title and target of everything in `nav`; "" for what one of them lacks."""
    if isinstance(nav, dict):
        for title, below in nav.items():
            yield str(title), below if isinstance(below, str) else ""
            if not isinstance(below, str):
                yield from _list_navigation(below)
    elif isinstance(nav, Iterable) and not isinstance(nav, str):
        for item in nav:
            yield from _list_navigation(item)
    else:
        yield "", str(nav or "")


def _find_setting(root: Path, words: str) -> int:
    lines = (root / SETTINGS).read_text("utf-8-sig", "replace").split("\n")
    return next((number for number, line in enumerate(lines, 1) if words in line), 1)


@contextmanager
def _hear_generator() -> Iterator[list[str]]:
    """Give the list in which the generator's warnings are collected for the length of the block."""
    heard: list[str] = []
    handler = logging.Handler(logging.WARNING)
    handler.emit = lambda record: heard.append(record.getMessage())  # type: ignore[method-assign]
    logger = logging.getLogger("mkdocs")
    logger.addHandler(handler)
    try:
        yield heard
    finally:
        logger.removeHandler(handler)


def _name_by_content(path: Path) -> str:
    # A browser that keeps files for long never keeps an old script for a new page.
    return f"{path.stem}.{sha256(_read_published(path)).hexdigest()[:12]}{path.suffix}"


def _read_published(path: Path) -> bytes:
    # A quarter of what readers fetch of a script would be comments.
    text = path.read_text("utf-8")
    return (_COMMENT_LINE.sub("", text) if path.suffix == ".js" else text).encode()
