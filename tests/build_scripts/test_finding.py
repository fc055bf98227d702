"""What can be found: sections, words of the trade in the engine's file and a club's, and their index."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from build_scripts.authoring.fence import Embedding
from build_scripts.finding.index import name_engine
from build_scripts.finding.sections import CALCULATOR, FAULT, LONGEST_TEXT, list_sections
from build_scripts.finding.words import MOST_PROBLEMS, WORDS, read_all_words, read_words, resolve_problems
from build_scripts.generator import write_pages
from tests.conftest import ROOT
from tests.small_handbook import write_handbook

BLOCK = Embedding("wire-gauge", "Feed & return", ()).render_placeholder()
CONTENT = f"""<h1 id="lamp">Lamp<a class="headerlink" href="#lamp">¶</a></h1>
<p>It <em>shines</em>.</p><pre><code>no words</code></pre>
<h2 id="build-it">Build &amp; glue<a class="headerlink" href="#build-it">¶</a></h2>
<ul><li>Cut</li><li>glue</li></ul>
{BLOCK}
<p>then wait</p><table><tr><td>figures</td></tr></table>
<h3 id="empty">Empty</h3>
"""
SETTINGS = """\
site_name: Ropewalk
site_url: https://club.example/
strict: true
theme:
  name: material
  custom_dir: build_scripts/theme
  font: false
markdown_extensions:
  - build_scripts.authoring.extension
  - toc:
      permalink: true
