"""Invisible signs: what a script is written with stays, everything else is refused with its code."""

from __future__ import annotations

import re
import time
from pathlib import Path

import pytest
from backrefs import bre

from build_scripts.authoring.articles import check_article
from build_scripts.authoring.files import check_file
from build_scripts.authoring.signs import IGNORABLE, find_unwanted_sign

NEEDED = {
    "Persian, joined and not": "می\u200cخواهم",
    "Arabic abbreviation": "ه\u200d (هجری)",
    "Hindi half letter": "क्\u200dष and क्\u200c",
    "Bengali": "র\u200d্য",
    "Thai, where a line may end": "ไทย\u200bคำ",
    "Mongolian vowel": "ᠠᠯ\u180eᠠ ᠠ\u180b",
    "Hebrew with a mark of direction": "שלום\u200f (A) \u200eB",
    "a variant of a Han character": "葛\U000e0100",
    "an emoji in colour": "❤\ufe0f ⚠\ufe0f ℹ\ufe0f ☎\ufe0e",
    "a keycap": "1\ufe0f\u20e3 #\ufe0f\u20e3",
    "a family of emoji": "👩🏽\u200d🔧 🏳\ufe0f\u200d🌈 ❤\ufe0f\u200d🔥 🚴\u200d♂\ufe0f",
    "a flag of tags": "🏴\U000e0067\U000e0062\U000e0073\U000e0063\U000e0074\U000e007f",
    "a soft hyphen that is seen": "Laut&shy;sprecher",
    "a wide space and a narrow one": "5\u00a0A, 3\u202fm, a\u3000b",
    "entities": "&lt; &amp; &nbsp; &#8217;",
    "a tab and a line feed": "a\tb\n",
    "a sign younger than this Python": "\U0001faea \U0001f8b2",
}

UNWANTED = {
    "a\u200bb": "the invisible sign U+200B (zero width space), which makes words others than they look",
    "a\u200db": "U+200D",
    "漢\u200d字": "U+200D",
    "می\u200c\u200cخ": "U+200C",
    "🙂\u200d": "U+200D",
    "a\u00adb": "others than they look; remove it; to part a long word at a line's end write “&shy;”",
    "\ufeffa": "U+FEFF",
    "a\u2060b": "U+2060",
    "a\u034fb": "U+034F",
    "\u3164": "U+3164",
    "a\u200e": "U+200E",
    "a\ufe0f": "U+FE0F",
    "1\ufe0f": "U+FE0F",
    "😀\ufe0f\ufe0f": "U+FE0F",
    "x\U000e0041": "U+E0041 (tag latin capital letter a)",
    "🏴\U000e0041\U000e007f": "U+E0041",
    "\U000e01f0": "the invisible sign U+E01F0,",
    "\U0001d173": "U+1D173",
    "a\ufff9b": "U+FFF9",
    "\ue000": "the sign U+E000 stands for nothing, or for something else on every device; remove it",
    "\U00100000": "U+100000 stands for nothing",
    "\uffff": "U+FFFF stands for nothing",
    "\U0001fffe": "U+1FFFE stands for nothing",
    "\ud800": "U+D800 stands for nothing",
    "a\x0bb": "here is a control character, U+000B; remove it",
    "a\x0cb": "a control character, U+000C",
    "a\x85b": "a control character, U+0085",
    "a\u2028b": "a control character, U+2028",
    "a\u2029b": "a control character, U+2029",
    "a\u202eb": "the invisible sign U+202E turns round how the words after it are shown; remove it",
    "a\u2066b": "U+2066 turns round",
    "a&#x202e;b": "U+202E turns round",
    "a&#xE0041;b": "U+E0041",
    "a&ZeroWidthSpace;b": "U+200B",
}


@pytest.mark.parametrize("text", NEEDED.values(), ids=NEEDED.keys())
def test_what_a_language_needs_stays(text: str) -> None:
    assert find_unwanted_sign(text) == ""


@pytest.mark.parametrize(("text", "words"), UNWANTED.items(), ids=map(ascii, UNWANTED))
def test_a_sign_that_nobody_sees_is_refused_with_its_code(text: str, words: str) -> None:
    assert words in find_unwanted_sign(text)


def test_the_list_is_that_of_the_standard() -> None:
    standard, own = bre.compile(r"\p{Default_Ignorable_Code_Point}"), re.compile(f"[{IGNORABLE}]")
    signs = map(chr, range(0x110000))
    assert [sign for sign in signs if bool(standard.match(sign)) != bool(own.match(sign))] == []


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("# A\n\nwords\u200b", 3),
        ("---\ndescription: a\u200bb\n---\n# A", 2),
        ('---\ndescription: "\\U000E0041"\n---\n# A', 2),
        ("# A\n\n```\na\u2028b\n```", 4),
        ("# A\n\n``` calculator\nno-such: a\U000e0041\n```", 4),
    ],
)
def test_it_is_named_with_its_line_wherever_it_stands(text: str, line: int) -> None:
    assert [words for found, words in check_article(text) if found == line and "U+" in words]


def test_a_name_of_a_file_is_looked_through_as_well(tmp_path: Path) -> None:
    # A letter to Python, and nothing to the eye.
    path = tmp_path / "a\u3164b.md"
    path.write_text("# A\n", "utf-8")
    assert "in the name of this file, here is the invisible sign U+3164" in check_file(path)


def test_many_signs_are_looked_through_in_time() -> None:
    began = time.process_time()
    assert find_unwanted_sign("a\u200e" * 200_000 + "ש") == ""
    assert time.process_time() - began < 5
