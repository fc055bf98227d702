"""Reads and writes networks in textbook notation: `+` in series, `||` in parallel, brackets, counts, names.

`||`, which may be written `//`, binds tighter than `+`, as multiplication binds tighter than addition:
`8 || 8 + 4` is (8 || 8) + 4. A count repeats what follows it, joined by the operator beside it: `3 x 8 || 4`
is 8 || 8 || 8 || 4; with none beside it, by a word: `3 x 8 in parallel`. Words join two speakers as well:
`8 in series with 4`. A mere list, `8, 8 and 4`, says which speakers there are and not how they are joined.
"""

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from calculators.notation.errors import NotationError
from calculators.notation.quantity import read_quantity
from calculators.notation.showing import write_quantity
from calculators.notation.units import Ohm
from calculators.speaker_load.dc_network import MOST_ARRANGED, Joint, Network, Part, join

MOST_SPEAKERS = 24
"""On one channel; more would no longer fit the drawing, and no small amplifier drives them."""

DEEPEST_BRACKETS = 10
LOWEST_IMPEDANCE, HIGHEST_IMPEDANCE = 0.5, 2000.0
"""Nominal impedances that are read, in Ω: from a shaker to a headphone or a line transformer."""

_ALIKE = str.maketrans({"×": "x", "∥": "‖", "\u00a0": " ", "\u202f": " "})
_SIGNS = "‖\u03a9\u2126"
_BLANK = re.compile(r"\s*")
_APART = (
    r"(?!(?:with|to|all|both|pair|an?|one|two|three|four|five|six|eight)\b)(?=[A-Za-z])"
    r"(?:(?!\b(?:and|in|series|parallel)\b)[A-Za-z0-9_ -])+?"
)
"""A name that no colon sets off: none of the words that say how many there are, or how they are joined."""

_NAME = re.compile(rf"(?P<name>[A-Za-z][A-Za-z0-9_ -]*?)\s*[:=]|(?P<apart>{_APART})\s+(?=[\d.,])")
_COUNT = re.compile(r"(?P<count>\d+)\s*[xX*]\s*(?=[^\s])")
_WORD = re.compile(r"(?:in\s+)?(?P<joint>series|parallel)\b(?!\s+(?:with|to)\b)")
_JOIN: Mapping[str, re.Pattern[str]] = {
    joint: re.compile(rf"{sign}|(?:in\s+)?{joint}(?:\s+(?:with|to))?\s+(?=[\w(.,#])")
    for joint, sign in (("series", r"\+"), ("parallel", r"\|\||‖|//"))
}
_ANY_JOIN = re.compile("|".join(f"(?P<{joint}>{pattern.pattern})" for joint, pattern in _JOIN.items()))
_VALUE = re.compile(r"[^+|‖():;]+?(?=\s*(?:[+|‖():;]|//|\b(?:in\s+)?(?:series|parallel)\b|$))")
_SEVERAL = re.compile(r"\d.*(?:\s|&).*\d")
_LISTED = re.compile(
    r"(?:(?P<count>\d+)\s*[xX*]\s*)?"
    rf"(?P<speaker>(?P<name>{_APART}(?:\s*[:=]\s*|\s+))?"
    r"(?:\d+R\d+|\d+(?:\.\d+)?(?P<unit>\s*(?:[Oo]hms?|Ω|R)(?![A-Za-z0-9]))?))"
    r"(?:\s*[xX*]\s*(?P<times>\d+))?"
    r"(?P<mark>\s*(?:(?<=[A-Za-zΩ]),|,(?!\d)|[;&]|and\b)\s*|\s+|$)"
)
"""A speaker of a list, or several with a count ahead or behind, and what sets it apart from the next one."""

_LISTED_END = re.compile(r"\s+(?:(?:all\s+)?in\s+)?(?P<joint>series|parallel)$")
_FRACTION = re.compile(r"(?P<top>\d+)\s*/\s*(?P<bottom>\d+)\s*(?:[Oo]hms?|Ω|R)?")
_BRACKETS = re.compile(r"\(([^()]*)\)")
_NUMBER_WORDS = {"two": "2 x", "three": "3 x", "four": "4 x", "six": "6 x"}
_NUMBER_WORD = re.compile(rf"\b(?:{'|'.join(_NUMBER_WORDS)})\b(?=\s+\d)", re.IGNORECASE)
_FEW = ("2", "3", "4", "5", "6")
_COMMAS = re.compile(r"\d+(?:,\d+)+")
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
    """A network as read: the tree and its speakers, which its parts name by number.

    Of a mere list of speakers, which are not `joined`, the tree is one of the ways to join them.
    """

    tree: Network
    speakers: tuple[Speaker, ...]
    joined: bool = True

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
    """Read a network of nominal impedances such as `left:8 || right:8 + bass:4`, or a list of them.

    Raises NotationError, with the position of what cannot be read, for everything else.
    """
    written = _NUMBER_WORD.sub(lambda match: _NUMBER_WORDS[match[0].lower()], text.translate(_ALIKE).strip())
    listed = _read_list(written)
    return _read_joined(written) if listed is None else listed


def _read_joined(text: str) -> SpeakerNetwork:
    reader = _Reader(text)
    tree = reader.read_whole()
    leaves: list[_Leaf] = []
    network = _number_leaves(tree, leaves)
    return SpeakerNetwork(network, _name_speakers(leaves))


