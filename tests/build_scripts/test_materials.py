"""What is published is listed, in the page of licences and in the bill of materials, with its version."""

from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import Iterable
from hashlib import sha256
from html import unescape
from importlib.metadata import distribution
from pathlib import Path

import pytest
from cyclonedx.schema import SchemaVersion
from cyclonedx.validation.json import JsonStrictValidator

from build_scripts.authoring.files import list_homes
from build_scripts.environment.progress import Progress
from build_scripts.errors import BuildError
from build_scripts.materials.bill import BILL, make_bill
from build_scripts.materials.components import (
    NPM_LOCK,
    TEXTS,
    Component,
    compile_patterns,
    read_materials,
    read_text,
)
from build_scripts.materials.page import SOURCE, TITLE, render_page
from build_scripts.offline.saved_release import WORKER
from build_scripts.portable.pack import Packed
from build_scripts.site.building import build_site
from build_scripts.site.edition import Edition
from build_scripts.site.served import EDITIONS
from tests.conftest import ROOT
from tests.small_handbook import write_handbook

pytestmark = pytest.mark.prepared

SETTINGS = """\
site_name: A small handbook
site_url: https://club.example/handbook/
nav:
  - Home: index.md
strict: true
validation:
  omitted_files: warn
  absolute_links: warn
  unrecognized_links: warn
  anchors: warn
theme:
  name: material
  custom_dir: build_scripts/theme
  font: false
plugins:
  - search
markdown_extensions:
  - build_scripts.authoring.extension
"""

COMPONENTS = read_materials().components


OVERRIDE = """\
{% extends "base.html" %}
{% set handbook = config.extra.handbook %}
{% block site_meta %}{{ super() }}<script data-site="{{ '.' | url }}"></script>{% endblock %}
{% block extrahead %}
  <script src="{{ handbook.script | url }}" data-runtime="{{ handbook.runtime | url }}" async></script>
{% endblock %}
"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A handbook of one article and one picture, as a host serves it."""
    root = tmp_path_factory.mktemp("club")
    write_club(root)
    return build(root, root / "site")


def write_club(root: Path) -> None:
    write_handbook(root, {"mkdocs.yml": SETTINGS, "docs/index.md": "# Home\n\n![A plug](plug.png)\n"})
    shutil.copyfile(ROOT / "build_scripts/theme/assets/icons/icon-192.png", root / "docs" / "plug.png")


def build(root: Path, site: Path, edition: Edition = EDITIONS[None]) -> Path:
    # The runtime of the same calculators comes from the cache of this checkout.
    build_site(site, Progress(), edition=edition, root=root, cache=ROOT / ".cache")
    return site


def list_files(site: Path) -> list[str]:
    return sorted(path.relative_to(site).as_posix() for path in site.rglob("*") if path.is_file())


def find_unlisted(files: Iterable[str], root: Path) -> list[str]:
    """Which of the published files are neither a component's nor made by the build nor the club's own."""
    materials = read_materials()
    listed = [pattern for component in materials.components for pattern in component.files]
    known = compile_patterns((*listed, *materials.made))
    articles = [path.relative_to(home).as_posix() for home in list_homes(root) for path in home.rglob("*")]
    club = {re.sub(r"(?:(^|/)index)?\.md$", r"\1", name) for name in articles if name.endswith(".md")}
    pages = {f"{stem}{end}" for stem in club for end in ("index.html", "/index.html", ".html")}
    return [name for name in files if not known.fullmatch(name) and name not in pages | {*articles}]


def read_theme_sources() -> dict[str, dict[str, str]]:
    """The sources that the theme's source maps name, by package and name; "" where a map has no text.

    Without those of its search, which is not published.
    """
    theme = Path(str(distribution("mkdocs-material").locate_file("material/templates/assets")))
    packages: dict[str, dict[str, str]] = {}
    for path in sorted(set(theme.rglob("*.map")) - set(theme.glob("javascripts/workers/*"))):
        read = json.loads(path.read_text("utf-8"))
        texts = read.get("sourcesContent") or [""] * len(read["sources"])
        for name, text in zip(read["sources"], texts, strict=True):
            if found := re.search(r"node_modules/((?:@[^/]+/)?[^/]+)/(.*)", name):
                packages.setdefault(found[1], {})[found[2]] = text
    return packages


