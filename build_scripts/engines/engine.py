"""A real browser behind one small interface: opened, typed into, asked, ended and started again.

Each engine is driven by a program of its own beside this file, which is told what to do in lines of JSON. So
every wait has a limit whatever the browser hangs in, whatever was started is ended with all its processes,
and to start again with the same profile is the same for all: the program ends and another one starts.
"""

import json
import os
import queue
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import IO, Any, Self
from urllib.parse import urlsplit

import psutil

NAMES = ("chromium", "firefox", "webkit")
LIMIT = 30.0
"""How long one thing may take, in seconds."""
START_LIMIT = 90.0
STOP_LIMIT = 20.0
# A program gives up by itself first and then says what it waited for.
GRACE = 5.0
PAUSE = 0.05
SHOWN_LINES = 12
BESIDE = Path(__file__).parent


class EngineError(Exception):
    """The browser is gone, does not answer or could not be started; the message says which and why."""


class ScriptError(EngineError):
    """The page did not do what it was asked (a script threw, an element is missing); the browser is well."""


class Engine:
    """One browser with one window and a profile of its own, which lasts until `close`.

    A context manager: the end of the block closes it.
    """

    def __init__(self, name: str, command: Sequence[str], limit: float) -> None:
        """Start the browser: `command` is its program, to which profile and limit are added.

        Raises EngineError if it cannot be started; nothing is then left behind.
        """
        self.name = name
        self.limit = limit
        self._command = command
        self._home = tempfile.TemporaryDirectory(prefix="handbook-engine-", ignore_cleanup_errors=True)
        self._errors = Path(self._home.name, "errors.txt")
        self._program: subprocess.Popen[str] | None = None
        self._answers: queue.Queue[dict[str, Any] | None] = queue.Queue()
        self._asked = 0
        try:
            self._start()
        except BaseException:
            self.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def open(self, address: str) -> None:
        """Go to an address (also of a file) and wait until its document has loaded.

        Where nothing answers, the browser's own error page is what is open then.

        Raises ValueError if it is no whole address, EngineError if the browser is gone or the document does
        not load within the limit; an empty page may be open then.
        """
        if not urlsplit(address).scheme:
            raise ValueError(
                f"{address!r} is no whole address: it has to start with http:, file: or the like"
            )
        self._ask("open", address=address)

    def evaluate(self, script: str) -> Any:
        """Run the body of an async function in the page, and return what it returns, by way of JSON.

        The page's Content-Security-Policy does not stop it.

        Raises ScriptError if it throws or the page goes away meanwhile, EngineError if the browser is gone.
        """
        # What JSON has no word for, such as undefined, is null.
        body = f"const run = async () => {{\n{script}\n}};\nreturn JSON.stringify(await run()) ?? 'null';"
        return json.loads(self._ask("evaluate", script=body))

    def wait_until(self, script: str, limit: float | None = None) -> Any:
        """Evaluate again and again until the outcome is true in the sense of Python, and return it.

        A page that goes away meanwhile is waited for.

        Raises EngineError with the last outcome if that takes longer than `limit` seconds.
        """
        limit = limit or self.limit
        end = time.monotonic() + limit
        while True:
            try:
                outcome = self.evaluate(script)
            except ScriptError as error:
                outcome = None
                last = str(error)
            else:
                last = json.dumps(outcome)
            if outcome:
                return outcome
            if time.monotonic() > end:
                raise EngineError(
                    f"{self.name}: within {limit:g} s this did not come true, {script!r}: {last}"
                )
            time.sleep(PAUSE)

    def type_text(self, selector: str, text: str) -> None:
        """Focus the field, select all that is in it and type the text over it, key by key as a reader does.

        Signs that no keyboard has may come without keys, as from a device's own pad of signs.

        Raises ScriptError if there is no such field, EngineError if the browser is gone.
        """
        self._ask("type", selector=selector, text=text)

    def reload(self) -> None:
        """Load the page again, as the reader's button does, and wait until its document has loaded.

        Raises EngineError if the browser is gone or the document does not load within the limit.
        """
        self._ask("reload")

    def restart(self) -> None:
        """End all of the browser's processes in order and start it with the same profile, on an empty page.

        Raises EngineError if it does not start again.
        """
        self._stop()
        self._start()

    def kill(self) -> None:
        """End all of the browser's processes without a word, as a device without power does.

        `restart` starts it again.
        """
        _end_processes(self._find_processes(), 0)
        self._stop()

    def kill_page(self) -> None:
        """End the process of the page, as a device short of memory does, with all else that runs in it.

        What is asked of the page then raises ScriptError; `open` opens one again.

        Raises EngineError if no such process is found.
        """
        pages = [process for process in self._find_processes() if _is_page(process)]
        if not pages:
            raise EngineError(f"{self.name} has no process of a page")
        _end_processes(pages, 0)

    def close(self) -> None:
        """End all of the browser's processes and remove its profile; closing again does nothing."""
        try:
            self._stop()
        finally:
            self._home.cleanup()

    def _start(self) -> None:
        profile = Path(self._home.name, "profile")
        profile.mkdir(exist_ok=True)
        self._answers = queue.Queue()
        with self._errors.open("wb") as errors:
            try:
                self._program = subprocess.Popen(
                    [*self._command, str(profile), str(self.limit)],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    stderr=errors,
                    encoding="utf-8",
                    # Ctrl-C is for the one who asked: the browser is then ended in order.
                    start_new_session=True,
                )
            except OSError as error:
                raise EngineError(f"{self.name} could not be started: {error}") from error
        reading = (self._program.stdout, self._answers)
        threading.Thread(target=_read_answers, args=reading, daemon=True).start()
        self._wait_for_answer("start", START_LIMIT)

    def _ask(self, task: str, **details: str) -> Any:
        if self._program is None or self._program.stdin is None:
            raise EngineError(f"{self.name} cannot {task}: it is closed")
        self._asked += 1
        # A pipe that is broken shows below, with what the program said before it ended.
        with suppress(OSError):
            self._program.stdin.write(json.dumps({"number": self._asked, "task": task, **details}) + "\n")
            self._program.stdin.flush()
        return self._wait_for_answer(task, self.limit + GRACE)

    def _wait_for_answer(self, task: str, limit: float) -> Any:
        end = time.monotonic() + limit
        while True:
            try:
                answer = self._answers.get(timeout=max(0.0, end - time.monotonic()))
            except queue.Empty:
                raise EngineError(f"{self.name} did not {task} within {limit:g} s{self._quote()}") from None
            if answer is None:
                # Whatever is asked from now on has the same answer.
                self._answers.put(None)
                raise EngineError(f"{self.name} ended when it was to {task}{self._quote()}")
            # The answer to something that was given up comes late.
            if task != "start" and answer["number"] != self._asked:
                continue
            if "failure" not in answer:
                return answer.get("value")
            if answer["gone"]:
                raise EngineError(f"{self.name} could not {task}: {answer['failure']}{self._quote()}")
            raise ScriptError(f"{self.name} could not {task}: {answer['failure']}")

    def _quote(self) -> str:
        """The end of what the browser wrote to its standard error."""
        lines = self._errors.read_text("utf-8", "replace").splitlines()[-SHOWN_LINES:]
        return "; it wrote last:" + "".join(f"\n    {line}" for line in lines) if lines else ""

    def _stop(self) -> None:
        """End the program; it ends its browser in order, as long as that takes no longer than the limit."""
        program, self._program = self._program, None
        # Found while their parents still live.
        processes = self._find_processes()
        if program is None:
            _end_processes(processes, 0)
            return
        if program.stdin is not None:
            with suppress(OSError):
                program.stdin.close()
        with suppress(subprocess.TimeoutExpired):
            program.wait(STOP_LIMIT)
        # A browser's helpers end a moment after it.
        _end_processes(processes, GRACE if program.poll() is not None else 0)
        program.wait(STOP_LIMIT)
        # Children of a program that was gone before.
        _end_processes(self._find_processes(), 0)
        if program.stdout is not None:
            program.stdout.close()

    def _find_processes(self) -> list[psutil.Process]:
        """What was started with this engine's profile, and what that has started."""
        found: list[psutil.Process] = []
        for process in psutil.process_iter():
            with suppress(psutil.Error):
                if any(self._home.name in argument for argument in process.cmdline()):
                    found += [process, *process.children(recursive=True)]
        return list(dict.fromkeys(found))


