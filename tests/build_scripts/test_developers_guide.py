"""README.md and DEVELOPERS.md keep their word: the example works, the lines run, what they name exists."""

from __future__ import annotations

import json
import os
import re
import shlex
import subprocess
import sys
import textwrap
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

from build_scripts.authoring.articles import check_article
from build_scripts.environment.options import make_parser
from build_scripts.house_rules.gate import read_files
from build_scripts.house_rules.rules import find_problems
from calculators.answers import answer
from calculators.forms.fields import list_fields
from calculators.presentation.as_html import render_block
from tests.calculators.guide import GUIDE, load_example, read_example
from tests.calculators.sample import register_sample
from tests.conftest import ROOT

README = (ROOT / "README.md").read_text("utf-8")
TEXTS = {"README.md": README, "DEVELOPERS.md": GUIDE}
COMMAND = "python3 build_scripts/handbook.py "


def list_indented_blocks(text: str) -> list[str]:
    """The blocks that Markdown shows as code for their indentation, without it."""
    blocks = re.findall(r"(?:^(?: {4}.*)?\n)+", text, re.MULTILINE)
    return [textwrap.dedent(block).strip("\n") for block in blocks if block.strip()]


def list_tree() -> Iterator[tuple[Path, str]]:
    """What the guide's first block names, as (path, the words beside it)."""
    folders: dict[int, Path] = {}
    for line in list_indented_blocks(GUIDE)[0].splitlines():
        indent = len(line) - len(line.lstrip())
        names, _, words = line.strip().partition("  ")
        above = (
            folders[max(folders)] if (folders := {i: f for i, f in folders.items() if i < indent}) else ROOT
        )
        for name in names.split():
            yield above / name, words
            if name.endswith("/"):
                folders[indent] = above / name


@pytest.mark.parametrize("number", [0, 1])
def test_the_example_keeps_the_house_rules(number: int) -> None:
    files, code = read_files(str(ROOT / "calculators")), read_example(number).encode()
    assert find_problems({**files, "contact_heat/__init__.py": b"", "contact_heat/calculator.py": code}) == []
    for check in (["check", "--ignore=INP"], ["format", "--check"]):
        done = subprocess.run(
            [
                sys.executable,
                "-m",
                "ruff",
                *check,
                "--stdin-filename",
                "calculators/contact_heat/calculator.py",
                "-",
            ],
            input=read_example(number),
            cwd=ROOT,
            capture_output=True,
            encoding="utf-8",
            check=False,
        )
        assert done.returncode == 0, done.stdout + done.stderr


def test_the_example_computes() -> None:
    calculator = load_example()
    result = calculator.run(calculator.example)
    # Ohm's and Joule's laws: 2.5 A through 30 mΩ lose 75 mV and make 187.5 mW.
    assert result.outputs == {"drop": pytest.approx(0.075), "heat": pytest.approx(0.1875)}
    assert result.holds
    (reading,) = result.readings
    assert reading.low.value == 0
    assert reading.expected.value == pytest.approx(0.075)
    loaded = calculator.run({"current": "5 A"})
    assert [(finding.level, finding.code) for finding in loaded.findings] == [("stop", "over-rating")]


def test_the_form_with_rows_reads_them() -> None:
    module = ModuleType("calculators.contact_heat.given")
    exec(compile(read_example(1), "DEVELOPERS.md", "exec", dont_inherit=True), module.__dict__)
    (item,) = list_fields(module.Given)
    (front,) = module.Given(contacts=item.read(item.default)).contacts
    assert (front.place, front.current, front.beside) == ("Front", 2.0, 1)


