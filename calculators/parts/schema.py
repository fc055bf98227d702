"""What a row of each table holds, the engine's and a club's alike: its columns, their kinds and limits."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Column:
    """One column; the limits of a number belong to it, and `words` are all that a text may be."""

    kind: str
    """"text", "number", "whole" or "switch"."""

    lowest: float = 0.0
    highest: float = 0.0
    words: tuple[str, ...] = ()
    needed: bool = True

    def find_fault(self, value: object) -> str:
        """Return what is wrong with a value, as the end of a sentence, or ""."""
        match self.kind:
            case "switch":
                return "" if isinstance(value, bool) else "is neither true nor false"
            case "text":
                if not isinstance(value, str) or not value.strip():
                    return "is no text"
                known = not self.words or value in self.words
                return "" if known else f"is not known; allowed: {', '.join(self.words)}"
        if isinstance(value, bool) or not isinstance(value, int if self.kind == "whole" else (int, float)):
            return "is no whole number" if self.kind == "whole" else "is no number"
        within = self.lowest <= value <= self.highest
        return "" if within else f"is out of its limits; allowed: {self.lowest:g} to {self.highest:g}"


def _text(*words: str) -> Column:
    return Column("text", words=words)


def _number(lowest: float, highest: float, *, needed: bool = True) -> Column:
    return Column("number", lowest, highest, needed=needed)


TABLES: Mapping[str, Mapping[str, Column]] = {
    "air": {
        "temperature": _number(-100, 1000),
        "conductivity": _number(0.001, 1),
        "viscosity": _number(1e-6, 1e-3),
        "prandtl": _number(0.1, 10),
    },
    "bundles": {"count": Column("whole", 1, 1000), "factor": _number(0.01, 1)},
    "conductor_colours": {
        "code": _text(),
        "name": _text(),
        "use": _text("supply", "ground", "data", "clock", "speaker +", "speaker -"),
    },
    "conductors": {
        "area": _number(0.01, 1000),
        "solid": _number(0.01, 10_000, needed=False),
        "solid_tinned": _number(0.01, 10_000, needed=False),
        "stranded": _number(0.01, 10_000),
        "tinned": _number(0.01, 10_000),
    },
    "cords": {"area": _number(0.01, 1000), "current": _number(0.01, 1000)},
    "fuse_kinds": {
        "name": _text(),
        "voltage": _number(1, 1000),
        "breaking": _number(1, 1e6),
        "smallest": _number(0.001, 1000),
        "largest": _number(0.001, 1000),
    },
    "fuse_times": {
        "name": _text(),
        "kind": _text(),
        "load": _number(1, 100),
        "earliest": _number(0, 1e6, needed=False),
        "latest": _number(0.001, 1e5, needed=False),
        "largest": _number(0.001, 1000),
    },
    "fuses": {"rating": _number(0.001, 1000)},
    "insulation": {
        "name": _text(),
        "temperature": _number(40, 200),
        "thermal_resistivity": _number(0.1, 50),
    },
    "leds": {
        "name": _text(),
        "about": _text(),
        "channels": Column("whole", 1, 8),
        "channel_current": _number(0.0001, 1),
        "idle_current": _number(0, 0.1),
        "bit_rate": _number(1e3, 1e8),
        "reset_time": _number(0, 0.1),
        "clocked": Column("switch"),
        "lowest_supply": _number(0.5, 60),
        "highest_supply": _number(0.5, 60),
        "nominal_supply": _number(0.5, 60, needed=False),
        "logic_supply": _number(0.5, 60, needed=False),
        "high_threshold": _number(0.1, 1),
        "low_threshold": _number(0.05, 0.9, needed=False),
        "full_voltage": _number(0.1, 60),
        "dark_voltage": _number(0.1, 60),
        "wanted_voltage": _number(0.1, 60, needed=False),
    },
    "logic": {
        "name": _text(),
        "input_high": _number(0.1, 60, needed=False),
        "input_high_share": _number(0.1, 1, needed=False),
        "input_low": _number(0.05, 60, needed=False),
        "input_low_share": _number(0.05, 0.9, needed=False),
        "lowest_supply": _number(0.5, 60),
        "highest_supply": _number(0.5, 60),
        "output_drop": _number(0, 10),
        "output_low": _number(0, 5, needed=False),
    },
    "plugs": {
        "name": _text(),
        "pins": _text(),
        "use": _text(),
        "practice": _text("common practice"),
        "caution": _text(),
    },
}
"""By the name of the file; the first column is the key, which no two rows share."""

_RISING = (
    ("fuse_kinds", "smallest", "largest"),
    ("fuse_times", "earliest", "latest"),
    ("leds", "dark_voltage", "full_voltage"),
    ("leds", "low_threshold", "high_threshold"),
    ("leds", "lowest_supply", "highest_supply"),
    ("logic", "lowest_supply", "highest_supply"),
)
"""Of these two columns of a table the first is the smaller one."""

_ONE_OF = {"logic": ("input_high", "input_high_share")}
"""Of these columns a row has exactly one."""


def find_faults(table: str, row: Mapping[str, object]) -> Iterator[str]:
    """Yield what is wrong in a row, each as the end of a sentence; only declared tables are held to it."""
    columns = TABLES.get(table, {})
    if not columns:
        return
    unknown = [name for name in row if name not in columns and name != "source"]
    missing = [name for name, column in columns.items() if column.needed and name not in row]
    if unknown:
        yield f"has no column {', '.join(unknown)}; allowed: {', '.join(columns)}, source"
    if missing:
        yield f"lacks {', '.join(missing)}"
    for name, column in columns.items():
        if name in row and (fault := column.find_fault(row[name])):
            yield f"{name} “{row[name]}” {fault}"
    if unknown or missing:
        return
    for where, lower, upper in _RISING:
        low, high = row.get(lower), row.get(upper)
        if (
            where == table
            and isinstance(low, (int, float))
            and isinstance(high, (int, float))
            and low >= high
        ):
            yield f"{lower} is not below {upper}"
    chosen = _ONE_OF.get(table, ())
    if chosen and sum(name in row for name in chosen) != 1:
        yield f"needs either {' or '.join(chosen)}"
