"""Pictures of pin-order: two plugs side by side with their pins numbered, and what runs between them."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from calculators.physics.mating import Verdict
from calculators.physics.plug import describe_pin
from calculators.physics.plugging import WAY_WORDS, Ways
from calculators.vocabulary.drawing import WIDTH, Canvas
from calculators.vocabulary.result import Picture
from calculators.vocabulary.showing import say

_STEP = 30.0
_BOX = 108.0
_EDGE = 4.0
_TOP = 46.0
_ROW_GAP = 20.0
_LETTERS = 13
"""Longer pin labels are written smaller, so that they stay inside their plug."""

_SHORT_ROLE = 9
"""Longer roles are left to the plug's own label, so that both ends of a wire can carry its colour."""

_TONES: dict[Verdict, str] = {
    "holds": "good",
    "harmless": "",
    "does not work": "caution",
    "damages": "stop",
}
_DASHES: dict[Verdict, str] = {"holds": "", "harmless": "2 3", "does not work": "6 3", "damages": "8 3 2 3"}


@dataclass(frozen=True, slots=True)
class DrawnPlug:
    """One plug of a picture: its `title`, the `view` it is seen in, its pins' labels and its rows."""

    title: str
    view: str
    pins: tuple[str, ...]
    rows: int = 1


@dataclass(frozen=True, slots=True)
class DrawnWire:
    """One line from pin to pin (from 0); texts stand at its ends, `tone` and `dash` only repeat them."""

    here: int
    there: int
    near: str = ""
    far: str = ""
    tone: str = ""
    dash: str = ""


# Most figures change no wire and no verdict.
@lru_cache(maxsize=64)
def draw_plugs(left: DrawnPlug, right: DrawnPlug, wires: tuple[DrawnWire, ...]) -> str:
    """Return both plugs, pins from top to bottom in the order of their view, with the wires between them."""
    canvas = Canvas(
        max(_find_height(left, len(left.pins) - 1), _find_height(right, len(right.pins) - 1)) + _STEP
    )
    _draw_plug(canvas, left, _EDGE)
    _draw_plug(canvas, right, WIDTH - _EDGE - _BOX)
    start, end = _EDGE + _BOX, WIDTH - _EDGE - _BOX
    for wire in wires:
        here, there = _find_height(left, wire.here), _find_height(right, wire.there)
        canvas.curve((start, here), (end, there), wire.tone, dash=wire.dash)
        canvas.dot((start, here), 3, wire.tone)
        canvas.dot((end, there), 3, wire.tone)
    for wire in wires:
        here, there = _find_height(left, wire.here), _find_height(right, wire.there)
        if wire.near:
            canvas.text((start + 6, here - 5), wire.near, wire.tone, bold=True, clear=True)
        if wire.far:
            canvas.text((end - 6, there - 5), wire.far, wire.tone, anchor="end", bold=True, clear=True)
    return canvas.render()


def _find_height(plug: DrawnPlug, pin: int) -> float:
    row = pin * plug.rows // len(plug.pins)
    return _TOP + _STEP / 2 + pin * _STEP + row * _ROW_GAP


def _draw_plug(canvas: Canvas, plug: DrawnPlug, corner: float) -> None:
    canvas.text((corner, 14), plug.title, bold=True)
    canvas.text((corner, 30), plug.view)
    count = len(plug.pins)
    canvas.box((corner, _TOP - 4), (_BOX, _find_height(plug, count - 1) + _STEP / 2 + 4 - _TOP + 4), "soft")
    for pin, label in enumerate(plug.pins):
        height = _find_height(plug, pin)
        text = f"{pin + 1}  {label}"
        canvas.text((corner + 8, height + 4), text, size=12 if len(text) <= _LETTERS + 3 else 10)
        if plug.rows > 1 and pin == count // plug.rows:
            canvas.text((corner + 8, height - _STEP / 2 - 4), "bottom row")


def find_pictures(
    ways: Ways, views: tuple[str, str], rows: int, colours: Sequence[str]
) -> tuple[Picture, ...]:
    """Return the made-up lead, and what touches what when the plug goes in reversed and straight."""
    source, board = ways.source, ways.board
    left = DrawnPlug("Source", views[0], tuple(role.label for role in source.pins), rows)
    right = DrawnPlug("Board", views[1], tuple(role.label for role in board.pins), rows)
    wires = tuple(
        DrawnWire(here, there, _label_wire(colours[here], source.pins[here].label), colours[here].split()[0])
        for here, there in ways.crossing.wires
    )
    described = "; ".join(
        f"source {describe_pin(source.pins[here], here)} by {colours[here]} to board"
        f" {describe_pin(board.pins[there], there)}"
        for here, there in ways.crossing.wires
    )
    lead = Picture(
        "lead",
        "The made-up lead",
        say("Both plugs, pins from top to bottom as listed. Wires: {wires}.", wires=described or "none"),
        lambda _: draw_plugs(left, right, wires),
    )
    return (lead, *(_picture_mating(name, ways, left, right) for name in ("reversed", "straight")))


def _label_wire(colour: str, role: str) -> str:
    code = colour.split()[0]
    return f"{code} {role}" if len(role) <= _SHORT_ROLE else code


def _picture_mating(name: str, ways: Ways, left: DrawnPlug, right: DrawnPlug) -> Picture:
    touching = [
        (contact.source, contact.board, contact.verdict)
        for contact in ways.judged[name].contacts
        if contact.source is not None and contact.board is not None
    ]
    lines = tuple(
        DrawnWire(here, there, far=verdict, tone=_TONES[verdict], dash=_DASHES[verdict])
        for here, there, verdict in touching
    )
    described = "; ".join(
        f"source pin {here + 1} ({left.pins[here]}) on board pin {there + 1} ({right.pins[there]}): {verdict}"
        for here, there, verdict in touching
    )
    return Picture(
        name,
        f"What touches what, plugged in {WAY_WORDS[name]}",
        say("Contacts: {contacts}.", contacts=described or "none"),
        lambda _: draw_plugs(left, right, lines),
    )
