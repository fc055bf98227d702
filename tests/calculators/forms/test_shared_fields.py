"""What one calculator takes, another takes as well: a field that several have has one pair of limits."""

import pytest

from calculators import list_calculators
from calculators.forms.fields import QuantityInput
from calculators.forms.shared_fields import CONTACT_RATING, CONTACT_RESISTANCE, FUSE, LEAD_LENGTH

SHARED = {
    "fuse": FUSE,
    "contact_resistance": CONTACT_RESISTANCE,
    "contact_rating": CONTACT_RATING,
    "lead_length": LEAD_LENGTH,
}


@pytest.mark.parametrize("name", SHARED)
def test_its_limits_are_the_same_wherever_it_is_asked_for(name: str) -> None:
    field = SHARED[name]
    declared = [calculator.fields[name] for calculator in list_calculators() if name in calculator.fields]
    assert len(declared) > 1
    for other in declared:
        assert isinstance(other, QuantityInput)
        assert (other.kind, other.lowest, other.highest) == (field.kind, field.lowest, field.highest)
