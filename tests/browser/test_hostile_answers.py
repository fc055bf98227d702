"""What a stranger's calculators answer: nothing a result may not show reaches the page."""

import json
from functools import partial
from html import escape
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, Route, expect

from calculators import list_calculators
from calculators.answers import answer
from tests.browser.hostile import FIELD, PAGE, open_lead, read, tell, type_text
from tests.browser.waiting import wait_until

REFUSED = "the answer holds what no calculator may show"
GOOD = "80 °C"

MARKUP = {
    "refresh": '<meta http-equiv="refresh" content="0; url=//evil.example/?figures">',
    "handler": '<img src="x" onerror="self.ran = true">',
    "picture": '<img src="//evil.example/x.png">',
    "link": '<a href="//evil.example/">press here</a>',
    "script": '<a href="javascript:self.ran = true">press here</a>',
    "inline": "<script>self.ran = true</script>",
    "frame": '<iframe srcdoc="<script>parent.ran = true</script>"></iframe>',
    "form": '<form action="//evil.example/"><input name="nodeName"><button>Send</button></form>',
    "clobbered form": '<form><input name="attributes"><input name="nodeName"><input name="nodeType"></form>',
    "base": '<base href="//evil.example/">',
    "sheet": "<style>* { background: url(//evil.example/x.png) }</style>",
    "style": '<p style="position: fixed; inset: 0">all of the page</p>',
    "event": '<details open ontoggle="self.ran = true"><summary>x</summary></details>',
    "id": '<p id="handbookWorkers">taken</p>',
    "theme's class": '<p class="md-consent__overlay">all of the page</p>',
    "script's class": '<p class="sl-newer">a bar over the page</p>',
    "class among ours": '<p class="sl-verdict md-overlay">x</p>',
    "block": '<section class="sl-block" data-calculator="wire-gauge"></section>',
    "button": '<button data-do="link" type="button">x</button>',
    "later": '<p data-later="x.js">x</p>',
    "vector handler": '<svg class="sl-drawing"><g onload="self.ran = true"/></svg>',
    "vector script": '<svg class="sl-drawing"><script>self.ran = true</script></svg>',
    "vector link": '<svg class="sl-drawing"><a href="javascript:self.ran = true"><text>x</text></a></svg>',
    "foreign vector": '<svg class="sl-drawing"><use href="//evil.example/x.svg#a"/></svg>',
    "paint": '<svg class="sl-drawing"><rect fill="url(//evil.example/x.svg#a)"/></svg>',
    "animation": '<svg class="sl-drawing"><animate attributeName="href" values="javascript:ran=1"/></svg>',
    "foreign object": '<svg class="sl-drawing"><foreignObject><p>x</p></foreignObject></svg>',
    "html in vectors": '<svg class="sl-drawing"><details></details></svg>',
    "mathematics": '<math><mtext><p class="sl-verdict">x</p></mtext></math>',
    "hidden template": "<template><img src=x onerror='self.ran = true'></template>",
    "shadow": '<div><template shadowrootmode="open"><img src=x onerror="self.ran = true"></template></div>',
    "comment": "<!-- x -->",
    "own element": "<x-note>x</x-note>",
    "slot": '<p slot="x">x</p>',
    "number": '<svg class="sl-drawing" width="nan"></svg>',
    "prototype": '<p constructor="x" __proto__="x">x</p>',
    "second": "<p>a second element</p>",
    "bare text": "words",
}


def refuse_requests(page: Page, address: str) -> list[str]:
    """The list in which every request to another place is noted."""
    asked: list[str] = []
    page.on(
        "request",
        lambda request: (
            None if request.url.startswith((address, "data:", "blob:")) else asked.append(request.url)
        ),
    )
    return asked


def check_refused(block: Locator, before: str) -> None:
    expect(block.locator(".sl-status")).to_contain_text(f"These figures could not be computed ({REFUSED}).")
    seen = read(block)
    assert seen["old"]
    assert seen["result"] == before
    # The next answer is taken as always.
    type_text(block, FIELD, GOOD)
    expect(block).not_to_have_attribute("data-old", "")


