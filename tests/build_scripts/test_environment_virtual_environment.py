"""The prepared environment: made once, never left half made, nothing in it that was not pinned."""

from __future__ import annotations

import io
import subprocess
import time
from pathlib import Path

import pytest

from build_scripts.environment.failures import SetupError, StepError
from build_scripts.environment.places import COMPLETE, Places, is_complete
from build_scripts.environment.preparation import Needs, prepare
from build_scripts.environment.progress import Progress
from build_scripts.environment.virtual_environment import (
    find_environment,
    find_python,
    is_ready,
    prepare_environment,
)
from tests.build_scripts.environment_checkout import (
    find_local_variables,
    make_checkout,
    write_requirement,
    write_wheel,
)

pytestmark = pytest.mark.prepared


@pytest.fixture
def checkout(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Places:
    places = make_checkout(tmp_path)
    for name, value in find_local_variables(places).items():
        monkeypatch.setenv(name, value)
    return places


def read_installed_version(environment: str) -> str:
    command = [find_python(environment), "-I", "-c", "import figure; print(figure.__version__)"]
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout.strip()


def test_the_environment_holds_what_was_pinned(checkout: Places) -> None:
    environment = prepare_environment(checkout, Progress(), "site")
    assert is_ready(environment)
    assert read_installed_version(environment) == "1.0"


def test_a_half_made_environment_is_made_again(checkout: Places) -> None:
    environment = prepare_environment(checkout, Progress(), "site")
    Path(environment, COMPLETE).unlink()
    # Taken away, not written over: the installer links the file to its own copy.
    next(Path(environment).rglob("figure.py")).unlink()
    leftover = Path(environment, "leftover")
    leftover.touch()
    assert prepare_environment(checkout, Progress(), "site") == environment
    assert read_installed_version(environment) == "1.0"
    assert not leftover.exists()


def test_an_environment_whose_python_has_gone_is_made_again(checkout: Places) -> None:
    environment = prepare_environment(checkout, Progress(), "site")
    Path(find_python(environment)).unlink()
    assert not is_ready(environment)
    prepare_environment(checkout, Progress(), "site")
    assert read_installed_version(environment) == "1.0"


def test_other_requirements_are_another_environment(checkout: Places) -> None:
    before = prepare_environment(checkout, Progress(), "site")
    digest = write_wheel(Path(checkout.root, "wheels"), "figure", "2.0")
    write_requirement(checkout, "site", f"figure==2.0 --hash=sha256:{digest}")
    after = prepare_environment(checkout, Progress(), "site")
    assert (read_installed_version(before), read_installed_version(after)) == ("1.0", "2.0")


@pytest.mark.parametrize(
    ("requirement", "reason"),
    [(f"figure==1.0 --hash=sha256:{'0' * 64}", "its hash differs"), ("figure==1.0", "must have a hash")],
    ids=["another hash", "no hash"],
)
def test_what_is_not_pinned_by_its_hash_is_refused(checkout: Places, requirement: str, reason: str) -> None:
    write_requirement(checkout, "site", requirement)
    with pytest.raises(StepError, match=reason):
        prepare_environment(checkout, Progress(), "site")
    assert not is_complete(find_environment(checkout, "site"))


def test_without_a_network_the_sentence_says_so(checkout: Places, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("UV_NO_INDEX")
    monkeypatch.delenv("UV_FIND_LINKS")
    # Nothing listens at the discard port, so the connection is refused at once.
    monkeypatch.setenv("UV_DEFAULT_INDEX", "http://127.0.0.1:9/")
    monkeypatch.setenv("UV_HTTP_RETRIES", "0")
    with pytest.raises(StepError, match="the first set-up needs a network"):
        prepare_environment(checkout, Progress(), "site")


def test_a_second_start_runs_nothing_and_is_quick(checkout: Places, monkeypatch: pytest.MonkeyPatch) -> None:
    first = prepare(checkout, Progress(), Needs("site"))

    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("a second start ran a program")

    monkeypatch.setattr(subprocess, "Popen", refuse)
    shown = io.StringIO()
    started = time.perf_counter()
    second = prepare(checkout, Progress(shown), Needs("site"))
    assert time.perf_counter() - started < 0.3
    assert second == first
    assert shown.getvalue() == ""


def test_the_installer_is_refused_if_it_is_not_what_was_pinned(checkout: Places) -> None:
    write_wheel(Path(checkout.root, "wheels"), "uv")
    write_requirement(checkout, "uv", f"uv==1.0 --hash=sha256:{'0' * 64}")
    with pytest.raises(SetupError, match=r"^Fetching the installer: .* \(its hash differs\)"):
        prepare_environment(checkout, Progress(), "site")
