"""Tables as text: how they fall into rows and cells, what is said of wrong ones, and the way back to text."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculators.answers import answer
from calculators.forms.calculator import Calculator
from calculators.forms.fields import QuantityInput, TextInput, WholeInput, ask
from calculators.forms.rows import LONGEST_TEXT, RowsInput
from calculators.notation.errors import CellProblem, InputError, InputErrors
from tests.calculators.rows_sample import LAMPS, ROWS_SAMPLE, Lamp
from tests.calculators.sample import register_sample

BOW = Lamp(place="Bow", current=0.5, count=1, colour="warm", length=None)
STERN = Lamp(place="Stern", current=1.0, count=2, colour="cold", length=3.0)


def refuse(text: str, rows: RowsInput[Lamp] = LAMPS) -> InputError:
    with pytest.raises(InputError) as caught:
        rows.read(text)
    assert (caught.value.field, caught.value.label, caught.value.given) == ("lamps", "Lamps", text)
    return caught.value


@pytest.mark.parametrize(
    "text",
    [
        "Bow,0.5 A\nStern,1 A,2,cold,3 m",
        "Bow, 500 mA, 1, warm,\r\n\r\n  # a note\nStern , 1 ,2, COLD, 3\n",
        "Bow\t0,5 A\nStern\t1 A\t2\tcold\t3 m",
        "Bow; 0,5 A\nStern; 1 A; 2; cold; 3,0 m",
        'Bow,"0,5 A"\r"Stern",1 A,2,"cold" , "3,0 m"',
        "Place,Current,Strings,Colour,Lead\nBow,0.5 A\nStern,1 A,2,cold,3 m",
        "lead; COLOUR; Place; count; current\n;;Bow;;0,5 A\n3 m;cold;Stern;2;1 A",
        # Where a tab or a semicolon stands in quotation marks, it separates nothing.
        'Bow,0.5 A,,"warm"\n"Stern",1 A,2,cold,3 m',
    ],
)
def test_ways_to_write_the_same_rows(text: str) -> None:
    assert LAMPS.read(text) == (BOW, STERN)


def test_what_stands_in_quotation_marks_separates_nothing() -> None:
    text = '"a;b\tc, ""d"" e",0.5 A\n" # f ",1 A'
    assert [lamp.place for lamp in LAMPS.read(text) or ()] == ['a;b\tc, "d" e', "# f"]
    assert LAMPS.list_rows(text)[1][0] == " # f "


def test_a_mark_of_inches_is_no_quotation_mark() -> None:
    assert LAMPS.read('Bow, 0.5 A, 1, warm, 12"') == (replace(BOW, length=12 * 0.0254),)


def test_an_empty_cell_takes_its_columns_default_or_nothing() -> None:
    assert LAMPS.read("Bow,0.5 A,,,") == LAMPS.read("Bow,0.5 A") == (BOW,)


def test_every_wrong_cell_is_named_by_row_and_column() -> None:
    error = refuse("Bow, x\nStern, 1 A, 2.5\n\nMast, 2 A\n, 30 A")
    assert [(cell.row, cell.column) for cell in error.cells] == [
        (1, "current"),
        (2, "count"),
        (4, "place"),
        (4, "current"),
    ]
    assert error.problem.startswith("row 1, Current: “x” ")
    assert ". Row 2, Strings: “2.5” is not a whole number; allowed: a whole number from 1 to 12. Row 4" in (
        error.problem
    )
    assert "Row 4, Place: nothing is entered; give a word or two" in error.problem


def test_only_so_many_problems_are_told() -> None:
    told = refuse("\n".join(["a, x"] * 8))
    assert told.problem.count("Row ") == 7
    assert "more to mend" not in told.problem
    more = refuse("\n".join(["a, x"] * 9))
    assert more.problem.endswith(". And 1 more to mend")
    assert len(more.cells) == 9


def test_a_row_may_refuse_what_does_not_go_together() -> None:
    assert LAMPS.read("Bow, 1 A, 6, red")
    assert refuse("Bow, 1 A, 6, red\nBow, 1 A, 7, red").cells == (
        CellProblem(2, "count", "of red there are at most 6; lower the number"),
    )


def test_too_many_cells_are_refused() -> None:
    assert refuse("Bow, 0,5 A, 1, warm, 3 m").problem == (
        "row 1: 6 cells for 5 columns; a cell that holds a comma stands in quotation marks"
    )
    assert "holds a semicolon stands" in refuse("a;1;1;warm;1;2").problem
    assert "holds a tab stands" in refuse("a\t1\t1\twarm\t1\t2").problem
    assert "1 cell " not in refuse("Place, Current\na,1,2").problem


@pytest.mark.parametrize("text", ['"Bow, 1 A', '"Bow" Mast, 1 A', '"Bow"Mast", 1 A', 'Bow, "1 A\nA"'])
def test_quotation_marks_that_do_not_pair_are_refused(text: str) -> None:
    assert "a cell that begins with a quotation mark ends with one" in refuse(text).problem


@pytest.mark.parametrize(
    ("heading", "problem"),
    [
        ("Place, Curent, Strings", "“Curent” is no column; did you mean “current”? allowed: Place, Current,"),
        ("Place, Current, Place", "“Place” names a column that is there already; keep one"),
        ("Place, Strings", "“Current” is missing, which every row needs; add it"),
        ("Place, , Current", "a column has no heading; name it"),
        ('Place, Current, "Lead', "a cell that begins with a quotation mark"),
    ],
)
def test_a_heading_is_checked(heading: str, problem: str) -> None:
    error = refuse(f"{heading}\nBow, 1 A")
    assert problem in error.problem
    assert error.problem.startswith("the line of headings: ")
    assert {cell.row for cell in error.cells} == {0}


def test_a_heading_names_more_columns_than_not() -> None:
    # One of two is a row, whose place bears a column's name.
    assert LAMPS.read("Colour, 1 A") == (replace(BOW, place="Colour", current=1.0),)
    assert refuse("Colour, Strings").cells[0].row == 0


@pytest.mark.parametrize(
    ("lowest", "highest", "told"), [(2, 3, "2 to 3 rows"), (4, 4, "4 rows"), (0, 1, "0 to 1 row")]
)
def test_the_number_of_rows_has_limits(lowest: int, highest: int, told: str) -> None:
    rows = replace(LAMPS, lowest=lowest, highest=highest)
    for number in range(6):
        text = "\n".join(["a, 1 A"] * number)
        if lowest <= number <= highest:
            assert len(rows.read(text) or ()) == number
        else:
            count = "1 row" if number == 1 else f"{number} rows"
            assert refuse(text, rows).problem == f"{count}; allowed: {told}"


def test_a_long_text_is_refused_before_it_is_read() -> None:
    row = "a, 1 A\n"
    assert LAMPS.read(row + "#" * (LONGEST_TEXT - len(row)))
    assert (
        "20001 characters long; allowed: at most 20000"
        in refuse(row + "#" * (LONGEST_TEXT - len(row) + 1)).problem
    )


def test_an_optional_table_may_be_empty() -> None:
    assert replace(LAMPS, optional=True).read(" \n") is None


SPELT = "this is written in rows of “lamps” now, each in a line of its own: "


def test_what_was_once_written_is_spelt_out_in_rows() -> None:
    assert refuse("Bow: 0.5 A; Stern: 1 A").problem == f"{SPELT}“Bow, 0.5 A”, “Stern, 1 A”"
    assert refuse("lamps = Bow: 0.5 A\n").problem == f"{SPELT}“Bow, 0.5 A”"
    # A page puts what other fields held into the table that has it now.
    assert refuse("mast = 2 A\nlamps = Bow: 1 A\n").problem == f"{SPELT}“Bow, 1 A”, “Mast, 2 A”"
    assert LAMPS.read("mast, 2 A")
    assert "row 1, Place" not in refuse("hull = 2 A").problem


def test_a_field_of_a_former_edition_says_where_its_figures_are_now() -> None:
    with pytest.raises(InputErrors) as caught:
        ROWS_SAMPLE.read({"supply": "12 V", "mast": "2 A", "mats": "2 A"})
    mast, other = caught.value.errors
    assert (mast.field, mast.given, mast.problem) == ("mast", "2 A", f"{SPELT}“Mast, 2 A”")
    assert "sample-lamps has no field of this name" in other.problem


def test_the_line_of_a_row_is_found() -> None:
    text = "# note\nplace, current\n\nBow, 1 A\n# note\nStern, 1 A"
    assert [LAMPS.find_line(text, row) for row in (0, 1, 2)] == [1, 3, 5]
    assert LAMPS.find_line("Bow, 1 A\nStern, 1 A", 2) == 1


def test_columns_that_could_be_confused_are_refused() -> None:
    @dataclass(frozen=True, kw_only=True)
    class Confused:
        one: int = ask(WholeInput(label="Two", lowest=0, highest=1))
        two: int = ask(WholeInput(label="Three", lowest=0, highest=1))

    @dataclass(frozen=True, kw_only=True)
    class Nested:
        lamps: tuple[Lamp, ...] = ask(LAMPS)

    with pytest.raises(ValueError, match="two columns have the same name or label"):
        RowsInput(label="Bad", row=Confused)
    with pytest.raises(ValueError, match="a row cannot hold rows"):
        RowsInput(label="Bad", row=Nested)


def test_a_calculator_checks_the_kinds_of_columns() -> None:
    @dataclass(frozen=True, kw_only=True)
    class Wrong:
        speed: float = ask(QuantityInput(label="Speed", kind="warp", unit="c"))

    with pytest.raises(ValueError, match="unknown kind 'warp'"):
        replace(ROWS_SAMPLE, inputs=(RowsInput(name="rows", label="Rows", row=Wrong),))


@dataclass(frozen=True, kw_only=True)
class Word:
    """A row of words."""

    first: str = ask(TextInput(label="First word", reader=str, form="a word", longest=1000))
    second: str = ask(TextInput(label="Second word", reader=str, form="a word", longest=1000))


WORDS = RowsInput(name="words", label="Words", row=Word, lowest=0)
CELL = st.one_of(
    st.text(st.sampled_from(' "\t;,#ab\u00a0'), max_size=6),
    st.text(st.characters(exclude_characters="\r\n"), max_size=6),
    st.sampled_from(["first", "Second word", "SECOND"]),
)


@given(st.lists(st.tuples(CELL, CELL), max_size=6))
def test_what_is_written_is_read_again(rows: Sequence[tuple[str, str]]) -> None:
    text = WORDS.write_rows(rows)
    assert WORDS.list_rows(text) == list(rows)
    assert WORDS.write_rows(WORDS.list_rows(text)) == text


def test_line_ends_within_cells_are_spaces_in_what_is_written() -> None:
    assert WORDS.list_rows(WORDS.write_rows([("a\r\nb", "c\nd")])) == [("a b", "c d")]


@given(st.text(st.sampled_from(' "\t;,#a1\n\r'), max_size=40))
def test_any_text_is_read_or_refused(text: str) -> None:
    cells: Sequence[CellProblem] = ()
    try:
        rows = WORDS.list_rows(text)
    except InputError as error:
        cells = error.cells
        rows = []
    assert all(len(row) == 2 for row in rows)
    for cell in cells:
        assert 0 <= WORDS.find_line(text, cell.row) <= text.count("\n") + text.count("\r")


def test_one_change_in_200_rows_reads_one_row() -> None:
    counted: list[str] = []

    def count(text: str) -> str:
        counted.append(text)
        return text

    @dataclass(frozen=True, kw_only=True)
    class Counted:
        word: str = ask(TextInput(label="Word", reader=count, form="a word"))
        more: str = ask(TextInput(label="More", reader=count, form="a word"))

    rows = RowsInput(name="rows", label="Rows", row=Counted)
    lines = [f"a{number}, b{number}" for number in range(200)]
    assert len(rows.read("\n".join(lines)) or ()) == 200
    assert len(counted) == 400
    counted.clear()
    lines[77] = "changed, b77"
    rows.read("\n".join(lines))
    assert counted == ["changed", "b77"]
    counted.clear()
    # Moved rows are known rows.
    rows.read("\n".join(reversed(lines)))
    assert counted == []


def run(text: str, calculator: Calculator = ROWS_SAMPLE) -> Sequence[str]:
    with pytest.raises(InputErrors) as caught:
        calculator.run({"lamps": text})
    return [str(error) for error in caught.value.errors]


def test_a_calculator_takes_rows_and_refuses_cells() -> None:
    result = ROWS_SAMPLE.run({"lamps": "Bow, 0.5 A\nStern, 1 A, 2"})
    assert result.outputs == {"total": 2.5, "power": 30.0, "rows": 2}
    assert run("Bow, 20 A, 2\nStern, 10 A\nMast, 1 A") == [
        "Lamps: row 3, Current: here all are more than 50 A; lower it"
    ]
    assert run("Bow") == ["Lamps: row 1, Current: nothing is entered; give a figure"]


def test_a_figure_outside_its_usual_range_is_noted_with_its_row() -> None:
    notes = [
        finding.text.write().replace("\u00a0", " ")
        for finding in ROWS_SAMPLE.run({"lamps": "a, 5 A\nb, 6 A\nc, 7 A"}).findings
        if finding.code == "unusual-input"
    ]
    assert notes == ["Lamps, row 2, Current: 6 A is outside the usual 10 mA to 5 A; check that it is meant."]


def test_help_says_how_rows_are_written() -> None:
    allowed = LAMPS.describe_allowed()
    assert allowed.startswith("1 to 200 rows, one a line: Place, Current, [Strings], [Colour], [Lead];")
    assert "tabs" in allowed
    assert "semicolons" in allowed
    assert "commas" in allowed


def test_an_answer_names_the_cells_to_mend() -> None:
    asked = {"calculator": "sample-lamps", "fields": {"lamps": "a, x\nb, 1 A, y"}, "form": "html"}
    with register_sample(ROWS_SAMPLE):
        (error,) = json.loads(answer(json.dumps(asked)))["errors"]
    assert error["cells"] == [[1, "current"], [2, "count"]]
    assert error["field"] == "lamps"
