"""A Chromium for the tests: an installed one first, then the way that fits the system."""

from __future__ import annotations

import glob
import os
import sys
from typing import TYPE_CHECKING

from build_scripts.environment.failures import SetupError, StepError
from build_scripts.environment.processes import ask_program, run_step
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

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")


def prepare_browser(places: Places, progress: Progress, python: str) -> str:
    """The path of a Chromium that runs; `python` is the Python of the test environment.

    Raises SetupError with what to install if none can be had.
    """
    remembered = find_remembered(places, "chromium")
    if remembered:
        return remembered
    browser = (
        find_working(list_candidates(), does_browser_run)
        or install_browser(places, progress)
        or fetch_browser(places, progress, python)
    )
    if browser is None:
        raise SetupError(
            "The tests need a browser, and none was found or could be installed here: install Chromium "
            "(on Debian: 'sudo apt-get install chromium'), then start again."
        )
    return remember_program(places, "chromium", browser)


def list_candidates() -> Iterator[str]:
    """Where a Chromium may be on this system, the folders of PATH first."""
    yield from find_on_path(NAMES)
    if sys.platform == "darwin":
        for folder in ("/Applications", os.path.expanduser("~/Applications")):
            for name in ("Chromium", "Google Chrome"):
                yield f"{folder}/{name}.app/Contents/MacOS/{name}"
    elif os.name == "nt":
        for variable in ("ProgramFiles", "ProgramFiles(x86)", "LocalAppData"):
            folder = os.environ.get(variable)
            if folder:
                yield os.path.join(folder, "Chromium", "Application", "chrome.exe")
                yield os.path.join(folder, "Google", "Chrome", "Application", "chrome.exe")
    else:
        yield from (f"/usr/bin/{name}" for name in NAMES)
        yield "/opt/google/chrome/chrome"


def does_browser_run(browser: str) -> bool:
    """Whether the program says its version: a name alone may be a stub that tells to install something."""
    if os.name == "nt":
        # There it opens a window instead of answering, and a stub is not known.
        return True
    return "Chrom" in (ask_program([browser, "--version"]) or "")


def install_browser(places: Places, progress: Progress) -> str | None:
    """Chromium from the system's packages, where that needs no question."""
    try:
        installed = install_debian_package(places, progress, "chromium")
    except StepError as error:
        progress.say(f"{error}\nTrying another way.")
        return None
    return find_working(list_candidates(), does_browser_run) if installed else None


def fetch_browser(places: Places, progress: Progress, python: str) -> str | None:
    """The Chromium that the browser library fetches for itself, kept in the checkout."""
    folder = os.path.join(places.cache, "browsers")
    progress.say(f"No Chromium is installed here; fetching one of our own into {folder}.")
    try:
        run_step(
            places,
            progress,
            "Fetching Chromium",
            [python, "-I", "-m", "playwright", "install", "chromium", "--no-shell"],
            {"PLAYWRIGHT_BROWSERS_PATH": folder},
        )
    except StepError as error:
        progress.say(str(error))
        return None
    inside = os.path.join(glob.escape(folder), "chromium-*")
    fetched = [
        path
        for pattern in (
            os.path.join(inside, "chrome-linux*", "chrome"),
            os.path.join(inside, "chrome-win*", "chrome.exe"),
            os.path.join(inside, "chrome-mac*", "*.app", "Contents", "MacOS", "*"),
        )
        for path in sorted(glob.glob(pattern))
    ]
    return find_working(fetched, does_browser_run)
