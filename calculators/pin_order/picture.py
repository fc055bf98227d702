"""Pictures of pin-order: two plugs side by side with their pins numbered, and what runs between them."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from calculators.pin_order.mating import Judgement
from calculators.pin_order.mating_rules import Verdict
from calculators.pin_order.plugging import Way
from calculators.pin_order.report import WAY_WORDS
from calculators.pin_order.solve import Solved
from calculators.results.case import Listed, Wording, Words, fill
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


_LEAD: Words[Solved] = {
    "wires": (Wording("none", lambda case: not case.wires), Wording("{listed}")),
    "listed": Listed(
        "wires",
        "source pin {each.here.number} ({each.here.label}) by {each.colour} to board pin "
        "{each.there.number} ({each.there.label})",
        "; ",
    ),
}
_MATING: Words[Judgement] = {
    "contacts": (Wording("none", lambda judgement: not judgement.touching), Wording("{listed}")),
    "listed": Listed(
        "touching",
        "source pin {each.here.number} ({each.here.label}) on board pin {each.there.number} "
        "({each.there.label}): {each.verdict}",
        "; ",
    ),
}


def draw_pictures(case: Solved) -> tuple[Picture, ...]:
    """Return the made-up lead, and what touches what when the plug goes in reversed and straight."""
    given, matings = case.given, case.matings
    left = DrawnPlug("Source", given.from_view, tuple(role.label for role in matings.source), given.rows)
    right = DrawnPlug("Board", given.to_view, tuple(role.label for role in matings.board), given.rows)
    wires = tuple(
        DrawnWire(wire.here.index, wire.there.index, code, code)
        for wire in case.wires
        for code in wire.colour.split()[:1]
    )
    described = fill("Both plugs, pins from top to bottom as listed. Wires: {wires}.", case, words=_LEAD)
    return (
        Picture("lead", "The made-up lead", described, lambda _: draw_plugs(left, right, wires)),
        _draw_mating("reversed", matings.reversed, left, right),
        _draw_mating("straight", matings.straight, left, right),
    )


def _draw_mating(way: Way, judgement: Judgement, left: DrawnPlug, right: DrawnPlug) -> Picture:
    lines = tuple(
        DrawnWire(one.source, one.board, far=one.verdict, tone=_TONES[one.verdict], dash=_DASHES[one.verdict])
        for one in judgement.contacts
        if one.source is not None and one.board is not None
    )
    described = fill("Contacts: {contacts}.", judgement, words=_MATING)
    title = f"What touches what, plugged in {WAY_WORDS[way]}"
    return Picture(way, title, described, lambda _: draw_plugs(left, right, lines))