def test_nothing_gets_into_the_page_that_no_result_holds(page: Page, hostile_site: str) -> None:
    block = open_lead(page, hostile_site)
    asked = refuse_requests(page, hostile_site)
    elements = "document.querySelectorAll('section.sl-block *').length"
    for name, markup in MARKUP.items():
        before, count = read(block)["result"], page.evaluate(elements)
        # Beside the part that a result has, in place of it, and within it.
        for text in (f"+{markup}", f"<p>{markup}</p>" if name not in ("second", "bare text") else markup * 2):
            type_text(block, FIELD, tell(result__verdict=text))
            check_refused(block, before)
        # Above the form.
        type_text(block, FIELD, tell(brief=f"+{markup}"))
        check_refused(block, before)
        expect(block).to_have_attribute("data-complete", "")
        assert page.evaluate(elements) == count, name
    assert page.evaluate("self.ran") is None
    assert page.url.startswith(hostile_site + PAGE)
    assert not asked


def test_a_part_of_a_fold_is_looked_at_as_well(page: Page, hostile_site: str) -> None:
    block = open_lead(page, hostile_site)
    before = read(block)["result"]
    inside = MARKUP["refresh"] + "</details>"
    type_text(
        block, FIELD, tell(result__provenance=f'<details class="sl-fold" data-key="provenance">{inside}')
    )
    check_refused(block, before)


def test_all_or_nothing_of_an_answer_is_put_in(page: Page, hostile_site: str) -> None:
    block = open_lead(page, hostile_site)
    before = read(block)["result"]
    # The verdict comes first and is good by itself.
    told = tell(
        result__verdict='<p class="sl-verdict sl-holds">✓ Holds, says a stranger</p>',
        result__provenance="+<img>",
    )
    type_text(block, FIELD, told)
    check_refused(block, before)


@pytest.mark.parametrize(
    "changes",
    [
        {"result": None},
        {"result": {}},
        {"result": 5},
        {"result/verdict": None, "result/new": None},
        {"result/verdict": 5},
        {"result/verdict": ["<p>x</p>"]},
        {"result/verdict": {"length": -1e9}},
        {"result/__proto__": "<img>"},
        {"result/constructor": None},
        {"brief": None},
        {"brief": {}},
        {"ok": "yes"},
        {"ok": 1},
        {"ok": False},
        {"ok": False, "errors": {}},
        {"ok": False, "errors": [None]},
        {"ok": False, "errors": []},
        {"ok": False, "errors": [{"field": "constructor", "text": "x"}]},
        {"ok": False, "errors": [{"field": {"a": 1}, "text": "x"}]},
        {"result/verdict": "*1000001"},
    ],
    ids=lambda changes: json.dumps(changes)[:50],
)
def test_an_answer_of_another_shape_is_a_fault(
    page: Page, hostile_site: str, changes: dict[str, object]
) -> None:
    block = open_lead(page, hostile_site)
    before = read(block)["result"]
    thrown: list[str] = []
    page.on("pageerror", lambda error: thrown.append(str(error)))
    type_text(block, FIELD, json.dumps(changes))
    expect(block.locator(".sl-status")).to_contain_text("These figures could not be computed (")
    assert read(block)["result"] == before
    type_text(block, FIELD, GOOD)
    expect(block).not_to_have_attribute("data-old", "")
    assert not thrown


def test_an_answer_just_as_large_as_allowed_is_taken(page: Page, hostile_site: str) -> None:
    block = open_lead(page, hostile_site)
    asked = {"calculator": "wire-gauge", "fields": {}, "units": "metric", "form": "html"}
    answered = json.loads(answer(json.dumps(asked)))
    size = sum(len(name) + len(text) for name, text in answered["result"].items()) + len(answered["brief"])
    room = 1_000_000 - size + len(answered["result"]["verdict"])
    type_text(block, FIELD, tell(result__verdict=f"*{room}"))
    expect(block.locator(".sl-verdict")).to_have_text("x" * (room - 26))
    expect(block).not_to_have_attribute("data-old", "")
    type_text(block, FIELD, tell(result__verdict=f"*{room + 1}"))
    expect(block.locator(".sl-status")).to_contain_text("(the answer is empty or too large)")


