"""Which of the interpreter's exports a script uses: Pyodide's own, or one of ours.

The interpreter exports some nine thousand functions, so that libraries compiled apart from it can be linked.
No such library ever comes into a page. Pyodide's loader would enter them all into a table, which takes a
fifth of the time to the first result, and a quarter of the interpreter is there for nothing else.
"""

import re

from build_scripts.runtime.errors import RuntimeBuildError

_TAKEN = re.compile(r'var ([\w$]+)=Module\["\1"\]=wasmExports\["([^"]+)"\];')
"""Emscripten's script takes every export into a variable, most of which nothing reads."""

_NAMED = re.compile(r'wasmExports(?:\["([^"]+)"\]|\.([\w$]+))')
_WORD = re.compile(r"[\w$]+")

_ENTRY = frozenset({"main", "__main_argc_argv"})
"""What the script looks up by a name it puts together itself: the entry of the program, under either name."""


def find_used_exports(scripts: str, own: str) -> list[str]:
    """List the exports that `scripts`, Pyodide's own together, name anywhere but in taking them all.

    So with those that our `own` scripts name. A name that stands in a comment or a text counts as well: one
    export too many costs next to nothing.

    Raises:
        RuntimeBuildError: the scripts no longer take exports in the way this relies on.
    """
    taken = _TAKEN.findall(scripts)
    if not taken:
        raise RuntimeBuildError("Pyodide's scripts no longer take the interpreter's exports one by one.")
    rest = _TAKEN.sub("", scripts)
    words = set(_WORD.findall(rest))
    ours = set(_WORD.findall(own))
    used = {export for variable, export in taken if variable in words or {variable, export} & ours}
    named = {quoted or plain for quoted, plain in _NAMED.findall(rest)}
    return sorted(used | named | _ENTRY)
