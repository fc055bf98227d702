"""Finds the named thresholds of the calculators, and the tests that can notice when one is shifted.

A threshold is a number with a name: an UPPER_CASE one of a module (of a pair each end), or a ClassVar of a
record. What makes it a threshold is its use, anywhere in calculators/: it stands in a comparison, among what
`exceeds`, `min` or `max` are given, or in a rule's `when`; by its own name or by one that the same file makes
from it. Constants of physics that are only reckoned with are none.
"""

import ast
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

COMPARING = ("exceeds", "min", "max")
_CONSTANT = re.compile("_?[A-Z][A-Z0-9_]*")

type Trees = Mapping[str, ast.Module]
"""The syntax of modules by path below the root, such as "calculators/physics/copper.py"."""


@dataclass(frozen=True)
class Threshold:
    """One number: where it stands, what it is called, and how much it is."""

    file: str
    line: int
    column: int
    name: str
    value: float

    def __str__(self) -> str:
        """Return its place and name."""
        return f"{self.file}:{self.line} {self.name}"

    def list_shifts(self) -> tuple[float, float]:
        """Return the value shifted down and up: a whole number by one, any other by 5 %."""
        if isinstance(self.value, int):
            return self.value - 1, self.value + 1
        return 0.95 * self.value, 1.05 * self.value


def read_trees(root: Path) -> Trees:
    """Return the syntax of all that stands in calculators/ below `root`."""
    return {
        path.relative_to(root).as_posix(): ast.parse(path.read_text("utf-8"))
        for path in sorted((root / "calculators").rglob("*.py"))
    }


def list_thresholds(trees: Trees) -> list[Threshold]:
    """Return the named numbers that something is compared with."""
    compared = {name for tree in trees.values() for name in _list_compared(tree)}
    found = []
    for file, tree in trees.items():
        for name, node in _list_numbers(tree):
            value = ast.literal_eval(node)
            # Five per cent of nothing is nothing.
            if name.rpartition(".")[2].partition("[")[0] in compared and (value or isinstance(value, int)):
                found.append(Threshold(file, node.lineno, node.col_offset, name, value))
    return found


def list_tests(trees: Trees, file: str, root: Path) -> list[str]:
    """Return the folders of tests that can notice: the room's own, and of calculators that import it."""
    imports = {one: set(_list_imports(trees, one)) for one in trees}
    reached = {file}
    while more := {one for one in trees if reached & imports[one]} - reached:
        reached |= more
    rooms = [file.split("/")[1], *sorted({one.split("/")[1] for one in reached})]
    return [
        f"tests/calculators/{room}"
        for number, room in enumerate(rooms)
        if (number == 0 or (f"calculators/{room}/calculator.py" in trees and room != rooms[0]))
        and (root / "tests" / "calculators" / room).is_dir()
    ]


def _list_numbers(tree: ast.Module) -> Iterator[tuple[str, ast.expr]]:
    """Yield each named number: UPPER_CASE in the module, ClassVar in its records; of a pair both ends."""
    for node in tree.body:
        match node:
            case ast.Assign(targets=[ast.Tuple(elts=names)], value=ast.Tuple(elts=values)):
                for named, value in zip(names, values, strict=True):
                    yield from _name_numbers(ast.unparse(named), value)
            case (
                ast.Assign(targets=[ast.Name(name)], value=value)
                | ast.AnnAssign(target=ast.Name(name), value=ast.expr() as value)
            ):
                yield from _name_numbers(name, value)
            case ast.ClassDef(name=record):
                for part in node.body:
                    match part:
                        case ast.AnnAssign(
                            target=ast.Name(name),
                            annotation=ast.Subscript(value=ast.Name("ClassVar")),
                            value=ast.expr() as value,
                        ) if _is_number(value):
                            yield f"{record}.{name}", value


def _name_numbers(name: str, value: ast.expr) -> Iterator[tuple[str, ast.expr]]:
    if not _CONSTANT.fullmatch(name):
        return
    if _is_number(value):
        yield name, value
    elif isinstance(value, ast.Tuple) and len(value.elts) == 2 and all(map(_is_number, value.elts)):
        yield from ((f"{name}[{number}]", end) for number, end in enumerate(value.elts))


def _is_number(node: ast.expr) -> bool:
    try:
        value = ast.literal_eval(node)
    except ValueError:
        return False
    return isinstance(value, int | float) and not isinstance(value, bool)


def _list_compared(tree: ast.Module) -> set[str]:
    """Return the names that comparisons hold, and those that such a name is made from."""
    found: set[str] = set()
    for node in ast.walk(tree):
        match node:
            case ast.Compare() | ast.keyword(arg="when"):
                found |= _list_names(node)
            case ast.Call(func=ast.Name(name), args=given) if name in COMPARING:
                found |= {used for one in given for used in _list_names(one)}
    while more := set(_list_sources(tree, found)) - found:
        found |= more
    return found


def _list_sources(tree: ast.Module, names: set[str]) -> Iterator[str]:
    """Yield the constants that any of `names` is made from."""
    for node in ast.walk(tree):
        match node:
            case (
                ast.Assign(targets=[target], value=value)
                | ast.AnnAssign(target=target, value=ast.expr() as value)
            ) if names & _list_names(target):
                yield from (one for one in _list_names(value) if _CONSTANT.fullmatch(one))


def _list_names(node: ast.AST) -> set[str]:
    named = {one.id for one in ast.walk(node) if isinstance(one, ast.Name)}
    return named | {one.attr for one in ast.walk(node) if isinstance(one, ast.Attribute)}


def _list_imports(trees: Trees, file: str) -> Iterator[str]:
    for node in ast.walk(trees[file]):
        if isinstance(node, ast.ImportFrom) and node.module:
            for name in (node.module, *(f"{node.module}.{alias.name}" for alias in node.names)):
                path = name.replace(".", "/")
                yield from (one for one in (f"{path}.py", f"{path}/__init__.py") if one in trees)
