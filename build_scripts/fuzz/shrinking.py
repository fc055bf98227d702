"""Makes a failing input as small as it fails in the same way, and writes it down as a test.

By hand, because a library's own shrinking begins with an input of its own drawing, which costs a
thousandth of a second each: fifty times what most inputs here take.
"""

import re
import time
from collections.abc import Iterator, Mapping

from build_scripts.fuzz.targets import find_fault

_PATIENCE = 20.0
"""Seconds after which the smallest so far has to do."""


def shrink_texts(target: str, about: str, texts: Mapping[str, str], fault: str) -> dict[str, str]:
    """Return texts with which the very same fault is found, with nothing left that could be left out."""
    smallest = dict(texts)
    end = time.monotonic() + _PATIENCE
    shrinking = True
    while shrinking:
        shrinking = False
        for smaller in _list_smaller(smallest):
            if time.monotonic() > end:
                return smallest
            if find_fault(target, about, smaller) == fault:
                smallest, shrinking = smaller, True
                break
    return smallest


def _list_smaller(texts: Mapping[str, str]) -> Iterator[dict[str, str]]:
    """Yield the same with one text less, then with one of them shorter, the largest cuts first."""
    if len(texts) > 1:
        for name in texts:
            yield {other: text for other, text in texts.items() if other != name}
    for name, text in texts.items():
        size = len(text)
        while size:
            for start in range(0, len(text), size):
                yield {**texts, name: text[:start] + text[start + size :]}
            size //= 2


def write_test(target: str, about: str, texts: Mapping[str, str], fault: str) -> str:
    """Return a test, ready to be pasted, that fails as long as the fault is there."""
    name = re.sub(r"\W+", "_", f"{target} {about}".lower()).strip("_")
    return (
        "from build_scripts.fuzz.targets import find_fault\n\n\n"
        f"def test_{name}_stands() -> None:\n"
        f"    # {fault}\n"
        f'    assert find_fault({target!r}, {about!r}, {dict(texts)!a}) == ""\n'
    )
