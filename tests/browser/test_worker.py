"""The worker in a real Chromium: both tiers, every way a snapshot can fail, hosts that err, no way out."""

import gzip
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from build_scripts.runtime.release import Release
from calculators import SLUGS, list_calculators
from calculators.answers import answer
from tests.conftest import ServeFolder

ARITHMETIC = {"probe": "from decimal import Decimal\nfound = str(Decimal(1) / 3)"}
ARITHMETIC_ANSWER = "0.3333333333333333333333333333"

START = """async ({base, limits, questions}) => {
  const files = new Worker(base + 'files.js');
  const worker = new Worker(base + 'worker.js');
  const {port1, port2} = new MessageChannel();
  const heard = {progress: [], answers: []};
  window.worker = worker;
  await new Promise(resolve => {
    worker.onmessage = ({data}) => {
      if (data.type === 'progress') heard.progress.push(data);
      if (data.type === 'ready' || data.type === 'failed') heard.end = data;
      if (data.type === 'answer') heard.answers.push(data);
      if (heard.end && heard.answers.length === questions.length) resolve();
    };
    worker.onerror = event => resolve(heard.end = {type: 'error', reason: event.message});
    files.postMessage({base, quiet: limits.quiet, port: port1}, [port1]);
    worker.postMessage({type: 'start', base, files: port2, limits}, [port2]);
    questions.forEach((question, id) => worker.postMessage({type: 'ask', id, question}));
  });
  return heard;
}"""

# Added to a copy of the worker, which refuses to run text as code and so cannot be looked into otherwise.
LOOK = """
{
  const hear = self.onmessage;
  self.onmessage = (event) => {
    if (event.data.type !== "look") return hear(event);
    const there = event.data.names.split(' ').filter(name => globalThis[name] !== undefined);
    send({type: "there", names: there});
  };
}
"""

WAYS_OUT = (
    "fetch XMLHttpRequest WebSocket WebSocketStream EventSource WebTransport importScripts Worker "
    "SharedWorker BroadcastChannel MessageChannel caches CacheStorage Cache indexedDB IDBFactory navigator "
    "FontFace fonts Notification Request postMessage eval RTCPeerConnection setInterval location "
    "loadPyodide _createPyodideModule Response start run_scripts"
)

ASK_AGAIN = """question => new Promise(resolve => {
  window.worker.onmessage = ({data}) => data.type === 'answer' && resolve(data);
  window.worker.postMessage({type: 'ask', id: 99, question});
})"""

ASK_WHAT_IS_THERE = """names => new Promise(resolve => {
  window.worker.onmessage = ({data}) => resolve(data.names);
  window.worker.postMessage({type: 'look', names});
})"""

type Ask = Callable[..., dict[str, Any]]
type CopyRelease = Callable[[], Path]


@pytest.fixture
def ask(page: Page, serve_folder: ServeFolder) -> Ask:
    """Serve a release's folder, start its worker in an empty page, ask; returns all that was heard."""

    def start(
        release: Path, *questions: object, limits: dict[str, int] | None = None, **host: Any
    ) -> dict[str, Any]:
        page.on("console", lambda message: console.append(message.text))
        address = serve_folder(release.parent, **host)
        (release.parent / "index.html").write_text("<!doctype html><title>empty</title>", "utf-8")
        page.goto(f"{address}index.html")
        wanted = {"base": f"{address}{release.name}/", "limits": limits or {}, "questions": list(questions)}
        heard: dict[str, Any] = page.evaluate(START, wanted)
        # Each comes as soon as its calculator is there.
        heard["answers"].sort(key=lambda reply: reply["id"])
        return heard | {"console": console}

    console: list[str] = []
    return start


def add_to_worker(release: Path, script: str) -> None:
    worker = release / "worker.js"
    worker.write_text(worker.read_text("utf-8").rstrip().removesuffix("}") + script + "}\n", "utf-8")


def check_base_tier(heard: dict[str, Any], reason: str) -> None:
    assert heard["end"]["type"] == "ready", heard
    assert heard["end"]["tier"] == "base"
    assert reason in heard["end"]["reason"]
    assert any(reason in line for line in heard["console"])
    assert heard["answers"][0].get("answer") == ARITHMETIC_ANSWER, heard


