"""What a wire is insulated with, as text: a temperature as printed on the reel, or a material."""

from dataclasses import dataclass
from functools import cache
from typing import cast

from calculators.notation.errors import NotationError
from calculators.notation.quantity import check_characters, read_quantity
from calculators.notation.units import Celsius
from calculators.parts import read_rows


@dataclass(frozen=True, slots=True)
class Insulation:
    """What is round the copper: highest lasting `temperature` in °C, `thermal_resistivity` in K m/W."""

    temperature: Celsius
    thermal_resistivity: float


def make_insulation(temperature: Celsius) -> Insulation:
    """Return one that bears so many °C.

    That says nothing of the material, so the table's largest thermal resistivity is taken.
    """
    return Insulation(temperature, max(insulation.thermal_resistivity for _, insulation in _read_materials()))


def read_insulation(text: str) -> Insulation:
    """Read a temperature (`105 °C`) or a material of parts/insulation.toml.

    Raises NotationError for anything else, and outside 40 °C to 200 °C.
    """
    cleaned = check_characters(text)
    name = " ".join(cleaned.lower().split())
    materials = _read_materials()
    for material, insulation in materials:
        if material == name:
            return insulation
    if name[0].isalpha():
        known = ", ".join(material for material, _ in materials)
        raise NotationError(f"“{cleaned}” is not in the table; give a temperature (105 °C) or one of {known}")
    temperature = read_quantity(cleaned, "temperature", "°C")
    if not 40 <= temperature <= 200:
        raise NotationError(f"“{cleaned}” is outside what can be computed; allowed: 40 °C to 200 °C")
    return make_insulation(temperature)


@cache
def _read_materials() -> tuple[tuple[str, Insulation], ...]:
    return tuple(
        (
            cast(str, row["name"]),
            Insulation(cast(float, row["temperature"]), cast(float, row["thermal_resistivity"])),
        )
        for row in read_rows("insulation")
    )
