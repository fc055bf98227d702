"""Own wire: what the lead's wires and contacts carry and lose, judged as wire-gauge judges a run."""

import math
from dataclasses import dataclass, replace

from calculators.forms.shared_fields import USUAL_KIND
from calculators.notation.gauge import Gauge
from calculators.notation.units import Ampere, Metre, Ohm, Volt
from calculators.numbers.preferred_values import find_next_below
from calculators.numbers.rounding import exceeds
from calculators.physics.ampacity import FUSE_LOADING
from calculators.physics.contacts import NEAR_RATING, JudgedContact, judge_contact
from calculators.physics.copper import find_conductor_factor, find_wire_resistance
from calculators.physics.fuse import FusePlace, find_fitting_fuse
from calculators.physics.lead import make_lead_run
from calculators.physics.wire_run import JudgedSize, Run, find_smallest_size, judge_size, list_awg
from calculators.pin_order.given import Given
from calculators.pin_order.limits import Limits
from calculators.pin_order.pairs import Pairs
from calculators.pin_order.plug import Role

LEAST_RESISTANCE: Ohm = 1e-3
"""Of any wire that is more than nothing, with its contacts."""

CAUTION = 0.9
"""Share of the allowed drop that a proposed current uses: warm copper loses more than was reckoned."""


@dataclass(frozen=True, slots=True)
class Path:
    """How the board's current comes and goes: contacts one after the other, and the fewest side by side.

    `supply` is the lowest voltage on the way, `needed` the most that a supply input asks of it.
    """

    contacts: int
    shared: int
    supply: Volt
    needed: Volt


@dataclass(frozen=True, kw_only=True)
class OwnWire:
    """The lead's wire: as it is judged, and what would do instead; None where nothing would.

    A lead of this wire bears `fitting_current` with `fitting_fuse`, where the load is shared among several.
    `drop` and what is left over, `arriving`, are None where no supply goes through the lead,
    and so is `contact`, the group that its current goes through.
    """

    run: Run
    path: Path | None
    judged: JudgedSize | None
    fitting: Gauge | None
    drop: Volt | None
    arriving: Volt | None
    fitting_length: Metre | None
    fitting_contact: Ohm | None
    fitting_resistance: Ohm | None
    fitting_current: Ampere
    contact: JudgedContact | None
    fitting_rating: Ampere | None

    @property
    def fitting_fuse(self) -> Ampere | None:
        """The fuse for that current."""
        return find_fitting_fuse(
            replace(self.run.place, kind=USUAL_KIND), self.fitting_current / FUSE_LOADING
        )

    @property
    def is_drop_large(self) -> bool:
        """Whether more is lost than allowed."""
        return self.drop is not None and exceeds(self.drop, self.run.allowed)

    @property
    def is_starved(self) -> bool:
        """Whether less arrives than the board needs."""
        path, arriving = self.path, self.arriving
        return path is not None and arriving is not None and arriving < path.needed < path.supply


def find_path(
    given: Given, source: tuple[Role, ...], board: tuple[Role, ...], pairs: Pairs, limits: Limits
) -> Path | None:
    """Return the path through these wires, or None without a supply."""
    fewest, rails = [], []
    for role in {board[there] for _, there in pairs if board[there].kind in ("supply", "ground")}:
        ends = [(here, there) for here, there in pairs if board[there] == role]
        fewest.append(min(len({here for here, _ in ends}), len({there for _, there in ends})))
        rails += [
            (source[here].voltage, limits.find_lowest(role)) for here, _ in ends if role.kind == "supply"
        ]
    supplies = [rail for rail in rails if rail[0] > 0]
    if not supplies:
        return None
    supply = min(volts for volts, _ in supplies)
    return Path(
        2 * _count_contacts(given),
        min(fewest),
        supply,
        max(least for volts, least in supplies if volts == supply),
    )


