"""The run and the place of its fuse, as what is given makes them."""

from calculators.physics.fuse import FusePlace
from calculators.physics.wire_run import Run
from calculators.wire_gauge.given import Given


def make_run(given: Given) -> Run:
    """Return one of the pairs as a run; a load of the same power is taken where it draws the most."""
    share = given.rise / given.pairs
    peak = share * (given.peak or given.current)
    return Run(
        current=share * given.current, peak=peak, duty=given.duty, peak_time=given.peak_time,
        length=given.length, allowed=given.allowed,
        contact_drop=peak * given.contacts * given.contact_resistance / given.contacts_shared,
        conductor=given.conductor, insulation=given.insulation, wall=given.wall, ambient=given.ambient,
        bundle=given.bundle, fuse=given.fuse, cable=given.cable,
        place=FusePlace(given.fuse_kind, given.supply, given.source_current, given.fuse_breaking),
    )  # fmt: skip
