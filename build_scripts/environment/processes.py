"""Runs the programs that prepare the environment, keeping what they write for the case that they fail."""

from __future__ import annotations

import os
import re
import subprocess
from typing import TYPE_CHECKING

from build_scripts.environment.failures import StepError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from build_scripts.environment.places import Places
    from build_scripts.environment.progress import Progress

ASK_LIMIT = 20.0
STOP_LIMIT = 10.0


def run_step(
    places: Places,
    progress: Progress,
    name: str,
    command: Sequence[str],
    variables: Mapping[str, str] | None = None,
    folder: str | None = None,
) -> None:
    """Run one long step under its name.

    Raises StepError with what the program wrote if it fails or cannot be started.
    """
    logs = os.path.join(places.cache, "logs")
    os.makedirs(logs, exist_ok=True)
    log = os.path.join(logs, re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") + ".log")
    with progress.show_step(name):
        with open(log, "w+", encoding="utf-8", errors="replace") as file:
            try:
                process = subprocess.Popen(
                    list(command),
                    stdin=subprocess.DEVNULL,
                    stdout=file,
                    stderr=subprocess.STDOUT,
                    env={**os.environ, **(variables or {})},
                    cwd=folder or places.root,
                )
            except OSError as error:
                raise StepError(name, f"{command[0]}: {error.strerror}", log) from error
            try:
                code = process.wait()
            except BaseException:
                _stop(process)
                raise
            file.seek(0)
            output = file.read()
        if code != 0:
            raise StepError(name, output, log)


def _stop(process: subprocess.Popen[bytes]) -> None:
    """End a program of ours; a package manager is given time to leave its records in order."""
    process.terminate()
    try:
        process.wait(STOP_LIMIT)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


def ask_program(command: Sequence[str]) -> str | None:
    """What a program answers on standard output, or None if it cannot be run, fails or does not answer."""
    try:
        answer = subprocess.run(
            list(command),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            timeout=ASK_LIMIT,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired):
        return None
    if answer.returncode != 0:
        return None
    return answer.stdout.decode("utf-8", "replace").strip()
