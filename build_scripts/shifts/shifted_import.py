"""A plugin of pytest that shifts one number of calculators/ as it is imported; no file is touched.

Which one, and to what, is told in HANDBOOK_SHIFT as JSON.
"""

import ast
import json
import os
import sys
from collections.abc import Sequence
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, SourceFileLoader
from importlib.util import spec_from_file_location
from pathlib import Path
from types import CodeType, ModuleType

VARIABLE = "HANDBOOK_SHIFT"


class ShiftedLoader(SourceFileLoader):
    """Loads a module with the number at one place replaced."""

    def __init__(self, module: str, path: str, line: int, column: int, value: float) -> None:
        """Keep which number of the module it is, by line and column, and what it is to be."""
        super().__init__(module, path)
        self.place = (line, column)
        self.value = value

    def get_code(self, _module: str) -> CodeType:
        """Return the module compiled anew, with the shifted number."""
        tree = ast.parse(self.get_data(self.path))
        Shifting(self.place, self.value).visit(tree)
        code: CodeType = compile(ast.fix_missing_locations(tree), self.path, "exec")
        return code


class Shifting(ast.NodeTransformer):
    """Puts a value in the place of the number at a line and column."""

    def __init__(self, place: tuple[int, int], value: float) -> None:
        """Keep the place and the value."""
        self.place = place
        self.value = value

    def visit(self, node: ast.AST) -> ast.AST:
        """Return the node, or the shifted number in its place."""
        number = isinstance(node, ast.Constant | ast.UnaryOp)
        if number and (node.lineno, node.col_offset) == self.place:  # type: ignore[attr-defined]
            return ast.Constant(self.value)
        return super().generic_visit(node)


class ShiftedFinder(MetaPathFinder):
    """Finds the one module, before any other finder does."""

    def __init__(self, module: str, loader: ShiftedLoader) -> None:
        """Keep the module's name and what loads it."""
        self.module = module
        self.loader = loader

    def find_spec(
        self, name: str, _path: Sequence[str] | None, _target: ModuleType | None = None
    ) -> ModuleSpec | None:
        """Return how the module is loaded; None for all others."""
        if name != self.module:
            return None
        return spec_from_file_location(name, self.loader.path, loader=self.loader)


def _shift() -> None:
    told = json.loads(os.environ[VARIABLE])
    module = told["file"].removesuffix(".py").removesuffix("/__init__").replace("/", ".")
    loader = ShiftedLoader(
        module, str(Path.cwd() / told["file"]), told["line"], told["column"], told["value"]
    )
    sys.meta_path.insert(0, ShiftedFinder(module, loader))


if VARIABLE in os.environ:
    _shift()
