"""The house rules: what the calculators may touch, and what every registered calculator brings along."""

from __future__ import annotations

import ast
import inspect
import json
import math
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from calculators import find_calculator, list_calculators
from calculators.answers import warm
from calculators.presentation.as_html import render_block, render_result
from calculators.presentation.as_json import render_json
from calculators.presentation.as_text import render_help, render_text
from calculators.vocabulary.declaration import Calculator, QuantityInput
from calculators.vocabulary.errors import UnknownCalculatorError
from calculators.vocabulary.units import System

ROOT = Path(__file__).resolve().parents[2]
HOUSE = ROOT / "calculators"
FILES = sorted(HOUSE.rglob("*.py"))

PURE_MODULES = {
    "bisect",
    "calculators",
    "collections",
    "collections.abc",
    "dataclasses",
    "decimal",
    "difflib",
    "enum",
    "fractions",
    "functools",
    "heapq",
    "html",
    "itertools",
    "json",
    "math",
    "operator",
    "random",
    "re",
    "string",
    "textwrap",
    "types",
    "typing",
    "unicodedata",
    "urllib.parse",
}
TABLE_MODULES = {"pkgutil", "tomllib"}
REGISTRY_MODULES = {"importlib"}
TERMINAL_MODULES = {"argparse", "io", "os", "sys"}
# From the 53 bits of a float these give the same 53 bits on every machine; the rest of `math` does not.
EXACT_MATH = {
    "ceil",
    "comb",
    "copysign",
    "e",
    "fabs",
    "factorial",
    "floor",
    "fmod",
    "frexp",
    "fsum",
    "gcd",
    "inf",
    "isclose",
    "isfinite",
    "isinf",
    "isnan",
    "isqrt",
    "lcm",
    "ldexp",
    "modf",
    "nan",
    "nextafter",
    "perm",
    "pi",
    "prod",
    "remainder",
    "sqrt",
    "tau",
    "trunc",
    "ulp",
}
REFUSED_NAMES = {
    "__import__",
    "breakpoint",
    "compile",
    "complex",
    "delattr",
    "eval",
    "exec",
    "getattr",
    "globals",
    "hash",
    "id",
    "input",
    "locals",
    "memoryview",
    "open",
    "pow",
    "print",
    "setattr",
    "vars",
}
KNOWN_DUNDERS = {"__getitem__", "__init__", "__name__", "__post_init__", "__value__"}


def find_violations(path: Path, tree: ast.Module) -> Iterator[str]:
    """Say what in this module breaks the house rules; `path` is relative to calculators/."""
    terminal = path == Path("__main__.py")
    drawing = path.parts[0] == "pictures" or path == Path("vocabulary/drawing.py")
    allowed = set(PURE_MODULES)
    if path == Path("tables/__init__.py"):
        allowed |= TABLE_MODULES
    if path == Path("__init__.py"):
        allowed |= REGISTRY_MODULES
    if terminal:
        allowed |= TERMINAL_MODULES
    for node in ast.walk(tree):
        place = f"{path}:{getattr(node, 'lineno', 0)}"
        if isinstance(node, ast.Import):
            yield from (f"{place}: imports {name.name}" for name in node.names if name.name not in allowed)
        elif isinstance(node, ast.ImportFrom):
            module = node.module or ""
            own = module == "calculators" or module.startswith("calculators.")
            if node.level or not (own or module in allowed):
                yield f"{place}: imports {'.' * node.level}{module}"
            if module == "random":
                yield f"{place}: imports from random"
            if module == "math" and not drawing:
                yield from (
                    f"{place}: uses math.{name.name}" for name in node.names if name.name not in EXACT_MATH
                )
        elif isinstance(node, ast.Attribute):
            if (
                isinstance(node.value, ast.Name)
                and node.value.id == "math"
                and node.attr not in EXACT_MATH
                and not drawing
            ):
                yield f"{place}: uses math.{node.attr}"
            if isinstance(node.value, ast.Name) and node.value.id == "random" and node.attr != "Random":
                yield f"{place}: uses the shared random state"
            if node.attr.startswith("__") and node.attr not in KNOWN_DUNDERS:
                yield f"{place}: reaches for {node.attr}"
        elif isinstance(node, ast.Call):
            # A generator of its own with a seed of its own draws the same on every machine.
            if ast.unparse(node.func) == "random.Random" and len(node.args) != 1:
                yield f"{place}: uses random numbers without a seed"
        elif isinstance(node, ast.Name):
            if node.id in REFUSED_NAMES and not (terminal and node.id == "print"):
                yield f"{place}: uses {node.id}"
        elif isinstance(node, (ast.BinOp, ast.AugAssign)):
            if isinstance(node.op, ast.Pow) and not drawing:
                yield f"{place}: uses **"
        elif isinstance(node, ast.Constant):
            if isinstance(node.value, complex):
                yield f"{place}: uses a complex number"
        elif isinstance(node, ast.Assert):
            yield f"{place}: uses assert"
        elif isinstance(node, ast.Global):
            yield f"{place}: changes a global"


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.relative_to(HOUSE).as_posix())
def test_calculators_stay_pure(path: Path) -> None:
    assert list(find_violations(path.relative_to(HOUSE), ast.parse(path.read_text("utf-8")))) == []


