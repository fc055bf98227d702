"""Results: when they hold, what their guards refuse, and that none of it can be changed afterwards."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import FrozenInstanceError

import pytest

from calculators.notation.errors import NotFiniteError
from calculators.notation.showing import Figure, say
from calculators.results.result import (
    Column,
    Finding,
    LateTable,
    Level,
    Result,
    Rows,
    Table,
)

COLUMNS = (Column("size", "Size"), Column("loss", "Loss", "voltage"))


def leave_alone[T](work: Callable[[], T]) -> T:
    return work()


def make_result(*levels: Level) -> Result:
    return Result(
        {}, say("Take it."), findings=tuple(Finding(level, "code", say("text")) for level in levels)
    )


def test_a_result_holds_without_stop_and_caution() -> None:
    assert make_result().holds
    assert make_result("note", "note").holds
    assert not make_result("note", "caution").holds
    assert not make_result("stop").holds


def test_notes_are_added_to_a_copy() -> None:
    result = make_result("caution")
    low, high = Figure(1.0, "current"), Figure(2.0, "current")
    noted = result.complete(
        [("Current", Figure(3.0, "current"), low, high)], leave_alone, lambda fields: None
    )
    assert [finding.level for finding in noted.findings] == ["caution", "note"]
    assert noted.findings[1].text.write().replace("\u00a0", " ") == (
        "Current: 3 A is outside the usual 1 A to 2 A; check that it is meant."
    )
    assert len(result.findings) == 1
    assert result.complete([], leave_alone, lambda fields: None) == result


def test_the_gravest_findings_come_first_and_keep_their_order() -> None:
    levels: tuple[Level, ...] = ("note", "stop", "caution", "stop", "note", "caution")
    found = tuple(Finding(level, str(place), say("text")) for place, level in enumerate(levels))
    ranked = Result({}, say("Take it."), findings=found).complete([], leave_alone, lambda fields: None)
    assert [finding.code for finding in ranked.findings] == ["1", "3", "2", "5", "0", "4"]


@pytest.mark.parametrize(
    ("rows", "marks", "words"),
    [
        ((("a", 1.0), ("b",)), (), "every row needs 2 cells"),
        ((("a", 1.0),), ("chosen", ""), "give a mark for every row or none"),
        ((("a", 1.0),), ("wrong",), "a mark is one of chosen, stop, caution"),
    ],
)
def test_a_table_that_does_not_fit_is_refused_by_name(
    rows: tuple[tuple[str | float, ...], ...], marks: tuple[str, ...], words: str
) -> None:
    with pytest.raises(ValueError, match=f"table 'sizes': {words}"):
        Table("sizes", "Sizes", COLUMNS, rows, marks)


def test_a_table_that_fits_is_kept() -> None:
    table = Table("sizes", "Sizes", COLUMNS, (("a", 1.0), ("b", None)), ("", "stop"))
    assert table.marks == ("", "stop")
    with pytest.raises(FrozenInstanceError):
        table.name = "other"  # type: ignore[misc]


def test_a_late_table_finds_its_rows_once_and_only_when_looked_at() -> None:
    looked: list[str] = []

    def find_rows() -> tuple[Rows, tuple[str, ...]]:
        looked.append("looked")
        return (("a", 1.0), ("b", None)), ("", "stop")

    late = LateTable("sizes", "Sizes", COLUMNS, find_rows)
    assert (late.name, late.caption, late.columns, looked) == ("sizes", "Sizes", COLUMNS, [])
    table = Table("sizes", "Sizes", COLUMNS, *find_rows())
    assert (late.rows, late.marks) == (table.rows, table.marks)
    assert looked == ["looked"] * 2  # here, and once for the table


def test_a_late_tables_rows_have_to_fit_as_well() -> None:
    late = LateTable("sizes", "Sizes", COLUMNS, lambda: ((("a",),), ()))
    with pytest.raises(ValueError, match="sizes"):
        _ = late.rows


def test_a_result_refuses_outputs_that_are_not_finite() -> None:
    with pytest.raises(NotFiniteError, match="the output 'drop' is nan"):
        Result({"size": "inf", "count": 3, "drop": math.nan}, say("Take it."))


def test_a_table_refuses_numbers_that_are_not_finite_when_it_is_looked_at() -> None:
    with pytest.raises(NotFiniteError, match="table 'sizes': a cell holds -inf"):
        Table("sizes", "Sizes", COLUMNS, (("a", 1.0), ("b", -math.inf)))
    late = LateTable("sizes", "Sizes", COLUMNS, lambda: ((("a", math.nan),), ()))
    with pytest.raises(NotFiniteError, match="table 'sizes': a cell holds nan"):
        _ = late.rows
