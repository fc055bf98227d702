"""What hosts are to say beside each file: one table, and the same in every form that a host reads."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from build_scripts.offline.saved_release import APACHE, COMMON, HEADER_FILES, NGINX, TYPES
from build_scripts.release.host_headers import find_headers, write_header_files

RUNTIME = "runtime/0123456789abcdef"
NAMES = (
    "index.html",
    "a/b/index.html",
    "service_worker.js",
    "a/notes.toml",
    f"{RUNTIME}/worker.js",
    f"{RUNTIME}/files.js",
    f"{RUNTIME}/pyodide.asm.wasm",
    "assets/live.0123456789ab.js",
    "assets/stylesheets/main.01234567.min.css",
    "a/files.js",
    "runtime/worker.js",
)
SET = re.compile(r'(?:Header always set |set \$handbook_)([\w-]+) "([^"]*)"')
CONDITION = re.compile(r'(?:<If "%\{REQUEST_URI\} =~ m#|if \(\$uri ~ ")(.*?)(?:#">|"\) \{)')


@pytest.fixture
def site(tmp_path: Path) -> Path:
    for name in NAMES:
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("", "utf-8")
    write_header_files(tmp_path)
    return tmp_path


def read_common(text: str, name: str) -> dict[str, list[str]]:
    """The headers that a host of that form sends beside a file, each with all its values."""
    found: dict[str, list[str]] = {}
    rule = ""
    for line in text.splitlines():
        if line.startswith("/"):
            rule = line
        elif line.startswith("  ") and rule in ("/*", f"/{name}"):
            header, value = line.strip().split(": ", 1)
            found.setdefault(header, []).append(value)
    return found


def read_conditions(text: str, address: str) -> dict[str, str]:
    """The headers that the directives for Apache or nginx set for an address: the last one holds."""
    found: dict[str, str] = {}
    holds = True
    for line in text.splitlines():
        if condition := CONDITION.match(line):
            holds = re.search(condition[1], address) is not None
        elif line in ("</If>", "}"):
            holds = True
        elif (said := SET.match(line)) and holds:
            found[said[1].lower().replace("_", "-")] = said[2]
    return found


@pytest.mark.parametrize("name", NAMES)
def test_every_form_says_what_the_table_says(site: Path, name: str) -> None:
    expected = find_headers(name)
    small = {header.lower(): value for header, value in expected.items()}
    for file in (APACHE, NGINX):
        text = (site / file).read_text("utf-8")
        for folder in ("/", "/handbook/"):
            assert read_conditions(text, folder + name) == small, file
        kinds = re.findall(r'(?:AddType )?"([^"]*)" \.?(\w+);?', text)
        assert {f".{ending}": kind for kind, ending in kinds if f".{ending}" in TYPES} == TYPES
    common = read_common((site / COMMON).read_text("utf-8"), name)
    for header, value in expected.items():
        # What these hosts say by themselves.
        assert value in common.get(header, ["no-cache"]), header
    # Where rules are joined, two policies hold together; of anything else there is one value.
    assert all(len(values) == 1 for header, values in common.items() if "Policy" not in header)
    assert common.get("Content-Type", [TYPES[Path(name).suffix]]) == [TYPES[Path(name).suffix]]


def test_only_the_runtimes_workers_have_a_policy_of_their_own() -> None:
    everywhere = "frame-ancestors 'self'"
    policies = {name: find_headers(name)["Content-Security-Policy"] for name in NAMES}
    own = {name for name, policy in policies.items() if policy != everywhere}
    assert own == {f"{RUNTIME}/worker.js", f"{RUNTIME}/files.js"}
    for name in own:
        assert policies[name].startswith("default-src 'none'; script-src ")
        assert "unsafe-inline" not in policies[name]
    assert "connect-src" not in policies[f"{RUNTIME}/worker.js"]


def test_what_changes_with_its_content_alone_is_kept() -> None:
    kept = {name for name in NAMES if "immutable" in find_headers(name)["Cache-Control"]}
    assert kept == {name for name in NAMES if name.startswith((RUNTIME, "assets/"))}


def test_every_file_is_of_the_type_that_it_says() -> None:
    for name in NAMES:
        assert find_headers(name)["X-Content-Type-Options"] == "nosniff"
        assert find_headers(name)["Referrer-Policy"] == "no-referrer"


def test_the_files_are_as_many_as_there_are_forms(site: Path) -> None:
    made = {path.relative_to(site).as_posix() for path in site.rglob("*") if path.is_file()} - set(NAMES)
    assert made == set(HEADER_FILES)
