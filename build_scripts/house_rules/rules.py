"""Finds what in calculators/ breaks the rules, from its files and their syntax; none of it is run.

Objects can lead anywhere in Python, so the rules follow every way to one. A module is no value: it stands
before a dot, and only what the lists name may follow. Of another calculator's module only what that defines
itself is imported. A name is either the file's own or a built-in that the lists name. An attribute is either
declared by a class in calculators/ and not one of Python's own, or one that the lists name.
"""

import ast
import builtins
import importlib
import re
import tokenize
import types
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from io import BytesIO

from build_scripts.authoring.problems import Problem
from build_scripts.house_rules.allowed import (
    ATTRIBUTES,
    BASES,
    BUILTINS,
    DUNDER_ATTRIBUTES,
    DUNDER_METHODS,
    EXPRESSIONS,
    MODULES,
    SPELLED,
    SYNTAX,
    find_place,
)

_PATH = re.compile(r"([a-z][a-z0-9_]*/)*(([a-z][a-z0-9_]*|__init__|__main__)\.py|[a-z][a-z0-9_]*\.toml)")
_STARTED_BY_OTHERS = {"conftest.py", "sitecustomize.py", "usercustomize.py"}
# Vim, Emacs and others lay these beside a file while it is open: no name that Python would import.
_EDITORS = re.compile(r"(.*/)?(\.[^/]+\.sw[a-p]|\.#[^/]+|[^/]+~)")
LISTS = "build_scripts/house_rules/allowed.py"
_IMMUTABLE = 1 << 8  # Py_TPFLAGS_IMMUTABLETYPE


@dataclass
class House:
    """All modules in calculators/, and what they define."""

    modules: dict[str, list[ast.AST]] = field(default_factory=dict)
    """All of the syntax, from the whole to the parts, by path from calculators/."""

    definitions: dict[str, set[str]] = field(default_factory=dict)
    """What may be imported from each, by the name of the module."""

    attributes: set[str] = field(default_factory=set)
    """What their classes declare."""

    def add_module(self, path: str, tree: ast.Module) -> None:
        """Add a module by its path from calculators/."""
        # Listed once for all that has to look at each piece: that is what takes long.
        nodes = self.modules[path] = list(ast.walk(tree))
        self.attributes |= _list_attributes(nodes)
        self.definitions[_name_module(path)] = _list_definitions(tree, nodes)


def find_problems(files: Mapping[str, bytes | None]) -> list[Problem]:
    """Return what breaks the rules in these files, by path from calculators/."""
    house, problems = read_house(files)
    # What cannot be read has its users refused as well, which would bury the one line that matters.
    if not problems:
        problems = {problem for path in house.modules for problem in find_in_module(house, path)}
    return sorted(problems)


def read_house(files: Mapping[str, bytes | None]) -> tuple[House, set[Problem]]:
    """Read these files, by path from calculators/; returns them and what keeps one from being read."""
    house = House()
    problems: set[Problem] = set()
    for path, content in files.items():
        if _EDITORS.fullmatch(path):
            continue
        found = list(_find_in_file(path, content, files))
        if not found and content is not None and path.endswith(".py"):
            try:
                tree = ast.parse(content)
                # What is too deep for the compiler shows only there; compiling runs nothing.
                compile(content, path, "exec", dont_inherit=True)
                house.add_module(path, tree)
            except SyntaxError as error:
                found.append((error.lineno or 1, f"this is not Python: {error.msg}"))
            except (RecursionError, MemoryError, ValueError):
                found.append((1, "this nests deeper than Python reads; write it in smaller pieces"))
        problems |= {Problem(f"calculators/{path}", line, text) for line, text in found}
    return house, problems


def find_in_module(house: House, path: str) -> list[Problem]:
    """Return what breaks the rules in one module of a house."""
    try:
        reader = Reader(path, house.modules[path], house)
        return [Problem(f"calculators/{path}", line, text) for line, text in reader.find_problems()]
    except RecursionError:
        return [
            Problem(
                f"calculators/{path}", 1, "this nests deeper than can be checked; write it in smaller pieces"
            )
        ]


