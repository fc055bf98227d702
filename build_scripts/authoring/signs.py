"""Signs that nobody sees in a text and that change what it is.

Every sign is judged by Unicode's own data, so that an article may be in any language: what a script cannot be
written without may stand where that script uses it (the joiners of Persian and Hindi, the marks of direction
beside Hebrew and Arabic, the variants of Han characters, what holds an emoji together), one at a time, and
nowhere else. Runs of such signs carry hidden text.
"""

import re
import unicodedata
from html import unescape

IGNORABLE = (
    "\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f\u200b-\u200f\u202a-\u202e\u2060-\u206f\u3164"
    "\ufe00-\ufe0f\ufeff\uffa0\ufff0-\ufff8\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e0fff"
)
"""Default_Ignorable_Code_Point of the Unicode standard, which `unicodedata` does not know."""

# And: control characters but tab and line feed, other ends of lines, halves of signs, signs that stand for
# nothing or for something else on every device, and the marks of annotations, which no program shows.
_CANDIDATE = re.compile(
    rf"[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ud800-\uf8ff\ufdd0-\ufdef\ufff9-\ufffb\ufffe\uffff"
    rf"{IGNORABLE}\U000f0000-\U0010ffff]|[{''.join(chr(plane << 16 | 0xFFFE) for plane in range(1, 15))}"
    rf"{''.join(chr(plane << 16 | 0xFFFF) for plane in range(1, 15))}]"
)
_TURNS_ROUND = re.compile("[\u202a-\u202e\u2066-\u2069]")
_DIRECTION_MARKS = "\u061c\u200e\u200f"
# What tells nothing of the direction that the words around it have.
_WRITTEN_LEFT = re.compile(f"[\x00-\u024f{_DIRECTION_MARKS}]+")
_JOINERS = "\u180e\u200b\u200c\u200d"
_ZERO_WIDTH_JOINER = "\u200d"
_SOFT_HYPHEN = "\u00ad"
_EMOJI_STYLES = "\ufe0e\ufe0f"
_KEYCAP = "\u20e3"
# The one emoji among the letters: “information”.
_EMOJI_LETTER = "\u2139"
# England, Scotland and Wales: a black flag, their letters as tags, an end.
_TAGGED_FLAG = re.compile(
    "\U0001f3f4\U000e0067\U000e0062"
    "(?:\U000e0065\U000e006e\U000e0067|\U000e0073\U000e0063\U000e0074|\U000e0077\U000e006c\U000e0073)"
    "\U000e007f"
)


def find_unwanted_sign(text: str) -> str:
    """Return a sentence on the first such sign in `text`, written out or as an HTML entity, or ""."""
    # As an entity a soft hyphen is seen in the source.
    settled = unescape(text).replace(_SOFT_HYPHEN, "") if "&" in text else ""
    return _find_in(text) or _find_in(settled)


def _find_in(text: str) -> str:
    text = _TAGGED_FLAG.sub("", text)
    found = _CANDIDATE.search(text)
    if found is None:
        return ""
    turned = any(unicodedata.bidirectional(sign) in ("R", "AL") for sign in _WRITTEN_LEFT.sub("", text))
    for other in _CANDIDATE.finditer(text, found.start()):
        if not _is_needed(text, other.start(), turned):
            return _refuse(other[0])
    return ""


def _refuse(sign: str) -> str:
    code = f"U+{ord(sign):04X}"
    category = unicodedata.category(sign)
    if category in ("Cc", "Zl", "Zp"):
        return f"here is a control character, {code}; remove it, and save the file as UTF-8 text"
    if _TURNS_ROUND.match(sign):
        return f"the invisible sign {code} turns round how the words after it are shown; remove it"
    if category in ("Co", "Cs") or (category == "Cn" and not re.match(f"[{IGNORABLE}]", sign)):
        return f"the sign {code} stands for nothing, or for something else on every device; remove it"
    name = unicodedata.name(sign, "").lower()
    advice = "; to part a long word at a line's end write “&shy;”" if sign == _SOFT_HYPHEN else ""
    return (
        f"here is the invisible sign {code}{name and f' ({name})'}, which makes words others than they look; "
        f"remove it{advice}"
    )


def _is_needed(text: str, index: int, turned: bool) -> bool:
    """Whether the sign at this index of `text` belongs to how its script is written.

    `turned` says whether the text holds letters that run from right to left.
    """
    sign, before, after = text[index], text[index - 1 : index], text[index + 1 : index + 2]
    if not before or _CANDIDATE.match(before):
        # One alone behind another: an emoji in its own style, joined to the next.
        joined = sign == _ZERO_WIDTH_JOINER and before != "" and before in _EMOJI_STYLES
        return joined and _is_symbol(after)
    if sign in _EMOJI_STYLES and (_is_symbol(before) or before == _EMOJI_LETTER):
        return True
    if sign in _EMOJI_STYLES and before.isdigit():
        return after == _KEYCAP
    if sign in _DIRECTION_MARKS:
        return turned
    if sign in _JOINERS:
        joins_emoji = sign == _ZERO_WIDTH_JOINER and _is_symbol(before) and _is_symbol(after)
        return joins_emoji or _is_caseless(_find_base(text, index), wide=False)
    return "SELECTOR" in unicodedata.name(sign, "") and _is_caseless(before, wide=True)


def _is_symbol(sign: str) -> bool:
    return sign != "" and unicodedata.category(sign)[0] in "SP"


def _find_base(text: str, index: int) -> str:
    """Return the letter that the marks before this index sit on."""
    while index and unicodedata.category(text[index - 1]) in ("Mn", "Mc"):
        index -= 1
    return text[index - 1 : index]


def _is_caseless(sign: str, *, wide: bool) -> bool:
    # Letters of scripts without capitals; the wide ones, of Han, kana and Hangul, are never joined.
    if sign == "" or unicodedata.category(sign) != "Lo":
        return False
    return wide or unicodedata.east_asian_width(sign) not in ("W", "F", "H")
