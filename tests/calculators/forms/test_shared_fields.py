"""A field that calculators share is one quantity with one pair of limits in all of them."""

import pytest

from calculators import list_calculators
from calculators.forms.fields import QuantityInput
from calculators.forms.shared_fields import FUSE


@pytest.mark.parametrize(("name", "field"), [("fuse", FUSE)])
def test_its_limits_are_the_same_wherever_it_is_asked_for(name: str, field: QuantityInput) -> None:
    declared = [calculator.fields[name] for calculator in list_calculators() if name in calculator.fields]
    assert len(declared) > 1
    for other in declared:
        assert isinstance(other, QuantityInput)
        assert (other.kind, other.lowest, other.highest) == (field.kind, field.lowest, field.highest)
