"""The verbs of the one command: each prepares what it needs and hands over to the prepared Python."""

from __future__ import annotations

import os
import signal
import sys
from typing import TYPE_CHECKING, NoReturn

from build_scripts.environment.places import Places, find_places
from build_scripts.environment.virtual_environment import find_environment, find_python, is_ready

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from build_scripts.environment.preparation import Needs, Prepared

INTERRUPTED = 130
# Looked for from the checkout alone (-P): a folder the reader stands in must not hide one of ours. Nothing is
# started but through the gate, which checks the calculators before anything can import them.
MODULE = ("-P", "-m", "build_scripts.house_rules")
CHECKS = (
    ("format", "ruff", "format", "--check", "--quiet", "."),
    ("lint", "ruff", "check", "--quiet", "."),
    ("types", "mypy", "--no-error-summary"),
    ("fuzz", "build_scripts.fuzz", "--seconds", "60"),
    ("site", "build_scripts.site", "build", "--site", os.path.join(".cache", "tested-site")),
)
TESTS = ("tests", "pytest")
# While one writes: what runs in pure Python, and needs nothing prepared but Python.
QUICK_TESTS = (*TESTS, "-m", "not prepared", "tests/calculators", "tests/build_scripts")
QUICK = (*CHECKS[:3], QUICK_TESTS)


def main(arguments: Sequence[str]) -> int:
    """Run one command; returns its exit code."""
    places = find_places()
    try:
        # The terminal is used in a hurry: where all is ready, nothing is loaded that is not needed.
        if arguments and arguments[0] == "compute":
            return run_compute(places, arguments[1:])
        return run_verb(places, arguments)
    except KeyboardInterrupt:
        sys.stderr.write("\nStopped. The next start carries on, or does again what was half done.\n")
        return INTERRUPTED


def run_compute(places: Places, arguments: Sequence[str]) -> int:
    """Compute in the terminal, in the prepared environment."""
    environment = find_environment(places, "site")
    if not is_ready(environment):
        from build_scripts.environment.preparation import Needs

        if prepare_or_explain(places, Needs("site")) is None:
            return 1
    # The help that the calculators print shows what was typed.
    told = {"HANDBOOK_COMMAND": "python3 build_scripts/handbook.py compute"}
    return hand_over(places, find_python(environment), told, [*MODULE, "calculators", *arguments])


def run_verb(places: Places, arguments: Sequence[str]) -> int:
    """Run any of the verbs that need more than the calculators."""
    from build_scripts.environment.options import make_parser
    from build_scripts.environment.preparation import Needs

    # What follows the first -- is another program's own.
    own, passed_on = split_arguments(arguments)
    parser = make_parser()
    given, rest = parser.parse_known_args(own)
    if rest and given.verb in ("preview", "build", "pack"):
        parser.error(f"{given.verb} does not know {' '.join(rest)}; see {given.verb} --help")
    if given.verb == "test":
        if rest:
            parser.error(f"test does not know {' '.join(rest)}; what pytest is to be given follows a --")
        if given.quick and passed_on:
            parser.error("test --quick chooses its tests itself; leave out --quick, or what follows the --")
        needs = Needs("test", node=True, browser=True, simulator=True, engines=True)
        prepared = prepare_or_explain(places, Needs("test") if given.quick else needs)
        if prepared is None:
            return 1
        checks = [("tests", "pytest", *passed_on)] if passed_on else [*CHECKS, TESTS]
        if given.quick:
            checks = [*QUICK]
        return run_checks(places, prepared, checks)
    if given.verb in ("attempts", "measure", "picture"):
        engines = given.verb != "picture"
        needs = Needs("test", node=True, browser=True, engines=engines)
        module = [f"build_scripts.{given.verb}"]
    elif given.verb in ("compare", "fuzz", "shifts"):
        needs, module = Needs("site" if given.verb == "compare" else "test"), [f"build_scripts.{given.verb}"]
    elif given.verb == "pack":
        needs, module, rest = Needs("site", node=True), ["build_scripts.portable"], own
    else:
        needs, module, rest = Needs("site", node=True), ["build_scripts.site"], own
    prepared = prepare_or_explain(places, needs)
    if prepared is None:
        return 1
    return hand_over(places, prepared.python, prepared.variables, [*MODULE, *module, *rest, *passed_on])


def split_arguments(arguments: Sequence[str]) -> tuple[list[str], list[str]]:
    """What stands before and after the first `--`."""
    listed = list(arguments)
    index = listed.index("--") if "--" in listed else len(listed)
    return listed[:index], listed[index + 1 :]


def prepare_or_explain(places: Places, needs: Needs) -> Prepared | None:
    """The prepared environment, or None after one sentence about what is missing."""
    from build_scripts.environment.failures import SetupError
    from build_scripts.environment.preparation import prepare
    from build_scripts.environment.progress import Progress

    # A polite request to end is treated as Ctrl-C is: the step's program is ended first.
    before = signal.signal(signal.SIGTERM, _interrupt)
    progress = Progress()
    try:
        return prepare(places, progress, needs)
    except SetupError as error:
        progress.say(str(error))
        return None
    except OSError as error:
        progress.say(f"The environment could not be prepared: {error}.")
        return None
    finally:
        signal.signal(signal.SIGTERM, before)


def _interrupt(_number: int, _frame: object) -> NoReturn:
    raise KeyboardInterrupt


def make_variables(places: Places, python: str, told: Mapping[str, str]) -> dict[str, str]:
    """The variables of a program run in the prepared environment."""
    programs = os.path.dirname(python)
    variables = {
        **os.environ,
        **told,
        "PYTHONPATH": places.root,
        "PYTHONUTF8": "1",
        # A compiled file beside a source may have come with it, and would be run unread.
        "PYTHONPYCACHEPREFIX": os.path.join(places.cache, "compiled"),
        "VIRTUAL_ENV": os.path.dirname(programs),
        "PATH": programs + os.pathsep + os.environ.get("PATH", os.defpath),
    }
    variables.pop("PYTHONHOME", None)
    return variables


def hand_over(places: Places, python: str, told: Mapping[str, str], arguments: Sequence[str]) -> int:
    """Become the prepared Python; where a process cannot, run it and return its exit code."""
    variables = make_variables(places, python, told)
    sys.stdout.flush()
    sys.stderr.flush()
    if os.name != "nt":
        os.execve(python, [python, *arguments], variables)
    import subprocess

    with subprocess.Popen([python, *arguments], env=variables) as process:
        while True:
            try:
                return process.wait()
            except KeyboardInterrupt:
                # The program gets the same Ctrl-C and ends in its own way.
                continue


def run_checks(places: Places, prepared: Prepared, checks: Sequence[Sequence[str]]) -> int:
    """Run the checks, the quickest first, up to the first that fails; returns its exit code."""
    import subprocess

    variables = make_variables(places, prepared.python, prepared.variables)
    for passed, (name, module, *arguments) in enumerate(checks):
        print(f"== {name}: {' '.join([module, *arguments])}", flush=True)
        code = subprocess.call([prepared.python, *MODULE, module, *arguments], env=variables, cwd=places.root)
        if code != 0:
            # pytest ends with a count of its own.
            if module != "pytest":
                print(f"== {name} failed: {passed} checks passed, 1 failed", flush=True)
            return code
    return 0
