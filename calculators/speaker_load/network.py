"""Reads and writes networks in textbook notation: `+` in series, `||` in parallel, brackets, counts, names.

`||` binds tighter than `+`, as multiplication binds tighter than addition: `8 || 8 + 4` is (8 || 8) + 4.
A count repeats what follows it, joined by the operator that stands beside it: `3 x 8 || 4` is
8 || 8 || 8 || 4. A count with no operator beside it needs a word, `3 x 8 in parallel` or `3 x 8 in series`.
"""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from calculators.notation.errors import NotationError
from calculators.notation.quantity import read_quantity
from calculators.notation.showing import write_quantity
from calculators.notation.units import Ohm
from calculators.speaker_load.dc_network import Joint, Network, Part, join

MOST_SPEAKERS = 24
"""On one channel; more would no longer fit the drawing, and no small amplifier drives them."""

DEEPEST_BRACKETS = 10
LOWEST_IMPEDANCE, HIGHEST_IMPEDANCE = 0.5, 2000.0
"""Nominal impedances that are read, in Ω: from a shaker to a headphone or a line transformer."""

_ALIKE = str.maketrans({"×": "x", "∥": "‖", "\u00a0": " ", "\u202f": " "})
_SIGNS = "‖\u03a9\u2126"
_BLANK = re.compile(r"\s*")
_NAME = re.compile(r"(?P<name>[A-Za-z][A-Za-z0-9_ -]*?)\s*:")
_COUNT = re.compile(r"(?P<count>\d+)\s*[xX*]\s*(?=[^\s])")
_WORD = re.compile(r"(?:in\s+)?(?P<joint>series|parallel)\b")
_VALUE = re.compile(r"[^+|‖():;]+?(?=\s*(?:[+|‖():;]|\b(?:in\s+)?(?:series|parallel)\b|$))")
_NAME_AND_FIGURE = re.compile(r"(?P<name>[A-Za-z][A-Za-z_ ]*?) +(?P<figure>\d.*)")
_SEVERAL = re.compile(r"\d.*(?:\s|&).*\d")
_LONGEST_NAME = 16


@dataclass(frozen=True, slots=True)
class Speaker:
    """One speaker: its `name`, the name it shares with its copies (`group`), its nominal impedance."""

    name: str
    group: str
    nominal: Ohm

    @property
    def label(self) -> str:
        """Its name and its impedance."""
        return f"{self.name} {write_quantity(self.nominal, 'resistance')}"


@dataclass(frozen=True, slots=True)
class SpeakerNetwork:
    """A network as read: the tree and its speakers, which its parts name by number."""

    tree: Network
    speakers: tuple[Speaker, ...]

    @property
    def nominals(self) -> tuple[float, ...]:
        """The nominal impedances in Ω, by number."""
        return tuple(speaker.nominal for speaker in self.speakers)

    @property
    def names(self) -> tuple[str, ...]:
        """The speakers' names, by number."""
        return tuple(speaker.name for speaker in self.speakers)

    @property
    def written(self) -> str:
        """The network in textbook notation, every speaker with its impedance."""
        return write_network(self.tree, [speaker.label for speaker in self.speakers])


def write_network(network: Network, labels: Sequence[str], *, inner: bool = False) -> str:
    """Return a network in textbook notation, a label for each part, a group within another in brackets."""
    if isinstance(network, Part):
        return labels[network.number]
    sign = " + " if network.joined == "series" else " || "
    text = sign.join([write_network(member, labels, inner=True) for member in network.members])
    return f"({text})" if inner else text


def read_speaker_network(text: str) -> SpeakerNetwork:
    """Read a network of nominal impedances such as `left:8 || right:8 + shaker:4`.

    Raises NotationError, with the position of what cannot be read, for everything else.
    """
    reader = _Reader(text.translate(_ALIKE))
    tree = reader.read_whole()
    leaves: list[_Leaf] = []
    network = _number_leaves(tree, leaves)
    return SpeakerNetwork(network, _name_speakers(leaves))


