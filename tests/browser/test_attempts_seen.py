"""What the visitor of the attempts is to see, it sees: each kind of harm, done by a page that does it."""

from pathlib import Path

from build_scripts.attempts.trap import NAMED, open_trap
from build_scripts.attempts.visiting import Visitor
from build_scripts.engines.engine import start_engine
from tests.conftest import ServeFolder

HARM = {
    "<script>self.ran = 1</script>": "something ran",
    f"<img src='http://{NAMED}/'>": "another host was asked",
    "<p style='position:fixed;inset:0'>x</p>": "something covers the page",
    "<a href='javascript:self.ran=1'>x</a>": "something leads to javascript:self.ran=1",
    "<script>location = '/elsewhere/'</script>": "the page has gone to",
    "<section data-calculator='x' class='sl-failed'></section>": "the calculator on the page does not work",
}


def test_harm_is_seen_and_its_absence_too(tmp_path: Path, serve_folder: ServeFolder) -> None:
    with open_trap() as trap, start_engine("chromium") as browser:
        for number, markup in enumerate(["words", *HARM]):
            folder = tmp_path / str(number)
            folder.mkdir()
            page = f"<!doctype html><title>x</title><article>{trap.arm(markup)}</article>"
            (folder / "index.html").write_text(page, "utf-8")
            (folder / "elsewhere").mkdir()
            (folder / "elsewhere" / "index.html").write_text("<!doctype html><title>x</title>", "utf-8")
            address = serve_folder(folder)
            wrong = Visitor(browser, address, trap).visit(address)
            expected = HARM.get(markup)
            assert [words for words in wrong if not words.startswith(str(expected))] == [], markup
            assert bool(wrong) == bool(expected), markup
