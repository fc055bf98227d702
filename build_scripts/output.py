"""The folders that builds write into: only what a list of ours names is replaced or removed there.

Every build leaves beside its files a list of them with their hashes, in the form that `sha256sum -c` reads.
The next one replaces and removes a file only where the list names it and it still is what the list says. So a
file of somebody else's stays, and one that is in the way is refused by its name. Who forges a list has to
know what is in a file to have it removed, and reaches nothing beyond the folder and nothing of Git's.
"""

import errno
import os
import re
import shutil
import signal
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path, PurePosixPath
from tempfile import NamedTemporaryFile, TemporaryFile

from build_scripts.errors import BuildError
from build_scripts.hashes import hash_files
from build_scripts.lines import settle_line_ends

LIST = ".handbook-files.txt"
"""What the list is called in a site: articles cannot bring a file of this name."""

_SOURCES = (".git", "build_scripts", "calculators", "docs", "tests")
_CHECKOUT = ".git"
# The second is another name of it on Windows, which also drops points and spaces at the end.
_NEVER_OURS = re.compile(r"(?:|\.|\.\.|(?:\.git|git~\d+)[. ]*)", re.IGNORECASE)
_HEAD = "# What a build of the handbook has written here; the next one replaces and removes nothing else."
_ROW = re.compile(r"(?P<hash>[0-9a-f]{64})  (?P<name>[^\0\\:]+)")
_SHOWN = 5
"""So many files are named in one sentence."""

type _Listed = Mapping[str, frozenset[str]]
"""What a file that builds have written may hold: hashes, by its name as seen from the place."""


@dataclass(frozen=True)
class Place:
    """A folder that builds write into, maybe beside what belongs to somebody else."""

    folder: Path
    list_name: str
    """What the list of the build's files is called in it."""
    tops: tuple[Path, ...]
    """Where all that a build writes lies: the folder itself, or what it makes in there."""
    option: str
    """The option that names another place."""

    def check(self, root: Path) -> None:
        """Make sure that a build may write here; `root` holds the sources. Nothing is changed.

        Raises BuildError for a file, for the sources, and for what is there and no list of a build with it.
        """
        for top in self.tops:
            for above in (self.folder, *self.folder.parents):
                if above.exists() and not above.is_dir():
                    raise BuildError(f"{above} is a file; {self._advice}")
            if root.is_relative_to(top) or any(top.is_relative_to(root / name) for name in _SOURCES):
                raise BuildError(f"{top} holds the handbook's sources or lies among them; {self._advice}")
        if self._read_list() is None:
            for top in self.tops:
                # Into a checkout of the published branch the first build comes as well.
                if _is_taken(top) and not (top / _CHECKOUT).exists():
                    raise BuildError(
                        f"{top} is not an earlier build of the handbook and would be replaced: the list "
                        f"{self.folder / self.list_name}, which a build leaves, is not there; move it away, "
                        f"or {self._advice}"
                    )

    @contextmanager
    def open(self, root: Path) -> Iterator[None]:
        """Check the place and make the folder, for the length of a build; a failed one leaves no new one.

        Where nothing can be written, that is found out before the work is done.

        Raises BuildError as `check` does.
        """
        self.check(root)
        made = [folder for folder in (self.folder, *self.folder.parents) if not folder.exists()]
        self.folder.mkdir(parents=True, exist_ok=True)
        try:
            with TemporaryFile(dir=self.folder):
                pass
            yield
        except BaseException:
            for folder in made:
                with suppress(OSError):
                    folder.rmdir()
            raise

    def replace(self, new: Path) -> list[str]:
        """Move the files of the finished build `new` here, in the order in which they were written.

        Then what the former build had and this one has not is removed. Returns what no build wrote and has
        stayed where it was. An interruption leaves a mixture, which the list names: the next build goes on.

        Raises BuildError, and has changed nothing, where something of somebody else's is in the way.
        """
        files = hash_files(new)
        listed = self._read_list() or {}
        moved, gone = self._compare(new, files, listed)
        expected = {name: frozenset({found}) for name, found in files.items()}
        with _deaf_to_interrupts():
            either = {name: listed.get(name, frozenset()) | hashes for name, hashes in expected.items()}
            self._write_list({**listed, **either})
            for name in sorted(moved, key=lambda name: (new / name).stat().st_mtime_ns):
                _move(new / name, self.folder / name)
            for name in gone:
                self._remove(name)
            self._write_list(expected)
        return self._find_others(files)

    @property
    def _advice(self) -> str:
        return f"name another place with {self.option} FOLDER"

    def _read_list(self) -> _Listed | None:
        """Read the list; None where there is none. Raises BuildError for one that no build has written."""
        file = self.folder / self.list_name
        if not os.path.lexists(file):
            return None
        if _is_link(file) or not file.is_file():
            raise BuildError(f"{file} is not the list that a build wrote; move it away, or {self._advice}")
        head, *rows = file.read_text("utf-8", "replace").removesuffix("\n").split("\n")
        listed: dict[str, frozenset[str]] = {}
        for row in [head] if head != _HEAD else rows:
            found = _ROW.fullmatch(row)
            if found is None or any(map(_NEVER_OURS.fullmatch, found["name"].split("/"))):
                raise BuildError(
                    f"{file} is not as a build wrote it: “{row}” names no file of a build; move this list "
                    f"away, or {self._advice}"
                )
            listed[found["name"]] = listed.get(found["name"], frozenset()) | {found["hash"]}
        return listed

    def _write_list(self, listed: _Listed) -> None:
        rows = [f"{found}  {name}\n" for name in sorted(listed) for found in sorted(listed[name])]
        with NamedTemporaryFile("w", encoding="utf-8", newline="\n", dir=self.folder, delete=False) as file:
            file.write("".join([_HEAD, "\n", *rows]))
        Path(file.name).chmod(0o644)
        Path(file.name).replace(self.folder / self.list_name)

    def _compare(self, new: Path, files: Mapping[str, str], listed: _Listed) -> tuple[list[str], list[str]]:
        """Return what of the build's `files` is to be moved here, and what `listed` is to be removed.

        Raises BuildError where somebody else's, or what was changed since it was built, is in the way.
        """
        moved: list[str] = []
        gone: list[str] = []
        foreign: list[str] = []
        for name in sorted({*listed, *files}):
            path = self.folder / name
            if (blocking := self._find_blocking(name)) is not None:
                foreign.append(blocking)
            elif not path.is_file():
                moved += [name] if name in files else []
            elif (data := path.read_bytes()) != ((new / name).read_bytes() if name in files else None):
                # A checkout may have given text other line ends, and that is no change.
                known = listed.get(name, frozenset()) & {_hash(data), _hash(settle_line_ends(data))}
                (foreign if not known else moved if name in files else gone).append(name)
        if foreign:
            raise BuildError(
                f"in {self.folder} not as a build of the handbook has left it: {_shorten(foreign)}; "
                f"nothing was changed there; move that away, or {self._advice}"
            )
        return moved, gone

    def _find_blocking(self, name: str) -> str | None:
        """Return what stands where the file `name` or one of its folders would have to be, and is neither."""
        *folders, last = PurePosixPath(name).parts
        path, seen = self.folder, ""
        for part in folders:
            path, seen = path / part, f"{seen}{part}/"
            if not os.path.lexists(path):
                return None
            if _is_link(path) or not path.is_dir():
                return seen.rstrip("/")
        path /= last
        return name if os.path.lexists(path) and (_is_link(path) or not path.is_file()) else None

    def _remove(self, name: str) -> None:
        path = self.folder / name
        path.unlink()
        for above in path.parents:
            if above == self.folder:
                break
            # One that still holds something stays, and so do those above it.
            with suppress(OSError):
                above.rmdir()

    def _find_others(self, files: Mapping[str, str]) -> list[str]:
        others = []
        for top in self.tops:
            for folder, folders, names in os.walk(top):
                folders[:] = sorted(name for name in folders if name != _CHECKOUT)
                others += [
                    (Path(folder) / name).relative_to(self.folder).as_posix() for name in sorted(names)
                ]
        return [name for name in others if name not in files and name not in (self.list_name, _CHECKOUT)]


