"""Colours: which conductor colour each wire of a lead gets."""

from functools import lru_cache

from calculators.parts import read_rows
from calculators.pin_order.plug import Role


@lru_cache(maxsize=64)
def find_colours(pins: tuple[Role, ...]) -> tuple[str, ...]:
    """Return a conductor colour (IEC 60757 code and name) for each pin; one supply has one colour."""
    uses: dict[str, list[str]] = {}
    for row in read_rows("conductor_colours"):
        uses.setdefault(str(row["use"]), []).append(f"{row['code']} {row['name']}")
    for use, plain in uses.items():
        if use != "ground":
            uses[use] = plain + [f"BK{colour[:2]} black and {colour[3:]}" for colour in plain]
    given: dict[tuple[str, object], str] = {}
    colours = []
    for pin, role in enumerate(pins):
        use = f"speaker {role.sign}" if role.kind == "speaker" else role.kind
        use = "data" if use == "line" else use
        if use == "unused":
            colours.append("")
            continue
        net = (use, role.voltage if use == "supply" else "" if use == "ground" else pin)
        if net not in given:
            taken = sum(1 for other, _ in given if other == use)
            given[net] = uses[use][taken % len(uses[use])]
        colours.append(given[net])
    return tuple(colours)
