"""Fields that several calculators have: one pair of limits, so that one's result can be handed to another."""

from calculators.forms.fields import QuantityInput

CONTACT_RESISTANCE = QuantityInput(
    label="Resistance of one contact", kind="resistance", unit="mΩ", default="30 mΩ", lowest=0, highest=2,
    usual=(0, 0.2), section="Joint", help="For contacts side by side, divide by their number.",
)  # fmt: skip

FUSE = QuantityInput(label="Fuse", kind="current", unit="A", lowest=1e-3, highest=1000.0)
