"""The installer (uv): brought by pip, hash-checked, into an environment of its own; it brings the rest.

Measured on one 2-core machine, the test requirements, nothing kept from before: pip 24 s, uv 2.7 s, bringing
uv itself 1.2 s. It also brings a Python where there is none of the wanted version.
"""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

from build_scripts.environment.failures import SetupError, StepError
from build_scripts.environment.interpreters import Interpreter, ask_interpreter, find_interpreter
from build_scripts.environment.places import complete_folder, is_complete, start_folder
from build_scripts.environment.processes import run_step
from build_scripts.environment.system_packages import install_debian_package, is_debian

if TYPE_CHECKING:
    from build_scripts.environment.places import Places
    from build_scripts.environment.progress import Progress


def find_program_folder(environment: str) -> str:
    """The folder of an environment that holds its programs."""
    return os.path.join(environment, "Scripts" if os.name == "nt" else "bin")


def find_program(environment: str, name: str) -> str:
    """The path of a program in an environment."""
    return os.path.join(find_program_folder(environment), name + (".exe" if os.name == "nt" else ""))


def prepare_installer(places: Places, progress: Progress, wanted: Interpreter | None) -> str:
    """The path of the installer, brought if it is not there yet.

    Raises SetupError if no Python here can make an environment, or if it cannot be fetched.
    """
    pinned = places.find_requirements("uv")
    folder = places.find_folder("uv", pinned)
    uv = find_program(folder, "uv")
    if is_complete(folder) and os.path.exists(uv):
        return uv
    maker = find_environment_maker(places, progress, wanted)
    start_folder(folder)
    run_step(places, progress, "Making a place for the installer", [maker.path, "-I", "-m", "venv", folder])
    run_step(
        places,
        progress,
        "Fetching the installer",
        [
            *(find_program(folder, "python"), "-I", "-m", "pip", "install", "--quiet", "--no-input"),
            *("--disable-pip-version-check", "--no-cache-dir", "--no-deps", "--retries", "2"),
            *("--only-binary", ":all:", "--require-hashes", "-r", pinned),
        ],
    )
    complete_folder(folder)
    return uv


def find_environment_maker(places: Places, progress: Progress, wanted: Interpreter | None) -> Interpreter:
    """A Python here that can make an environment with pip in it.

    Debian keeps the part that does in a package of its own, which is installed if the system lets us.

    Raises SetupError with the command to type if it does not.
    """
    running = ask_interpreter([sys.executable])
    for interpreter in (wanted, running):
        if interpreter and interpreter.has_pip:
            return interpreter
    package = "python{}.{}-venv".format(*sys.version_info[:2])
    if install_debian_package(places, progress, package):
        running = ask_interpreter([sys.executable])
        if running and running.has_pip:
            return running
    advice = (
        f"type 'sudo apt-get install {package}'"
        if is_debian()
        else "install a complete Python 3 (with its modules venv and ensurepip)"
    )
    raise SetupError(f"{sys.executable} cannot make an environment with pip: {advice}, then start again.")


def find_installer_variables(places: Places) -> dict[str, str]:
    """What keeps the installer's own files in this checkout and its hands off everything else."""
    return {
        "UV_CACHE_DIR": os.path.join(places.downloads, "uv"),
        "UV_PYTHON_INSTALL_DIR": os.path.join(places.cache, "python"),
        "UV_NO_PROGRESS": "1",
    }


def bring_interpreter(places: Places, progress: Progress, uv: str, wanted: tuple[int, int]) -> Interpreter:
    """A Python of the wanted version, fetched into the checkout; its hash is built into the installer.

    Raises SetupError if it cannot be had.
    """
    dotted = f"{wanted[0]}.{wanted[1]}"
    command = [uv, "python", "install", dotted, "--no-bin", "--no-config"]
    try:
        run_step(places, progress, f"Fetching Python {dotted}", command, find_installer_variables(places))
    except StepError as error:
        raise SetupError(
            f"No Python {dotted} was found here and none could be fetched: install Python {dotted} "
            f"(from your system's packages or as its makers publish it) so that 'python{dotted}' starts it, "
            f"or connect this machine to a network; then start again. Details: {error.log}"
        ) from error
    interpreter = find_interpreter(places, wanted)
    if interpreter is None:
        raise SetupError(f"Python {dotted} was fetched but does not run on this system: install it yourself.")
    return interpreter


def install_requirements(
    places: Places, progress: Progress, name: str, uv: str, pinned: str, target: list[str]
) -> None:
    """Install one pinned requirement file: wheels only, each checked against its hash, nothing built.

    Raises StepError if something cannot be fetched or is not what was pinned.
    """
    command = [
        *(uv, "pip", "install", "--quiet", "--no-deps", "--no-python-downloads"),
        *("--only-binary", ":all:", "--require-hashes", "-r", pinned, *target),
    ]
    run_step(places, progress, name, command, find_installer_variables(places))
