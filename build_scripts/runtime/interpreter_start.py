"""First module run inside the browser's interpreter: the way to the calculators.

It travels in the library. The worker uses it in both tiers: a calculator finds the same world in each.
"""

import json
import sys

from _pyodide._importhook import jsfinder  # type: ignore[import-not-found]  # only Pyodide has it

# A calculator has no business with page or network. The worker sees to that (`guard` in worker.js); this only
# says so in Python's words: the import fails.
jsfinder.jsproxies.clear()
for name in [name for name in sys.modules if name.partition(".")[0] in ("js", "pyodide_js")]:
    del sys.modules[name]

from calculators.answers import answer  # noqa: E402


def reply(question: str) -> str:
    """Return `{"answer": …}` in JSON, or `{"fault": …}` with the traceback of what was raised."""
    try:
        return f'{{"answer": {answer(question)}}}'
    except BaseException:  # whatever it is, the next question is answered
        import traceback  # takes long, and behind a snapshot is there already

        return json.dumps({"fault": traceback.format_exc()})
