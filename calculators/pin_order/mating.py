"""Mating: what happens when the contacts of a source touch those of a board, by an ordered table of rules.

A d.c. judgement at the worst moment: every signal may be high or low, the supply is on, and every logic
input is taken to have the usual two protection diodes (ground to input, input to the lowest supply). What
is joined is found first (`joined_nets`), then what flows there (`fault_currents`); each contact takes the
first rule of the table that fits it (`mating_rules`).

Not judged: how long a fault may last, sparks and surges while plugging in, alternating and mains voltages.
"""

from dataclasses import dataclass

from calculators.notation.units import Ampere
from calculators.physics.fuse import Opening
from calculators.pin_order.joined_nets import Contact, Scene
from calculators.pin_order.limits import Limits
from calculators.pin_order.mating_rules import RULES, VERDICTS, Effect, Verdict
from calculators.pin_order.pairs import Pairs
from calculators.pin_order.plug import Pin, Role


@dataclass(frozen=True, slots=True)
class JudgedContact:
    """A contact, or an open pin of one side, with the `rule` that decided and the effect that it found."""

    here: Pin | None
    there: Pin | None
    limits: Limits
    rule: str
    verdict: Verdict
    effect: Effect

    @property
    def source(self) -> int | None:
        """The source's pin, from 0."""
        return self.here.index if self.here else None

    @property
    def board(self) -> int | None:
        """The board's pin, from 0."""
        return self.there.index if self.there else None

    @property
    def current(self) -> Ampere | None:
        """The damaging current, None where none flows."""
        return self.effect.current if self.verdict == "damages" else None

    @property
    def opening(self) -> Opening | None:
        """When the fuse opens at that current, None without a fuse."""
        return self.limits.find_opening(self.current or 0.0)


@dataclass(frozen=True, slots=True)
class Judgement:
    """The verdict on a whole mating (the worst of its contacts) and the contacts themselves."""

    verdict: Verdict
    contacts: tuple[JudgedContact, ...]

    @property
    def touching(self) -> tuple[JudgedContact, ...]:
        """The contacts without the pins that are open."""
        return tuple(contact for contact in self.contacts if contact.here and contact.there)

    @property
    def fault_currents(self) -> tuple[Ampere, ...]:
        """The damaging currents."""
        return tuple(contact.current for contact in self.contacts if contact.current is not None)

    @property
    def deciding(self) -> JudgedContact:
        """The contact that made the verdict: the one with the largest current, then the first."""
        worst = (contact for contact in self.contacts if contact.verdict == self.verdict)
        return max(worst, key=lambda contact: contact.current or 0.0)


def judge_mating(
    source: tuple[Role, ...], board: tuple[Role, ...], pairs: Pairs, limits: Limits, *, lead: bool = False
) -> Judgement:
    """Judge one mating: `pairs` are the contacts that touch. Supplies must have their voltages.

    Every pin of the board is judged, also where nothing stands opposite; so is every pin of the source,
    unless this is a made-up `lead`, in which source pins without a wire are nobody's concern.
    """
    scene = Scene(source, board, pairs, limits)
    touched_here, touched_there = {here for here, _ in pairs}, {there for _, there in pairs}
    contacts = [Contact(scene, here, there) for here, there in sorted(pairs)]
    contacts += [Contact(scene, None, pin) for pin in range(len(board)) if pin not in touched_there]
    if not lead:
        contacts += [Contact(scene, pin, None) for pin in range(len(source)) if pin not in touched_here]
    judged = tuple(_judge_contact(contact) for contact in contacts)
    worst = max(VERDICTS.index(contact.verdict) for contact in judged)
    return Judgement(VERDICTS[worst], judged)


def _judge_contact(contact: Contact) -> JudgedContact:
    for rule in RULES:
        effect = rule.find(contact)
        if effect is not None:
            return JudgedContact(contact.here, contact.there, contact.limits, rule.code, rule.verdict, effect)
    raise ValueError("no rule fits this contact; the last rule of RULES has to fit every one")
