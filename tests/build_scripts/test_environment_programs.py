"""Programs of the machine: browsers, simulator and Node are tried out, then remembered."""

from __future__ import annotations

import ast
import json
import os
import sys
import tarfile
from pathlib import Path

import pytest

from build_scripts.environment.browser import does_browser_run, prepare_browser
from build_scripts.environment.circuit_simulator import does_simulator_run, prepare_simulator
from build_scripts.environment.failures import SetupError, StepError
from build_scripts.environment.firefox import does_firefox_run, prepare_firefox
from build_scripts.environment.node import is_node_new_enough, prepare_node, prepare_npm_packages
from build_scripts.environment.places import Places, find_places, is_complete
from build_scripts.environment.programs import find_on_path, find_remembered, remember_program
from build_scripts.environment.progress import Progress
from build_scripts.environment.system_packages import install_debian_package
from build_scripts.environment.webkit import (
    does_webkitgtk_run,
    fetch_webkit,
    prepare_webkit,
    prepare_webkitgtk,
)
from tests.build_scripts.environment_checkout import make_checkout, write_program

pytestmark = pytest.mark.prepared


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


@pytest.mark.parametrize(
    ("code", "serves"),
    [
        ("print('Mozilla Firefox 153.7.0esr')", True),
        ("print('This command installs a browser when you ask for it')", False),
        ("raise SystemExit(1)", False),
    ],
)
def test_a_stub_is_no_firefox(tmp_path: Path, code: str, serves: bool) -> None:
    assert does_firefox_run(str(write_program(tmp_path, "firefox", code))) is serves


@pytest.mark.parametrize(
    ("code", "serves"),
    [
        ("print('serves')", True),
        ("print('')", False),
        ("raise SystemExit('No module named gi')", False),
    ],
)
def test_a_python_without_webkitgtk_is_passed_over(tmp_path: Path, code: str, serves: bool) -> None:
    assert does_webkitgtk_run(str(write_program(tmp_path, "python3", code))) is serves


def test_the_engines_of_this_machine_run() -> None:
    places = find_places()
    assert does_firefox_run(prepare_firefox(places, Progress()))
    named = prepare_webkit(places, Progress(), sys.executable)
    if sys.platform == "linux":
        assert does_webkitgtk_run(named.pop("HANDBOOK_WEBKITGTK_PYTHON"))
        assert os.access(named.pop("HANDBOOK_XVFB"), os.X_OK)
    else:
        assert os.access(named.pop("HANDBOOK_WEBKIT"), os.X_OK)
    assert not named


def test_what_is_prepared_is_remembered(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    places = Places(str(tmp_path))
    firefox = str(write_program(tmp_path / "one", "firefox", "print('Mozilla Firefox 153.7.0esr')"))
    python = str(write_program(tmp_path / "two", "python3", "print('serves')"))
    xvfb = str(write_program(tmp_path / "two", "Xvfb", ""))
    monkeypatch.setenv("PATH", os.pathsep.join(os.path.dirname(path) for path in (firefox, python)))
    monkeypatch.setattr("build_scripts.environment.webkit.WELL_KNOWN", ())
    expected = {"HANDBOOK_WEBKITGTK_PYTHON": python, "HANDBOOK_XVFB": xvfb}
    for _ in range(2):
        assert prepare_firefox(places, Progress()) == firefox
        assert prepare_webkitgtk(places, Progress()) == expected
        # The second time none is looked for.
        monkeypatch.setenv("PATH", "")


def test_an_engine_that_cannot_be_had_is_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # A machine that has none and no packages of its own; the library's own way then meets no network.
    places = Places(str(tmp_path))
    monkeypatch.setenv("PATH", "")
    monkeypatch.setenv("PLAYWRIGHT_DOWNLOAD_HOST", "http://127.0.0.1:9")
    monkeypatch.setattr("build_scripts.environment.system_packages.is_debian", lambda: False)
    monkeypatch.setattr("build_scripts.environment.firefox.list_candidates", lambda: iter(()))
    monkeypatch.setattr("build_scripts.environment.webkit.WELL_KNOWN", ())
    with pytest.raises(SetupError, match=r"^The tests open the handbook in Firefox too, .* start again\.$"):
        prepare_firefox(places, Progress())
    with pytest.raises(SetupError, match=r"in WebKitGTK too, .* gir1\.2-webkit2-4\.1 .* start again\.$"):
        prepare_webkitgtk(places, Progress())
    with pytest.raises(SetupError, match=r"in WebKit too, .* start again\.$"):
        fetch_webkit(places, Progress(), sys.executable)


def test_several_system_packages_are_one_step(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = tmp_path / "asked"
    write_program(
        tmp_path / "bin", "apt-get", f"import sys; print(sys.argv[1:], file=open({str(asked)!r}, 'a'))"
    )
    monkeypatch.setenv("PATH", str(tmp_path / "bin") + os.pathsep + os.environ["PATH"])
    monkeypatch.setattr("build_scripts.environment.system_packages.is_debian", lambda: True)
    monkeypatch.setattr("build_scripts.environment.system_packages.find_root_prefix", list)
    assert install_debian_package(Places(str(tmp_path)), Progress(), "lantern", "lamp")
    assert [ast.literal_eval(line) for line in asked.read_text().splitlines()] == [
        ["-q", "update"],
        ["-q", "install", "-y", "--no-install-recommends", "lantern", "lamp"],
    ]


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
    assert prepare_npm_packages(places, Progress(), "", node, places.runtime) == str(folder / "node_modules")
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
        prepare_npm_packages(places, Progress(), "", node, places.runtime)
