"""A Firefox for tests and measurements: an installed one first, then the system's package."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

from build_scripts.environment.failures import SetupError, StepError
from build_scripts.environment.processes import ask_program
from build_scripts.environment.programs import (
    find_on_path,
    find_remembered,
    find_working,
    remember_program,
)
from build_scripts.environment.system_packages import install_debian_package

if TYPE_CHECKING:
    from collections.abc import Iterator

    from build_scripts.environment.places import Places
    from build_scripts.environment.progress import Progress

# The one with extended support is what the promises are made for.
NAMES = ("firefox-esr", "firefox")


def prepare_firefox(places: Places, progress: Progress) -> str:
    """The path of a Firefox that runs.

    Raises SetupError with what to install if none can be had.
    """
    remembered = find_remembered(places, "firefox")
    if remembered:
        return remembered
    firefox = find_working(list_candidates(), does_firefox_run)
    if firefox is None and install_firefox(places, progress):
        firefox = find_working(list_candidates(), does_firefox_run)
    if firefox is None:
        raise SetupError(
            "The tests open the handbook in Firefox too, which was not found and could not be installed "
            "here: install it (on Debian: 'sudo apt-get install firefox-esr'), then start again."
        )
    return remember_program(places, "firefox", firefox)


def list_candidates() -> Iterator[str]:
    """Where a Firefox may be on this system, the folders of PATH first."""
    yield from find_on_path(NAMES)
    if sys.platform == "darwin":
        for folder in ("/Applications", os.path.expanduser("~/Applications")):
            for name in ("Firefox ESR", "Firefox"):
                yield f"{folder}/{name}.app/Contents/MacOS/firefox"
    elif os.name == "nt":
        for variable in ("ProgramFiles", "ProgramFiles(x86)", "LocalAppData"):
            folder = os.environ.get(variable)
            if folder:
                yield os.path.join(folder, "Mozilla Firefox ESR", "firefox.exe")
                yield os.path.join(folder, "Mozilla Firefox", "firefox.exe")
    else:
        yield from (f"/usr/bin/{name}" for name in NAMES)
        yield "/usr/lib/firefox/firefox"


def does_firefox_run(firefox: str) -> bool:
    """Whether the program says its version: a name alone may be a stub that tells to install something."""
    if os.name == "nt":
        # There it has no terminal to answer on, and a stub is not known.
        return True
    return "Mozilla Firefox" in (ask_program([firefox, "--version"]) or "")


def install_firefox(places: Places, progress: Progress) -> bool:
    """Install Firefox from the system's packages, where that needs no question."""
    try:
        return install_debian_package(places, progress, "firefox-esr")
    except StepError as error:
        progress.say(str(error))
        return False
