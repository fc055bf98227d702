"""The Content-Security-Policy: in every page, nothing foreign, and inline scripts by their hashes alone."""

from __future__ import annotations

import re
from base64 import b64encode
from hashlib import sha256
from html import unescape
from pathlib import Path

import pytest

from build_scripts.release.content_policy import add_content_policy, make_policy
from build_scripts.release.pages import open_pages

HEAD = '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
META = re.compile(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)">')


def write_page(path: Path, head: str = "", body: str = "") -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(f"{HEAD}{head}</head><body>{body}</body></html>", "utf-8")
    return path


def read_policy(path: Path) -> dict[str, list[str]]:
    (content,) = META.findall(path.read_text("utf-8"))
    rules = [part.split() for part in unescape(content).split("; ")]
    return {name: values for name, *values in rules}


def find_hash(script: str) -> str:
    return f"'sha256-{b64encode(sha256(script.encode()).digest()).decode()}'"


def test_every_page_gets_the_same_policy_with_the_hashes_of_all(tmp_path: Path) -> None:
    one = write_page(tmp_path / "index.html", "<script>let a = 1 && 2;\n</script>")
    two = write_page(
        tmp_path / "deep" / "index.html", body='<script data-x="y">"ß"</script><script src="x.js"></script>'
    )
    three = write_page(tmp_path / "404.html", body='<script id="c" type="application/json">{"a": 1}</script>')
    with open_pages(tmp_path) as pages:
        add_content_policy(pages)
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
    with open_pages(tmp_path) as pages:
        add_content_policy(pages)
    text = page.read_text("utf-8")
    policy = META.search(text)
    assert policy is not None
    assert policy.start() < text.index("<script")
    # The HTML standard: the encoding is looked for in the first 1024 bytes.
    assert text.index("charset") < 1024


def test_a_page_is_otherwise_left_as_it_is(tmp_path: Path) -> None:
    page = write_page(tmp_path / "index.html", "<title>\\1 \\g&lt;x&gt;</title>", "ß → Ω <head>")
    before = page.read_text("utf-8")
    with open_pages(tmp_path) as pages:
        add_content_policy(pages)
    after = page.read_text("utf-8")
    assert META.sub("", after) == before
    assert len(META.findall(after)) == 1


def test_a_head_without_an_encoding_will_do(tmp_path: Path) -> None:
    (tmp_path / "a.html").write_text("<html><head><title>x</title></head></html>", "utf-8")
    with open_pages(tmp_path) as pages:
        add_content_policy(pages)
    assert (tmp_path / "a.html").read_text("utf-8").startswith("<html><head><meta http-equiv=")


def test_a_page_without_a_head_is_named(tmp_path: Path) -> None:
    write_page(tmp_path / "a.html")
    (tmp_path / "deep").mkdir()
    (tmp_path / "deep" / "bare.html").write_text("<p>x</p>", "utf-8")
    refused = r"deep.bare\.html: this page has no <head>"
    with pytest.raises(ValueError, match=refused), open_pages(tmp_path) as pages:
        add_content_policy(pages)
