"""The whole build: a mistake stops it with file and line, and the site is replaced whole or not at all."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time
from html import escape, unescape
from html.parser import HTMLParser
from pathlib import Path

import pytest
from PIL import ExifTags, Image

from build_scripts.authoring.files import OWN_NAMES
from build_scripts.environment.progress import Progress
from build_scripts.errors import BuildError
from build_scripts.generator import read_warning, write_pages
from build_scripts.offline.saved_release import WORKER, list_release
from build_scripts.output import LIST, Place
from build_scripts.portable.edition import PORTABLE
from build_scripts.site.__main__ import main
from build_scripts.site.building import build_site
from build_scripts.site.edition import Edition, Parts
from build_scripts.site.served import SERVED, finish_site
from tests.build_scripts.built_lists import write_list
from tests.conftest import ROOT
from tests.small_handbook import write_handbook

pytestmark = pytest.mark.prepared

SETTINGS = """\
site_name: A small handbook
site_url: https://club.example/handbook/
nav:
  - Home: index.md
  - Lead: lead.md
strict: true
validation:
  omitted_files: warn
  absolute_links: warn
  unrecognized_links: warn
  anchors: warn
theme:
  name: material
  custom_dir: build_scripts/theme
  font: false
plugins:
  - search
markdown_extensions:
  - build_scripts.authoring.extension
"""

LEAD = """\
# A lead

