"""Fixtures for tests of several folders: the runtime's release, made once, and a server for a folder."""

import os
import shutil
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from hypothesis import settings

from build_scripts.environment.progress import Progress
from build_scripts.portable.pack import Packed, pack_handbook
from build_scripts.runtime.release import Release, make_runtime
from tests.small_handbook import write_small_handbook

# Shells start what is to run in the background deaf to Ctrl-C; all that the tests start would inherit that.
signal.signal(signal.SIGINT, signal.default_int_handler)

# On a busy machine any example may take its time; what is to be quick is compared with something else.
settings.register_profile("any machine", deadline=None)
settings.load_profile("any machine")

ROOT = Path(__file__).resolve().parent.parent
KEPT = ROOT / ".cache" / "runtime-parts"
"""Where the command keeps what it has made of the browser's Python."""


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--write-tables", action="store_true", help="write the tables of published cases into their pages"
    )


type MakeRelease = Callable[[Path, Path, Path], Release]
type ServeFolder = Callable[..., str]


class Handler(SimpleHTTPRequestHandler):
    """Serves files; `types` replaces the type of a file name's ending, `refused` names get 403."""

    def __init__(
        self, *arguments: object, types: dict[str, str], refused: frozenset[str], directory: str
    ) -> None:
        self.types = types
        self.refused = refused
        super().__init__(*arguments, directory=directory)  # type: ignore[arg-type]

    def guess_type(self, path: str | os.PathLike[str]) -> str:
        ending = Path(path).suffix
        return self.types.get(ending) or super().guess_type(path)

    def do_GET(self) -> None:  # the base class calls it so
        if self.path.rpartition("/")[2] in self.refused:
            self.send_error(403)
        else:
            super().do_GET()

    def log_message(self, format: str, *args: object) -> None:
        return


class Server(ThreadingHTTPServer):
    """Says nothing when a browser drops what it no longer needs."""

    def handle_error(self, request: object, client_address: object) -> None:
        if not isinstance(sys.exception(), ConnectionError):
            super().handle_error(request, client_address)  # type: ignore[arg-type]


@contextmanager
def open_server(
    folder: Path, *, types: dict[str, str] | None = None, refused: frozenset[str] = frozenset()
) -> Iterator[str]:
    """Serve `folder` at 127.0.0.1 for the length of the block; gives its address."""
    known = {".wasm": "application/wasm", ".js": "text/javascript", ".json": "application/json"}
    handler = partial(Handler, types=known | (types or {}), refused=refused, directory=str(folder))
    server = Server(("127.0.0.1", 0), handler)
    # It looks for the end ten times more often than by default: every test waits for it.
    thread = threading.Thread(target=server.serve_forever, args=(0.05,))
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


@pytest.fixture
def serve_folder() -> Iterator[ServeFolder]:
    """Serve folders until the test ends: `serve_folder(folder, types={".wasm": …}, refused=frozenset(…))`."""
    with ExitStack() as servers:
        yield lambda folder, **how: servers.enter_context(open_server(folder, **how))


@pytest.fixture(scope="session")
def make_release() -> MakeRelease:
    """Make a release with the Node and the npm packages of the prepared environment."""

    def make(source_root: Path, out_dir: Path, cache_dir: Path) -> Release:
        take_interpreter(cache_dir)
        return make_runtime(
            source_root=source_root,
            node_modules=Path(os.environ["HANDBOOK_NODE_MODULES"]),
            node=Path(os.environ["HANDBOOK_NODE"]),
            out_dir=out_dir,
            cache_dir=cache_dir,
            progress=Progress(),
        )

    return make


def take_interpreter(cache: Path) -> None:
    """Put what depends on no calculator, as far as it is kept, into another cache."""
    cache.mkdir(parents=True, exist_ok=True)
    for kept in (*KEPT.glob("interpreter-*"), *KEPT.glob("standard-library-*")):
        if not (cache / kept.name).exists():
            shutil.copyfile(kept, cache / kept.name)


@pytest.fixture(scope="session")
def runtime_release(make_release: MakeRelease, tmp_path_factory: pytest.TempPathFactory) -> Release:
    """The release of these calculators, from the same cache as the site's."""
    return make_release(ROOT, tmp_path_factory.mktemp("runtime"), KEPT)


@pytest.fixture(scope="session")
def small_handbook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the sources of the small handbook are; not to be changed."""
    return write_small_handbook(tmp_path_factory.mktemp("small") / "handbook")


@pytest.fixture(scope="session")
def packed(small_handbook: Path, tmp_path_factory: pytest.TempPathFactory) -> Packed:
    """The portable edition of the small handbook, packed as the command packs it; not to be changed."""
    return pack_handbook(tmp_path_factory.mktemp("packed"), Progress(), root=small_handbook)