def test_words_of_a_refusal_stay_words(page: Page, hostile_site: str) -> None:
    block = open_lead(page, hostile_site)
    errors = [{"field": FIELD, "text": MARKUP["handler"]}]
    type_text(block, FIELD, json.dumps({"ok": False, "errors": errors}))
    expect(block.locator(f'[data-field="{FIELD}"] .sl-error')).to_have_text(MARKUP["handler"])
    assert page.evaluate("self.ran") is None


def test_text_to_copy_is_text_or_nothing(page: Page, hostile_site: str) -> None:
    block = open_lead(page, hostile_site)
    type_text(block, FIELD, tell(result={"length": 5}))
    expect(block.locator(".sl-status")).to_contain_text("could not be computed")
    block.get_by_role("button", name="Copy as text").click()
    expect(block.get_by_role("button", name="Not computed")).to_be_visible()


def test_everything_that_the_calculators_show_is_taken(page: Page, hostile_site: str) -> None:
    # One after the other through the same door; each has to be found in the page as it was written.
    block = open_lead(page, hostile_site)
    for calculator in list_calculators():
        for units in ("metric", "imperial"):
            asked = {"calculator": calculator.slug, "fields": {}, "units": units, "form": "html"}
            answered = json.loads(answer(json.dumps(asked)))
            type_text(block, FIELD, json.dumps({"result": answered["result"], "brief": answered["brief"]}))
            expect(block).not_to_have_attribute("data-old", "")
            shown = block.evaluate("block => block.querySelector('.sl-result').textContent")
            page.evaluate(
                "html => { self.holder = new DOMParser().parseFromString(html, 'text/html'); }",
                "".join(answered["result"].values()),
            )
            assert shown == page.evaluate("self.holder.body.textContent")


def test_messages_that_nobody_asked_for_change_nothing(page: Page, hostile_site: str) -> None:
    # The worker's own script is spoilt here: it says more than it was asked.
    chatter = """
    {
      const hear = self.onmessage, say = self.postMessage.bind(self);
      self.onmessage = (event) => {
        if (event.data.type === "ask") {
          for (const data of [null, 5, "answer", {}, {type: "constructor"},
            {type: "answer", id: 4711, answer: {ok: true}},
            {type: "answer", id: "__proto__"}, {type: "ready", tier: "<b>"},
            {type: "progress", stage: "constructor", loaded: 1, total: 2}]) say(data);
        }
        return hear(event);
      };
    }
    """
    page.context.route(
        "**/worker.js",
        lambda route: route.fulfill(response=(fetched := route.fetch()), body=fetched.text() + chatter),
    )
    thrown: list[str] = []
    page.on("pageerror", lambda error: thrown.append(str(error)))
    block = open_lead(page, hostile_site)
    before = read(block)["result"]
    said = block.evaluate("""block => {
      self.said = new Set();
      const status = block.querySelector('.sl-status');
      new MutationObserver(() => self.said.add(status.textContent)).observe(status, {childList: true});
    }""")
    assert said is None
    type_text(block, "current", "7 A")
    expect(block.locator(".sl-status")).to_contain_text("Live. 1 of the figures is your own")
    assert read(block)["result"] != before
    assert not any("moment" in words or "function" in words for words in page.evaluate("[...self.said]"))
    assert not thrown


