"""The shared harness for golden files: what is written now is compared with what was looked at and kept."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

FOLDER = Path(__file__).resolve().parent / "golden"
INPUTS = sorted((FOLDER / "input").iterdir())


def check_golden(name: str, text: str) -> None:
    """Compare `text` with the golden file of that name; a missing one is written for you to look at."""
    path = FOLDER / "output" / name
    if not path.exists():
        if os.environ.get("CI"):
            pytest.fail(
                f"{path.name} is missing: run the tests on your own machine, look at it and commit it"
            )
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, "utf-8", newline="\n")
    assert text == path.read_text("utf-8")
