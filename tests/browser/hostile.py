"""A handbook of a stranger: its calculators hang, fail, and answer whatever a test types into one field."""

import json
from pathlib import Path
from typing import Any

from playwright.sync_api import Locator, Page, expect

from build_scripts.environment.progress import Progress
from build_scripts.site.building import build_site
from tests.conftest import ROOT
from tests.small_handbook import write_handbook

FIELD = "insulation"
"""The field of wire-gauge whose text the hostile calculators obey."""

HANG, FAIL = "hang", "fail"

HOSTILE = f'''

_answer = answer


def answer(question: str) -> str:
    """Do what one field says, or answer as the calculators do."""
    asked = json.loads(question)
    told = asked["fields"].get("{FIELD}", "")
    while told == "{HANG}":
        pass
    if told == "{FAIL}":
        raise RuntimeError("told to fail")
    if not told.startswith("{{"):
        return _answer(question)
    answered = json.loads(_answer(json.dumps(asked | {{"fields": {{}}, "closed": None}})))
    for path, value in json.loads(told).items():
        *way, last = path.split("/")
        place = answered
        for name in way:
            place = place[name]
        if str(value).startswith("+"):
            value = place[last] + value[1:]
        elif str(value).startswith("*"):
            value = '<p class="sl-verdict">' + "x" * (int(value[1:]) - 26) + "</p>"
        place[last] = value
    return json.dumps(answered)
'''
"""Behind calculators/answers.py. An object in JSON changes an answer: "result/verdict" to another text, one
that begins with "+" by what is added to it, with "*" by a verdict of so many signs."""

SETTINGS = """\
site_name: Notes of a stranger
nav:
  - Home: index.md
  - Lead: lead.md
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
    "index.md": "# Home\n\nSee [the lead](lead.md).\n",
    "lead.md": "# A lead\n\n``` calculator\nwire-gauge: The lead\ncurrent = 20 A\nlength = 1.5 m\n```\n",
}

PAGE = "lead/"

# What a reader sees of a block and what others are told of it, at one moment.
READ = """block => {
  const style = (element, pseudo) => getComputedStyle(element, pseudo);
  const result = block.querySelector('.sl-result');
  const [verdict, brief] = ['.sl-verdict', '.sl-brief strong'].map(name => block.querySelector(name));
  return {
    status: block.querySelector('.sl-status').textContent,
    old: block.hasAttribute('data-old'),
    busy: result.getAttribute('aria-busy') === 'true',
    named: [style(result, '::before').content, style(brief, '::after').content],
    struck: [verdict, brief].map(element => style(element).textDecorationLine),
    result: [verdict, block.querySelector('.sl-main')].map(part => part.textContent).join(),
    top: result.getBoundingClientRect().top,
    height: result.getBoundingClientRect().height,
  };
}"""

TYPE = """(block, [name, text]) => {
  const field = block.querySelector(`[data-field="${name}"]`).querySelector('input, select, textarea');
  field.value = text;
  field.dispatchEvent(new InputEvent('input', {bubbles: true}));
  return (READ)(block);
}""".replace("READ", READ)


def build_hostile(root: Path, site: Path, address: str) -> None:
    """Write the handbook into the empty folder `root` and build it for an address."""
    articles = {f"docs/{name}": text for name, text in ARTICLES.items()}
    write_handbook(root, {"mkdocs.yml": SETTINGS, **articles})
    answers = root / "calculators" / "answers.py"
    answers.write_text(answers.read_text("utf-8") + HOSTILE, "utf-8")
    cache = root / "cache"
    cache.mkdir()
    (cache / "runtime-parts").symlink_to(ROOT / ".cache" / "runtime-parts", target_is_directory=True)
    build_site(site, Progress(), address=address, root=root, cache=cache)


def open_lead(page: Page, address: str) -> Locator:
    """Open the page with the calculator; its block, which is live."""
    page.goto(address + PAGE)
    block = page.locator("section.sl-block")
    expect(block).to_have_attribute("data-live", "yes", timeout=60_000)
    return block


def type_text(block: Locator, name: str, text: str) -> dict[str, Any]:
    """Put a text into a field as a keystroke would; what the block shows in that very moment."""
    return dict(block.evaluate(TYPE, [name, text]))


def read(block: Locator) -> dict[str, Any]:
    """Return what the block shows now."""
    return dict(block.evaluate(READ))


def tell(**changes: object) -> str:
    """Return the text that makes the calculators change an answer; "__" in a name stands for "/"."""
    return json.dumps({name.replace("__", "/"): value for name, value in changes.items()})