``` calculator
wire-gauge: The lead
current = 5 A
length = 1.5 m
```
"""


@pytest.fixture
def handbook(tmp_path: Path) -> Path:
    """A handbook of two pages with the real calculators."""
    home = "# Home\n\nSee [the lead](lead.md).\n"
    files = {"mkdocs.yml": SETTINGS, "docs/index.md": home, "docs/lead.md": LEAD}
    return write_handbook(tmp_path / "handbook", files)


def build(handbook: Path) -> Path:
    site = handbook.parent / "site"
    # The runtime of the same calculators comes from the cache of this checkout.
    build_site(site, Progress(), root=handbook, cache=ROOT / ".cache")
    return site


def put_old_site(handbook: Path) -> Path:
    """What a former build has left there."""
    site = handbook.parent / "site"
    (site / "gone").mkdir(parents=True)
    (site / "gone" / "index.html").write_text("old", "utf-8")
    (site / WORKER).write_text("old", "utf-8")
    write_list(site)
    return site


def list_scripts(page: Path) -> list[str]:
    """The inline scripts of a page, as a browser finds them."""
    reader = ScriptReader()
    reader.feed(page.read_text("utf-8"))
    return reader.scripts


class ScriptReader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.scripts: list[str] = []
        self.within = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.within = tag == "script" and "src" not in dict(attrs)

    def handle_data(self, data: str) -> None:
        if self.within:
            self.scripts.append(data)
            self.within = False


def test_a_build_is_replaced_whole(handbook: Path) -> None:
    site = put_old_site(handbook)
    assert build(handbook) == site
    assert not (site / "gone").exists()
    page = (site / "lead" / "index.html").read_text("utf-8")
    assert 'data-calculator="wire-gauge"' in page
    # Which size it is, is tested with the calculator; here a result has to stand in the page.
    assert re.search(r'data-output="gauge"><dt>[^<]+</dt><dd>\d+ AWG</dd>', page)
    runtime = re.search(r'data-runtime="([^"]+)"', page)
    assert runtime is not None
    folder = (site / "lead" / runtime[1]).resolve()
    assert {"manifest.json", "files.js", "worker.js", "snapshot.bin", "library.bin"} <= {
        path.name for path in folder.iterdir()
    }
    for address in re.findall(r'(?:src|href|data-theme|data-rows)="((?:\.\./)*assets/[^"?#]+)', page):
        assert (site / "lead" / address).is_file(), address
    assert sorted(path.name for path in handbook.parent.iterdir()) == ["handbook", "site"]


def test_kept_templates_follow_the_theme_and_may_be_damaged(handbook: Path, tmp_path: Path) -> None:
    def write() -> str:
        write_pages(handbook, tmp_path / "pages", "0123456789abcdef", {}, {}, tmp_path / "cache")
        return (tmp_path / "pages" / "index.html").read_text("utf-8")

    first = write()
    kept = list((tmp_path / "cache" / "page-templates").iterdir())
    assert kept
    for file in kept:
        file.write_bytes(b"damaged")
    assert write() == first
    theme = handbook / "build_scripts" / "theme" / "main.html"
    block = "{% block announce %}<p>Another theme</p>{% endblock %}"
    theme.write_text(theme.read_text("utf-8") + block, "utf-8")
    assert "<p>Another theme</p>" in write()


def test_the_same_articles_give_the_same_bytes(handbook: Path) -> None:
    pages = []
    for _ in range(2):
        site = build(handbook)
        pages.append({path.relative_to(site): path.read_bytes() for path in site.rglob("*.html")})
    assert pages[0] == pages[1]
    assert pages[0]


@pytest.mark.parametrize(
    ("line", "number", "words"),
    [
        (
            "curent = 5 A",
            5,
            "curent: wire-gauge has no field of this name; did you mean “current”? allowed: current, supply",
        ),
        ("current = 5 m", 5, "“5 m” is a length"),
        ("current = 5000 A", 5, "allowed: 1 µA to 400 A"),
    ],
)
def test_a_mistake_in_a_fence_stops_the_build_and_leaves_the_old_site(
    handbook: Path, line: str, number: int, words: str
) -> None:
    site = put_old_site(handbook)
    (handbook / "docs" / "lead.md").write_text(LEAD.replace("current = 5 A", line), "utf-8")
    with pytest.raises(BuildError) as caught:
        build(handbook)
    told = str(caught.value).replace("\u00a0", " ")
    assert told.startswith(f"docs/lead.md:{number}: ")
    assert words in told
    assert (site / "gone" / "index.html").read_text("utf-8") == "old"
    assert sorted(path.name for path in handbook.parent.iterdir()) == ["handbook", "site"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            "See [it](nowhere.md).",
            "the link “nowhere.md” leads to no file of the handbook; write the file as seen",
        ),
        ("See [it](lead).", "the link “lead” leads to no file of the handbook; did you mean “lead.md”?"),
        (
            "See [it][r].\n\n[r]: lead.html",
            "the link “lead.html” leads to no file of the handbook; did you mean",
        ),
        ("![A plug](plug.png)", "the link “plug.png” leads to no file of the handbook"),
        (
            "See [it](/lead.md).",
            "the link “/lead.md” begins at the host's root, and the handbook may lie in a folder",
        ),
        (
            "See [it](lead.md#no-such).",
            "the link “lead.md#no-such” leads to no heading and no block; behind the “#”",
        ),
        ("See [it](#no-such).", "the link “#no-such” leads to no heading and no block"),
    ],
)
def test_a_broken_link_stops_the_build_with_its_line_and_leaves_the_old_site(
    handbook: Path, text: str, words: str
) -> None:
    site = put_old_site(handbook)
    # Where it is only shown, it is no link.
    shown = f"```\n{text}\n```\n" if "\n" not in text else "```\n\n```\n"
    (handbook / "docs" / "index.md").write_text(
        f"---\ntitle: Home\n---\n# Home\n\n{shown}\n{text}\n", "utf-8"
    )
    with pytest.raises(BuildError) as caught:
        build(handbook)
    line = 12 if "[r]:" in text else 10
    assert str(caught.value).startswith(f"docs/index.md:{line}: {words}")
    assert (site / "gone" / "index.html").read_text("utf-8") == "old"
    assert sorted(path.name for path in handbook.parent.iterdir()) == ["handbook", "site"]


@pytest.mark.parametrize("port", ["0", "65536", "-1", "http"])
def test_a_port_that_is_none_is_refused(capsys: pytest.CaptureFixture[str], port: str) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["preview", "--port", port])
    assert ended.value.code == 2
    # RFC 6335: ports are 16 bits wide, and 0 stands for none.
    assert f"“{port}” is not a port; allowed: 1 to 65535" in capsys.readouterr().err


def test_a_fence_with_tabs_is_built(handbook: Path) -> None:
    # Markdown turns tabs into spaces, so that the page's fence is not to the letter that of the file.
    article = LEAD.replace("The lead", "The\tlead")
    (handbook / "docs" / "lead.md").write_text(article, "utf-8")
    page = (build(handbook) / "lead" / "index.html").read_text("utf-8")
    assert 'data-calculator="wire-gauge"' in page
    assert 'data-output="gauge"' in page


def test_the_whole_list_comes_at_once(handbook: Path) -> None:
    docs = handbook / "docs"
    (docs / "lead.md").write_text(
        LEAD.replace("current = 5 A", "curent = 5 A\nlength = 2 m") + "\n[a](nowhere.md)\n\n[b](#gone)\n",
        "utf-8",
    )
    (docs / "index.md").write_text(
        "# Home\n\n<u onclick=x>x</u>\n\n[x](nowhere.md) [y](nowhere.md)\n", "utf-8"
    )
    (docs / "extra.md").write_text("# Not in the navigation\n", "utf-8")
    (docs / "loose.md").write_text("# Nor this one\n", "utf-8")
    (handbook / "mkdocs.yml").write_text(
        SETTINGS.replace("  - Lead: lead.md", "  - Lead: lead.md\n  - no.md"), "utf-8"
    )
    with pytest.raises(BuildError) as caught:
        build(handbook)
    told = str(caught.value).splitlines()
    assert [line.partition(": ")[0] for line in told] == [
        "docs/extra.md:1",
        "docs/index.md:3",
        "docs/index.md:5",
        "docs/lead.md:5",
        "docs/lead.md:7",
        "docs/lead.md:10",
        "docs/lead.md:12",
        "docs/loose.md:1",
        "mkdocs.yml:6",
    ]
    assert told[0].endswith(
        "this page is not in the navigation; add the line “- extra.md” to nav: in mkdocs.yml, beside the "
        "pages of its subject"
    )
    assert "the navigation names “no.md”, which is no article" in told[-1]


def test_two_pages_with_one_address_are_told(handbook: Path) -> None:
    (handbook / "docs" / "README.md").write_text("# Mine\n", "utf-8")
    with pytest.raises(BuildError) as caught:
        build(handbook)
    assert str(caught.value) == (
        "docs/README.md:1: this page would have the same address as index.md; give it another name"
    )


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("# A\n\n" + "[" * 8_000, "docs/lead.md:3: brackets (“[”) stand open here more than 20 deep"),
        (
            "# A\n\n" + "- " * 4_000 + "x",
            "docs/lead.md:3: lists, quotations or notes stand more than 20 deep",
        ),
    ],
)
def test_what_markdown_cannot_read_in_time_stops_the_build_at_once(
    handbook: Path, text: str, words: str
) -> None:
    (handbook / "docs" / "lead.md").write_text(text, "utf-8")
    began = time.process_time()
    with pytest.raises(BuildError) as caught:
        build(handbook)
    assert str(caught.value).startswith(words)
    assert time.process_time() - began < 5


def test_an_article_that_markdown_stumbles_over_is_named(handbook: Path) -> None:
    (problem,) = read_warning(handbook, "Error reading page 'sound/a.md': maximum recursion depth exceeded")
    assert str(problem).startswith(
        "docs/sound/a.md:1: this article cannot be made into a page (maximum recursion depth exceeded); take"
    )


@pytest.mark.parametrize("edition", [SERVED, PORTABLE], ids=["served", "portable"])
def test_the_places_of_the_handbooks_own_are_all_known(handbook: Path, edition: Edition) -> None:
    site = handbook.parent / "site"
    build_site(site, Progress(), root=handbook, cache=ROOT / ".cache", edition=edition)
    # Articles bring no file whose name begins with a point.
    own = {path.name for path in site.glob("[!.]*")} - {"index.html", "lead", "lead.html"}
    assert own
    assert own <= OWN_NAMES


@pytest.mark.parametrize("edition", [SERVED, PORTABLE], ids=["served", "portable"])
def test_published_pictures_do_not_say_where_they_were_taken(
    handbook: Path, tmp_path: Path, edition: Edition
) -> None:
    taken = handbook / "docs" / "bench.jpg"
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6
    exif[ExifTags.Base.Make] = "SECRET-BENCH-7"
    exif.get_ifd(ExifTags.IFD.GPSInfo).update({1: "N", 2: (51.0, 30.0, 12.5)})
    Image.new("RGB", (30, 20), "red").save(taken, exif=exif)
    before = taken.read_bytes()
    article = handbook / "docs" / "lead.md"
    article.write_text(f"{LEAD}\n![The bench](bench.jpg)\n", "utf-8")
    site = handbook.parent / "site"
    build_site(site, Progress(), root=handbook, cache=ROOT / ".cache", edition=edition)
    published = site / "bench.jpg"
    assert b"SECRET" not in published.read_bytes()
    assert b"Exif" not in published.read_bytes()
    with Image.open(published) as picture:
        assert picture.size == (20, 30)
        assert picture.getexif().get_ifd(ExifTags.IFD.GPSInfo) == {}
    assert taken.read_bytes() == before


def test_a_damaged_picture_stops_the_build_with_its_name(handbook: Path) -> None:
    site = put_old_site(handbook)
    (handbook / "docs" / "bench.png").write_bytes(b"\x89PNG\r\n\x1a\n")
    (handbook / "docs" / "table.png").write_bytes(b"no picture")
    with pytest.raises(BuildError) as caught:
        build(handbook)
    told = str(caught.value).splitlines()
    assert [line.split(": ")[0] for line in told] == ["docs/bench.png:1", "docs/table.png:1"]
    assert "this picture is damaged or cut off; save it anew, or send it again" in told[0]
    assert "this is not what a file ending in .png holds" in told[1]
    assert (site / "gone" / "index.html").read_text("utf-8") == "old"


def test_a_warning_of_the_generator_that_nobody_knows_is_passed_on(handbook: Path) -> None:
    (problem,) = read_warning(handbook, "The moon is full.")
    assert str(problem) == "mkdocs.yml:1: The moon is full."


@pytest.mark.parametrize("encoding", ["latin-1", "utf-16"])
def test_an_article_in_another_encoding_is_named(handbook: Path, encoding: str) -> None:
    (handbook / "docs" / "lead.md").write_bytes("# Größe\n".encode(encoding))
    with pytest.raises(
        BuildError, match=r"^docs/lead\.md:1: this is not UTF-8 text; save the file as UTF-8$"
    ):
        build(handbook)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (
            "  - <script>alert(1)</script>: lead.md",
            "the title “<script>alert(1)</script>” in nav: holds “<” or “>”",
        ),
        (
            "  - <img src=x onerror=alert(1)>:\n    - lead.md",
            "the title “<img src=x onerror=alert(1)>” in nav:",
        ),
        (
            "  - Lead: lead.md\n  - Evil: javascript:alert(1)",
            "“javascript:alert(1)” in nav: is no article; allowed:",
        ),
        ("  - Lead: lead.md\n  - Evil: http://[", "“http://[” in nav: is no article"),
        *(
            (f"  - Lead: lead.md\n  - Evil: '{target}'", f"“{target}” in nav: is no article")
            for target in (
                'https://club.example/"><iframe srcdoc="<script src=../run.toml></script>"></iframe>',
                'https://club.example/"><meta http-equiv=refresh content=0;url=https://evil.example/>',
                'https://club.example/" style="position:fixed;inset:0',
                "//evil.example/",
                "https://club.example/`a`",
                "https://club.example/a b",
                "lead.md#there",
                "lead.html",
                "../lead.md",
                "/lead.md",
                "table.toml",
                "?lead.md",
            )
        ),
        ("  - L\u202eead: lead.md", "“L[U+202E]ead”: the invisible sign U+202E turns round"),
        (
            "  - Lead: lead.md\n  - Club: 'https://club.example/\u2066'",
            "“https://club.example/[U+2066]”: the invisible sign",
        ),
    ],
)
def test_hostile_words_in_the_navigation_are_refused(handbook: Path, line: str, words: str) -> None:
    (handbook / "mkdocs.yml").write_text(SETTINGS.replace("  - Lead: lead.md", line), "utf-8")
    with pytest.raises(BuildError) as caught:
        build(handbook)
    assert str(caught.value).count("\n") == 0
    assert str(caught.value).startswith(f"mkdocs.yml:{6 if 'Lead: lead.md' in line else 5}: {words}")


@pytest.mark.parametrize(
    "setting",
    [
        "site_description: Leads \u202e and plugs",
        "site_author: A \u2066club",
        "copyright: \x7f",
        "extra:\n  social:\n    - name: Us\u202e",
    ],
)
def test_signs_that_nobody_sees_are_refused_in_the_settings(handbook: Path, setting: str) -> None:
    before = SETTINGS.rstrip("\n").count("\n") + 1
    # A control character cannot stand in YAML as such.
    setting = re.sub("(\\S*\x7f)", r'"\\x7f"', setting)
    (handbook / "mkdocs.yml").write_text(f"{SETTINGS}{setting}\n", "utf-8")
    with pytest.raises(BuildError, match=r"U\+(202E|2066|007F)") as caught:
        build(handbook)
    line = before + len(setting.splitlines())
    assert str(caught.value).startswith(
        ("mkdocs.yml:1: " if "x7f" in setting else f"mkdocs.yml:{line}: ") + "“"
    )


def test_an_address_in_the_navigation_leads_where_it_says(handbook: Path) -> None:
    address = "https://club.example/a'b/größe?x=1&copy;2;(3)#there"
    (handbook / "mkdocs.yml").write_text(
        SETTINGS.replace("  - Lead: lead.md", f'  - Lead: lead.md\n  - Club: "{address}"'), "utf-8"
    )
    contents = json.loads((build(handbook) / "search" / "contents.json").read_text("utf-8"))
    assert ["Club", address] in contents


@pytest.mark.parametrize("sign", ['"', "'", "<", " "])
def test_an_address_of_the_handbook_that_would_end_an_attribute_is_refused(handbook: Path, sign: str) -> None:
    settings = SETTINGS.replace("club.example/handbook/", f"club.example/a{sign}b/")
    (handbook / "mkdocs.yml").write_text(settings, "utf-8")
    with pytest.raises(BuildError) as caught:
        build(handbook)
    told = f"mkdocs.yml:2: site_url: “https://club.example/a{sign}b/” is no address; allowed: https://"
    assert str(caught.value).startswith(told)


@pytest.mark.parametrize("value", ['"false"', "no thanks", "0", "[]"])
def test_the_offline_switch_does_not_fail_in_silence(handbook: Path, value: str) -> None:
    (handbook / "mkdocs.yml").write_text(f"{SETTINGS}extra:\n  offline: {value}\n", "utf-8")
    with pytest.raises(
        BuildError, match=r"^mkdocs\.yml:21: offline: “.*” is neither on nor off; allowed: true, false"
    ):
        build(handbook)


def test_settings_that_the_generator_refuses_are_told_with_its_reason(handbook: Path) -> None:
    (handbook / "mkdocs.yml").write_text(SETTINGS + "use_directory_urls: perhaps\n", "utf-8")
    with pytest.raises(BuildError, match=r"^mkdocs\.yml: .*use_directory_urls"):
        build(handbook)


def test_a_generator_that_stumbles_gives_a_sentence(handbook: Path) -> None:
    theme = handbook / "build_scripts" / "theme" / "main.html"
    theme.write_text("{% extends 'nowhere.html' %}", "utf-8")
    with pytest.raises(BuildError, match=r"nowhere\.html"):
        build(handbook)


HEADINGS = [
    "</title><script>alert('h')</script>",
    '"><img src=x onerror=alert(1)>',
    'R < 1 & "x" {{ config }}',
]


@pytest.mark.parametrize("heading", HEADINGS)
def test_a_heading_stays_words_in_every_page(handbook: Path, heading: str) -> None:
    plain = build(handbook)
    expected = {page.relative_to(plain): len(list_scripts(page)) for page in plain.rglob("*.html")}
    (handbook / "docs" / "lead.md").write_text(f"# {escape(heading)}\n\n{LEAD.partition('\n')[2]}", "utf-8")
    (handbook / "mkdocs.yml").write_text(SETTINGS.replace("Lead: lead.md", "lead.md"), "utf-8")
    site = build(handbook)
    assert {page.relative_to(site): len(list_scripts(page)) for page in site.rglob("*.html")} == expected
    page = (site / "lead" / "index.html").read_text("utf-8")
    (title,) = re.findall(r"<title>(.*?)</title>", page)
    assert unescape(title) == f"{heading} - A small handbook"
    assert "onerror=alert(1)>" not in page
    assert "alert(" not in "".join(list_scripts(site / "404.html"))


def test_front_matter_stays_words_in_every_page(handbook: Path) -> None:
    settings = (
        "---\ntitle: 'Bolts & \"nuts\" &lt;b&gt;'\ndescription: 'A 1/2\" bolt'\nauthor: 'A \"club\"'\n---\n"
    )
    (handbook / "docs" / "lead.md").write_text(settings + LEAD, "utf-8")
    (handbook / "mkdocs.yml").write_text(SETTINGS.replace("Lead: lead.md", "lead.md"), "utf-8")
    site = build(handbook)
    page = (site / "lead" / "index.html").read_text("utf-8")
    assert [
        unescape(words)
        for words in re.findall(r'<meta name="(?:description|author)" content="([^"]*)">', page)
    ] == [
        'A 1/2" bolt',
        'A "club"',
    ]
    assert "<title>Bolts &amp; " in page
    # The words are the same in a neighbour's foot, which may be written before, and in the contents.
    home = (site / "index.html").read_text("utf-8")
    assert "Bolts &amp; &#34;nuts&#34; &amp;lt;b&amp;gt;" in home
    contents = json.loads((site / "search" / "contents.json").read_text("utf-8"))
    assert ['Bolts & "nuts" &lt;b&gt;', "lead/"] in contents


@pytest.mark.parametrize(
    "settings",
    [
        'title: "T \\x3cscript\\x3ealert(1)\\x3c/script\\x3e"',
        'description: "\\x22\\x3e\\x3cscript\\x3ealert(1)\\x3c/script\\x3e"',
        'author: "\\x22\\x3e\\x3cscript\\x3ealert(1)\\x3c/script\\x3e"',
    ],
)
def test_markup_in_front_matter_is_refused(handbook: Path, settings: str) -> None:
    (handbook / "docs" / "lead.md").write_text(f"---\n{settings}\n---\n{LEAD}", "utf-8")
    with pytest.raises(BuildError, match=r"^docs/lead\.md:2: “\w+” holds “[<>]”, which belongs to HTML"):
        build(handbook)


def test_a_script_that_slipped_through_every_check_is_not_published(handbook: Path) -> None:
    def finish(folder: Path, parts: Parts) -> None:
        page = folder / "lead" / "index.html"
        text = page.read_text("utf-8")
        page.write_text(text.replace("</article>", "<script>alert(1)</script></article>"), "utf-8")
        finish_site(folder, parts)

    site = put_old_site(handbook)
    stopped = r"^lead/index\.html: this page holds a script that is not the handbook's own: “<script>alert"
    with pytest.raises(BuildError, match=stopped):
        build_site(site, Progress(), edition=Edition(finish), root=handbook, cache=ROOT / ".cache")
    assert (site / "gone" / "index.html").read_text("utf-8") == "old"


def test_a_placeholder_that_cannot_be_filled_is_not_published(handbook: Path) -> None:
    def finish(folder: Path, parts: Parts) -> None:
        page = folder / "lead" / "index.html"
        text = page.read_text("utf-8")
        page.write_text(text.replace("wire-gauge", "no-such"), "utf-8")
        finish_site(folder, parts)

    with pytest.raises(BuildError, match=r"^lead/index\.html: “The lead”: there is no calculator “no-such”"):
        build_site(
            handbook.parent / "site",
            Progress(),
            edition=Edition(finish),
            root=handbook,
            cache=ROOT / ".cache",
        )


def test_linked_folders_and_files_are_not_published(handbook: Path) -> None:
    outside = handbook.parent / "outside"
    outside.mkdir()
    (outside / "evil.js").write_text("alert(1)", "utf-8")
    (handbook / "docs" / "linked").symlink_to(outside)
    (handbook / "docs" / "host.csv").symlink_to("/etc/hostname")
    (handbook / "docs" / "gone.md").symlink_to(handbook / "nowhere.md")
    with pytest.raises(BuildError) as caught:
        build(handbook)
    told = str(caught.value)
    for name in ("linked", "host.csv", "gone.md"):
        assert f"docs/{name}:1: this is a link to another place" in told
    assert not (handbook.parent / "site").exists()


# --- Where a site is put ---


@pytest.mark.parametrize("name", ["docs", "docs/new", "calculators", ".", "..", "build_scripts/theme"])
def test_the_sources_are_never_replaced(handbook: Path, name: str) -> None:
    before = sorted(handbook.rglob("*"))
    place = (handbook / name).resolve()
    with pytest.raises(
        BuildError, match="holds the handbook's sources or lies among them; name another place"
    ):
        build_site(place, Progress(), root=handbook, cache=ROOT / ".cache")
    assert sorted(handbook.rglob("*")) == before


@pytest.mark.parametrize("name", ["notes.txt", WORKER])
def test_a_folder_of_somebodys_own_is_never_replaced(handbook: Path, name: str) -> None:
    mine = handbook.parent / "mine"
    mine.mkdir()
    (mine / name).write_text("mine", "utf-8")
    (mine / "more.txt").write_text("mine", "utf-8")
    with pytest.raises(
        BuildError,
        match=r"is not an earlier build of the handbook and would be replaced: the list .*; move it",
    ):
        build_site(mine, Progress(), root=handbook, cache=ROOT / ".cache")
    assert {path.name: path.read_text("utf-8") for path in mine.iterdir()} == {
        name: "mine",
        "more.txt": "mine",
    }


def test_a_checkout_of_the_published_branch_outlives_every_build(
    handbook: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    site = handbook.parent / "site"
    git = ["git", "-c", "user.name=a", "-c", "user.email=a@club.example", "-C", str(site)]
    site.mkdir()
    subprocess.run([*git, "init", "--quiet"], check=True)
    (site / "CNAME").write_text("club.example\n", "utf-8")
    build(handbook)
    subprocess.run([*git, "add", "."], check=True)
    subprocess.run([*git, "commit", "--quiet", "-m", "published"], check=True)
    # A fresh clone knows of no cache, and builds of another machine have no other.
    clone = handbook.parent / "clone"
    subprocess.run(["git", "clone", "--quiet", str(site), str(clone)], check=True)
    (handbook / "docs" / "index.md").write_text("# Home\n\nMended; see [the lead](lead.md).\n", "utf-8")
    capsys.readouterr()
    build_site(clone, Progress(), root=handbook, cache=ROOT / ".cache")
    assert capsys.readouterr().err.endswith("Left as it was, because no build wrote it: CNAME\n")
    changed = subprocess.run(
        ["git", "-C", str(clone), "status", "--porcelain"], capture_output=True, text=True, check=True
    ).stdout.splitlines()
    assert " M index.html" in changed
    assert not [line for line in changed if "CNAME" in line or line.startswith((" D", "??"))]


def test_what_is_changed_in_a_site_reaches_no_other_build(handbook: Path) -> None:
    site = build(handbook)
    (worker,) = site.glob("runtime/*/worker.js")
    published = worker.read_bytes()
    for path in site.glob("runtime/*/*"):
        assert path.stat().st_nlink == 1
    with worker.open("ab") as file:
        file.write(b"// changed by hand\n")
    again = handbook.parent / "again"
    build_site(again, Progress(), root=handbook, cache=ROOT / ".cache")
    assert (again / worker.relative_to(site)).read_bytes() == published


def test_the_list_of_the_builds_files_is_not_saved_by_readers(handbook: Path) -> None:
    site = build(handbook)
    assert LIST not in (site / WORKER).read_text("utf-8")
    # A copy of a published site may be listed again.
    assert LIST not in {file.url for file in list_release(site)}
    assert (site / LIST).is_file()


def test_a_file_is_never_replaced(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("mine", "utf-8")
    for place in (tmp_path / "file", tmp_path / "file" / "below"):
        assert main(["build", "--site", str(place)]) == 1
        assert (
            capsys.readouterr().err
            == f"{tmp_path / 'file'} is a file; name another place with --site FOLDER\n"
        )
    assert [path.name for path in tmp_path.iterdir()] == ["file"]


def test_an_empty_folder_a_new_one_and_an_earlier_build_may_be_replaced(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "built").mkdir()
    (tmp_path / "built" / WORKER).write_text("x", "utf-8")
    write_list(tmp_path / "built")
    for name in ("empty", "new", "built"):
        Place(tmp_path / name, LIST, (tmp_path / name,), "--site").check(ROOT)


def test_a_place_where_nothing_can_be_written_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["build", "--site", "/proc/nope"]) == 1
    told = capsys.readouterr().err
    assert "The site could not be written: " in told
    assert "/proc" in told


def start_build(site: Path) -> subprocess.Popen[str]:
    command = [sys.executable, "-P", "-m", "build_scripts.site", "build", "--site", str(site)]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.Popen(command, cwd=ROOT, env=environment, stderr=subprocess.PIPE, text=True)


def test_two_builds_of_one_place_wait_for_each_other(tmp_path: Path) -> None:
    builds = [start_build(tmp_path / "site") for _ in range(2)]
    told = [process.communicate(timeout=120)[1] for process in builds]
    assert [process.returncode for process in builds] == [0, 0], told
    assert "".join(told).count("is building the site; waiting for it …") == 1
    assert [path.name for path in tmp_path.iterdir()] == ["site"]


def test_an_interrupted_build_says_so_and_leaves_what_was_there(tmp_path: Path) -> None:
    site = tmp_path / "site"
    site.mkdir()
    (site / WORKER).write_text("old", "utf-8")
    write_list(site)
    with start_build(site) as process:
        assert process.stderr is not None
        for line in process.stderr:
            if line.startswith("writing the pages"):
                break
        time.sleep(0.2)
        process.send_signal(signal.SIGINT)
        told = process.stderr.read()
    assert process.returncode == 130  # 128 and the signal's number, as shells say it
    assert told.endswith("Stopped. What was built before is as it was.\n")
    assert "Traceback" not in told
    assert (site / WORKER).read_text("utf-8") == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["site"]
