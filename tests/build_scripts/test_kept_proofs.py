"""Proofs kept from build to build: a page is proven again when it, the templates or the code have changed."""

from pathlib import Path

import pytest

from build_scripts.errors import BuildError
from build_scripts.release.kept_proofs import prove_changed_pages

SOUND = (
    '<!DOCTYPE html><html lang="en"><head><title>A</title></head><body><p class="lead">A</p></body></html>'
)
WRONG = SOUND.replace("<p ", "<iframe></iframe><p ")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Templates that write the sound page, and a folder for articles."""
    (tmp_path / "templates").mkdir()
    (tmp_path / "docs").mkdir()
    (tmp_path / "mkdocs.yml").write_text("site_name: A\n", "utf-8")
    (tmp_path / "templates" / "main.html").write_text(SOUND, "utf-8")
    return tmp_path


def prove(folder: Path, **pages: str) -> None:
    found = {f"{name}.html": text for name, text in pages.items()}
    prove_changed_pages(found, [folder / "templates"], folder, folder / "proven.json")


def test_a_wrong_page_is_refused_whatever_was_proven_before(folder: Path) -> None:
    prove(folder, a=SOUND)
    for _ in range(2):
        with pytest.raises(BuildError, match="iframe"):
            prove(folder, a=WRONG)
        with pytest.raises(BuildError, match=r"b\.html.*iframe"):
            prove(folder, a=SOUND, b=WRONG)
    prove(folder, a=SOUND)


def test_a_page_is_proven_anew_with_other_templates(folder: Path) -> None:
    prove(folder, a=SOUND)
    template = folder / "templates" / "main.html"
    template.write_text(SOUND.replace("lead", "other"), "utf-8")
    with pytest.raises(BuildError, match="lead"):
        prove(folder, a=SOUND)


def test_what_was_proven_is_not_proven_again(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    prove(folder, a=SOUND)
    asked: list[set[str]] = []
    monkeypatch.setattr(
        "build_scripts.release.page_proof.prove_pages", lambda pages, *_: asked.append(set(pages))
    )
    prove(folder, a=SOUND)
    assert asked == []
    prove(folder, a=SOUND, b=SOUND)
    assert asked == [{"b.html"}]


@pytest.mark.parametrize("spoilt", ["", "{", '{"made_by": "x", "kept": {}}'])
def test_a_spoilt_list_means_that_nothing_is_proven(folder: Path, spoilt: str) -> None:
    (folder / "proven.json").write_text(spoilt, "utf-8")
    with pytest.raises(BuildError, match="iframe"):
        prove(folder, a=WRONG)
    prove(folder, a=SOUND)
