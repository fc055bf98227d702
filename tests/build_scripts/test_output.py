"""Where builds write: what is theirs is replaced, what is somebody else's stays, whatever it is called."""

from __future__ import annotations

import os
import shutil
import signal
import tempfile
from hashlib import sha256
from pathlib import Path

import pytest

from build_scripts.errors import BuildError
from build_scripts.output import LIST, Place, open_scratch
from tests.build_scripts.built_lists import HEAD
from tests.conftest import ROOT

FIRST = {"index.html": "one", "assets/style.css": "a\nb\n", "old/page/index.html": "old"}
SECOND = {"index.html": "two", "assets/style.css": "a\nb\n", "new/index.html": "new"}


def make_place(folder: Path) -> Place:
    return Place(folder, LIST, (folder,), "--site")


def write_files(folder: Path, files: dict[str, str]) -> Path:
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, "utf-8")
    return folder


def put(folder: Path, files: dict[str, str]) -> list[str]:
    """What a build of these files does."""
    place = make_place(folder)
    with place.open(ROOT), open_scratch(folder.parent / "scratch") as new:
        return place.replace(write_files(new, files))


def read_files(folder: Path) -> dict[str, str]:
    """All files below the folder but the list of them, with what links lead to."""
    return {
        path.relative_to(folder).as_posix(): path.read_text("utf-8")
        for path in folder.rglob("*")
        if path.is_file() and path != folder / LIST
    }


def hash_text(text: str) -> str:
    return sha256(text.encode()).hexdigest()


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """A first build."""
    put(tmp_path / "site", FIRST)
    return tmp_path / "site"


def test_the_next_build_replaces_the_former_and_nothing_is_left_of_it(site: Path) -> None:
    assert put(site, SECOND) == []
    assert read_files(site) == SECOND
    assert sorted(path.name for path in site.iterdir()) == [LIST, "assets", "index.html", "new"]
    assert [path.name for path in site.parent.iterdir()] == ["site"]


def test_the_list_names_every_file_with_its_hash(site: Path) -> None:
    rows = "".join(f"{hash_text(text)}  {name}\n" for name, text in sorted(FIRST.items()))
    assert (site / LIST).read_text("utf-8") == HEAD + rows


def test_what_a_build_did_not_write_stays_and_is_told(site: Path) -> None:
    mine = {"CNAME": "club.example", "assets/mine.txt": "mine", "old/page/notes.txt": "mine", "mine/a": "a"}
    write_files(site, mine | {".git/config": "mine"})
    assert put(site, SECOND) == ["CNAME", "assets/mine.txt", "mine/a", "old/page/notes.txt"]
    assert read_files(site) == SECOND | mine | {".git/config": "mine"}


def test_the_first_build_into_a_checkout_leaves_what_is_there(tmp_path: Path) -> None:
    mine = {".git/HEAD": "ref: refs/heads/main\n", "CNAME": "club.example"}
    assert put(write_files(tmp_path / "site", mine), FIRST) == ["CNAME"]
    assert read_files(tmp_path / "site") == FIRST | mine


def test_a_checkout_with_line_ends_of_its_own_is_still_the_former_build(site: Path) -> None:
    for path in [site / LIST, *(site / name for name in FIRST)]:
        path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    put(site, SECOND)
    assert read_files(site) == SECOND


@pytest.mark.parametrize("name", ["index.html", "old/page/index.html"])
def test_a_file_that_was_changed_since_is_neither_replaced_nor_removed(site: Path, name: str) -> None:
    (site / name).write_text("mended by hand", "utf-8")
    before = read_files(site)
    with pytest.raises(BuildError) as caught:
        put(site, SECOND)
    assert str(caught.value) == (
        f"in {site} not as a build of the handbook has left it: {name}; nothing was changed there; move that "
        "away, or name another place with --site FOLDER"
    )
    assert read_files(site) == before


def test_a_file_that_is_in_the_way_of_a_new_one_is_not_replaced(site: Path) -> None:
    before = read_files(write_files(site, {"new/index.html": "mine"}))
    with pytest.raises(
        BuildError, match=r"has left it: new/index\.html; nothing was changed there; move that"
    ):
        put(site, SECOND)
    assert read_files(site) == before


@pytest.mark.parametrize(("count", "words"), [(5, "f3, f4; nothing"), (6, "f3, f4 and 1 more; nothing")])
def test_five_files_are_named_in_a_sentence(site: Path, count: int, words: str) -> None:
    files = {f"f{number}": "theirs" for number in range(count)}
    write_files(site, files)
    with pytest.raises(BuildError, match=words):
        put(site, dict.fromkeys(files, "ours"))


def test_a_file_of_the_same_content_is_in_nobodys_way(site: Path) -> None:
    write_files(site, {"new/index.html": "new"})
    put(site, SECOND)
    put(site, FIRST)
    assert read_files(site) == FIRST


def test_what_the_reader_removed_is_put_back(site: Path) -> None:
    shutil.rmtree(site / "assets")
    put(site, SECOND)
    assert read_files(site) == SECOND


