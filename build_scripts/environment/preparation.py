"""Everything a command runs on, prepared in order: Python, its packages, browsers, simulator, Node."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, NamedTuple

from build_scripts.environment.browser import prepare_browser
from build_scripts.environment.circuit_simulator import prepare_simulator
from build_scripts.environment.firefox import prepare_firefox
from build_scripts.environment.lock import hold_lock
from build_scripts.environment.node import prepare_node, prepare_npm_packages
from build_scripts.environment.virtual_environment import find_python, prepare_environment
from build_scripts.environment.webkit import prepare_webkit

if TYPE_CHECKING:
    from build_scripts.environment.places import Places
    from build_scripts.environment.progress import Progress


class Needs(NamedTuple):
    """What one command runs on."""

    tier: str
    node: bool = False
    browser: bool = False
    simulator: bool = False
    engines: bool = False
    """Firefox and WebKit as well; what drives them asks for `node`."""


class Prepared(NamedTuple):
    """The prepared environment: its Python, and what the programs run by it are told."""

    python: str
    variables: dict[str, str]


def prepare(places: Places, progress: Progress, needs: Needs) -> Prepared:
    """Prepare what is not there yet; where all is there, nothing is run.

    Raises SetupError with one sentence that says what to do if something cannot be had.
    """
    with hold_lock(os.path.join(places.cache, "lock"), progress):
        environment = prepare_environment(places, progress, needs.tier)
        python = find_python(environment)
        variables = {}
        if needs.browser:
            variables["HANDBOOK_CHROMIUM"] = prepare_browser(places, progress, python)
        if needs.engines:
            variables["HANDBOOK_FIREFOX"] = prepare_firefox(places, progress)
            variables.update(prepare_webkit(places, progress, python))
        if needs.simulator:
            variables["HANDBOOK_NGSPICE"] = prepare_simulator(places, progress)
        if needs.node:
            node = prepare_node(places, progress, environment)
            variables["HANDBOOK_NODE"] = node
            modules = prepare_npm_packages(places, progress, environment, node, places.runtime)
            variables["HANDBOOK_NODE_MODULES"] = modules
            if needs.engines:
                modules = prepare_npm_packages(places, progress, environment, node, places.engines)
                variables["HANDBOOK_ENGINE_MODULES"] = modules
    return Prepared(python, variables)
