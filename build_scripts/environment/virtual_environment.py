"""The prepared Python environment, one for each tier of requirements: `site` and `test`."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from build_scripts.environment.places import complete_folder, is_complete, start_folder

if TYPE_CHECKING:
    from build_scripts.environment.places import Places
    from build_scripts.environment.progress import Progress


def find_environment(places: Places, tier: str) -> str:
    """The folder of a tier's environment, made or not."""
    python_version = os.path.join(places.root, ".python-version")
    return places.find_folder("env-" + tier, places.find_requirements(tier), python_version)


def find_python(environment: str) -> str:
    """The path of an environment's Python."""
    return (
        os.path.join(environment, "Scripts", "python.exe") if os.name == "nt" else environment + "/bin/python"
    )


def is_ready(environment: str) -> bool:
    """Whether the environment was finished and the Python it was made from is still there."""
    return is_complete(environment) and os.path.exists(find_python(environment))


def prepare_environment(places: Places, progress: Progress, tier: str) -> str:
    """The folder of a tier's environment, made if it is not ready.

    Raises SetupError with what to do if a part cannot be had.
    """
    environment = find_environment(places, tier)
    if is_ready(environment):
        return environment
    from build_scripts.environment import installer
    from build_scripts.environment.interpreters import find_interpreter
    from build_scripts.environment.processes import run_step

    wanted = places.find_wanted_python()
    interpreter = find_interpreter(places, wanted)
    uv = installer.prepare_installer(places, progress, interpreter)
    if interpreter is None:
        interpreter = installer.bring_interpreter(places, progress, uv, wanted)
    start_folder(environment)
    run_step(
        places,
        progress,
        f"Making the Python environment ({tier})",
        [uv, "venv", "--quiet", "--no-project", "--python", interpreter.path, environment],
        installer.find_installer_variables(places),
    )
    installer.install_requirements(
        places,
        progress,
        f"Installing the pinned Python packages ({tier})",
        uv,
        places.find_requirements(tier),
        ["--python", find_python(environment)],
    )
    complete_folder(environment)
    return environment