def hash_sources(sources: dict[str, str]) -> str:
    return sha256("".join(f"{name}\0{text}\0" for name, text in sorted(sources.items())).encode()).hexdigest()


def test_every_published_file_is_listed(site: Path) -> None:
    assert find_unlisted(list_files(site), site.parent) == []


def test_every_file_of_the_portable_edition_is_listed(small_handbook: Path, packed: Packed) -> None:
    assert find_unlisted(list_files(packed.folder), small_handbook) == []


def test_a_font_that_nobody_listed_is_found(site: Path) -> None:
    files = [*list_files(site), "assets/fonts/plain.woff2", "stray/index.html"]
    assert find_unlisted(files, site.parent) == ["assets/fonts/plain.woff2", "stray/index.html"]


def test_every_component_is_published(site: Path) -> None:
    files = list_files(site)
    assert [component.name for component in COMPONENTS if not component.find_files(files)] == []


def test_every_pattern_fits_a_file_of_an_edition(site: Path, packed: Packed) -> None:
    files = [*list_files(site), *list_files(packed.folder)]
    patterns = [*read_materials().made]
    patterns += [pattern for component in COMPONENTS for pattern in component.files + component.inside]
    assert [name for name in patterns if not any(map(compile_patterns([name]).fullmatch, files))] == []


def test_every_package_in_the_themes_source_maps_is_listed() -> None:
    assert set(read_theme_sources()) == {component.package for component in COMPONENTS} - {""}


@pytest.mark.parametrize("component", [one for one in COMPONENTS if one.package and one.version])
def test_the_theme_has_the_listed_version_of_a_package(component: Component) -> None:
    found = hash_sources(read_theme_sources()[component.package])
    assert found == component.sha256, f"{component.name} in the theme has changed: look up its version"


@pytest.mark.parametrize("component", [one for one in COMPONENTS if one.sha256 and not one.package])
def test_files_are_those_of_the_listed_version(component: Component, site: Path) -> None:
    own = compile_patterns(component.files)
    found = {name: (site / name).read_text("utf-8") for name in list_files(site) if own.fullmatch(name)}
    assert hash_sources(found) == component.sha256, f"{component.name} has changed: look up its version"


@pytest.mark.parametrize("component", [one for one in COMPONENTS if one.seen])
def test_what_is_compiled_in_is_there_in_the_listed_version(component: Component, site: Path) -> None:
    pattern, words = component.seen
    (path,) = site.glob(pattern)
    assert component.find_files([path.relative_to(site).as_posix()])
    assert component.version in words
    assert words.encode() in path.read_bytes()


def test_versions_come_from_what_is_installed_or_are_compared() -> None:
    listed = (TEXTS.parent / "components.toml").read_text("utf-8")
    written = re.findall(r'^version = "([^":]+)"$', listed, re.MULTILINE)
    compared = [one.version for one in COMPONENTS if one.version and (one.seen or one.sha256)]
    assert written == compared
    npm = json.loads(NPM_LOCK.read_text("utf-8"))["packages"]
    versions = {one.name: one.version for one in COMPONENTS}
    assert versions["Pyodide"] == npm["node_modules/pyodide"]["version"]
    # All parts of it are published together.
    parts = {row["version"] for name, row in npm.items() if "workbox" in name}
    assert parts == {versions["Workbox"]}


def test_every_text_of_a_licence_is_used_and_whole() -> None:
    used = {source for component in COMPONENTS for source in component.texts}
    assert {path.name for path in TEXTS.iterdir()} == {
        name for name in used if ":" not in name and "/" not in name
    }
    for source in used:
        assert len(read_text(source)) > 200, source