def _find_in_file(
    path: str, content: bytes | None, files: Mapping[str, bytes | None]
) -> Iterator[tuple[int, str]]:
    folder, _, name = path.rpartition("/")
    if content is None:
        yield 1, "this is a link or no file at all; put a plain file there"
        return
    if not _PATH.fullmatch(path) or name in _STARTED_BY_OTHERS:
        yield (
            1,
            "only modules (.py) and tables (.toml) belong here, named with small letters, digits and _, and "
            f"none that other programs look for ({_list(_STARTED_BY_OTHERS)}); remove it",
        )
        return
    if name.endswith(".py") and f"{folder}/__init__.py".lstrip("/") not in files:
        yield 1, "its folder has no __init__.py; add an empty one"
    if f"{path.removesuffix('.py')}/__init__.py" in files:
        yield 1, "a folder beside it has the same name, and only one of them is imported; rename one"
    try:
        text = content.decode("utf-8").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        yield content.count(b"\n", 0, error.start) + 1, "this is not UTF-8; save it as UTF-8"
        return
    for number, line in enumerate(text.split("\n"), 1):
        # Most lines hold none, and it takes long to ask about each of their signs.
        for sign in "" if line.replace("\t", "").isprintable() else line:
            if sign != "\t" and unicodedata.category(sign) in {"Cc", "Cf", "Cn", "Co", "Zl", "Zp"}:
                yield number, f"here is the invisible sign U+{ord(sign):04X}; write it as \\u{ord(sign):04x}"
                break
    if name.endswith(".py"):
        try:
            encoding, _ = tokenize.detect_encoding(BytesIO(content).readline)
        except SyntaxError:
            encoding = "unknown"
        if encoding != "utf-8":
            yield (
                1,
                f"the encoding “{encoding}” is declared, and what is read here is UTF-8; remove that line",
            )


def _name_module(path: str) -> str:
    name = "calculators/" + path.removesuffix(".py").removesuffix("__init__").rstrip("/")
    return name.rstrip("/").replace("/", ".")


def _list_attributes(nodes: Iterable[ast.AST]) -> set[str]:
    names: set[str] = set()
    for node in nodes:
        if isinstance(node, ast.ClassDef):
            names |= set(_list_bound(node.body))
        elif isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Store) and _is_self(node.value):
            names.add(node.attr)
    return names


def _list_definitions(tree: ast.Module, nodes: Iterable[ast.AST]) -> set[str]:
    imported = {
        alias.asname or alias.name.partition(".")[0]
        for node in nodes
        if isinstance(node, (ast.Import, ast.ImportFrom))
        for alias in node.names
    }
    return set(_list_bound(tree.body)) - imported


def _list_bound(body: Iterable[ast.stmt]) -> Iterator[str]:
    """List what the statements of a module or a class define by themselves, not what they import."""
    for statement in body:
        match statement:
            case ast.FunctionDef() | ast.ClassDef():
                yield statement.name
            case ast.Assign() | ast.AnnAssign() | ast.TypeAlias():
                targets = (
                    statement.targets if isinstance(statement, ast.Assign) else [_find_target(statement)]
                )
                for target in targets:
                    yield from (node.id for node in ast.walk(target) if isinstance(node, ast.Name))


def _find_target(statement: ast.AnnAssign | ast.TypeAlias) -> ast.expr:
    return statement.target if isinstance(statement, ast.AnnAssign) else statement.name


def _is_self(node: ast.expr) -> bool:
    return isinstance(node, ast.Name) and node.id == "self"


