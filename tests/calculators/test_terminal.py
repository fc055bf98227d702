"""The terminal as a real process: what it prints, where, and with which exit status."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

import calculators

ROOT = Path(__file__).resolve().parents[2]

# Output waits in a buffer, as it does for a reader, whatever this machine has set.
ENVIRONMENT = {
    name: value for name, value in os.environ.items() if name not in ("HANDBOOK_COMMAND", "PYTHONUNBUFFERED")
}

# The module as `python -m calculators` runs it, with the sample in the place of the handbook's calculators.
WITH_SAMPLE = """
import runpy, sys
from tests.calculators.rows_sample import ROWS_SAMPLE
from tests.calculators.sample import SAMPLE, register_sample
with register_sample(SAMPLE, ROWS_SAMPLE):
    runpy.run_module("calculators", run_name="__main__", alter_sys=True)
"""


def run(*arguments: str | bytes, command: str = "", typed: bytes = b"") -> subprocess.CompletedProcess[str]:
    done = subprocess.run(
        [sys.executable, "-c", WITH_SAMPLE, *arguments],
        cwd=ROOT,
        capture_output=True,
        input=typed,
        env={**ENVIRONMENT, **({"HANDBOOK_COMMAND": command} if command else {})},
        check=False,
    )
    outputs = (done.stdout.decode(), done.stderr.decode())
    return subprocess.CompletedProcess(done.args, done.returncode, *outputs)


def test_it_computes_and_ends_with_nought() -> None:
    done = run("sample-drop", "current=3 A", "length=1 ft")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("Sample drop\n")
    assert "305 mm" in done.stdout


def test_imperial_and_options_between_fields() -> None:
    done = run("sample-drop", "current=3 A", "--imperial", "length=0.3048")
    assert (done.returncode, done.stderr) == (0, "")
    assert "1 ft" in done.stdout


def test_json_is_one_object_alone() -> None:
    done = run("sample-drop", "--json", "length=0,5 m", "label=ß → Ω")
    assert (done.returncode, done.stderr) == (0, "")
    told = json.loads(done.stdout)
    assert told["calculator"] == "sample-drop"
    assert told["outputs"]["distance"] == {"value": 0.5, "unit": "m"}
    assert told["outputs"]["words"]["value"] == "ß → Ω"
    assert set(told) == {
        "calculator",
        "inputs",
        "answer",
        "outputs",
        "tables",
        "findings",
        "readings",
        "working",
        "sources",
    }


@pytest.mark.parametrize(
    ("arguments", "sentences"),
    [
        (
            ("sample-drop", "current=3 m"),
            ["current: “3 m” is a length, but a current is asked for (in A, mA, µA)"],
        ),
        (("sample-drop", "current=1,500"), ["current: “1,500” can mean 1500 or 1.5; write 1500 or 1.5"]),
        (("sample-drop", "current="), ["current: nothing is entered; give a figure"]),
        (
            ("sample-drop", "current=-3"),
            ["current: “-3” is outside what can be computed; allowed: more than 0 A, at most 100 A"],
        ),
        (
            ("sample-drop", "count=x", "current=y"),
            ["current: “y” does not begin", "count: “x” is not a whole number"],
        ),
        (
            ("sample-drop", "count=6", "current=11"),
            ["count: more than 5 wires need 10 A or less; lower the count"],
        ),
        (
            ("sample-drop", "colour=red"),
            ["colour: sample-drop has no field of this name; allowed: current, length,"],
        ),
        (("sample-drop", "12"), ["12: this is not name=value"]),
        (("sample-drop", "-5"), ["-5"]),
        (("sample-drop", "count=2", "count=3"), ["count: this field is given twice"]),
        (("sample-drop", "--yaml"), ["--yaml is not an option here; allowed: --json, --imperial, --help"]),
        (("sample-dorp",), ["there is no calculator “sample-dorp”; did you mean “sample-drop”"]),
        (("sample-drop", b"current=\xff"), ["current: the character “\\udcff”"]),
        (("sample-drop", "--json=5"), ["--json"]),
    ],
)
def test_what_cannot_be_used_ends_with_two_and_a_sentence(
    arguments: tuple[str | bytes, ...], sentences: list[str]
) -> None:
    done = run(*arguments)
    assert (done.returncode, done.stdout) == (2, "")
    lines = done.stderr.splitlines()
    for sentence in sentences:
        assert any(sentence in line for line in lines), done.stderr
    assert "Traceback" not in done.stderr
    assert "\u00a0" not in done.stderr


def test_help_and_the_list() -> None:
    shown = run("sample-drop", "--help", command="python3 build_scripts/handbook.py compute")
    assert (shown.returncode, shown.stderr) == (0, "")
    assert "usage: python3 build_scripts/handbook.py compute sample-drop [name=value …]" in shown.stdout
    for arguments in ((), ("--help",), ("-h",)):
        listed = run(*arguments)
        assert (listed.returncode, listed.stderr) == (0, "")
        assert "usage: python -m calculators SLUG [name=value …]" in listed.stdout
        assert "sample-drop" in listed.stdout


@pytest.mark.parametrize("arguments", [("sample-drop",), ("sample-drop", "--json"), ()])
def test_a_reader_that_closes_the_pipe_early_is_no_failure(arguments: tuple[str, ...]) -> None:
    process = subprocess.Popen(
        [sys.executable, "-c", WITH_SAMPLE, *arguments],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=ENVIRONMENT,
    )
    assert process.stdout is not None
    process.stdout.close()
    assert process.stderr is not None
    complaint = process.stderr.read()
    process.stderr.close()
    assert (process.wait(), complaint) == (0, "")


def test_each_calculator_answers_from_the_module_itself() -> None:
    assert calculators.list_calculators()
    for calculator in calculators.list_calculators():
        done = subprocess.run(
            [sys.executable, "-m", "calculators", calculator.slug, "--json"],
            cwd=ROOT,
            capture_output=True,
            encoding="utf-8",
            check=False,
        )
        assert (done.returncode, done.stderr) == (0, "")
        told = json.loads(done.stdout)
        assert list(told["outputs"]) == [item.name for item in calculator.outputs]


ROWS = "Bow, 0.5 A\nStern, 1,5 A".replace("1,5", '"1,5"').replace('"1,5" A', '"1,5 A"')


def test_rows_come_as_text_from_a_file_and_from_standard_input(tmp_path: Path) -> None:
    listed = tmp_path / "rows.csv"
    listed.write_bytes(b"\xef\xbb\xbf" + ROWS.replace("\n", "\r\n").encode())
    ways: tuple[tuple[str, bytes], ...] = (
        (f"lamps={ROWS}", b""),
        (f"lamps=@{listed}", b""),
        ("lamps=-", b"\xef\xbb\xbf" + ROWS.encode() + b"\n"),
    )
    for argument, typed in ways:
        done = run("sample-lamps", argument, "--json", typed=typed)
        assert (done.returncode, done.stderr) == (0, "")
        told = json.loads(done.stdout)
        assert told["outputs"]["total"] == {"value": 2.0, "unit": "A"}
        assert told["inputs"]["lamps"]["rows"][1]["current"] == {"text": "1,5 A", "value": 1.5, "unit": "A"}


@pytest.mark.parametrize(
    ("argument", "typed", "sentence"),
    [
        (
            "lamps=@nowhere.csv",
            b"",
            "lamps: the file “nowhere.csv” could not be read (No such file or directory);",
        ),
        (
            "lamps=@.",
            b"",
            "lamps: the file “.” could not be read (Is a directory); name a file with rows, such as",
        ),
        ("lamps=@", b"", "lamps: the file “” could not be read"),
        ("lamps=-", b"Bow\xff, 1 A", "lamps: standard input is not UTF-8; save it as CSV in UTF-8"),
        ("lamps=-", b"", "lamps: 0 rows; allowed: 1 to 200 rows"),
        ("lamps=Bow, x", b"", "lamps: row 1, Current: “x” does not begin"),
        # Only rows come from elsewhere.
        ("supply=@rows.csv", b"", "supply: “@rows.csv” does not begin"),
    ],
)
def test_rows_that_cannot_be_used_end_with_two_and_a_sentence(
    argument: str, typed: bytes, sentence: str
) -> None:
    done = run("sample-lamps", argument, typed=typed)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith(sentence)
    assert "Traceback" not in done.stderr


def test_a_file_that_is_no_text_is_told(tmp_path: Path) -> None:
    (tmp_path / "rows.csv").write_bytes("Bög, 1 A".encode("latin-1"))
    done = run("sample-lamps", f"lamps=@{tmp_path / 'rows.csv'}")
    assert done.returncode == 2
    assert done.stderr.endswith("rows.csv” is not UTF-8; save it as CSV in UTF-8\n")


def test_help_shows_the_columns() -> None:
    done = run("sample-lamps", "--help")
    assert "  lamps  (rows; from a file: lamps=@rows.csv, from standard input: lamps=-)\n" in done.stdout
    assert "      The default:\n        Bow, 0.5 A\n        Stern, 1 A, 2, cold, 3 m\n" in done.stdout
    assert "\n      current  (needed)\n" in done.stdout
    assert "\n      count  (default 1)\n" in done.stdout
    assert "\n      length  (may be left out)\n" in done.stdout
