"""Another club takes the engine: its own article, colours, part and calculator, and both commands hold."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from tests.calculators.guide import read_example
from tests.conftest import ROOT
from tests.small_handbook import SOURCE

ARTICLE = """\
# The ferry's lamps

``` calculator
mast-contact: The contact below the mast
current = 2 A
```

``` calculator
led-current: The railing
led_type = RGB 15 mA
count = 40
```

[Without a signal](offline.md), [the contact](calculators/mast-contact.md), [all sums](calculators/index.md)
"""
PAGE = """\
# Mast contact

``` calculator
mast-contact: A contact
```
"""
PART = """\
# The club's own LEDs.

[[row]]
name = "RGB 15 mA"
about = "three channels, one data wire, from the club's drawer"
channels = 3
channel_current = 0.015
idle_current = 0.001
bit_rate = 800e3
reset_time = 280e-6
clocked = false
lowest_supply = 4.0
highest_supply = 5.5
high_threshold = 0.7
full_voltage = 4.0
dark_voltage = 3.0
source = "measured at the club's bench"
"""
TEST = '''\
"""Mast contact."""

from calculators import find_calculator


def test_heat_is_volts_times_amperes() -> None:
    # Joule: 2 A through 50 milliohms make 0.2 W.
    result = find_calculator("mast-contact").run({"current": "2 A", "resistance": "50 mohm"})
    assert result.outputs["heat"] == 2 * 2 * 0.05
'''
CHANGED = {
    "primary: indigo": "primary: teal",
    "accent: teal": "accent: pink",
    "Small Handbook": "Ferry Handbook",
}
EXTRA = 'extra:\n  colour: "#003344"\n  short_name: Ferry\n  icon: mark.png\n  pictured: index.md\n'
SHORT_TESTS = (
    "tests/calculators/club",
    "tests/calculators/parts",
    "tests/calculators/test_house.py",
    "tests/calculators/test_rooms.py",
    "tests/calculators/test_terminal.py",
    "tests/build_scripts/test_club.py",
    "tests/build_scripts/test_developers_guide.py",
    "tests/build_scripts/test_extension.py",
    "tests/build_scripts/test_kept_blocks.py",
    "tests/build_scripts/test_saved_release.py",
)
"""Those that read what a club changes; all of them together would take as long again as this whole run."""

# Of the demonstration's articles, and of the names in them.
DEMONSTRATION = re.compile(
    r"saltgate|pangolin|one-channel|shell-joint|light/spine|light/flanks|lantern-plug|twelve-contacts|"
    r"battery-to-converters|first-power|neck-servos|shell-light-feed",
    re.IGNORECASE,
)


@pytest.fixture(scope="module")
def fork(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """This checkout with another club in the demonstration's place, and what is prepared for it."""
    root = tmp_path_factory.mktemp("fork") / "ferry"
    unwanted = shutil.ignore_patterns("__pycache__", "club")
    for name in ("build_scripts", "calculators", "tests"):
        shutil.copytree(ROOT / name, root / name, ignore=unwanted)
    for name in (
        "DEVELOPERS.md",
        "LICENSE",
        "README.md",
        "pyproject.toml",
        ".gitattributes",
        ".python-version",
    ):
        shutil.copyfile(ROOT / name, root / name)
    settings = (SOURCE / "mkdocs.yml").read_text("utf-8")
    settings = re.sub(r"^nav:\n(?: .*\n)+", "nav:\n  - Home: index.md\n", settings, flags=re.MULTILINE)
    for before, after in CHANGED.items():
        assert before in settings
        settings = settings.replace(before, after)
    files = {
        "mkdocs.yml": f"{settings}\n{EXTRA}",
        "docs/index.md": ARTICLE,
        "docs/calculators/mast-contact.md": PAGE,
        "calculators/club/__init__.py": '"""The ferry club\'s own."""\n\nSLUGS = ("mast-contact",)\n',
        "calculators/club/leds.toml": PART,
        "calculators/club/mast_contact/__init__.py": '"""Mast contact."""\n',
        "calculators/club/mast_contact/calculator.py": read_example()
        .replace("contact-heat", "mast-contact")
        .replace("Contact heat", "Mast contact"),
        "tests/calculators/club/mast_contact/test_calculator.py": TEST,
    }
    for name, text in files.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(text, "utf-8")
    Image.new("RGB", (512, 512), "#00aa88").save(root / "docs" / "mark.png")
    (root / ".cache").mkdir()
    for prepared in (ROOT / ".cache").iterdir():
        if prepared.name.startswith(
            ("env-", "npm-", "uv-", "node", "programs", "downloads", "runtime-parts")
        ):
            (root / ".cache" / prepared.name).symlink_to(prepared)
    return root


def run_handbook(root: Path, *arguments: str) -> str:
    """Run the handbook's own command in a checkout; returns what it says."""
    done = subprocess.run(
        [sys.executable, "build_scripts/handbook.py", *arguments],
        cwd=root,
        env={name: value for name, value in os.environ.items() if not name.startswith("PYTHON")},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, done.stdout
    return done.stdout


@pytest.mark.prepared
def test_another_clubs_handbook_is_built(fork: Path) -> None:
    # A build proves its own pages.
    run_handbook(fork, "build")
    site = fork / "site"
    home = (site / "index.html").read_text("utf-8")
    assert 'data-calculator="mast-contact"' in home
    assert 'data-output="heat"' in home
    assert 'content="#003344"' in home
    assert 'data-md-color-primary="teal"' in home
    manifest = json.loads((site / "manifest.json").read_text("utf-8"))
    assert (manifest["short_name"], manifest["theme_color"]) == ("Ferry", "#003344")
    with Image.open(site / "assets" / "icons" / "icon-192.png") as icon:
        assert icon.getpixel((5, 5)) == (0, 0xAA, 0x88)
    listed = (site / "calculators" / "index.html").read_text("utf-8")
    assert '<td><a href="mast-contact/"' in listed
    assert (site / "calculators" / "mast-contact" / "index.html").is_file()
    assert (site / "calculators" / "wire-gauge" / "index.html").is_file()


@pytest.mark.prepared
def test_another_clubs_tests_pass(fork: Path) -> None:
    told = run_handbook(fork, "test", "--", *SHORT_TESTS, "-q", "-n0")
    assert re.search(r"\d+ passed in ", told)


def test_neither_tests_nor_engine_name_the_demonstration() -> None:
    named = [
        f"{path.relative_to(ROOT).as_posix()}: {found[0]}"
        for home in ("build_scripts", "calculators", "tests")
        for path in sorted((ROOT / home).rglob("*"))
        if path.suffix in (".py", ".js", ".mjs", ".html", ".md", ".toml", ".jsonl", ".css", ".yml")
        and path != Path(__file__)
        for found in [DEMONSTRATION.search(path.read_text("utf-8"))]
        if found
    ]
    assert named == []
