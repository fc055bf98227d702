"""Finds a Python of the wanted version: each candidate is run and asked, because a name promises nothing."""

from __future__ import annotations

import glob
import json
import os
import sys
from typing import TYPE_CHECKING, NamedTuple

from build_scripts.environment.processes import ask_program
from build_scripts.environment.programs import find_on_path

if TYPE_CHECKING:
    from collections.abc import Iterator

    from build_scripts.environment.places import Places

QUESTION = (
    "import sys, sysconfig, json, importlib.util as u;"
    "print(json.dumps([sys.executable, sys.implementation.name, list(sys.version_info[:2]),"
    " not sysconfig.get_config_var('Py_GIL_DISABLED'),"
    " all(getattr(u.find_spec(m), 'origin', None) for m in ('venv', 'ensurepip'))]))"
)


class Interpreter(NamedTuple):
    """One Python that runs: where it is, its version, and whether it can make environments with pip."""

    path: str
    version: tuple[int, int]
    has_pip: bool


def ask_interpreter(command: list[str]) -> Interpreter | None:
    """What the Python behind this command says of itself; None unless it is an ordinary CPython."""
    answer = ask_program([*command, "-I", "-c", QUESTION])
    try:
        path, implementation, version, ordinary, has_pip = json.loads(answer or "")
    except ValueError:
        return None
    if implementation != "cpython" or not ordinary or not path:
        return None
    return Interpreter(path, (version[0], version[1]), has_pip)


def list_candidates(places: Places, wanted: tuple[int, int]) -> Iterator[list[str]]:
    """Commands that may start the wanted Python, the likeliest first."""
    dotted = f"{wanted[0]}.{wanted[1]}"
    if sys.version_info[:2] == wanted:
        yield [sys.executable]
    yield from ([path] for path in find_on_path([f"python{dotted}", "python3", "python"]))
    if os.name == "nt":
        yield from ([path, f"-{dotted}"] for path in find_on_path(["py"]))
    home = os.path.expanduser("~")
    pyenv = os.environ.get("PYENV_ROOT") or os.path.join(home, ".pyenv")
    for pattern in (
        os.path.join(glob.escape(pyenv), "versions", f"{dotted}*", "bin", f"python{dotted}"),
        os.path.join(glob.escape(pyenv), "pyenv-win", "versions", f"{dotted}*", "python.exe"),
        f"/usr/bin/python{dotted}",
        f"/usr/local/bin/python{dotted}",
        f"/opt/homebrew/bin/python{dotted}",
        f"/Library/Frameworks/Python.framework/Versions/{dotted}/bin/python{dotted}",
        os.path.join(glob.escape(places.cache), "python", "*", "bin", f"python{dotted}"),
        os.path.join(glob.escape(places.cache), "python", "*", "python.exe"),
    ):
        yield from ([path] for path in sorted(glob.glob(pattern)))


def find_interpreter(places: Places, wanted: tuple[int, int]) -> Interpreter | None:
    """The first candidate that runs and is of the wanted version."""
    asked: list[list[str]] = []
    for command in list_candidates(places, wanted):
        if command in asked:
            continue
        asked.append(command)
        interpreter = ask_interpreter(command)
        if interpreter and interpreter.version == wanted:
            return interpreter
    return None
