"""The check of all articles before anything is built: every problem with file and line, all at once."""

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from difflib import get_close_matches
from pathlib import Path

from build_scripts.authoring.fence import LANGUAGE, Embedding, Fence, FenceError, find_fences, read_fence
from build_scripts.authoring.files import ARTICLE, check_file, find_collisions, list_files, list_homes
from build_scripts.authoring.front_matter import check_front_matter, split_front_matter
from build_scripts.authoring.problems import Problem
from build_scripts.authoring.prose import blank_code, check_prose
from build_scripts.authoring.shape import can_read_fence, check_shape
from build_scripts.authoring.signs import find_unwanted_sign

_LANGUAGE_WORD = re.compile(r"^\{:?\s*\.[\w+#-]+")
_FIRST_WORD = re.compile(r"[\w-]+")
_HELD_FENCE = re.compile(
    r"(?P<before>[ \t]*(?:(?:[-*+:]|\d+[.)])[ \t]+|>[ \t]*)+)(?P<fence>(?:`{3,}|~{3,})\s*(?P<info>[^`]*))"
)
_TAG = re.compile(r"<[A-Za-z!?/]")
_HOLDER = "calculator-{}-stands-here"
_SIMILAR = 0.75
# All fences are read anew after each.
_MOST_HELD = 20
# The generator publishes nothing from it and says nothing about it.
_LEFT_OUT = "templates"
_REFUSE_LEFT_OUT = f"a folder “{_LEFT_OUT}” is left out of the handbook; give it another name"


def check_articles(folder: Path, root: Path, known: Collection[Embedding] = ()) -> list[Problem]:
    """Return the problems of all files below `folder`, with paths relative to `root`, in order.

    Embeddings that are `known` have been computed before and are not computed again.
    """
    problems = [
        Problem(path.relative_to(root).as_posix(), 1, words) for path, words in find_collisions(folder)
    ]
    for path in list_files(folder):
        name = path.relative_to(root).as_posix()
        left_out = path == folder / _LEFT_OUT
        if words := _REFUSE_LEFT_OUT if left_out else check_file(path):
            problems.append(Problem(name, 1, words))
            continue
        if path.suffix != ARTICLE or path.is_dir():
            continue
        try:
            text = path.read_text("utf-8-sig")
        except UnicodeDecodeError as error:
            line = path.read_bytes()[: error.start].count(b"\n") + 1
            problems.append(Problem(name, line, "this is not UTF-8 text; save the file as UTF-8"))
            continue
        problems += [Problem(name, line, words) for line, words in check_article(text, known)]
    return sorted(problems)


def check_all_articles(root: Path, known: Collection[Embedding] = ()) -> list[Problem]:
    """Return the problems of the club's articles and the engine's pages below `root`, in order."""
    return sorted(problem for home in list_homes(root) for problem in check_articles(home, root, known))


def may_be_built(root: Path) -> bool:
    """Whether all files have places of their own, and articles a shape that Markdown reads.

    Otherwise the generator would stop without a word on where, write one file over another, or never end.
    """
    return not any(any(find_collisions(home)) for home in list_homes(root)) and not any(
        check_shape(lines, find_prose(lines, find_fences(lines))) for _, lines in _read_articles(root)
    )


def compute_articles(
    root: Path, embeddings: Iterable[Embedding], known: Mapping[Embedding, str]
) -> tuple[list[Problem], dict[Embedding, str]]:
    """Return the problems of all articles below `root`, and where there are none every block's HTML.

    `embeddings` are those of `find_embeddings`; what is `known` of them is taken from there.
    """
    problems = check_all_articles(root, known)
    if problems:
        return problems, {}
    return [], {key: known.get(key) or key.render() for key in embeddings}


def find_embeddings(root: Path) -> list[Embedding]:
    """Return what the fences of all articles below `root` embed, as far as they can be read."""
    return [embedding for embedding, _, _ in list_placed_embeddings(root)]


def find_place(root: Path, wanted: Embedding) -> tuple[str, int]:
    """Return the article, by its path relative to `root`, and the line that embed `wanted`."""
    return next(
        (path.relative_to(root).as_posix(), line)
        for embedding, path, line in list_placed_embeddings(root)
        if embedding == wanted
    )


def list_placed_embeddings(root: Path) -> Iterator[tuple[Embedding, Path, int]]:
    """Yield what the articles below `root` embed, each with its article and the line where it begins."""
    for path, lines in _read_articles(root):
        for fence in find_fences(lines):
            if fence.is_calculator:
                # What is wrong with it is for the check to say, with its place.
                with suppress(FenceError):
                    yield read_fence(fence, compute=False), path, fence.first + 1


def _read_articles(root: Path) -> Iterator[tuple[Path, list[str]]]:
    for path in (path for home in list_homes(root) for path in list_files(home)):
        if path.suffix == ARTICLE and path.is_file():
            yield path, split_lines(path.read_text("utf-8-sig", "replace"))


def split_lines(text: str) -> list[str]:
    """Return an article's lines, with empty ones in the place of its settings."""
    return split_front_matter(_settle_line_ends(text))[1].split("\n")


def find_prose(lines: Sequence[str], fences: Iterable[Fence]) -> str:
    """Return the lines, in which these fences are, as one text in which all that is code is blank."""
    prose = list(lines)
    for fence in fences:
        if fence.is_calculator or not _check_code_fence(fence, lines):
            _blank_fence(prose, fence)
    return blank_code("\n".join(prose))


