"""Frames of a pattern of one's own as rows, each a run of LEDs, and how they were once written."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from calculators.forms.fields import TextInput, WholeInput, ask, ask_or_none
from calculators.forms.rows import refuse_cell
from calculators.led_current.pattern import (
    COLOUR_FORM,
    MOST_FRAMES,
    Colour,
    Frame,
    read_colour,
    spread_colour,
)
from calculators.notation.errors import NotationError

_FORMER_FRAME = re.compile(r"\s*(?:(?P<hold>\d{1,4})\s*:)?(?P<runs>.*)", re.DOTALL | re.ASCII)
_FORMER_RUN = re.compile(r"\s*(?:(?P<count>\d{1,4})\s*[x×]\s*)?(?P<colour>.*?)\s*", re.DOTALL | re.ASCII)


@dataclass(frozen=True, kw_only=True)
class Run:
    """LEDs side by side that show the same: the first of a frame says for how many frames it stands."""

    frames: int | None = ask_or_none(WholeInput(
        label="Frames", lowest=1, highest=MOST_FRAMES,
        help="For how many it stands. Empty: these LEDs are of the same frame as those in the row above.",
    ))  # fmt: skip
    colour: Colour = ask(TextInput(label="Colour", reader=read_colour, form=COLOUR_FORM, longest=40))
    count: int | None = ask_or_none(WholeInput(
        label="LEDs", lowest=1, highest=1500, help="Empty: all that are left.",
    ))  # fmt: skip


def list_frames(runs: Sequence[Run]) -> tuple[Frame, ...]:
    """Return the frames that the rows make; raises InputError that names row and column."""
    frames: list[Frame] = []
    for row, run in enumerate(runs, 1):
        if run.frames is not None:
            frames.append((run.frames, ((run.count, run.colour),)))
        elif not frames:
            raise refuse_cell("own_frames", row, "frames", "the first row begins a frame; give 1 or more")
        else:
            hold, before = frames[-1]
            if before[-1][0] is None:
                problem = "nothing is entered, which takes all LEDs that are left, but another row follows"
                raise refuse_cell("own_frames", row - 1, "count", f"{problem}; give how many")
            frames[-1] = (hold, (*before, (run.count, run.colour)))
        total = sum(hold for hold, _ in frames)
        if total > MOST_FRAMES:
            problem = f"these are {total} frames; at most {MOST_FRAMES} are simulated"
            raise refuse_cell("own_frames", row, "frames", problem)
    return tuple(frames)


def check_runs(runs: Sequence[Run], count: int, channels: int) -> None:
    """Raise InputError, with row and column, for what does not fit a string of so many LEDs and channels."""
    named = 0
    for row, run in enumerate(runs, 1):
        named = (run.count or 0) + (named if run.frames is None else 0)
        if named > count:
            problem = f"these are {named} LEDs in one frame, but the string has {count}; shorten it"
            raise refuse_cell("own_frames", row, "count", problem)
        try:
            spread_colour(run.colour, channels)
        except NotationError as error:
            raise refuse_cell("own_frames", row, "colour", str(error)) from None


def rewrite_frames(texts: Mapping[str, str]) -> list[str]:
    """Return as rows what was once written `20: white; 48 x 255/120/0, 48 x off`."""
    lines: list[str] = []
    for part in texts["own_frames"].removesuffix(";").split(";"):
        frame = _FORMER_FRAME.fullmatch(part)
        runs = [_FORMER_RUN.fullmatch(run) for run in frame["runs"].split(",")] if frame else [None]
        for place, run in enumerate(runs, 1):
            if run is None or (place < len(runs) and not run["count"]):
                return []
            try:
                read_colour(run["colour"])
            except NotationError:
                return []
            hold = "" if place > 1 or not frame else frame["hold"] or "1"
            lines.append(f"{hold}, {run['colour']}" + (f", {run['count']}" if run["count"] else ""))
    return lines
