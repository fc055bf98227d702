"""The findings of wire-gauge: which limit a size fails, what fuse it needs, what is good to know."""

from calculators.numbers.rounding import exceeds
from calculators.results.case import AnswerRule, FindingRule, Wording, Words
from calculators.wire_gauge.solve import Solved


def _passes(case: Solved) -> bool:
    return case.awg is not None or case.metric is not None


# What is too hot, or has too large a fuse, is no better on a shorter run.
_SIZES = (
    Wording[Solved]("{awg.label} or {metric.label}", lambda case: case.awg and case.metric),
    Wording[Solved]("{awg.label}", lambda case: case.awg),
    Wording[Solved]("{metric.label}"),
)
_ADVICE: Words[Solved] = {
    "sizes": _SIZES,
    "less_drop": (
        Wording("take {sizes}", _passes),
        Wording("shorten the run or share it between two pairs"),
    ),
    "less_heat": (
        Wording("take {sizes}", _passes),
        Wording("take wire that carries {judged.heating:A}, or share the load between two pairs"),
    ),
    "more_wire": (
        Wording("take {sizes}", _passes),
        Wording("take wire that carries {protected_current:A}, or share the load between two pairs"),
    ),
    "other_fuse": (
        Wording("Fit a {fitting_fuse:A} fuse, or ", lambda case: _fits(case)),
        Wording("The load needs one of {run.least_fuse:A} at least; "),
    ),
    "fate": (
        Wording("is overloaded by {lasting:A} and opens in use", lambda case: _wants(case) < case.lasting),
        Wording("ages and opens in use"),
    ),
    "next_fuse": (
        Wording("Share the load between circuits with a fuse each.", lambda case: case.fitting_fuse is None),
        Wording("Fit {fitting_fuse:A}.", lambda case: _fits(case)),
        Wording("Fit {fitting_fuse:A}, and a wire that carries as much."),
    ),
}


def _fits(case: Solved) -> bool:
    return case.fitting_fuse is not None and case.fitting_fuse <= case.judged.capacity


def _wants(case: Solved) -> float:
    return case.wanted_fuse or 0.0


def _is_joint_lost(case: Solved) -> bool:
    return case.run.contact_drop >= case.run.allowed


def _is_supply_lost(case: Solved) -> bool:
    return case.drop >= case.given.supply and not _is_joint_lost(case)


def _fuse_fails(case: Solved) -> bool:
    return case.wanted_fuse is not None and "fuse" in case.judged.fails


ANSWERS: tuple[AnswerRule[Solved], ...] = (
    AnswerRule(
        "Do not build it with {judged.gauge.label}: {less_drop}.",
        when=lambda case: case.given.gauge and case.judged.fails and _passes(case), words=_ADVICE,
    ),
    AnswerRule(
        "Keep {judged.gauge.label}, and fit a {wanted_fuse:A} fuse.",
        when=lambda case: case.given.gauge and not case.judged.fails,
    ),
    AnswerRule(
        "Take {sizes}, and fit a {wanted_fuse:A} fuse.", when=lambda case: not case.judged.fails,
        words=_ADVICE,
    ),
    AnswerRule("Do not build it yet: no wire on sale carries {run.peak:A} over {run.length:m}."),
)  # fmt: skip


