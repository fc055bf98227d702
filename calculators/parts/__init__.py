"""Parts and materials: TOML files with a source on every row, read once and then kept."""

import re
import tomllib
from collections.abc import Mapping, Sequence
from functools import cache
from pkgutil import get_data
from types import MappingProxyType

from calculators.parts.schema import TABLES, find_faults

type Row = Mapping[str, object]


@cache
def read_rows(name: str) -> tuple[Row, ...]:
    """Return the rows of `<name>.toml` (its array of tables named `row`), in the file's order.

    Behind them come those of the club's file of that name; a table whose key is a number is put in its order.
    A row without a `source` of its own takes the file's `source`. Raises FileNotFoundError for a table
    that does not exist, and ValueError for a row that has no source, or is not as schema.py declares it.
    """
    # `importlib.resources` would do the same, and make a phone without the snapshot wait for what it imports.
    # A table lies beside this file: what would lead elsewhere is no part of its name.
    rows = _read_table(name, get_data(__name__, re.sub(r"\W", "", name) + ".toml") or b"", name)
    try:
        added = get_data("calculators.club", re.sub(r"\W", "", name) + ".toml") or b""
    except OSError:
        added = b"row = []"
    rows += _read_table(name, added, f"club/{name}")
    key = next(iter(TABLES.get(name, {})), "")
    return tuple(_arrange(rows, key, name) if key else rows)


def _read_table(name: str, text: bytes, told: str) -> list[Row]:
    table = tomllib.loads(text.decode())
    rows: list[Row] = []
    for number, row in enumerate(table["row"], start=1):
        source = row.get("source") or table.get("source")
        if not source:
            raise ValueError(f"{told}.toml: row {number} names no source")
        for fault in find_faults(name, row):
            raise ValueError(f"{told}.toml: row {number}: {fault}")
        rows.append(MappingProxyType({**row, "source": source}))
    return rows


def _arrange(rows: Sequence[Row], key: str, name: str) -> Sequence[Row]:
    keys = [row[key] for row in rows]
    twice = [value for number, value in enumerate(keys) if value in keys[:number]]
    if twice:
        raise ValueError(f"{name}.toml: {key} “{twice[0]}” stands twice; give each row one of its own")
    if any(isinstance(value, str) for value in keys):
        return rows
    return sorted(rows, key=lambda row: float(str(row[key])))
