"""The one command, run as a reader runs it."""

from __future__ import annotations

import ast
import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from build_scripts.environment.command import run_checks
from build_scripts.environment.places import Places, find_places, is_complete
from build_scripts.environment.preparation import Prepared
from build_scripts.environment.virtual_environment import find_environment
from tests.build_scripts.environment_checkout import find_local_variables, make_checkout

pytestmark = pytest.mark.prepared

REAL = find_places()
OWN_FILES = sorted(Path(REAL.root, "build_scripts", "environment").glob("*.py"))
HANDBOOK = Path(REAL.root, "build_scripts", "handbook.py")
ECHO = """
import json, os, sys
import figure
print(json.dumps({"arguments": sys.argv[1:], "folder": os.getcwd(), "figure": figure.__version__}))
sys.exit(7)
"""

PASS_ON = """import runpy
import sys

sys.argv = sys.argv[1:]
runpy.run_module(sys.argv[0], run_name="__main__", alter_sys=True)
"""


def run_handbook(
    places: Places, *arguments: str, folder: Path | None = None
) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, str(Path(places.root, "build_scripts", "handbook.py")), *arguments],
        cwd=folder or places.root,
        env={**os.environ, **find_local_variables(places)},
        capture_output=True,
        encoding="utf-8",
        check=False,
    )


@pytest.fixture
def checkout(tmp_path: Path) -> Places:
    places = make_checkout(tmp_path / "checkout")
    write_gate(Path(places.root), ECHO)
    return places


def write_gate(root: Path, code: str) -> None:
    """Put a program where the gate is, which all that is prepared is handed over to."""
    gate = root / "build_scripts" / "house_rules"
    gate.mkdir(parents=True)
    (gate / "__init__.py").touch()
    (gate / "__main__.py").write_text(code, encoding="utf-8")


def test_compute_prepares_once_and_hands_over(checkout: Places, tmp_path: Path) -> None:
    # A folder the reader stands in does not hide the handbook's own.
    elsewhere = tmp_path / "elsewhere"
    write_gate(elsewhere, "raise SystemExit('hidden')")
    (elsewhere / "build_scripts" / "__init__.py").touch()
    arguments = ("wire-gauge", "current=3 A", "--json", "--", "--help")
    first = run_handbook(checkout, "compute", *arguments, folder=elsewhere)
    assert first.returncode == 7, first.stderr
    answer = ast.literal_eval(first.stdout)
    assert answer["arguments"] == ["calculators", *arguments]
    assert Path(answer["folder"]).samefile(elsewhere)
    assert answer["figure"] == "1.0"
    assert "Installing the pinned Python packages (site): done" in first.stderr
    second = run_handbook(checkout, "compute", *arguments, folder=elsewhere)
    assert (second.returncode, second.stdout, second.stderr) == (7, first.stdout, "")


@pytest.mark.parametrize(
    ("verb", "options"),
    [
        ("build", ["--site FOLDER", "--address", "--no-offline"]),
        ("preview", ["--port NUMBER", "--offline"]),
        ("pack", ["--out FOLDER"]),
    ],
)
def test_help_names_what_may_follow_a_verb(verb: str, options: list[str]) -> None:
    result = run_handbook(REAL, verb, "--help")
    assert (result.returncode, result.stderr) == (0, "")
    for option in options:
        assert option in result.stdout


@pytest.mark.parametrize("verb", ["build", "preview", "pack"])
def test_what_a_verb_does_not_know_is_refused_before_anything_is_prepared(
    checkout: Places, verb: str
) -> None:
    before = set(Path(checkout.root).rglob("*"))
    result = run_handbook(checkout, verb, "--sight", "x")
    assert result.returncode == 2
    assert result.stderr.endswith(f"{verb} does not know --sight x; see {verb} --help\n")
    made = set(Path(checkout.root).rglob("*")) - before
    assert not [path for path in made if ".cache" not in path.parts]


