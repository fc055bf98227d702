"""Runs one of our scripts in Node, with a time limit: options in one file, what it made in another."""

import json
import os
import signal
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from build_scripts.runtime.errors import RuntimeBuildError

HERE = Path(__file__).parent


@dataclass(frozen=True)
class NodeStep:
    """One thing that Node does for a release."""

    script: str
    """Its file in this folder, or its whole path."""

    words: str
    """What it does, after “did not” or “could not”."""

    advice: str
    """What is probably wrong, and to be done, where it takes too long."""


def run_node(node: Path, step: NodeStep, options: Mapping[str, object], scratch: Path, limit: float) -> bytes:
    """Run a step with these options and return the file that it made; `limit` is in seconds.

    Raises:
        RuntimeBuildError: it failed, or took too long; says which step and why.
    """
    output = scratch / "output"
    description = scratch / "options.json"
    description.write_text(json.dumps({**options, "output": str(output)}), "utf-8")
    # A group of its own, so that all that it starts can be ended with it.
    with subprocess.Popen(
        [str(node), str(HERE / step.script), str(description)],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        errors="replace",
        start_new_session=True,
    ) as process:
        try:
            told = process.communicate(timeout=limit)[1]
        except subprocess.TimeoutExpired:
            _end(process)
            raise RuntimeBuildError(
                f"Node did not {step.words} within {limit:g} s and was ended; {step.advice}"
            ) from None
        except BaseException:
            _end(process)
            raise
    if process.returncode:
        # Pyodide itself may print lines of its script, which are a million characters long.
        lines = [line for line in told.splitlines() if line.strip() and len(line) < 500]
        raise RuntimeBuildError(f"Node could not {step.words}:\n" + "\n".join(lines[-30:]))
    return output.read_bytes()


def _end(process: "subprocess.Popen[str]") -> None:
    if sys.platform != "win32":
        os.killpg(process.pid, signal.SIGKILL)
    process.kill()