@pytest.fixture(params=["served", "portable"])
def edition(request: pytest.FixtureRequest, site: Path, packed: Packed) -> Path:
    """The folder of either edition."""
    return site if request.param == "served" else packed.folder


def find_page(edition: Path) -> Path:
    (page,) = (
        edition / name for name in ("made-of.html", "made-of/index.html") if (edition / name).is_file()
    )
    return page


def test_every_page_leads_to_the_licences(edition: Path) -> None:
    pages = [path for path in edition.rglob("*.html") if path.name != "404.html"]
    assert len(pages) > 1
    for path in pages:
        (address,) = re.findall(rf'<a href="([^"]*)">{TITLE}</a></p>', path.read_text("utf-8"))
        target = (path.parent / address).resolve()
        assert (target / "index.html" if target.is_dir() else target) == find_page(edition).resolve()


def test_the_page_holds_every_component_and_its_texts(edition: Path) -> None:
    page = find_page(edition).read_text("utf-8")
    files = list_files(edition)
    texts = [unescape(text) for text in re.findall(r"<pre><code>(.*?)</code></pre>", page, re.DOTALL)]
    shown = 0
    for component in COMPONENTS:
        rows = page.count(f"<tr><td>{component.title}</td><td>")
        assert rows == bool(component.find_files(files)), component.name
        if rows:
            shown += 1
            for source in component.texts:
                assert read_text(source) in texts, source
    assert shown > 20
    (bill,) = re.findall(rf'href="([^"]*{re.escape(BILL)})"', page)
    assert (find_page(edition).parent / bill).is_file()


def test_the_page_is_no_article(site: Path) -> None:
    found = json.loads((site / "search" / "index.json").read_text("utf-8"))["index"]["storedFields"].values()
    assert not [place for place in found if place["url"].startswith("made-of")]
    home = (site / "index.html").read_text("utf-8")
    assert home.count("made-of/") == 1
    assert SOURCE.splitlines()[-1] not in find_page(site).read_text("utf-8")


def test_page_and_bill_are_in_the_saved_copy(site: Path) -> None:
    saved = (site / WORKER).read_text("utf-8")
    assert '"url":"made-of/"' in saved
    assert f'"url":"{BILL}"' in saved


def test_the_bill_is_valid(edition: Path) -> None:
    text = (edition / BILL).read_text("utf-8")
    assert JsonStrictValidator(SchemaVersion.V1_6).validate_str(text) is None
    spoiled = text.replace('"type": "library"', '"type": "thing"', 1)
    assert JsonStrictValidator(SchemaVersion.V1_6).validate_str(spoiled) is not None


def test_the_bill_lists_components_and_files_with_their_hashes(edition: Path) -> None:
    bill = json.loads((edition / BILL).read_text("utf-8"))
    files = list_files(edition)
    listed = {row["name"]: row for row in bill["components"] if row["type"] == "library"}
    assert set(listed) == {component.name for component in COMPONENTS if component.find_files(files)}
    for component in COMPONENTS:
        if component.name in listed:
            places = {row["location"] for row in listed[component.name]["evidence"]["occurrences"]}
            assert places == set(component.find_files(files)), component.name
            assert listed[component.name].get("version", "") == component.version
    hashed = {row["name"]: row["hashes"][0]["content"] for row in bill["components"] if row["type"] == "file"}
    assert {name for name in files if name.startswith("runtime/")} <= set(hashed)
    for name, digest in hashed.items():
        assert digest == sha256((edition / name).read_bytes()).hexdigest(), name
    assert not re.search(r"timestamp|serialNumber", json.dumps(bill))


