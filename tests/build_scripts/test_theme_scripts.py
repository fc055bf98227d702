"""The theme's scripts are put off: in every page, at any depth; a theme that has changed is noticed."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from urllib.parse import unquote, urljoin

import pytest

from build_scripts.errors import BuildError
from build_scripts.release.pages import Pages, open_pages
from build_scripts.release.theme_scripts import delay_search, delay_theme_scripts

SITE = "https://club.example/handbook/"
LATER = "assets/search_later.0123456789ab.js"


def write_page(site: Path, name: str, folders: str) -> Path:
    """Write a page as the theme does; `folders` leads from it to the site's own folder."""
    settings = {"base": folders or ".", "search": f"{folders}assets/javascripts/workers/search.abc.min.js"}
    path = site / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(
        f'<head><script>let a = 1;</script><script src="{folders}assets/live.0123456789ab.js" async></script>'
        "</head><body>"
        f'<script id="__config" type="application/json">{json.dumps(settings)}</script>'
        f'<script src="{folders}assets/javascripts/bundle.def.min.js"></script></body>',
        "utf-8",
    )
    return path


def read_settings(path: Path) -> dict[str, str]:
    found = re.search(r'type="application/json">(.*?)</script>', path.read_text("utf-8"))
    assert found is not None
    settings: dict[str, str] = json.loads(found[1])
    return settings


@pytest.fixture
def site(tmp_path: Path) -> Path:
    (tmp_path / "assets").mkdir()
    (tmp_path / LATER).write_text("", "utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("name", "folders"),
    [
        ("index.html", ""),
        ("sound/index.html", "../"),
        ("a/b/index.html", "../../"),
        ("404.html", "/handbook/"),
    ],
)
def test_the_themes_script_waits_for_the_handbooks(site: Path, name: str, folders: str) -> None:
    page = write_page(site, name, folders)
    with open_pages(site) as pages:
        delay_theme_scripts(pages)
    text = page.read_text("utf-8")
    theme = f"{folders}assets/javascripts/bundle.def.min.js"
    assert f'<script src="{folders}assets/live.0123456789ab.js" data-theme="{theme}" async></script>' in text
    assert text.count("<script src=") == text.count(theme) == 1
    assert "<script>let a = 1;</script>" in text


@pytest.mark.parametrize(
    ("name", "folders"), [("index.html", ""), ("a/b/index.html", "../../"), ("404.html", "/handbook/")]
)
def test_the_search_worker_is_named_behind_the_one_that_waits(site: Path, name: str, folders: str) -> None:
    page = write_page(site, name, folders)
    with open_pages(site) as pages:
        delay_search(pages, site)
    settings = read_settings(page)
    assert settings["base"] == (folders or ".")
    # As a browser does: the theme makes the address absolute, the script resolves what follows the “?”.
    waiting, _, real = urljoin(SITE + name.removesuffix("index.html"), settings["search"]).partition("?")
    assert waiting == SITE + LATER
    assert urljoin(waiting, unquote(real)) == f"{SITE}assets/javascripts/workers/search.abc.min.js"


@pytest.mark.parametrize(
    ("lost", "delay"),
    [
        ("assets/javascripts/bundle", lambda pages, _: delay_theme_scripts(pages)),
        ("assets/javascripts/workers", delay_search),
    ],
)
def test_a_theme_that_names_its_scripts_otherwise_is_noticed(
    site: Path, lost: str, delay: Callable[[Pages, Path], None]
) -> None:
    write_page(site, "index.html", "")
    page = write_page(site, "sound/index.html", "../")
    page.write_text(page.read_text("utf-8").replace(lost, "elsewhere"), "utf-8")
    lost_words = r"sound.index\.html: the theme's scripts are not where they were"
    with pytest.raises(BuildError, match=lost_words), open_pages(site) as pages:
        delay(pages, site)
