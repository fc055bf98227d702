"""The Python-Markdown extension: leaves places for calculators where their fences are and cleans the rest.

Named `build_scripts.authoring.extension` in mkdocs.yml; it knows nothing of the site generator. Each place
holds what is needed to compute its block, and `fill_placeholders` puts the block in when the generator is
done: what that does with a page (indexing above all) then costs no more than without calculators.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from xml.etree.ElementTree import Element, SubElement

from markdown import Markdown
from markdown.extensions import Extension
from markdown.extensions.toc import TocTreeprocessor
from markdown.postprocessors import Postprocessor
from markdown.preprocessors import Preprocessor
from markdown.treeprocessors import Treeprocessor
from markdown.util import ETX, STX, AtomicString, code_escape

from build_scripts.authoring.allowed_html import (
    check_link,
    check_picture,
    clean_page,
    make_heading_id,
)
from build_scripts.authoring.fence import (
    Embedding,
    Fence,
    FenceError,
    find_fences,
    read_fence,
    render_problem,
)

# Before the code fences of other extensions (25) and after line endings are made one (30).
_BEFORE_CODE_FENCES = 28
# Before indented code is highlighted (30).
_BEFORE_HIGHLIGHT = 35
# After inline marks (20), before tables of contents (5) and generators' own link checks look for ids.
_BEFORE_LINK_CHECKS = 15
# After stored raw HTML has been put back (30) and entities are settled (20).
_LAST = 1

# Python-Markdown takes these two marks out of every source, so that no article can write a token itself.
_TOKEN = re.compile(f"{STX}embedding:(\\d+){ETX}")
_PLACEHOLDER = re.compile(
    r'<div id="[^"]*" data-embedding="(\d+)"></div>|<div data-embedding="(\d+)" id="[^"]*"></div>'
)


class CalculatorExtension(Extension):
    """Replaces calculator fences by placeholders; everything else an article holds is cleaned."""

    def __init__(self) -> None:
        super().__init__()
        self.embeddings: list[Embedding | FenceError] = []
        self.sources: list[str] = []
        self.problems: list[str] = []

    def extendMarkdown(self, md: Markdown) -> None:  # noqa: N802  # the name Python-Markdown calls
        """Register the steps with `md`."""
        md.registerExtension(self)
        md.preprocessors.register(_FencePreprocessor(md, self), "calculator-fence", _BEFORE_CODE_FENCES)
        md.treeprocessors.register(_ShownTreeprocessor(md, self), "calculator-shown", _BEFORE_HIGHLIGHT)
        md.treeprocessors.register(_PlaceTreeprocessor(md, self), "calculator-place", _BEFORE_LINK_CHECKS)
        md.treeprocessors.register(_HeadingTreeprocessor(md), "handbook-headings", _BEFORE_LINK_CHECKS)
        md.treeprocessors.register(_AddressTreeprocessor(md, self), "handbook-addresses", _BEFORE_LINK_CHECKS)
        md.postprocessors.register(_BlockPostprocessor(md, self), "calculator-block", _LAST)

    def reset(self) -> None:
        """Forget the page before; Python-Markdown calls this between documents."""
        self.embeddings.clear()
        self.sources.clear()
        self.problems.clear()


class _FencePreprocessor(Preprocessor):
    def __init__(self, md: Markdown, extension: CalculatorExtension) -> None:
        super().__init__(md)
        self.extension = extension

    def run(self, lines: list[str]) -> list[str]:
        for fence in reversed(list(find_fences(lines))):
            if fence.is_calculator:
                number = len(self.extension.embeddings)
                self.extension.embeddings.append(_try_fence(fence))
                source = lines[fence.first : fence.last + 1]
                self.extension.sources.append("\n".join(line.removeprefix(fence.indent) for line in source))
                lines[fence.first : fence.last + 1] = ["", f"{fence.indent}{STX}embedding:{number}{ETX}", ""]
        return lines


def _try_fence(fence: Fence) -> Embedding | FenceError:
    # The rest of the page is still read, so that all that is wrong with it can be said at once.
    try:
        return read_fence(fence, compute=False)
    except FenceError as error:
        return error


class _ShownTreeprocessor(Treeprocessor):
    """Puts a fence back that Markdown takes for code (lines four spaces in): it is shown, not computed."""

    def __init__(self, md: Markdown, extension: CalculatorExtension) -> None:
        super().__init__(md)
        self.extension = extension

    def run(self, root: Element) -> None:
        for code in root.iter("code"):
            words = _TOKEN.sub(
                lambda found: code_escape(self.extension.sources[int(found[1])]), code.text or ""
            )
            code.text = AtomicString(words)


class _PlaceTreeprocessor(Treeprocessor):
    def __init__(self, md: Markdown, extension: CalculatorExtension) -> None:
        super().__init__(md)
        self.extension = extension

    def run(self, root: Element) -> None:
        for element in list(root.iter()):
            found = _TOKEN.fullmatch((element.text or "").strip())
            if found is None:
                continue
            element.text = None
            # A list item or a note may hold the token without a paragraph of its own.
            place = element if element.tag == "p" else SubElement(element, "div")
            place.tag = "div"
            embedding = self.extension.embeddings[int(found[1])]
            # The id stands here so that a generator's own link check finds it.
            place.set("id", embedding.anchor if isinstance(embedding, Embedding) else "")
            place.set("data-embedding", found[1])


class _HeadingTreeprocessor(Treeprocessor):
    """Has the ids of headings made so that none is one that a script looks for."""

    def run(self, root: Element) -> None:
        # Extensions may be named in any order; by now all of them are there.
        for contents in self.md.treeprocessors:
            if isinstance(contents, TocTreeprocessor) and not isinstance(contents.slugify, _Slugify):
                contents.slugify = _Slugify(contents.slugify)


@dataclass(frozen=True)
class _Slugify:
    make: Callable[[str, str], str]

    def __call__(self, words: str, separator: str) -> str:
        return make_heading_id(self.make(words, separator))


class _AddressTreeprocessor(Treeprocessor):
    """Finds addresses that cleaning would take away in silence, where the check has overlooked them."""

    def __init__(self, md: Markdown, extension: CalculatorExtension) -> None:
        super().__init__(md)
        self.extension = extension

    def run(self, root: Element) -> None:
        links = (check_link(element.get("href", "")) for element in root.iter("a"))
        pictures = (check_picture(element.get("src", "")) for element in root.iter("img"))
        self.extension.problems += (problem for problem in (*links, *pictures) if problem)


class _BlockPostprocessor(Postprocessor):
    def __init__(self, md: Markdown, extension: CalculatorExtension) -> None:
        super().__init__(md)
        self.extension = extension

    def run(self, text: str) -> str:
        embeddings = self.extension.embeddings

        def render(match: re.Match[str]) -> str:
            number = int(match[1] or match[2])
            if number >= len(embeddings):
                return ""
            embedding = embeddings[number]
            if isinstance(embedding, FenceError):
                return render_problem(str(embedding))
            return embedding.render_placeholder()

        problems = list(self.extension.problems)
        if _TOKEN.search(text):
            problems.append("a calculator stands where none can be put in")
        return _PLACEHOLDER.sub(render, clean_page(text)) + "".join(map(render_problem, problems))


def makeExtension() -> CalculatorExtension:  # noqa: N802  # the name Python-Markdown calls
    """Return the extension, as Python-Markdown asks for it by module name."""
    return CalculatorExtension()
