"""What builders write, way by way: read as meant, or asked back with both readings, and nothing misread."""

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from calculators import find_calculator
from calculators.forms.fields import Input, QuantityInput
from calculators.notation.errors import InputError
from calculators.notation.gauge import Gauge
from calculators.pin_order.plug import Plug
from calculators.speaker_load.network import SpeakerNetwork, write_network
from calculators.wire_gauge.allowed_drop import AllowedDrop

FIGURES: list[dict[str, Any]] = tomllib.loads(Path(__file__).with_name("ways.toml").read_text("utf-8"))[
    "figure"
]


class Way(NamedTuple):
    """One text: the field it is typed into, what it means, and the readings with which it is asked back."""

    field: Input[Any]
    text: str
    meant: float | str
    readings: tuple[str, ...] = ()


def list_ways() -> Iterator[Way]:
    for figure in FIGURES:
        field = find_field(figure)
        for text in figure["ways"]:
            yield Way(field, text, figure["meant"])
        for asked in figure.get("asked", ()):
            yield Way(field, asked["text"], figure["meant"], tuple(asked["readings"]))


def find_field(figure: dict[str, Any]) -> Input[Any]:
    if "kind" in figure:
        return QuantityInput(label="Figure", kind=figure["kind"], unit=figure["unit"])
    slug, name = figure["field"].split(".")
    return find_calculator(slug).fields[name]


def spell(value: object) -> float | str:
    """What was read, as the file has it."""
    match value:
        case Gauge():
            return value.label
        case AllowedDrop():
            return f"{100 * value.value:g} %" if value.is_share else f"{value.value:g} V"
        case Plug():
            return ", ".join(role.label for role in value.pins)
        case SpeakerNetwork():
            labels = [f"{speaker.name} {speaker.nominal:g}" for speaker in value.speakers]
            return write_network(value.tree, labels) if value.joined else f"a list of {', '.join(labels)}"
        case float():
            return value
    raise TypeError(f"{value!r} is nothing that the file names")


WAYS = list(list_ways())


def test_there_are_a_hundred_and_fifty_ways_to_write_twenty_figures() -> None:
    assert (len(FIGURES), len(WAYS)) == (20, 150)
    assert len({(id(way.field), way.text) for way in WAYS}) == len(WAYS)


def test_at_least_140_are_read_and_the_others_asked_back() -> None:
    read = [way for way in WAYS if not is_refused(way)]
    assert len(read) >= 140
    assert [way.text for way in WAYS if is_refused(way)] == [way.text for way in WAYS if way.readings]


def is_refused(way: Way) -> bool:
    try:
        way.field.read(way.text)
    except InputError:
        return True
    return False


@pytest.mark.parametrize("way", [way for way in WAYS if not way.readings], ids=lambda way: way.text)
def test_a_way_is_read_as_meant(way: Way) -> None:
    found = spell(way.field.read(way.text))
    assert found == (way.meant if isinstance(way.meant, str) else pytest.approx(way.meant, rel=1e-12))


@pytest.mark.parametrize("way", [way for way in WAYS if way.readings], ids=lambda way: way.text)
def test_what_can_mean_two_things_is_asked_back_with_both(way: Way) -> None:
    with pytest.raises(InputError, match="can mean") as refused:
        way.field.read(way.text)
    assert len(way.readings) == 2
    for reading in way.readings:
        assert reading in refused.value.problem
