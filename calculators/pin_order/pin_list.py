"""Pin lists: the notation for a row of contacts, for common orders, and for the boards on one break-out."""

import difflib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Literal

from calculators.forms.fields import TextInput, ask
from calculators.notation.errors import NotationError
from calculators.notation.quantity import check_characters, read_number, read_quantity
from calculators.parts import read_rows
from calculators.pin_order.plug import Plug, Role

MOST_PINS = 24
_LONGEST_ROLE = 5
"""Words of one role in a list without commas: “data in max 3.6 V”."""

HIGHEST_SUPPLY = 60.0
"""V d.c.; above it a supply is no longer extra-low voltage in a dry place and is too much for such plugs."""

_GROUND = Role("ground", "ground")
_UNUSED = Role("unused", "unused")
_BATTERY = Role("battery", "supply", feed="battery")
_RAIL = Role("supply", "supply", feed="rail")
_WORDS: Mapping[str, Role] = {
    **dict.fromkeys(("ground", "gnd", "grd", "g", "0v", "0 v", "vss", "minus"), _GROUND),
    **dict.fromkeys(("-", "unused", "nc", "n/c", "empty", "not connected"), _UNUSED),
    **dict.fromkeys(("battery", "bat", "vbat", "b+"), _BATTERY),
    **dict.fromkeys(("supply", "vcc", "vdd", "v", "v+", "+v", "+", "power", "pwr", "plus"), _RAIL),
}
_LOGIC: Mapping[str, Role] = {
    **dict.fromkeys(("signal", "sig", "s"), Role("signal", "data")),
    **dict.fromkeys(("data", "dat", "d"), Role("data", "data", content="lights")),
    **dict.fromkeys(("data in", "din", "di"), Role("data in", "data", "in", content="lights")),
    **dict.fromkeys(("data out", "dout", "do"), Role("data out", "data", "out", content="lights")),
    "signal in": Role("signal in", "data", "in"),
    "signal out": Role("signal out", "data", "out"),
    **dict.fromkeys(("pwm", "servo signal"), Role("PWM", "data", content="pwm")),
    **dict.fromkeys(("tx", "txd", "serial out"), Role("TX", "data", "out", content="serial")),
    **dict.fromkeys(("rx", "rxd", "serial in"), Role("RX", "data", "in", content="serial")),
    **dict.fromkeys(("sda", "bus data"), Role("SDA", "data", content="bus")),
    **dict.fromkeys(("scl", "bus clock"), Role("SCL", "clock", content="bus")),
    **dict.fromkeys(("clock", "clk", "ck"), Role("clock", "clock")),
    **dict.fromkeys(("clock in", "cin", "ci"), Role("clock in", "clock", "in")),
    **dict.fromkeys(("clock out", "cout", "co"), Role("clock out", "clock", "out")),
}
_LINE = {side: Role(f"audio {side}", "line", tag=side, content="audio") for side in ("left", "right")} | {
    "": Role("audio", "line", content="audio")
}
_AUDIO: Mapping[str, Role] = {
    f"{first}{word}{last}": role
    for side, role in _LINE.items()
    for word in ("audio", "line")
    for first, last in (((f"{side} ", ""), ("", f" {side}")) if side else (("", ""),))
} | dict.fromkeys(
    ("audio ground", "audio gnd", "agnd", "line ground"), Role("audio ground", "ground", content="audio")
)
_COLOURS = {
    "black": ("ground", "signal"), "red": ("supply", "audio right"), "white": ("signal", "audio left"),
    "yellow": ("signal", "+12V"), "orange": ("signal", "supply"), "brown": ("ground", "supply"),
    "blue": ("ground", "signal"), "green": ("data", "ground"), "grey": ("clock", "ground"),
    "violet": ("signal", "speaker -"), "pink": ("supply", "signal"), "turquoise": ("data", "signal"),
}  # fmt: skip
"""What a wire of this colour mostly carries, and what elsewhere: hints, which are asked back.

Black is ground by common practice, and the signal of three-wire sensors (IEC 60947-5-2: brown +, blue -,
black out); brown is a servo lead's ground and a sensor's supply; red and white are the right and the left
of line audio. The rest is common practice, from memory.
"""

