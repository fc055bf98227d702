"""The Markdown extension: blocks in the place of their fences, the rest of the page cleaned, golden articles.

Golden files use the tests' own sample calculator and hold no computed figures: of a block just the frame.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import markdown
import pytest
from mkdocs.utils.meta import get_data
from mkdocs.utils.yaml import yaml_load

from build_scripts.authoring.articles import check_article
from build_scripts.authoring.fence import PlaceholderError, fill_placeholders
from calculators.presentation.as_html import render_block
from tests.build_scripts.golden_files import FOLDER, INPUTS, check_golden
from tests.calculators.sample import HOSTILE, SAMPLE, register_sample

ROOT = Path(__file__).resolve().parents[2]
BLOCK = re.compile(r'(<section class="sl-block"[^>]*>).*?(</section>)', re.DOTALL)


@pytest.fixture(autouse=True, scope="module")
def sample_registered() -> Iterator[None]:
    with register_sample():
        yield


@pytest.fixture(scope="module")
def reader() -> markdown.Markdown:
    """Markdown with the very extensions of the handbook, in its order."""
    rows = yaml_load((ROOT / "mkdocs.yml").read_text("utf-8"))["markdown_extensions"]
    settings = {name: options for row in rows if isinstance(row, dict) for name, options in row.items()}
    names = [row if isinstance(row, str) else next(iter(row)) for row in rows]
    assert "build_scripts.authoring.extension" in names
    return markdown.Markdown(extensions=names, extension_configs=settings)


def convert(reader: markdown.Markdown, text: str) -> str:
    """The page of an article, with its blocks put in as the site's last steps do."""
    return fill_placeholders(reader.reset().convert(text), {})


@pytest.mark.parametrize("path", INPUTS, ids=lambda path: path.stem)
def test_golden_articles(reader: markdown.Markdown, path: Path) -> None:
    # As the generator reads a file: line ends made one, front matter taken off.
    text = path.read_text("utf-8-sig")
    assert check_article(text) == []
    html = convert(reader, get_data(text)[0])
    fences = (
        len(re.findall(r"^\s*(?:```|~~~) calculator", text, re.MULTILINE))
        - text.count("Shown")
        - text.count("no-such")
    )
    assert len(BLOCK.findall(html)) == fences
    check_golden(f"{path.stem}.html", BLOCK.sub(r"\1[block]\2", html).rstrip() + "\n")


def test_every_golden_file_has_its_article() -> None:
    assert INPUTS
    assert {path.stem for path in (FOLDER / "output").iterdir()} == {path.stem for path in INPUTS}


def test_a_missing_golden_file_fails_in_ci(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match=r"nothing\.html is missing"):
        check_golden("nothing.html", "x")


def test_a_block_stands_in_the_page_as_python_wrote_it(reader: markdown.Markdown) -> None:
    html = convert(reader, "Before\n\n``` calculator\nsample-drop: The lead\ncurrent = 3 A\n```\n\nAfter\n")
    block = render_block(SAMPLE, {"current": "3 A"}, "c-the-lead", "The lead")
    assert html == f"<p>Before</p>\n{block}\n<p>After</p>"


def test_several_blocks_keep_their_order(reader: markdown.Markdown) -> None:
    text = "".join(f"``` calculator\nsample-drop: Lead {number}\n```\n\n" for number in range(12))
    ids = re.findall(r'<section class="sl-block" id="([^"]*)"', convert(reader, text))
    assert ids == [f"c-lead-{number}" for number in range(12)]


def test_a_block_needs_no_empty_lines_around_it(reader: markdown.Markdown) -> None:
    html = convert(reader, "Before\n``` calculator\nsample-drop: Lead\n```\nAfter")
    assert html.startswith("<p>Before</p>\n<section")
    assert html.endswith("<p>After</p>")


def test_hostile_words_in_a_fence_are_only_words(reader: markdown.Markdown) -> None:
    html = convert(reader, f"``` calculator\nsample-drop: {HOSTILE}\nlabel = {HOSTILE}\n```")
    assert "<img" not in html
    assert "<script" not in html
    assert html.count("&lt;/script&gt;&lt;img") >= 5


@pytest.mark.parametrize(
    "text",
    [
        "\x02embedding:0\x03",
        "&#2;embedding:0&#3;",
        '<div id="x" data-embedding="0"></div>',
        '<div data-embedding="7" id="x"></div>',
        '`<div id="x" data-embedding="0"></div>`',
    ],
)
def test_an_article_cannot_write_a_token_itself(reader: markdown.Markdown, text: str) -> None:
    assert "sl-block" not in convert(reader, text)


def test_a_page_knows_nothing_of_the_page_before(reader: markdown.Markdown) -> None:
    convert(reader, "``` calculator\nsample-drop: Lead\n```")
    assert "sl-block" not in convert(reader, '<div id="x" data-embedding="0"></div>')


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            "![a [b [c]]](https://evil.example/x.png)",
            "the picture “https://evil.example/x.png” comes from another",
        ),
        (
            "![a [b]][r]\n\n[r]: //evil.example/x.png",
            "the picture “//evil.example/x.png” comes from another place",
        ),
        (
            "![x\\](a)](https://evil.example/x.png)",
            "the picture “https://evil.example/x.png” comes from another",
        ),
        ("[x](javascript:alert(1))", "a link may not begin with “javascript:”"),
    ],
)
def test_no_address_is_taken_away_in_silence(reader: markdown.Markdown, text: str, words: str) -> None:
    with pytest.raises(PlaceholderError, match=re.escape(words)):
        convert(reader, text)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("x\n``` calculator\nno-such: thing\n```", "“thing”: there is no calculator “no-such”"),
        ("x\n``` calculator\nsample-drop: A\nb\n```", "line 4: “b” is not “field = value”"),
        ("<p>\n``` calculator\nsample-drop: A\n```\n</p>", "a calculator stands where none can be put in"),
        ("<details>\n\n``` calculator\nsample-drop: A\n```\n\n</details>", "stands where none can be put in"),
        ("<!--\n``` calculator\nsample-drop: A\n```\n-->", "stands where none can be put in"),
    ],
)
def test_a_fence_that_was_not_checked_stops_the_page(
    reader: markdown.Markdown, text: str, words: str
) -> None:
    assert check_article(text)
    with pytest.raises(PlaceholderError, match=re.escape(words)):
        convert(reader, text)


def test_headings_with_a_blocks_words_keep_ids_of_their_own(reader: markdown.Markdown) -> None:
    html = convert(reader, "# The lead\n\n``` calculator\nsample-drop: The lead\n```")
    assert re.findall(r'<(?:h1|section)[^>]* id="([^"]*)"', html) == ["the-lead", "c-the-lead"]
