"""What a calculator returns: outputs, working, findings, readings, tables and pictures, all frozen data."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import isfinite
from typing import Any, Literal, overload

from calculators.notation.errors import NotFiniteError
from calculators.notation.showing import Figure, Phrase, say
from calculators.notation.units import System

type Level = Literal["stop", "caution", "note"]
LEVELS: tuple[Level, ...] = ("stop", "caution", "note")
"""From the gravest to what is good to know."""

type Cell = float | int | str | None

MARKS = ("", "chosen", "stop", "caution")
"""States that a row of a table can have."""


type Guard = Callable[[Callable[[], Any]], Any]
"""Runs a piece of work and returns its outcome; whatever goes wrong in it becomes a refusal."""


@dataclass(frozen=True, slots=True)
class Source:
    """Where a formula or a table comes from: `title` and the `place` in it (table, clause, page)."""

    title: str
    place: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the working: what is found, the `formula`, the `figures` put into it, the `outcome`."""

    label: str
    formula: str
    figures: Phrase
    outcome: Figure | Phrase


@dataclass(frozen=True)
class Late[T](Sequence[T]):
    """Steps or readings that are found when somebody first looks at them: they wait in a closed fold."""

    find_items: Callable[[], tuple[T, ...]]

    @cached_property
    def _items(self) -> tuple[T, ...]:
        return self.find_items()

    def __len__(self) -> int:
        """Count the items."""
        return len(self._items)

    @overload
    def __getitem__(self, index: int) -> T: ...

    @overload
    def __getitem__(self, index: slice) -> tuple[T, ...]: ...

    def __getitem__(self, index: int | slice) -> T | tuple[T, ...]:
        """Return one item, or some."""
        return self._items[index]

    def guard(self, guard: "Guard") -> "Late[T]":
        """Return the same items, found under a guard."""
        return Late(lambda: guard(self.find_items))


type FieldTexts = Mapping[str, str]
"""What to put into fields, by their names."""


@dataclass(frozen=True)
class Finding:
    """What the builder has to know: `stop` (do not build this), `caution` or `note`.

    `code` is a stable name for scripts (small letters and hyphens); `text` says what is wrong and what
    to do about it. `remedies` finds figures that may mend it, the best first; `mends` puts them in and
    says whether they do.
    """

    level: Level
    code: str
    text: Phrase
    remedies: Callable[[], Iterable[FieldTexts]] | None = field(default=None, compare=False, repr=False)
    mends: Callable[[FieldTexts], bool] | None = field(default=None, compare=False, repr=False)

    @cached_property
    def apply(self) -> FieldTexts:
        """The first of the remedies that mends it when put in; empty where there is none.

        They are found and tried when somebody first asks: each trial computes the whole case once more.
        """
        mends = self.mends
        found = self.remedies() if self.remedies else ()
        return next((one for one in found if mends and mends(one)), {})


def is_mended(finding: Finding, before: Iterable[Finding], after: Iterable[Finding]) -> bool:
    """Return whether a finding is gone, and no other as grave has come in its place."""
    known = {one.code for one in before if one.code != finding.code}
    weight = LEVELS.index(finding.level)
    return all(one.code in known for one in after if LEVELS.index(one.level) <= weight)


