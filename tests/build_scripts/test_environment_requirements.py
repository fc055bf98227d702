"""What is pinned: every version with its hash, and no address of where it comes from."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import pytest

from build_scripts.environment.places import find_places

PLACES = find_places()
LISTS = sorted(Path(PLACES.requirements).glob("*.txt"))
SOURCES = sorted(path for path in Path(PLACES.requirements).glob("*.in") if path.name != "left-out.in")
PACKAGE_LOCKS = [Path(folder, "package-lock.json") for folder in (PLACES.runtime, PLACES.engines)]


def read_requirements(path: Path) -> dict[str, str]:
    """Name to version and hashes, each requirement on one line."""
    text = path.read_text(encoding="utf-8").replace("\\\n", " ")
    lines = [line.strip() for line in text.splitlines() if line.strip() and not line.startswith(("#", "-"))]
    return {line.partition("==")[0]: line.partition("==")[2] for line in lines}


def test_there_is_a_list_for_each_use() -> None:
    assert [path.stem for path in LISTS] == ["node", "site", "test", "uv"]
    assert [path.stem for path in SOURCES] == ["node", "site", "test", "uv"]


@pytest.mark.parametrize(
    "path", [*LISTS, *SOURCES, *PACKAGE_LOCKS], ids=lambda path: f"{path.parent.name}/{path.name}"
)
def test_no_address_is_recorded(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert "://" not in text
    assert "resolved" not in text
    assert not re.search(r"^--?(index|extra-index|find-links|i\b|f\b)", text, re.MULTILINE)


@pytest.mark.parametrize("path", LISTS, ids=lambda path: path.name)
def test_every_requirement_has_a_version_and_a_hash(path: Path) -> None:
    requirements = read_requirements(path)
    assert requirements
    for name, rest in requirements.items():
        assert re.match(r"[0-9][^ ]* .*--hash=sha256:[0-9a-f]{64}", rest), name


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.name)
def test_the_list_holds_what_was_asked_for(path: Path) -> None:
    made = read_requirements(path.with_suffix(".txt"))
    for name, version in read_requirements(path).items():
        assert made[name].split()[0] == version, name


def test_the_tests_run_on_the_very_packages_that_build_the_site() -> None:
    site = read_requirements(Path(PLACES.find_requirements("site")))
    test = read_requirements(Path(PLACES.find_requirements("test")))
    assert site.items() <= test.items()


@pytest.mark.parametrize("path", PACKAGE_LOCKS, ids=lambda path: path.parent.name)
def test_every_npm_package_has_a_version_and_a_hash(path: Path) -> None:
    packages = json.loads(path.read_text(encoding="utf-8"))["packages"]
    asked_for = json.loads(path.with_name("package.json").read_text(encoding="utf-8"))["dependencies"]
    assert packages.pop("")["dependencies"] == asked_for
    for name, version in asked_for.items():
        assert packages[f"node_modules/{name}"]["version"] == version
    for name, package in packages.items():
        assert re.fullmatch(r"sha512-[A-Za-z0-9+/]{86}==", package["integrity"]), name


def test_the_browsers_python_is_the_one_that_was_measured() -> None:
    packages = json.loads(PACKAGE_LOCKS[0].read_text(encoding="utf-8"))["packages"]
    assert packages["node_modules/pyodide"]["version"] == "0.29.5"


def test_the_python_version_is_the_one_of_the_calculators() -> None:
    project = tomllib.loads(Path(PLACES.root, "pyproject.toml").read_text(encoding="utf-8"))
    major, minor = PLACES.find_wanted_python()
    assert project["project"]["requires-python"] == f">={major}.{minor}"
    assert project["tool"]["mypy"]["python_version"] == f"{major}.{minor}"
    assert project["project"]["dependencies"] == []