@contextmanager
def open_scratch(folder: Path) -> Iterator[Path]:
    """Give an empty `folder` of the cache for the length of the block; what a killed build left goes."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def describe_others(others: list[str]) -> str:
    """Say in one line which files of somebody else's have stayed in a place."""
    return f"Left as it was, because no build wrote it: {_shorten(others)}"


def _shorten(names: Iterable[str]) -> str:
    shown = list(dict.fromkeys(names))
    more = f" and {len(shown) - _SHOWN} more" if len(shown) > _SHOWN else ""
    return ", ".join(shown[:_SHOWN]) + more


def _is_taken(path: Path) -> bool:
    return any(path.iterdir()) if path.is_dir() else os.path.lexists(path)


def _is_link(path: Path) -> bool:
    return path.is_symlink() or path.is_junction()


def _hash(data: bytes) -> str:
    return sha256(data).hexdigest()


def _move(source: Path, target: Path) -> None:
    """Put a file in its place, where it is whole or not at all."""
    target.parent.mkdir(parents=True, exist_ok=True)
    try:
        source.replace(target)
    except OSError as error:
        if error.errno != errno.EXDEV:
            raise
        # On another disk it is copied beside its place first.
        with NamedTemporaryFile(dir=target.parent, delete=False) as beside, source.open("rb") as file:
            shutil.copyfileobj(file, beside)
        shutil.copymode(source, beside.name)
        Path(beside.name).replace(target)


@contextmanager
def _deaf_to_interrupts() -> Iterator[None]:
    # The few moments that it takes are better waited for.
    before = {number: signal.signal(number, signal.SIG_IGN) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
