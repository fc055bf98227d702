"""The proof over finished pages: all that authors and a club's theme may write passes, nothing else does."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import pytest
from selectolax.lexbor import LexborHTMLParser

from build_scripts.authoring.allowed_html import AUTHOR_CLASSES, BOXES
from build_scripts.environment.progress import Progress
from build_scripts.errors import BuildError
from build_scripts.portable.edition import PORTABLE, finish_portable
from build_scripts.release.page_markup import read_theme
from build_scripts.release.page_proof import AllowedMarkup, prove_pages, read_allowed
from build_scripts.release.pages import Pages, open_pages
from build_scripts.site.building import build_site
from build_scripts.site.edition import Edition, Parts
from build_scripts.site.served import finish_site
from tests.conftest import ROOT

pytestmark = pytest.mark.prepared

SETTINGS = """\
site_name: 'The "Wire & <b>Wood</b>" club'
site_url: https://club.example/handbook/
site_description: '"><script>alert(1)</script>'
site_author: '"><iframe srcdoc=x>'
copyright: '<meta http-equiv=refresh content=0> & more'
repo_url: https://code.example/club/handbook
repo_name: '<i>Sources</i>'
edit_uri: edit/main/docs/
nav:
  - Home: index.md
  - Subject:
      - subject/index.md
      - subject/all.md
      - "A \\"quoted\\" & plain title": subject/second.md
  - Elsewhere: https://club.example/?a=1&amp=2
  - Write: mailto:club@club.example
strict: true
extra_css:
  - style/club.css
extra_javascript:
  - style/club.js
extra:
  homepage: https://club.example/
  social:
    - icon: material/ferry
      link: https://club.example/
      name: '<b>Us</b>'
  alternate:
    - name: English
      link: /en/
      lang: en
theme:
  name: material
  custom_dir: club
  language: fr
  font: false
  icon:
    logo: material/notebook-outline
    admonition:
      note: material/ferry
  palette:
    - media: "(prefers-color-scheme: light)"
      toggle:
        icon: material/weather-sunny
        name: Dark
    - media: "(prefers-color-scheme: dark)"
      scheme: slate
      toggle:
        icon: material/weather-night
        name: Light
  features:
    - navigation.instant
    - navigation.indexes
    - navigation.sections
    - navigation.tabs
    - navigation.tabs.sticky
    - navigation.path
    - navigation.footer
    - navigation.top
    - announce.dismiss
    - search.share
    - search.suggest
    - content.action.edit
    - content.action.view
plugins:
  - search
markdown_extensions:
  - build_scripts.authoring.extension
  - admonition
  - attr_list
  - def_list
  - footnotes
  - tables
  - toc:
      permalink: true
  - pymdownx.details
  - pymdownx.superfences
  - pymdownx.highlight:
      use_pygments: true
      anchor_linenums: true
"""

OVERRIDE = """\
{% extends "base.html" %}
{% set handbook = config.extra.handbook %}
{% block announce %}<p class="club-news">Open <em>day</em></p>{% endblock %}
{% block site_meta %}
  {{ super() }}<meta name="club" content="{{ config.site_name }}"><!-- the club's -->
  <script data-site="{{ '.' | url }}"></script>
{% endblock %}
{% block extrahead %}
  <link rel="stylesheet" href="{{ handbook.style | url }}">
  <script src="{{ handbook.script | url }}" data-runtime="{{ handbook.runtime | url }}"
    {%- if handbook.carried %} data-carried="{{ handbook.carried | url }}"{% endif %} async></script>
{% endblock %}
{% block content %}<div class="club-frame">{{ super() }}</div>{% endblock %}
{% block footer %}
  <noscript><img src="{{ 'assets/images/favicon.png' | url }}" alt=''/></noscript>{{ super() }}
{% endblock %}
"""

EVERYTHING = (
    """\
---
title: All that "authors" may write & more
description: A 1/2" bolt & its nut.
author: The "club"
---
# All of it { #all-of-it .grid }

[TOC]

