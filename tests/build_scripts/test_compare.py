"""Two commits are compared by what their own calculators answer for their own articles."""

import shutil
import subprocess
from pathlib import Path

import pytest

from build_scripts.compare import compare_folders, export_commit, main
from build_scripts.errors import BuildError
from tests.conftest import ROOT

ARTICLE = """\
# A lead

``` calculator
wire-gauge: The lead
current = 5 A
supply = 12.8 V
length = 1.5 m
conductor = solid
```

``` calculator
wire-gauge: The other
current = 30 A
supply = 12.8 V
length = 1.2 m
conductor = solid
gauge = 16 AWG
```
"""


def write_folder(root: Path, article: str = ARTICLE) -> Path:
    shutil.copytree(ROOT / "calculators", root / "calculators", ignore=shutil.ignore_patterns("__pycache__"))
    (root / "docs").mkdir()
    (root / "docs" / "lead.md").write_text(article, "utf-8")
    return root


def change(root: Path, name: str, before: str, after: str) -> None:
    path = root / "calculators" / name
    text = path.read_text("utf-8")
    assert before in text
    path.write_text(text.replace(before, after), "utf-8")


@pytest.fixture
def folders(tmp_path: Path) -> tuple[Path, Path]:
    return write_folder(tmp_path / "base"), write_folder(tmp_path / "root")


def test_the_same_is_the_same(folders: tuple[Path, Path]) -> None:
    (told,) = compare_folders(*folders)
    assert told.endswith("0 differ in verdict or main figure, 0 in anything else, " + told.split(", ")[-1])
    assert int(told.split()[0]) >= 4


def test_a_changed_verdict_and_figure_are_told_with_their_place(folders: tuple[Path, Path]) -> None:
    change(folders[0], "wire_gauge/findings.py", '"stop", "too-hot"', '"note", "too-hot"')
    told = list(compare_folders(*folders))
    (line,) = [line for line in told if "The other" in line]
    assert line.startswith("docs/lead.md:11 “The other” (wire-gauge): stop (")
    assert "), now stop (" in line
    assert "too-hot" not in line.partition("), now ")[0]
    assert not [line for line in told if "The lead" in line]


def test_a_changed_main_figure_is_told_with_both(folders: tuple[Path, Path]) -> None:
    change(folders[0], "wire_gauge/task.py", "current=share * given", "current=2 * share * given")
    (line,) = [line for line in compare_folders(*folders) if "The lead" in line]
    assert line.startswith("docs/lead.md:3 “The lead” (wire-gauge): ")
    assert ", now " in line.partition("Recommended size ")[2]


def test_each_commit_answers_its_own_example(folders: tuple[Path, Path]) -> None:
    change(folders[0], "wire_gauge/calculator.py", 'example={"current": "8 A"', 'example={"current": "90 A"')
    (line,) = [line for line in compare_folders(*folders) if "differ in" not in line]
    assert "“example” (wire-gauge): " in line


def test_what_differs_in_words_alone_is_counted(folders: tuple[Path, Path]) -> None:
    change(folders[0], "wire_gauge/report.py", '"Copper temperature", ', '"Temperature of the copper", ')
    (told,) = compare_folders(*folders)
    assert "0 differ in verdict or main figure" in told
    assert " in anything else (working), " in told


def test_blocks_that_one_of_them_has_are_told(tmp_path: Path) -> None:
    base = write_folder(tmp_path / "base", ARTICLE.replace("The other", "The former"))
    told = list(compare_folders(base, write_folder(tmp_path / "root")))
    assert "docs/lead.md:11 “The other” (wire-gauge): new" in told
    assert "docs/lead.md:11 “The former” (wire-gauge): gone" in told


def test_calculators_that_cannot_be_run_are_told(folders: tuple[Path, Path]) -> None:
    change(folders[0], "answers.py", "import json\n", "import json\nimport nothing_of_this_name\n")
    with pytest.raises(BuildError, match="nothing_of_this_name"):
        list(compare_folders(*folders))


def test_a_commit_is_taken_out_and_a_wrong_one_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    head = subprocess.run(
        ["git", "rev-parse", "HEAD"], cwd=ROOT, capture_output=True, encoding="ascii", check=True
    ).stdout.strip()
    export_commit(head, tmp_path)
    assert (tmp_path / "calculators" / "answers.py").is_file()
    for wrong in ("no-such-commit", "--output=x"):
        assert main(["--", wrong]) == 1
        assert f"“{wrong}” cannot be taken out of this checkout" in capsys.readouterr().err
