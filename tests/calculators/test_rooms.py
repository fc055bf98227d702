"""The rooms of calculators/: who may import whom, read from the syntax trees."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator, Mapping
from fnmatch import fnmatch
from pathlib import Path

import pytest

HOUSE = Path(__file__).resolve().parents[2] / "calculators"
ROOMS = ("numbers", "parts", "notation", "results", "forms", "physics")
"""Those that all calculators share, the lowest first; above them the calculators, each a room of its own."""

TOP = ("presentation", "registry", "answers", "__main__")
"""What stands on the calculators, the lowest first."""

SPEECH = ("findings", "reasons", "report", "picture")
"""What a calculator says, tabulates and draws."""

type Trees = Mapping[str, ast.Module]
"""The syntax of modules, by name from `calculators`, such as "physics.copper"; its own is "__init__"."""


def read_trees(sources: Mapping[str, str]) -> Trees:
    """The syntax by module, from texts by path."""
    return {path.removesuffix(".py").replace("/", "."): ast.parse(text) for path, text in sources.items()}


def read_house() -> Trees:
    """The syntax of all that stands in calculators/."""
    return read_trees(
        {path.relative_to(HOUSE).as_posix(): path.read_text("utf-8") for path in HOUSE.rglob("*.py")}
    )


def find_room(module: str) -> str:
    """The room that a module stands in."""
    if module == "__init__":
        return "registry"
    # Each calculator of the club's own is a room in the club's folder.
    return module.rpartition(".")[0] if re.fullmatch(r"club\.\w+\.\w+", module) else module.partition(".")[0]


def find_height(module: str) -> int:
    """The height of a module's room."""
    room = find_room(module)
    if room in ROOMS:
        return ROOMS.index(room)
    return len(ROOMS) + 1 + TOP.index(room) if room in TOP else len(ROOMS)


def list_imports(trees: Trees, module: str) -> Iterator[str]:
    """The modules of calculators/ that one of them imports; `import_module` means all that fit its text."""
    for node in ast.walk(trees[module]):
        match node:
            case ast.Import():
                named = [alias.name for alias in node.names]
            case ast.ImportFrom(module=str(package), level=0):
                # What is imported may be a module itself.
                named = [package, *(f"{package}.{alias.name}" for alias in node.names)]
            case (
                ast.Call(func=ast.Name("import_module"), args=[asked, *_])
                | ast.Call(func=ast.Attribute(attr="import_module"), args=[asked, *_])
            ):
                named = [_write_pattern(asked)]
            case _:
                continue
        for name in trees:
            path = "calculators" if name == "__init__" else f"calculators.{name.removesuffix('.__init__')}"
            if any(fnmatch(path, pattern) for pattern in named):
                yield name


def _write_pattern(asked: ast.expr) -> str:
    """A text put together, with `*` for what is put in."""
    match asked:
        case ast.Constant(value=str(text)):
            return text
        case ast.JoinedStr(values=values):
            return "".join(_write_pattern(part) for part in values)
    return "*"


def find_upward(trees: Trees) -> list[str]:
    """What imports something that stands above it."""
    return [
        f"{module} imports {other}"
        for module in trees
        for other in list_imports(trees, module)
        if find_height(other) > find_height(module)
    ]


def find_neighbours(trees: Trees) -> list[str]:
    """What a calculator takes of another's speech."""
    return [
        f"{module} imports {other}"
        for module in trees
        for other in list_imports(trees, module)
        if other.rpartition(".")[2] in SPEECH
        and find_height(module) == find_height(other)
        and find_room(module) != find_room(other)
    ]


def find_lonely(trees: Trees) -> list[str]:
    """What stands in physics/ and serves fewer than two calculators, by itself or through its like."""
    direct = {module: set(list_imports(trees, module)) for module in trees}
    lonely = []
    for module in trees:
        if find_room(module) != "physics" or module == "physics.__init__":
            continue
        through = {module}
        while (
            more := {other for other in trees if find_room(other) == "physics" and direct[other] & through}
            - through
        ):
            through |= more
        users = {
            find_room(other)
            for other in trees
            if find_height(other) == len(ROOMS) and direct[other] & through
        }
        if len(users) < 2:
            lonely.append(f"{module} serves {', '.join(sorted(users)) or 'nobody'}")
    return lonely


def find_unlisted(trees: Trees) -> list[str]:
    """Modules and folders that are neither a shared room nor a calculator's."""
    rooms = {find_room(module) for module in trees if module != "club.__init__"}
    return sorted(room for room in rooms.difference(ROOMS, TOP) if f"{room}.calculator" not in trees)


def test_arrows_run_down_only() -> None:
    assert find_upward(read_house()) == []


def test_a_calculator_leaves_alone_what_another_says() -> None:
    assert find_neighbours(read_house()) == []


def test_physics_serves_at_least_two_calculators() -> None:
    # The solver of whole circuits is what calculators of whole builds stand on, and comes before them.
    assert find_lonely(read_house()) == ["physics.circuit serves nobody"]


def test_everything_is_a_room_or_a_calculator() -> None:
    trees = read_house()
    assert set(ROOMS) <= {find_room(module) for module in trees}
    assert find_unlisted(trees) == []