def start_engine(name: str, limit: float = LIMIT) -> Engine:
    """Start "chromium", "firefox" or "webkit", which the prepared environment's variables name.

    Raises EngineError if it cannot be started, KeyError if the environment was not prepared for it.
    """
    return Engine(name, find_command(name), limit)


def find_command(name: str) -> list[str]:
    """The program that drives an engine and its first arguments.

    Raises KeyError if the environment was not prepared for it, ValueError for another name.
    """
    playwright = [sys.executable, str(BESIDE / "playwright_program.py")]
    if name == "chromium":
        return [*playwright, name, os.environ["HANDBOOK_CHROMIUM"]]
    if name == "firefox":
        program = str(BESIDE / "firefox_program.mjs")
        modules = os.environ["HANDBOOK_ENGINE_MODULES"]
        return [os.environ["HANDBOOK_NODE"], program, modules, os.environ["HANDBOOK_FIREFOX"]]
    if name == "webkit":
        if "HANDBOOK_WEBKIT" in os.environ:
            return [*playwright, name, os.environ["HANDBOOK_WEBKIT"]]
        program = str(BESIDE / "webkitgtk_program.py")
        return [os.environ["HANDBOOK_WEBKITGTK_PYTHON"], program, os.environ["HANDBOOK_XVFB"]]
    raise ValueError(f"there is no engine {name!r}; there are {', '.join(NAMES)}")


def _read_answers(stream: IO[str] | None, answers: queue.Queue[dict[str, Any] | None]) -> None:
    """Put the program's answers into the queue, and None when there are no more."""
    with suppress(OSError, ValueError):
        for line in stream or ():
            answers.put(json.loads(line))
    answers.put(None)


def _end_processes(processes: Sequence[psutil.Process], limit: float) -> None:
    """Wait `limit` seconds for processes to end by themselves, then kill those that have not."""
    end = time.monotonic() + limit
    while alive := [process for process in processes if _is_alive(process)]:
        if time.monotonic() > end + STOP_LIMIT:
            numbers = ", ".join(str(process.pid) for process in alive)
            raise EngineError(f"These processes of a browser could not be ended: {numbers}")
        if time.monotonic() >= end:
            for process in alive:
                with suppress(psutil.Error):
                    process.kill()
        time.sleep(PAUSE)


def _is_page(process: psutil.Process) -> bool:
    """Whether it runs pages; each engine names that process in a way of its own."""
    try:
        words = process.cmdline()
    except psutil.Error:
        return False
    # Chromium; Firefox; WebKit.
    return "--type=renderer" in words or words[-1:] == ["tab"] or "WebKitWebProcess" in "".join(words[:1])


def _is_alive(process: psutil.Process) -> bool:
    try:
        return process.is_running() and process.status() != psutil.STATUS_ZOMBIE
    except psutil.Error:
        return False
