"""The calculator fence: where it begins and ends, what it says, and what its author has to mend."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from build_scripts.authoring.fence import (
    Embedding,
    FenceError,
    PlaceholderError,
    fill_placeholders,
    find_fences,
    read_fence,
    render_problem,
)
from calculators.forms.calculator import ENDLESS
from calculators.results.result import Result
from tests.calculators.rows_sample import ROWS_SAMPLE
from tests.calculators.sample import SAMPLE, register_sample


@pytest.fixture(autouse=True, scope="module")
def sample_registered() -> Iterator[None]:
    with register_sample(SAMPLE, ROWS_SAMPLE):
        yield


def read(text: str) -> object:
    (fence,) = find_fences(text.split("\n"))
    return read_fence(fence)


def test_a_fence_is_read() -> None:
    embedding = read(
        "``` calculator\nsample-drop: Lead: to the shell\n# a comment\n\n"
        "current = 3 A   # measured\nlabel = a=b#c\n```"
    )
    assert (embedding.slug, embedding.caption) == ("sample-drop", "Lead: to the shell")  # type: ignore[attr-defined]
    assert embedding.fields == (("current", "3 A"), ("label", "a=b#c"))  # type: ignore[attr-defined]
    assert embedding.anchor == "c-lead-to-the-shell"  # type: ignore[attr-defined]
    assert 'id="c-lead-to-the-shell"' in embedding.render()  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("```\nx\n```", [(0, 2, "", True)]),
        ("~~~ calculator\nx\n~~~~", [(0, 2, "calculator", True)]),
        ("a\n    ```calculator\n    x\n    ```\nb", [(1, 3, "calculator", True)]),
        ("```\n~~~\n```\n~~~\nx\n~~~", [(0, 2, "", True), (3, 5, "", True)]),
        ("````\n``` calculator\nx\n```\n````", [(0, 4, "", True)]),
        ("~~~~\n``` calculator\nx\n```\n~~~~", [(0, 4, "", True)]),
        ("``` calculator\nx", [(0, 1, "calculator", False)]),
        ("a ``` b\n`` `\n> ```", []),
        ("``` a ` b\n", []),
        ("```\n```\n```\n```", [(0, 1, "", True), (2, 3, "", True)]),
        ("", []),
    ],
)
def test_fences_are_found(text: str, found: list[tuple[int, int, str, bool]]) -> None:
    fences = find_fences(text.split("\n"))
    assert [(fence.first, fence.last, fence.info, fence.closed) for fence in fences] == found


@settings(max_examples=300)
@given(
    st.lists(
        st.sampled_from(["```", "````", "~~~", "``` calculator", "  ```", "text", "", "`````"]), max_size=12
    )
)
def test_fences_never_overlap_and_stay_within_the_text(lines: list[str]) -> None:
    after = 0
    for fence in find_fences(lines):
        assert after <= fence.first <= fence.last < len(lines)
        assert fence.first < fence.last or not fence.closed
        after = fence.last + 1


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("``` calculator\nsample-drop: Lead", 1, "this calculator fence is never closed"),
        (
            "``` calculator wide\nsample-drop: Lead\n```",
            1,
            "“calculator wide” after the marks; write just “calculator” there",
        ),
        (
            "``` calculator\n\n# only a comment\n```",
            1,
            "this calculator fence is empty; begin it with a line “slug: caption”",
        ),
        ("``` calculator\n\nsample-drop\n```", 3, "“sample-drop” is not “slug: caption”"),
        ("``` calculator\n: Lead\n```", 2, "is not “slug: caption”"),
        ("``` calculator\nsample-drop:\n```", 2, "is not “slug: caption”"),
        (
            "``` calculator\nsample-drop: 🔥 …\n```",
            2,
            "the caption “🔥 …” makes the link and has no letter or digit; add a word",
        ),
        (
            "``` calculator\nsample-drop: A\ncurrent = 3 A #x\n```",
            3,
            "(a comment begins with “#” and a space)",
        ),
        (
            "``` calculator\nsample-drop: A\n\nMore text\n\n``` calculator\nsample-drop: B\n```",
            1,
            "this calculator fence is not closed before the one in line 6 begins; end it with the same marks",
        ),
        (
            "``` calculator\nsample-drop: A\n\nMore text\n```",
            4,
            "“More text” is not “field = value”; if the fence should end before it, close it",
        ),
        (
            "``` calculator\nsample-dorp: Lead\n```",
            2,
            "there is no calculator “sample-dorp”; did you mean “sample-drop”? allowed: sample-drop",
        ),
        ("``` calculator\nsample-drop: Lead\ncurrent 3 A\n```", 3, "“current 3 A” is not “field = value”"),
        ("``` calculator\nsample-drop: Lead\n= 3 A\n```", 3, "is not “field = value”"),
        (
            "``` calculator\nsample-drop: Lead\ncurrent = 3 A\n\ncurrent = 4 A\n```",
            5,
            "“current” is given twice, first in line 3; keep one",
        ),
        (
            "``` calculator\nsample-drop: Lead\ncurent = 3 A\n```",
            3,
            "curent: sample-drop has no field of this name; did you mean “current”? allowed: current, length",
        ),
        (
            "``` calculator\nsample-drop: Lead\n\ncurrent = 3 m\n```",
            4,
            "current: “3 m” is a length, but a current is asked for",
        ),
        ("``` calculator\nsample-drop: Lead\ncurrent =\n```", 3, "current: nothing is entered"),
        (
            "``` calculator\nsample-drop: Lead\nmetal = gold\n```",
            3,
            "metal: “gold” is not one of the choices; allowed: copper, tin plate",
        ),
        (
            "``` calculator\nsample-drop: Lead\ncurrent = 11 A\ncount = 6\n```",
            4,
            "count: more than 5 wires need 10 A or less",
        ),
        ("``` calculator\nsample-drop: Lead\ncurrent = −3 A\n```", 3, "minus sign, U+2212"),
    ],
)
def test_what_the_author_has_to_mend_is_named_with_its_line(text: str, line: int, words: str) -> None:
    with pytest.raises(FenceError, match=re.escape(words)) as caught:
        read(text)
    ((found, problem),) = caught.value.problems
    assert found == line
    assert str(caught.value) == f"line {line}: {problem}"


def test_all_that_is_wrong_with_a_fence_is_told_at_once() -> None:
    with pytest.raises(FenceError) as caught:
        read("``` calculator\nsample-drop: Lead\ncurrent 3 A\nlenth = 1 m\ncount = x\ncount = 2\n```")
    assert [line for line, _ in caught.value.problems] == [3, 4, 5, 6]
    told = "\n".join(problem for _, problem in caught.value.problems)
    for words in (
        "is not “field = value”",
        "did you mean “length”?",
        "count: “x”",
        "given twice, first in line 5",
    ):
        assert words in told


@pytest.mark.parametrize(
    ("caption", "anchor"),
    [
        ("Feed to the tail lift", "c-feed-to-the-tail-lift"),
        ("  A — b/c: 2.5 mm² ", "c-a-b-c-2-5-mm2"),
        ("Größe", "c-größe"),
        # The same letter, written as two signs.
        ("Gro\u0308ße", "c-größe"),
        ("שלום", "c-שלום"),
        ("हिन्दी", "c-हिन्दी"),
    ],
)
def test_a_caption_makes_the_link_in_every_script(caption: str, anchor: str) -> None:
    embedding = read(f"``` calculator\nsample-drop: {caption}\n```")
    assert embedding.anchor == anchor  # type: ignore[attr-defined]
    assert f'id="{anchor}"' in embedding.render()  # type: ignore[attr-defined]


def test_a_page_with_a_fence_that_could_not_be_read_is_never_filled() -> None:
    with pytest.raises(PlaceholderError, match=r"^line 3: mend “this”$"):
        fill_placeholders(f"<p>x</p>{render_problem('line 3: mend “this”')}", {})


def test_a_block_that_cannot_be_computed_is_named() -> None:
    page = Embedding("sample-drop", "The <lead>", (("current", "3 m"),)).render_placeholder()
    with pytest.raises(PlaceholderError, match=r"^“The <lead>”: .*“3 m” is a length"):
        fill_placeholders(page, {})


def test_figures_that_end_in_no_number_are_refused_with_their_line() -> None:
    def compute(**values: Any) -> Result:
        return replace(SAMPLE.compute(**values), outputs={"drop": values["length"] / 0})

    with register_sample(replace(SAMPLE, compute=compute)), pytest.raises(FenceError) as caught:
        read("``` calculator\nsample-drop: endless\nlabel = a\n\nlength = 9 m\n```")
    assert caught.value.problems == ((3, f"label: {ENDLESS}"), (5, f"length: {ENDLESS}"))


LAMPS = "``` calculator\nsample-lamps: On deck\nsupply = 24 V\nlamps =\n"


@pytest.mark.parametrize(
    ("rows", "text"),
    [
        ("    Bow, 0.5 A\n    Stern, 1 A, 2\n", "Bow, 0.5 A\nStern, 1 A, 2"),
        # Empty lines and comments say nothing; what stands in quotation marks is no comment.
        (
            '\n  # fore and aft\n  Bow; 0,5 A   # measured\n\n\t"Stern # 2"; "1,5 A" # too\n',
            'Bow; 0,5 A\n"Stern # 2"; "1,5 A"',
        ),
        ("  place, current\n  a=b, 1 A\n", "place, current\na=b, 1 A"),
    ],
)
def test_rows_stand_below_their_field_and_further_in(rows: str, text: str) -> None:
    for after in ("", "supply = 12 V\n"):
        written = LAMPS.replace("supply = 24 V\n", "" if after else "supply = 24 V\n")
        embedding = read(f"{written}{rows}{after}```")
        expected = [("supply", "24 V"), ("lamps", text)]
        if after:
            expected = [("lamps", text), ("supply", "12 V")]
        assert embedding.fields == tuple(expected)  # type: ignore[attr-defined]
        assert embedding.render()  # type: ignore[attr-defined]


def test_a_single_row_may_stand_beside_its_name() -> None:
    embedding = read("``` calculator\nsample-lamps: On deck\nlamps = Bow, 0.5 A\n  supply = 9 V\n```")
    assert embedding.fields == (("lamps", "Bow, 0.5 A"), ("supply", "9 V"))  # type: ignore[attr-defined]


def test_rows_in_a_fence_that_stands_further_in() -> None:
    (fence,) = find_fences(["- item", *(f"    {line}" for line in f"{LAMPS}  Bow, 1 A\n```".split("\n"))])
    assert read_fence(fence).fields == (("supply", "24 V"), ("lamps", "Bow, 1 A"))


@pytest.mark.parametrize(
    ("rows", "problems"),
    [
        (
            "    Bow, x\n    # note\n\n    Stern, 1 A, 20, blue\n    Mast, 1 A\n",
            [
                (5, "lamps: row 1, Current: “x” does not begin"),
                (8, "lamps: row 2, Strings: “20” is outside what can be computed; allowed: a whole number"),
            ],
        ),
        ("  Place, Curent, Strings\n  Bow, 1 A, 1\n", [(5, "lamps: the line of headings: “Curent” is no")]),
        ("  Bow, 1 A #x\n", [(5, "(a comment begins with “#” and a space)")]),
        ("  Bow\t1 A\n", [(5, "a tab stands in this row; put commas or semicolons between cells")]),
        ("  Bow, 20 A, 2\n\n  Mast, 11 A\n", [(7, "lamps: row 2, Current: here all are more than 50 A")]),
        ("supply = 3 V\n", [(4, "lamps: 0 rows; allowed: 1 to 200 rows"), (5, "“supply” is given twice")]),
        (
            "  Bow, 1 A\nMast, 1 A\n",
            [(6, "“Mast, 1 A” is not “field = value”; rows stand further in, below")],
        ),
    ],
)
def test_a_row_to_be_mended_is_named_with_its_line(rows: str, problems: list[tuple[int, str]]) -> None:
    with pytest.raises(FenceError) as caught:
        read(f"{LAMPS}{rows}```")
    found = [(line, words) for line, words in caught.value.problems if "row 1: 1 cell" not in words]
    for (line, words), (expected, part) in zip(found, problems, strict=False):
        assert line == expected
        assert part in words
    assert {line for line, _ in found} == {line for line, _ in problems}


def test_every_wrong_cell_of_a_row_is_told() -> None:
    with pytest.raises(FenceError) as caught:
        read(f"{LAMPS}  Bow, x, y\n```")
    ((_, words),) = caught.value.problems
    assert re.search(r"row 1, Current: “x”.*\. Row 1, Strings: “y”", words)
