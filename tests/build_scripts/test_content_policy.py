"""The Content-Security-Policy: in every page, nothing foreign, and inline scripts by their hashes alone."""

from __future__ import annotations

import re
from base64 import b64encode
from hashlib import sha256
from html import unescape
from pathlib import Path

import pytest
from mkdocs.theme import Theme

from build_scripts.errors import BuildError
from build_scripts.release.content_policy import add_content_policy, make_policy, read_inline_scripts
from build_scripts.release.pages import open_pages

HEAD = '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
(THEME, *_) = map(Path, Theme(name="material").dirs)
META = re.compile(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)">')


def write_page(path: Path, head: str = "", body: str = "") -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(f"{HEAD}{head}</head><body>{body}</body></html>", "utf-8")
    return path


def read_policy(path: Path) -> dict[str, list[str]]:
    (content,) = META.findall(path.read_text("utf-8"))
    rules = [part.split() for part in unescape(content).split("; ")]
    return {name: values for name, *values in rules}


def write_templates(folder: Path, *bodies: str) -> Path:
    """A theme whose templates hold these inline scripts."""
    (folder / "partials" / "deep").mkdir(parents=True)
    for number, body in enumerate(bodies):
        (folder / "partials" / "deep" / f"{number}.html").write_text(
            f"<b>x</b><script>{body}</script>", "utf-8"
        )
    return folder


def add_policy(site: Path, *bodies: str) -> None:
    """Add the policy to the pages of a site, whose theme holds these inline scripts."""
    known = read_inline_scripts([write_templates(site.parent / f"{site.name}-theme", *bodies)])
    with open_pages(site) as pages:
        add_content_policy(pages, known)


def find_hash(script: str) -> str:
    return f"'sha256-{b64encode(sha256(script.encode()).digest()).decode()}'"


def test_every_page_gets_the_same_policy_with_the_hashes_of_all(tmp_path: Path) -> None:
    one = write_page(tmp_path / "index.html", "<script>let a = 1 && 2;\n</script>")
    two = write_page(
        tmp_path / "deep" / "index.html", body='<script data-x="y">"ß"</script><script src="x.js"></script>'
    )
    three = write_page(
        tmp_path / "404.html", body='<script id="__config" type="application/json">{"a": 1}</script>'
    )
    add_policy(tmp_path, "let a = 1 && 2;\n", '"ß"', "let unused = 1;")
    policies = [read_policy(path) for path in (one, two, three)]
    assert policies[0] == policies[1] == policies[2]
    scripts = policies[0]["script-src"]
    assert set(scripts) == {"'self'", find_hash("let a = 1 && 2;\n"), find_hash('"ß"')}
    assert len(scripts) == 3


def test_nothing_is_allowed_but_the_handbook_itself() -> None:
    rules = {name: values for name, *values in (part.split() for part in make_policy([]).split("; "))}
    assert rules["default-src"] == ["'none'"]
    assert rules["script-src"] == ["'self'"]
    assert rules["form-action"] == ["'none'"]
    for name, values in rules.items():
        assert set(values) <= {"'self'", "'none'", "'unsafe-inline'", "data:"}, name
        assert "'unsafe-inline'" not in values or name == "style-src"
        assert "data:" not in values or name == "img-src"
    assert {"connect-src", "worker-src", "img-src", "font-src", "style-src", "base-uri"} <= set(rules)


def test_the_policy_stands_before_every_script_and_the_encoding_within_the_first_kilobyte(
    tmp_path: Path,
) -> None:
    page = write_page(
        tmp_path / "index.html", "".join(f"<script>let a = {number}</script>" for number in range(20))
    )
    add_policy(tmp_path, *(f"let a = {number}" for number in range(20)))
    text = page.read_text("utf-8")
    policy = META.search(text)
    assert policy is not None
    assert policy.start() < text.index("<script")
    # The HTML standard: the encoding is looked for in the first 1024 bytes.
    assert text.index("charset") < 1024


