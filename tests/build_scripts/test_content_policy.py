"""The Content-Security-Policy: in every page, nothing foreign, and scripts by their hashes alone."""

from __future__ import annotations

import re
from base64 import b64encode
from hashlib import sha256
from html import unescape
from pathlib import Path

import pytest
from mkdocs.theme import Theme

from build_scripts.errors import BuildError
from build_scripts.release.content_policy import (
    FROM_FOLDER,
    FROM_HOST,
    Rules,
    add_content_policy,
    make_policies,
    read_inline_scripts,
)
from build_scripts.release.own_scripts import add_guard, find_scripts, hold_scripts
from build_scripts.release.pages import Pages, open_pages

HEAD = '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
(THEME, *_) = map(Path, Theme(name="material").dirs)
META = re.compile(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)">')
OWN = {"assets/x.js": "sha256-own", "assets/theme.js": "sha256-theme"}
ICONS = ":root{--md-admonition-icon--note:url('data:image/svg+xml;charset=utf-8,%3Csvg/%3E');}"


def write_page(path: Path, head: str = "", body: str = "") -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(f"{HEAD}{head}</head><body>{body}</body></html>", "utf-8")
    return path


def read_policy(path: Path) -> dict[str, list[str]]:
    (content,) = META.findall(path.read_text("utf-8"))
    return read_rules(unescape(content))


def write_templates(folder: Path, *bodies: str) -> Path:
    """A theme whose templates hold these inline scripts."""
    (folder / "partials" / "deep").mkdir(parents=True)
    for number, body in enumerate(bodies):
        (folder / "partials" / "deep" / f"{number}.html").write_text(
            f"<b>x</b><script>{body}</script>", "utf-8"
        )
    return folder


def add_policy(site: Path, *bodies: str, rules: Rules = FROM_HOST) -> None:
    """Add the policy to the pages of a site, whose theme holds these inline scripts."""
    known = read_inline_scripts([write_templates(site.parent / f"{site.name}-theme", *bodies)])
    with open_pages(site) as pages:
        add_content_policy(pages, known, OWN, rules)


def read_rules(policy: str) -> dict[str, list[str]]:
    return {name: values for name, *values in (part.split() for part in policy.split("; "))}


def find_hash(script: str) -> str:
    return f"'sha256-{b64encode(sha256(script.encode()).digest()).decode()}'"


def test_every_page_gets_the_same_policy_with_the_hashes_of_all(tmp_path: Path) -> None:
    one = write_page(tmp_path / "index.html", "<script>let a = 1 && 2;\n</script>")
    two = write_page(
        tmp_path / "deep" / "index.html",
        body='<script data-x="y">"ß"</script><script src="assets/x.js"></script>',
    )
    three = write_page(
        tmp_path / "404.html", body='<script id="__config" type="application/json">{"a": 1}</script>'
    )
    add_policy(tmp_path, "let a = 1 && 2;\n", '"ß"', "let unused = 1;")
    policies = [read_policy(path) for path in (one, two, three)]
    assert policies[0] == policies[1] == policies[2]
    scripts = policies[0]["script-src"]
    files = {f"'{value}'" for value in OWN.values()}
    assert set(scripts) == {find_hash("let a = 1 && 2;\n"), find_hash('"ß"'), *files}
    assert len(scripts) == 4


@pytest.mark.parametrize("rules", [FROM_HOST, FROM_FOLDER])
def test_nothing_is_allowed_but_the_handbook_itself(rules: Rules) -> None:
    policy, *more = map(read_rules, make_policies(rules=rules))
    for name in ("default-src", "base-uri", "form-action"):
        assert policy[name] == ["'none'"]
    assert policy["require-trusted-types-for"] == ["'script'"]
    assert policy["trusted-types"] == ["default"]
    # Neither any file nor any text is a script, and no element brings a style of its own.
    assert set(policy["script-src"]) <= {"'strict-dynamic'", "'wasm-unsafe-eval'"}
    assert policy["style-src"] == ["'self'"]
    for name, values in policy.items():
        if name not in ("script-src", "trusted-types", "require-trusted-types-for"):
            allowed = {"img-src": "data:", "worker-src": "blob:"}
            assert set(values) <= {"'self'", "'none'", allowed.get(name, "")}, name
    assert {"connect-src", "worker-src", "img-src", "font-src", "frame-src", "manifest-src"} <= set(policy)
    # Where scripts are trusted to run scripts, a second policy keeps them in the folder.
    dynamic = "'strict-dynamic'" in policy["script-src"]
    assert [one["script-src"] for one in more] == [["'self'", "'wasm-unsafe-eval'"]] * dynamic


def test_what_runs_a_file_says_the_files_hash(tmp_path: Path) -> None:
    named = 'data-theme="../assets/theme.js" data-rows="../assets/x.js"'
    head = f'<script src="../assets/x.js" {named} async></script>'
    page = write_page(tmp_path / "deep" / "index.html", head)
    add_policy(tmp_path)
    (script,) = re.findall(r"<script[^>]*>", page.read_text("utf-8"))
    assert ' integrity="sha256-own"' in script
    assert 'data-theme-integrity="sha256-theme"' in script
    assert 'data-rows-integrity="sha256-own"' in script
    assert all(words in script for words in head.removesuffix("></script>").split(" "))


