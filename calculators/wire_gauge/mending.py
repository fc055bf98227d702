"""What would hold in the place of a run that does not: as many pairs, contacts and metres as it takes.

Its figures are such as one would set: whole contacts, standard sizes, lengths rounded down.
"""

import math
from dataclasses import dataclass, replace
from functools import lru_cache

from calculators.forms.shared_fields import USUAL_KIND
from calculators.notation.gauge import Gauge
from calculators.notation.units import Ampere, Metre, Ohm, Volt
from calculators.numbers.rounding import exceeds, round_down, round_up
from calculators.physics.ampacity import read_fuse_ratings
from calculators.physics.contacts import NEAR_RATING, find_wanted_contacts, find_worst_share
from calculators.physics.fuse import (
    find_fuse_kind,
    find_opening,
    find_sure_current,
    list_fuse_kinds,
)
from calculators.physics.wire_run import (
    JudgedSize,
    Run,
    find_smallest_size,
    judge_size,
    list_awg,
    list_metric,
)
from calculators.wire_gauge.given import Given
from calculators.wire_gauge.task import make_run

MOST_SHARED = 20
"""Pairs or contacts side by side: as many as their fields take."""

_CONTACTS_SHARE = 0.8
"""Of the allowed drop that the joint contacts may take at most, to leave some to the wire."""


@dataclass(frozen=True, slots=True)
class Plan:
    """Figures that hold together: as given where that will do.

    `awg` and `metric` are the thinnest sizes; `kept` says that the one that is given does as well. `fuse` is
    that of each pair, `source` what the source gives, enough to open it in time.
    """

    supply: Volt
    pairs: int
    contacts_shared: int
    contact_resistance: Ohm
    contact_rating: Ampere | None
    length: Metre
    awg: Gauge | None
    metric: Gauge | None
    kept: bool
    fuse: Ampere | None
    fuse_kind: str
    kind_name: str
    source: Ampere | None
    breaking: Ampere | None
    inrush: Ampere | None

    @property
    def size(self) -> Gauge | None:
        """One of the sizes."""
        return self.awg or self.metric


@lru_cache(maxsize=64)
def find_plan(given: Given) -> Plan:
    """Return what would hold; the fewest pairs that do, then the longest run."""
    highest = max(kind.voltage for kind in list_fuse_kinds())
    bare = replace(given, gauge=None, fuse=None, supply=min(given.supply, highest))
    part, run = _find_least_pairs(bare)
    thickest = _judge_thickest(run)
    drop = thickest.cold_drop if thickest.drop is None else thickest.drop
    if exceeds(drop, run.allowed):
        left = max(run.allowed - run.contact_drop, 0.0) / (drop - run.contact_drop)
        part = replace(part, length=round_down(given.length * left))
    return _finish_plan(given, part)


def _find_least_pairs(given: Given) -> tuple[Given, Run]:
    """Return it with as many pairs as it takes for a wire and a fuse to be had; the most, if none do."""
    usual = replace(given, fuse_kind=USUAL_KIND, fuse_breaking=None)
    # Rather another kind of fuse than more pairs, and rather a slower start.
    able = replace(usual, fuse_breaking=given.source_current and round_up(given.source_current))
    ways = (given, usual, able, replace(usual, inrush=None), replace(able, inrush=None))
    for pairs in range(given.pairs, MOST_SHARED + 1):
        for way in ways:
            part = _share_contacts(replace(way, pairs=pairs))
            run = make_run(part)
            if _find_fuse(part, run) and not {"heat", "fuse"} & set(_judge_thickest(run).fails):
                return part, run
    return part, run


def _share_contacts(given: Given) -> Given:
    """Return it with contacts that bear the current of a pair, and lose little enough."""
    if not given.contacts:
        return given
    run = make_run(replace(given, contacts_shared=1))
    lost = run.peak * given.pairs / max(given.pairs - 1, 1)
    rating = given.contact_rating or lost / NEAR_RATING
    fewest = max(
        given.contacts_shared,
        math.ceil(run.contact_drop / (_CONTACTS_SHARE * run.allowed) * (1 - 1e-9)),
        find_wanted_contacts(run.peak, rating),
        math.ceil(lost / rating * (1 - 1e-9)),
    )
    if fewest > MOST_SHARED:
        # Better ones, then, as many as can be.
        fewest = MOST_SHARED
        rating = round_up(max(rating, run.peak * find_worst_share(fewest), lost / fewest))
        least = run.contact_drop / (_CONTACTS_SHARE * run.allowed * fewest)
        given = replace(
            given, contact_rating=given.contact_rating and rating,
            contact_resistance=round_down(given.contact_resistance / max(least, 1.0)),
        )  # fmt: skip
    return replace(given, contacts_shared=fewest)


def _finish_plan(given: Given, part: Given) -> Plan:
    """Return the plan with its fuse, of the kind that is given if that will do, and its sizes."""
    run = make_run(part)
    fuse, source, breaking = _find_fuse(part, run), given.source_current, part.fuse_breaking
    if given.fuse and _is_good(part, run, given.fuse) and _is_opened(run, given.fuse):
        fuse = given.fuse
    fused = replace(run, fuse=fuse)
    if fuse:
        kind = find_fuse_kind(run.place, fuse)
        sure = find_sure_current(kind, fuse) or run.peak
        least = max(sure, run.peak * part.pairs)
        source = round_up(least) if source and exceeds(least, source) else source
        breaking = round_up(source) if source and exceeds(source, breaking or kind.breaking) else breaking
        # What the wire leaves of a short has to open it as well.
        enough = (part.lowest_supply or part.supply) * run.peak / sure
        fused = replace(fused, allowed=min(run.allowed, enough))
    inrush = given.inrush if part.inrush or not fuse else round_down(fuse * part.pairs)
    return Plan(
        supply=part.supply, pairs=part.pairs, contacts_shared=part.contacts_shared,
        contact_resistance=part.contact_resistance, contact_rating=part.contact_rating, length=part.length,
        awg=find_smallest_size(fused, list_awg()), metric=find_smallest_size(fused, list_metric()),
        kept=given.gauge is not None and not judge_size(fused, given.gauge).fails,
        fuse=fuse, fuse_kind=part.fuse_kind, kind_name=find_fuse_kind(run.place, fuse or 0.0).name,
        source=source, breaking=breaking, inrush=given.inrush and inrush,
    )  # fmt: skip


def _find_fuse(given: Given, run: Run) -> Ampere | None:
    """Return the smallest rating that the load, the inrush and what there is to break leave; None if none."""
    return next((rating for rating in read_fuse_ratings() if _is_good(given, run, rating)), None)


def _is_good(given: Given, run: Run, rating: Ampere) -> bool:
    kind = find_fuse_kind(run.place, rating)
    inrush = (given.inrush or 0.0) / given.pairs
    return (
        not exceeds(run.least_fuse, rating)
        and kind.is_made(rating)
        and kind.can_break(run.place)
        and (not inrush or not exceeds(given.inrush_time, find_opening(kind, rating, inrush).earliest))
    )


def _is_opened(run: Run, rating: Ampere) -> bool:
    """Return whether the source can open it in time, as far as that is known."""
    sure = find_sure_current(find_fuse_kind(run.place, rating), rating)
    return run.place.source is None or (sure is not None and not exceeds(sure, run.place.source))


def _judge_thickest(run: Run) -> JudgedSize:
    """Return how the thickest of all sizes does."""
    return judge_size(run, max((*list_awg(), *list_metric()), key=_find_area))


def _find_area(gauge: Gauge) -> float:
    return gauge.area
