"""The shape of articles: at each limit an article passes, and one step beyond it is refused with its line."""

from __future__ import annotations

import time
from collections.abc import Callable

import markdown
import pytest

from build_scripts.authoring.articles import check_article
from build_scripts.authoring.shape import (
    DEEPEST,
    LINES_TOGETHER,
    LONGEST_LINE,
    MOST_PARAGRAPHS,
    OPEN_TAGS,
)
from tests.build_scripts.test_articles import EXTENSIONS

type Text = Callable[[int], str]

LIMITS: dict[str, tuple[Text, int, int, str]] = {
    "square brackets": (
        lambda n: "a\n\n" + "[" * n,
        DEEPEST,
        3,
        "brackets (“[”) stand open here more than 20",
    ),
    "round brackets": (lambda n: "(" * n, DEEPEST, 1, "or write “\\(” where one is only a sign"),
    "closed brackets": (lambda n: "[" * n + "]" * n, DEEPEST, 1, "brackets (“[”)"),
    "emphasis": (lambda n: "*a " * n, DEEPEST, 1, "emphasis (“*” or “_”) stand open here"),
    "a run of emphasis": (lambda n: "_" * n + "a" + "_" * n, DEEPEST, 1, "emphasis"),
    "quotations": (
        lambda n: "> " * n + "a",
        DEEPEST,
        1,
        "lists, quotations or notes stand more than 20 deep",
    ),
    "quotations without spaces": (lambda n: ">" * n + "a", DEEPEST, 1, "lists, quotations or notes"),
    "lists on a line": (lambda n: "- " * n + "a", DEEPEST, 1, "lists, quotations or notes"),
    "numbered lists": (lambda n: "a\n\n" + "1. " * n + "a", DEEPEST, 3, "lists, quotations or notes"),
    "notes": (
        lambda n: "\n\n".join("    " * level + "!!! note" for level in range(n + 1)),
        DEEPEST,
        2 * DEEPEST + 3,
        "lists, quotations or notes",
    ),
    "a line": (lambda n: "a\n\n" + "a" * n, LONGEST_LINE, 3, "this line has more than 10,000 signs"),
    "lines together": (lambda n: "b\n\n" + "a\n" * n, LINES_TOGETHER, 3, "more than 400 lines follow here"),
    "paragraphs": (
        lambda n: "a\n\n" * n,
        MOST_PARAGRAPHS,
        2 * MOST_PARAGRAPHS + 1,
        "this article has more than 2,000 paragraphs",
    ),
    "tags": (lambda n: "x <b y\n" * n, OPEN_TAGS, OPEN_TAGS + 1, "more than 20 times “<” begins a tag"),
    "contents": (lambda n: "[TOC]\n\n" * n, 1, 3, "the table of contents, [TOC], stands here a second time"),
}


@pytest.mark.parametrize(("make", "limit", "line", "words"), LIMITS.values(), ids=LIMITS.keys())
def test_an_article_goes_up_to_the_limit_and_no_further(
    make: Text, limit: int, line: int, words: str
) -> None:
    at_limit = [told for _, told in check_article(make(limit)) if words in told]
    assert at_limit == []
    assert [number for number, told in check_article(make(limit + 1)) if words in told] == [line]


@pytest.mark.parametrize(
    "text",
    [
        "\\[" * 50 + "\\(" * 50 + "\\*a " * 50,
        "`" + "[" * 50 + "`, and `" + "<b " * 50 + "`",
        "```\n" + "[" * 50 + "\n" + " " * 200 + "deep\n[TOC]\n[TOC]\n```",
        "*a*. **b**, (*c*) __d__; " * 50,
        "| **a** | snake_case_name | 2 * 3 |\n" * 60,
        "(a) b) c) " * 50,
        "<!-- " + "<b " * 50 + "-->",
        "- a\n" * 100,
        "* * *",
    ],
)
def test_what_only_looks_deep_passes(text: str) -> None:
    assert check_article(text) == []


TOO_SLOW_FOR_MARKDOWN = [
    *("[", "![", "[](", "[x](", "[a](b ", "[a][", "*[", "<a ", "<http://a", "<![", '<p a="', '<p "'),
    *("a\n[a]: b\n", "# a\n", "a\n===\n", "[TOC]\n\n", "- ```\n```\n", "[a]:\n", "a\n: b\n", "<a@"),
    *("- ", "1. ", "> ", "*a ", "_a ", "*a _b ", "!!! note\n", "a\n!!! note\n    a\n", "- a\n\n    b\n\n"),
]


@pytest.mark.parametrize("part", TOO_SLOW_FOR_MARKDOWN)
def test_time_grows_with_the_length_and_not_beyond(part: str) -> None:
    def measure(times: int) -> float:
        text = part * times
        began = time.process_time()
        # What the check refuses is never given to Markdown.
        if not check_article(text):
            markdown.markdown(text, extensions=EXTENSIONS)
        return time.process_time() - began

    measure(10)
    short, long = measure(2_000), measure(16_000)
    # Eight times as much; what goes with the square of the length would take 64 times as long.
    assert long < max(0.5, 24 * short)


def test_settings_in_braces_are_read_in_time() -> None:
    began = time.process_time()
    check_article("# x {" + 'a="' * 2_000)
    assert time.process_time() - began < 5


def test_quotation_marks_behind_a_fence_do_not_stop_markdown() -> None:
    told = check_article("``` x" + ' a="b"' * 12 + "}\nx\n```")
    assert (1, "what stands behind these marks is not read; write one language name, or nothing") in told
    assert check_article("``` py" + ' a="b"' * 12 + "\nx\n```") == []


def test_settings_as_deep_as_can_be_are_refused_with_a_sentence() -> None:
    bomb = "a: &a [x, x]\n" + "".join(f"b{n}: &b{n} [*a, *a]\n" for n in range(50))
    for settings in ("title: " + "[" * 5_000 + "\n", "title: " + "{a: " * 5_000 + "\n", bomb, "<<: *a\n"):
        assert check_article(f"---\n{settings}---\n# A")
    assert check_article("---\ntitle: &a words\ndescription: *a\n---\n# A") == []