def test_the_example_is_rendered_on_every_way() -> None:
    calculator = load_example()
    page = render_block(calculator, calculator.example, "one", "One contact")
    assert 'data-output="drop"><dt>Voltage lost</dt><dd>75.0\u00a0mV</dd>' in page
    assert page.count("data-field=") == 3
    with register_sample(calculator):
        told = {}
        for form in ("html", "text", "json"):
            asked = {
                "calculator": "contact-heat",
                "fields": {"current": "5 A"},
                "units": "metric",
                "form": form,
            }
            told[form] = json.loads(answer(json.dumps(asked)))["result"]
    words = "5 A is more than the contact's 3 A; take one rated 7.5 A or more."
    assert words in told["text"]
    assert told["json"]["answer"] == "Take a contact rated 7.5 A or more."
    assert told["json"]["findings"][0]["apply"] == {"rating": "7.5 A"}
    assert words.replace("'", "&#x27;") in told["html"]["findings"].replace("\u00a0", " ")
    assert told["json"]["outputs"]["heat"] == {"value": pytest.approx(0.75), "unit": "W"}


def test_what_the_tree_names_exists() -> None:
    missing = []
    for path, words in list_tree():
        if "<calculator>" in path.parts:
            continue
        if not (path.is_dir() if path.suffix == "" else path.is_file()):
            missing.append(path.relative_to(ROOT).as_posix())
        beside = re.findall(r"[\w-]+\.(?:js|py|html|css)\b", words)
        missing += [f"{path.relative_to(ROOT)}/{name}" for name in beside if not (path / name).is_file()]
    assert missing == []


@pytest.mark.parametrize("name", ["calculators", "build_scripts", "tests", "."])
def test_the_tree_names_every_folder(name: str) -> None:
    named = {path.resolve() for path, _ in list_tree()}
    told = " ".join(words for path, words in list_tree() if path.resolve() == (ROOT / name).resolve())
    folders = {
        path
        for path in (ROOT / name).iterdir()
        if path.is_dir()
        and not path.name.startswith((".", "__"))
        and path.name not in ("site", "dist", "portable")
    }
    # Those of single calculators are told of together, as <calculator>/.
    unnamed = {
        path.name
        for path in folders - named
        if path.name not in told and not (path / "calculator.py").is_file()
    }
    assert unnamed == set()


@pytest.mark.parametrize("name", TEXTS)
def test_paths_and_links_lead_somewhere(name: str) -> None:
    text = re.sub(r"^```.*?^```$", "", TEXTS[name], flags=re.DOTALL | re.MULTILINE)
    links = re.findall(r"\]\((?!https?:)([^)#]+)", text)
    assert links
    spoken = [
        span
        for span in re.findall(r"`([\w./*-]+)`", text)
        if ("/" in span.strip("/") or span.endswith((".js", ".md", ".toml")))
        and not span.startswith((".cache/", "/"))
    ]
    # The text speaks of some folders as one who stands beside them, and of scripts by their names.
    scripts = ROOT / "build_scripts"
    homes = (ROOT, ROOT / "calculators", scripts, scripts / "browser", scripts / "offline")
    lost = [path for path in (*links, *spoken) if not any(any(home.glob(path)) for home in homes)]
    assert lost == []


@pytest.mark.parametrize("name", TEXTS)
def test_every_verb_that_is_named_exists(name: str) -> None:
    verbs = set(re.findall(r"handbook\.py (\w+)", TEXTS[name]))
    assert verbs
    for verb in verbs:
        assert make_parser().parse_known_args([verb])[0].verb == verb


def list_terminal_lines() -> list[str]:
    lines = (line for block in list_indented_blocks(README) for line in block.splitlines())
    return [line.removeprefix(f"{COMMAND}compute") for line in lines if line.startswith(f"{COMMAND}compute")]


@pytest.mark.parametrize("line", list_terminal_lines())
def test_the_terminal_lines_run(line: str) -> None:
    # As the command hands them over, in the environment that it has prepared.
    done = subprocess.run(
        [sys.executable, "-P", "-m", "calculators", *shlex.split(line)],
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUTF8": "1"},
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout
    if "--json" in line:
        assert json.loads(done.stdout)["calculator"] == shlex.split(line)[0]


def test_there_are_terminal_lines() -> None:
    assert len(list_terminal_lines()) >= 3


def test_the_block_in_the_readme_is_one_that_an_article_may_hold() -> None:
    (block,) = [block for block in list_indented_blocks(README) if "calculator\n" in block]
    assert check_article(f"# Title\n\n{block}\n") == []
    assert check_article(f"# Title\n\n{block.replace('current', 'curent')}\n") != []
