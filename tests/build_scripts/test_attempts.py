"""What a stranger may try: the checks refuse it with a sentence, and the table tells what became of it."""

from __future__ import annotations

import json
import socket
from pathlib import Path

import pytest

from build_scripts.attempts.__main__ import CORPUS
from build_scripts.attempts.corpus import KINDS, Attempt, read_corpus
from build_scripts.attempts.table import BEGIN, CHECK, END, Outcome, render_table, write_table
from build_scripts.attempts.trap import open_trap
from build_scripts.attempts.trying import compare, try_checks

REFUSED = Attempt("articles", 3, "a script", "<script>", "refused", says="the HTML tag")
HARMLESS = Attempt("articles", 4, "words", "words", "harmless")


def write_corpus(folder: Path, line: str) -> Path:
    for kind in KINDS:
        (folder / f"{kind}.jsonl").write_text(line if kind == "links" else "", "utf-8")
    return folder


def test_there_are_enough_attempts_of_every_kind() -> None:
    attempts = read_corpus(CORPUS)
    assert len(attempts) >= 300
    assert {attempt.kind for attempt in attempts} == set(KINDS)
    # Each refusal is known by its words; the same thing is not tried twice.
    assert all(attempt.says for attempt in attempts if attempt.then == "refused")
    tried = [
        (attempt.kind, attempt.text, attempt.content, attempt.value, attempt.beside) for attempt in attempts
    ]
    assert len(tried) == len(set(tried))


@pytest.mark.prepared
def test_the_checks_end_every_attempt_as_they_have_to(tmp_path: Path) -> None:
    outcomes = list(try_checks(read_corpus(CORPUS), tmp_path / "handbook"))
    assert [str(outcome) for outcome in outcomes if outcome.wrong] == []
    assert {outcome.attempt.kind for outcome in outcomes} == {"articles", "names", "calculators"}


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("{", "links.jsonl:1: this is no attempt"),
        ('{"way": "x", "then": "refused"}', "links.jsonl:1: this is no attempt"),
        ('{"way": "x", "try": "y", "then": "refused", "more": 1}', "links.jsonl:1: this is no attempt"),
        ('{"way": "x", "try": "y", "then": "maybe"}', "links.jsonl:1: “maybe” is neither"),
    ],
)
def test_a_line_that_is_no_attempt_is_named(tmp_path: Path, line: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        read_corpus(write_corpus(tmp_path, line))


def test_a_line_is_read(tmp_path: Path) -> None:
    line = json.dumps({"way": "x", "try": "y\u200b", "then": "harmless", "calculator": True})
    assert read_corpus(write_corpus(tmp_path, line)) == [
        Attempt("links", 1, "x", "y\u200b", "harmless", calculator=True)
    ]


def test_what_ends_otherwise_is_told() -> None:
    assert compare(REFUSED, ["3: the HTML tag <script> is not allowed"]) == []
    assert compare(REFUSED, ["3: something else"]) == ["no sentence says “the HTML tag”: 3: something else"]
    assert compare(REFUSED, []) == ["it was let pass"]
    assert compare(HARMLESS, []) == []
    assert compare(HARMLESS, ["4: no"]) == ["it was refused: 4: no"]


def test_the_trap_counts_whoever_knocks() -> None:
    with open_trap() as trap:
        assert trap.arm("https://evil.example/x") == f"https://{trap.address}/x"
        host, _, port = trap.address.partition(":")
        with socket.create_connection((host, int(port))) as visitor:
            assert visitor.recv(1) == b""
        assert trap.knocks == 1


def test_the_table_counts_and_stands_between_its_marks(tmp_path: Path) -> None:
    outcomes = [
        Outcome(REFUSED, CHECK, []),
        Outcome(HARMLESS, CHECK, []),
        Outcome(HARMLESS, "chromium, served", ["something ran"]),
    ]
    table = render_table(outcomes)
    assert "2 attempts; built and opened in chromium, served." in table
    assert "| articles | a script | 1 | 1 | 0 | 0 | 0 |" in table
    assert "| articles | words | 1 | 0 | 1 | 1 | 1 |" in table
    guide = tmp_path / "GUIDE.md"
    guide.write_text(f"before\n{BEGIN}\n\nold\n\n{END}\nafter\n", "utf-8")
    write_table(guide, table)
    assert guide.read_text("utf-8") == f"before\n{BEGIN}\n\n{table}\n\n{END}\nafter\n"
    guide.write_text("nothing", "utf-8")
    with pytest.raises(ValueError, match="has no place for the table"):
        write_table(guide, table)
