"""Words of the trade: search.toml beside the engine's pages, and a club's own beside its articles."""

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from build_scripts.authoring.files import list_homes
from build_scripts.authoring.problems import Problem

WORDS = "search.toml"

MOST_PROBLEMS = 12
"""As many are shown before anything is typed; a club's own come first."""

_KEYS = {
    "same": 'a list of groups, each a list of words that mean the same: same = [["cell", "battery"]]',
    "skip": 'a list of words that say nothing: skip = ["the"]',
    "problem": 'tables with say and link: [[problem]], then say = "…" and link = "faults.md#no-light"',
    "asked": 'a table of queries by the article that answers them: "offline.md" = ["no signal"]',
}


@dataclass(frozen=True)
class Words:
    """What the files say, a club's first."""

    same: tuple[tuple[str, ...], ...] = ()
    """Groups of words and phrases that mean the same."""
    skip: tuple[str, ...] = ()
    """Words that say nothing about what is looked for."""
    problems: tuple[tuple[str, str], ...] = ()
    """The commonest problems in the reader's words, each with the place that answers, as articles link."""
    asked: tuple[tuple[str, str], ...] = ()
    """What readers ask, each with the article that has to be found; for the tests."""


def read_words(home: Path) -> Words:
    """Read the file in a folder of articles; a folder without one has none.

    Raises ValueError with a sentence for a file that is not so.
    """
    file = home / WORDS
    if not file.is_file():
        return Words()
    read = tomllib.loads(file.read_text("utf-8-sig"))
    for name, value in read.items():
        if name not in _KEYS:
            raise ValueError(f"“{name}” is not known here; allowed: {', '.join(_KEYS)}")
        if not _CHECKS[name](value):
            raise ValueError(f"“{name}” has to be {_KEYS[name]}")
    return Words(
        tuple(map(tuple, read.get("same", ()))),
        tuple(read.get("skip", ())),
        tuple((each["say"], each["link"]) for each in read.get("problem", ())),
        tuple((query, article) for article, asked in read.get("asked", {}).items() for query in asked),
    )


def read_all_words(root: Path) -> tuple[Words, list[Problem]]:
    """Read the files of all folders of articles; return them as one, and what is wrong in them."""
    words, problems = [], []
    for home in list_homes(root):
        try:
            words.append(read_words(home))
        except ValueError as error:
            problems.append(Problem((home / WORDS).relative_to(root).as_posix(), 1, str(error)))
    together = Words(
        tuple(row for each in words for row in each.same),
        tuple(row for each in words for row in each.skip),
        tuple(row for each in words for row in each.problems),
        tuple(row for each in words for row in each.asked),
    )
    return together, problems


def resolve_problems(
    root: Path, words: Words, urls: Mapping[str, str], places: frozenset[str]
) -> tuple[list[dict[str, str]], list[Problem]]:
    """Return the commonest problems with their addresses, and what leads nowhere.

    `urls` has the addresses of pages by their articles, `places` those of all that can be found.
    """
    resolved, problems = [], []
    for say, link in words.problems:
        article, sign, anchor = link.partition("#")
        url = f"{urls.get(article, '')}{sign}{anchor}"
        if article in urls and url in places:
            resolved.append({"say": say, "url": url})
        else:
            problems.append(_refuse_link(root, say, link))
    return resolved[:MOST_PROBLEMS], problems


def _refuse_link(root: Path, say: str, link: str) -> Problem:
    places = [
        (file.relative_to(root).as_posix(), line)
        for file in (home / WORDS for home in list_homes(root))
        if file.is_file()
        for line, words in enumerate(file.read_text("utf-8-sig").split("\n"), 1)
        if f'"{link}"' in words
    ]
    file, line = places[0] if places else (WORDS, 1)
    return Problem(
        file,
        line,
        f"“{say}” leads to “{link}”, where nothing is; write an article as seen from docs/, and behind “#” a "
        "heading's words in small letters with hyphens",
    )


def _is_list(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(each, str) and each.strip() for each in value)


_CHECKS: Mapping[str, Callable[[Any], bool]] = {
    "same": lambda value: (
        isinstance(value, list) and all(_is_list(group) and len(group) > 1 for group in value)
    ),
    "skip": _is_list,
    "problem": lambda value: (
        isinstance(value, list)
        and all(
            isinstance(each, dict) and {*each} == {"say", "link"} and _is_list([*each.values()])
            for each in value
        )
    ),
    "asked": lambda value: isinstance(value, dict) and all(map(_is_list, value.values())),
}
