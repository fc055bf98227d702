"""First module run inside the browser's interpreter: the way to the calculators.

It travels in the library. The worker uses it in both tiers: a calculator finds the same world in each.
"""

import dataclasses
import json
import marshal
import sys
from types import CodeType
from zipimport import zipimporter

from _pyodide._importhook import jsfinder  # type: ignore[import-not-found]  # only Pyodide has it

# A calculator has no business with page or network. The worker sees to that (`guard` in worker.js); this only
# says so in Python's words: the import fails.
jsfinder.jsproxies.clear()
for name in [name for name in sys.modules if name.partition(".")[0] in ("js", "pyodide_js")]:
    del sys.modules[name]

import calculators  # noqa: E402
from calculators.answers import answer  # noqa: E402

METHODS = "methods.bin"
"""In the part of a calculator: the methods of its classes, compiled, by the hash of their text."""

_methods: dict[int, CodeType] = {}


def _run(text: str, names: dict[str, object], defined: dict[str, object]) -> None:
    """Run the text of a class's methods as `exec` does; compiled, where a part brings it so."""
    exec(_methods.get(hash(text), text), names, defined)


# It writes such a text for every class, and compiling them takes longer than all the rest of an import.
dataclasses.exec = _run  # type: ignore[attr-defined]  # the name in that module, before Python's own


def add_part(path: str) -> str:
    """Let calculators be imported from a zip that holds the part of one, too."""
    _methods.update(marshal.loads(zipimporter(path).get_data(METHODS)))
    calculators.__path__.append(f"{path}/calculators")
    return path


def reply(question: str) -> str:
    """Return `{"answer": …}` in JSON, or `{"fault": …}` with the traceback of what was raised."""
    try:
        return f'{{"answer": {answer(question)}}}'
    except BaseException:  # whatever it is, the next question is answered
        import traceback  # takes long, and behind a snapshot is there already

        return json.dumps({"fault": traceback.format_exc()})
