"""Where the environment is kept, and how a finished folder is told from a half-made one."""

from __future__ import annotations

import hashlib
import os

COMPLETE = ".complete"


class Places:
    """The folders of one checkout; everything that is made lies under `cache`."""

    def __init__(self, root: str) -> None:
        self.root = root
        self.cache = os.path.join(root, ".cache")
        self.downloads = os.path.join(self.cache, "downloads")
        self.requirements = os.path.join(root, "build_scripts", "environment", "requirements")
        self.runtime = os.path.join(root, "build_scripts", "runtime")
        self.engines = os.path.join(root, "build_scripts", "engines")

    def find_folder(self, name: str, *pinned: str) -> str:
        """The folder `name-<hash>` in the cache; another content of a pinned file is another folder."""
        digest = hashlib.sha256()
        for path in pinned:
            with open(path, "rb") as file:
                # A checkout on Windows may have other line ends and means the same.
                digest.update(file.read().replace(b"\r\n", b"\n"))
            digest.update(b"\0")
        return os.path.join(self.cache, name + "-" + digest.hexdigest()[:12])

    def find_requirements(self, name: str) -> str:
        """The pinned, hash-checked requirement file of that name."""
        return os.path.join(self.requirements, name + ".txt")

    def find_wanted_python(self) -> tuple[int, int]:
        """The Python version of the prepared environment, from `.python-version`."""
        with open(os.path.join(self.root, ".python-version"), encoding="ascii") as file:
            major, minor = file.read().strip().split(".")[:2]
        return int(major), int(minor)


def find_places() -> Places:
    """The checkout this file lies in."""
    here = os.path.dirname(os.path.abspath(__file__))
    return Places(os.path.dirname(os.path.dirname(here)))


def is_complete(folder: str) -> bool:
    """Whether the folder was finished: its marker is written last."""
    return os.path.isfile(os.path.join(folder, COMPLETE))


def start_folder(folder: str) -> None:
    """Remove what an interrupted start left and make the folder's parent."""
    import shutil

    if os.path.isdir(folder):
        shutil.rmtree(folder)
    os.makedirs(os.path.dirname(folder), exist_ok=True)


def complete_folder(folder: str) -> None:
    """Write the marker that makes the folder count."""
    with open(os.path.join(folder, COMPLETE), "w", encoding="ascii") as file:
        file.write("complete\n")
        file.flush()
        # The marker must not reach the disk of a machine that loses power before the rest has.
        os.fsync(file.fileno())
