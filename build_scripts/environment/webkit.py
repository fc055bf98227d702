"""WebKit, the engine of every browser on an iPhone, for tests and measurements.

On Linux it is WebKitGTK of the system, driven from the system's Python on a screen that nobody sees (Xvfb);
elsewhere it is the WebKit that Playwright builds and fetches.
"""

from __future__ import annotations

import glob
import os
import platform
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
    from build_scripts.environment.places import Places
    from build_scripts.environment.progress import Progress

PACKAGES = ("python3-gi", "gir1.2-gtk-3.0", "gir1.2-webkit2-4.1", "xvfb")
# The system's own comes first: the one that runs this, or one on PATH, may be another without the interface.
WELL_KNOWN = ("/usr/bin/python3",)
# 2.40 is the first that runs asynchronous functions in a page.
QUESTION = """
import sys, gi
gi.require_version("Gtk", "3.0")
gi.require_version("WebKit2", "4.1")
from gi.repository import Gtk, WebKit2
serves = sys.version_info >= (3, 9) and hasattr(WebKit2.WebView, "call_async_javascript_function")
print("serves" if serves else "is too old")
"""


def prepare_webkit(places: Places, progress: Progress, python: str) -> dict[str, str]:
    """The variables that name a WebKit that runs; `python` is the Python of the test environment.

    Raises SetupError with what to install if none can be had.
    """
    if platform.system() == "Linux":
        return prepare_webkitgtk(places, progress)
    return {"HANDBOOK_WEBKIT": find_remembered(places, "webkit") or fetch_webkit(places, progress, python)}


def prepare_webkitgtk(places: Places, progress: Progress) -> dict[str, str]:
    """The system's Python that can show WebKitGTK, and the screen to show it on.

    Raises SetupError with what to install if one is missing and cannot be had.
    """
    roles = {"HANDBOOK_WEBKITGTK_PYTHON": "webkitgtk-python", "HANDBOOK_XVFB": "xvfb"}
    remembered = {variable: find_remembered(places, role) or "" for variable, role in roles.items()}
    if all(remembered.values()):
        return remembered
    found = find_webkitgtk()
    if not all(found.values()) and install_webkitgtk(places, progress):
        found = find_webkitgtk()
    if not all(found.values()):
        raise SetupError(
            "The tests open the handbook in WebKitGTK too, which was not found with all it needs and "
            "could not be installed here: install WebKitGTK 2.40 or later with its GTK 3 interface for "
            f"Python, and Xvfb (on Debian: 'sudo apt-get install {' '.join(PACKAGES)}'), then start again."
        )
    return {variable: remember_program(places, roles[variable], path) for variable, path in found.items()}


def find_webkitgtk() -> dict[str, str]:
    """What is installed of WebKitGTK, by the variable that names it; an empty text for what is not."""
    pythons = [*WELL_KNOWN, *find_on_path(["python3"])]
    return {
        "HANDBOOK_WEBKITGTK_PYTHON": find_working(pythons, does_webkitgtk_run) or "",
        "HANDBOOK_XVFB": next(iter(find_on_path(["Xvfb"])), ""),
    }


def does_webkitgtk_run(python: str) -> bool:
    """Whether this Python can load a WebKitGTK that serves."""
    return ask_program([python, "-I", "-c", QUESTION]) == "serves"


def install_webkitgtk(places: Places, progress: Progress) -> bool:
    """Install WebKitGTK from the system's packages, where that needs no question."""
    try:
        return install_debian_package(places, progress, *PACKAGES)
    except StepError as error:
        progress.say(str(error))
        return False


def fetch_webkit(places: Places, progress: Progress, python: str) -> str:
    """The path of the WebKit that the browser library fetches for itself, kept in the checkout.

    Raises SetupError if it cannot be fetched.
    """
    folder = os.path.join(places.cache, "browsers")
    command = [python, "-I", "-m", "playwright", "install", "webkit"]
    try:
        run_step(places, progress, "Fetching WebKit", command, {"PLAYWRIGHT_BROWSERS_PATH": folder})
    except StepError as error:
        progress.say(str(error))
    inside = os.path.join(glob.escape(folder), "webkit-*")
    fetched = [
        path
        for name in ("pw_run.sh", "Playwright.exe")
        for path in sorted(glob.glob(os.path.join(inside, name)))
    ]
    if not fetched:
        raise SetupError(
            "The tests open the handbook in WebKit too, which could not be fetched here: connect this "
            "machine to a network, then start again."
        )
    return remember_program(places, "webkit", fetched[-1])