def test_a_page_is_otherwise_left_as_it_is(tmp_path: Path) -> None:
    page = write_page(tmp_path / "index.html", "<title>\\1 \\g&lt;x&gt;</title>", "ß → Ω <head>")
    before = page.read_text("utf-8")
    add_policy(tmp_path)
    after = page.read_text("utf-8")
    assert META.sub("", after) == before
    assert len(META.findall(after)) == 1


def test_a_head_without_an_encoding_will_do(tmp_path: Path) -> None:
    (tmp_path / "a.html").write_text("<html><head><title>x</title></head></html>", "utf-8")
    add_policy(tmp_path)
    assert (tmp_path / "a.html").read_text("utf-8").startswith("<html><head><meta http-equiv=")


def test_a_page_without_a_head_is_named(tmp_path: Path) -> None:
    write_page(tmp_path / "a.html")
    (tmp_path / "deep").mkdir()
    (tmp_path / "deep" / "bare.html").write_text("<p>x</p>", "utf-8")
    with pytest.raises(BuildError, match=r"deep.bare\.html: this page has no <head>"):
        add_policy(tmp_path)


@pytest.mark.parametrize(
    "script",
    [
        "<script>alert(1)</script>",
        "<SCRIPT>alert(1)</SCRIPT >",
        "<script\n>alert(1)</script>",
        "<script/x>let a = 1;</script>",
        "<script>let a = 1; alert(1)</script>",
        "<script>let b = new URL('..');alert('')</script>",
        "<script onload=alert(1)>let a = 1;</script>",
        "<script src='https://evil.example/x.js'></script>",
        "<script src='//evil.example/x.js'></script>",
        "<script src='\\\\evil.example/x.js'></script>",
        "<script src='&#47;/evil.example/x.js'></script>",
        "<script src='data:text/javascript,alert(1)'></script>",
        "<script src='notes.csv'></script>",
        "<script src='x.toml?.js'></script>",
        "<script src=x.js>alert(1)</script>",
        "<script src=x.js onerror=alert(1)></script>",
        '<script type="text/plain" data-later="https://evil.example/x.js"></script>',
        '<script type="text/plain" data-later="notes.toml"></script>',
        '<script type="module">alert(1)</script>',
        '<script type="importmap">{"imports": {}}</script>',
        "<script a='>'>let a = 1;</script>",
        "<script>let a = 1;",
    ],
)
def test_a_script_that_is_not_the_themes_stops_the_site_and_names_the_page(
    tmp_path: Path, script: str
) -> None:
    site = tmp_path / "site"
    write_page(site / "index.html", "<script>let a = 1;</script><script src='assets/x.js' async></script>")
    write_page(site / "spoilt.html", body=f"<p>Words</p>{script}")
    with pytest.raises(
        BuildError, match=r"^spoilt\.html: this page holds a script that is not the handbook's own"
    ):
        add_policy(site, "let a = 1;", "let b = new URL('{{ base }}');")
    assert "Content-Security-Policy" not in (site / "index.html").read_text("utf-8")


def test_a_template_may_fill_in_an_address_and_nothing_more(tmp_path: Path) -> None:
    (script,) = read_inline_scripts([write_templates(tmp_path, 'a("{{ base | url }}",b)')])
    for address in ("..", "../..", ".", "/handbook/", "https://club.example/"):
        assert script.fullmatch(f'a("{address}",b)'), address
    for words in ('"', "\\", "x y", "</script>", "`", "${x}", "(1)", ";"):
        assert not script.fullmatch(f'a("{words}",b)'), words


def test_the_themes_own_scripts_are_known() -> None:
    known = read_inline_scripts([THEME])
    page = (THEME / "partials" / "javascripts" / "base.html").read_text("utf-8")
    (body,) = re.findall(r"<script>(.*?)</script>", page, re.DOTALL)
    assert any(script.fullmatch(re.sub(r"\{\{.*?\}\}", "../..", body)) for script in known)
    assert not any(script.fullmatch("alert(1)") for script in known)