def test_the_bill_says_only_what_the_files_say(site: Path, tmp_path: Path) -> None:
    """Another checkout, another name and other words make the same bill, and a kept one is the same."""
    root = tmp_path / "elsewhere"
    root.mkdir()
    write_club(root)
    (root / "docs" / "index.md").write_text("# Home\n\nOther words.\n\n![A plug](plug.png)\n", "utf-8")
    assert (build(root, tmp_path / "other") / BILL).read_bytes() == (site / BILL).read_bytes()
    holding = [(component, component.find_files(list_files(site))) for component in COMPONENTS]
    first = make_bill(holding, {"a.js": "0" * 64}, tmp_path / "bills")
    (kept,) = (tmp_path / "bills").iterdir()
    assert make_bill(holding, {"a.js": "0" * 64}, tmp_path / "bills") == first == kept.read_text("utf-8")
    assert make_bill(holding, {"a.js": "1" * 64}, tmp_path / "bills") != first


def test_former_bills_are_forgotten(tmp_path: Path) -> None:
    for number in range(25):
        (tmp_path / f"{number:064}.json").write_text("{}", "utf-8")
        os.utime(tmp_path / f"{number:064}.json", (number, number))
    make_bill([], {}, tmp_path)
    left = sorted(path.name for path in tmp_path.iterdir())
    assert len(left) == 20
    assert f"{5:064}.json" not in left
    assert f"{6:064}.json" in left


def test_a_switched_off_copy_holds_no_library_for_it(site: Path) -> None:
    off = build(site.parent, site.parent / "off", EDITIONS[False])
    names = {row["name"] for row in json.loads((off / BILL).read_text("utf-8"))["components"]}
    assert "Workbox" not in names
    assert "Pyodide" in names


@pytest.mark.parametrize(
    ("name", "named"), [("made-of.md", "made-of.md"), ("made-of/index.md", "made-of"), (BILL, BILL)]
)
def test_a_file_in_the_way_is_refused(name: str, named: str, tmp_path: Path) -> None:
    root = tmp_path / "club"
    root.mkdir()
    write_club(root)
    path = root / "docs" / name
    path.parent.mkdir(exist_ok=True)
    path.write_text("# Ours\n", "utf-8")
    with pytest.raises(BuildError, match=rf"docs/{re.escape(named)}:1: .* is where the handbook puts files"):
        build(root, tmp_path / "site")


def test_a_theme_that_hides_the_page_is_refused(tmp_path: Path) -> None:
    root = tmp_path / "club"
    root.mkdir()
    write_club(root)
    main = root / "build_scripts" / "theme" / "main.html"
    main.write_text(main.read_text("utf-8") + "{% block content %}{% endblock %}\n", "utf-8")
    with pytest.raises(BuildError, match=r"made-of/index\.html: the theme does not show the text"):
        build(root, tmp_path / "site")


def test_another_club_with_another_theme_override_has_the_page(tmp_path: Path) -> None:
    root = tmp_path / "club"
    root.mkdir()
    write_club(root)
    theme = root / "build_scripts" / "theme"
    (theme / "main.html").write_text(OVERRIDE, "utf-8")
    settings = SETTINGS.replace("Home: index.md", "Start: index.md")
    (root / "mkdocs.yml").write_text(settings, "utf-8")
    assert "<td>Pyodide " in find_page(build(root, tmp_path / "site")).read_text("utf-8")


def test_what_a_text_says_is_written_as_text(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    package = tmp_path / "sharp"
    package.mkdir()
    (package / "LICENSE").write_text('<script>alert("x")</script> & Söhne\n', "utf-8")
    monkeypatch.setenv("HANDBOOK_NODE_MODULES", str(tmp_path))
    sharp = Component("<b>", "MIT", "pkg:npm/sharp", "Is & stays.", ("npm:sharp:LICENSE",), files=("a.js",))
    page = render_page([(sharp, ["a.js"])], BILL)
    assert "&lt;script&gt;alert(&quot;x&quot;)&lt;/script&gt; &amp; Söhne" in page
    assert "<td>&lt;b&gt;</td><td>Is &amp; stays.</td>" in page
    assert not set(re.findall(r"<(\w+)", page)) & {"b", "script"}
