"""Compares what two commits answer: python3 build_scripts/handbook.py compare BASE.

Each commit's own calculators answer for its own articles, and for every calculator's example and defaults.
Told is each embedded block whose verdict or main figure differs, with article and line, and how many differ
in anything else. BASE's code is run: name a commit that you trust.
"""

import argparse
import io
import json
import os
import subprocess
import sys
import tarfile
import tempfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from build_scripts.authoring.articles import list_placed_embeddings
from build_scripts.authoring.files import list_homes
from build_scripts.checkout import ROOT
from build_scripts.errors import BuildError
from calculators import list_calculators

type Answers = Mapping["Asked", dict[str, Any]]

ANSWER = """
import json, sys
from calculators import find_calculator
from calculators.answers import answer
for line in sys.stdin:
    asked = json.loads(line)
    try:
        if asked["fields"] is None:
            asked["fields"] = dict(find_calculator(asked["calculator"]).example)
        print(answer(json.dumps(asked)))
    except LookupError as error:
        print(json.dumps({"ok": False, "errors": [{"text": str(error)}]}))
"""
"""Run in a folder with calculators/ of any commit: the browser's way in has been the same since the first.

Each commit has its own examples, which may be written in another way.
"""


@dataclass(frozen=True)
class Asked:
    """What is asked: a block by its article, slug and caption, or a calculator's own figures.

    An article is called by its place below the folder of all articles, which is that of its page.
    """

    article: str
    slug: str
    caption: str


@dataclass(frozen=True)
class Question:
    """A block's figures, None for those of the calculator's example, and the line on which they stand."""

    asked: Asked
    file: str
    line: int
    fields: tuple[tuple[str, str], ...] | None

    def __str__(self) -> str:
        """Return where it stands and what it is called."""
        return f"{self.file}:{self.line} “{self.asked.caption}” ({self.asked.slug})"


def main(arguments: Sequence[str]) -> int:
    """Compare this checkout with a commit; returns the exit code."""
    parser = argparse.ArgumentParser(prog="handbook.py compare")
    parser.add_argument("base", metavar="BASE", help="a commit, such as main or HEAD~1")
    asked = parser.parse_args(arguments)
    try:
        with tempfile.TemporaryDirectory() as folder:
            export_commit(asked.base, Path(folder))
            print(*compare_folders(Path(folder), ROOT), sep="\n")
    except BuildError as error:
        print(error, file=sys.stderr)
        return 1
    return 0


def export_commit(commit: str, folder: Path) -> None:
    """Write the articles and calculators of a commit into a folder; raises BuildError if there is none."""
    # All of it: commits differ in where articles lie.
    command = ["git", "archive", "--format=tar", "--end-of-options", commit]
    try:
        done = subprocess.run(command, cwd=ROOT, capture_output=True, check=False)
    except OSError as error:
        raise BuildError(f"Comparing needs Git, which could not be started: {error}") from None
    if done.returncode:
        words = done.stderr.decode("utf-8", "replace").strip()
        raise BuildError(f"“{commit}” cannot be taken out of this checkout: {words}")
    with tarfile.open(fileobj=io.BytesIO(done.stdout)) as archive:
        archive.extractall(folder, filter="data")


def compare_folders(base: Path, root: Path) -> Iterator[str]:
    """Yield what differs between the answers of two folders with calculators/ and docs/, and a count."""
    before, after = list_questions(base), list_questions(root)
    answered, answers = ask(base, before.values()), ask(root, after.values())
    changed = other = 0
    parts: set[str] = set()
    for asked, question in after.items():
        if asked not in before:
            yield f"{question}: new"
            continue
        told = list(describe_difference(asked.slug, answered[asked], answers[asked]))
        changed += bool(told)
        differing = list_differing_parts(answered[asked], answers[asked])
        other += not told and bool(differing)
        parts |= set() if told else differing
        if told:
            yield f"{question}: " + "; ".join(told)
    for asked, question in before.items():
        if asked not in after:
            yield f"{question}: gone"
    common = len(before.keys() & after.keys())
    named = f" ({', '.join(sorted(parts))})" if parts else ""
    yield (
        f"{common} compared: {changed} differ in verdict or main figure, {other} in anything else{named}, "
        f"{common - changed - other} are the same digit for digit"
    )


def list_questions(root: Path) -> dict[Asked, Question]:
    """Return the embedded blocks of a folder's articles, and each calculator's example and defaults."""
    found: dict[Asked, Question] = {}
    for embedding, path, line in list_placed_embeddings(root):
        home = next(home for home in list_homes(root) if path.is_relative_to(home))
        asked = Asked(path.relative_to(home).as_posix(), embedding.slug, embedding.caption)
        found[asked] = Question(asked, path.relative_to(root).as_posix(), line, embedding.fields)
    for calculator in list_calculators():
        name = f"calculators/{calculator.slug.replace('-', '_')}/calculator.py"
        for caption, fields in (("example", None), ("defaults", ())):
            asked = Asked(name, calculator.slug, caption)
            found[asked] = Question(asked, name, 1, fields)
    return found


def ask(root: Path, questions: Iterable[Question]) -> Answers:
    """Return what the calculators in `root` answer; raises BuildError where they cannot be run."""
    listed = list(questions)
    same = {"units": "metric", "form": "json"}
    lines = [
        json.dumps(
            {
                "calculator": one.asked.slug,
                "fields": None if one.fields is None else dict(one.fields),
                **same,
            }
        )
        for one in listed
    ]
    variables = {**os.environ, "PYTHONPATH": str(root), "PYTHONPYCACHEPREFIX": str(root / ".compiled")}
    done = subprocess.run(
        [sys.executable, "-P", "-c", ANSWER],
        input="\n".join(lines),
        cwd=root,
        env=variables,
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    if done.returncode:
        raise BuildError(f"The calculators in {root} cannot be run:\n{done.stderr.strip()}")
    return {one.asked: json.loads(line) for one, line in zip(listed, done.stdout.splitlines(), strict=True)}


def describe_difference(slug: str, before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[str]:
    """Yield what differs in the verdict and the main figures of two answers."""
    verdicts = [_find_verdict(answered) for answered in (before, after)]
    if verdicts[0] != verdicts[1]:
        yield f"{verdicts[0]}, now {verdicts[1]}"
    if not (before["ok"] and after["ok"]):
        return
    for item in next(one.outputs for one in list_calculators() if one.slug == slug):
        figures = [answered["result"]["outputs"].get(item.name) for answered in (before, after)]
        if item.main and figures[0] != figures[1]:
            yield f"{item.label} {_write_figure(figures[0])}, now {_write_figure(figures[1])}"


def list_differing_parts(before: Mapping[str, Any], after: Mapping[str, Any]) -> set[str]:
    """Return the names of the parts in which two answers differ."""
    one, other = (answered.get("result") or answered for answered in (before, after))
    return {name for name in {*one, *other} if one.get(name) != other.get(name)}


def _find_verdict(answered: Mapping[str, Any]) -> str:
    if not answered["ok"]:
        return f"refused ({answered['errors'][0]['text']})"
    codes: dict[str, list[str]] = {}
    for finding in answered["result"]["findings"]:
        codes.setdefault(finding["level"], []).append(finding["code"])
    for level in ("stop", "caution"):
        if level in codes:
            return f"{level} ({', '.join(sorted(codes[level]))})"
    return "holds"


def _write_figure(figure: Mapping[str, Any] | None) -> str:
    if figure is None or figure["value"] is None:
        return "none"
    return f"{figure['value']} {figure['unit']}".strip()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
