"""Small checkouts for the tests of the environment: real processes, wheels made here, no network."""

from __future__ import annotations

import base64
import hashlib
import os
import shutil
import stat
import sys
import textwrap
import zipfile
from pathlib import Path

from build_scripts.environment.installer import prepare_installer
from build_scripts.environment.node import find_brought_folder
from build_scripts.environment.places import Places, find_places, is_complete
from build_scripts.environment.progress import Progress


def write_program(folder: Path, name: str, code: str) -> Path:
    """A program of that name that runs the code with the Python of the tests."""
    folder.mkdir(parents=True, exist_ok=True)
    code = textwrap.dedent(code)
    if os.name == "nt":
        (folder / f"{name}.py").write_text(code, encoding="utf-8")
        program = folder / f"{name}.cmd"
        program.write_text(f'@"{sys.executable}" "%~dpn0.py" %*\n', encoding="utf-8")
        return program
    program = folder / name
    program.write_text(f"#!{sys.executable}\n{code}", encoding="utf-8")
    program.chmod(program.stat().st_mode | stat.S_IXUSR)
    return program


def write_wheel(folder: Path, name: str, version: str = "1.0") -> str:
    """A wheel that holds one module with a `__version__`; returns its SHA-256."""
    folder.mkdir(parents=True, exist_ok=True)
    info = f"{name}-{version}.dist-info"
    files = {
        f"{name}.py": f'__version__ = "{version}"\n',
        f"{info}/METADATA": f"Metadata-Version: 2.1\nName: {name}\nVersion: {version}\n",
        f"{info}/WHEEL": "Wheel-Version: 1.0\nGenerator: tests\nRoot-Is-Purelib: true\nTag: py3-none-any\n",
    }
    record = ""
    for path, text in files.items():
        digest = base64.urlsafe_b64encode(hashlib.sha256(text.encode()).digest()).rstrip(b"=").decode()
        record += f"{path},sha256={digest},{len(text)}\n"
    files[f"{info}/RECORD"] = f"{record}{info}/RECORD,,\n"
    wheel = folder / f"{name}-{version}-py3-none-any.whl"
    with zipfile.ZipFile(wheel, "w") as archive:
        for path, text in files.items():
            archive.writestr(path, text)
    return hashlib.sha256(wheel.read_bytes()).hexdigest()


def make_checkout(folder: Path) -> Places:
    """A checkout with this project's environment scripts whose tiers ask for one small wheel.

    The installer is the one this project has prepared for itself; its wheels lie in `wheels`.
    """
    real = find_places()
    places = Places(str(folder))
    scripts = folder / "build_scripts"
    shutil.copytree(
        Path(real.root, "build_scripts", "environment"),
        scripts / "environment",
        ignore=shutil.ignore_patterns("__pycache__"),
    )
    for name in ("__init__.py", "handbook.py"):
        shutil.copy(Path(real.root, "build_scripts", name), scripts)
    shutil.copy(Path(real.root, ".python-version"), folder)
    digest = write_wheel(folder / "wheels", "figure")
    for tier in ("site", "test"):
        write_requirement(places, tier, f"figure==1.0 --hash=sha256:{digest}")
    Path(places.cache).mkdir()
    prepare_installer(real, Progress(), None)
    for prepared in (real.find_folder("uv", real.find_requirements("uv")), find_brought_folder(real)):
        if is_complete(prepared):
            os.symlink(prepared, Path(places.cache, os.path.basename(prepared)), target_is_directory=True)
    return places


def write_requirement(places: Places, name: str, line: str) -> None:
    """Make that one line the whole requirement file."""
    Path(places.find_requirements(name)).write_text(line + "\n", encoding="utf-8")


def find_local_variables(places: Places) -> dict[str, str]:
    """What makes pip and the installer take wheels from the checkout's own folder and from nowhere else."""
    wheels = str(Path(places.root, "wheels"))
    return {
        "UV_NO_INDEX": "1",
        "UV_FIND_LINKS": wheels,
        "PIP_NO_INDEX": "1",
        "PIP_FIND_LINKS": wheels,
        "PIP_CONFIG_FILE": os.devnull,
    }