@dataclass(frozen=True, slots=True)
class Reading:
    """What a meter should show on the finished work.

    `probes` says where they go, `battery` whether it is connected, `low` to `high` is the range that passes.
    """

    label: str
    probes: str
    battery: Literal["off", "on"]
    expected: Figure
    low: Figure
    high: Figure


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table; `kind` is a key of KINDS or "text".

    `figures` are shown, noughts included, unless the values are `exact`: standard sizes, or as entered.
    """

    name: str
    label: str
    kind: str = "text"
    figures: int = 3
    exact: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of SI numbers and words, one per column; `marks` names a state for each row.

    The mark is "" or one of "chosen", "stop", "caution"; it is shown by a sign and a word as well as by tint.
    """

    name: str
    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    marks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what cannot be shown; raises ValueError or NotFiniteError that names the table."""
        if any(len(row) != len(self.columns) for row in self.rows):
            raise ValueError(f"table {self.name!r}: every row needs {len(self.columns)} cells")
        if any(mark not in MARKS for mark in self.marks):
            raise ValueError(f"table {self.name!r}: a mark is one of {', '.join(MARKS[1:])}, or empty")
        if self.marks and len(self.marks) != len(self.rows):
            raise ValueError(f"table {self.name!r}: give a mark for every row or none")
        for row in self.rows:
            for cell in row:
                if isinstance(cell, float) and not isfinite(cell):
                    raise NotFiniteError(f"table {self.name!r}: a cell holds {cell}")


type Rows = tuple[tuple[Cell, ...], ...]


@dataclass(frozen=True)
class LateTable:
    """A table whose rows are found when somebody first looks at them: it waits in a closed fold.

    `find_rows` returns the rows and their marks, as for `Table`, which says what they have to be.
    """

    name: str
    caption: str
    columns: tuple[Column, ...]
    find_rows: Callable[[], tuple[Rows, tuple[str, ...]]]

    @cached_property
    def _table(self) -> Table:
        return Table(self.name, self.caption, self.columns, *self.find_rows())

    def find_checked_rows(self) -> tuple[Rows, tuple[str, ...]]:
        """Return the rows and their marks; raises ValueError or NotFiniteError for what is no table."""
        return self.rows, self.marks

    @property
    def rows(self) -> Rows:
        """The rows of SI numbers and words."""
        return self._table.rows

    @property
    def marks(self) -> tuple[str, ...]:
        """The state of each row, or none at all."""
        return self._table.marks


@dataclass(frozen=True, slots=True)
class Picture:
    """An SVG drawn on demand; `description` is the text alternative and says what the picture shows."""

    name: str
    title: str
    description: Phrase
    draw: Callable[[System], str]


@dataclass(frozen=True, slots=True)
class Result:
    """Everything a calculator has to say. `outputs` are SI numbers or words by declared name.

    None as an output means "does not apply here" and is shown as a dash. `answer` is one imperative sentence
    with the figures that decide.
    """

    outputs: Mapping[str, Cell]
    answer: Phrase
    working: tuple[Step, ...] | Late[Step] = ()
    findings: tuple[Finding, ...] = ()
    readings: tuple[Reading, ...] | Late[Reading] = ()
    tables: tuple[Table | LateTable, ...] = ()
    pictures: tuple[Picture, ...] = field(default=())

    def __post_init__(self) -> None:
        """Refuse outputs that are not finite; raises NotFiniteError that names them."""
        for name, value in self.outputs.items():
            if isinstance(value, float) and not isfinite(value):
                raise NotFiniteError(f"the output {name!r} is {value}")

    @property
    def holds(self) -> bool:
        """True when there is no stop and no caution."""
        return all(finding.level == "note" for finding in self.findings)

    def complete(
        self,
        unusual: Iterable[tuple[str, Figure, Figure, Figure]],
        guard: Guard,
        try_out: Callable[[FieldTexts], "Result | None"],
    ) -> "Result":
        """Return this result with a note for each input outside its usual range (label, value, low, high).

        Its findings are put in the order of their weight: stops, cautions, notes. Pictures, late steps and
        late tables, which are worked out when somebody looks at them, come under the `guard`; `try_out`
        computes with other figures put in, and returns None where they are refused.
        """

        def offer(finding: Finding) -> Finding:
            def mends(fields: FieldTexts) -> bool:
                tried = try_out(fields)
                return tried is not None and is_mended(finding, self.findings, tried.findings)

            return replace(finding, mends=mends) if finding.remedies else finding

        notes = tuple(
            Finding(
                "note",
                "unusual-input",
                say(
                    "{label}: {value} is outside the usual {low} to {high}; check that it is meant.",
                    label=label,
                    value=value,
                    low=low,
                    high=high,
                ),
            )
            for label, value, low, high in unusual
        )
        ranked = sorted(self.findings + notes, key=lambda finding: LEVELS.index(finding.level))
        tables = tuple(
            _guard_rows(table, guard) if isinstance(table, LateTable) else table for table in self.tables
        )
        pictures = tuple(_guard_drawing(picture, guard) for picture in self.pictures)
        working = self.working.guard(guard) if isinstance(self.working, Late) else self.working
        readings = self.readings.guard(guard) if isinstance(self.readings, Late) else self.readings
        findings = tuple(offer(finding) for finding in ranked)
        return replace(
            self, working=working, findings=findings, readings=readings, tables=tables, pictures=pictures
        )


def _guard_rows(table: LateTable, guard: Guard) -> LateTable:
    return replace(table, find_rows=lambda: guard(table.find_checked_rows))


def _guard_drawing(picture: Picture, guard: Guard) -> Picture:
    return replace(picture, draw=lambda system: guard(lambda: picture.draw(system)))
