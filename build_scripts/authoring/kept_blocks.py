"""Keeps computed blocks from build to build: a block changes only with its fence or with the calculators."""

import json
import os
import sys
from collections.abc import Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path

from build_scripts.authoring.fence import Embedding

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
        self.file.parent.mkdir(parents=True, exist_ok=True)
        # Another build may write at the same time: the file is exchanged whole.
        unfinished = self.file.with_name(f"{NAME}.{os.getpid()}")
        unfinished.write_text(json.dumps({"made_by": self.made_by, "blocks": rows}), "utf-8")
        unfinished.replace(self.file)


def read_kept_blocks(cache: Path, calculators: Path) -> KeptBlocks:
    """Return the blocks kept in the folder `cache`, as far as these `calculators` have made them."""
    file, made_by = cache / NAME, _hash_sources(calculators)
    try:
        kept = json.loads(file.read_text("utf-8"))
        if kept["made_by"] != made_by:
            return KeptBlocks(file, made_by)
        blocks = {
            Embedding(slug, caption, tuple((name, text) for name, text in fields)): html
            for slug, caption, fields, html in kept["blocks"]
        }
    except (OSError, ValueError, KeyError, TypeError):
        # Whatever is wrong with it, it can be made again.
        return KeptBlocks(file, made_by)
    return KeptBlocks(file, made_by, blocks)


def _hash_sources(calculators: Path) -> str:
    digest = sha256(sys.version.encode())
    for path in sorted(calculators.rglob("*")):
        if path.suffix in (".py", ".toml"):
            data = path.read_bytes()
            digest.update(f"{path.relative_to(calculators).as_posix()}\0{len(data)}\0".encode())
            digest.update(data)
    return digest.hexdigest()