FINDINGS: tuple[FindingRule[Solved], ...] = (
    FindingRule(
        "stop", "contacts-alone-fail",
        "The joint contacts alone lose {run.contact_drop:V} of the {run.allowed:V} allowed, so no wire is "
        "thick enough. Put contacts side by side, or allow more drop.",
        when=_is_joint_lost,
    ),
    FindingRule(
        "stop", "contact-over-rating",
        "Each joint contact would carry {contact.current:A}, more than its rating of {contact.rating:A}. Put "
        "{contact.wanted} contacts side by side at each crossing, or share the load between two pairs.",
        when=lambda case: case.contact and case.contact.trouble == "over rating",
    ),
    FindingRule(
        "caution", "contact-near-rating",
        "Each joint contact would carry {contact.current:A} of its {contact.rating:A}. Contacts never share "
        "evenly, and warm each other: put {contact.wanted} side by side at each crossing.",
        when=lambda case: case.contact and case.contact.trouble == "near rating",
    ),
    FindingRule(
        "stop", "no-size-passes",
        "No size up to 4/0 AWG or 120 mm² passes for {run.peak:A}. Shorten the run, share it between two "
        "pairs, allow more drop, or raise the supply.",
        when=lambda case: case.judged.fails and not _passes(case) and not _is_joint_lost(case),
    ),
    FindingRule(
        "stop", "runs-away",
        "{judged.gauge.label} finds no steady temperature below {hottest:degC} at {judged.heating:A}: its "
        "insulation burns. Do not power it; {less_heat}.",
        when=lambda case: case.judged.temperature is None, words=_ADVICE,
    ),
    FindingRule(
        "stop", "too-hot",
        "{judged.gauge.label} carries {judged.capacity:A} for hours here; {judged.heating:A} is asked of it. "
        "Do not power it; {less_heat}.",
        when=lambda case: case.judged.temperature is not None and "heat" in case.judged.fails, words=_ADVICE,
    ),
    FindingRule(
        "stop", "drop-above-supply",
        "{judged.gauge.label} would lose {drop:V} of a supply of {given.supply:V}: so much current cannot "
        "flow, and the load does not run. Do not build it; {less_drop}.",
        when=_is_supply_lost, words=_ADVICE,
    ),
    FindingRule(
        "caution", "drop-too-large",
        "{judged.gauge.label} loses {drop:V}; {run.allowed:V} is allowed. Lamps dim and boards reset; "
        "{less_drop}.",
        when=lambda case: (
            "drop" in case.judged.fails and not _is_joint_lost(case) and not _is_supply_lost(case)
        ),
        words=_ADVICE,
    ),
    FindingRule(
        "stop", "no-fuse-made",
        "This load needs a fuse of {run.least_fuse:A}, more than any in the table. Share it between circuits "
        "with a fuse each.",
        when=lambda case: case.wanted_fuse is None,
    ),
    FindingRule(
        "stop", "no-fuse-fits",
        "The load needs a fuse of {wanted_fuse:A}, but {judged.gauge.label} carries only "
        "{judged.capacity:A}; {more_wire}.",
        when=lambda case: case.run.fuse is None and _fuse_fails(case), words=_ADVICE,
    ),
    FindingRule(
        "note", "add-fuse",
        "Fit a {wanted_fuse:A} fuse in the plus wire, within {source_distance:m,1} of the battery or "
        "converter; never one above {judged.capacity:A}.",
        when=lambda case: (
            case.run.fuse is None and case.wanted_fuse and not _fuse_fails(case) and case.chosen
        ),
    ),
    FindingRule(
        "stop", "fuse-too-large",
        "A {wanted_fuse:A} fuse lets more flow than the {judged.capacity:A} that {judged.gauge.label} "
        "carries: in a fault the wire burns before the fuse opens. {other_fuse}{more_wire}.",
        when=lambda case: case.run.fuse is not None and _fuse_fails(case), words=_ADVICE,
    ),
    FindingRule(
        "caution", "fuse-too-small",
        "A {wanted_fuse:A} fuse {fate}: load a fuse to 75 % for hours, to its rating in peaks. {next_fuse}",
        when=lambda case: (
            case.run.fuse is not None
            and not _fuse_fails(case)
            and exceeds(case.run.least_fuse, case.run.fuse)
        ),
        words=_ADVICE,
    ),
    FindingRule(
        "note", "softens-plastic",
        "The copper may reach {judged.temperature:degC}, and printed PLA softens from {soft_plastic:degC}. "
        "Keep the wire off printed parts, or enter {soft_plastic:degC} as insulation and take the size that "
        "gives.",
        when=lambda case: case.chosen and (case.judged.temperature or 0.0) > case.soft_plastic,
    ),
    FindingRule(
        "note", "contacts-not-judged",
        "The joint contacts themselves are not judged, for no rating is given: each carries "
        "{contact.current:A}. Read in the maker's sheet what it may carry, and enter it.",
        when=lambda case: case.contact and case.contact.rating is None,
    ),
    FindingRule(
        "note", "contacts-lose-most",
        "More than half of the drop, {run.contact_drop:V}, is lost in the joint contacts. A thicker wire "
        "helps little; contacts side by side help more.",
        when=lambda case: (
            case.chosen
            and case.judged.drop is not None
            and case.judged.drop / 2 < case.run.contact_drop < case.run.allowed
        ),
    ),
    FindingRule(
        "note", "real-wire",
        "Some hook-up wire has up to 24 % more resistance than solid copper; with that the drop would be "
        "{worst_drop:V}, more than is allowed. Measure the loop, or choose “worst case” as conductor.",
        when=lambda case: (
            case.chosen and case.worst_drop is not None
            and "drop" not in case.judged.fails and exceeds(case.worst_drop, case.run.allowed)
        ),
    ),
    FindingRule(
        "note", "long-peaks",
        "A peak of {run.peak_time:s} is long enough to warm this wire by itself: heating is reckoned with "
        "{judged.heating:A}, not with the mean.",
        when=lambda case: (
            case.chosen
            and case.run.has_peaks
            and case.judged.heating * case.judged.heating > 1.1 * case.run.mean_square
        ),
    ),
    FindingRule(
        "note", "thinner-would-do",
        "{judged.gauge.label} passes; {awg.label} does as well and is lighter.",
        when=lambda case: (
            case.given.gauge and case.awg and not case.judged.fails
            and case.judged.gauge.area > 1.01 * case.awg.area
        ),
    ),
    FindingRule(
        "note", "breaks-easily",
        "{judged.gauge.label} breaks easily where it is handled or moves. Give it sleeve and strain relief, "
        "or use 22 AWG or 0.34 mm² across a joint.",
        when=lambda case: case.chosen and case.judged.gauge.area < case.fragile_area,
    ),
)  # fmt: skip
