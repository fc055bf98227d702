"""The findings of wire-gauge: which limit a size fails, what fuse it needs, what is good to know."""

import math

from calculators.notation.gauge import Gauge
from calculators.notation.showing import Figure, Phrase, say
from calculators.numbers.rounding import exceeds
from calculators.physics.ampacity import find_smallest_fuse
from calculators.physics.copper import WORST_FACTOR
from calculators.physics.heat_balance import HOTTEST
from calculators.physics.wire_run import JudgedSize, Run
from calculators.results.result import Finding, Level

SOFT_PLASTIC = 55.0
"""°C; printed PLA softens from about here. Common practice."""

FRAGILE_AREA = 0.3e-6
"""m²; thinner wires than 22 AWG break where they are handled. Common practice."""

SOURCE_DISTANCE = 0.18
"""m of wire from the source to its fuse; seven inches in 33 CFR 183.455 (b)(1)."""


def name_sizes(awg: Gauge | None, metric: Gauge | None) -> str:
    """Return the sizes that pass everything, for a sentence; nothing where no size does."""
    return " or ".join(size.label for size in (awg, metric) if size)


def _advise_on_drop(sizes: str) -> str:
    return f"take {sizes}" if sizes else "shorten the run or share it between two pairs"


def _advise_on_heat(sizes: str, current: Figure) -> Phrase:
    # What is too hot, or has too large a fuse, is no better on a shorter run.
    if sizes:
        return say("take {sizes}", sizes=sizes)
    return say("take wire that carries {current}, or share the load between two pairs", current=current)


def _make_finding(level: Level, code: str, template: str, **parts: Figure | Phrase | str | int) -> Finding:
    return Finding(level, code, say(template, **parts))


def find_size_findings(run: Run, judged: JudgedSize, supply: float, sizes: str) -> list[Finding]:
    """Return which limits the judged size fails; supply in V, `sizes` are those that pass, by name."""
    size, heating = judged.gauge.label, Figure(judged.heating, "current")
    allowed = Figure(run.allowed, "voltage")
    found: list[Finding] = []
    if run.contact_drop >= run.allowed:
        found.append(_make_finding(
            "stop", "contacts-alone-fail",
            "The joint contacts alone lose {lost} of the {allowed} allowed, so no wire is thick enough. Put "
            "contacts side by side, or allow more drop.",
            lost=Figure(run.contact_drop, "voltage"), allowed=allowed,
        ))  # fmt: skip
    elif not sizes and judged.fails:
        found.append(_make_finding(
            "stop", "no-size-passes",
            "No size up to 4/0 AWG or 120 mm² passes for {current}. Shorten the run, share it between two "
            "pairs, allow more drop, or raise the supply.",
            current=Figure(run.peak, "current"),
        ))  # fmt: skip
    if judged.temperature is None:
        found.append(_make_finding(
            "stop", "runs-away",
            "{size} finds no steady temperature below {hottest} at {current}: its insulation burns. Do not "
            "power it; {advice}.",
            size=size, hottest=Figure(HOTTEST, "temperature"), current=heating,
            advice=_advise_on_heat(sizes, heating),
        ))  # fmt: skip
    elif "heat" in judged.fails:
        found.append(_make_finding(
            "stop", "too-hot",
            "{size} carries {capacity} for hours here; {current} is asked of it. Do not power it; {advice}.",
            size=size, capacity=Figure(judged.capacity, "current"), current=heating,
            advice=_advise_on_heat(sizes, heating),
        ))  # fmt: skip
    drop = judged.cold_drop if judged.drop is None else judged.drop
    if drop >= supply and run.contact_drop < run.allowed:
        found.append(_make_finding(
            "stop", "drop-above-supply",
            "{size} would lose {drop} of a supply of {supply}: so much current cannot flow, and the load "
            "does not run. Do not build it; {advice}.",
            size=size, drop=Figure(drop, "voltage"), supply=Figure(supply, "voltage"),
            advice=_advise_on_drop(sizes),
        ))  # fmt: skip
    elif "drop" in judged.fails and run.contact_drop < run.allowed:
        found.append(_make_finding(
            "caution", "drop-too-large",
            "{size} loses {drop}; {allowed} is allowed. Lamps dim and boards reset; {advice}.",
            size=size, drop=Figure(drop, "voltage"), allowed=allowed, advice=_advise_on_drop(sizes),
        ))  # fmt: skip
    return found


