"""One start prepares at a time; a lock that a dead process left is taken over."""

from __future__ import annotations

import io
import subprocess
import sys
import time
from pathlib import Path

from build_scripts.environment.lock import hold_lock
from build_scripts.environment.places import find_places
from build_scripts.environment.progress import Progress

HOLD = """
import sys
from build_scripts.environment.lock import hold_lock
from build_scripts.environment.progress import Progress
with hold_lock(sys.argv[1], Progress()):
    print("held", flush=True)
    sys.stdin.read()
"""


def start_holder(path: Path) -> subprocess.Popen[str]:
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(path)],
        cwd=find_places().root,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert holder.stdout is not None
    assert holder.stdout.readline() == "held\n"
    return holder


def test_a_second_start_waits_and_says_for_whom(tmp_path: Path) -> None:
    path = tmp_path / "lock"
    with start_holder(path) as holder:
        waiter = subprocess.Popen(
            [sys.executable, "-c", HOLD, str(path)],
            cwd=find_places().root,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        assert waiter.stderr is not None
        said = waiter.stderr.readline()
        assert waiter.poll() is None
        assert holder.stdin is not None
        holder.stdin.close()
        out, _ = waiter.communicate(timeout=10)
    assert said == (f"Another start (process {holder.pid}) is preparing the environment; waiting for it …\n")
    assert out == "held\n"


def test_the_lock_of_a_dead_process_is_taken_over(tmp_path: Path) -> None:
    path = tmp_path / "lock"
    with start_holder(path) as holder:
        holder.kill()
        holder.wait()
        shown = io.StringIO()
        started = time.perf_counter()
        with hold_lock(str(path), Progress(shown)):
            assert path.exists()
    assert time.perf_counter() - started < 2
    assert shown.getvalue() == ""
