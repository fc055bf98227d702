"""The work of one process: one target is tried for a second, with inputs that follow from seed and index."""

import time
from collections.abc import Iterator
from itertools import count
from random import Random

from build_scripts.fuzz.targets import TARGETS, find_fault, make_reader
from calculators.answers import warm

BATCH = 1.0
"""Seconds for which one process tries one target before it tells how it went."""

type Batch = tuple[int, str, int]
"""The seed, the name of the target, and which of all batches it is."""

type Fault = tuple[str, str, dict[str, str], str]
"""The target, what the input is about, its texts, and what is wrong."""


def warm_up() -> None:
    """Load what the first input of a process would have to wait for."""
    warm()
    make_reader()


def try_batch(batch: Batch) -> tuple[int, list[Fault]]:
    """Try one target for a while; returns the number of inputs and one of each kind of fault."""
    seed, name, index = batch
    found: dict[str, Fault] = {}
    end = time.monotonic() + BATCH
    for number in count(1):
        about, texts = TARGETS[name].draw(Random(f"{seed} {name} {index} {number}"))
        if fault := find_fault(name, about, texts):
            found.setdefault(fault, (name, about, texts, fault))
        if time.monotonic() > end:
            break
    return number, list(found.values())


def list_batches(seed: int) -> Iterator[Batch]:
    """Yield batches without end, each target as often as its share says."""
    names = [name for name, target in TARGETS.items() for _ in range(target.share)]
    for index in count():
        yield seed, names[index % len(names)], index
