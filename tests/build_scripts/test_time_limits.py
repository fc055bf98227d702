"""A calculator that never comes to an end ends the build, with a sentence that says which one and where."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import psutil
import pytest

from build_scripts.authoring.computing import describe_end
from build_scripts.authoring.fence import Embedding
from build_scripts.environment.progress import Progress
from build_scripts.runtime.errors import RuntimeBuildError
from build_scripts.runtime.interpreter import trim_interpreter
from build_scripts.runtime.release import Release, is_whole, make_runtime
from tests.conftest import ROOT, take_interpreter

pytestmark = pytest.mark.prepared

CALCULATOR = '''\
"""Doubling: small figures only."""

from calculators.forms.calculator import Calculator, Output
from calculators.forms.fields import QuantityInput
from calculators.notation.showing import say
from calculators.results.result import Result, Source


def compute(*, current: float) -> Result:
    """Return twice the current; never for more than 3 A."""
    while current > 3:
        pass
    return Result({"twice": 2 * current}, say("Take twice as much."))


CALCULATOR = Calculator(
    slug="doubling",
    title="Doubling",
    summary="Twice a current.",
    inputs=(
        QuantityInput(
            name="current", label="Current", kind="current", unit="A", default="1 A", lowest=0, highest=9
        ),
    ),
    outputs=(Output(name="twice", label="Twice", kind="current", main=True),),
    compute=compute,
    example={"current": "2 A"},
    sources=(Source("Doubling", "any textbook"),),
    limits=("Small figures.",),
    cautions=("None.",),
)
'''

COMPUTE = """
import sys
from pathlib import Path
from build_scripts.errors import BuildError
from build_scripts.authoring.computing import compute_beside

with compute_beside(Path(sys.argv[1]), {}, float(sys.argv[2])) as computed:
    try:
        problems, blocks = computed()
    except BuildError as error:
        sys.exit(str(error))
assert not problems, problems
print(*(embedding.fields for embedding in blocks))
"""


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    """The handbook's code with one calculator more, and an article that embeds it twice."""
    root = tmp_path / "checkout"
    # Without the engine's pages, which have blocks of their own.
    for name in ("build_scripts", "calculators"):
        shutil.copytree(ROOT / name, root / name, ignore=shutil.ignore_patterns("__pycache__", "pages"))
    listed = root / "calculators" / "__init__.py"
    listed.write_text(listed.read_text("utf-8").replace("SLUGS = (", 'SLUGS = ("doubling", '), "utf-8")
    package = root / "calculators" / "doubling"
    package.mkdir()
    (package / "__init__.py").touch()
    (package / "calculator.py").write_text(CALCULATOR, "utf-8")
    (root / "docs").mkdir()
    return root


def compute(checkout: Path, second: str, limit: float) -> subprocess.CompletedProcess[str]:
    fences = "\n".join(
        f"``` calculator\ndoubling: With {current}\ncurrent = {current}\n```\n" for current in ("1 A", second)
    )
    (checkout / "docs" / "twice.md").write_text(f"# Twice\n\n{fences}", "utf-8")
    return subprocess.run(
        [sys.executable, "-P", "-c", COMPUTE, str(checkout), str(limit)],
        env={**os.environ, "PYTHONPATH": str(checkout)},
        cwd=checkout,
        capture_output=True,
        text=True,
        check=False,
    )


def test_a_block_that_never_ends_is_named_with_article_line_and_code(checkout: Path) -> None:
    done = compute(checkout, "4 A", 2)
    line = CALCULATOR.split("\n").index("    while current > 3:") + 1
    places = [f"calculators/doubling/calculator.py, line {number}" for number in (line, line + 1)]
    assert done.stderr in [
        f"docs/twice.md:8: doubling came to no end within 2 s and was ended ({place}); mend the calculator, "
        "or give it other values here\n"
        for place in places
    ]
    assert done.returncode == 1


def test_a_block_that_ends_in_time_is_computed(checkout: Path) -> None:
    done = compute(checkout, "3 A", 60)
    assert done.stdout == "(('current', '1 A'),) (('current', '3 A'),)\n", done.stderr


@pytest.mark.parametrize(
    ("report", "words"),
    [
        ("", "The process that checks the articles was ended by something else; start again."),
        (
            "0\nFatal Python error: Segmentation fault\n",
            "docs/a.md:3: the process that computed wire-gauge here was ended by something else; start again",
        ),
    ],
)
def test_a_process_that_something_else_ended_is_not_called_endless(
    tmp_path: Path, report: str, words: str
) -> None:
    (tmp_path / "docs").mkdir()
    (tmp_path / "docs" / "a.md").write_text("# A\n\n``` calculator\nwire-gauge: A\n```\n", "utf-8")
    (tmp_path / "report").write_text(report, "utf-8")
    embedding = Embedding("wire-gauge", "A", ())
    assert describe_end(5, tmp_path / "report", tmp_path, [embedding]) == words


# --- Python in Node ---


def write_calculators(root: Path, warm: str) -> Path:
    """A package of calculators that has only what the browser's Python asks for."""
    (root / "calculators").mkdir(parents=True)
    for name in ("pyproject.toml", "LICENSE"):
        shutil.copyfile(ROOT / name, root / name)
    (root / "calculators" / "__init__.py").write_text("SLUGS = ()\n", "utf-8")
    (root / "calculators" / "answers.py").write_text(
        f"import json\n\n\ndef answer(question):\n    return json.dumps(json.loads(question))\n\n\n"
        f"def warm():\n    {warm}\n",
        "utf-8",
    )
    return root


def make(root: Path, limit: float) -> Release:
    take_interpreter(root / "cache")
    return make_runtime(
        source_root=root,
        node_modules=Path(os.environ["HANDBOOK_NODE_MODULES"]),
        node=Path(os.environ["HANDBOOK_NODE"]),
        out_dir=root / "out",
        cache_dir=root / "cache",
        progress=Progress(),
        limit=limit,
    )


def test_python_in_node_that_never_ends_is_ended(tmp_path: Path) -> None:
    root = write_calculators(tmp_path, "while True: pass")
    # Other tests of this process may drive browsers, by Node as well.
    before = psutil.Process().children(recursive=True)
    with pytest.raises(RuntimeBuildError) as caught:
        make(root, 4)
    assert str(caught.value) == (
        "Node did not trace the calculators within 4 s and was ended; probably one of them never "
        "comes to an end, when it is imported, with its example or with its defaults: try each with “compute”"
    )
    assert set(psutil.Process().children(recursive=True)) <= set(before)
    assert [
        path.name
        for path in (root / "cache").iterdir()
        if not path.name.startswith(("interpreter-", "standard-library-"))
    ] == []


def test_trimming_that_takes_too_long_is_ended(tmp_path: Path) -> None:
    with pytest.raises(
        RuntimeBuildError, match=r"^Node did not trim the interpreter within 0\.2 s and was ended; "
    ):
        trim_interpreter(
            Path(os.environ["HANDBOOK_NODE_MODULES"]),
            Path(os.environ["HANDBOOK_NODE"]),
            [],
            "",
            tmp_path,
            Progress(),
            0.2,
        )
    assert list(tmp_path.iterdir()) == []


def test_python_in_node_that_ends_in_time_makes_a_release(tmp_path: Path) -> None:
    assert is_whole(make(write_calculators(tmp_path, 'answer("{}")'), 600).folder)