def _read_list(text: str) -> SpeakerNetwork | None:
    """Return the speakers of a list such as `8 8 8`, `4 x 8` or `left 8, right 8 in series`, if it is one."""
    said = _LISTED_END.search(text)
    body = text[: said.start()] if said else text
    if _COMMAS.fullmatch(body):
        apart = ", ".join(body.split(","))
        if body.count(",") == 1 and not said:
            decimal = f"{body.replace(',', '.')} ohm"
            raise NotationError(f"“{body}” can mean {decimal} or two speakers; write {decimal} or {apart}")
        body = apart
    listed = list(_LISTED.finditer(body))
    counts = [int((match["count"] or match["times"] or "1")[:4]) for match in listed]
    if "".join(match[0] for match in listed) != body or any(
        match["count"] and match["times"] for match in listed
    ):
        return None
    if not all(counts) or not 1 < sum(counts) <= MOST_SPEAKERS or listed[-1]["mark"]:
        return None
    _check_counts(body, listed)
    pieces = [
        f"{count} x {match['speaker']}" if count > 1 else match["speaker"]
        for count, match in zip(counts, listed, strict=True)
    ]
    in_series, in_parallel = (
        sign.join(pieces) if len(pieces) > 1 else f"{pieces[0]} in {joint}"
        for joint, sign in (("series", " + "), ("parallel", " || "))
    )
    if said:
        return _read_joined(in_series if said["joint"] == "series" else in_parallel)
    if sum(counts) > MOST_ARRANGED:
        number, speaker = listed[0]["count"], listed[0]["speaker"]
        if len(listed) == 1 and number and speaker in _FEW:
            raise NotationError(
                f"“{text}” can mean “{number} x {speaker} ohm”, of which nothing says how they are joined, "
                f"or “{speaker} x {number} ohm”; write one of them"
            )
        raise NotationError(
            f"nothing says how these {sum(counts)} speakers are joined; write “{in_series}” or "
            f"“{in_parallel}”"
        )
    return replace(_read_joined(in_series), joined=False)


def _check_counts(text: str, listed: Sequence[re.Match[str]]) -> None:
    """Refuse a list in which the first figure may be a count; raises NotationError."""
    first, *others = listed
    if len(others) != 1 or first["name"] or first["unit"] or first["count"] or not first["mark"].isspace():
        return
    number, speaker = first["speaker"], others[0]["speaker"]
    if number in _FEW and number != speaker:
        raise NotationError(
            f"“{text}” can mean “{number}, {speaker}” or “{number} x {speaker}”; write one of them"
        )


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


def _check_words(text: str) -> None:
    """Refuse words between speakers beside the other way of joining: they do not say which goes first."""
    while (group := _BRACKETS.search(text)) is not None:
        _check_level(group[1])
        text = f"{text[: group.start()]}#{text[group.end() :]}"
    _check_level(text)


def _check_level(text: str) -> None:
    found = list(_ANY_JOIN.finditer(text))
    signs = ["+" if match["series"] else "||" for match in found]
    if len(set(signs)) < 2 or not any(match[0][0].isalpha() for match in found):
        return
    if len(found) > 2 or "#" in text:
        raise NotationError("words between speakers do not say what is joined first; put brackets round that")
    one, two = found
    first, second, third = (
        part.strip() for part in (text[: one.start()], text[one.end() : two.start()], text[two.end() :])
    )
    raise NotationError(
        f"“{text}” can mean “({first} {signs[0]} {second}) {signs[1]} {third}” or "
        f"“{first} {signs[0]} ({second} {signs[1]} {third})”; write one of them"
    )


@dataclass
class _Reader:
    """Reads one text from left to right; `position` is where it stands."""

    text: str
    position: int = 0
    depth: int = 0

    def read_whole(self) -> "_Leaf | _Chain":
        _check_words(self.text)
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
        while self._take_join("series"):
            items.append(self._read_parallel(after_plus=True))
        return self._join("series", items)

    def _read_parallel(self, *, after_plus: bool) -> _Item:
        items: list[_Item] = [self._read_item()]
        while self._take_join("parallel"):
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
        if (fraction := _FRACTION.fullmatch(match[0].strip())) is not None:
            top, bottom = fraction["top"], fraction["bottom"]
            both = f"{top} || {bottom}" + (f" or {int(top) / int(bottom):.4g} ohm" if int(bottom) else "")
            raise self._refuse(f"“{match[0].strip()}” can mean {both}; write {both}", value_start)
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
        name = match["name"] or match["apart"]
        if len(name) > _LONGEST_NAME:
            raise self._refuse(f"the name “{name}” is too long; at most {_LONGEST_NAME} letters")
        self.position = match.end()
        return name

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

    def _take_join(self, joint: Joint) -> bool:
        self._skip_blank()
        match = _JOIN[joint].match(self.text, self.position)
        if match is not None:
            self.position = match.end()
        elif joint == "parallel" and self.text.startswith("|", self.position):
            raise self._refuse("a single | joins nothing; write || for in parallel")
        return match is not None

    def _take(self, bracket: str) -> bool:
        self._skip_blank()
        if not self.text.startswith(bracket, self.position):
            return False
        self.position += len(bracket)
        return True

    def _skip_blank(self) -> None:
        match = _BLANK.match(self.text, self.position)
        if match is not None:
            self.position = match.end()

    def _refuse(self, problem: str, position: int | None = None) -> NotationError:
        return NotationError(
            f"at position {(self.position if position is None else position) + 1}: {problem}"
        )
