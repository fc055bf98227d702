"""Fields that several calculators have: one pair of limits, so that one's result can be handed to another."""

from typing import Literal, get_args

from calculators.forms.fields import ChoiceInput, QuantityInput, WholeInput
from calculators.parts import read_rows

USUAL_KIND = "usual"
"""In the place of a kind of fuse: the one that is usual for the rating."""

type CableKind = Literal["single wires", "two-core cord"]

type LoadDraws = Literal["same current", "same power"]

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

FUSE_KIND = ChoiceInput(
    label="Kind of fuse", default=USUAL_KIND,
    options=(USUAL_KIND, *(str(row["name"]) for row in read_rows("fuse_kinds"))),
    help="Usual: a blade from 1 A, a bolt-in strip above 40 A, quick glass below 1 A.",
)  # fmt: skip

FUSE_BREAKING = QuantityInput(
    label="It can break", kind="current", unit="A", lowest=1, highest=1e6, usual=(20, 50_000),
    help="Breaking capacity at d.c., as printed on the fuse. Empty: the least that its kind has.",
)  # fmt: skip

SOURCE_CURRENT = QuantityInput(
    label="The source gives at most", kind="current", unit="A", lowest=1e-3, highest=5000.0,
    usual=(0.1, 2000), help="A converter's limit; of a battery what flows into a short.",
)  # fmt: skip

CABLE = ChoiceInput[CableKind](
    label="Laid as", default="single wires", options=get_args(CableKind.__value__),
    help="Both wires of a two-core cord are in one sheath, and warm each other.",
)  # fmt: skip

LOAD_DRAWS = ChoiceInput[LoadDraws](
    label="The load draws", default="same current", options=get_args(LoadDraws.__value__),
    help="A converter draws the same power: more current as its supply sags.",
)  # fmt: skip