def test_what_cannot_be_had_is_one_sentence_and_no_traceback(checkout: Places) -> None:
    Path(checkout.root, ".python-version").write_text("3.99\n", encoding="ascii")
    result = run_handbook(checkout, "compute", "wire-gauge")
    assert result.returncode == 1
    assert result.stdout == ""
    last = result.stderr.splitlines()[-1]
    assert last.startswith("No Python 3.99 was found here")
    assert "Traceback" not in result.stderr


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_an_interrupted_set_up_is_done_again(checkout: Places, number: signal.Signals) -> None:
    # A source that accepts and never answers keeps the set-up waiting until it is interrupted.
    with socket.create_server(("127.0.0.1", 0)) as silent:
        address = f"http://127.0.0.1:{silent.getsockname()[1]}/"
        with subprocess.Popen(
            [sys.executable, str(Path(checkout.root, "build_scripts", "handbook.py")), "compute"],
            env={**os.environ, "UV_DEFAULT_INDEX": address},
            stderr=subprocess.PIPE,
            encoding="utf-8",
        ) as process:
            silent.settimeout(20)
            connection, _ = silent.accept()
            with connection:
                process.send_signal(number)
                _, said = process.communicate(timeout=20)
    assert process.returncode == 130
    assert "Traceback" not in said
    assert said.endswith("Stopped. The next start carries on, or does again what was half done.\n")
    assert Path(find_environment(checkout, "site")).is_dir()
    assert not is_complete(find_environment(checkout, "site"))
    assert run_handbook(checkout, "compute").returncode == 7


def test_the_help_names_every_verb_and_a_slip_names_what_is_allowed(checkout: Places) -> None:
    shown = run_handbook(checkout, "--help").stdout
    slip = run_handbook(checkout, "bulid")
    assert slip.returncode == 2
    for verb in ("preview", "build", "test", "compute", "measure"):
        assert f"    {verb} " in shown
        assert verb in slip.stderr
    assert "-- is given to pytest" in " ".join(run_handbook(checkout, "test", "--help").stdout.split())
    unknown = run_handbook(checkout, "test", "-k", "wire")
    assert (unknown.returncode, "follows a --" in unknown.stderr) == (2, True)


def test_the_checks_stop_at_the_first_that_fails(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    write_gate(tmp_path, PASS_ON)
    (tmp_path / "untidy.py").write_text("x  =  1\n", encoding="utf-8")
    checks = [
        ("lint", "ruff", "check", "--quiet", "."),
        ("format", "ruff", "format", "--check", "--quiet", "."),
        ("tests", "pytest", "--version"),
    ]
    prepared = Prepared(sys.executable, {})
    assert run_checks(Places(str(tmp_path)), prepared, checks) == 1
    written = capfd.readouterr().out.splitlines()
    assert written[0] == "== lint: ruff check --quiet ."
    assert written[-1] == "== format failed: 1 checks passed, 1 failed"
    (tmp_path / "untidy.py").write_text("x = 1\n", encoding="utf-8")
    assert run_checks(Places(str(tmp_path)), prepared, checks) == 0


def test_an_old_python_is_told_what_is_needed() -> None:
    code = (
        "import runpy, sys; sys.version_info = (3, 6, 15);"
        f"runpy.run_path({str(HANDBOOK)!r}, run_name='__main__')"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert result.returncode == 1
    assert result.stderr == (
        "The handbook's command needs Python 3.9 or later to start, and this is Python 3.6: "
        "install a current Python 3 and start again with it.\n"
    )


def test_the_first_file_is_readable_by_every_python() -> None:
    tree = ast.parse(HANDBOOK.read_text(encoding="ascii"), feature_version=(3, 4))
    newer = (ast.JoinedStr, ast.AnnAssign, ast.NamedExpr, ast.FunctionDef, ast.AsyncFunctionDef)
    assert not [node for node in ast.walk(tree) if isinstance(node, newer)]


@pytest.mark.parametrize("path", OWN_FILES, ids=lambda path: path.name)
def test_the_environment_is_prepared_by_the_standard_library_alone(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"), feature_version=(3, 9))
    for node in ast.walk(tree):
        names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0
            assert node.module is not None
            names = [node.module]
        for name in names:
            own = name.startswith("build_scripts.environment")
            assert own or name.partition(".")[0] in sys.stdlib_module_names, name


def test_compute_starts_without_delay(checkout: Places) -> None:
    run_handbook(checkout, "compute")
    ratios = []
    # In turns, and the best turn: that leaves a busy machine out of it.
    for _ in range(5):
        started = time.perf_counter()
        run_handbook(checkout, "compute")
        between = time.perf_counter()
        subprocess.run([sys.executable, "-c", ""], check=True)
        ratios.append((between - started) / (time.perf_counter() - between))
    # Two Pythons start, and one reads what is to be run; preparing anything takes a hundred times as long.
    assert min(ratios) < 16, ratios