@pytest.mark.parametrize("first", ["", PAGE])
def test_no_id_of_an_article_takes_a_scripts_name(
    page: Page, hostile_site: str, hostile_folder: Path, first: str
) -> None:
    names = (
        "handbookWorkers",
        "handbookCarried",
        "trustedTypes",
        "caches",
        "mozInnerScreenX",
        "blocks",
        "engine",
        "units",
    )
    ids = "".join(f'<p id="{name}">x</p>' for name in names)
    for place in ("", PAGE):
        html = (hostile_folder / place / "index.html").read_text("utf-8")
        assert html.count("<article ") == 1
        taken = html.replace("<article ", f"{ids}<article ")
        answer_with = partial(Route.fulfill, body=taken, content_type="text/html")
        page.route(hostile_site + place, answer_with)
    thrown: list[str] = []
    page.on("pageerror", lambda error: thrown.append(str(error)))
    page.goto(hostile_site + first)
    if not first:
        wait_until(page, "document.readyState === 'complete' && window.document$ !== undefined")
        wait_until(
            page,
            "performance.getEntriesByType('resource')"
            ".some(e => e.name.endsWith('/sitemap.xml') && e.responseEnd)",
        )
        page.evaluate("self.same = true")
        page.locator('article a[href*="lead"]').click()
    block = page.locator("section.sl-block")
    expect(block).to_have_attribute("data-live", "yes", timeout=60_000)
    # The window is the one in which the name was taken.
    assert page.evaluate("self.same === true") is (not first)
    assert not thrown


@pytest.mark.parametrize(
    "kept",
    [
        "5",
        "null",
        "[]",
        '"current"',
        "{",
        '{"current": 5}',
        '{"current": null}',
        '{"current": {"toString": 1}}',
        '{"current": ["7 A"]}',
        '{"__proto__": "7 A", "constructor": "7 A", "toString": "7 A"}',
        '{"current": "' + "7" * 20_001 + '"}',
    ],
    ids=lambda kept: kept[:30],
)
def test_what_this_device_holds_is_not_trusted(page: Page, hostile_site: str, kept: str) -> None:
    thrown: list[str] = []
    page.on("pageerror", lambda error: thrown.append(str(error)))
    page.goto(hostile_site)
    page.evaluate("text => localStorage.setItem('handbook:figures:/lead/#c-the-lead', text)", kept)
    page.evaluate("localStorage.setItem('handbook:units', '{\"imperial\": 1}')")
    block = open_lead(page, hostile_site)
    expect(block.locator('[data-field="current"] input')).to_have_value("20 A")
    expect(block.locator(".sl-status")).to_have_text("Live: change any figure.")
    assert not thrown


def test_a_text_just_as_long_as_allowed_is_kept(page: Page, hostile_site: str) -> None:
    page.goto(hostile_site)
    text = "7" * 20_000
    page.evaluate(
        "text => localStorage.setItem('handbook:figures:/lead/#c-the-lead', text)",
        json.dumps({"current": text}),
    )
    page.goto(hostile_site + PAGE)
    block = page.locator("section.sl-block")
    expect(block.locator(".sl-status")).to_contain_text("mend the marked field", timeout=60_000)
    expect(block.locator('[data-field="current"] input')).to_have_value(text)


def test_what_an_address_holds_is_not_trusted(page: Page, hostile_site: str) -> None:
    thrown: list[str] = []
    page.on("pageerror", lambda error: thrown.append(str(error)))
    query = "&".join(
        f"c-the-lead.{name}={escape(text)}"
        for name, text in {
            "__proto__": "x",
            "constructor": "x",
            "toString": "x",
            "": "x",
            "length": "7" * 20_001,
        }.items()
    )
    page.goto(
        f"{hostile_site}{PAGE}?{query}&c-the-lead.current=%3Cimg%20src=x%20onerror=%22self.ran=true%22%3E&%FF=%00"
    )
    block = page.locator("section.sl-block")
    expect(block.locator(".sl-status")).to_contain_text("mend the marked field", timeout=60_000)
    expect(block.locator('[data-field="length"] input')).to_have_value("1.5 m")
    assert "<img" in block.locator('[data-field="current"] input').input_value()
    assert page.evaluate("self.ran") is None
    assert page.locator("main img").count() == 0
    assert not thrown