def test_snapshot_is_used_and_computes(ask: Ask, copy_release: CopyRelease) -> None:
    questions: list[object] = [
        {"calculator": calculator.slug, "fields": {}, "units": "metric", "form": form}
        for calculator in list_calculators()
        for form in ("html", "json")
    ]
    heard = ask(copy_release(), ARITHMETIC, *questions)
    assert heard["end"]["type"] == "ready"
    assert heard["end"]["tier"] == "snapshot", heard["end"]
    assert "reason" not in heard["end"] or heard["end"]["reason"] is None
    answers = [reply["answer"] for reply in heard["answers"]]
    assert answers[0] == ARITHMETIC_ANSWER
    assert answers[1:] == [json.loads(answer(json.dumps(question))) for question in questions]


def test_both_tiers_give_the_same(ask: Ask, copy_release: CopyRelease, page: Page) -> None:
    release = copy_release()
    questions: list[object] = [
        {"calculator": calculator.slug, "fields": {}, "units": "metric", "form": "html"}
        for calculator in list_calculators()
    ]
    frozen = ask(release, ARITHMETIC, *questions)
    started = ask(release, ARITHMETIC, *questions, refused=frozenset({"snapshot.bin"}))
    check_base_tier(started, "snapshot.bin could not be fetched. The server answered 403.")
    assert frozen["answers"] == started["answers"]


def test_missing_snapshot(ask: Ask, copy_release: CopyRelease) -> None:
    release = copy_release()
    (release / "snapshot.bin").unlink()
    check_base_tier(ask(release, ARITHMETIC), "The server answered 404.")


def test_truncated_snapshot(ask: Ask, copy_release: CopyRelease) -> None:
    release = copy_release()
    path = release / "snapshot.bin"
    path.write_bytes(path.read_bytes()[:-100_000])
    check_base_tier(ask(release, ARITHMETIC), "damaged or did not arrive whole")


@pytest.mark.parametrize("place", [0.1, 0.5, 0.999])
def test_one_bit_altered_in_the_snapshot(ask: Ask, copy_release: CopyRelease, place: float) -> None:
    release = copy_release()
    path = release / "snapshot.bin"
    data = bytearray(path.read_bytes())
    data[int(place * len(data))] ^= 0b100
    path.write_bytes(data)
    check_base_tier(ask(release, ARITHMETIC), "damaged or did not arrive whole")


def test_snapshot_of_another_release(ask: Ask, copy_release: CopyRelease, runtime_release: Release) -> None:
    release = copy_release()
    (release / "snapshot.bin").write_bytes((runtime_release.folder / "snapshot.bin").read_bytes())
    check_base_tier(ask(release, ARITHMETIC), "belongs to another release")


def test_snapshot_whose_memory_is_of_another_release(
    ask: Ask, copy_release: CopyRelease, runtime_release: Release
) -> None:
    release = copy_release()
    other = bytearray(gzip.decompress((runtime_release.folder / "snapshot.bin").read_bytes()))
    other[:64] = json.loads((release / "manifest.json").read_text("utf-8"))["inputs"].encode()
    (release / "snapshot.bin").write_bytes(gzip.compress(other))
    check_base_tier(ask(release, ARITHMETIC), "memory is that of another release")


def test_snapshot_made_for_another_engine(ask: Ask, copy_release: CopyRelease) -> None:
    release = copy_release()
    data = bytearray(gzip.decompress((release / "snapshot.bin").read_bytes()))
    data[72] ^= 1  # the sum over the memory that is kept
    (release / "snapshot.bin").write_bytes(gzip.compress(data))
    check_base_tier(ask(release, ARITHMETIC), "fresh memory is not what the snapshot was made for")


def test_snapshot_that_never_wakes_up(ask: Ask, copy_release: CopyRelease) -> None:
    release = copy_release()
    with (release / "pyodide.js").open("a", encoding="utf-8") as script:
        script.write(
            "\n{const load = self.loadPyodide;"
            "self.loadPyodide = options => options._loadSnapshot ? new Promise(() => {}) : load(options);}"
        )
    heard = ask(release, ARITHMETIC, limits={"snapshot": 500})
    check_base_tier(heard, "The snapshot did not wake up within 0.5 s.")