def check_article(text: str, known: Collection[Embedding] = ()) -> list[tuple[int, str]]:
    """Return the problems of one article as (line from 1, sentence); `known` embeddings are not computed."""
    text = _settle_line_ends(text)
    problems = check_front_matter(text)
    for number, line in enumerate(text.split("\n"), 1):
        if words := find_unwanted_sign(line):
            problems.append((number, words))
    lines = split_lines(text)
    held, fences = _free_held_fences(lines)
    problems += held.items()
    prose = find_prose(lines, fences)
    if unfit := check_shape(lines, prose):
        # What else is wrong would take too long to find.
        return sorted({*problems, *unfit})
    calculators: list[Fence] = []
    anchors: dict[str, int] = {}
    for fence in fences:
        if fence.first + 1 in held:
            continue
        if not fence.is_calculator:
            if problem := _check_code_fence(fence, lines):
                problems.append((fence.first + 1, problem))
            continue
        calculators.append(fence)
        try:
            embedding = read_fence(fence, known=known)
        except FenceError as error:
            problems += error.problems
            continue
        if embedding.anchor in anchors:
            problems.append(
                (
                    fence.first + 1,
                    f"the caption “{embedding.caption}” gives the same link as the block in line "
                    f"{anchors[embedding.anchor]}; give each block a caption of its own",
                )
            )
        anchors[embedding.anchor] = fence.first + 1
    problems += check_prose(prose, anchors)
    if calculators and _TAG.search(prose):
        problems += _find_swallowed(prose.split("\n"), calculators)
    return sorted(set(problems))


def _settle_line_ends(text: str) -> str:
    # Only these end a line for Markdown and for editors; str.splitlines knows more.
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _free_held_fences(lines: list[str]) -> tuple[dict[int, str], list[Fence]]:
    """Return sentences, by line from 1, on fences behind a list's or a quotation's mark, and all fences.

    Markdown reads such a fence as words. Its mark is taken out of `lines`, so that the fence's end is not
    taken for the beginning of another.
    """
    held: dict[int, str] = {}
    fences = list(find_fences(lines))
    for number in range(len(lines)):
        found = _HELD_FENCE.fullmatch(lines[number].rstrip())
        if found is None or any(fence.first < number <= fence.last for fence in fences):
            continue
        if ">" not in found["before"]:
            lines[number] = " " * len(found["before"]) + found["fence"]
            fences = list(find_fences(lines))
            held[number + 1] = (
                "a fence cannot begin on the line of a list's mark; give it a line of its own, four spaces in"
            )
            if len(held) == _MOST_HELD:
                break
        elif _is_like(found["info"], LANGUAGE):
            held[number + 1] = "a calculator fence cannot stand in a quotation; move it out of the “>” lines"
    return held, fences


def _blank_fence(prose: list[str], fence: Fence) -> None:
    prose[fence.first : fence.last + 1] = [""] * (fence.last + 1 - fence.first)
    if not fence.is_calculator and "{" in fence.info:
        # The first class in the braces is the language.
        prose[fence.first] = _LANGUAGE_WORD.sub("{", fence.info[fence.info.find("{") :])


def _check_code_fence(fence: Fence, lines: Sequence[str]) -> str:
    if _is_like(fence.info, LANGUAGE):
        return (
            f"“{fence.info}” is not computed but shown; write “{LANGUAGE}” after the marks, and nothing else"
        )
    # A fence that Markdown would read otherwise than this check would hide what stands in it.
    if not fence.closed:
        return "this fence is never closed; end it with the same marks on a line"
    if not can_read_fence(fence.info):
        return f"“{fence.info}” after the marks is not read; write one language name, or nothing"
    indent = _measure_indent(fence.indent)
    if any(line.strip() and _measure_indent(line) < indent for line in lines[fence.first : fence.last + 1]):
        return "lines of this fence stand further left than its first line; indent them alike"
    if _measure_indent(lines[fence.last]) != indent:
        last = fence.last + 1
        return f"the last line of this fence (line {last}) is indented otherwise than its first; mend it"
    return ""


def _is_like(info: str, word: str) -> bool:
    first = _FIRST_WORD.search(info)
    return first is not None and bool(get_close_matches(first[0].lower(), [word], cutoff=_SIMILAR))


def _measure_indent(line: str) -> int:
    line = line.expandtabs(4)
    return len(line) - len(line.lstrip())


def _find_swallowed(prose: list[str], calculators: Iterable[Fence]) -> Iterator[tuple[int, str]]:
    """Yield (line from 1, sentence) for each fence that Markdown takes for a part of raw HTML."""
    # Asked of Markdown itself; imported here, because few articles hold HTML.
    from markdown import Markdown
    from markdown.preprocessors import HtmlBlockPreprocessor

    for fence in calculators:
        prose[fence.first] = fence.indent + _HOLDER.format(fence.first)
    reader = Markdown()
    HtmlBlockPreprocessor(reader).run(prose)
    raw = "\n".join(str(block) for block in reader.htmlStash.rawHtmlBlocks)
    for fence in calculators:
        if _HOLDER.format(fence.first) in raw:
            yield (
                fence.first + 1,
                "this calculator stands within HTML or a comment, where nothing is computed; move it out; "
                'to fold it away write “??? note "More"” with the fence four spaces in below it',
            )
