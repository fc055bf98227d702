"""Parts and materials: TOML files with a source on every row, read once and then kept."""

import re
import tomllib
from collections.abc import Mapping
from functools import cache
from pkgutil import get_data
from types import MappingProxyType


@cache
def read_rows(name: str) -> tuple[Mapping[str, object], ...]:
    """Return the rows of `<name>.toml` (its array of tables named `row`), in the file's order.

    A row without a `source` of its own takes the file's `source`. Raises FileNotFoundError for a table
    that does not exist and ValueError for a row that has no source at all.
    """
    # `importlib.resources` would do the same, and make a phone without the snapshot wait for what it imports.
    # A table lies beside this file: what would lead elsewhere is no part of its name.
    table = tomllib.loads((get_data(__name__, re.sub(r"\W", "", name) + ".toml") or b"").decode())
    rows = []
    for number, row in enumerate(table["row"], start=1):
        source = row.get("source") or table.get("source")
        if not source:
            raise ValueError(f"{name}.toml: row {number} names no source")
        rows.append(MappingProxyType({**row, "source": source}))
    return tuple(rows)
