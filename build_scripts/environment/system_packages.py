"""System packages, installed only where that needs no question: on Debian as root or by sudo."""

from __future__ import annotations

import os
import shutil
from typing import TYPE_CHECKING

from build_scripts.environment.processes import ask_program, run_step

if TYPE_CHECKING:
    from build_scripts.environment.places import Places
    from build_scripts.environment.progress import Progress


def is_debian() -> bool:
    """Whether this is Debian or a system made from it."""
    return os.path.isfile("/etc/debian_version") and shutil.which("apt-get") is not None


def find_root_prefix() -> list[str] | None:
    """What to put before a command to run it as root, or None where that would need a password."""
    if not hasattr(os, "geteuid"):
        return None
    if os.geteuid() == 0:
        return []
    sudo = shutil.which("sudo")
    if sudo and ask_program([sudo, "-n", "true"]) is not None:
        return [sudo, "-n"]
    return None


def install_debian_package(places: Places, progress: Progress, *packages: str) -> bool:
    """Install packages if this system lets us; False where it does not.

    Raises StepError if the package manager itself fails.
    """
    if not is_debian():
        return False
    prefix = find_root_prefix()
    if prefix is None:
        return False
    # sudo drops the variables it was given, so the setting travels on the command line.
    quiet = [*prefix, "env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-q"]
    run_step(places, progress, "Reading the list of system packages", [*quiet, "update"])
    run_step(
        places,
        progress,
        f"Installing the system package{'s' if len(packages) > 1 else ''} {', '.join(packages)}",
        [*quiet, "install", "-y", "--no-install-recommends", *packages],
    )
    return True
