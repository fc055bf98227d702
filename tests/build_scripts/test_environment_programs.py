"""Programs of the machine: browser, simulator and Node are tried out, then remembered."""

from __future__ import annotations

import json
import os
import sys
import tarfile
from pathlib import Path

import pytest

from build_scripts.environment.browser import does_browser_run, prepare_browser
from build_scripts.environment.circuit_simulator import does_simulator_run, prepare_simulator
from build_scripts.environment.failures import SetupError, StepError
from build_scripts.environment.node import is_node_new_enough, prepare_node, prepare_npm_packages
from build_scripts.environment.places import Places, find_places, is_complete
from build_scripts.environment.programs import find_on_path, find_remembered, remember_program
from build_scripts.environment.progress import Progress
from tests.build_scripts.environment_checkout import make_checkout, write_program


def test_a_shadowed_program_is_found_as_well(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    programs = [write_program(tmp_path / folder, "lantern", "") for folder in ("first", "second")]
    monkeypatch.setenv("PATH", os.pathsep.join(str(program.parent) for program in programs))
    assert [Path(path) for path in find_on_path(["lantern"])] == programs


def test_a_remembered_program_is_forgotten_once_it_changes(tmp_path: Path) -> None:
    places = Places(str(tmp_path))
    program = write_program(tmp_path, "lantern", "print(1)")
    assert find_remembered(places, "light") is None
    remember_program(places, "light", str(program))
    assert find_remembered(places, "light") == str(program)
    write_program(tmp_path, "lantern", "print('another')")
    os.utime(program, ns=(0, 0))
    assert find_remembered(places, "light") is None
    remember_program(places, "light", str(program))
    program.unlink()
    assert find_remembered(places, "light") is None


@pytest.mark.parametrize(
    ("code", "serves"),
    [
        ("print('v18.0.0')", True),
        ("print('v24.19.0')", True),
        ("print('v16.20.2')", False),
        ("print('something else')", False),
        ("raise SystemExit('no version is set')", False),
    ],
)
def test_a_node_that_is_too_old_or_does_not_run_is_passed_over(
    tmp_path: Path, code: str, serves: bool
) -> None:
    assert is_node_new_enough(str(write_program(tmp_path, "node", code))) is serves


@pytest.mark.parametrize(
    ("code", "serves"),
    [
        ("print('Chromium 156.0')", True),
        ("print('Google Chrome 156.0')", True),
        ("print('This command installs a browser when you ask for it')", False),
        ("raise SystemExit(1)", False),
    ],
)
def test_a_stub_is_no_browser(tmp_path: Path, code: str, serves: bool) -> None:
    assert does_browser_run(str(write_program(tmp_path, "chromium", code))) is serves


@pytest.mark.parametrize(
    ("code", "serves"), [("print('** ngspice-39')", True), ("raise SystemExit(1)", False)]
)
def test_a_simulator_says_its_name(tmp_path: Path, code: str, serves: bool) -> None:
    assert does_simulator_run(str(write_program(tmp_path, "ngspice", code))) is serves


def test_the_browser_and_the_simulator_of_this_machine_run() -> None:
    places = find_places()
    assert does_browser_run(prepare_browser(places, Progress(), sys.executable))
    assert does_simulator_run(prepare_simulator(places, Progress()))


def test_a_browser_that_cannot_be_had_is_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    # A machine that has none and no packages of its own; the library's own way then meets no network.
    monkeypatch.setattr("build_scripts.environment.browser.list_candidates", lambda: iter(()))
    monkeypatch.setattr("build_scripts.environment.system_packages.is_debian", lambda: False)
    monkeypatch.setenv("PLAYWRIGHT_DOWNLOAD_HOST", "http://127.0.0.1:9")
    with pytest.raises(SetupError, match=r"^The tests need a browser, and none .* start again\.$"):
        prepare_browser(Places(str(tmp_path)), Progress(), sys.executable)
    assert "the first set-up needs a network" in capsys.readouterr().err


def test_a_simulator_that_cannot_be_had_is_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("build_scripts.environment.circuit_simulator.find_simulator", lambda: None)
    monkeypatch.setattr("build_scripts.environment.circuit_simulator.install_simulator", lambda *_: False)
    with pytest.raises(SetupError, match=r"ngspice, which was not found .* start again\.$"):
        prepare_simulator(Places(str(tmp_path)), Progress())


def write_package_list(places: Places, packages: dict[str, dict[str, str]]) -> None:
    """The two files npm reads, asking for these packages by their place, version and hash."""
    wanted = {name: package["resolved"] for name, package in packages.items()}
    root = {"name": "tests", "dependencies": wanted}
    installed = {f"node_modules/{name}": package for name, package in packages.items()}
    Path(places.runtime).mkdir()
    Path(places.runtime, "package.json").write_text(json.dumps(root), encoding="utf-8")
    Path(places.runtime, "package-lock.json").write_text(
        json.dumps(
            {"name": "tests", "lockfileVersion": 3, "requires": True, "packages": {"": root, **installed}}
        ),
        encoding="utf-8",
    )


@pytest.fixture
def node() -> str:
    return prepare_node(find_places(), Progress(), os.path.dirname(os.path.dirname(sys.executable)))


def test_a_half_made_folder_of_npm_packages_is_made_again(tmp_path: Path, node: str) -> None:
    places = make_checkout(tmp_path)
    write_package_list(places, {})
    pinned = [os.path.join(places.runtime, name) for name in ("package.json", "package-lock.json")]
    folder = Path(places.find_folder("npm", *pinned))
    (folder / "leftover").mkdir(parents=True)
    assert prepare_npm_packages(places, Progress(), "", node) == str(folder / "node_modules")
    assert is_complete(str(folder))
    assert not (folder / "leftover").exists()


def test_an_npm_package_that_is_not_what_was_pinned_is_refused(tmp_path: Path, node: str) -> None:
    places = make_checkout(tmp_path)
    archive = tmp_path / "lantern.tgz"
    with tarfile.open(archive, "w:gz") as packed:
        source = tmp_path / "package.json"
        source.write_text('{"name": "lantern", "version": "1.0.0"}', encoding="utf-8")
        packed.add(source, "package/package.json")
    wrong = "sha512-" + "A" * 86 + "=="
    write_package_list(
        places, {"lantern": {"version": "1.0.0", "resolved": archive.as_uri(), "integrity": wrong}}
    )
    with pytest.raises(StepError, match="its hash differs"):
        prepare_npm_packages(places, Progress(), "", node)
