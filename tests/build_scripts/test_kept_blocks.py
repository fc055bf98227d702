"""Blocks kept from build to build: the same pages, computed anew only where something has changed."""

import json
from pathlib import Path

import pytest

from build_scripts.authoring.articles import compute_articles, find_embeddings
from build_scripts.authoring.computing import compute_beside
from build_scripts.authoring.fence import Embedding
from build_scripts.authoring.kept_blocks import NAME, read_kept_blocks

ARTICLE = "# Feed\n\n``` calculator\nwire-gauge: Feed\ncurrent = 3 A\n```\n"
FEED = Embedding("wire-gauge", "Feed", (("current", "3 A"),))


@pytest.fixture
def sources(tmp_path: Path) -> Path:
    """A folder with one article and a file that stands for the calculators."""
    for folder in ("docs", "calculators"):
        (tmp_path / folder).mkdir()
    (tmp_path / "docs" / "feed.md").write_text(ARTICLE, "utf-8")
    (tmp_path / "calculators" / "wire_gauge.py").write_text("# as it was", "utf-8")
    return tmp_path


def test_what_was_kept_is_read_again(sources: Path) -> None:
    kept = read_kept_blocks(sources, sources / "calculators")
    assert kept.blocks == {}
    kept.replace({FEED: "<p>3 A</p>"})
    assert read_kept_blocks(sources, sources / "calculators").blocks == {FEED: "<p>3 A</p>"}


def test_changed_calculators_make_all_of_it_worthless(sources: Path) -> None:
    read_kept_blocks(sources, sources / "calculators").replace({FEED: "<p>3 A</p>"})
    (sources / "calculators" / "table.toml").write_text("new = 1", "utf-8")
    assert read_kept_blocks(sources, sources / "calculators").blocks == {}


@pytest.mark.parametrize(
    "spoilt",
    ["", "{", "[]", '{"made_by": 1}', '{"made_by": MADE, "kept": 1}', '{"made_by": MADE, "kept": [1]}'],
)
def test_a_spoilt_file_is_made_again(sources: Path, spoilt: str) -> None:
    made_by = read_kept_blocks(sources, sources / "calculators").made_by
    (sources / NAME).write_text(spoilt.replace("MADE", json.dumps(made_by)), "utf-8")
    kept = read_kept_blocks(sources, sources / "calculators")
    assert kept.blocks == {}
    kept.replace({FEED: "<p>3 A</p>"})
    assert read_kept_blocks(sources, sources / "calculators").blocks == {FEED: "<p>3 A</p>"}


def test_what_is_no_longer_used_is_forgotten(sources: Path) -> None:
    read_kept_blocks(sources, sources / "calculators").replace({FEED: "<p>3 A</p>"})
    read_kept_blocks(sources, sources / "calculators").replace({})
    assert json.loads((sources / NAME).read_text("utf-8"))["kept"] == []


def test_known_blocks_are_taken_as_they_are_and_others_computed(sources: Path) -> None:
    other = "\n``` calculator\nwire-gauge: Other\ncurrent = 4 A\n```\n"
    (sources / "docs" / "feed.md").write_text(ARTICLE + other, "utf-8")
    problems, blocks = compute_articles(sources, find_embeddings(sources), {FEED: "<p>kept</p>"})
    assert problems == []
    assert blocks[FEED] == "<p>kept</p>"
    (computed,) = (html for key, html in blocks.items() if key != FEED)
    assert 'data-calculator="wire-gauge"' in computed


def test_a_known_block_does_not_hide_what_is_wrong_elsewhere(sources: Path) -> None:
    wrong = "\n``` calculator\nwire-gauge: Other\ncurrent = 4 kg\n```\n"
    (sources / "docs" / "feed.md").write_text(ARTICLE + wrong, "utf-8")
    with compute_beside(sources, {FEED: "<p>kept</p>"}) as computed:
        (problem,), blocks = computed()
    assert (problem.file, problem.line, blocks) == ("docs/feed.md", 10, {})


def test_with_everything_known_no_second_process_is_started(
    sources: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise AssertionError("a process was started")

    monkeypatch.setattr("subprocess.Popen.__init__", refuse)
    monkeypatch.setattr("multiprocessing.util.spawnv_passfds", refuse)
    with compute_beside(sources, {FEED: "<p>kept</p>"}) as computed:
        assert computed() == ([], {FEED: "<p>kept</p>"})
    with pytest.raises(Exception, match="a process was started"), compute_beside(sources, {}) as computed:
        computed()


def test_all_articles_are_found(small_handbook: Path) -> None:
    embeddings = find_embeddings(small_handbook)
    captions = {embedding.caption for embedding in embeddings}
    # One of the club's articles, one of the engine's pages.
    assert {"A servo that stalls", "Feed to the tail lift"} <= captions
    assert {embedding.slug for embedding in embeddings} >= {"speaker-load", "wire-gauge", "led-current"}
