"""Where a string of LEDs is fed, as text: `one end`, `both ends`, `middle`, `every 30` or `at 16, 48, 80`."""

import re
from dataclasses import dataclass
from typing import Literal

from calculators.notation.errors import NotationError

MOST_FEEDS = 64
"""More feeds than anybody solders to one string."""

FEED_FORM = "one end, both ends, middle, every 30 (LEDs), or at 16, 48, 80 (LED numbers)"

_EVERY = re.compile(r"every (\d{1,4})(?: leds?)?", re.ASCII)
_AT = re.compile(r"at (\d{1,4}(?:(?: ?, ?| )\d{1,4})*)", re.ASCII)


@dataclass(frozen=True, slots=True)
class FeedPlan:
    """A way to feed a string; `numbers` holds the step of `every` or the LEDs of `at`."""

    kind: Literal["one end", "both ends", "middle", "every", "at"]
    numbers: tuple[int, ...] = ()


def read_feed_plan(text: str) -> FeedPlan:
    """Return the plan that the text names; raises NotationError for anything else."""
    cleaned = " ".join(text.lower().split())
    match cleaned:
        case "one end" | "one" | "start":
            return FeedPlan("one end")
        case "both ends" | "both":
            return FeedPlan("both ends")
        case "middle":
            return FeedPlan("middle")
    every = _EVERY.fullmatch(cleaned)
    if every is not None and int(every[1]) > 0:
        return FeedPlan("every", (int(every[1]),))
    places = _AT.fullmatch(cleaned)
    if places is not None:
        return FeedPlan("at", tuple(sorted({int(number) for number in re.findall(r"\d+", places[1])})))
    raise NotationError(f"write {FEED_FORM}; “{cleaned}” names no feed")


def place_feeds(plan: FeedPlan, count: int) -> tuple[int, ...]:
    """Return the nodes at which a string of `count` LEDs is fed: 0 and `count` + 1 are its bare ends.

    `every n` feeds the start and every nth LED. Raises NotationError for places the string does not have.
    """
    match plan.kind:
        case "one end":
            return (0,)
        case "both ends":
            return (0, count + 1)
        case "middle":
            return ((count + 1) // 2,)
        case "every":
            step = plan.numbers[0]
            if step > count:
                raise NotationError(
                    f"every {step} is more than the string's {count} LEDs; write one end, or a smaller step"
                )
            nodes = tuple(range(0, count + 1, step))
        case "at":
            nodes = plan.numbers
            if nodes[0] < 1 or nodes[-1] > count:
                raise NotationError(f"the LEDs are numbered 1 to {count}; give places among them")
    if len(nodes) > MOST_FEEDS:
        raise NotationError(
            f"these are {len(nodes)} feeds; at most {MOST_FEEDS} are computed, so take a larger step"
        )
    return nodes


def name_node(node: int, count: int) -> str:
    """Return what the builder calls this node: the start, an LED's number, or the end."""
    if node == 0:
        return "start of the string"
    return "end of the string" if node > count else f"LED {node}"


def name_plan(plan: FeedPlan) -> str:
    """Return the plan in its own notation, a long list of places cut short."""
    if plan.kind == "every":
        return f"every {plan.numbers[0]}"
    if plan.kind == "at":
        return (
            "at "
            + ", ".join(str(number) for number in plan.numbers[:6])
            + (" …" if len(plan.numbers) > 6 else "")
        )
    return plan.kind
