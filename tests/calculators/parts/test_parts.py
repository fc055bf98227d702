"""Parts and materials: every row of every file names its source."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from calculators.parts import read_rows
from calculators.parts.schema import TABLES, find_faults

FOLDER = Path(__file__).resolve().parents[3] / "calculators" / "parts"
FILES = sorted(FOLDER.glob("*.toml"))
ADDED = FOLDER.parent / "club"


def test_there_are_tables() -> None:
    assert FILES


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_row_has_a_source(path: Path) -> None:
    rows = read_rows(path.stem)
    files = [path, *(own for own in [ADDED / path.name] if own.is_file())]
    assert len(rows) == sum(len(tomllib.loads(file.read_text("utf-8"))["row"]) for file in files) > 0
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


# --- What a row is held to ---

LED: dict[str, object] = {
    "name": "RGB of our own",
    "about": "three channels",
    "channels": 3,
    "channel_current": 0.015,
    "idle_current": 0.001,
    "bit_rate": 800e3,
    "reset_time": 280e-6,
    "clocked": False,
    "lowest_supply": 4.0,
    "highest_supply": 5.5,
    "high_threshold": 0.7,
    "full_voltage": 4.0,
    "dark_voltage": 3.0,
}
SHIFTER: dict[str, object] = {
    "name": "Another",
    "input_high": 2.0,
    "lowest_supply": 4.5,
    "highest_supply": 5.5,
    "output_drop": 0.1,
}
VIOLET: dict[str, object] = {"code": "VT", "name": "violet", "use": "data"}


def test_every_table_is_declared() -> None:
    assert {path.stem for path in FILES} == set(TABLES)
    assert {path.stem for path in ADDED.glob("*.toml")} <= set(TABLES)


@pytest.mark.parametrize(
    ("table", "row", "told"),
    [
        ("leds", LED, []),
        ("leds", LED | {"source": "A data sheet"}, []),
        ("leds", LED | {"channels": 8}, []),
        ("leds", LED | {"channels": 9}, ["channels “9” is out of its limits; allowed: 1 to 8"]),
        ("leds", LED | {"channels": 0}, ["channels “0” is out of its limits; allowed: 1 to 8"]),
        ("leds", LED | {"channels": 3.5}, ["channels “3.5” is no whole number"]),
        ("leds", LED | {"channels": True}, ["channels “True” is no whole number"]),
        ("leds", LED | {"idle_current": "1 mA"}, ["idle_current “1 mA” is no number"]),
        ("leds", LED | {"clocked": "no"}, ["clocked “no” is neither true nor false"]),
        ("leds", LED | {"name": " "}, ["name “ ” is no text"]),
        ("leds", LED | {"colour": 1}, ["has no column colour; allowed: name, about, channels"]),
        ("leds", {key: LED[key] for key in LED if key != "about"}, ["lacks about"]),
        ("leds", LED | {"dark_voltage": 4.0}, ["dark_voltage is not below full_voltage"]),
        ("leds", LED | {"dark_voltage": 3.99}, []),
        ("leds", LED | {"lowest_supply": 6}, ["lowest_supply is not below highest_supply"]),
        ("logic", SHIFTER, []),
        ("logic", SHIFTER | {"input_high_share": 0.7}, ["needs either input_high or input_high_share"]),
        ("logic", {key: SHIFTER[key] for key in SHIFTER if key != "input_high"}, ["needs either input_high"]),
        ("conductor_colours", VIOLET, []),
        ("conductor_colours", VIOLET | {"use": "mood"}, ["use “mood” is not known; allowed: supply"]),
    ],
)
def test_a_row_is_held_to_its_columns(table: str, row: dict[str, object], told: list[str]) -> None:
    found = list(find_faults(table, row))
    assert len(found) == len(told)
    assert all(fault.startswith(start) for fault, start in zip(found, told, strict=True))


@pytest.fixture
def club(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[Path]:
    """The club's folder, with tables of the test's own."""
    monkeypatch.setattr("calculators.club.__file__", str(tmp_path / "__init__.py"))
    read_rows.cache_clear()
    yield tmp_path
    read_rows.cache_clear()


def test_rows_of_the_clubs_own_come_behind_the_engines(club: Path) -> None:
    before = read_rows("insulation")
    read_rows.cache_clear()
    row = 'name = "felt"\ntemperature = 60\nthermal_resistivity = 6\nsource = "Our own bench"\n'
    (club / "insulation.toml").write_text(f"[[row]]\n{row}", "utf-8")
    *engines, own = read_rows("insulation")
    assert (tuple(engines), own["name"]) == (before, "felt")


def test_a_table_of_figures_stays_in_order(club: Path) -> None:
    (club / "fuses.toml").write_text('[[row]]\nrating = 12\nsource = "Our own drawer"\n', "utf-8")
    ratings = [float(str(row["rating"])) for row in read_rows("fuses")]
    assert ratings == sorted(ratings)
    assert 12.0 in ratings


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[[row]]\nrating = "x"\nsource = "A"', r"^club/fuses\.toml: row 1: rating “x” is no number$"),
        ("[[row]]\nrating = 12", r"^club/fuses\.toml: row 1 names no source$"),
        ('[[row]]\nrating = 1.0\nsource = "A"', r"^fuses\.toml: rating “1\.0” stands twice; give each row"),
    ],
)
def test_a_wrong_row_of_the_club_is_named(club: Path, text: str, words: str) -> None:
    (club / "fuses.toml").write_text(text, "utf-8")
    with pytest.raises(ValueError, match=words):
        read_rows("fuses")