def test_no_file_says_its_hash_where_no_browser_compares_it(tmp_path: Path) -> None:
    head = '<script type="text/plain" data-src="assets/x.js" data-theme="assets/theme.js"></script>'
    page = write_page(tmp_path / "index.html", head)
    add_policy(tmp_path, rules=FROM_FOLDER)
    text = page.read_text("utf-8")
    assert head in text
    assert len(META.findall(text)) == 2
    assert "sha256-own" not in text


def test_the_hashes_are_those_of_the_files(tmp_path: Path) -> None:
    (tmp_path / "assets").mkdir()
    (tmp_path / "assets" / "live.abc.js").write_bytes(b"let a = 1;\r\n")
    (tmp_path / "assets" / "uploaded.js").write_bytes(b"")
    found = find_scripts(tmp_path, ("assets/live.*.js", "assets/absent.js"))
    assert {name: f"'{value}'" for name, value in found.items()} == {
        "assets/live.abc.js": find_hash("let a = 1;\r\n")
    }


def test_icons_of_the_theme_are_the_only_style(tmp_path: Path) -> None:
    page = write_page(tmp_path / "index.html", f"<style>{ICONS}</style>")
    add_policy(tmp_path)
    assert read_policy(page)["style-src"] == ["'self'", find_hash(ICONS)]


@pytest.mark.parametrize(
    "style",
    [
        "<style>p{color:red}</style>",
        f"<style>{ICONS}p{{color:red}}</style>",
        "<style>:root{--md-admonition-icon--note:url('https://evil.example/x.svg');}</style>",
        "<STYLE media=all>p{color:red}</STYLE>",
        "<svg><style>p{color:red}</style></svg>",
        "<style>",
    ],
)
def test_a_style_that_is_not_the_themes_stops_the_site_and_names_the_page(tmp_path: Path, style: str) -> None:
    site = tmp_path / "site"
    write_page(site / "spoilt.html", body=f"<p>Words</p>{style}")
    with pytest.raises(
        BuildError, match=r"^spoilt\.html: this page holds a style that is not the handbook's own: “<"
    ):
        add_policy(site)


def test_columns_are_aligned_by_attributes(tmp_path: Path) -> None:
    cells = (
        '<th style="text-align: right;">A</th><td colspan="2" style="text-align:center">1</td>'
        '<td style="text-align: left;">&lt;td style="text-align: left;"></td>'
    )
    page = write_page(tmp_path / "index.html", body=f"<table><tr>{cells}</tr></table>")
    add_policy(tmp_path)
    assert (
        '<th align="right">A</th><td colspan="2" align="center">1</td>'
        '<td align="left">&lt;td style="text-align: left;"></td>'
    ) in page.read_text("utf-8")


def test_every_page_begins_with_its_guard(tmp_path: Path) -> None:
    pages: Pages = {
        name: f'<head><meta charset="utf-8"><script data-site="{site}"></script></head>'
        for name, site in {"index.html": ".", "a/b/index.html": "../..", "404.html": "/handbook/"}.items()
    }
    guard = add_guard(pages, ("assets/x.js", "service_worker.js"))
    assert "trustedTypes" in guard
    assert "//" not in guard
    add_content_policy(pages, read_inline_scripts([], guard), OWN)
    for text in pages.values():
        assert f' data-scripts="assets/x.js service_worker.js">{guard}</script>' in text
        assert find_hash(guard) in unescape(text)


def test_a_page_without_a_place_for_its_guard_is_named() -> None:
    with pytest.raises(
        BuildError, match=r"^deep/bare\.html: this page has no place for the script that guards"
    ):
        add_guard({"deep/bare.html": "<head></head>"}, ())


def test_scripts_of_the_head_are_held_until_one_runs_them() -> None:
    body = '<body><script src="assets/x.js"></script></body>'
    pages: Pages = {"index.html": f'<head><script src="assets/x.js" data-a="1" async></script></head>{body}'}
    runner = hold_scripts(pages)
    assert pages["index.html"] == (
        '<head><script type="text/plain" data-src="assets/x.js" data-a="1"></script>'
        f"<script>{runner}</script></head>{body}"
    )


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
        "<script src='assets/x.js.toml'></script>",
        "<script src='assets/uploaded.js'></script>",
        "<script src='x.js'></script>",
        "<script src='https://evil.example/assets/x.js'></script>",
        "<script src='//evil.example/assets/x.js'></script>",
        "<script src=assets/x.js>alert(1)</script>",
        "<script src=assets/x.js onerror=alert(1)></script>",
        "<script src=assets/x.js integrity=sha256-other></script>",
        '<script type="text/plain" data-src="assets/uploaded.js"></script>',
        "<script src=assets/x.js data-theme='notes.toml'></script>",
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
