"""A handbook with a calculator that has rows (tests/calculators/rows_sample.py), and one that has none."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

from playwright.sync_api import Locator, Page, expect

from tests.conftest import ROOT

SETTINGS = """\
site_name: Lamps
nav:
  - Home: index.md
  - Lead: lead.md
  - Lamps: lamps.md
theme:
  name: material
  custom_dir: build_scripts/theme
  font: false
  features:
    - navigation.instant
plugins:
  - search
markdown_extensions:
  - build_scripts.authoring.extension
"""

ARTICLES = {
    "index.md": "# Home\n\nSee [the lead](lead.md) and [the lamps](lamps.md).\n",
    "lead.md": "# A lead\n\n``` calculator\nwire-gauge: The lead\ncurrent = 20 A\n```\n\n"
    "See [lamps](lamps.md).\n",
    "lamps.md": "# Lamps\n\n``` calculator\nsample-lamps: On deck\nlamps =\n    # fore and aft\n"
    "    Bow, 0.5 A\n    Stern, 1 A, 2, cold, 3 m\n```\n",
}
TEXT = "Bow, 0.5 A\nStern, 1 A, 2, cold, 3 m"
"""The article's own rows."""

# In a process of its own, whose calculators are those of this handbook.
_BUILD = """
import sys
from pathlib import Path
root, site, packed, address = sys.argv[1:5]
sys.path[:0] = [root, sys.argv[5]]
from build_scripts.environment.progress import Progress
from build_scripts.portable.edition import PORTABLE
from build_scripts.site.building import build_site
if __name__ == "__main__":
    cache = Path(root) / "cache"
    build_site(Path(site), Progress(), address=address, root=Path(root), cache=cache)
    build_site(Path(packed), Progress(), edition=PORTABLE, root=Path(root), cache=cache)
"""


def build_lamps(root: Path, site: Path, packed: Path, address: str) -> None:
    """Write the handbook into the empty folder `root`; build it for an address, and into `packed`."""
    unwanted = shutil.ignore_patterns("__pycache__")
    shutil.copytree(ROOT / "calculators", root / "calculators", ignore=unwanted)
    shutil.copytree(ROOT / "build_scripts" / "theme", root / "build_scripts" / "theme")
    for name in ("pyproject.toml", "LICENSE"):
        shutil.copyfile(ROOT / name, root / name)
    registry = root / "calculators" / "__init__.py"
    listed = re.sub(
        r"(?m)^SLUGS = .*$", 'SLUGS = ("wire-gauge", "sample-lamps")', registry.read_text("utf-8")
    )
    registry.write_text(listed, "utf-8")
    sample = root / "calculators" / "sample_lamps"
    sample.mkdir()
    (sample / "__init__.py").write_text('"""Lamps."""\n', "utf-8")
    code = (ROOT / "tests" / "calculators" / "rows_sample.py").read_text("utf-8")
    (sample / "calculator.py").write_text(f"{code}\nCALCULATOR = ROWS_SAMPLE\n", "utf-8")
    (root / "docs").mkdir()
    for name, text in ARTICLES.items():
        (root / "docs" / name).write_text(text, "utf-8")
    (root / "mkdocs.yml").write_text(SETTINGS, "utf-8")
    cache = root / "cache"
    cache.mkdir()
    (cache / "runtime-parts").symlink_to(ROOT / ".cache" / "runtime-parts", target_is_directory=True)
    program = root / "build_lamps.py"
    program.write_text(_BUILD, "utf-8")
    subprocess.run(
        [sys.executable, str(program), str(root), str(site), str(packed), address, str(ROOT)],
        cwd=root,
        check=True,
    )


def open_lamps(page: Page, address: str) -> Locator:
    """Open this address of the page with rows; its block, which has been answered and has its table."""
    page.goto(address)
    block = page.locator("section.sl-block")
    expect(block.locator(".sl-status")).to_have_text(re.compile("^(Live[.:]|Not computed)"), timeout=60_000)
    expect(block.locator(".sl-table-acts")).to_be_visible()
    return block


def find_cell(block: Locator, row: int, column: str) -> Locator:
    """Return a field of the table: the first row is 1."""
    return block.locator(f'.sl-cells tbody:not([hidden]) tr:nth-child({row}) [data-column="{column}"]')


def read_cells(block: Locator) -> list[list[str]]:
    """Return what the fields of the table say, row by row."""
    rows = block.locator(".sl-cells tbody:not([hidden]) tr")
    read = "row => [...row.querySelectorAll('[data-column]')].map(control => control.value)"
    return [list(row) for row in rows.evaluate_all(f"rows => rows.map({read})")]
