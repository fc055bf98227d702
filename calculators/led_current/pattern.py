"""Light patterns on a string of LEDs, simulated frame by frame for the current they draw.

A level of 0 to 255 passes through a gamma table, out = round(255 · (level/255)^gamma), as the usual
controller software does; the outcome, over 255, is the share of time that the channel is on. What a
frame draws is counted in whole channels: LEDs and channels on full count 1 each.
"""

import math
import random
import re
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import accumulate
from typing import Literal, get_args

from calculators.notation.errors import NotationError
from calculators.notation.units import Share

type PatternName = Literal["all white", "one colour", "random rows lit", "slow fade", "chase", "own frames"]
PATTERNS: tuple[PatternName, ...] = get_args(PatternName.__value__)

type Colour = tuple[int, ...]
"""Levels of 0 to 255, one for each channel; a single level stands for all channels."""

type Frame = tuple[int, tuple[tuple[int | None, Colour], ...]]
"""For how many frames it stands, and runs of LEDs (None: all that are left) with their colour."""

MOST_FRAMES = 2000
COLOUR_FORM = "white, off, a share such as 40 %, or levels of 0 to 255 such as 255/120/0"


def read_colour(text: str) -> Colour:
    """Read `white`, `off`, `40 %` or `255/120/0`; raises NotationError for anything else."""
    cleaned = " ".join(text.split())
    if cleaned.lower() in ("white", "off"):
        return (255,) if cleaned.lower() == "white" else (0,)
    share = re.fullmatch(r"(\d{1,3}) ?%", cleaned, re.ASCII)
    if share is not None and int(share[1]) <= 100:
        return (round(255 * int(share[1]) / 100),)
    levels = re.split(r" ?/ ?", cleaned)
    if all(re.fullmatch(r"\d{1,3}", level, re.ASCII) and int(level) <= 255 for level in levels):
        return tuple(int(level) for level in levels)
    raise NotationError(f"“{cleaned}” is not a colour; give {COLOUR_FORM}")


def spread_colour(colour: Colour, channels: int) -> Colour:
    """Return one level for each channel; a fourth channel not named stays off.

    Raises NotationError when the colour has another number of levels than the LED has channels.
    """
    if len(colour) == 1:
        return colour * channels
    if len(colour) == 3 and channels == 4:
        return (*colour, 0)
    if len(colour) != channels:
        raise NotationError(
            f"{len(colour)} levels are given, but this LED has {channels} channels; give {channels}"
        )
    return colour


@dataclass(frozen=True, slots=True)
class Pattern:
    """What the string shows. `colour` serves all patterns but all white and own frames.

    `group` is the number of LEDs in one row (random rows lit) or in the running tail (chase), `lit_share`
    the chance that a row is lit, `seed` fixes the draw, `own` the list of frames.
    """

    name: PatternName
    count: int
    channels: int
    gamma: float
    colour: Colour = (255,)
    group: int = 1
    lit_share: Share = 0.5
    frames: int = 100
    seed: int = 1
    own: tuple[Frame, ...] = ()


def make_pattern(
    name: PatternName, count: int, channels: int, gamma: float, colour: Colour, group: int, lit_share: Share,
    frames: int, seed: int, own: tuple[Frame, ...],
) -> Pattern:  # fmt: skip
    """Return what a string of `count` LEDs shows; raises NotationError for a colour that does not fit it.

    Figures that a pattern does not use are left out, so that changing them finds the kept simulation.
    """
    if name == "all white":
        return Pattern(name, count, channels, 1.0, frames=frames)
    if name == "own frames":
        return Pattern(name, count, channels, gamma, own=own)
    spread_colour(colour, channels)
    return Pattern(name, count, channels, gamma, colour, min(group, count), lit_share, frames, seed)


