"""The components that are published, as components.toml lists them, with their versions and licences."""

import json
import os
import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, cached_property
from glob import translate
from importlib.metadata import distribution, version
from pathlib import Path

HERE = Path(__file__).parent
TEXTS = HERE / "texts"
NPM_LOCK = HERE.parent / "runtime" / "package-lock.json"

type Sources = tuple[str, ...]
"""Where texts of licences are, as components.toml names them."""


@dataclass(frozen=True)
class Component:
    """One component, as it is published; its fields are those of components.toml."""

    name: str
    licence: str
    """As SPDX writes it."""
    purl: str
    """Its package URL, without a version."""
    purpose: str
    texts: Sources
    version: str = ""
    """Empty where nothing says it."""
    files: tuple[str, ...] = ()
    inside: tuple[str, ...] = ()
    seen: tuple[str, ...] = ()
    package: str = ""
    sha256: str = ""

    @property
    def title(self) -> str:
        """Name and version."""
        return f"{self.name} {self.version}".strip()

    def find_files(self, names: Iterable[str]) -> list[str]:
        """Return those of the published files that hold it."""
        return [name for name in names if self._holding.fullmatch(name)]

    @cached_property
    def _holding(self) -> re.Pattern[str]:
        return compile_patterns(self.files + self.inside)


@dataclass(frozen=True)
class Materials:
    """All that is published besides the articles."""

    components: tuple[Component, ...]
    made: tuple[str, ...]
    """Patterns of the files that a build makes of the articles and the settings."""


def compile_patterns(patterns: Iterable[str]) -> re.Pattern[str]:
    """Return what matches the names that one of the patterns matches; “**” stands for any folders."""
    return re.compile("|".join(translate(pattern, recursive=True) for pattern in patterns))


@cache
def read_materials() -> Materials:
    """Read components.toml, with the versions of what is installed."""
    listed = tomllib.loads((HERE / "components.toml").read_text("utf-8"))
    npm = json.loads(NPM_LOCK.read_text("utf-8"))["packages"]
    return Materials(tuple(_read_component(row, npm) for row in listed["component"]), tuple(listed["made"]))


def _read_component(row: dict[str, object], npm: dict[str, dict[str, str]]) -> Component:
    fields = {name: tuple(value) if isinstance(value, list) else value for name, value in row.items()}
    fields["purpose"] = fields.pop("for")
    origin, _, package = str(fields.get("version", "")).rpartition(":")
    if origin == "npm":
        fields["version"] = npm[f"node_modules/{package}"]["version"]
    elif origin == "python":
        fields["version"] = version(package)
    return Component(**fields)  # type: ignore[arg-type]


def read_text(source: str) -> str:
    """Read the text of a licence from where components.toml says that it is."""
    if source.startswith("npm:"):
        _, package, name = source.split(":")
        return (Path(os.environ["HANDBOOK_NODE_MODULES"]) / package / name).read_text("utf-8")
    if source.startswith("python:"):
        _, package, name = source.split(":")
        installed = distribution(package)
        beside = installed.read_text(f"licenses/{name}")
        return beside or Path(str(installed.locate_file(name))).read_text("utf-8")
    return (TEXTS / source).read_text("utf-8")