@pytest.mark.parametrize(
    ("path", "code", "words"),
    [
        ("wire.py", "import build_scripts.site", "imports build_scripts.site"),
        ("wire.py", "from mkdocs import config", "imports mkdocs"),
        ("wire.py", "import js", "imports js"),
        ("wire.py", "from pyodide.ffi import to_js", "imports pyodide.ffi"),
        ("wire.py", "import os", "imports os"),
        ("wire.py", "from pathlib import Path", "imports pathlib"),
        ("wire.py", "import socket", "imports socket"),
        ("wire.py", "import urllib.request", "imports urllib.request"),
        ("wire.py", "import random\nrandom.random()", "uses the shared random state"),
        ("wire.py", "import random\nrandom.seed(1)", "uses the shared random state"),
        ("wire.py", "from random import Random", "imports from random"),
        ("wire.py", "import random\nrandom.Random()", "uses random numbers without a seed"),
        ("wire.py", "def f():\n    import time", "imports time"),
        ("wire.py", "from datetime import date", "imports datetime"),
        ("wire.py", "from . import tables", "imports ."),
        ("wire.py", "import importlib.resources", "imports importlib.resources"),
        ("wire.py", "from importlib import import_module", "imports importlib"),
        ("wire.py", "from pkgutil import get_data", "imports pkgutil"),
        ("tables/__init__.py", "import os", "imports os"),
        ("physics/x.py", "import math\nmath.log(2)", "uses math.log"),
        ("physics/x.py", "import math\nf = math.hypot", "uses math.hypot"),
        ("physics/x.py", "from math import sin", "uses math.sin"),
        ("physics/x.py", "x = 2 ** 0.5", "uses **"),
        ("physics/x.py", "x = 2\nx **= 2", "uses **"),
        ("physics/x.py", "x = pow(2, 0.5)", "uses pow"),
        ("physics/x.py", "x = complex(1, 2)", "uses complex"),
        ("physics/x.py", "x = 1j", "uses a complex number"),
        ("wire.py", "open('x')", "uses open"),
        ("wire.py", "print('x')", "uses print"),
        ("wire.py", "eval('x')", "uses eval"),
        ("wire.py", "f = __import__", "uses __import__"),
        ("wire.py", "x = hash('a')", "uses hash"),
        ("wire.py", "x = ().__class__.__base__", "reaches for __class__"),
        ("wire.py", "x = getattr(1, 'real')", "uses getattr"),
        ("wire.py", "assert True", "uses assert"),
        ("__main__.py", "import socket", "imports socket"),
    ],
)
def test_the_guard_fires(path: str, code: str, words: str) -> None:
    assert any(words in found for found in find_violations(Path(path), ast.parse(code)))


@pytest.mark.parametrize(
    ("path", "code"),
    [
        ("__main__.py", "import os, sys, argparse\nprint('x')"),
        ("tables/__init__.py", "import tomllib\nfrom pkgutil import get_data"),
        ("pictures/x.py", "import math\nmath.sin(1) ** 2"),
        ("vocabulary/drawing.py", "import math\nx = math.cos(1)"),
        ("physics/x.py", "import random\ndraw = random.Random(4711)"),
        ("wire.py", "import math\nfrom calculators.tables import read_rows\nx = math.sqrt(2) * math.pi"),
    ],
)
def test_the_guard_lets_through_what_is_allowed(path: str, code: str) -> None:
    assert list(find_violations(Path(path), ast.parse(code))) == []


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.relative_to(HOUSE).as_posix())
def test_the_first_line_says_what_a_file_is(path: Path) -> None:
    assert ast.get_docstring(ast.parse(path.read_text("utf-8")))


def test_there_are_calculators() -> None:
    assert list_calculators(), "the registry in calculators/__init__.py is empty"


def test_slugs_and_titles_stand_once() -> None:
    for words in ([one.slug for one in list_calculators()], [one.title for one in list_calculators()]):
        assert len(words) == len(set(words))


def test_no_calculator_has_a_module_page_or_test_without_the_others() -> None:
    slugs = {one.slug for one in list_calculators()}
    modules = {path.stem for path in HOUSE.glob("*.py")} - {"__init__", "__main__", "answers"}
    pages = {path.stem for path in (ROOT / "docs" / "calculators").glob("*.md")} - {"index"}
    assert {name.replace("_", "-") for name in modules} == slugs
    assert pages == slugs
    for slug in slugs:
        assert (ROOT / "tests" / "calculators" / f"test_{slug.replace('-', '_')}.py").is_file(), (
            f"{slug} has no test"
        )