_SPEAKER = re.compile(
    r"(?:(?P<before>[a-z]+|\d+) )?(?:speaker|spk|audio)(?: (?P<after>[a-z]+|\d+))? ?(?P<sign>[+-])"
)
_SUPPLY = re.compile(r"\+? ?(?:(?P<whole>\d+)v(?P<part>\d+)|(?P<volts>\d+(?:\.\d+)?) ?v)")
_TAGGED = re.compile(r"(?P<word>.+?) ?(?P<tag>\d{1,2}|(?<= )[a-z])")
_MAXIMUM = re.compile(r"(?P<role>.+?) max (?P<maximum>.+)", re.IGNORECASE)
PINS_FORM = "roles from left to right, such as “signal, +5V, ground”, or a common order such as “servo lead”"
ROLE_NAMES = (
    *("+5V", "+12V", "+3V3", "supply", "battery", "ground", "signal", "data", "data in", "data out"),
    *("clock", "clock in", "clock out", "PWM", "TX", "RX", "SDA", "SCL", "audio left", "audio right"),
    *("audio ground", "speaker +", "speaker -", "-"),
)


def read_role(text: str) -> Role:
    """Read one role, such as `+5V`, `GND`, `data 2` or `data in max 5.5 V`; raises NotationError."""
    cleaned = " ".join(check_characters(text).split())
    limited = _MAXIMUM.fullmatch(cleaned)
    if limited is None:
        return _read_bare_role(cleaned)
    role = _read_bare_role(limited["role"])
    if role.kind not in ("supply", "data", "clock"):
        raise NotationError(f"“{cleaned}”: only a supply, a data or a clock pin has a highest voltage")
    maximum = read_quantity(limited["maximum"], "voltage", "V")
    if not 0 < maximum <= 2 * HIGHEST_SUPPLY:
        raise NotationError(
            f"“{cleaned}”: the highest voltage must lie between 0 V and {2 * HIGHEST_SUPPLY:g} V"
        )
    return replace(role, maximum=maximum)


@cache
def _read_bare_role(cleaned: str) -> Role:
    word = cleaned.lower()
    known = _WORDS.get(word) or _LOGIC.get(word) or _AUDIO.get(word)
    if known is not None:
        return known
    supply = _SUPPLY.fullmatch(word)
    if supply is not None:
        whole, part = supply["whole"], supply["part"]
        volts = float(f"{whole}.{part}") if whole else read_number(supply["volts"])
        if not 1 <= volts <= HIGHEST_SUPPLY:
            raise NotationError(f"“{cleaned}”: a supply here lies between 1 V and {HIGHEST_SUPPLY:g} V")
        return Role(f"+{volts:g}V", "supply", voltage=volts)
    speaker = _SPEAKER.fullmatch(word)
    if speaker is not None and not (speaker["before"] and speaker["after"]):
        tag = speaker["before"] or speaker["after"] or ""
        sign: Literal["+", "-"] = "+" if speaker["sign"] == "+" else "-"
        shown = tag.upper() if len(tag) == 1 else tag
        return Role(
            " ".join(part for part in ("speaker", shown, sign) if part), "speaker", tag=tag, sign=sign
        )
    tagged = _TAGGED.fullmatch(word)
    if tagged is not None and tagged["word"] in _LOGIC:
        role = _LOGIC[tagged["word"]]
        return replace(role, label=f"{role.label} {tagged['tag']}", tag=tagged["tag"])
    if re.fullmatch(r"- ?\d.*", word):
        raise NotationError(f"“{cleaned}”: negative supplies are not judged here")
    if re.fullmatch(r"\+? ?\d+", word):
        raise NotationError(f"“{cleaned}” has no unit; write “+{word.lstrip('+ ')}V”, and 3.3 V as “+3V3”")
    if word in _COLOURS:
        usual, other = _COLOURS[word]
        raise NotationError(
            f"“{cleaned}” is a colour, which says nothing for certain: mostly “{usual}”, on other leads "
            f"“{other}”; look at the board's print and write which"
        )
    if re.search(r"[;/|]", word) or len(word.split()) > 2:
        raise NotationError(f"“{cleaned}” is not a role; put a comma between two pins")
    names = [name for name in (*_WORDS, *_LOGIC, *_AUDIO, *ROLE_NAMES) if len(name) > 2]
    near = difflib.get_close_matches(word, names, 1, 0.6)
    hint = f"; did you mean “{near[0]}”?" if near else "."
    raise NotationError(f"“{cleaned}” is not a role{hint} Roles: {', '.join(ROLE_NAMES)}")


@cache
def list_common_plugs() -> Mapping[str, Plug]:
    """Return the common orders of `plugs.toml` by name."""
    return {
        str(row["name"]): Plug(_read_pins(str(row["pins"]).split(",")), str(row["name"]), common=True)
        for row in read_rows("plugs")
    }