def _name_speakers(leaves: Sequence["_Leaf"]) -> tuple[Speaker, ...]:
    first_written: dict[str, int] = {}
    for leaf in leaves:
        if leaf.name and first_written.setdefault(leaf.name, leaf.position) != leaf.position:
            raise NotationError(
                f"two speakers are called “{leaf.name}” (position {leaf.position + 1}); give each its own "
                "name"
            )
    copies = Counter(leaf.name for leaf in leaves if leaf.name)
    numbered = Counter[str]()
    names: list[str] = []
    for leaf in leaves:
        numbered[leaf.name] += 1
        name = leaf.name + (str(numbered[leaf.name]) if copies[leaf.name] > 1 else "") if leaf.name else ""
        if name and name in names:
            raise NotationError(f"two speakers would be called “{name}”; give the counted ones another name")
        names.append(name)
    spare = (name for number in range(1, 2 * MOST_SPEAKERS + 1) if (name := f"S{number}") not in names)
    return tuple(
        Speaker(name or next(spare), leaf.name or "", leaf.nominal)
        for name, leaf in zip(names, leaves, strict=True)
    )


@dataclass(frozen=True, slots=True)
class _Leaf:
    name: str
    nominal: float
    position: int


@dataclass(frozen=True, slots=True)
class _Chain:
    joint: Joint
    members: tuple["_Leaf | _Chain", ...]


@dataclass(frozen=True, slots=True)
class _Repeat:
    """A counted item whose operator is not known yet."""

    count: int
    item: "_Leaf | _Chain"
    position: int
    text: str


type _Item = _Leaf | _Chain | _Repeat


def _number_leaves(tree: "_Leaf | _Chain", leaves: list[_Leaf]) -> Network:
    if isinstance(tree, _Leaf):
        leaves.append(tree)
        return Part(len(leaves) - 1)
    return join(tree.joint, [_number_leaves(member, leaves) for member in tree.members])


def _count_leaves(tree: "_Leaf | _Chain") -> int:
    return 1 if isinstance(tree, _Leaf) else sum(_count_leaves(member) for member in tree.members)