@pytest.mark.parametrize("tier", ["snapshot", "base"])
def test_wrong_type_of_the_wasm_file(ask: Ask, copy_release: CopyRelease, tier: str) -> None:
    refused = frozenset({"snapshot.bin"}) if tier == "base" else frozenset()
    heard = ask(copy_release(), ARITHMETIC, types={".wasm": "text/html"}, refused=refused)
    assert heard["end"]["tier"] == tier, heard
    assert heard["answers"][0]["answer"] == ARITHMETIC_ANSWER


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("pyodide.asm.wasm", "pyodide.asm.wasm could not be fetched. The server answered 403."),
        ("pyodide.asm.js", "Pyodide's scripts could not be run."),
        ("manifest.json", "The list of files cannot be used. manifest.json could not be fetched."),
    ],
)
def test_refused_file_is_told_in_a_sentence(
    ask: Ask, copy_release: CopyRelease, name: str, reason: str
) -> None:
    heard = ask(copy_release(), ARITHMETIC, refused=frozenset({name}))
    assert heard["end"]["type"] == "failed", heard
    assert heard["end"]["reason"].startswith(reason)
    assert heard["answers"][0]["fault"].startswith(reason)


def test_library_refused_beside_the_snapshot(ask: Ask, copy_release: CopyRelease) -> None:
    heard = ask(copy_release(), ARITHMETIC, refused=frozenset({"library.bin", "snapshot.bin"}))
    assert heard["end"]["type"] == "failed"
    assert heard["end"]["reason"].startswith("library.bin could not be fetched.")


def test_spoilt_wasm_is_told_in_a_sentence(ask: Ask, copy_release: CopyRelease) -> None:
    release = copy_release()
    path = release / "pyodide.asm.wasm"
    path.write_bytes(path.read_bytes()[:1_000_000])
    heard = ask(release, ARITHMETIC)
    assert heard["end"]["type"] == "failed"
    assert heard["end"]["reason"].startswith("pyodide.asm.wasm could not be compiled.")


def test_silence_ends_at_the_limit(page: Page, serve_folder: ServeFolder, copy_release: CopyRelease) -> None:
    release = copy_release()
    (release.parent / "index.html").write_text("<!doctype html><title>empty</title>", "utf-8")
    address = serve_folder(release.parent)
    page.goto(f"{address}index.html")
    page.context.route("**/pyodide.asm.wasm", lambda route: None)  # never answered
    wanted = {"base": f"{address}{release.name}/", "limits": {"quiet": 1500}, "questions": []}
    heard = page.evaluate(START, wanted)
    assert heard["end"]["type"] == "failed"
    assert "Nothing more arrived within 1.5 s." in heard["end"]["reason"]


def test_exception_in_python_is_a_fault_and_the_worker_lives_on(ask: Ask, copy_release: CopyRelease) -> None:
    heard = ask(copy_release(), {"probe": "found = 1 / 0"}, {"calculator": "no such"}, ARITHMETIC)
    assert heard["answers"][0]["fault"] == "ZeroDivisionError: division by zero"
    assert "no such" in heard["answers"][1]["fault"]
    assert heard["answers"][2]["answer"] == ARITHMETIC_ANSWER


@pytest.mark.parametrize("refused", [frozenset(), frozenset({"snapshot.bin"})])
def test_python_cannot_import_javascript(
    ask: Ask, copy_release: CopyRelease, refused: frozenset[str]
) -> None:
    probe = """
found = []
for name in ("js", "pyodide_js"):
    try:
        __import__(name)
        found.append(name)
    except ImportError:
        pass
"""
    assert ask(copy_release(), {"probe": probe}, refused=refused)["answers"][0]["answer"] == []


@pytest.mark.parametrize("refused", [frozenset(), frozenset({"snapshot.bin"})])
def test_network_is_gone_inside_the_worker(
    ask: Ask, copy_release: CopyRelease, page: Page, refused: frozenset[str]
) -> None:
    release = copy_release()
    add_to_worker(release, LOOK)
    heard = ask(release, ARITHMETIC, refused=refused)
    assert heard["answers"][0]["answer"] == ARITHMETIC_ANSWER
    there = page.evaluate(ASK_WHAT_IS_THERE, f"WebAssembly {WAYS_OUT}")
    assert there == ["WebAssembly"]