def _list_kinds() -> set[type]:
    """List the types of Python's own objects that a calculator could hold."""
    kinds: set[type] = set()
    for values in (vars(builtins).values(), vars(types).values()):
        kinds |= {value for value in values if isinstance(value, type)}
    for module, names in MODULES.items():
        listed = [getattr(importlib.import_module(module), name) for name in names]
        kinds |= {value if isinstance(value, type) else type(value) for value in listed}
    import argparse
    import dataclasses
    import functools
    import io
    import random

    kinds |= {argparse.ArgumentParser, dataclasses.Field, io.TextIOWrapper, random.Random}
    kinds |= {type(functools.cache(len)), type(iter({}.items()))}
    return kinds | {type(kind) for kind in kinds}


_KINDS = _list_kinds()
PYTHONS_OWN = frozenset(name for kind in _KINDS for name in dir(kind))
"""The attributes of Python's own objects."""

_CHANGEABLE = frozenset(name for kind in _KINDS if not kind.__flags__ & _IMMUTABLE for name in dir(kind))
"""Those of classes that could be changed for everybody by assigning to an attribute."""


class Reader:
    """Reads the syntax of one module."""

    def __init__(self, path: str, nodes: Sequence[ast.AST], house: House) -> None:
        self.house = house
        self.place = find_place(path)
        self.lists = {**MODULES, **self.place.modules}
        self.builtins = BUILTINS | self.place.builtins
        self.nodes = nodes
        self.bound = {name for node in self.nodes for name in _list_names(node)}
        """The names that this module gives to anything."""
        self.aliases: dict[str, set[str]] = {}
        """The names that stand for modules, and for which."""
        self.heads: set[str] = set()
        """The names that stand at the head of a class only."""
        self.before_dots = {id(node.value) for node in self.nodes if isinstance(node, ast.Attribute)}
        self.expressions = {ast.unparse(ast.parse(text)) for text in EXPRESSIONS | self.place.expressions}
        self.excused: set[int] = set()
        """The nodes, by identity, that are allowed where they stand."""
        words = {
            name.id
            for text in self.expressions
            for name in ast.walk(ast.parse(text))
            if isinstance(name, ast.Name)
        }
        self.fixed = {
            name for name in words if hasattr(builtins, name) or name in self.lists
        } | self.place.doors
        """The names in those expressions that mean what they mean."""
        self.submodules: set[str] = set()
        """In the file of a package: the names that Python gives to the modules in it."""
        if path.endswith("__init__.py"):
            package = _name_module(path) + "."
            inside = (name.removeprefix(package) for name in house.definitions if name.startswith(package))
            self.submodules = {name.partition(".")[0] for name in inside}

    def find_problems(self) -> Iterator[tuple[int, str]]:
        """Find what breaks the rules, each with its line."""
        for node in self.nodes:
            self._collect(node)
        self._excuse()
        for node in self.nodes:
            for text in self._read(node):
                yield getattr(node, "lineno", 1), text

    def _collect(self, node: ast.AST) -> None:
        match node:
            case ast.Import():
                for alias in node.names:
                    self.aliases.setdefault(alias.asname or alias.name, set()).add(alias.name)
            case ast.ImportFrom():
                heads = [alias for alias in node.names if (node.module, alias.name) in BASES]
                self.heads |= {alias.asname or alias.name for alias in heads}

    def _excuse(self) -> None:
        # Only what begins as one of them does is written out to be compared.
        beginnings = {_find_beginning(ast.parse(text, mode="eval").body) for text in self.expressions}
        for node in self.nodes:
            match node:
                case ast.ClassDef():
                    bases = (
                        base for base in node.bases if isinstance(base, ast.Name) and base.id in self.heads
                    )
                    self.excused.update(map(id, bases))
                case ast.Call(func=ast.Attribute(ast.Name("random"), "Random"), args=[seed], keywords=[]):
                    if not isinstance(seed, ast.Starred):
                        self.excused.update(map(id, ast.walk(node.func)))
            if _find_beginning(node) in beginnings and ast.unparse(node) in self.expressions:
                self.excused.update(map(id, ast.walk(node)))

    def _read(self, node: ast.AST) -> Iterator[str]:
        if id(node) in self.excused:
            return
        for name in _list_names(node):
            yield from self._read_new_name(node, name)
        match node:
            case ast.Import():
                for alias in node.names:
                    yield from self._read_import(alias.name)
            case ast.ImportFrom():
                yield from self._read_import_from(node)
            case ast.Attribute():
                yield from self._read_attribute(node)
            case ast.Name():
                yield from self._read_name(node)
            case ast.MatchClass():
                for name in node.kwd_attrs:
                    yield from self._read_attribute_name(name)
            case ast.keyword(arg=str(name)) if name.startswith("__"):
                yield f"uses {name}; names that begin with two underscores are Python's own"
            # In a class a module would become an attribute, and so a value.
            case ast.ClassDef() if any(
                isinstance(part, (ast.Import, ast.ImportFrom)) for part in ast.walk(node)
            ):
                yield "imports something inside a class; import it at the head of the file"
            case ast.ClassDef() if node.keywords:
                yield "gives a class more than its bases; leave out what has a = in the brackets"
            case ast.Constant(value=complex()):
                yield "uses a complex number; C libraries differ in its last digit"
            case ast.BinOp(op=ast.Pow()) | ast.AugAssign(op=ast.Pow()) if not self.place.powers:
                yield "uses **; multiply, or take numbers/elementary.py: C libraries differ in the last digit"
            case ast.comprehension(is_async=1):
                yield "uses async for, which is no part of what a calculator is written in"
            case ast.Call(func=ast.Attribute(attr="seed")):
                yield "sets a seed again; draw from random.Random(SEED), made with the seed"
            case _ if not isinstance(node, SYNTAX):
                spelled = SPELLED.get(type(node), type(node).__name__)
                yield f"uses {spelled}, which is no part of what a calculator is written in"
        for annotation in _list_annotations(node):
            texts = (part.value for part in ast.walk(annotation) if isinstance(part, ast.Constant))
            if any("(" in text for text in texts if isinstance(text, str)):
                yield "calls something in an annotation between quotation marks; name a type only"

    def _read_new_name(self, node: ast.AST, name: str) -> Iterator[str]:
        if not name.isascii():
            yield f"uses the name {name}; write names in the letters a to z, which do not look alike"
        if name.startswith("__") and not (isinstance(node, ast.FunctionDef) and name in DUNDER_METHODS):
            yield f"defines {name}; of Python's own names a class may define {_list(DUNDER_METHODS)}"
        if name in self.fixed and not (isinstance(node, ast.alias) and node.name == name):
            yield f"takes the name {name} for something else; take another"
        if name in self.submodules:
            yield f"uses the name {name}, which in this file is the module of that name; take another"

    def _read_import(self, module: str) -> Iterator[str]:
        if module not in self.lists:
            yield f"imports {module}; allowed beside the calculators' own modules: {_list(self.lists)}"
        elif "." in module:
            yield f"imports {module} as a whole; write: from {module} import …"

    def _read_import_from(self, node: ast.ImportFrom) -> Iterator[str]:
        module = node.module or ""
        own = self.house.definitions.get(module)
        if node.level:
            yield f"imports from {'.' * node.level}{module}; write: from calculators.… import …"
        elif own is None and module not in self.lists:
            yield from self._read_import(module)
        else:
            for alias in node.names:
                if own is None:
                    yield from self._read_member(module, alias.name, renamed=alias.asname is not None)
                elif alias.name not in own or alias.name.startswith("__"):
                    yield f"imports {alias.name} from {module}, which does not define it; go where it is made"

    def _read_member(self, module: str, name: str, *, renamed: bool = True) -> Iterator[str]:
        if module == "random":
            yield "uses the shared random state, or no seed; allowed: random.Random(SEED)"
        elif name not in self.lists[module]:
            allowed = f"of {module} is allowed: {_list(self.lists[module])}" if self.lists[module] else ""
            yield f"uses {module}.{name}; {allowed or self._name_expressions()}"
        elif name in self.place.doors and renamed:
            yield f"uses {module}.{name}; {self._name_expressions()}"

    def _name_expressions(self) -> str:
        return "it may stand here only in " + " and in ".join(sorted(self.place.expressions))

    def _read_attribute(self, node: ast.Attribute) -> Iterator[str]:
        if isinstance(node.value, ast.Name) and node.value.id in self.aliases:
            for module in sorted(self.aliases[node.value.id] & self.lists.keys()):
                yield from self._read_member(module, node.attr)
            if not isinstance(node.ctx, ast.Load):
                yield f"changes {ast.unparse(node)}; what is imported stays as it is"
        elif not isinstance(node.ctx, ast.Load):
            if not _is_self(node.value) or node.attr.startswith("__") or node.attr in _CHANGEABLE:
                yield f"changes .{node.attr}; a method may set fields of self, and none of a name of Python's"
        elif not (_is_self(node.value) and _is_private(node.attr) and self._declares(node.attr)):
            yield from self._read_attribute_name(node.attr)

    def _read_attribute_name(self, name: str) -> Iterator[str]:
        if name.startswith("_") and name not in DUNDER_ATTRIBUTES:
            yield f"reaches for .{name}; what begins with _ is another's, but for a method's own self._name"
        elif name not in DUNDER_ATTRIBUTES | self.place.attributes | ATTRIBUTES and not self._declares(name):
            whose = "is Python's own" if name in PYTHONS_OWN else "no class in calculators/ declares"
            yield f"reaches for .{name}, which {whose}; {_suggest(name, ATTRIBUTES)}"

    def _declares(self, name: str) -> bool:
        return name in self.house.attributes and name not in PYTHONS_OWN

    def _read_name(self, node: ast.Name) -> Iterator[str]:
        name = node.id
        if not isinstance(node.ctx, ast.Load) or name == "__name__":
            return
        if name in self.aliases and id(node) not in self.before_dots:
            yield f"uses the module {name} as a value; write {name} and a dot before what is used of it"
        elif name in self.place.doors:
            yield f"uses {name}; {self._name_expressions()}"
        elif name in self.heads:
            yield f"uses {name} in an expression; it stands at the head of a class only"
        elif name not in self.builtins and (name not in self.bound or hasattr(builtins, name)):
            yield f"uses {name}, which this file does not define; {_suggest(name, self.builtins)}"


