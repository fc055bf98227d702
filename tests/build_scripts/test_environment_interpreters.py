"""The finder of a Python: a name promises nothing, so each candidate is run."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path

import pytest

from build_scripts.environment.failures import SetupError
from build_scripts.environment.installer import (
    bring_interpreter,
    find_environment_maker,
    prepare_installer,
)
from build_scripts.environment.interpreters import ask_interpreter, find_interpreter, list_candidates
from build_scripts.environment.places import Places, find_places
from build_scripts.environment.progress import Progress
from tests.build_scripts.environment_checkout import write_program

WANTED = (3, 13)
NO_SUCH_VERSION = (3, 99)
SHIM = "import sys; sys.exit('shim: python3.13: command not found')"
PASS_ON = f"import subprocess, sys; sys.exit(subprocess.call([{sys.executable!r}, *sys.argv[1:]]))"


def write_answer(folder: Path, name: str, *answer: object) -> Path:
    return write_program(folder, name, f"print({json.dumps(list(answer))!r})")


def test_the_python_of_the_tests_describes_itself() -> None:
    interpreter = ask_interpreter([sys.executable])
    assert interpreter is not None
    assert interpreter.version == sys.version_info[:2]
    assert Path(interpreter.path).samefile(sys.executable)


def test_a_shim_that_does_not_run_is_passed_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shim = write_program(tmp_path / "shims", "python3.13", SHIM)
    write_program(tmp_path / "programs", "python3.13", PASS_ON)
    monkeypatch.setattr(sys, "executable", str(shim))
    monkeypatch.setenv("PATH", os.pathsep.join([str(tmp_path / "shims"), str(tmp_path / "programs")]))
    interpreter = find_interpreter(Places(str(tmp_path)), WANTED)
    assert interpreter is not None
    assert interpreter.version == WANTED
    assert interpreter.path != str(shim)


@pytest.mark.parametrize(
    "answer",
    [
        ("here", "cpython", [3, 12], True, True),
        ("here", "pypy", [3, 13], True, True),
        ("here", "cpython", [3, 13], False, True),
    ],
    ids=["another version", "another implementation", "without the global lock"],
)
def test_a_python_that_does_not_fit_is_passed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, answer: tuple[object, ...]
) -> None:
    unfit = write_answer(tmp_path / "first", "python3.13", *answer)
    fit = write_answer(tmp_path / "second", "python3.13", "fit", "cpython", list(WANTED), True, True)
    monkeypatch.setattr(sys, "executable", str(unfit))
    monkeypatch.setenv("PATH", os.pathsep.join([str(unfit.parent), str(fit.parent)]))
    interpreter = find_interpreter(Places(str(tmp_path)), WANTED)
    assert interpreter is not None
    assert interpreter.path == "fit"


@pytest.mark.parametrize(
    "path",
    ["versions/3.13.9/bin/python3.13", "pyenv-win/versions/3.13.9/python.exe"],
    ids=["unix", "windows"],
)
def test_the_folder_of_versions_is_looked_through(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, path: str
) -> None:
    kept = tmp_path.joinpath(*path.split("/"))
    kept.parent.mkdir(parents=True)
    kept.touch()
    monkeypatch.setenv("PYENV_ROOT", str(tmp_path))
    assert [str(kept)] in list(list_candidates(Places(str(tmp_path)), WANTED))


def test_a_python_that_was_fetched_before_is_found(tmp_path: Path) -> None:
    kept = tmp_path / ".cache" / "python" / "cpython-3.13.9" / "bin" / "python3.13"
    kept.parent.mkdir(parents=True)
    kept.touch()
    assert [str(kept)] in list(list_candidates(Places(str(tmp_path)), WANTED))


def test_a_python_that_cannot_be_had_is_one_sentence(tmp_path: Path) -> None:
    places = Places(str(tmp_path))
    uv = prepare_installer(find_places(), Progress(), None)
    assert find_interpreter(places, NO_SUCH_VERSION) is None
    with pytest.raises(SetupError, match=r"^No Python 3\.99 was found here .* install Python 3\.99 .*\.log$"):
        bring_interpreter(places, Progress(), uv, NO_SUCH_VERSION)


def test_a_debian_without_pip_and_without_a_right_to_install_says_what_to_type(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bare = write_answer(tmp_path, "python3", "here", "cpython", [3, 11], True, False)
    monkeypatch.setattr(sys, "executable", str(bare))
    monkeypatch.setattr("build_scripts.environment.system_packages.find_root_prefix", lambda: None)
    monkeypatch.setattr("build_scripts.environment.installer.is_debian", lambda: True)
    package = f"python3.{sys.version_info[1]}-venv"
    with pytest.raises(SetupError, match=f"type 'sudo apt-get install {package}', then start again"):
        find_environment_maker(Places(str(tmp_path)), Progress(), None)