@pytest.mark.parametrize("name", [".site.former", ".site.unfinished", ".site.packing"])
def test_folders_beside_it_belong_to_somebody_else(site: Path, name: str) -> None:
    write_files(site.parent / name, {"notes.txt": "mine"})
    put(site, SECOND)
    assert read_files(site.parent / name) == {"notes.txt": "mine"}


def test_an_interrupted_replacement_goes_on_with_the_next_build(site: Path) -> None:
    # Killed half-way: the list names what was and what was to be, and some files are this, some are that.
    rows = {*FIRST.items(), *SECOND.items()}
    listed = "".join(f"{hash_text(text)}  {name}\n" for name, text in sorted(rows))
    (site / LIST).write_text(HEAD + listed, "utf-8")
    write_files(site, {"new/index.html": "new"})
    third = {"index.html": "three"}
    put(site, third)
    assert read_files(site) == third


# --- Links: what they lead to is somewhere else ---


@pytest.mark.parametrize("name", ["assets", "old/page", "index.html", LIST])
def test_nothing_is_written_or_removed_through_a_link(site: Path, name: str) -> None:
    elsewhere = site.parent / "elsewhere"
    (site / name).rename(elsewhere)
    (site / name).symlink_to(elsewhere)
    before = read_files(site)
    with pytest.raises(BuildError, match=f"{name}"):
        put(site, {"index.html": "two", "assets/new.css": "new"})
    assert read_files(site) == before
    assert (site / name).is_symlink()


@pytest.mark.parametrize("name", ["index.html", "assets"])
def test_a_folder_in_a_files_place_and_a_file_in_a_folders_is_named(tmp_path: Path, name: str) -> None:
    site = write_files(tmp_path / "site", {".git/HEAD": "x", f"{name}/a" if "." in name else name: "mine"})
    before = read_files(site)
    with pytest.raises(BuildError, match=f"has left it: {name}; "):
        put(site, FIRST)
    assert read_files(site) == before


# --- Lists that no build has written ---


@pytest.mark.parametrize(
    "name",
    [
        "../mine.txt",
        "assets/../../mine.txt",
        "/etc/hostname",
        "./index.html",
        "a//b",
        "",
        ".git/config",
        "deep/.GIT/config",
        ".git./config",
        "git~1/config",
        "..\\mine.txt",
        "C:mine.txt",
    ],
)
def test_a_list_that_leads_elsewhere_is_refused(site: Path, name: str) -> None:
    write_files(site, {".git/config": "mine"})
    write_files(site.parent, {"mine.txt": "mine"})
    with (site / LIST).open("a", encoding="utf-8") as file:
        file.write(f"{hash_text('mine')}  {name}\n")
    before = read_files(site.parent)
    with pytest.raises(BuildError, match=r"names no file of a build; move this list away, or name another"):
        put(site, SECOND)
    assert read_files(site.parent) == before


@pytest.mark.parametrize("text", ["", "mine", "# A list of my own\n"])
def test_a_file_called_like_the_list_is_not_replaced(tmp_path: Path, text: str) -> None:
    site = write_files(tmp_path / "site", {LIST: text})
    with pytest.raises(BuildError, match="is not as a build wrote it"):
        put(site, FIRST)
    assert (site / LIST).read_text("utf-8") == text


def test_a_forged_list_removes_nothing_whose_content_it_does_not_know(site: Path) -> None:
    write_files(site, {"notes.txt": "mine"})
    with (site / LIST).open("a", encoding="utf-8") as file:
        file.write(f"{hash_text('guessed')}  notes.txt\n")
    with pytest.raises(BuildError, match=r"has left it: notes\.txt; "):
        put(site, SECOND)
    assert read_files(site) == FIRST | {"notes.txt": "mine"}


# --- The place itself ---


def test_a_folder_without_a_list_is_refused_before_the_work_is_done(tmp_path: Path) -> None:
    site = write_files(tmp_path / "site", {"service_worker.js": "mine", "notes.txt": "mine"})
    with pytest.raises(
        BuildError, match="is not an earlier build of the handbook and would be replaced: the list"
    ):
        make_place(site).check(ROOT)


def test_a_failed_build_leaves_no_folder_but_one_that_was_there(tmp_path: Path) -> None:
    (tmp_path / "there").mkdir()
    for folder in (tmp_path / "there" / "new" / "site", tmp_path / "there"):
        with pytest.raises(BuildError), make_place(folder).open(ROOT):
            raise BuildError("a mistake")
    assert [path.name for path in tmp_path.iterdir()] == ["there"]
    assert list((tmp_path / "there").iterdir()) == []


def test_a_place_on_another_disk_is_written_as_well(tmp_path: Path) -> None:
    with tempfile.TemporaryDirectory(dir="/dev/shm") as name:
        site = Path(name) / "site"
        assert os.stat(name).st_dev != tmp_path.stat().st_dev
        for files in (FIRST, SECOND):
            with open_scratch(tmp_path / "scratch") as new:
                site.mkdir(exist_ok=True)
                make_place(site).replace(write_files(new, files))
                assert read_files(site) == files
        assert sorted(path.name for path in site.iterdir()) == [LIST, "assets", "index.html", "new"]


def test_a_later_interrupt_is_heard_again(site: Path) -> None:
    put(site, SECOND)
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
