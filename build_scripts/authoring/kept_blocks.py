"""Keeps computed blocks from build to build: a block changes only with its fence or with the calculators."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from build_scripts.authoring.fence import Embedding
from build_scripts.kept import hash_sources, keep, read_kept

NAME = "blocks.json"


@dataclass(frozen=True)
class KeptBlocks:
    """What was computed before with the very same calculators; empty when they have changed."""

    file: Path
    made_by: str
    """SHA-256 of the calculators' sources and the Python that ran them."""

    blocks: Mapping[Embedding, str] = field(default_factory=dict)
    """Each block's HTML."""

    def replace(self, blocks: Mapping[Embedding, str]) -> None:
        """Keep `blocks`, and nothing else, for the next build."""
        if blocks == self.blocks:
            return
        rows = [[key.slug, key.caption, key.fields, html] for key, html in blocks.items()]
        keep(self.file, self.made_by, rows)


def read_kept_blocks(cache: Path, calculators: Path) -> KeptBlocks:
    """Return the blocks kept in the folder `cache`, as far as these `calculators` have made them."""
    file, made_by = cache / NAME, hash_sources([calculators], [".py", ".toml"])
    try:
        blocks = {
            Embedding(slug, caption, tuple((name, text) for name, text in fields)): html
            for slug, caption, fields, html in read_kept(file, made_by) or ()
        }
    except (ValueError, TypeError):
        return KeptBlocks(file, made_by)
    return KeptBlocks(file, made_by, blocks)