def _list_names(node: ast.AST) -> Iterator[str]:
    """List the names that this piece of syntax gives to something."""
    match node:
        case ast.Name(id=name, ctx=ast.Store()):
            yield name
        case (
            ast.arg(arg=name) | ast.FunctionDef(name=name) | ast.ClassDef(name=name) | ast.TypeVar(name=name)
        ):
            yield name
        case ast.alias():
            yield node.asname or node.name.partition(".")[0]
        case (
            ast.ExceptHandler(name=str(name))
            | ast.MatchAs(name=str(name))
            | ast.MatchStar(name=str(name))
            | ast.MatchMapping(rest=str(name))
        ):
            yield name


def _list_annotations(node: ast.AST) -> Iterator[ast.expr]:
    match node:
        case ast.arg(annotation=ast.expr() as annotation) | ast.AnnAssign(annotation=annotation):
            yield annotation
        case ast.FunctionDef(returns=ast.expr() as annotation):
            yield annotation


def _find_beginning(node: ast.AST) -> str:
    """Return the name that a chain of calls and attributes begins with, or ""."""
    begun = False
    while isinstance(node, (ast.Call, ast.Attribute)):
        node, begun = (node.func if isinstance(node, ast.Call) else node.value), True
    return node.id if begun and isinstance(node, ast.Name) else ""


def _is_private(name: str) -> bool:
    return name.startswith("_") and not name.startswith("__")


def _suggest(name: str, allowed: Iterable[str]) -> str:
    """Return words on what may stand there instead: the lists themselves are too long for a sentence."""
    near = get_close_matches(name, allowed, 1)
    return (f"did you mean “{near[0]}”? " if near else "") + f"what may stand there is listed in {LISTS}"


def _list(names: Iterable[str]) -> str:
    return ", ".join(sorted(names))
