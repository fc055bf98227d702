"""Lists beside a calculator's tests: builds that are sound, builds that are not, and what no figure mends.

`sound_builds.toml` and `unsafe_builds.toml` hold `[[build]]` tables of `why` (the reason why a careful
practitioner would build it, or would not) and `fields` (texts by name; the rest is at its default).
`unmended.toml` names the codes of stops and cautions that no other figure mends, and why.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

HERE = Path(__file__).parent


@dataclass(frozen=True)
class Build:
    """One build of a list."""

    why: str
    fields: Mapping[str, str]


@cache
def list_builds(slug: str, kind: str) -> tuple[Build, ...]:
    """Return the builds of a kind, “sound” or “unsafe”; none where the calculator has no such list."""
    path = HERE / slug.replace("-", "_") / f"{kind}_builds.toml"
    listed = tomllib.loads(path.read_text(encoding="utf-8"))["build"] if path.exists() else []
    return tuple(Build(**one) for one in listed)


@cache
def list_unmended(slug: str) -> Mapping[str, str]:
    """Return the reasons by code; none where the calculator has no such list."""
    path = HERE / slug.replace("-", "_") / "unmended.toml"
    return tomllib.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
