"""What was once written in fields of its own, `20 W; shaker: 25 W`, as the rows that say it now."""

import re
from collections.abc import Mapping

FORMER: Mapping[str, str] = {
    "rating": "20 W; shaker: 25 W",
    "sensitivity": "86 dB; shaker: none",
    **dict.fromkeys(("re", "le", "fs", "qms", "qes", "driver_of", "other_drivers"), ""),
}
"""The fields, and what they held by default."""

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