@pytest.mark.parametrize("refused", [frozenset(), frozenset({"snapshot.bin"})])
def test_progress_never_grows_beyond_the_whole(
    ask: Ask, copy_release: CopyRelease, refused: frozenset[str]
) -> None:
    progress = ask(copy_release(), ARITHMETIC, refused=refused)["progress"]
    loaded = [step["loaded"] for step in progress if step["stage"] == "load"]
    assert loaded == sorted(loaded)
    assert all(0 <= step["loaded"] <= step["total"] for step in progress if step["stage"] == "load")
    if not refused:
        assert progress[-1]["stage"] == "start"


@pytest.mark.parametrize(("refused", "more"), [(set(), set()), ({"snapshot.bin"}, {"library.bin"})])
def test_only_what_is_needed_is_fetched(
    ask: Ask, copy_release: CopyRelease, page: Page, refused: set[str], more: set[str]
) -> None:
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    release = copy_release()
    ask(release, *(make_question(SLUGS[0]) for _ in range(2)), refused=frozenset(refused))
    names = [
        address.rpartition(f"/{release.name}/")[2] for address in asked if f"/{release.name}/" in address
    ]
    scripts = {"worker.js", "files.js", "pyodide.js", "pyodide.asm.js"}
    part = f"part-{SLUGS[0]}.bin"
    assert set(names) == scripts | {"manifest.json", "pyodide.asm.wasm", "snapshot.bin", part} | more
    assert names.count(part) == 1


def make_question(slug: str) -> dict[str, object]:
    return {"calculator": slug, "fields": {}, "units": "metric", "form": "json"}


@pytest.mark.parametrize("refused", [frozenset[str](), frozenset({"snapshot.bin"})])
def test_a_part_that_does_not_come_is_told_and_others_answer(
    ask: Ask, copy_release: CopyRelease, refused: frozenset[str]
) -> None:
    one, two = (make_question(slug) for slug in SLUGS[:2])
    heard = ask(copy_release(), one, two, ARITHMETIC, refused=refused | {f"part-{SLUGS[0]}.bin"})
    told = {reply["id"]: reply for reply in heard["answers"]}
    assert told[0]["fault"] == f"part-{SLUGS[0]}.bin could not be fetched. The server answered 403."
    assert told[1]["answer"]["ok"]
    assert told[2]["answer"] == ARITHMETIC_ANSWER


def test_a_part_that_did_not_come_is_asked_for_again(ask: Ask, copy_release: CopyRelease, page: Page) -> None:
    page.context.route("**/part-*.bin", lambda route: route.fulfill(status=503), times=1)
    ask(copy_release(), make_question(SLUGS[0]))
    again = page.evaluate(ASK_AGAIN, make_question(SLUGS[0]))
    assert again["answer"]["ok"]


def test_a_part_of_another_release_is_refused(ask: Ask, copy_release: CopyRelease) -> None:
    release = copy_release()
    part = release / f"part-{SLUGS[0]}.bin"
    part.write_bytes(gzip.compress(gzip.decompress(part.read_bytes()) + b" "))
    (reply,) = ask(release, make_question(SLUGS[0]))["answers"]
    assert reply["fault"] == f"{part.name} is not the one of this release, or is damaged."


@pytest.mark.parametrize("refused", [frozenset[str](), frozenset({"snapshot.bin"})])
def test_a_calculator_that_eats_memory_is_stopped_and_the_next_question_answered(
    ask: Ask, copy_release: CopyRelease, refused: frozenset[str]
) -> None:
    eats = {"probe": "found = []\nwhile True:\n    found.append(bytearray(1 << 20))"}
    most = {"probe": f"found = len(bytearray({200 << 20}))"}
    heard = ask(copy_release(), eats, most, ARITHMETIC, refused=refused)
    assert [reply.get("fault") for reply in heard["answers"]] == ["MemoryError", None, None]
    assert heard["answers"][1]["answer"] == 200 << 20
    assert heard["answers"][2]["answer"] == ARITHMETIC_ANSWER


def test_practice_ends_with_the_next_question(ask: Ask, copy_release: CopyRelease, page: Page) -> None:
    question = {**make_question(SLUGS[1]), "fields": {"current": "5 A"}}
    ask(copy_release(), question)
    counts = []
    for pause in (400, 0, 400):
        page.wait_for_timeout(pause)
        counts.append(page.evaluate(ASK_AGAIN, {"count": 1})["answer"])
    assert counts[0] > 1  # it practised
    assert counts[1] == counts[2]  # and no more since the question before
