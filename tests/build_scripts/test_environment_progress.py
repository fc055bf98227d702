"""What is shown while the environment is prepared, and what is said when a step fails."""

from __future__ import annotations

import io
import re
import sys
import time
from pathlib import Path

import pytest

from build_scripts.environment.failures import StepError, describe_failure
from build_scripts.environment.places import Places
from build_scripts.environment.processes import run_step
from build_scripts.environment.progress import LIVE_INTERVAL, Progress


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_a_step_is_a_line_before_and_after() -> None:
    shown = io.StringIO()
    with Progress(shown).show_step("Fetching a lantern"):
        assert shown.getvalue() == "Fetching a lantern …\n"
    assert re.fullmatch(r"Fetching a lantern …\nFetching a lantern: done, \d+\.\d s\n", shown.getvalue())


def test_a_terminal_counts_the_seconds_live() -> None:
    shown = Terminal()
    with Progress(shown).show_step("Fetching a lantern"):
        time.sleep(LIVE_INTERVAL * 2.4)
    assert shown.getvalue().count("Fetching a lantern … ") >= 3
    assert "Fetching a lantern … 1 s" in shown.getvalue()
    assert re.search(r"\r\x1b\[KFetching a lantern: done, 1\.\d s\n$", shown.getvalue())


@pytest.mark.parametrize(("error", "outcome"), [(ValueError, "failed"), (KeyboardInterrupt, "stopped")])
def test_a_step_that_does_not_end_well_says_so(error: type[BaseException], outcome: str) -> None:
    shown = io.StringIO()
    with pytest.raises(error), Progress(shown).show_step("Fetching a lantern"):
        raise error
    assert f"Fetching a lantern: {outcome}, " in shown.getvalue()


def test_a_failed_program_is_quoted_and_kept(tmp_path: Path) -> None:
    code = "print('\\n'.join(f'line {n}' for n in range(40))); raise SystemExit('the lantern is dark')"
    with pytest.raises(StepError) as caught:
        run_step(Places(str(tmp_path)), Progress(io.StringIO()), "Light it", [sys.executable, "-c", code])
    message = str(caught.value)
    log = tmp_path / ".cache" / "logs" / "light-it.log"
    assert message.startswith(f"Light it failed; the whole of what was written is in {log}")
    assert "\n    the lantern is dark" in message
    assert "\n    line 39" in message
    assert "line 10\n" not in message
    assert "line 0\n" in log.read_text(encoding="utf-8")


def test_a_program_that_is_not_there_is_a_failed_step(tmp_path: Path) -> None:
    missing = str(tmp_path / "missing")
    with pytest.raises(StepError, match="Light it failed") as caught:
        run_step(Places(str(tmp_path)), Progress(io.StringIO()), "Light it", [missing])
    assert missing in str(caught.value)


@pytest.mark.parametrize(
    "output",
    [
        "error: Failed to fetch\n  Caused by: dns error",
        "NewConnectionError: Failed to establish a new connection",
        "npm error code EAI_AGAIN",
    ],
    ids=["installer", "pip", "npm"],
)
def test_a_missing_network_is_told_from_other_failures(output: str) -> None:
    assert "needs a network" in describe_failure("Fetching", output, "log")
    assert "needs a network" not in describe_failure("Fetching", "No space left on device", "log")
