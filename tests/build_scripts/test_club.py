"""What a club sets for itself: colour, icon, names, language; and the engine's pages beside its articles."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from selectolax.lexbor import LexborHTMLParser

from build_scripts.authoring.articles import check_articles
from build_scripts.authoring.files import PAGES
from build_scripts.club import Club, check_club, find_address
from build_scripts.errors import BuildError
from build_scripts.generator import (
    INDEX,
    OWN_PAGES,
    add_to_navigation,
    list_own_calculators,
    read_settings,
    write_pages,
)
from build_scripts.release.icons import write_icons
from calculators import SLUGS, find_calculator
from calculators.club import SLUGS as CLUB_SLUGS
from tests.conftest import ROOT

SETTINGS = """\
site_name: Ropewalk Fair Handbook
nav:
  - Home: index.md
strict: true
validation:
  omitted_files: warn
  unrecognized_links: warn
  anchors: warn
theme:
  name: material
  custom_dir: build_scripts/theme
  font: false
  language: de
markdown_extensions:
  - build_scripts.authoring.extension
  - admonition
  - tables
  - pymdownx.superfences
"""
ENGINES_OWN = [f"calculators/{slug}.md" for slug in SLUGS if slug not in CLUB_SLUGS]


@pytest.fixture
def handbook(tmp_path: Path) -> Path:
    """A club's handbook with one article, a picture for its icon and the engine's pages."""
    root = tmp_path / "handbook"
    for name in ("pages", "theme"):
        shutil.copytree(ROOT / "build_scripts" / name, root / "build_scripts" / name)
    (root / "docs").mkdir()
    (root / "docs" / "index.md").write_text("# Home\n\n[Offline](offline.md), [sums](calculators/index.md)\n")
    Image.new("RGBA", (600, 600), "#00ff00").save(root / "docs" / "mark.png")
    (root / "mkdocs.yml").write_text(SETTINGS, "utf-8")
    return root


def write(root: Path) -> Path:
    folder = root.parent / "pages"
    written = write_pages(root, folder, "0123456789abcdef", {}, {}, root.parent / "cache")
    assert written.problems == ()
    return folder


def test_colour_icon_name_and_language_are_the_clubs(handbook: Path) -> None:
    extra = 'extra:\n  colour: "#102030"\n  short_name: Ropes\n  icon: mark.png\n'
    (handbook / "mkdocs.yml").write_text(SETTINGS + extra, "utf-8")
    site = write(handbook)
    manifest = json.loads((site / "manifest.json").read_text("utf-8"))
    assert (manifest["name"], manifest["short_name"], manifest["lang"]) == (
        "Ropewalk Fair Handbook",
        "Ropes",
        "de",
    )
    assert (manifest["theme_color"], manifest["background_color"]) == ("#102030", "#102030")
    page = LexborHTMLParser((site / "index.html").read_text("utf-8"))
    (colour,) = page.css('meta[name="theme-color"]')
    assert colour.attributes["content"] == "#102030"
    for icon in manifest["icons"]:
        with Image.open(site / icon["src"]) as drawn:
            side = int(icon["sizes"].partition("x")[0])
            assert drawn.size == (side, side)
            assert drawn.getpixel((side // 2, side // 2)) == (0, 255, 0)
            # Cut to a circle, a maskable icon loses its edge.
            edge = (0x10, 0x20, 0x30) if icon["purpose"] == "maskable" else (0, 255, 0)
            assert drawn.getpixel((1, 1)) == edge
    assert not (site / "assets" / "icons" / "icon.svg").exists()


def test_a_club_that_sets_nothing_has_the_engines(handbook: Path) -> None:
    site = write(handbook)
    manifest = json.loads((site / "manifest.json").read_text("utf-8"))
    assert (manifest["short_name"], manifest["theme_color"]) == ("Ropewalk", Club().colour)
    engines = handbook / "build_scripts" / "theme" / "assets" / "icons" / "icon-192.png"
    assert (site / "assets" / "icons" / "icon-192.png").read_bytes() == engines.read_bytes()


def test_a_picture_with_holes_lies_on_the_clubs_colour(tmp_path: Path) -> None:
    (tmp_path / "assets" / "icons").mkdir(parents=True)
    Image.new("RGBA", (512, 512), "#00000000").save(tmp_path / "mark.png")
    write_icons(tmp_path, tmp_path / "mark.png", "#405060")
    with Image.open(tmp_path / "assets" / "icons" / "icon-180.png") as drawn:
        assert drawn.getpixel((90, 90)) == (0x40, 0x50, 0x60)


@pytest.mark.parametrize(
    ("extra", "words"),
    [
        ({}, []),
        ({"offline": True, "colour": "#00aaFF", "icon": "mark.png", "pictured": "index.md"}, []),
        ({"measured": "offline.md"}, []),
        ({"colour": None}, ["colour: this is not a text; write it between quotation marks"]),
        ({"colour": "#12345"}, ["colour: “#12345” is no colour; write “#” and six of 0-9 and a-f"]),
        ({"colour": "#1234567"}, ["colour: “#1234567” is no colour"]),
        ({"short_name": 7}, ["short_name: this is not a text"]),
        ({"icon": "none.png"}, ["icon: “none.png” is no .png file below docs/; put it there"]),
        ({"icon": "index.md"}, ["icon: “index.md” is no .png file"]),
        ({"icon": "../outside.png"}, ["icon: “../outside.png” is no .png file below docs/"]),
        (
            {"icon": "small.png"},
            ["icon: “small.png” is 511 × 511 pixels; an icon is square, with sides of 512"],
        ),
        ({"icon": "long.png"}, ["icon: “long.png” is 600 × 599 pixels"]),
        ({"icon": "broken.png"}, ["icon: “broken.png” cannot be read; save the picture anew"]),
        ({"pictured": "gone.md"}, ["pictured: “gone.md” is no article; write its file as seen from docs/"]),
        ({"measured": "../docs/index.md"}, ["measured: “../docs/index.md” is no article"]),
        ({"pictured": "mark.png"}, ["pictured: “mark.png” is no article"]),
    ],
)
def test_settings_that_are_wrong_are_told(handbook: Path, extra: dict[str, Any], words: list[str]) -> None:
    docs = handbook / "docs"
    for name, size in {"small": (511, 511), "least": (512, 512), "long": (600, 599)}.items():
        Image.new("RGB", size).save(docs / f"{name}.png")
    shutil.copyfile(docs / "least.png", handbook / "outside.png")
    (docs / "broken.png").write_bytes(b"\x89PNG\r\n\x1a\n")
    told = [said for _, said in check_club(extra, docs, handbook / PAGES)]
    assert len(told) == len(words)
    assert all(said.startswith(start) for said, start in zip(told, words, strict=True))
    assert not list(check_club({"icon": "least.png"}, docs, handbook / PAGES))


def test_a_wrong_setting_is_told_with_its_line(handbook: Path) -> None:
    (handbook / "mkdocs.yml").write_text(f"{SETTINGS}extra:\n  colour: #102030\n", "utf-8")
    line = SETTINGS.count("\n") + 2
    written = write_pages(handbook, handbook.parent / "pages", "0" * 16, {}, {}, handbook.parent / "cache")
    assert [(problem.file, problem.line) for problem in written.problems] == [("mkdocs.yml", line)]
    with pytest.raises(BuildError, match=rf"^mkdocs\.yml:{line}: colour: this is not a text"):
        read_settings(handbook)


@pytest.mark.parametrize(
    ("article", "address"),
    [("index.md", ""), ("a/index.md", "a/"), ("a/b.md", "a/b/"), ("calculators/index.md", "calculators/")],
)
def test_an_article_is_found_at_its_address(article: str, address: str) -> None:
    assert find_address(article) == address


# --- The engine's pages ---


def test_the_engines_pages_stand_by_themselves() -> None:
    # Every link and picture in them leads to another of them.
    pages = ROOT / PAGES
    assert check_articles(pages, ROOT) == []
    names = {path.relative_to(pages).as_posix() for path in pages.rglob("*.md")}
    assert names == {*OWN_PAGES, INDEX, *(name for name in names if name.startswith("calculators/"))}
    for path in sorted(pages.rglob("*.md")):
        text = re.sub(r"^(`{3,}).*?^\1`*$|`[^`\n]+`", "", path.read_text("utf-8"), flags=re.M | re.S)
        for link in re.findall(r"\]\(([^)#]+)", text):
            assert (path.parent / link).resolve().relative_to(pages).as_posix() in names, f"{path}: {link}"


def flatten(items: Any) -> list[Any]:
    """All pages of the contents, in their order."""
    return [page for item in items for page in (flatten(item[2]) if len(item) > 2 else [item])]


def test_the_engines_pages_are_there_without_being_named(handbook: Path) -> None:
    site = handbook.parent / "pages"
    written = write_pages(handbook, site, "0" * 16, {}, {}, handbook.parent / "cache")
    for name in (*OWN_PAGES, INDEX, *ENGINES_OWN):
        assert (site / find_address(name) / "index.html").is_file(), name
    assert [item[1] for item in flatten(written.contents)] == [
        find_address(name) for name in (INDEX, *ENGINES_OWN, *OWN_PAGES)
    ]


@pytest.mark.parametrize("name", ["offline.md", "offline/index.md", "Offline.md"])
def test_an_article_of_the_club_takes_the_place_of_an_engines_page(handbook: Path, name: str) -> None:
    article = handbook / "docs" / name
    article.parent.mkdir(exist_ok=True)
    article.write_text("# Ohne Netz\n", "utf-8")
    (handbook / "docs" / "index.md").write_text("# Home\n", "utf-8")
    # It is linked to from the engine's own pages under the name that it has there.
    if name != "offline.md":
        shutil.rmtree(handbook / PAGES)
        (handbook / PAGES).mkdir()
        (handbook / PAGES / "offline.md").write_text("# Use it offline\n", "utf-8")
        (handbook / "mkdocs.yml").write_text(SETTINGS.replace("index.md", f"index.md\n  - {name}"), "utf-8")
    page = (write(handbook) / find_address(name) / "index.html").read_text("utf-8")
    assert "Ohne Netz" in page
    assert "Use it offline" not in page


def test_a_link_that_breaks_in_an_engines_page_is_told_with_its_file(handbook: Path) -> None:
    (handbook / PAGES / "offline.md").write_text("# Offline\n\n[x](nowhere.md)\n", "utf-8")
    written = write_pages(handbook, handbook.parent / "pages", "0" * 16, {}, {}, handbook.parent / "cache")
    (problem,) = written.problems
    assert (problem.file, problem.line) == (f"{PAGES}/offline.md", 3)


OFFERED = [*OWN_PAGES, INDEX, *ENGINES_OWN]


@pytest.mark.parametrize(
    ("nav", "articles", "then"),
    [
        ([], OFFERED, [{"Calculators": [INDEX, *ENGINES_OWN]}, *OWN_PAGES]),
        (
            [{"Ohne Netz": "offline.md"}, {"Rechner": [INDEX, ENGINES_OWN[1]]}],
            OFFERED,
            [
                {"Ohne Netz": "offline.md"},
                {"Rechner": [INDEX, ENGINES_OWN[1], *ENGINES_OWN[:1], *ENGINES_OWN[2:]]},
                *[name for name in OWN_PAGES if name != "offline.md"],
            ],
        ),
        (
            [{"Mehr": [{"Rechner": [{"Alle": INDEX}]}]}],
            [INDEX, ENGINES_OWN[0]],
            [{"Mehr": [{"Rechner": [{"Alle": INDEX}, ENGINES_OWN[0]]}]}],
        ),
        (["index.md"], ["index.md"], ["index.md"]),
    ],
)
def test_the_navigation_is_added_to(nav: list[Any], articles: list[str], then: list[Any]) -> None:
    add_to_navigation(nav, articles)
    assert nav == then


def test_the_list_of_calculators_names_the_clubs_own() -> None:
    text = (ROOT / PAGES / INDEX).read_text("utf-8")
    assert list_own_calculators(text, ["index.md", *ENGINES_OWN]) == text
    gone = re.sub(r"^\| \[Wire gauge\].*\n", "", text, flags=re.MULTILINE)
    row = f"| [Wire gauge](wire-gauge.md) | {find_calculator('wire-gauge').summary} |\n"
    assert gone != text
    assert list_own_calculators(gone, ["index.md"]) == gone
    added = list_own_calculators(gone, ["calculators/wire-gauge.md"])
    assert re.search(rf"(?m)^\| \[.*\n{re.escape(row)}\n", added)


def test_a_list_brings_in_only_the_calculators_that_come_into_it() -> None:
    code = (
        "import sys\n"
        "from build_scripts.generator import list_own_calculators\n"
        "list_own_calculators('| [One](one.md) | |\\n', {'calculators/wire-gauge.md'})\n"
        "names = ('wire_gauge', 'speaker_load')\n"
        "print(*(name for name in names if f'calculators.{name}.calculator' in sys.modules))\n"
        "print('PIL.Image' in sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    # Pictures are for a club that has an icon of its own.
    assert (done.stdout.split(), done.stderr) == (["wire_gauge", "False"], "")
