"""What is said of the rules of mating, and of what each of them finds at a contact."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

from calculators.pin_order.mating import JudgedContact
from calculators.pin_order.mating_rules import How
from calculators.results.case import Wording, Words


@dataclass(frozen=True, slots=True)
class ToldRule:
    """A rule's `title` and why it holds, and the sentences on what it finds, by how that comes about."""

    title: str
    because: str
    found: Mapping[How, str]


TOLD_RULES: Mapping[str, ToldRule] = {
    "supply-short": ToldRule(
        "A supply is joined to ground or to another supply",
        "The board's own copper joins its pins of one kind. Nothing but lead and contacts limits the "
        "current.",
        {
            "": "The board joins the source's {here} to its pin {effect.other.number} "
            "({effect.other.label}) inside itself: up to {effect.current:A} flow through the lead and the "
            "board's copper; {fuse}."
        },
    ),
    "amplifier-loaded": ToldRule(
        "An amplifier's output stands on a supply, a ground or an output",
        "Both outputs of a bridge-tied amplifier swing between ground and its full supply; neither is a "
        "ground.",
        {
            "": "The source's {here} swings up to {limits.battery:V} and stands on the board's {there}: the "
            "amplifier's output and the board both suffer."
        },
    ),
    "supply-reversed": ToldRule(
        "The board's ground stands above its supply",
        "Every chip's protection diodes then conduct forwards from ground to supply and short the source.",
        {
            "": "The board's ground stands above its supply: up to {effect.current:A} flow backwards through "
            "every protection diode on the board; {fuse}.",
            "through an output": "The board is fed backwards through a signal output, which must carry up to "
            "{effect.current:A}; it withstands {limits.signal_current:A}.",
        },
    ),
    "supply-overvoltage": ToldRule(
        "More voltage than the supply input withstands",
        "Above its absolute maximum a chip breaks down at once; a fuse acts on current and far too late.",
        {
            "": "{effect.volts:V} reach the board's {there}, which withstands {effect.bound:V}: the board's "
            "chips break down, and no fuse is quick enough.",
            "assumed": "{effect.volts:V} reach the board's {there}; what it withstands is not given, and "
            "inputs for its voltage bear {effect.bound:V} as a rule.",
        },
    ),
    "output-overloaded": ToldRule(
        "A signal output must carry more than it withstands",
        "A logic output gives tens of milliamperes. Fed by a supply, another output or a whole board, it "
        "overheats.",
        {
            "at the board": "The board's {there} must carry up to {effect.current:A} and withstands "
            "{limits.signal_current:A}: the output burns out.",
            "at the source": "The source's {here} must carry up to {effect.current:A} and withstands "
            "{limits.signal_current:A}: the output burns out.",
        },
    ),
    "fed-through-input": ToldRule(
        "The board is fed through an input",
        "An input above its chip's supply conducts through its upper protection diode, which carries the "
        "whole board.",
        {
            "": "The board's supply is fed from the source's {here} through the protection diode of its own "
            "{there}: up to {effect.current:A}, and the diode withstands {limits.clamp_current:A}. The input "
            "burns out; {fuse}."
        },
    ),
    "return-through-input": ToldRule(
        "The board's current returns through an input",
        "With its ground lost or raised, an input is the lowest point left; its lower protection diode "
        "carries the return.",
        {
            "": "The board's current returns through the protection diode of its own {there} to the source's "
            "{here}: up to {effect.current:A}, and the diode withstands {limits.clamp_current:A}. The input "
            "burns out; {fuse}."
        },
    ),
    "input-overvoltage": ToldRule(
        "More voltage than an input withstands",
        "An input survives above its maximum only while a resistor holds the current below what its diode "
        "bears.",
        {
            "": "{effect.volts:V} reach the board's {there}, which withstands {effect.bound:V}; up to "
            "{effect.current:A} break into the input."
        },
    ),
    "controller-overvoltage": ToldRule(
        "More voltage than the controller's input withstands",
        "The same as above, seen from the source: the board drives or lifts a pin that only listens.",
        {
            "": "{effect.volts:V} from the board reach the source's {here}, which withstands "
            "{effect.bound:V}: the controller's input burns out.",
            "pulled up": "The board's pull-up resistor lifts the source's {here} to {effect.volts:V}; it "
            "withstands {effect.bound:V}, and {effect.current:A} flow into it.",
        },
    ),
    "direct-current": ToldRule(
        "A steady voltage across a loudspeaker",
        "A coil is a few ohms of wire: direct current only heats it, and pulls the cone against its stop.",
        {
            "": "A steady voltage stands across the loudspeaker: up to {effect.current:A} heat its coil and "
            "load the source; {fuse}."
        },
    ),
    "ground-lost": ToldRule(
        "The board's ground is lost",
        "Without a way back nothing runs; and what current flows comes back through signal pins (judged "
        "there).",
        {
            "live": "The board's {there} has no way back while its supply is on: the current looks for one "
            "through the signal pins.",
            "dead": "The board's {there} meets no ground.",
        },
    ),
    "ground-raised": ToldRule(
        "The board's ground stands on something else",
        "All the board's levels count from its ground. What the wrong pin has to carry is judged by the "
        "rules above.",
        {
            "held": "The board's ground stands on the source's {here}; nothing on it can work.",
            "hanging": "The board's ground hangs on the source's {here} and moves with it.",
            "carrying": "The board's ground hangs on the source's {here} and moves with it; up to "
            "{effect.current:A} return that way, which it withstands.",
        },
    ),
    "supply-missing": ToldRule(
        "The board's supply is missing or hangs on a signal",
        "A signal output cannot feed a board.",
        {
            "nothing": "The board's {there} meets no supply.",
            "hanging": "The board's supply hangs on the source's {here}.",
            "carrying": "The board's supply hangs on the source's {here}, which gives {effect.current:A} at "
            "most and withstands it; the board does not run.",
        },
    ),
    "supply-low": ToldRule(
        "Less voltage than the supply input needs",
        "Logic below its lowest supply does nothing or nonsense; it is not harmed.",
        {
            "nothing": "No voltage stands between the board's {there} and its ground.",
            "": "{effect.volts:V} at the board's {there}; it needs at least {effect.bound:V}.",
        },
    ),
    "contention": ToldRule(
        "Two outputs drive one wire",
        "Within what both withstand nothing breaks, but no signal arrives. It still wears the outputs: do "
        "not leave it.",
        {
            "": "Two outputs drive one wire with up to {effect.current:A}, which they withstand; what "
            "arrives is neither."
        },
    ),
    "input-held": ToldRule(
        "An input stands on a supply or a ground",
        "An input within its limits may stand high or low for ever; it receives nothing.",
        {"": "The board's {there} is held on the source's {here}: no signal arrives."},
    ),
    "wrong-signal": ToldRule(
        "An input receives another signal",
        "The level is legal, the content is not.",
        {
            "both listen": "Both pins listen and nothing drives the wire.",
            "": "{Here.label} meets {there.label}: the wrong signal arrives.",
        },
    ),
    "input-open": ToldRule(
        "Nothing drives an input",
        "An open input picks up noise: lights flicker, servos twitch.",
        {"": "Nothing drives the board's {there}."},
    ),
    "board-astray": ToldRule(
        "The right pin, but the board lacks its ground or its supply",
        "What a pin gets counts from the board's ground and needs the board's supply. Without them a "
        "protection diode may carry current, within its limit.",
        {
            "supply": "A supply arrives, but the board's ground stands on no ground: nothing runs.",
            "unread": "The board lacks its {effect.lacks}: no signal is read.",
            "leaking": "The board lacks its {effect.lacks}: no signal is read, and up to {effect.current:A} "
            "flow through the protection diode of the board's {there}, which it withstands.",
        },
    ),
    "speaker-silent": ToldRule(
        "A loudspeaker is not between its channel's two outputs",
        "A bridge-tied output needs both its wires.",
        {
            "mixed": "The loudspeaker stands between outputs that do not belong to one channel.",
            "": "The loudspeaker's {there} gets no sound.",
        },
    ),
    "speaker-swapped": ToldRule(
        "A loudspeaker's wires or its channel are swapped",
        "It plays: with its cone moving the other way, or on the wrong side. Beside another speaker the bass "
        "grows thin.",
        {
            "polarity": "The loudspeaker's polarity is swapped: it plays, but against its neighbours.",
            "channel": "{Here.label} feeds {there.label}.",
        },
    ),
    "spare-open": ToldRule(
        "One of several grounds or supplies is open",
        "The others carry its current too; check that they are rated for it.",
        {"": "The board's {there} is open here; the board's other {there.label} carries its current too."},
    ),
    "input-limited": ToldRule(
        "Above an input's maximum, but held by a resistor",
        "Data sheets allow more voltage while the diode's current stays within its rating.",
        {
            "": "{effect.volts:V} are above what the board's {there} withstands, but the resistors hold the "
            "current to {effect.current:A}, which it bears."
        },
    ),
    "bus-pulled-up": ToldRule(
        "A bus is pulled up higher than its controller withstands",
        "Both sides of a two-wire bus only pull it down; its pull-up resistors lead it up to their supply.",
        {
            "pulled up": "The board's pull-up resistor lifts the source's {here} to {effect.volts:V}, above "
            "the {effect.bound:V} that it withstands; no more than {effect.current:A} come that way."
        },
    ),
    "sound-on-ground": ToldRule(
        "The ground of line audio shares a wire with the supply's",
        "What the board draws loses some millivolts in that wire, and they are heard as hum.",
        {"sound": "The board's {there} meets the source's {here}: it plays, and may hum."},
    ),
    "other-voltage": ToldRule(
        "Another voltage than printed, within the limits",
        "The supply input runs from it and withstands it.",
        {"": "{effect.volts:V} feed the board's {there}: not its own voltage, but within what it takes."},
    ),
    "open-end": ToldRule(
        "A pin that nothing needs is open",
        "Nothing flows. A live contact that ends bare must not touch anything.",
        {
            "live": "The source's {here} ends bare and live; keep it from touching anything.",
            "bare": "The source's {here} ends here; nothing is joined.",
            "unused": "The board's {there} is not used.",
            "unheard": "The source's {here} gets nothing to listen to.",
        },
    ),
    "as-intended": ToldRule(
        "The pin gets what it needs",
        "Supply, ground and signal meet their like, within their limits.",
        {
            "unused": "Not used.",
            "supply": "The supply arrives.",
            "ground": "Ground meets ground.",
            "": "{Here} meets {there}.",
        },
    ),
}


