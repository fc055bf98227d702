"""What stands before an article between two lines of three hyphens: a few settings, all of plain words."""

import re
from collections.abc import Iterator

import yaml

from build_scripts.authoring.signs import find_unwanted_sign

KEYS = ("author", "description", "title")
"""What an article may set. Every one of them is text; the theme knows more, which would change pages."""

# Both as the generator finds them.
_BLOCK = re.compile(r"---[ \t]*\n(?P<settings>.*?\n)(?:\.{3}|-{3})[ \t]*\n", re.DOTALL)
_LOOSE = re.compile(r" {0,3}(?P<key>[A-Za-z0-9_-]+):")
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_TEXT = "tag:yaml.org,2002:str"


def split_front_matter(text: str) -> tuple[str, str]:
    """Return the settings and the article's text, in which empty lines stand where the settings were."""
    found = _BLOCK.match(text)
    if found is None:
        return "", text
    return found["settings"], "\n" * found[0].count("\n") + text[found.end() :]


def check_front_matter(text: str) -> list[tuple[int, str]]:
    """Return the problems of an article's settings as (line from 1, sentence)."""
    settings, _ = split_front_matter(text)
    if settings:
        return [(line + 1, words) for line, words in _check_settings(settings)]
    if text.lstrip().startswith("---") and not text.startswith("---"):
        return [(1, "settings begin in the first line; remove the empty lines above “---”")]
    if text.startswith("---"):
        return [
            (
                1,
                "the settings that begin here never end; write “---” on a line of its own after them, and "
                "the article below it",
            )
        ]
    if found := _LOOSE.match(text):
        return [
            (
                1,
                f"“{found['key']}:” at the very top is taken for a setting and would be lost from the text; "
                "begin with the title, such as “# Tail lift”, or put “---” before and after the settings",
            )
        ]
    return []


def _check_settings(settings: str) -> Iterator[tuple[int, str]]:
    try:
        node = yaml.compose(settings, Loader=_LOADER)
    except yaml.MarkedYAMLError as error:
        line = error.problem_mark.line if error.problem_mark else 0
        yield (
            line + 1,
            f"this cannot be read as “name: words” ({error.problem}); put the words between quotation marks, "
            'such as description: "How it works: a guide"',
        )
        return
    except (yaml.YAMLError, RecursionError):
        yield 1, "these settings cannot be read; write them anew, one “name: words” a line"
        return
    if not isinstance(node, yaml.MappingNode):
        allowed = ", ".join(KEYS)
        yield 1, f"between the lines “---” stand settings, one “name: words” a line; allowed: {allowed}"
        return
    seen: set[str] = set()
    for key, value in node.value:
        line = key.start_mark.line + 1
        name = key.value if isinstance(key, yaml.ScalarNode) else "…"
        if problem := _check_setting(name, value, seen):
            yield line, problem
        seen.add(name)


def _check_setting(name: str, value: yaml.Node, seen: set[str]) -> str:
    if name not in KEYS:
        return f"an article has no setting “{name}”; allowed: {', '.join(KEYS)}; remove the line"
    if name in seen:
        return f"“{name}” is given twice; keep one"
    if not isinstance(value, yaml.ScalarNode) or value.tag != _TEXT or not value.value.strip():
        return f'“{name}” is not plain words; write them between quotation marks, such as {name}: "A guide"'
    if found := re.search("[<>]", value.value):
        return f"“{name}” holds “{found[0]}”, which belongs to HTML; say it in words"
    return find_unwanted_sign(value.value)
