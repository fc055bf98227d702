"""Which of the interpreter's exports Pyodide's own scripts use.

The interpreter exports some nine thousand functions, so that libraries compiled apart from it can be linked.
No such library ever comes into a page, and entering all of them takes a fifth of the time to the first
result; behind a snapshot only those listed here are entered.
"""

import re

from build_scripts.runtime.errors import RuntimeBuildError

_TAKEN = re.compile(r'var ([\w$]+)=Module\["\1"\]=wasmExports\["([^"]+)"\];')
"""Emscripten's script takes every export into a variable, most of which nothing reads."""

_NAMED = re.compile(r'wasmExports(?:\["([^"]+)"\]|\.([\w$]+))')
_WORD = re.compile(r"[\w$]+")

_ENTRY = frozenset({"main", "__main_argc_argv"})
"""What the script looks up by a name it puts together itself: the entry of the program, under either name."""


def find_used_exports(scripts: str) -> list[str]:
    """List the exports that `scripts`, Pyodide's own together, name anywhere but in taking them all.

    A name that stands in a comment or a text counts as well: one export too many costs next to nothing.

    Raises:
        RuntimeBuildError: the scripts no longer take exports in the way this relies on.
    """
    taken = _TAKEN.findall(scripts)
    if not taken:
        raise RuntimeBuildError("Pyodide's scripts no longer take the interpreter's exports one by one.")
    rest = _TAKEN.sub("", scripts)
    words = set(_WORD.findall(rest))
    used = {export for variable, export in taken if variable in words}
    named = {quoted or plain for quoted, plain in _NAMED.findall(rest)}
    return sorted(used | named | _ENTRY)
