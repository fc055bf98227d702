"""The interpreter without what nothing in a page can reach, made once and kept.

It depends on Pyodide, on the optimiser and on the names that stay, not on the calculators, and making it
takes longer than all the rest: so it is kept by the hash of those three.
"""

from collections.abc import Sequence
from pathlib import Path

from build_scripts.environment.progress import Progress
from build_scripts.runtime.kept_file import keep_file
from build_scripts.runtime.node import HERE, NodeStep, run_node

INTERPRETER = "pyodide.asm.wasm"
OPTIMISER = "binaryen/index.js"
"""Where the npm packages have the optimiser's module."""

TRIM_LIMIT = 300.0
"""Seconds that it may take: some fifty times what it needs on two cores."""

TRIM = NodeStep(
    "trim.mjs",
    "trim the interpreter",
    "it is work for the processor only: start again when the machine has less else to do",
)


def trim_interpreter(
    node_modules: Path,
    node: Path,
    exports: Sequence[str],
    made_from: str,
    cache_dir: Path,
    progress: Progress,
    limit: float = TRIM_LIMIT,
) -> bytes:
    """Return Pyodide's interpreter with these exports and what they lead to.

    Args:
        node_modules: folder that holds the npm packages `pyodide` and `binaryen`.
        node: the Node program.
        exports: the names that stay.
        made_from: what else it depends on: the packages.
        cache_dir: where it is kept.
        progress: shows the step.
        limit: seconds that it may take.

    Raises:
        RuntimeBuildError: it failed, or took too long.
    """
    script = (HERE / TRIM.script).read_text("utf-8")

    def trim(scratch: Path) -> bytes:
        options = {
            "binaryen": str((node_modules / OPTIMISER).resolve()),
            "interpreter": str((node_modules / "pyodide" / INTERPRETER).resolve()),
            "exports": list(exports),
        }
        with progress.show_step("trimming the interpreter (once; it is kept)"):
            return run_node(node, TRIM, options, scratch, limit)

    return keep_file(cache_dir, "interpreter", (made_from, script, *exports), trim)
