"""The circuit simulator ngspice, which the tests check the calculators against."""

from __future__ import annotations

import os
import shutil
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
    from build_scripts.environment.places import Places
    from build_scripts.environment.progress import Progress

# On Windows the one with a window does not write to the terminal.
NAMES = ("ngspice_con", "ngspice") if os.name == "nt" else ("ngspice",)
WELL_KNOWN = (
    "/usr/bin/ngspice",
    "/usr/local/bin/ngspice",
    "/opt/homebrew/bin/ngspice",
    "C:\\Spice64\\bin\\ngspice_con.exe",
)


def prepare_simulator(places: Places, progress: Progress) -> str:
    """The path of an ngspice that runs.

    Raises SetupError with what to install if none can be had.
    """
    remembered = find_remembered(places, "ngspice")
    if remembered:
        return remembered
    simulator = find_simulator()
    if simulator is None and install_simulator(places, progress):
        simulator = find_simulator()
    if simulator is None:
        raise SetupError(
            "The tests check the calculators against the circuit simulator ngspice, which was not found "
            "and could not be installed here: install it (on Debian: 'sudo apt-get install ngspice') so that "
            "'ngspice' starts it, then start again."
        )
    return remember_program(places, "ngspice", simulator)


def find_simulator() -> str | None:
    """An ngspice that is installed and runs."""
    return find_working([*find_on_path(NAMES), *WELL_KNOWN], does_simulator_run)


def does_simulator_run(simulator: str) -> bool:
    """Whether the program says it is ngspice."""
    return "ngspice" in (ask_program([simulator, "--version"]) or "")


def install_simulator(places: Places, progress: Progress) -> bool:
    """Install ngspice from the system's packages, where that needs no question."""
    brew = shutil.which("brew") if sys.platform == "darwin" else None
    try:
        if brew:
            run_step(places, progress, "Installing the package ngspice", [brew, "install", "ngspice"])
            return True
        return install_debian_package(places, progress, "ngspice")
    except StepError as error:
        progress.say(str(error))
        return False
