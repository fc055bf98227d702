"""Pictures of pin-order: two plugs side by side with their pins numbered, and what runs between them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from calculators.notation.showing import say
from calculators.pin_order.mating import Verdict
from calculators.pin_order.plug import describe_pin
from calculators.pin_order.plugging import WAY_WORDS, PluggedBoard
from calculators.results.drawing import WIDTH, Canvas
from calculators.results.result import Picture

_STEP = 36.0
_BOX = 118.0
_EDGE = 3.0
_INSET = 7.0
_TOP = 46.0
_ROW_GAP = 20.0

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
    """One line from pin to pin (from 0); texts stand under its pins, `tone` and `dash` only repeat them."""

    here: int
    there: int
    near: str = ""
    far: str = ""
    tone: str = ""
    dash: str = ""


# Most figures change no wire and no verdict.
@lru_cache(maxsize=64)
def draw_plugs(left: DrawnPlug, right: DrawnPlug, wires: tuple[DrawnWire, ...]) -> str:
    """Return both plugs, pins from top to bottom in the order of their view, with the wires between them.

    All text stands inside the plugs: between them no label could keep clear of the wires that cross there.
    """
    canvas = Canvas(
        max(_find_height(left, len(left.pins) - 1), _find_height(right, len(right.pins) - 1)) + _STEP
    )
    start, end = _EDGE + _BOX, WIDTH - _EDGE - _BOX
    near = {wire.here: (wire.near, wire.tone) for wire in wires if wire.near}
    far = {wire.there: (wire.far, wire.tone) for wire in wires if wire.far}
    _draw_plug(canvas, left, _EDGE, near)
    _draw_plug(canvas, right, end, far)
    for wire in wires:
        here, there = _find_height(left, wire.here), _find_height(right, wire.there)
        canvas.curve((start, here), (end, there), wire.tone, dash=wire.dash)
        canvas.dot((start, here), 3, wire.tone)
        canvas.dot((end, there), 3, wire.tone)
    return canvas.render()


def _find_height(plug: DrawnPlug, pin: int) -> float:
    row = pin * plug.rows // len(plug.pins)
    return _TOP + _STEP / 2 + pin * _STEP + row * _ROW_GAP


def _draw_plug(canvas: Canvas, plug: DrawnPlug, corner: float, texts: Mapping[int, tuple[str, str]]) -> None:
    canvas.text((corner, 14), plug.title, bold=True)
    canvas.text((corner, 31), plug.view)
    count = len(plug.pins)
    canvas.box((corner, _TOP - 4), (_BOX, _find_height(plug, count - 1) + _STEP / 2 + 4 - _TOP + 4), "soft")
    inside, room = corner + _INSET, _BOX - 2 * _INSET
    for pin, label in enumerate(plug.pins):
        height = _find_height(plug, pin)
        words, tone = texts.get(pin, ("", ""))
        canvas.text((inside, height - 3 if words else height + 5), f"{pin + 1} {label}", within=room)
        canvas.text((inside, height + 13), words, tone, bold=True, within=room)
        if plug.rows > 1 and pin == count // plug.rows:
            canvas.text((inside, height - _STEP / 2 - 4), "bottom row")


def draw_pictures(
    plugged: PluggedBoard, views: tuple[str, str], rows: int, colours: Sequence[str]
) -> tuple[Picture, ...]:
    """Return the made-up lead, and what touches what when the plug goes in reversed and straight."""
    source, board = plugged.source, plugged.board
    left = DrawnPlug("Source", views[0], tuple(role.label for role in source.pins), rows)
    right = DrawnPlug("Board", views[1], tuple(role.label for role in board.pins), rows)
    wires = tuple(
        DrawnWire(here, there, colours[here].split()[0], colours[here].split()[0])
        for here, there in plugged.crossing.wires
    )
    described = "; ".join(
        f"source {describe_pin(source.pins[here], here)} by {colours[here]} to board"
        f" {describe_pin(board.pins[there], there)}"
        for here, there in plugged.crossing.wires
    )
    lead = Picture(
        "lead",
        "The made-up lead",
        say("Both plugs, pins from top to bottom as listed. Wires: {wires}.", wires=described or "none"),
        lambda _: draw_plugs(left, right, wires),
    )
    return (lead, *(_draw_mating(name, plugged, left, right) for name in ("reversed", "straight")))


def _draw_mating(name: str, plugged: PluggedBoard, left: DrawnPlug, right: DrawnPlug) -> Picture:
    touching = [
        (contact.source, contact.board, contact.verdict)
        for contact in plugged.judged[name].contacts
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