def read_plug(text: str) -> Plug:
    """Read comma-separated roles, or a common order by name (`servo lead`); raises NotationError."""
    words = " ".join(text.lower().replace("-", " ").split())
    common = list_common_plugs()
    if words in common:
        return common[words]
    parts = _split_pins(text)
    try:
        return Plug(_read_pins(parts))
    except NotationError as error:
        if len(parts) > 1:
            raise
        near = difflib.get_close_matches(words, common, 1, 0.6)
        if near:
            raise NotationError(f"“{text}” is not a known order; did you mean “{near[0]}”?") from None
        names = ", ".join(f"“{name}”" for name in common)
        raise NotationError(f"{error}. Or name a common order: {names}") from None


def _split_pins(text: str) -> list[str]:
    """Return the pins' texts: between commas, or where there are none between strokes or blanks.

    A role may hold blanks itself. Raises NotationError where the words can be cut in two ways.
    """
    if "," in text or _is_role(text):
        return text.split(",")
    words = re.split(r"[\s/|]+", text.strip())
    if all(word.lower() in _COLOURS for word in words):
        return words
    parts = [part.strip() for part in re.split(r"[/|]", text)]
    if len(parts) > 1 and all(map(_is_role, parts)):
        return parts
    ways = _cut_words(text.split())
    if len(ways) > 1:
        first, second = (f"“{', '.join(way)}”" for way in ways[:2])
        raise NotationError(f"“{text}” can mean {first} or {second}; put commas between the pins")
    return list(ways[0] if ways else ()) or [text]


def _cut_words(words: Sequence[str]) -> list[tuple[str, ...]]:
    """Return the ways, two at most, to cut words into roles, so that each word belongs to one of them."""
    # By how many words are left: what the last ones can be is found before what stands ahead of them.
    ways: list[list[tuple[str, ...]]] = [[()]]
    for left in range(1, len(words) + 1):
        start = len(words) - left
        found = [
            (role, *rest)
            for length in range(1, min(left, _LONGEST_ROLE) + 1)
            if _is_role(role := " ".join(words[start : start + length]))
            for rest in ways[left - length]
        ]
        ways.append(found[:2])
    return ways[-1]


@lru_cache(maxsize=256)
def _is_role(text: str) -> bool:
    try:
        role = read_role(text)
    except NotationError:
        return False
    # “s v” is two pins, and “sig 5 gnd” may be three: what tells several of a kind apart needs commas.
    return not role.is_logic or role.tag in ("", "1", "2")


def _read_pins(parts: Sequence[str]) -> tuple[Role, ...]:
    if len(parts) > MOST_PINS:
        raise NotationError(f"{len(parts)} pins are listed; allowed: at most {MOST_PINS}")
    if {"+", "-"} <= {part.strip() for part in parts}:
        # Boards print “+” and “-” for the supply, while a list of contacts has “-” where none is used.
        raise NotationError(
            "“-” beside “+” can mean ground or a contact not used; write “ground” or “unused”"
        )
    colours = [_COLOURS.get(part.strip().lower()) for part in parts]
    if len(parts) > 1 and all(colours):
        first, second = (", ".join(pair[way] for pair in colours if pair) for way in (0, 1))
        raise NotationError(
            f"“{', '.join(part.strip() for part in parts)}” are colours, which say nothing for certain: "
            f"mostly “{first}”, on other leads “{second}”; look at the board's print and write which"
        )
    pins = []
    for number, part in enumerate(parts, start=1):
        if not part.strip():
            raise NotationError(f"pin {number} is empty; write “-” for a contact that is not used")
        try:
            pins.append(read_role(part))
        except NotationError as error:
            raise NotationError(f"pin {number}: {error}") from None
    return tuple(pins)


def _read_board_name(text: str) -> str:
    """Read what a board is called; raises NotationError."""
    if ":" in text:
        raise NotationError(
            f"“{text}” holds a colon; give the name alone, and the pins in a cell of their own"
        )
    return check_characters(text)


@dataclass(frozen=True, kw_only=True)
class Board:
    """One board on a break-out."""

    name: str = ask(TextInput(
        label="Board", reader=_read_board_name, form="a name such as “tail”", longest=60,
    ))  # fmt: skip
    pins: Plug = ask(TextInput(label="Its pins in order", reader=read_plug, form=PINS_FORM))

    @property
    def plug(self) -> Plug:
        """Its plug, called by the board's name."""
        return replace(self.pins, name=self.name)


def rewrite_boards(texts: Mapping[str, str]) -> list[str]:
    """Return as rows what was once written `tail: +5V, data, ground; left: servo lead`."""
    boards = [part.partition(":") for part in texts["boards"].split(";") if part.strip()]
    named = all(colon and "\n" not in pins for _, colon, pins in boards)
    return [f"{name.strip()}; {pins.strip()}" for name, _, pins in boards] if named else []