@dataclass
class _Reader:
    """Reads one text from left to right; `position` is where it stands."""

    text: str
    position: int = 0
    depth: int = 0

    def read_whole(self) -> "_Leaf | _Chain":
        for number, character in enumerate(self.text):
            if ord(character) > 126 and character not in _SIGNS:
                raise self._refuse(
                    f"the character “{character}” (U+{ord(character):04X}) is not read here; type letters",
                    number,
                )
        tree = self._read_series()
        if self.position < len(self.text):
            if self.text[self.position] == ")":
                raise self._refuse("this bracket closes nothing; take it out or open one before it")
            raise self._refuse(f"“{self.text[self.position]}” is not read here; join speakers by + or ||")
        if _count_leaves(tree) > MOST_SPEAKERS:
            raise NotationError(
                f"this is {_count_leaves(tree)} speakers; at most {MOST_SPEAKERS} are computed"
            )
        return tree

    def _read_series(self) -> "_Leaf | _Chain":
        items: list[_Item] = [self._read_parallel(after_plus=False)]
        while self._take("+"):
            items.append(self._read_parallel(after_plus=True))
        return self._join("series", items)

    def _read_parallel(self, *, after_plus: bool) -> _Item:
        items: list[_Item] = [self._read_item()]
        while self._take("||") or self._take("‖"):
            items.append(self._read_item())
        if len(items) == 1:
            return items[0]
        beside_plus = [items[0]] if after_plus else []
        if self.text[self.position : self.position + 1] == "+":
            beside_plus.append(items[-1])
        for item in beside_plus:
            if isinstance(item, _Repeat):
                raise self._refuse(
                    f"“{item.text}” stands between + and ||, so it is not clear how the copies are joined; "
                    f"put brackets round the part it belongs to, or write “({item.text} in parallel)”",
                    item.position,
                )
        return self._join("parallel", items)

    def _read_item(self) -> _Item:
        self._skip_blank()
        start = self.position
        match = _COUNT.match(self.text, self.position)
        if match is None:
            return self._read_single()
        count = int(match["count"][:4])
        if not 1 <= count <= MOST_SPEAKERS:
            raise self._refuse(f"a count goes from 1 to {MOST_SPEAKERS}", start)
        self.position = match.end()
        item = self._read_single()
        if count * _count_leaves(item) > MOST_SPEAKERS:
            raise self._refuse(f"more than {MOST_SPEAKERS} speakers; no more are computed", start)
        text = self.text[start : self.position].strip()
        self._skip_blank()
        word = _WORD.match(self.text, self.position)
        if word is not None:
            self.position = word.end()
            self._skip_blank()
            return _Chain("series" if word["joint"] == "series" else "parallel", (item,) * count)
        return item if count == 1 else _Repeat(count, item, start, text)

    def _read_single(self) -> "_Leaf | _Chain":
        self._skip_blank()
        start = self.position
        if self._take("("):
            self.depth += 1
            if self.depth > DEEPEST_BRACKETS:
                raise self._refuse(f"brackets stand more than {DEEPEST_BRACKETS} deep", start)
            tree = self._read_series()
            if not self._take(")"):
                raise self._refuse("this bracket is not closed; add )", start)
            self.depth -= 1
            return tree
        name = self._read_name()
        self._skip_blank()
        value_start = self.position
        match = _VALUE.match(self.text, self.position)
        if match is None or not match[0].strip():
            found = f"“{self.text[self.position]}”" if self.position < len(self.text) else "the end"
            raise self._refuse(f"a speaker's impedance is missing before {found}; write one such as 8")
        self.position = match.end()
        try:
            nominal = read_quantity(match[0], "resistance", "Ω")
        except NotationError as error:
            advice = self._advise(match[0].strip())
            raise self._refuse(advice or str(error), value_start) from None
        if not LOWEST_IMPEDANCE <= nominal <= HIGHEST_IMPEDANCE:
            raise self._refuse(
                f"“{match[0].strip()}” is not a speaker's impedance; "
                f"allowed: {LOWEST_IMPEDANCE:g} Ω to {HIGHEST_IMPEDANCE:g} Ω",
                value_start,
            )
        self._skip_blank()
        return _Leaf(name, nominal, start)

    def _advise(self, text: str) -> str:
        """Return what to write for what cannot be an impedance, where it shows what was meant."""
        named = _NAME_AND_FIGURE.fullmatch(text)
        if named is not None:
            return f"write “{named['name']}:{named['figure']}”, with a colon between the name and the figure"
        if "/" in text:
            return f"write || between speakers in parallel; “{text}” is not read"
        if _SEVERAL.search(text) or self.text[self.position : self.position + 1] == ":":
            return f"write + between speakers in series and || between parallel ones; “{text}” is not read"
        return ""

    def _read_name(self) -> str:
        match = _NAME.match(self.text, self.position)
        if match is None:
            if self.text[self.position : self.position + 1] == ":":
                raise self._refuse("a name is missing before the colon; write one such as left:8")
            return ""
        if len(match["name"]) > _LONGEST_NAME:
            raise self._refuse(f"the name “{match['name']}” is too long; at most {_LONGEST_NAME} letters")
        self.position = match.end()
        return match["name"]

    def _join(self, joint: Joint, items: Sequence[_Item]) -> "_Leaf | _Chain":
        members: list[_Leaf | _Chain] = []
        for item in items:
            if not isinstance(item, _Repeat):
                members.append(item)
            elif len(items) > 1:
                members.extend((item.item,) * item.count)
            else:
                raise self._refuse(
                    f"“{item.text}” does not say how the {item.count} are joined; write “{item.text} in "
                    f"parallel” or “{item.text} in series”",
                    item.position,
                )
        return members[0] if len(members) == 1 else _Chain(joint, tuple(members))

    def _take(self, sign: str) -> bool:
        self._skip_blank()
        if (
            sign == "||"
            and self.text[self.position : self.position + 1]
            == "|"
            != self.text[self.position + 1 : self.position + 2]
        ):
            raise self._refuse("a single | joins nothing; write || for in parallel")
        if not self.text.startswith(sign, self.position):
            return False
        self.position += len(sign)
        return True

    def _skip_blank(self) -> None:
        match = _BLANK.match(self.text, self.position)
        if match is not None:
            self.position = match.end()

    def _refuse(self, problem: str, position: int | None = None) -> NotationError:
        return NotationError(
            f"at position {(self.position if position is None else position) + 1}: {problem}"
        )
