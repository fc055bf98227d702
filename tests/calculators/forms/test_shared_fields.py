"""What one calculator takes, another takes as well."""

import pytest

from calculators import find_calculator
from calculators.notation.errors import InputError


@pytest.mark.parametrize("slug", ["wire-gauge", "speaker-load"])
def test_a_contact_has_the_same_limit_everywhere(slug: str) -> None:
    field = find_calculator(slug).fields["contact_resistance"]
    assert field.read("10 ohm") == 10
    with pytest.raises(InputError, match="allowed: 0\u00a0Ω to 10\u00a0Ω"):
        field.read("10.1 ohm")
