"""Reads figures that differ from speaker to speaker: ratings, sensitivities, measured drivers."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from calculators.notation.errors import NotationError
from calculators.notation.quantity import check_characters, read_number, read_quantity
from calculators.notation.units import Decibel, Watt
from calculators.speaker_load.driver import Driver
from calculators.speaker_load.network import Speaker

_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_ -]*")
_PLAIN_NUMBER = re.compile(r"\d+(?:[.,]\d*)?|[.,]\d+")


@dataclass(frozen=True, slots=True)
class PerSpeaker[Value]:
    """A figure for each speaker: `general` for all not `named`; None means not known."""

    general: Value | None
    named: Mapping[str, Value | None]

    def find(self, speaker: Speaker) -> Value | None:
        """Return the figure for this speaker, by its name, then by its group's, then the general one."""
        for name in (speaker.name, speaker.group):
            if name in self.named:
                return self.named[name]
        return self.general

    def list_unknown_names(self, speakers: Sequence[Speaker]) -> tuple[str, ...]:
        """Return the names that belong to none of these speakers."""
        known = {name for speaker in speakers for name in (speaker.name, speaker.group)}
        return tuple(name for name in self.named if name not in known)


def read_per_speaker[Value](text: str, read: Callable[[str], Value], sample: str) -> PerSpeaker[Value]:
    """Read `20 W`, or `20 W; shaker: 25 W; horn: none`: one figure for all, and others by name.

    `read` reads one figure and `sample` is one for the messages. Raises NotationError.
    """
    general: Value | None = None
    named: dict[str, Value | None] = {}
    seen_general = False
    for piece in text.split(";"):
        name, colon, figure = piece.rpartition(":")
        names = [part.strip() for part in name.split(",")] if colon else []
        value = None if figure.strip().lower() == "none" else read(figure)
        if not colon:
            if seen_general:
                raise NotationError(f"two figures have no name; write “{sample}; left: {sample}”")
            general, seen_general = value, True
        for part in names:
            if not _NAME.fullmatch(part):
                raise NotationError(f"“{part}” is not a speaker's name; write “left: {sample}”")
            if part in named:
                raise NotationError(f"“{part}” is given twice")
            named[part] = value
    return PerSpeaker(general, named)


def read_plain_number(text: str, lowest: float, highest: float) -> float:
    """Read a number that has no unit, from `lowest` to `highest`; raises NotationError for anything else."""
    cleaned = check_characters(text)
    if not _PLAIN_NUMBER.fullmatch(cleaned):
        raise NotationError(f"“{cleaned}” is not a plain number; give one from {lowest:g} to {highest:g}")
    value = read_number(cleaned)
    if not lowest <= value <= highest:
        raise NotationError(
            f"“{cleaned}” is outside what can be computed; allowed: {lowest:g} to {highest:g}"
        )
    return value


DRIVER_LIMITS: Mapping[str, tuple[str, str, float, float]] = {
    "re": ("resistance", "Ω", 0.1, 2000.0),
    "le": ("inductance", "mH", 0.0, 0.1),
    "fs": ("frequency", "Hz", 5.0, 5000.0),
    "qms": ("number", "", 0.05, 50.0),
    "qes": ("number", "", 0.05, 50.0),
}
"""Kind, unit of a bare number, lowest and highest value of each small-signal parameter."""

_PARAMETER = re.compile(r"\b(Re|Le|fs|Qms|Qes)\b", re.IGNORECASE)


def read_driver(text: str) -> Driver:
    """Read `Re 3.4, Le 0.2 mH, fs 40 Hz, Qms 3, Qes 0.9`, in any order; Le may be left out.

    Raises NotationError for anything else.
    """
    before, *pieces = _PARAMETER.split(text)
    if before.strip(" ,"):
        raise NotationError(
            f"“{before.strip()}” is not a parameter; write Re 3.4, Le 0.2 mH, fs 40 Hz, Qms 3, Qes 0.9"
        )
    values: dict[str, float] = {}
    for name, figure in zip(pieces[::2], pieces[1::2], strict=True):
        kind, unit, lowest, highest = DRIVER_LIMITS[name.lower()]
        if name.lower() in values:
            raise NotationError(f"{name} is given twice")
        if kind == "number":
            value = read_plain_number(figure.strip(" ,="), lowest, highest)
        else:
            value = read_quantity(figure.strip(" ,="), kind, unit)
        if not lowest <= value <= highest:
            raise NotationError(f"{name} {figure.strip(' ,=')} is outside what can be computed")
        values[name.lower()] = value
    missing = [name for name in ("Re", "fs", "Qms", "Qes") if name.lower() not in values]
    if missing:
        raise NotationError(f"{', '.join(missing)} is missing; give Re, fs, Qms and Qes (and Le where known)")
    return Driver(values["re"], values.get("le", 0.0), values["fs"], values["qms"], values["qes"])


def read_ratings(text: str) -> PerSpeaker[Watt]:
    """Read what each speaker bears; raises NotationError for anything else."""
    return read_per_speaker(text, read=_read_rating, sample="20 W")


def read_sensitivities(text: str) -> PerSpeaker[Decibel]:
    """Read how loud each speaker is; raises NotationError for anything else."""
    return read_per_speaker(text, read=_read_sensitivity, sample="86 dB")


def read_drivers(text: str) -> PerSpeaker[Driver]:
    """Read the small-signal parameters of speakers by name; raises NotationError for anything else."""
    return read_per_speaker(text, read=read_driver, sample="Re 3.4, fs 40 Hz, Qms 3, Qes 0.9")


def read_names(text: str) -> tuple[str, ...]:
    """Read names of speakers, with commas between them."""
    return tuple(name.strip() for name in text.split(",") if name.strip())


def _read_rating(text: str) -> Watt:
    power = read_quantity(text, "power", "W")
    if not 0.05 <= power <= 5000:
        raise NotationError(f"“{text.strip()}” is not a speaker's rating; allowed: 0.05 W to 5 kW")
    return power


def _read_sensitivity(text: str) -> Decibel:
    level = read_quantity(text, "level", "dB")
    if not 50 <= level <= 130:
        raise NotationError(f"“{text.strip()}” is not a speaker's sensitivity; allowed: 50 dB to 130 dB")
    return level
