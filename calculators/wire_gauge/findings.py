"""The findings of wire-gauge: which limit a size fails, what fuse it needs, what is good to know."""

from collections.abc import Callable

from calculators.forms.shared_fields import USUAL_KIND
from calculators.numbers.rounding import exceeds, round_down
from calculators.physics.contacts import JudgedContact
from calculators.results.case import (
    AnswerRule,
    FindingRule,
    Remedy,
    Within,
    Wording,
    Words,
    find_value,
    has_stop,
)
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
    # --- what the plan changes ---
    "pairs": (
        Wording(
            "share it between {plan.pairs} pairs with a fuse each, ",
            lambda case: case.plan.pairs != case.given.pairs,
        ),
    ),
    "contacts": (
        Wording(
            "put {plan.contacts_shared} contacts side by side at each crossing, ",
            lambda case: case.plan.contacts_shared != case.given.contacts_shared,
        ),
    ),
    "length": (Wording("keep it to {plan.length:m}, ", lambda case: case.plan.length != case.given.length),),
    "source": (
        Wording(
            "feed it from a source that gives {plan.source:A}, ",
            lambda case: case.plan.source != case.given.source_current,
        ),
    ),
    "supply": (
        Wording(
            "feed it with {plan.supply:V} at most, which a fuse can break, ",
            lambda case: case.plan.supply != case.given.supply,
        ),
    ),
    "better": (
        Wording(
            "take contacts of {plan.contact_resistance:ohm} at most, ",
            lambda case: case.plan.contact_resistance != case.given.contact_resistance,
        ),
    ),
    "rated": (
        Wording(
            "take contacts rated {plan.contact_rating:A}, ",
            lambda case: case.plan.contact_rating != case.given.contact_rating,
        ),
    ),
    "slower": (
        Wording(
            "let no more than {plan.inrush:A} flow at switching on, ",
            lambda case: case.plan.inrush != case.given.inrush,
        ),
    ),
    "plan_wire": (
        Wording("keep {given.gauge.label}, and", lambda case: case.plan.kept),
        Wording("take {plan_sizes}, and"),
    ),
    "plan_fuse": (
        Wording(
            "keep the {plan.fuse:A} fuse",
            lambda case: (
                (case.plan.fuse, case.plan.fuse_kind) == (case.given.fuse, case.given.fuse_kind)
                and case.plan.breaking == case.given.fuse_breaking
            ),
        ),
        Wording(
            "fit a {plan.fuse:A} fuse that breaks {plan.breaking:A}",
            lambda case: case.plan.breaking and case.plan.breaking != case.given.fuse_breaking,
        ),
        Wording("fit a {plan.fuse:A}{plan_kind} fuse"),
    ),
    "warning": (
        Wording("Do not build it like this: ", lambda case: has_stop(FINDINGS, case)),
        Wording("Change it before you build it: "),
    ),
    "plan_sizes": (
        Wording("{plan.awg.label} or {plan.metric.label}", lambda case: case.plan.awg and case.plan.metric),
        Wording("{plan.awg.label}", lambda case: case.plan.awg),
        Wording("{plan.metric.label}"),
    ),
    "plan_kind": (
        Wording("", lambda case: case.plan.fuse_kind == case.given.fuse_kind == USUAL_KIND),
        Wording(" {plan.kind_name}"),
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


def _cannot(trouble: str) -> Callable[[Solved], bool]:
    return lambda case: case.wanted_fuse is not None and trouble in case.fuse.troubles


def _is_slow(case: Solved) -> bool:
    return _cannot("never opens")(case) or _cannot("opens late")(case)


def _set_size(case: Solved) -> str | None:
    """A size that holds in the place of the one that is given."""
    size = case.plan.size
    return size.label if case.given.gauge and size and not case.plan.kept else None


def _clear_size(case: Solved) -> str | None:
    """The size to be chosen anew."""
    return "" if case.given.gauge else None


def _shorten_inrush(case: Solved) -> str | None:
    earliest = round_down(case.inrush_opening.earliest)
    return f"{earliest!r} s" if earliest else None


def _set_fuse(case: Solved) -> str | None:
    """Another rating in the place of the one that is given; one that is proposed follows by itself."""
    changed = case.given.fuse and case.plan.fuse and case.plan.fuse != case.given.fuse
    return f"{case.plan.fuse!r} A" if changed else None


def _set(name: str, unit: str, wanted: str = "") -> Callable[[Solved], str | None]:
    """Write a figure of the plan into its field, if it is another one than is given."""

    def write(case: Solved) -> str | None:
        figure = find_value(case.plan, wanted or name)
        if figure == find_value(case.given, name):
            return None
        return "" if figure is None else f"{figure} {unit}".strip()

    return write


_set_kind, _set_pairs, _set_contacts = _set("fuse_kind", ""), _set("pairs", ""), _set("contacts_shared", "")
_set_length, _set_source = _set("length", "m"), _set("source_current", "A", "source")
_set_breaking, _set_rating = _set("fuse_breaking", "A", "breaking"), _set("contact_rating", "A")
_set_resistance, _set_supply = _set("contact_resistance", "ohm"), _set("supply", "V")
_set_inrush = _set("inrush", "A")

_WHOLE_PLAN = Remedy[Solved]({
    "supply": _set_supply, "pairs": _set_pairs, "contacts_shared": _set_contacts,
    "contact_rating": _set_rating, "contact_resistance": _set_resistance, "length": _set_length,
    "gauge": _set_size, "fuse": _set_fuse, "fuse_kind": _set_kind, "fuse_breaking": _set_breaking,
    "source_current": _set_source,
    "inrush": _set_inrush,
})  # fmt: skip
_OTHER_SIZE = (
    Remedy[Solved]({"gauge": "{awg.label}"}, when=lambda case: case.given.gauge),
    Remedy[Solved]({"gauge": "{metric.label}"}, when=lambda case: case.given.gauge),
    _WHOLE_PLAN,
)
_OTHER_FUSE = (
    Remedy[Solved]({"fuse": "{fitting_fuse:A}"}, when=lambda case: case.given.fuse),
    Remedy[Solved]({"fuse": _set_fuse, "gauge": _set_size}, when=lambda case: case.given.fuse),
    _WHOLE_PLAN,
)
_OTHER_KIND = (
    Remedy[Solved](
        {"fuse_kind": lambda case: USUAL_KIND}, when=lambda case: case.given.fuse_kind != USUAL_KIND
    ),
    *_OTHER_FUSE,
)
_MORE_CONTACTS = (
    Remedy[Solved]({"contacts_shared": "{contact.wanted}"}, when=lambda case: case.contact),
    Remedy[Solved]({"contacts_shared": _set_contacts}),
    _WHOLE_PLAN,
)

_WORST: Words[JudgedContact] = {
    "reason": (
        Wording("{current:A} of its {rating:A}", lambda contact: contact.cause == "alone"),
        Wording(
            "up to {worst:A} of its {rating:A}, for contacts never share evenly",
            lambda contact: contact.cause == "unequal",
        ),
        Wording("{others:A} of its {rating:A} as soon as one of the others is open"),
    ),
}

FINDINGS: tuple[FindingRule[Solved], ...] = (
    FindingRule(
        "stop", "contacts-alone-fail",
        "The joint contacts alone lose {run.contact_drop:V} of the {run.allowed:V} allowed, so no wire is "
        "thick enough. Put {plan.contacts_shared} contacts side by side at each crossing, or allow more.",
        when=_is_joint_lost,
        remedies=(Remedy({"contacts_shared": _set_contacts}), _WHOLE_PLAN),
    ),
    FindingRule(
        "stop", "source-overloaded",
        "Take a source that gives {total:A} and more: this one gives {given.source_current:A}, and shuts "
        "down or sags.",
        when=lambda case: case.is_source_overloaded,
        remedies=(Remedy({"source_current": _set_source}), _WHOLE_PLAN),
    ),
    FindingRule(
        "stop", "contact-over-rating",
        "Each joint contact would carry {contact.current:A}, more than its rating of {contact.rating:A}. Put "
        "{contact.wanted} contacts side by side at each crossing, or share the load between two pairs.",
        when=lambda case: case.contact and case.contact.trouble == "over rating",
        remedies=_MORE_CONTACTS,
    ),
    FindingRule(
        "caution", "contact-near-rating",
        "Put {contact.wanted} contacts side by side at each crossing: a joint contact would carry {reason}.",
        when=lambda case: case.contact and case.contact.trouble == "near rating",
        words={"reason": Within("contact", "{reason}", _WORST)},
        remedies=_MORE_CONTACTS,
    ),
    FindingRule(
        "caution", "pair-lost",
        "Put {plan.contacts_shared} contacts side by side at each crossing: with one pair lost, each contact "
        "of the others carries {lost_contact.current:A} of its {lost_contact.rating:A}.",
        when=lambda case: case.lost_contact and not (case.contact and case.contact.trouble),
        remedies=(Remedy({"contacts_shared": _set_contacts}), _WHOLE_PLAN),
    ),
    FindingRule(
        "stop", "no-size-passes",
        "No size up to 4/0 AWG or 120 mm² passes for {run.peak:A}. Shorten the run, share it between two "
        "pairs, allow more drop, or raise the supply.",
        when=lambda case: case.judged.fails and not _passes(case) and not _is_joint_lost(case),
        remedies=(
            Remedy({"length": _set_length, "gauge": _set_size}),
            Remedy({"pairs": _set_pairs, "gauge": _set_size}),
            Remedy({"fuse": _set_fuse, "gauge": _set_size}),
            _WHOLE_PLAN,
        ),
    ),
    FindingRule(
        "stop", "runs-away",
        "{judged.gauge.label} finds no steady temperature below {hottest:degC} at {judged.heating:A}: its "
        "insulation burns. Do not power it; {less_heat}.",
        when=lambda case: case.judged.temperature is None, words=_ADVICE, remedies=_OTHER_SIZE,
    ),
    FindingRule(
        "stop", "too-hot",
        "{judged.gauge.label} carries {judged.capacity:A} for hours here; {judged.heating:A} is asked of it. "
        "Do not power it; {less_heat}.",
        when=lambda case: case.judged.temperature is not None and "heat" in case.judged.fails, words=_ADVICE,
        remedies=_OTHER_SIZE,
    ),
    FindingRule(
        "stop", "drop-above-supply",
        "{judged.gauge.label} would lose {drop:V} of a supply of {given.supply:V}: so much current cannot "
        "flow, and the load does not run. Do not build it; {less_drop}.",
        when=_is_supply_lost, words=_ADVICE, remedies=_OTHER_SIZE,
    ),
    FindingRule(
        "caution", "drop-too-large",
        "{judged.gauge.label} loses {drop:V}; {run.allowed:V} is allowed. Lamps dim and boards reset; "
        "{less_drop}.",
        when=lambda case: (
            "drop" in case.judged.fails and not _is_joint_lost(case) and not _is_supply_lost(case)
        ),
        words=_ADVICE,
        remedies=(*_OTHER_SIZE[:2], Remedy({"length": _set_length, "gauge": _set_size}), _WHOLE_PLAN),
    ),
    FindingRule(
        "stop", "no-fuse-made",
        "This load needs a fuse of {run.least_fuse:A}, more than any in the table. Share it between circuits "
        "with a fuse each.",
        when=lambda case: case.wanted_fuse is None,
        remedies=(*_OTHER_KIND[:1], Remedy({"pairs": _set_pairs}), _WHOLE_PLAN),
    ),
    FindingRule(
        "stop", "no-fuse-fits",
        "The load needs a fuse of {wanted_fuse:A}, but {judged.gauge.label} carries only "
        "{judged.capacity:A}; {more_wire}.",
        when=lambda case: case.run.fuse is None and _fuse_fails(case), words=_ADVICE, remedies=_OTHER_SIZE,
    ),
    FindingRule(
        "note", "add-fuse",
        "Fit a {wanted_fuse:A} {fuse.kind.name} fuse in the plus wire, within {source_distance:m,1} of the "
        "battery or converter; never one above {judged.capacity:A}.",
        when=lambda case: (
            case.run.fuse is None and case.wanted_fuse and not _fuse_fails(case) and case.chosen
        ),
    ),
    FindingRule(
        "stop", "fuse-too-large",
        "A {wanted_fuse:A} fuse lets more flow than the {judged.capacity:A} that {judged.gauge.label} "
        "carries: in a fault the wire burns before the fuse opens. {other_fuse}{more_wire}.",
        when=lambda case: case.run.fuse is not None and _fuse_fails(case), words=_ADVICE,
        remedies=(_OTHER_FUSE[0], *_OTHER_SIZE[:2], *_OTHER_FUSE[1:]),
    ),
    FindingRule(
        "caution", "fuse-too-small",
        "A {wanted_fuse:A} fuse {fate}: load a fuse to 75 % for hours, to its rating in peaks. {next_fuse}",
        when=lambda case: not _fuse_fails(case) and case.is_fuse_small,
        words=_ADVICE, remedies=_OTHER_FUSE,
    ),
    FindingRule(
        "caution", "fuse-not-made",
        "Fit a {plan.fuse:A} fuse: of the kind “{fuse.kind.name}” there are {fuse.kind.smallest:A} to "
        "{fuse.kind.largest:A}.",
        when=lambda case: _cannot("not made")(case) and case.plan.fuse,
        remedies=(*_OTHER_KIND, _WHOLE_PLAN),
    ),
    FindingRule(
        "stop", "fuse-voltage",
        "Take a fuse made for {given.supply:V} d.c.: a {fuse.kind.name} fuse breaks {fuse.kind.voltage:V}, "
        "and above it the arc inside need not go out.",
        when=_cannot("voltage"), remedies=(*_OTHER_KIND, _WHOLE_PLAN),
    ),
    FindingRule(
        "stop", "fuse-breaking",
        "Take a fuse that breaks {given.source_current:A}, which the source gives into a short: this "
        "{fuse.kind.name} one breaks {fuse.breaking:A}, and bursts or burns on beyond it.",
        when=_cannot("breaking"),
        remedies=(
            *_OTHER_KIND,
            Remedy({"fuse_breaking": lambda case: ""}, when=lambda case: case.given.fuse_breaking),
            Remedy({"fuse_breaking": _set_breaking}),
            _WHOLE_PLAN,
        ),
    ),
    FindingRule(
        "caution", "fuse-opens-late",
        "{Remedy}: into a short the {culprit} gives {fuse.fault:A}, {fuse.opening.load:%} of a "
        "{fuse.rating:A} {fuse.kind.name} fuse, which {patience}.",
        when=_is_slow,
        words={
            "plan_kind": _ADVICE["plan_kind"],
            "culprit": (Wording("run", lambda case: case.is_fault_weak), Wording("source")),
            "patience": (
                Wording("need never open", _cannot("never opens")),
                Wording("may take {fuse.opening.latest:s} to open"),
            ),
            "remedy": (
                Wording(
                    "Fit a {plan.fuse:A}{plan_kind} fuse",
                    lambda case: case.plan.fuse and case.plan.source == case.given.source_current
                    and (case.plan.fuse, case.plan.fuse_kind) != (case.wanted_fuse, case.given.fuse_kind),
                ),
                Wording("Take thicker wire or a shorter run", lambda case: case.is_fault_weak),
                Wording(
                    "Take a source that gives {plan.source:A}, and a {plan.fuse:A}{plan_kind} fuse",
                    lambda case: case.plan.source and case.plan.fuse,
                ),
                Wording("Take another kind of fuse"),
            ),
        },
        remedies=(
            *_OTHER_FUSE[:1],
            *_OTHER_KIND[:1],
            Remedy({"fuse": _set_fuse, "fuse_kind": _set_kind}),
            *_OTHER_SIZE[:2],
            Remedy({"source_current": _set_source}),
            _WHOLE_PLAN,
        ),
    ),
    FindingRule(
        "caution", "inrush-opens-fuse",
        "{Remedy}: at switching on {inrush:A} flow for {given.inrush_time:s}, and a {fuse.rating:A} "
        "{fuse.kind.name} fuse may open after {inrush_opening.earliest:s}.",
        when=lambda case: case.wanted_fuse and case.is_inrush_large,
        words={
            "remedy": (
                Wording(
                    "Fit a {lasting_fuse:A} fuse",
                    lambda case: (case.lasting_fuse or case.judged.capacity + 1) <= case.judged.capacity,
                ),
                Wording("Slow the inrush down, or fit a larger fuse and a wire that carries as much"),
            ),
        },
        remedies=(
            Remedy({"fuse": "{lasting_fuse:A}"}),
            Remedy({"fuse": "{lasting_fuse:A}", "gauge": _clear_size}),
            Remedy({"inrush_time": _shorten_inrush}),
            Remedy({"inrush": _set_inrush}),
            _WHOLE_PLAN,
        ),
    ),
    FindingRule(
        "note", "source-not-judged",
        "Enter what the source gives into a short: only then is it judged whether it can open this fuse, and "
        "the fuse break it. It takes {fuse.sure_current:A} to open it within {in_time:s}.",
        when=lambda case: (
            case.given.source_current is None
            and case.fuse.sure_current
            and case.wanted_fuse
            and case.chosen
        ),
    ),
    FindingRule(
        "note", "one-pair-lost",
        "With one pair lost, each of the others carries {lost:A}, and its fuse of {fuse.rating:A} {outcome}.",
        when=lambda case: case.lost and case.wanted_fuse and case.chosen,
        words={
            "outcome": (
                Wording("bears it", lambda case: not exceeds(case.lost, case.fuse.rating)),
                Wording("opens some time later, so the load stops"),
            ),
        },
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

ANSWERS: tuple[AnswerRule[Solved], ...] = (
    AnswerRule(
        "Keep {judged.gauge.label}, and fit a {fuse.rating:A} fuse.",
        when=lambda case: case.given.gauge and case.is_sound,
    ),
    AnswerRule(
        "Take {sizes}, and fit a {fuse.rating:A} fuse.", when=lambda case: case.is_sound, words=_ADVICE,
    ),
    AnswerRule(
        "{warning}{supply}{source}{pairs}{contacts}{rated}{better}{length}{slower}{plan_wire} {plan_fuse}.",
        when=lambda case: case.plan.size and case.plan.fuse, words=_ADVICE,
    ),
    AnswerRule("Do not build it: no wire on sale carries {run.peak:A} over {run.length:m}."),
)  # fmt: skip