def find_fuse_findings(run: Run, judged: JudgedSize, sizes: str, *, chosen: bool) -> list[Finding]:
    """Return what is to be said about the fuse; without a `chosen` size there is none to propose.

    `sizes` are those that pass everything, by name.
    """
    size, capacity, least = (
        judged.gauge.label,
        Figure(judged.capacity, "current"),
        Figure(run.least_fuse, "current"),
    )
    needed = find_smallest_fuse(run.least_fuse)
    wanted = run.fuse or needed
    if wanted is None:
        return [_make_finding(
            "stop", "no-fuse-made",
            "This load needs a fuse of {least}, more than any in the table. Share it between circuits with a "
            "fuse each.", least=least,
        )]  # fmt: skip
    fuse = Figure(wanted, "current")
    if run.fuse is None and "fuse" in judged.fails:
        return [_make_finding(
            "stop", "no-fuse-fits",
            "The load needs a fuse of {fuse}, but {size} carries only {capacity}; {advice}.",
            fuse=fuse, size=size, capacity=capacity, advice=_advise_on_heat(sizes, fuse),
        )]  # fmt: skip
    if run.fuse is None:
        return [] if not chosen else [_make_finding(
            "note", "add-fuse",
            "Fit a {fuse} fuse in the plus wire, within {near} of the battery or converter; never one above "
            "{capacity}.", fuse=fuse, near=Figure(SOURCE_DISTANCE, "length", 1), capacity=capacity,
        )]  # fmt: skip
    if "fuse" in judged.fails:
        return [_make_finding(
            "stop", "fuse-too-large",
            "A {fuse} fuse lets more flow than the {capacity} that {size} carries: in a fault the wire burns "
            "before the fuse opens. {cure}{advice}.",
            fuse=fuse, capacity=capacity, size=size,
            advice=_advise_on_heat(sizes, Figure(max(wanted, run.least_fuse), "current")),
            cure=say("Fit a {needed} fuse, or ", needed=Figure(needed, "current"))
            if needed is not None and needed <= judged.capacity
            else say("The load needs one of {least} at least; ", least=least),
        )]  # fmt: skip
    if exceeds(run.least_fuse, run.fuse):
        return [_make_finding(
            "caution", "fuse-too-small",
            "A {fuse} fuse {fate}: load a fuse to 75 % for hours, to its rating in peaks. {cure}",
            fuse=fuse, fate=_tell_fate(run.fuse, run), cure=_propose_fuse(needed, judged),
        )]  # fmt: skip
    return []


def _tell_fate(fuse: float, run: Run) -> Phrase:
    lasting = math.sqrt(run.mean_square)
    if fuse < lasting:
        return say("is overloaded by {lasting} and opens in use", lasting=Figure(lasting, "current"))
    return say("ages and opens in use")


def _propose_fuse(needed: float | None, judged: JudgedSize) -> Phrase:
    if needed is None:
        return say("Share the load between circuits with a fuse each.")
    fuse = Figure(needed, "current")
    if needed > judged.capacity:
        return say("Fit {fuse}, and a wire that carries as much.", fuse=fuse)
    return say("Fit {fuse}.", fuse=fuse)


def find_notes(run: Run, judged: JudgedSize, awg: Gauge | None, *, given: bool) -> list[Finding]:
    """Return what is good to know of the judged size; `given` when the reader named it."""
    found: list[Finding] = []
    size = judged.gauge.label
    if judged.temperature is not None and judged.temperature > SOFT_PLASTIC:
        found.append(_make_finding(
            "note", "softens-plastic",
            "The copper may reach {copper}, and printed PLA softens from {soft}. Keep the wire off printed "
            "parts, or enter {soft} as insulation and take the size that gives.",
            copper=Figure(judged.temperature, "temperature"), soft=Figure(SOFT_PLASTIC, "temperature"),
        ))  # fmt: skip
    if judged.drop is not None and judged.drop / 2 < run.contact_drop < run.allowed:
        found.append(_make_finding(
            "note", "contacts-lose-most",
            "More than half of the drop, {lost}, is lost in the joint contacts. A thicker wire helps little; "
            "contacts side by side help more.", lost=Figure(run.contact_drop, "voltage"),
        ))  # fmt: skip
    if judged.drop is not None and run.conductor != "worst case":
        worst = (judged.drop - run.contact_drop) * WORST_FACTOR / judged.wire.factor + run.contact_drop
        spoils = judged.drop <= run.allowed < worst
        ending = (
            "more than is allowed. Measure the loop, or choose"
            if spoils
            else "within limits. To plan for it, choose"
        )
        if judged.drop > run.allowed:
            ending = "worse still. To plan for it, choose"
        found.append(_make_finding(
            "note", "real-wire",
            "Real stranded hook-up wire has up to 24 % more resistance than solid copper; the drop would be "
            "{worst}, {ending} “worst case” as conductor.", worst=Figure(worst, "voltage"), ending=ending,
        ))  # fmt: skip
    if run.has_peaks and judged.heating * judged.heating > 1.1 * run.mean_square:
        found.append(_make_finding(
            "note", "long-peaks",
            "A peak of {time} is long enough to warm this wire by itself: heating is reckoned with "
            "{heating}, not with the mean.",
            time=Figure(run.peak_time, "time"), heating=Figure(judged.heating, "current"),
        ))  # fmt: skip
    if given and awg and not judged.fails and judged.gauge.area > 1.01 * awg.area:
        found.append(_make_finding(
            "note", "thinner-would-do", "{size} passes; {awg} does as well and is lighter.",
            size=size, awg=awg.label,
        ))  # fmt: skip
    if judged.gauge.area < FRAGILE_AREA:
        found.append(_make_finding(
            "note", "breaks-easily",
            "{size} breaks easily where it is handled or moves. Give it sleeve and strain relief, or use "
            "22 AWG or 0.34 mm² across a joint.", size=size,
        ))  # fmt: skip
    return found
