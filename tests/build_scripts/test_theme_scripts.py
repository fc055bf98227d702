"""The theme's script is put off: in every page, at any depth; a theme that has changed is noticed."""

from __future__ import annotations

from pathlib import Path

import pytest

from build_scripts.errors import BuildError
from build_scripts.release.pages import open_pages
from build_scripts.release.theme_scripts import delay_theme_scripts


def write_page(site: Path, name: str, folders: str) -> Path:
    """Write a page as the theme does; `folders` leads from it to the site's own folder."""
    path = site / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(
        f'<head><script>let a = 1;</script><script src="{folders}assets/live.0123456789ab.js" async></script>'
        "</head><body>"
        f'<script src="{folders}assets/javascripts/bundle.def.min.js"></script></body>',
        "utf-8",
    )
    return path


@pytest.mark.parametrize(
    ("name", "folders"),
    [
        ("index.html", ""),
        ("sound/index.html", "../"),
        ("a/b/index.html", "../../"),
        ("404.html", "/handbook/"),
    ],
)
def test_the_themes_script_waits_for_the_handbooks(tmp_path: Path, name: str, folders: str) -> None:
    page = write_page(tmp_path, name, folders)
    with open_pages(tmp_path) as pages:
        delay_theme_scripts(pages)
    text = page.read_text("utf-8")
    theme = f"{folders}assets/javascripts/bundle.def.min.js"
    assert f'<script src="{folders}assets/live.0123456789ab.js" data-theme="{theme}" async></script>' in text
    assert text.count("<script src=") == text.count(theme) == 1
    assert "<script>let a = 1;</script>" in text


def test_a_theme_that_names_its_script_otherwise_is_noticed(tmp_path: Path) -> None:
    write_page(tmp_path, "index.html", "")
    page = write_page(tmp_path, "sound/index.html", "../")
    page.write_text(page.read_text("utf-8").replace("assets/javascripts/bundle", "elsewhere"), "utf-8")
    lost_words = r"sound.index\.html: the theme's scripts are not where they were"
    with pytest.raises(BuildError, match=lost_words), open_pages(tmp_path) as pages:
        delay_theme_scripts(pages)
