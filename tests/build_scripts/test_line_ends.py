"""A checkout whose texts end their lines as on Windows makes the same release, site and ZIP."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from hashlib import sha256
from pathlib import Path

import pytest

from build_scripts.environment.progress import Progress
from build_scripts.lines import settle_line_ends
from build_scripts.portable.pack import pack_handbook
from build_scripts.runtime.release import compute_inputs
from build_scripts.site.building import build_site
from tests.conftest import ROOT

pytestmark = pytest.mark.prepared

SETTINGS = """\
site_name: A small handbook
site_url: https://club.example/handbook/
nav:
  - Home: index.md
strict: true
theme:
  name: material
  custom_dir: build_scripts/theme
  font: false
plugins:
  - search
markdown_extensions:
  - build_scripts.authoring.extension
"""

ARTICLE = """\
---
title: Home
---

# Home

Parts are in [a table](parts.csv) and [another](parts.toml).

``` calculator
wire-gauge: The lead
current = 5 A
length = 1.5 m
```

    shown
    as it stands
"""


def copy_checkout(root: Path, line_end: bytes) -> Path:
    unwanted = shutil.ignore_patterns("__pycache__")
    for name in ("build_scripts", "calculators"):
        shutil.copytree(ROOT / name, root / name, ignore=unwanted)
    for name in ("pyproject.toml", "LICENSE", ".python-version"):
        shutil.copyfile(ROOT / name, root / name)
    (root / "docs").mkdir()
    for name, text in {
        "mkdocs.yml": SETTINGS,
        "docs/index.md": ARTICLE,
        "docs/parts.csv": "part,count\ncontact,12\n",
        "docs/parts.toml": "[part]\ncount = 12\n",
    }.items():
        (root / name).write_text(text, "utf-8")
    for path in root.rglob("*"):
        if path.is_file() and path.suffix != ".png":
            path.write_bytes(path.read_bytes().replace(b"\r\n", b"\n").replace(b"\n", line_end))
    return root


def hash_files(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_another_checkout_gives_the_same_release_site_and_archive(tmp_path: Path) -> None:
    here = copy_checkout(tmp_path / "here", b"\n")
    build_site(tmp_path / "site", Progress(), root=here, cache=ROOT / ".cache")
    pack_handbook(tmp_path / "portable", Progress(), root=here, cache=ROOT / ".cache")
    there = copy_checkout(tmp_path / "there", b"\r\n")
    # Its own code runs, and with an empty cache everything is made anew.
    for command in (["site", "build", "--site", "site"], ["portable", "pack", "--out", "portable"]):
        subprocess.run(
            [sys.executable, "-P", "-m", f"build_scripts.{command[0]}", *command[1:]],
            env={**os.environ, "PYTHONPATH": str(there)},
            cwd=there,
            check=True,
        )
    (release,) = (tmp_path / "site" / "runtime").iterdir()
    assert [path.name for path in (there / ".cache" / "runtime").iterdir()] == [release.name]
    for name in ("site", "portable"):
        assert hash_files(there / name) == hash_files(tmp_path / name)


def test_the_inputs_of_a_release_know_no_line_ends(tmp_path: Path) -> None:
    inputs = [compute_inputs(copy_checkout(tmp_path / str(len(end)), end)) for end in (b"\n", b"\r\n")]
    assert inputs[0] == inputs[1]


@pytest.mark.parametrize(
    ("data", "settled"),
    [
        (b"a\r\nb\r\n", b"a\nb\n"),
        (b"a\nb\rc", b"a\nb\rc"),
        # The signature of PNG pictures, which are to stay as they are.
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"),
    ],
)
def test_only_texts_are_settled(data: bytes, settled: bytes) -> None:
    assert settle_line_ends(data) == settled


def test_git_hands_out_texts_alike_and_leaves_pictures_alone() -> None:
    asked = ["README.md", "build_scripts/runtime/freeze.mjs", ".python-version", "docs/picture.png"]
    asked.append("tests/build_scripts/golden/input/windows_lines.md")
    told = subprocess.run(
        ["git", "check-attr", "text", "eol", "--", *asked],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.splitlines()
    texts = {name: {line for line in told if line.startswith(f"{name}: ")} for name in asked}
    for name in asked[:3]:
        assert texts[name] == {f"{name}: text: auto", f"{name}: eol: lf"}
    for name in asked[3:]:
        assert f"{name}: text: unset" in texts[name]