"""


def test_a_page_parts_at_its_headings_and_its_calculators() -> None:
    found = list(list_sections("light/lamp.md", "light/lamp/", "Lamp", "All of it.", CONTENT))
    assert [(place.url, place.heading, place.text, place.kind) for place in found] == [
        ("light/lamp/", "", "All of it. It shines.", ""),
        ("light/lamp/#build-it", "Build & glue", "Cut glue then wait", ""),
        ("light/lamp/#c-feed-return", "Feed & return", "", CALCULATOR),
        ("light/lamp/#empty", "Empty", "", ""),
    ]
    assert {place.page for place in found} == {"Lamp"}
    assert not any(place.behind for place in found)


@pytest.mark.parametrize(
    ("source", "kinds"),
    [
        ("faults.md", ["", FAULT, CALCULATOR, FAULT]),
        ("calculators/lamp.md", [CALCULATOR, "", CALCULATOR, ""]),
        ("light/faults.md", ["", "", CALCULATOR, ""]),
    ],
)
def test_faults_and_calculators_are_told_as_such(source: str, kinds: list[str]) -> None:
    assert [place.kind for place in list_sections(source, "x/", "Lamp", "", CONTENT)] == kinds


@pytest.mark.parametrize(
    ("source", "behind"),
    [
        ("hosting.md", True),
        ("contributing.md", True),
        ("offline.md", True),
        ("index.md", True),
        ("faults.md", False),
        ("light/index.md", False),
    ],
)
def test_pages_for_those_who_keep_the_handbook_come_behind(source: str, behind: bool) -> None:
    assert {place.behind for place in list_sections(source, "x/", "X", "", CONTENT)} == {behind}


def test_what_a_calculator_was_compared_with_comes_behind() -> None:
    content = '<h1 id="x">X</h1><h2 id="fuse">Fuse</h2>a<h2 id="sources">Sources</h2>b'
    found = list_sections("calculators/x.md", "x/", "X", "", content)
    assert [place.behind for place in found] == [False, False, True]


@pytest.mark.parametrize(("words", "whole"), [(LONGEST_TEXT // 2, True), (LONGEST_TEXT // 2 + 1, False)])
def test_a_section_is_found_by_its_beginning(words: int, whole: bool) -> None:
    text = " ".join(["a"] * words)
    (found,) = list_sections("x.md", "x/", "X", "", f"<p>{text}</p>")
    assert (found.text == text) is whole
    assert len(found.text) <= LONGEST_TEXT + 2


def write_words(root: Path, text: str) -> Path:
    (root / "docs").mkdir(parents=True, exist_ok=True)
    (root / "docs" / WORDS).write_text(text, "utf-8")
    return root


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("sames = []", "“sames” is not known here; allowed: same, skip, problem, asked"),
        ('same = ["ohm"]', "“same” has to be a list of groups"),
        ('same = [["ohm"]]', "“same” has to be a list of groups"),
        ('same = [["ohm", ""]]', "“same” has to be a list of groups"),
        ("skip = [1]", "“skip” has to be a list of words"),
        ('[[problem]]\nsay = "x"', "“problem” has to be tables with say and link"),
        ('[[problem]]\nsay = "x"\nlink = 3', "“problem” has to be tables with say and link"),
        ('[problem]\nsay = "x"', "“problem” has to be tables with say and link"),
        ('[asked]\n"a.md" = "x"', "“asked” has to be a table of queries by the article"),
        ("same = ", "Invalid value"),
    ],
)
def test_a_file_of_words_that_is_not_so_is_refused(tmp_path: Path, text: str, words: str) -> None:
    _, (problem,) = read_all_words(write_words(tmp_path, text))
    assert problem.file == "docs/search.toml"
    assert words in problem.text


def test_a_clubs_words_come_before_the_engines(tmp_path: Path) -> None:
    root = write_words(
        tmp_path, 'same = [["goose", "bird"]]\n[[problem]]\nsay = "It bites"\nlink = "goose.md"\n'
    )
    (root / "build_scripts/pages").mkdir(parents=True)
    text = 'same = [["ohm", "ohms"]]\nskip = ["the"]\n'
    text += "".join(
        f'[[problem]]\nsay = "{number}"\nlink = "faults.md#n"\n' for number in range(MOST_PROBLEMS)
    )
    (root / "build_scripts/pages" / WORDS).write_text(text, "utf-8")
    words, problems = read_all_words(root)
    assert not problems
    assert words.same == (("goose", "bird"), ("ohm", "ohms"))
    urls, places = {"goose.md": "goose/", "faults.md": "faults/"}, frozenset({"goose/", "faults/#n"})
    shown, wrong = resolve_problems(root, words, urls, places)
    assert not wrong
    assert shown[0] == {"say": "It bites", "url": "goose/"}
    assert len(shown) == MOST_PROBLEMS
    assert shown[-1]["say"] == str(MOST_PROBLEMS - 2)


@pytest.mark.parametrize(
    ("link", "held"), [("index.md#mend-it", True), ("index.md#nowhere", False), ("lost.md", False)]
)
def test_a_commonest_problem_that_leads_nowhere_stops_the_build(
    tmp_path: Path, link: str, held: bool
) -> None:
    files = {
        "mkdocs.yml": SETTINGS,
        "docs/index.md": "# Home\n\n## Mend it\n\nGlue.\n",
        "docs/search.toml": f'skip = ["x"]\n\n[[problem]]\nsay = "It broke"\nlink = "{link}"\n',
    }
    root = write_handbook(tmp_path / "handbook", files)
    written = write_pages(root, tmp_path / "site", "0" * 16, {}, {}, tmp_path / "cache")
    if held:
        assert not written.problems
        assert written.found["problems"] == [{"say": "It broke", "url": "#mend-it"}]
        assert not (tmp_path / "site" / "search.toml").exists()
    else:
        (problem,) = written.problems
        assert (problem.file, problem.line) == ("docs/search.toml", 5)
        assert f"“It broke” leads to “{link}”, where nothing is" in problem.text


def test_the_script_that_searches_is_named_by_its_content() -> None:
    assert re.fullmatch(r"assets/find_engine\.[0-9a-f]{12}\.js", name_engine())


def test_every_group_of_the_files_in_this_checkout_is_used() -> None:
    words, problems = read_all_words(ROOT)
    assert not problems
    said = [phrase for group in words.same for phrase in group]
    assert len(said) == len(set(said)), "one word in two groups"
    assert read_words(ROOT / "build_scripts/pages").problems[MOST_PROBLEMS - 1 :]