def judge_own_wire(given: Given, path: Path | None, place: FusePlace) -> OwnWire:
    """Judge the wire that is given, or the one that fits, on this path behind a fuse in this place."""
    run = make_lead_run("stranded", given.board_current, given.lead_length, fuse=given.fuse)
    run = replace(run, place=place)
    joint = 0.0
    if path is not None:
        joint = path.contacts * given.contact_resistance / path.shared
        loss = 0.0 if given.lead_resistance is None else 2 * given.lead_resistance
        run = replace(
            run, allowed=_find_allowed(given, path),
            length=run.length if given.lead_resistance is None else 0.0,
            contact_drop=(joint if given.lead_resistance is None else loss) * given.board_current,
        )  # fmt: skip
    judged = judge_size(run, given.lead_gauge) if given.lead_gauge else None
    fitting = find_smallest_size(run, list_awg())
    size = given.lead_gauge or fitting or list_awg()[-1]
    shown = judged or judge_size(run, size)
    contact = None
    if path is not None:
        contact = judge_contact(given.board_current, path.shared, given.contact_rating)
    lost = shown.cold_drop if shown.drop is None else shown.drop
    drop = None if path is None else lost
    bearable = _find_bearable(run, shown, lost)
    return OwnWire(
        run=run, path=path, judged=judged, fitting=fitting, drop=drop,
        arriving=None if path is None or drop is None else path.supply - drop,
        fitting_length=_find_fitting_length(run, judged),
        fitting_contact=_find_fitting_contact(run, path, joint),
        fitting_resistance=_find_fitting_resistance(given, run),
        fitting_current=bearable,        contact=contact, fitting_rating=_find_fitting_rating(contact),
    )  # fmt: skip


def _find_allowed(given: Given, path: Path) -> Volt:
    """Return what may be lost: as much as is allowed, and no more than leaves the board what it needs."""
    allowed, spare = given.allowed_drop * path.supply, path.supply - path.needed
    return min(allowed, spare) if spare > 0 else allowed


def _find_bearable(run: Run, size: JudgedSize, lost: Volt) -> Ampere:
    """Return a current, rounded down, that this lead bears as to heat, fuse and drop."""
    protected = FUSE_LOADING * (size.largest_fuse or 0.0)
    share = CAUTION * run.allowed / lost if lost > 0 else 1.0
    return find_next_below(max(1e-3, min(size.capacity, protected, share * run.current)), "E24")


def find_lead_resistance(given: Given) -> Ohm:
    """Return what one wire of the lead and its contacts have; without a wire, the thinnest that bears it."""
    if given.lead_resistance is not None:
        return given.lead_resistance
    run = make_lead_run("stranded", given.board_current, fuse=given.fuse)
    size = given.lead_gauge or find_smallest_size(run, list_awg()) or list_awg()[-1]
    factor = find_conductor_factor(size.area, "stranded")
    wire = find_wire_resistance(given.lead_length, size.area, factor=factor)
    return max(LEAST_RESISTANCE, wire + _count_contacts(given) * given.contact_resistance)


def _count_contacts(given: Given) -> int:
    """Return how many contacts each wire has: a lead one at each end, two halves that meet one."""
    return 1 if given.joined == "directly" and given.halves == "a plug and its socket" else 2


def _find_fitting_rating(contact: JudgedContact | None) -> Ampere | None:
    """Return a rating in whole amperes with which as many contacts would do."""
    if contact is None:
        return None
    if contact.others is None:
        return float(math.ceil(contact.current / NEAR_RATING))
    return float(math.ceil(max(contact.worst, contact.others)))


def _find_fitting_length(run: Run, judged: JudgedSize | None) -> Metre | None:
    """Return a length, rounded down, over which this wire loses what is allowed."""
    left = run.allowed - run.contact_drop
    if judged is None or judged.hot is None or left <= 0:
        return None
    return find_next_below(left / (2 * judged.hot * run.peak), "E24")


def _find_fitting_resistance(given: Given, run: Run) -> Ohm | None:
    """Return what a wire of the lead may have, rounded down, where it was measured."""
    if given.lead_resistance is None:
        return None
    return find_next_below(run.allowed / (2 * run.peak), "E24")


def _find_fitting_contact(run: Run, path: Path | None, joint: Ohm) -> Ohm | None:
    """Return the resistance of a contact, rounded down, with which contacts take half of what is allowed."""
    if path is None or joint <= 0:
        return None
    return find_next_below(run.allowed / 2 / run.peak * path.shared / path.contacts, "E24")