Words[^Note] with `code`, *stress*, **more**, <kbd>Enter</kbd>, H<sub>2</sub>O, <abbr title="x">d.c.</abbr>,
[a page](second.md#c-the-lead), [there](https://club.example/?a=1&b=2){ .md-button .md-button--primary },
[mail](mailto:club@club.example), [call](tel:+10000), <https://club.example/> & a <a href="https://club.example/">
plain one</a>.

[^Note]: A note below.

![A plug](plug.png){ width="20" loading=lazy #plug }

<figure><figcaption>Words</figcaption></figure>

<details open><summary>More</summary><p lang="de" class="end">Wörter</p></details>

| left | right |
|:-----|------:|
| 1    | 2     |

3. three
4. four

term
:   meaning

> quoted

---

## `__search` & handbookWorkers

## 日本

## Same

## Same

``` python hl_lines="1" linenums="1"
print("<script>alert(1)</script></noscript>")
```

``` {.toml .grid title="a.toml"}
a = 1
```

    indented </article> <!-- code -->

``` calculator
wire-gauge: The lead
current = 5 A
length = 1.5 m
```

??? note "Folded"

    ``` calculator
    speaker-load: Two </noscript> & "more"
    network = left:8 || right:8
    ```

"""
    + "\n".join(f'!!! {name} inline end "Words"\n\n    Words\n' for name in sorted(BOXES))
    + "\n".join(f'<p class="{name}">x</p>\n' for name in sorted(AUTHOR_CLASSES))
)

SECOND = """\
# Second

``` calculator
wire-gauge: The lead
current = 5 A
length = 1.5 m
```

``` calculator
led-current: A string
```

``` calculator
pin-order: Two plugs
```
"""

PAGE = "subject/all/index.html"


@dataclass(frozen=True)
class Proven:
    """Pages of a finished edition, and what the proof was made with."""

    pages: Pages
    allowed: AllowedMarkup
    root: Path


def write_handbook(root: Path) -> Path:
    shutil.copytree(ROOT / "calculators", root / "calculators", ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "LICENSE"):
        shutil.copyfile(ROOT / name, root / name)
    (root / "docs" / "subject").mkdir(parents=True)
    shutil.copytree(ROOT / "build_scripts" / "theme" / "assets", root / "club" / "assets")
    (root / "club" / "style").mkdir()
    (root / "club" / "style" / "club.css").write_text("", "utf-8")
    (root / "club" / "style" / "club.js").write_text("", "utf-8")
    (root / "club" / "main.html").write_text(OVERRIDE, "utf-8")
    (root / "mkdocs.yml").write_text(SETTINGS, "utf-8")
    (root / "docs" / "index.md").write_text("# Home & <b>more</b>\n", "utf-8")
    (root / "docs" / "subject" / "index.md").write_text("# Subject\n", "utf-8")
    (root / "docs" / "subject" / "all.md").write_text(EVERYTHING, "utf-8")
    (root / "docs" / "subject" / "second.md").write_text(SECOND, "utf-8")
    shutil.copyfile(
        ROOT / "build_scripts" / "theme" / "assets" / "icons" / "icon-192.png",
        root / "docs" / "subject" / "plug.png",
    )
    return root


def build(root: Path, finish: Callable[[Path, Parts], None]) -> Proven:
    """Build an edition; its own steps end with the proof."""
    proven: list[Proven] = []

    def finish_and_keep(folder: Path, parts: Parts) -> None:
        finish(folder, parts)
        with open_pages(folder) as pages:
            proven.append(Proven(dict(pages), read_allowed(parts.templates), root))

    edition = Edition(finish_and_keep) if finish is finish_site else replace(PORTABLE, finish=finish_and_keep)
    build_site(root.parent / "site", Progress(), edition=edition, root=root, cache=ROOT / ".cache")
    return proven[0]


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Proven:
    return build(write_handbook(tmp_path_factory.mktemp("served") / "handbook"), finish_site)


@pytest.fixture(scope="module")
def portable(tmp_path_factory: pytest.TempPathFactory) -> Proven:
    return build(write_handbook(tmp_path_factory.mktemp("portable") / "handbook"), finish_portable)


def test_all_that_authors_and_a_club_may_write_passes(served: Proven, portable: Proven) -> None:
    assert PAGE in served.pages
    assert "subject/all.html" in portable.pages
    page = LexborHTMLParser(served.pages[PAGE])
    for selector in (
        "h1#all-of-it.grid",
        "h2#h-search-handbookworkers",
        "h2#same_1",
        ".club-frame section.sl-block",
        "details.note section.sl-block",
        "a.md-button--primary",
        "li#fn\\:Note",
        "a.md-content__button",
        "p.club-news",
        "nav.md-path",
        "head style",
    ):
        assert page.css_first(selector) is not None, selector


def read_words(page: LexborHTMLParser, selector: str) -> str:
    """The text of the first such element."""
    found = page.css_first(selector)
    assert found is not None, selector
    return " ".join(found.text().split())


def test_settings_are_words_in_every_page(served: Proven) -> None:
    # What an extra element would be that came from one of them.
    foreign = "iframe, meta[http-equiv=refresh], .md-copyright meta, title b, .md-source i, .md-header b"
    for name, text in served.pages.items():
        page = LexborHTMLParser(text)
        assert not page.css(foreign), name
        assert "alert(1)" not in "".join(script.text() for script in page.css("script")), name
        assert read_words(page, "title").endswith('The "Wire & <b>Wood</b>" club')
        assert read_words(page, ".md-copyright__highlight") == "<meta http-equiv=refresh content=0> & more"
    # What was read from the settings is as the settings say, and only escaped once.
    page = LexborHTMLParser(served.pages[PAGE])
    described = page.css_first("meta[name=description]")
    assert described is not None
    assert described.attributes["content"] == 'A 1/2" bolt & its nut.'
    assert 'A "quoted" & plain title' in read_words(page, ".md-nav--primary")
    assert read_words(page, "title").startswith('All that "authors" may write & more - ')


PLACES = {
    "theme": '<div class="md-dialog"',
    "article": "</article>",
    "block": '<div class="sl-result">',
}

FOREIGN = [
    '<iframe srcdoc="<script src=../../plug.png></script>"></iframe>',
    '<iframe src="../second/"></iframe>',
    "<script>alert(1)</script>",
    '<script src="../../subject/table.toml"></script>',
    '<script src="https://evil.example/a.js"></script>',
    '<script src="//evil.example/a.js"></script>',
    '<script src="a.js" onerror="alert(1)"></script>',
    '<script src="a.js">alert(1)</script>',
    '<script type="module">import("a")</script>',
    '<SCRIPT type="importmap">{}</SCRIPT>',
    '<script type="speculationrules">{}</script>',
    '<meta http-equiv="refresh" content="0; url=https://evil.example/">',
    '<meta http-equiv="content-security-policy" content="x">',
    '<meta name="referrer" content="unsafe-url">',
    '<base href="https://evil.example/">',
    '<link rel="stylesheet" href="https://evil.example/a.css">',
    '<link rel="preconnect" href="https://evil.example/">',
    '<link rel="modulepreload" href="a.js">',
    "<style>body { display: none }</style>",
    "<style>@import 'a.css'</style>",
    '<object data="a.pdf"></object>',
    '<embed src="a.pdf">',
    '<form action="https://evil.example/"></form>',
    '<button formaction="https://evil.example/">x</button>',
    '<input type="image" src="https://evil.example/a.png">',
    '<input autofocus onfocus="alert(1)">',
    '<img src="https://evil.example/a.png" alt="">',
    '<img src="//evil.example/a.png" alt="">',
    '<img src="x" onerror="alert(1)">',
    '<img src="a.png" srcset="https://evil.example/a.png 2x">',
    '<video src="a.mp4" autoplay></video>',
    '<a href="javascript:alert(1)">x</a>',
    '<a href=" java&#10;script:alert(1)">x</a>',
    '<a href="data:text/html,x">x</a>',
    '<a href="blob:x">x</a>',
    '<a href="#" ping="https://evil.example/">x</a>',
    '<a href="#" style="position:fixed;inset:0">x</a>',
    '<p style="color:red">x</p>',
    '<p onclick="alert(1)">x</p>',
    '<p onpointerrawupdate="alert(1)">x</p>',
    "<p contenteditable>x</p>",
    "<p popover>x</p>",
    '<p is="x-y">x</p>',
    '<p id="handbookWorkers">x</p>',
    '<p id="__search">x</p>',
    '<p class="md-consent__overlay">x</p>',
    '<div class="evil"></div>',
    "<x-y></x-y>",
    "<dialog open>x</dialog>",
    "<template><p>x</p></template>",
    "<div><template shadowrootmode=open><script>alert(1)</script></template></div>",
    "<svg><script>alert(1)</script></svg>",
    '<svg><animate attributeName="href" values="javascript:alert(1)"/></svg>',
    "<svg><set onbegin=alert(1)></svg>",
    '<svg><a xlink:href="javascript:alert(1)"><text>x</text></a></svg>',
    '<svg><use href="a.svg#x"/></svg>',
    "<svg><foreignObject><p>x</p></foreignObject></svg>",
    '<svg><image href="https://evil.example/a.png"/></svg>',
    "<svg onload=alert(1)></svg>",
    "<svg><style>a{}</style></svg>",
    '<math><maction actiontype="statusline#https://evil.example/">x</maction></math>',
    '<math><mtext><table><mglyph><style><!--</style><img title="--&gt;&lt;img src=1 onerror=alert(1)&gt;">',
    "<noscript><img src=x onerror=alert(1)></noscript>",
    '<noscript><p title="</noscript><img src=x onerror=alert(1)>">x</p></noscript>',
    "<noscript><style></noscript><img src=x onerror=alert(1)></style></noscript>",
    "<textarea form=x><img src=x onerror=alert(1)></textarea>",
    "<xmp>x</xmp>",
    "<plaintext>",
    "<frameset><frame src=x></frameset><iframe></iframe>",
    "<!-- x --!><img src=x onerror=alert(1)>",
    "<? x ?><b onclick=x>",
    '<p a"b="x">x</p>',
    '<p/onclick="alert(1)">x</p>',
    "<!--><img src=x onerror=alert(1)>-->",
]


def put_in(proven: Proven, page: str, place: str, markup: str) -> Pages:
    text = proven.pages[page]
    assert PLACES[place] in text
    return {page: text.replace(PLACES[place], markup + PLACES[place], 1)}


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("markup", FOREIGN)
def test_anything_else_stops_the_build(served: Proven, place: str, markup: str) -> None:
    pages = put_in(served, PAGE, place, markup)
    with pytest.raises(BuildError, match=PAGE):
        prove_pages(pages, served.allowed, served.root)


@pytest.mark.parametrize("place", PLACES)
def test_the_portable_edition_is_proven_by_the_same_list(portable: Proven, place: str) -> None:
    prove_pages(portable.pages, portable.allowed, portable.root)
    pages = put_in(portable, "subject/all.html", place, "<iframe></iframe>")
    with pytest.raises(BuildError, match=r"page (subject/all\.html )?holds “<iframe>”"):
        prove_pages(pages, portable.allowed, portable.root)


@pytest.mark.parametrize("finish", [finish_site, finish_portable])
def test_both_editions_end_with_the_proof(tmp_path: Path, finish: Callable[[Path, Parts], None]) -> None:
    root = write_handbook(tmp_path / "handbook")

    def spoil_and_finish(folder: Path, parts: Parts) -> None:
        for page in folder.rglob("all*/index.html" if finish is finish_site else "all.html"):
            text = page.read_text("utf-8")
            page.write_text(text.replace("</article>", "<object></object></article>"), "utf-8")
        finish(folder, parts)

    kind = Edition(finish_site) if finish is finish_site else PORTABLE
    edition = replace(kind, finish=spoil_and_finish)
    with pytest.raises(BuildError, match="holds “<object>”, which neither the theme nor a calculator writes"):
        build_site(tmp_path / "site", Progress(), edition=edition, root=root, cache=ROOT / ".cache")


@pytest.mark.parametrize(
    ("place", "markup", "expected"),
    [
        # As written in the article, in a setting, and nowhere; “x” stands everywhere and tells nothing.
        (
            "article",
            '<br data-x="All that &quot;authors&quot; may">',
            "docs/subject/all.md:2: the page subject/all/",
        ),
        (
            "theme",
            '<br data-x="https://club.example/?a=1&amp;amp=2">',
            "mkdocs.yml:15: the page subject/all/",
        ),
        ("theme", '<br data-x="A &quot;page&quot;">', "subject/all/index.html: this page holds “<br data-x="),
        ("article", "<br data-x=x>", "subject/all/index.html: this page holds “<br data-x="),
    ],
)
def test_the_place_it_comes_from_is_named(served: Proven, place: str, markup: str, expected: str) -> None:
    with pytest.raises(BuildError) as caught:
        prove_pages(put_in(served, PAGE, place, markup), served.allowed, served.root)
    assert str(caught.value).startswith(expected)
    assert str(caught.value).count("\n") == 0


def test_every_page_with_a_fault_is_named_once(served: Proven) -> None:
    pages = {name: text.replace("</body>", "<embed><embed></body>") for name, text in served.pages.items()}
    with pytest.raises(BuildError) as caught:
        prove_pages(pages, served.allowed, served.root)
    told = str(caught.value).splitlines()
    assert len(told) == len(pages)
    assert all("<embed>" in line for line in told)


def test_what_an_override_writes_is_allowed_where_it_writes_it(tmp_path: Path) -> None:
    (tmp_path / "main.html").write_text(
        '<div class="club-{{ kind }}" data-a="1"{% if x %} data-b="{{ y }}"{% endif %}>{% block content %}'
        '<aside class="{{ look }}">{% include "deep.html" %}</aside>{% endblock %}</div>',
        "utf-8",
    )
    (tmp_path / "deep.html").write_text('{% set look = "near far--" ~ z %}<hr class="deep">', "utf-8")
    theme, beside = read_theme([tmp_path])
    good = {"class": "club-old", "data-a": "1", "data-b": "anything"}
    assert theme.find_fault("div", good) == ""
    assert theme.find_fault("div", {"class": "club-old"}) == ""
    assert theme.find_fault("div", {**good, "data-a": "2"}) == '<div data-a="2">'
    assert theme.find_fault("div", {**good, "class": "old"}) == '<div class="old">'
    assert theme.find_fault("div", {**good, "id": "x"}) == '<div id="x">'
    assert theme.find_fault("aside", {"class": "near far--off"}) == ""
    assert theme.find_fault("aside", {"class": "off"}) == '<aside class="off">'
    assert theme.find_fault("nav", {}) == "<nav>"
    # Beside the article's text stands what its block and the templates in it write.
    assert beside.find_fault("hr", {"class": "deep"}) == ""
    assert beside.find_fault("div", good) != ""
