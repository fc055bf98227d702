"""Insulation by temperature and by material, against the standards that its figures come from."""

import pytest

from calculators.notation.errors import NotationError
from calculators.notation.insulation import read_insulation


def test_a_temperature_or_a_material_is_read() -> None:
    assert read_insulation("105") == read_insulation("105 °C") == read_insulation("PVC  105")
    assert read_insulation("221 °F").temperature == pytest.approx(105)
    # IEC 60364-5-52, table 52.1: PVC 70 °C, XLPE 90 °C; IEC 60287-2-1: 5.0 and 3.5 K m/W.
    assert (read_insulation("pvc").temperature, read_insulation("pvc").thermal_resistivity) == (70, 5.0)
    assert (read_insulation("xlpe").temperature, read_insulation("xlpe").thermal_resistivity) == (90, 3.5)
    with pytest.raises(NotationError):
        read_insulation("silicon")
