"""First module run inside the browser's interpreter: the door to the calculators, and the lock on JavaScript.

It travels in the library. The worker uses it in both tiers: a calculator finds the same world in each.
"""

import sys

from _pyodide._importhook import jsfinder  # type: ignore[import-not-found]  # only Pyodide has it

from calculators.answers import answer

__all__ = ["answer", "shut_out_javascript"]


def shut_out_javascript() -> None:
    """Take `js` and `pyodide_js` out of reach of imports: a calculator has no business with page or network.

    It is called once the interpreter runs, never before a freeze: a snapshot needs what it was made with.
    """
    jsfinder.jsproxies.clear()
    for name in [name for name in sys.modules if name.partition(".")[0] in ("js", "pyodide_js")]:
        del sys.modules[name]