@lru_cache(maxsize=32)
def simulate(pattern: Pattern) -> tuple[float, ...]:
    """Return for each frame how many channels' worth of light is on, at full brightness.

    Sums are formed per frame and never LED by LED, so that hundreds of LEDs cost little.
    """
    table = make_gamma_table(pattern.gamma)

    def weigh(colour: Colour) -> float:
        return sum(table[level] for level in spread_colour(colour, pattern.channels)) / 255

    match pattern.name:
        case "all white":
            return (float(pattern.count * pattern.channels),) * pattern.frames
        case "one colour":
            return (pattern.count * weigh(pattern.colour),) * pattern.frames
        case "random rows lit":
            one = weigh(pattern.colour)
            return tuple(lit * one for lit in _draw_rows(pattern))
        case "slow fade":
            half = max(1, pattern.frames - 1) / 2
            rising = [
                pattern.count * weigh(dim(pattern.colour, index / half))
                for index in range((pattern.frames + 1) // 2)
            ]
            return (*rising, *reversed(rising[: pattern.frames // 2]))
        case "chase":
            return _run_tail(
                pattern, [weigh(dim(pattern.colour, 1 - at / pattern.group)) for at in range(pattern.group)]
            )
        case "own frames":
            sums = []
            for hold, runs in pattern.own:
                left = pattern.count
                lit = 0.0
                for length, colour in runs:
                    taken = left if length is None else length
                    lit += taken * weigh(colour)
                    left -= taken
                sums += [lit] * hold
            return tuple(sums)


def dim(colour: Colour, share: float) -> Colour:
    """Return the colour's levels at this share of their height, rounded to whole levels."""
    return tuple(round(level * share) for level in colour)


@lru_cache(maxsize=16)
def make_gamma_table(gamma: float) -> tuple[int, ...]:
    """Return round(255 · (level/255)^gamma) for the levels 0 to 255."""
    # (a·b)^gamma = a^gamma · b^gamma: only the 54 primes need a power of their own.
    powers = [0.0, 1.0]
    for level in range(2, 256):
        factor = _find_smallest_factor(level)
        powers.append(_raise(level, gamma) if factor == level else powers[factor] * powers[level // factor])
    return tuple(round(255 * (power / powers[255])) for power in powers)


def find_percentile(values: tuple[float, ...], share: float) -> float:
    """Return the value below which this share of `values` lies, on a straight line between neighbours."""
    ordered = sorted(values)
    place = share * (len(ordered) - 1)
    below = math.floor(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (ordered[above] - ordered[below]) * (place - below)


def _draw_rows(pattern: Pattern) -> list[int]:
    rows = -(-pattern.count // pattern.group)
    missing = rows * pattern.group - pattern.count  # the last row may be short
    chance = round(pattern.lit_share * 256)
    # From the chance's lowest bit upwards, so that one half takes one draw.
    digits = [chance >> bit & 1 for bit in range(8)] if 0 < chance < 256 else []
    digits = digits[digits.index(1) :] if digits else []
    draw = random.Random(pattern.seed).getrandbits
    lit = []
    for _ in range(pattern.frames):
        # One bit per row. Each digit halves the chance and adds a half where it is 1, so that in the end
        # every bit is set in chance/256 of all draws.
        mask = (1 << rows) - 1 if chance == 256 else 0
        for digit in digits:
            mask = (mask | draw(rows)) if digit else (mask & draw(rows))
        lit.append(mask.bit_count() * pattern.group - (missing if mask >> (rows - 1) else 0))
    return lit


def _run_tail(pattern: Pattern, tail: list[float]) -> tuple[float, ...]:
    # The head enters at the first LED and the tail leaves at the last one, once in all frames.
    sums = [0.0, *accumulate(tail)]
    way = pattern.count + pattern.group
    last = max(1, pattern.frames - 1)
    heads = [index * way // last for index in range(pattern.frames)]
    return tuple(sums[min(head, pattern.group)] - sums[max(0, head - pattern.count)] for head in heads)


@cache
def _find_smallest_factor(number: int) -> int:
    return next(factor for factor in range(2, number + 1) if number % factor == 0)


@cache
def _list_roots(number: int) -> tuple[float, ...]:
    # The square root, its square root and so on; IEEE 754 fixes each to the last bit on every machine.
    roots = [math.sqrt(number)]
    for _ in range(51):
        roots.append(math.sqrt(roots[-1]))
    return tuple(roots)


def _raise(number: int, exponent: float) -> float:
    """Return number^exponent, exponent at least zero, from the square roots its binary digits name."""
    whole = math.floor(exponent)
    part = exponent - whole
    power = 1.0
    for _ in range(whole):
        power *= number
    for root in _list_roots(number):
        part *= 2
        if part >= 1:
            part -= 1
            power *= root
        if part == 0:
            break
    return power
