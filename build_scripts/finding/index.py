"""The index that readers' browsers search, and the script that searches it; Node makes the index with it."""

import json
import os
import re
from collections.abc import Mapping
from functools import cache
from hashlib import sha256
from pathlib import Path
from tempfile import TemporaryDirectory

from build_scripts.errors import BuildError
from build_scripts.lines import settle_line_ends
from build_scripts.runtime.errors import RuntimeBuildError
from build_scripts.runtime.node import NodeStep, run_node

INDEX, CONTENTS = "search/index.json", "search/contents.json"
"""Where the index is published, and the list of all pages, below the site …"""
CARRIED_INDEX, CARRIED_CONTENTS = "search/index.js", "search/contents.js"
"""… and, as scripts, where there is no host to fetch them from."""

LIMIT = 120.0
"""In seconds: the index of a thousand articles takes two."""

_SEARCHING = Path(__file__).parent.parent / "browser" / "find_engine.js"
_LIBRARY = "minisearch"
_NPM_LOCK = Path(__file__).parent.parent / "runtime" / "package-lock.json"
_LINE_COMMENT = re.compile(r"^[ \t]*//.*\n", re.MULTILINE)
_BLOCK_COMMENT = re.compile(r"^[ \t]*/\*\*.*?\*/\n", re.DOTALL | re.MULTILINE)
_STEP = NodeStep(
    str(Path(__file__).with_name("make_index.mjs")),
    "make the index of the search",
    "build again; if it happens again, an article is very long",
)


@cache
def name_engine() -> str:
    """Return where the script that searches is published: named by what it is made of."""
    library = json.loads(_NPM_LOCK.read_text("utf-8"))["packages"][f"node_modules/{_LIBRARY}"]["integrity"]
    own = settle_line_ends(_SEARCHING.read_bytes())
    return f"assets/find_engine.{sha256(library.encode() + own).hexdigest()[:12]}.js"


def write_search(site: Path, found: Mapping[str, object], contents: object, *, carried: bool = False) -> None:
    """Write the index of what can be `found`, the script that searches it, and all pages into `site`.

    `carried` is for pages that no host serves: what would be fetched is a script there.

    Raises BuildError when Node cannot make the index.
    """
    engine = read_engine()
    (site / name_engine()).write_text(engine, "utf-8", newline="\n")
    (site / INDEX).parent.mkdir(exist_ok=True)
    listed = json.dumps(contents, ensure_ascii=False, separators=(",", ":"))
    for place, script, name, text in (
        (INDEX, CARRIED_INDEX, "handbookIndex", make_index(engine, found)),
        (CONTENTS, CARRIED_CONTENTS, "handbookContents", listed),
    ):
        if carried:
            (site / script).write_text(f"self.{name} = {text};\n", "utf-8", newline="\n")
        else:
            (site / place).write_text(text, "utf-8", newline="\n")


def read_engine() -> str:
    """Return the script that searches, without the comments: the library, and ours behind it."""
    library = Path(os.environ["HANDBOOK_NODE_MODULES"]) / _LIBRARY / "dist/umd/index.js"
    texts = [path.read_text("utf-8") for path in (library, _SEARCHING)]
    return "".join(_LINE_COMMENT.sub("", _BLOCK_COMMENT.sub("", text)) for text in texts)


def make_index(engine: str, found: Mapping[str, object]) -> str:
    """Return the index as JSON.

    Raises BuildError when Node cannot make it.
    """
    with TemporaryDirectory() as scratch:
        try:
            options = {"engine": engine, "found": found}
            return run_node(Path(os.environ["HANDBOOK_NODE"]), _STEP, options, Path(scratch), LIMIT).decode()
        except RuntimeBuildError as error:
            raise BuildError(str(error)) from None