def _is_found(code: str, how: How, contact: JudgedContact) -> bool:
    return contact.rule == code and contact.effect.how == how


def _is_rule(code: str, contact: JudgedContact) -> bool:
    return contact.rule == code


CONTACT_WORDS: Words[JudgedContact] = {
    "reason": tuple(
        Wording(text, partial(_is_found, code, how))
        for code, rule in TOLD_RULES.items()
        for how, text in rule.found.items()
    ),
    "brief": (
        Wording("{ends} ({title}, up to {current:A})", lambda contact: contact.current),
        Wording("{ends} ({title})"),
    ),
    "title": tuple(
        Wording(rule.title[0].lower() + rule.title[1:], partial(_is_rule, code))
        for code, rule in TOLD_RULES.items()
    ),
    "ends": (
        Wording("board pin {there.number} meets nothing", lambda contact: contact.here is None),
        Wording("{source_end} meets {board_end}"),
    ),
    "here": (Wording("pin {here.number} ({here.label})"),),
    "there": (Wording("pin {there.number} ({there.label})"),),
    "fuse": (
        Wording("no fuse is named that would open", lambda contact: contact.limits.fuse is None),
        Wording(
            "the {limits.fuse:A} fuse need never open",
            lambda contact: contact.opening is None or contact.opening.latest is None,
        ),
        Wording(
            "the {limits.fuse:A} fuse is open by {opening.latest:s}, which saves the wire and not the part"
        ),
    ),
    "source_end": (
        Wording("nothing", lambda contact: contact.here is None),
        Wording("source pin {here.number}"),
    ),
    "board_end": (
        Wording("nothing", lambda contact: contact.there is None),
        Wording("board pin {there.number}"),
    ),
}
"""The `reason` for the verdict on a contact, the same in `brief`, and its two ends."""
