"""Parts and materials: every row of every file names its source."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from calculators.parts import read_rows

FOLDER = Path(__file__).resolve().parents[3] / "calculators" / "parts"
FILES = sorted(FOLDER.glob("*.toml"))


def test_there_are_tables() -> None:
    assert FILES


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_row_has_a_source(path: Path) -> None:
    rows = read_rows(path.stem)
    assert len(rows) == len(tomllib.loads(path.read_text("utf-8"))["row"]) > 0
    for row in rows:
        assert isinstance(row["source"], str)
        assert len(row["source"]) > 10, row


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_table_says_at_its_head_what_it_is(path: Path) -> None:
    assert path.read_text("utf-8").startswith("# ")


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_no_row_stands_twice(path: Path) -> None:
    rows = [tuple(sorted((key, str(value)) for key, value in row.items())) for row in read_rows(path.stem)]
    assert len(rows) == len(set(rows))


def test_rows_are_kept_and_cannot_be_changed() -> None:
    rows = read_rows(FILES[0].stem)
    assert read_rows(FILES[0].stem) is rows
    with pytest.raises(TypeError):
        rows[0]["source"] = "other"  # type: ignore[index]


def test_a_table_that_does_not_exist_is_an_error() -> None:
    with pytest.raises(FileNotFoundError, match=r"nowhere\.toml"):
        read_rows("nowhere")


def test_a_row_without_a_source_is_refused(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "bare.toml").write_text('[[row]]\nsource = "A handbook"\n[[row]]\nvalue = 1\n', "utf-8")
    # Tables are read from the folder of their package's file.
    monkeypatch.setattr("calculators.parts.__file__", str(tmp_path / "__init__.py"))
    with pytest.raises(ValueError, match=r"bare\.toml: row 2 names no source"):
        read_rows("bare")
    (tmp_path / "headed.toml").write_text('source = "A handbook"\n[[row]]\nvalue = 1\n', "utf-8")
    assert read_rows("headed")[0]["source"] == "A handbook"
