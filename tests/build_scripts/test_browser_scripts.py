"""What the browser's scripts do with text: one place puts a fragment into the page, the rest stays text."""

import re
from pathlib import Path

import pytest

from tests.conftest import ROOT

SCRIPTS = sorted((ROOT / "build_scripts" / "browser").glob("*.js"))

# The ways of the HTML and DOM standards to turn text into elements or into code.
WAYS = re.compile(
    r"[^;\n]*\b(?:innerHTML|outerHTML|insertAdjacentHTML|setHTMLUnsafe|parseHTMLUnsafe|DOMParser|"
    r"createContextualFragment|document\.write(?:ln)?|srcdoc|eval\(|new Function|"
    r"setAttribute\(\"on\w+)[^;\n]*"
)

ALLOWED = {
    # What of it comes into the page is looked through, element by element.
    "live.js": ['const { head, body } = new DOMParser().parseFromString(text, "text/html")'],
    # What it makes of the theme's texts, which it gives back as text.
    "guard.js": [
        'const { body } = new DOMParser().parseFromString(text, "text/html")',
        "return body.innerHTML",
    ],
}


def find_ways(text: str) -> list[str]:
    code = re.sub(r"(?m)^\s*//.*$", "", text)
    return [found.strip() for found in WAYS.findall(code)]


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.name)
def test_only_the_calculators_fragment_becomes_html(path: Path) -> None:
    assert find_ways(path.read_text("utf-8")) == ALLOWED.get(path.name, [])


@pytest.mark.parametrize(
    "line",
    [
        "note.innerHTML = words",
        "body.insertAdjacentHTML('beforeend', words)",
        "document.write(words)",
        "new DOMParser()",
        'one.setAttribute("onclick", words)',
    ],
)
def test_the_check_sees_each_way(line: str) -> None:
    assert find_ways(f"const a = 1;\n{line};\n") == [line]


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.name)
def test_no_script_names_another_host(path: Path) -> None:
    assert re.findall(r"https?://|wss?://", path.read_text("utf-8")) == []
