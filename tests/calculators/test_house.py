"""The house rules: what the calculators may touch, and what every registered calculator brings along."""

from __future__ import annotations

import ast
import json
import math
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from build_scripts.house_rules.gate import read_files
from build_scripts.house_rules.rules import find_problems
from calculators import SLUGS, find_calculator, list_calculators
from calculators.answers import warm
from calculators.club import SLUGS as CLUB_SLUGS
from calculators.forms.calculator import Calculator
from calculators.forms.fields import QuantityInput
from calculators.notation.errors import UnknownCalculatorError
from calculators.notation.units import System
from calculators.presentation.as_html import render_block, render_result
from calculators.presentation.as_json import render_json
from calculators.presentation.as_text import render_help, render_text
from tests.calculators.guide import load_example
from tests.calculators.published import HEADING
from tests.calculators.sample import make_single_field

ROOT = Path(__file__).resolve().parents[2]
HOMES = (ROOT / "docs", ROOT / "build_scripts" / "pages")
HOUSE = ROOT / "calculators"
FILES = sorted(HOUSE.rglob("*.py"))


def test_calculators_stay_pure() -> None:
    assert find_problems(read_files(str(HOUSE))) == []


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.relative_to(HOUSE).as_posix())
def test_the_first_line_says_what_a_file_is(path: Path) -> None:
    assert ast.get_docstring(ast.parse(path.read_text("utf-8")))


def test_there_are_calculators() -> None:
    assert list_calculators(), "the registry in calculators/__init__.py is empty"


def test_slugs_and_titles_stand_once() -> None:
    for words in ([one.slug for one in list_calculators()], [one.title for one in list_calculators()]):
        assert len(words) == len(set(words))


def test_no_calculator_has_a_package_page_or_test_without_the_others() -> None:
    slugs = {one.slug for one in list_calculators()}
    packages = {path.parent.name for path in HOUSE.rglob("*/calculator.py")} - {"forms"}
    pages = {path.stem for home in HOMES for path in (home / "calculators").glob("*.md")} - {"index"}
    assert {name.replace("_", "-") for name in packages} == slugs
    assert pages == slugs
    for slug in slugs:
        home = Path("club") if slug in CLUB_SLUGS else Path()
        folder = ROOT / "tests" / "calculators" / home / slug.replace("-", "_")
        assert (folder / "test_calculator.py").is_file(), f"{slug} has no test"
        # A club's own calculator may be of what nobody has published.
        assert slug in CLUB_SLUGS or (folder / "published.toml").is_file(), f"{slug} has no published cases"


def test_published_cases_are_tested_and_end_their_page() -> None:
    files = sorted((ROOT / "tests" / "calculators").rglob("published.toml"))
    assert files
    for file in files:
        assert (file.parent / "test_published.py").is_file(), (
            f"{file.parent.name} does not test its published cases"
        )
        assert (
            len([row for group in tomllib.loads(file.read_text("utf-8"))["group"] for row in group["rows"]])
            >= 8
        )
        slug = file.parent.name.replace("_", "-")
        page = HOMES[slug not in CLUB_SLUGS] / "calculators" / f"{slug}.md"
        assert re.findall(r"^## .*", page.read_text("utf-8"), re.MULTILINE)[-1] == HEADING


def test_an_unknown_slug_is_refused_with_those_that_exist() -> None:
    with pytest.raises(UnknownCalculatorError, match="there is no calculator “no-such”; allowed: "):
        find_calculator("no-such")


def list_ids(value: object) -> str:
    return value.slug if isinstance(value, Calculator) else str(value)


registered = pytest.mark.parametrize("calculator", list_calculators(), ids=list_ids)
# What the guide shows is a whole calculator, and one may have a single field, no table and no picture.
SMALL = (load_example(), make_single_field())
every = pytest.mark.parametrize("calculator", [*list_calculators(), *SMALL], ids=list_ids)
both_systems = pytest.mark.parametrize("system", ["metric", "imperial"])


@registered
def test_a_module_holds_its_own_calculator(calculator: Calculator) -> None:
    assert find_calculator(calculator.slug) is calculator


@registered
def test_the_page_embeds_its_calculator(calculator: Calculator) -> None:
    (path,) = (path for home in HOMES if (path := home / "calculators" / f"{calculator.slug}.md").is_file())
    page = path.read_text("utf-8")
    assert re.search(rf"^\s*(`{{3,}}|~{{3,}}) ?calculator\n\s*{calculator.slug}: ", page, re.MULTILINE)


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
    assert html.count("<svg") == len(result.pictures)
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
    assert list(result.working)
    assert calculator.cautions
    names = [table.name for table in result.tables] + [picture.name for picture in result.pictures]
    assert len(names) == len(set(names))
    for reading in result.readings:
        assert reading.low.value <= reading.expected.value <= reading.high.value, reading.label


@pytest.mark.parametrize("slug", [slug for slug in SLUGS if slug not in CLUB_SLUGS])
def test_the_engines_calculators_have_readings_tables_and_pictures(slug: str) -> None:
    result = find_calculator(slug).run({})
    assert result.readings
    assert result.tables
    assert result.pictures


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
