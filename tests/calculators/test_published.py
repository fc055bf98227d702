"""How published cases are read, compared and written: tolerances, misprints, words, rivals, the page."""

from pathlib import Path

import pytest

from tests.calculators.guide import load_example
from tests.calculators.published import HEADING, Published, Quantity, read_published

CONTACT = load_example()
PAGE = f"# Contact heat\n\nWords.\n\n{HEADING}\n"
QUANTITIES: dict[str, Quantity] = {
    "Half": lambda whole: float(whole) / 2,
    "Word": lambda whole: "hot" if float(whole) > 1 else "cold",
    "Nothing": lambda whole: None,
    "Nothing given": lambda whole, more: float(whole) / 2,
}


def read(folder: Path, text: str, page: str = PAGE) -> Published:
    file, beside = folder / "published.toml", folder / "contact-heat.md"
    file.write_text(text, "utf-8")
    beside.write_text(page, "utf-8")
    return read_published(CONTACT, file, beside, QUANTITIES)


def write_group(of: str, rows: str, more: str = "") -> str:
    return f'[[group]]\nsource = "A book"\nof = "{of}"\n{more}\nrows = [{rows}]\n'


def check(folder: Path, text: str) -> None:
    for case in read(folder, text).cases:
        case.check()


# 2 A through 50 mΩ lose 100 mV and make 0.2 W (Ohm, Joule); half of 2.468 is 1.234.
@pytest.mark.parametrize(
    ("of", "more", "row", "agrees"),
    [
        ("drop", 'unit = "mV"', 'current = "2 A", resistance = "50 mohm", printed = "100"', True),
        ("heat", 'unit = "W"', 'current = "2 A", resistance = "50 mohm", printed = "0.2"', True),
        ("heat", 'unit = "kW"', 'current = "2 A", resistance = "50 mohm", printed = "0.0002"', True),
        # Half a unit of the last printed place, on either side.
        ("Half", "", 'whole = "2.468", printed = "1.23"', True),
        ("Half", "", 'whole = "2.4699", printed = "1.23"', True),
        ("Half", "", 'whole = "2.4701", printed = "1.23"', False),
        ("Half", "", 'whole = "2.4501", printed = "1.23"', True),
        ("Half", "", 'whole = "2.4499", printed = "1.23"', False),
        ("Half", "", 'whole = "2.98", printed = "1"', True),
        ("Half", "", 'whole = "3.02", printed = "1"', False),
        # A measure of its own, as a share or in the printed unit.
        ("Half", 'within = "2 %"\nbecause = "old"', 'whole = "203.9", printed = "100.0"', True),
        ("Half", 'within = "2 %"\nbecause = "old"', 'whole = "204.1", printed = "100.0"', False),
        ("Half", 'within = "3"\nbecause = "old"', 'whole = "205.9", printed = "100.0"', True),
        ("Half", 'within = "3"\nbecause = "old"', 'whole = "206.1", printed = "100.0"', False),
        ("Half", "", 'whole = "206.1", printed = "100.0", within = "4", because = "old"', True),
        # A misprint is not met, and what should stand there is.
        ("Half", "", 'whole = "2.468", printed = "12.34", misprint = "point", instead = "1.23"', True),
        ("Half", "", 'whole = "2.468", printed = "12.34", misprint = "point", instead = "1.25"', False),
        ("Half", "", 'whole = "2.468", printed = "1.23", misprint = "none", instead = "1.234"', False),
        ("Word", "", 'whole = "2", printed = "hot"', True),
        ("Word", "", 'whole = "2", printed = "red", means = "hot"', True),
        ("Word", "", 'whole = "2", printed = "blue", means = "cold"', False),
        ("Nothing", "", 'whole = "2", printed = "1"', False),
    ],
)
def test_a_figure_agrees_or_not(tmp_path: Path, of: str, more: str, row: str, agrees: bool) -> None:
    text = write_group(of, f"{{ {row} }}", more)
    if agrees:
        check(tmp_path, text)
    else:
        with pytest.raises(AssertionError):
            check(tmp_path, text)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (write_group("Half", '{ whole = "2", printed = "1" }', 'within = "3 %"'), "needs a reason"),
        (
            write_group("Half", '{ whole = "2", printed = "9", misprint = "x" }'),
            "needs what should stand there",
        ),
        (
            write_group("Half", '{ whole = "2", printed = "9", instead = "1" }'),
            "needs what should stand there",
        ),
        (write_group("heat", '{ printed = "9" }', 'unit = "V"'), "“V” is not a unit of power"),
        (
            write_group("Half", '{ whole = "2", printed = "9" }', 'unit = "furlong"'),
            "“furlong” is not a unit",
        ),
    ],
)
def test_a_file_that_says_too_little_is_refused(tmp_path: Path, text: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        read(tmp_path, text)


RIVALS = """
[[rivals]]
title = "Two rules"
text = "They differ."
of = "Half"
unit = "%"
decides = "{decides}"
columns = ["Whole", "One", "Other"]
rows = [["{whole}", "50", "{other}"], ["0.8", "", "40"]]
"""


@pytest.mark.parametrize(
    ("decides", "whole", "other", "agrees"),
    [
        ("least", "1", "60", True),
        ("least", "1", "50", True),
        ("least", "1", "49", False),
        ("least", "1.01", "60", False),
        ("Other", "1.2", "60", True),
        ("Other", "1", "60", False),
        ("Third", "1", "60", False),
    ],
)
def test_the_rule_that_decides_is_the_calculators(
    tmp_path: Path, decides: str, whole: str, other: str, agrees: bool
) -> None:
    text = write_group("Half", '{ whole = "2", printed = "1" }')
    (rivals,) = read(tmp_path, text + RIVALS.format(decides=decides, whole=whole, other=other)).rivals
    if agrees:
        rivals.check()
    else:
        with pytest.raises(AssertionError):
            rivals.check()


def test_the_page_ends_with_the_tables(tmp_path: Path) -> None:
    quiet = write_group("Half", '{ whole = "2.468", printed = "1.23" }')
    words = write_group("Word", '{ whole = "2", printed = "red", means = "hot" }')
    slip = write_group(
        "Half",
        '{ whole = "-2.468", printed = "-12.34", misprint = "x", instead = "-1.23" },'
        '{ whole = "-2", printed = "-1", within = "3 %", because = "new" }',
        'unit = "V"\nwithin = "1 %"\nbecause = "o"',
    )
    wide = write_group(
        "Nothing given",
        '{ printed = "1.0" }, { printed = "0.9", within = "1", because = "x" }',
        'given = { whole = "2", more = "" }',
    )
    # What holds for all rows of a group stands with the row where there is only one.
    lone = write_group("Half", '{ printed = "2" }', 'given = { whole = "4" }')
    told = read(
        tmp_path, quiet + words + slip + wide + lone + RIVALS.format(decides="least", whole="1", other="60")
    )
    above, _, below = told.write_page().partition(f"\n{HEADING}\n")
    assert above == "# Contact heat\n\nWords.\n"
    assert [line for line in below.partition("###")[0].splitlines() if "whole" in line] == [
        "| A book. Half | whole = 2.468 | 1.23 | 1.2340 | +0.0040 |  |",
        "| A book. Word | whole = 2 | red | hot | none |  |",
        "| A book. Half. *within* 1 %: o | whole = -2.468 | −12.34 V | −1.2340 | +11.1060 | misprint: x |",
        "|  | whole = -2 | −1 V | −1.00 | 0 | *within* 3 %: new |",
        "| A book. Nothing given, with whole = 2; more empty |  | 1.0 | 1.000 | 0 |  |",
        "| A book. Half | whole = 4 | 2 | 2.00 | 0 |  |",
    ]
    assert "### Two rules\n\nThey differ.\n\n| Whole | One | Other | This calculator | Decides |\n" in below
    assert "| 1 | 50 % | 60 % | 50 % | One |\n| 0.8 |  | 40 % | 40 % | Other |\n" in below
    for sentence in ("last printed place.", "Where it says *within*", "answers in words"):
        assert sentence in below
        assert sentence not in read(tmp_path, "group = []").write_page()


def test_a_bar_within_a_cell_is_no_end_of_it_and_no_column_stays_empty(tmp_path: Path) -> None:
    text = write_group("Half", '{ whole = "1", printed = "0.5" }').replace("A book", "This || that")
    assert "| This \\|\\| that. Half | whole = 1 | 0.5 | 0.500 | 0 |\n" in read(tmp_path, text).write_page()


def test_a_page_is_compared_and_written_only_when_asked(
    tmp_path: Path, pytestconfig: pytest.Config, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = read(tmp_path, write_group("Half", '{ whole = "2", printed = "1" }'))
    monkeypatch.setattr(pytestconfig.option, "write_tables", False)
    with pytest.raises(
        AssertionError, match=r"contact-heat\.md are not those of published\.toml; write them"
    ):
        told.check_page(pytestconfig)
    assert told.page.read_text("utf-8") == PAGE
    monkeypatch.setattr(pytestconfig.option, "write_tables", True)
    told.check_page(pytestconfig)
    monkeypatch.setattr(pytestconfig.option, "write_tables", False)
    told.check_page(pytestconfig)
    # What was written before is replaced, not added to.
    assert told.page.read_text("utf-8").count(HEADING) == 1


def test_a_page_without_the_heading_is_named(tmp_path: Path, pytestconfig: pytest.Config) -> None:
    told = read(tmp_path, write_group("Half", '{ whole = "2", printed = "1" }'), "# Contact heat\n")
    with pytest.raises(AssertionError, match=r"contact-heat\.md has no “## Published cases”"):
        told.check_page(pytestconfig)
