"""The gate that every program of the handbook goes through: check calculators/, then become that program.

`python -m build_scripts.house_rules MODULE ARGUMENT …` runs the module as `python -m MODULE` would.
"""

import os
import runpy
import sys

from build_scripts.errors import BuildError
from build_scripts.house_rules.gate import check_calculators

# Strings, as in the gate: `pathlib` alone would take longer than all the rest of it.
ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))


def main(module: str, arguments: list[str]) -> int:
    """Run the module, unless something in calculators/ breaks the rules; returns the exit code."""
    try:
        check_calculators(os.path.join(ROOT, "calculators"), os.path.join(ROOT, ".cache"))
    except BuildError as error:
        print(error, file=sys.stderr)
        return 1
    sys.argv = [module, *arguments]
    runpy.run_module(module, run_name="__main__", alter_sys=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2:]))