def test_an_unknown_slug_is_refused_with_those_that_exist() -> None:
    with pytest.raises(UnknownCalculatorError, match="there is no calculator “no-such”; allowed: "):
        find_calculator("no-such")


def list_ids(value: object) -> str:
    return value.slug if isinstance(value, Calculator) else str(value)


every = pytest.mark.parametrize("calculator", list_calculators(), ids=list_ids)
both_systems = pytest.mark.parametrize("system", ["metric", "imperial"])


@every
def test_a_module_holds_its_own_calculator(calculator: Calculator) -> None:
    assert find_calculator(calculator.slug) is calculator
    assert calculator.compute.__module__ == f"calculators.{calculator.slug.replace('-', '_')}"


@every
def test_the_page_embeds_its_calculator(calculator: Calculator) -> None:
    page = (ROOT / "docs" / "calculators" / f"{calculator.slug}.md").read_text("utf-8")
    assert re.search(rf"^\s*(`{{3,}}|~{{3,}}) ?calculator\n\s*{calculator.slug}: ", page, re.MULTILINE)


@every
def test_compute_takes_just_the_declared_inputs(calculator: Calculator) -> None:
    parameters = inspect.signature(calculator.compute).parameters.values()
    assert [parameter.name for parameter in parameters] == [item.name for item in calculator.inputs]
    assert {parameter.kind for parameter in parameters} == {inspect.Parameter.KEYWORD_ONLY}


@every
@pytest.mark.parametrize("texts", ["defaults", "example"])
def test_outputs_are_just_the_declared_ones_and_finite(calculator: Calculator, texts: str) -> None:
    given = dict(calculator.example) if texts == "example" else {}
    result = calculator.run(given)
    assert set(result.outputs) == {item.name for item in calculator.outputs}
    for item in calculator.outputs:
        value = result.outputs[item.name]
        if item.kind == "text":
            assert value is None or isinstance(value, str), item.name
        elif not isinstance(value, str):
            assert value is None or math.isfinite(value), item.name
    told = json.loads(json.dumps(render_json(calculator, given, result), allow_nan=False))
    assert list(told["outputs"]) == [item.name for item in calculator.outputs]


@every
def test_the_example_names_fields_that_exist(calculator: Calculator) -> None:
    assert set(calculator.example) <= set(calculator.fields)


@every
@both_systems
def test_the_defaults_are_written_in_both_systems(calculator: Calculator, system: System) -> None:
    result = calculator.run({})
    html = render_result(calculator, result, system)
    text = render_text(calculator, {}, result, system)
    for words in (html, text):
        # What is left when a value slips through unwritten.
        assert not re.search(r"\b(nan|None|inf)\b|Figure\(|Phrase\(|\{\w+\}", words)
        for item in calculator.outputs:
            assert item.label.replace("'", "&#x27;") in words or item.label in words
    assert "<svg" in html
    assert "\u00a0" not in text
    for finding in result.findings:
        assert re.fullmatch(r"[a-z]+(-[a-z0-9]+)*", finding.code)


@every
def test_block_and_help_are_written(calculator: Calculator) -> None:
    html = render_block(calculator, calculator.example, "c-example", calculator.title)
    assert html.count("<details") == html.count("</details>")
    assert calculator.summary.split()[0] in render_help(calculator, "python -m calculators")


@every
def test_every_quantity_has_limits_and_a_label(calculator: Calculator) -> None:
    for item in calculator.inputs:
        assert item.label
        if isinstance(item, QuantityInput):
            assert math.isfinite(item.lowest), item.name
            assert math.isfinite(item.highest), item.name


@every
def test_a_result_says_what_the_specification_asks_for(calculator: Calculator) -> None:
    result = calculator.run({})
    assert result.working
    assert result.readings
    assert result.tables
    assert result.pictures
    assert calculator.cautions
    names = [table.name for table in result.tables] + [picture.name for picture in result.pictures]
    assert len(names) == len(set(names))
    for reading in result.readings:
        assert reading.low.value <= reading.expected.value <= reading.high.value, reading.label


def test_a_frozen_interpreter_can_be_warmed() -> None:
    assert list_calculators()
    warm()


def test_the_order_of_a_hash_never_shows() -> None:
    # Sets of words come in another order with another seed; a page built here and a phone would disagree.
    told = set()
    code = (
        "import json; from calculators import list_calculators; from calculators.answers import answer\n"
        "for one in list_calculators():\n"
        "    for form in ('json', 'html', 'text'):\n"
        "        asked = {'calculator': one.slug, 'fields': {}, 'units': 'metric', 'form': form}\n"
        "        print(answer(json.dumps(asked)))"
    )
    for seed in ("0", "1", "4711"):
        done = subprocess.run(
            [sys.executable, "-c", code],
            cwd=ROOT,
            capture_output=True,
            encoding="utf-8",
            check=True,
            env={**os.environ, "PYTHONHASHSEED": seed},
        )
        told.add(done.stdout)
    assert len(told) == 1
    assert told != {""}