# --- what the guards see, in houses made up for it ---

PAIR = {"one/calculator.py": "", "two/calculator.py": "", "__init__.py": "", "answers.py": ""} | {
    f"{room}/x.py": "" for room in (*ROOMS, "presentation")
}


@pytest.mark.parametrize(
    ("path", "code", "found"),
    [
        ("notation/y.py", "from calculators.parts.x import a", []),
        ("notation/y.py", "from calculators.notation.x import a", []),
        ("notation/y.py", "import calculators.numbers.x", []),
        ("forms/y.py", "from calculators.results.x import a", []),
        ("results/y.py", "from calculators.forms.x import a", ["results.y imports forms.x"]),
        ("numbers/y.py", "from calculators.parts.x import a", ["numbers.y imports parts.x"]),
        ("parts/y.py", "import calculators.notation.x", ["parts.y imports notation.x"]),
        ("forms/y.py", "def f():\n    from calculators.physics import x", ["forms.y imports physics.x"]),
        ("physics/y.py", "from calculators.one.calculator import a", ["physics.y imports one.calculator"]),
        ("physics/y.py", "from calculators import find", ["physics.y imports __init__"]),
        ("one/y.py", "from calculators.physics.x import a", []),
        ("one/y.py", "from calculators.presentation.x import a", ["one.y imports presentation.x"]),
        ("presentation/y.py", "from calculators.one.calculator import a", []),
        ("presentation/y.py", "from calculators.answers import a", ["presentation.y imports answers"]),
        ("numbers/y.py", "import_module('calculators.one.calculator')", ["numbers.y imports one.calculator"]),
        ("__init__.py", "import_module(f'calculators.{slug}.calculator')", []),
        ("__init__.py", "import_module(f'calculators.{slug}')", ["__init__ imports answers"]),
        (
            "numbers/y.py",
            "importlib.import_module(f'calculators.{name}.calculator')",
            ["numbers.y imports one.calculator", "numbers.y imports two.calculator"],
        ),
        ("answers.py", "import_module(name)", []),
        (
            "presentation/y.py",
            "import_module(name)",
            ["presentation.y imports __init__", "presentation.y imports answers"],
        ),
        ("numbers/y.py", "import math\nfrom collections.abc import Callable", []),
    ],
)
def test_an_arrow_upward_is_seen(path: str, code: str, found: list[str]) -> None:
    assert find_upward(read_trees({**PAIR, path: code})) == found


@pytest.mark.parametrize(
    ("path", "code", "found"),
    [
        ("one/y.py", "from calculators.one.findings import a", []),
        ("one/y.py", "from calculators.two.solve import a", []),
        ("presentation/y.py", "from calculators.two.picture import a", []),
        ("one/y.py", "from calculators.two.findings import a", ["one.y imports two.findings"]),
        ("one/y.py", "from calculators.two import report", ["one.y imports two.report"]),
        ("one/report.py", "import calculators.two.picture", ["one.report imports two.picture"]),
        ("one/y.py", "import_module('calculators.two.picture')", ["one.y imports two.picture"]),
    ],
)
def test_a_look_at_what_another_says_is_seen(path: str, code: str, found: list[str]) -> None:
    rooms = {f"{room}/{name}.py": "" for room in ("one", "two") for name in (*SPEECH, "solve")}
    assert find_neighbours(read_trees({**rooms, path: code})) == found


X = "from calculators.physics.x import a"
Y = "from calculators.physics.y import a"


@pytest.mark.parametrize(
    ("files", "found"),
    [
        ({"one/a.py": X, "two/a.py": X}, []),
        ({"physics/y.py": X, "one/a.py": Y, "two/a.py": Y}, []),
        ({"physics/y.py": X, "one/a.py": Y, "two/a.py": X}, ["physics.y serves one"]),
        ({"one/a.py": X}, ["physics.x serves one"]),
        ({"one/a.py": X, "one/b.py": X}, ["physics.x serves one"]),
        ({"one/a.py": X, "presentation/a.py": X}, ["physics.x serves one"]),
        ({}, ["physics.x serves nobody"]),
    ],
)
def test_physics_for_one_calculator_is_seen(files: dict[str, str], found: list[str]) -> None:
    house = {"physics/__init__.py": "", "physics/x.py": "", **files}
    assert find_lonely(read_trees(house)) == found


@pytest.mark.parametrize(
    ("files", "found"),
    [
        ({"one/calculator.py": ""}, []),
        ({"presentation/as_x.py": "", "numbers/x.py": ""}, []),
        ({"stray/x.py": ""}, ["stray"]),
        ({"club/__init__.py": "", "club/one/calculator.py": "", "club/one/findings.py": ""}, []),
        ({"club/__init__.py": "", "club/stray/x.py": ""}, ["club.stray"]),
        ({"club/x.py": ""}, ["club"]),
        ({"stray.py": "", "answers.py": "", "__init__.py": ""}, ["stray"]),
    ],
)
def test_what_is_neither_is_seen(files: dict[str, str], found: list[str]) -> None:
    assert find_unlisted(read_trees(files)) == found
