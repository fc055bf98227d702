"""Fields that several calculators have: one pair of limits, so that one's result can be handed to another."""

from calculators.forms.fields import QuantityInput, WholeInput

CONTACT_RESISTANCE = QuantityInput(
    label="Resistance of one contact", kind="resistance", unit="mΩ", default="20 mΩ", lowest=0, highest=10,
    usual=(0.001, 0.2), section="Joint",
)  # fmt: skip

CONTACT_RATING = QuantityInput(
    label="Rating of one contact", kind="current", unit="A", default="5 A", lowest=0.01, highest=1000,
    usual=(0.5, 100), section="Joint",
)  # fmt: skip

CONTACTS_SHARED = WholeInput(
    label="Contacts side by side", default="1", lowest=1, highest=20, section="Joint",
    help="How many contacts share the current at each crossing.",
)  # fmt: skip

LEAD_LENGTH = QuantityInput(
    label="Lead, one way", kind="length", unit="m", lowest=0, highest=500, usual=(0.02, 50),
)  # fmt: skip

FUSE = QuantityInput(label="Fuse", kind="current", unit="A", lowest=1e-3, highest=1000.0, usual=(0.1, 100))
