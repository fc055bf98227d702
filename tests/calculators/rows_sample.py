"""A small calculator with rows, for the tests of tables: strings of lamps on one supply."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from calculators.forms.calculator import Calculator, Output
from calculators.forms.fields import (
    ChoiceInput,
    QuantityInput,
    TextInput,
    WholeInput,
    ask,
    ask_or_none,
    list_fields,
)
from calculators.forms.rows import RowsInput, refuse_cell
from calculators.notation.errors import InputError
from calculators.notation.showing import say
from calculators.notation.units import Ampere, Metre, Volt
from calculators.results.result import Column, Finding, Result, Source, Table

LARGEST_SUM = 50.0


@dataclass(frozen=True, kw_only=True)
class Lamp:
    """One string of lamps."""

    place: str = ask(TextInput(label="Place", reader=str, form="a word or two", longest=60))
    current: Ampere = ask(QuantityInput(
        label="Current", kind="current", unit="A", lowest=0, highest=20, usual=(0.01, 5),
        help="Of one string.",
    ))  # fmt: skip
    count: int = ask(WholeInput(label="Strings", default="1", lowest=1, highest=12))
    colour: str = ask(ChoiceInput(label="Colour", default="warm", options=("warm", "cold", "red")))
    length: Metre | None = ask_or_none(QuantityInput(
        label="Lead", kind="length", unit="m", lowest=0, highest=30,
    ))  # fmt: skip

    def __post_init__(self) -> None:
        """Refuse what does not go together; raises InputError."""
        if self.colour == "red" and self.count > 6:
            raise InputError("count", "of red there are at most 6; lower the number")


FORMER = {"lamps": "Bow: 0.5 A", "mast": "1 A"}


def rewrite(texts: Mapping[str, str]) -> list[str]:
    """Return rows for what was once written `Bow: 0.5 A; Stern: 1 A`, and in a field for the mast's lamp."""
    lamps = [part.partition(":") for part in texts.get("lamps", "").split(";")]
    lines = [f"{place.strip()}, {current.strip()}" for place, colon, current in lamps if colon]
    return [*lines, *(f"Mast, {texts[name]}" for name in texts if name == "mast")]


@dataclass(frozen=True, kw_only=True)
class Given:
    """All lamps, and what feeds them."""

    supply: Volt = ask(QuantityInput(
        label="Supply", kind="voltage", unit="V", default="12 V", lowest=1, highest=60,
    ))  # fmt: skip
    lamps: tuple[Lamp, ...] = ask(RowsInput(
        label="Lamps", row=Lamp, lowest=1, highest=200, default="Bow, 0.5 A\nStern, 1 A, 2, cold, 3 m",
        help="One row for each place.", former=FORMER, rewrite=rewrite,
    ))  # fmt: skip


LAMPS = RowsInput(
    name="lamps", label="Lamps", row=Lamp, lowest=1, highest=200, former=FORMER, rewrite=rewrite
)


def compute(*, supply: float, lamps: tuple[Lamp, ...]) -> Result:
    """Return the current of all lamps and the power."""
    total = 0.0
    for number, lamp in enumerate(lamps, 1):
        total += lamp.current * lamp.count
        if total > LARGEST_SUM:
            raise refuse_cell("lamps", number, "current", "here all are more than 50 A; lower it")
    columns = (Column("place", "Place"), Column("current", "Current of all strings", "current"))
    return Result(
        answer=say("Take {count}.", count=len(lamps)),
        outputs={"total": total, "power": total * supply, "rows": len(lamps)},
        findings=(Finding("note", "counted", say("{rows} rows.", rows=str(len(lamps)))),),
        tables=(
            Table(
                "lamps", "By place", columns, tuple((lamp.place, lamp.current * lamp.count) for lamp in lamps)
            ),
        ),
    )


ROWS_SAMPLE = Calculator(
    slug="sample-lamps",
    title="Sample lamps",
    summary="The current of made-up lamps.",
    inputs=list_fields(Given),
    outputs=(
        Output(name="total", label="Current of all", kind="current", main=True),
        Output(name="power", label="Power", kind="power", main=True),
        Output(name="rows", label="Places", kind="number"),
    ),
    compute=compute,
    example={"lamps": "Bow, 0.25 A"},
    sources=(Source("A made-up handbook", "table 2"),),
    limits=("Made up.",),
)
