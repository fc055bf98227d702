"""The whole build: a mistake stops it with file and line, and the site is replaced whole or not at all."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from build_scripts.environment.progress import Progress
from build_scripts.site import BuildError, build_site, main
from tests.conftest import ROOT

SETTINGS = """\
site_name: A small handbook
site_url: https://club.example/handbook/
nav:
  - Home: index.md
  - Lead: lead.md
strict: true
validation:
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

LEAD = """\
# A lead

``` calculator
wire-gauge: The lead
current = 5 A
length = 1.5 m
```
"""


@pytest.fixture
def handbook(tmp_path: Path) -> Path:
    """A handbook of two pages with the real calculators."""
    root = tmp_path / "handbook"
    unwanted = shutil.ignore_patterns("__pycache__")
    shutil.copytree(ROOT / "calculators", root / "calculators", ignore=unwanted)
    shutil.copytree(ROOT / "build_scripts" / "theme", root / "build_scripts" / "theme")
    for name in ("pyproject.toml", "LICENSE"):
        shutil.copyfile(ROOT / name, root / name)
    (root / "docs").mkdir()
    (root / "mkdocs.yml").write_text(SETTINGS, "utf-8")
    (root / "docs" / "index.md").write_text("# Home\n\nSee [the lead](lead.md).\n", "utf-8")
    (root / "docs" / "lead.md").write_text(LEAD, "utf-8")
    return root


def build(handbook: Path) -> Path:
    site = handbook.parent / "site"
    # The runtime of the same calculators comes from the cache of this checkout.
    build_site(site, Progress(), root=handbook, cache=ROOT / ".cache")
    return site


def put_old_site(handbook: Path) -> Path:
    """What a former build has left there."""
    site = handbook.parent / "site"
    (site / "gone").mkdir(parents=True)
    (site / "gone" / "index.html").write_text("old", "utf-8")
    return site


def test_a_build_is_replaced_whole(handbook: Path) -> None:
    site = put_old_site(handbook)
    assert build(handbook) == site
    assert not (site / "gone").exists()
    page = (site / "lead" / "index.html").read_text("utf-8")
    assert 'data-calculator="wire-gauge"' in page
    # Which size it is, is tested with the calculator; here a result has to stand in the page.
    assert re.search(r'data-output="gauge"><dt>[^<]+</dt><dd>\d+ AWG</dd>', page)
    runtime = re.search(r'data-runtime="([^"]+)"', page)
    assert runtime is not None
    folder = (site / "lead" / runtime[1]).resolve()
    assert {"manifest.json", "files.js", "worker.js", "snapshot.bin", "library.bin"} <= {
        path.name for path in folder.iterdir()
    }
    for address in re.findall(r'(?:src|href|data-later)="((?:\.\./)*assets/[^"?#]+)', page):
        assert (site / "lead" / address).is_file(), address
    assert sorted(path.name for path in handbook.parent.iterdir()) == ["handbook", "site"]


def test_the_same_articles_give_the_same_bytes(handbook: Path) -> None:
    pages = []
    for _ in range(2):
        site = build(handbook)
        pages.append({path.relative_to(site): path.read_bytes() for path in site.rglob("*.html")})
    assert pages[0] == pages[1]
    assert pages[0]


@pytest.mark.parametrize(
    ("line", "number", "words"),
    [
        (
            "curent = 5 A",
            5,
            "curent: wire-gauge has no field of this name; did you mean “current”? allowed: current, supply",
        ),
        ("current = 5 m", 5, "“5 m” is a length"),
        ("current = 5000 A", 5, "at most 400 A"),
    ],
)
def test_a_mistake_in_a_fence_stops_the_build_and_leaves_the_old_site(
    handbook: Path, line: str, number: int, words: str
) -> None:
    site = put_old_site(handbook)
    (handbook / "docs" / "lead.md").write_text(LEAD.replace("current = 5 A", line), "utf-8")
    with pytest.raises(BuildError) as caught:
        build(handbook)
    told = str(caught.value).replace("\u00a0", " ")
    assert told.startswith(f"docs/lead.md:{number}: ")
    assert words in told
    assert (site / "gone" / "index.html").read_text("utf-8") == "old"
    assert sorted(path.name for path in handbook.parent.iterdir()) == ["handbook", "site"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("See [it](nowhere.md).", "nowhere.md"),
        ("See [it](lead.md#no-such-heading).", "no-such-heading"),
    ],
)
def test_a_broken_link_stops_the_build_and_leaves_the_old_site(handbook: Path, text: str, words: str) -> None:
    site = put_old_site(handbook)
    (handbook / "docs" / "index.md").write_text(f"# Home\n\n{text}\n", "utf-8")
    with pytest.raises(BuildError) as caught:
        build(handbook)
    assert "index.md" in str(caught.value)
    assert words in str(caught.value)
    assert (site / "gone" / "index.html").read_text("utf-8") == "old"
    assert sorted(path.name for path in handbook.parent.iterdir()) == ["handbook", "site"]


@pytest.mark.parametrize("port", ["0", "65536", "-1", "http"])
def test_a_port_that_is_none_is_refused(capsys: pytest.CaptureFixture[str], port: str) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["preview", "--port", port])
    assert ended.value.code == 2
    # RFC 6335: ports are 16 bits wide, and 0 stands for none.
    assert f"“{port}” is not a port; allowed: 1 to 65535" in capsys.readouterr().err


def test_a_fence_with_tabs_is_built(handbook: Path) -> None:
    # Markdown turns tabs into spaces, so that the page's fence is not to the letter that of the file.
    article = LEAD.replace("The lead", "The\tlead")
    (handbook / "docs" / "lead.md").write_text(article, "utf-8")
    page = (build(handbook) / "lead" / "index.html").read_text("utf-8")
    assert 'data-calculator="wire-gauge"' in page
    assert 'data-output="gauge"' in page
