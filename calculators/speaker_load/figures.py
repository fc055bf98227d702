"""What is known of each speaker: one row of figures, and how it was once written in fields of its own."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from calculators.forms.fields import QuantityInput, TextInput, ask, ask_or_none
from calculators.forms.rows import RowsInput
from calculators.notation.errors import InputError, NotationError
from calculators.notation.units import Decibel, Henry, Hertz, Ohm, Watt
from calculators.speaker_load.driver import Driver
from calculators.speaker_load.network import MOST_SPEAKERS

ALL = "all"
"""Stands in a row for every speaker that has none of its own."""

_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_ -]*")


def _read_name(text: str) -> str:
    if not _NAME.fullmatch(text):
        raise NotationError(f"“{text}” is not a speaker's name; give one of the network, such as left")
    return text


@dataclass(frozen=True, kw_only=True)
class SpeakerFigures:
    """What is known of a speaker, or of several with one name; `re` to `qes` are measured."""

    name: str = ask(TextInput(
        label="Speaker", default=ALL, reader=_read_name, form="a name of the network, or all",
        longest=40,
        help="Empty: all that have no row of their own.",
    ))  # fmt: skip
    rating: Watt | None = ask_or_none(QuantityInput(
        label="Rating", kind="power", unit="W", lowest=0.05, highest=5000, usual=(0.25, 1000),
    ))  # fmt: skip
    sensitivity: Decibel | None = ask_or_none(QuantityInput(
        label="Sensitivity", kind="level", unit="dB", lowest=50, highest=130, usual=(75, 112),
        help="Level at 1 m; a shaker is felt, not heard: leave it empty.",
    ))  # fmt: skip
    re: Ohm | None = ask_or_none(QuantityInput(
        label="Re", kind="resistance", unit="Ω", lowest=0.1, highest=2000, usual=(1.5, 64),
        help="Resistance of the voice coil, as a meter shows it.",
    ))  # fmt: skip
    le: Henry | None = ask_or_none(QuantityInput(
        label="Le", kind="inductance", unit="mH", lowest=0, highest=0.1, usual=(20e-6, 5e-3),
        help="Inductance of the voice coil; without it the lowest impedance is taken as 80 % of nominal.",
    ))  # fmt: skip
    fs: Hertz | None = ask_or_none(QuantityInput(
        label="fs", kind="frequency", unit="Hz", lowest=5, highest=5000, usual=(15, 2500),
        help="Resonance in free air.",
    ))  # fmt: skip
    qms: float | None = ask_or_none(QuantityInput(
        label="Qms", kind="number", unit="", lowest=0.05, highest=50, usual=(0.5, 20),
        help="Mechanical Q at the resonance.",
    ))  # fmt: skip
    qes: float | None = ask_or_none(QuantityInput(
        label="Qes", kind="number", unit="", lowest=0.05, highest=50, usual=(0.1, 5),
        help="Electrical Q at the resonance.",
    ))  # fmt: skip

    def __post_init__(self) -> None:
        """Refuse a driver of which a part is missing; raises InputError."""
        needed = {"re": self.re, "fs": self.fs, "qms": self.qms, "qes": self.qes}
        missing = [name for name, value in needed.items() if value is None]
        if missing and (len(missing) < len(needed) or self.le is not None):
            raise InputError(
                missing[0],
                "nothing is entered, but a driver is described by all four; give Re, fs, Qms and Qes, or "
                "none",
            )

    @property
    def driver(self) -> Driver | None:
        """The small-signal parameters, where they are known."""
        if self.re is None or self.fs is None or self.qms is None or self.qes is None:
            return None
        return Driver(self.re, self.le, self.fs, self.qms, self.qes)


FORMER: Mapping[str, str] = {
    "rating": "20 W; shaker: 25 W",
    "sensitivity": "86 dB; shaker: none",
    **dict.fromkeys(("re", "le", "fs", "qms", "qes", "driver_of", "other_drivers"), ""),
}
"""The fields for what a row holds now, and their defaults: `20 W; shaker: 25 W` were figures by name."""

_CELLS = ("rating", "sensitivity", "re", "le", "fs", "qms", "qes")
_PARAMETER = re.compile(r"\b(Re|Le|fs|Qms|Qes)\b", re.IGNORECASE)


def rewrite_figures(texts: Mapping[str, str]) -> list[str]:
    """Return the rows for texts of these fields, with their defaults for those that are not given."""
    if not texts.keys() & FORMER.keys():
        return []
    given = {**FORMER, **texts}
    rows: dict[str, dict[str, str]] = {"all": {}}

    def put(names: str, cell: str, figure: str) -> None:
        for name in names.split(","):
            rows.setdefault(name.strip(), {})[cell] = "" if figure.strip() == "none" else figure.strip()

    for cell in _CELLS:
        usual = "all" if cell in ("rating", "sensitivity") else given["driver_of"] or "all"
        for piece in given[cell].split(";"):
            names, _, figure = piece.rpartition(":")
            put(names or usual, cell, figure)
    for piece in given["other_drivers"].split(";"):
        names, _, figures = piece.rpartition(":")
        _, *parts = _PARAMETER.split(figures)
        for parameter, figure in zip(parts[::2], parts[1::2], strict=True):
            put(names or "all", parameter.lower(), figure.strip(" ,="))
    # A row of its own says all of a speaker, where a field that did not name it said what holds for all.
    return [
        "; ".join((name, *({**rows["all"], **own}.get(cell, "") for cell in _CELLS))).rstrip("; ")
        for name, own in rows.items()
    ]


SPEAKERS = RowsInput(
    label="Each speaker", row=SpeakerFigures, highest=2 * MOST_SPEAKERS, section="Speakers",
    default="all, 15 W, 88 dB", former=FORMER, rewrite=rewrite_figures,
    help="A row for “all”, and one for each that differs, by its name. Sensitivity is the level at 1 m; a "
    "shaker, which is felt, has none. For a measured driver: resistance Re and inductance Le of its voice "
    "coil, its resonance fs in free air, and the mechanical and electrical Q there.",
)  # fmt: skip


@cache
def read_figures(text: str) -> tuple[SpeakerFigures, ...]:
    """Return the rows of a text that is known to be right."""
    return SPEAKERS.read_value(text)
