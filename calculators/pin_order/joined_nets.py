"""Joined nets: what the contacts of a mating connect, and what level every net of the board then takes.

All grounds of one side are one net, all its supplies of one voltage another; every other pin stands alone.
Levels are in V to the source's ground, at the worst moment: a signal may be high or low.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from calculators.notation.showing import Figure, Phrase, say
from calculators.pin_order.plug import Pairs, Role, describe_pin

DIODE_DROP = 0.6
"""V across a conducting silicon protection diode; the low end of 0.6 V to 0.7 V finds more current."""

OUTPUT_RESISTANCE = 25.0
"""Ω of a logic output; CMOS outputs measure about 20 Ω to 60 Ω, the low end finds more current."""

COIL_RESISTANCE = 3.2
"""Ω of a loudspeaker's voice coil: 80 % of 4 Ω, the lowest an IEC 60268-5 rated 4 Ω speaker may have."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What the source can deliver and what each pin withstands, in V, A and Ω; shares for the supplies.

    A supply input withstands its own voltage and the share `over` above it, and works down to the share
    `under` below, unless its pin has a maximum of its own.
    """

    signal_level: float = 5.0
    signal_current: float = 0.04
    source_resistor: float = 330.0
    controller_maximum: float = 5.5
    source_current: float = 15.0
    fuse: float | None = None
    lead_resistance: float = 0.1
    input_maximum: float = 5.5
    input_resistor: float = 0.0
    clamp_current: float = 0.015
    board_current: float = 0.4
    over: float = 0.1
    under: float = 0.25
    battery: float = 14.6

    def find_highest(self, role: Role) -> float:
        """Return the voltage in V that a supply or logic input withstands."""
        if role.maximum is not None:
            return role.maximum
        return role.voltage * (1 + self.over) if role.kind == "supply" else self.input_maximum

    def accepts(self, role: Role, volts: float) -> bool:
        """Return whether a supply input runs from `volts` V and withstands it."""
        return role.voltage * (1 - self.under) <= volts <= self.find_highest(role) * (1 + 1e-9)

    def find_short_current(self, volts: float, extra: float = 0.0) -> float:
        """Return the current in A that `volts` V drive out and back through the lead and `extra` Ω."""
        return min(volts / (2 * self.lead_resistance + extra), self.source_current)

    def describe_fuse(self, current: float) -> Phrase:
        """Return what the branch's fuse does at this current (A)."""
        if self.fuse is None:
            return say("no fuse is named that would open")
        fuse = Figure(self.fuse, "current")
        if current <= self.fuse:
            return say("the {fuse} fuse stays closed", fuse=fuse)
        return say("the {fuse} fuse opens, to save the wire and not the part", fuse=fuse)


@dataclass(frozen=True, slots=True)
class NetVoltage:
    """What holds a net: anywhere from `low` to `high` (V to the source's ground) behind `resistance` (Ω).

    `stiff` is a ground, a supply or an amplifier, as against a logic output.
    """

    low: float
    high: float
    resistance: float
    stiff: bool


type Net = str | tuple[str, float] | int
"""One net of one side: "ground", a loudspeaker terminal, a supply by its voltage, or a pin by its number."""


@dataclass(frozen=True, slots=True)
class Contact:
    """One place of a mating; `source` or `board` is None where nothing stands opposite."""

    source: int | None
    board: int | None


def find_net(roles: Sequence[Role], pin: int) -> Net:
    """Return the net that a pin belongs to inside its own side."""
    role = roles[pin]
    if role.kind == "ground":
        return "ground"
    if role.kind == "speaker":
        return name_terminal(role.tag, role.sign)
    return ("supply", role.voltage) if role.kind == "supply" else pin


def name_terminal(tag: str, sign: str) -> Net:
    """Return the net of a loudspeaker's terminal; several contacts may carry it."""
    return f"speaker {tag} {sign}"


class Scene:
    """One mating before judgement: which nets are joined, and what level each net of the board takes."""

    def __init__(self, source: Sequence[Role], board: Sequence[Role], pairs: Pairs, limits: Limits) -> None:
        self.source, self.board, self.limits = source, board, limits
        self.drives = tuple(self._find_drive(role) for role in source)
        self.joined: dict[Net, list[int]] = {}
        self.source_of: dict[int, int] = {}
        for here, there in pairs:
            self.joined.setdefault(find_net(board, there), []).append(here)
            self.source_of.setdefault(there, here)
        grounds = any(role.kind == "ground" for role in board)
        # A board without a ground pin has its ground elsewhere; it is taken as common with the source's.
        self.ground = (
            self.find_level("ground") if grounds else NetVoltage(0.0, 0.0, limits.lead_resistance, True)
        )
        self.rails = tuple(sorted({role.voltage for role in board if role.kind == "supply"}))
        self.rail_levels = tuple(self.find_level(("supply", volts)) for volts in self.rails)

    def _find_drive(self, role: Role) -> NetVoltage | None:
        limits = self.limits
        match role.kind:
            case "ground":
                return NetVoltage(0.0, 0.0, limits.lead_resistance, True)
            case "supply":
                return NetVoltage(role.voltage, role.voltage, limits.lead_resistance, True)
            case "speaker":
                return NetVoltage(0.0, limits.battery, limits.lead_resistance, True)
        if role.drives(at_source=True):
            return NetVoltage(0.0, limits.signal_level, OUTPUT_RESISTANCE + limits.source_resistor, False)
        return None

    def find_level(self, net: Net) -> NetVoltage | None:
        """Return what holds a net of the board, or None; a stiff level outweighs a signal."""
        held = [
            drive for drive in (self.drives[pin] for pin in self.joined.get(net, ())) if drive is not None
        ]
        drives = [drive for drive in held if drive.stiff] or held
        if len(drives) < 2:
            return drives[0] if drives else None
        return NetVoltage(
            min(drive.low for drive in drives),
            max(drive.high for drive in drives),
            min(drive.resistance for drive in drives),
            drives[0].stiff,
        )

    @cached_property
    def logic_rail(self) -> NetVoltage | None:
        """What holds the lowest supply, which the inputs' diodes lead to."""
        return self.rail_levels[0] if self.rail_levels else None

    @cached_property
    def highest_level(self) -> NetVoltage | None:
        """What holds the highest of the board's supplies, None where nothing holds any."""
        held = [level for level in self.rail_levels if level is not None]
        return max(held, key=lambda level: level.high, default=None)

    @cached_property
    def highest_rail(self) -> float:
        """The highest voltage on any supply of the board, 0 without one."""
        return self.highest_level.high if self.highest_level is not None else 0.0

    @cached_property
    def lowest_ground(self) -> float | None:
        """The lowest voltage that the board's ground can take, None where nothing at all holds it."""
        if self.ground is not None:
            return self.ground.low
        # The board draws its own lost ground down as far as a diode lets it: to an input or a lower supply.
        inputs = [self.drives[here] for pin, here in self.source_of.items() if self.board[pin].is_logic]
        lows = [level.low for level in (*self.rail_levels, *inputs) if level is not None]
        return min(lows) + DIODE_DROP if lows else None

    @cached_property
    def grounded(self) -> bool:
        """True where the board's ground stands on the source's and on nothing else."""
        return self.ground is not None and self.ground.stiff and self.ground.high <= 0

    @cached_property
    def powered(self) -> bool:
        """True where a supply holds the board's lowest one, or the board has no supply pin at all."""
        return not self.rails or (self.logic_rail is not None and self.logic_rail.stiff)

    @cached_property
    def has_held_input(self) -> bool:
        """True where a logic input of the board stands on a supply, a ground or an amplifier."""
        return any(
            self.board[pin].listens(at_source=False) and drive is not None and drive.stiff
            for pin, drive in ((pin, self.drives[here]) for pin, here in self.source_of.items())
        )


class Place:
    """One contact within its scene, with both roles and both levels at hand for the rules."""

    def __init__(self, scene: Scene, contact: Contact) -> None:
        self.scene, self.limits, self.contact = scene, scene.limits, contact
        here, there = contact.source, contact.board
        self.here = None if here is None else scene.source[here]
        self.drive = None if here is None else scene.drives[here]
        self.source_listens = self.here is not None and self.here.listens(at_source=True)
        self.there = None if there is None else scene.board[there]
        self.net = None if there is None else find_net(scene.board, there)
        self.level = None if self.net is None else scene.find_level(self.net)
        self.kind = "" if self.there is None else self.there.kind
        self.board_drives = self.there is not None and self.there.drives(at_source=False)
        self.board_listens = self.there is not None and self.there.listens(at_source=False)
        joined = () if self.net is None else scene.joined.get(self.net, ())
        self.partners = [pin for pin in joined if pin != here]
        """The other source pins that the board joins to this one."""

    def name(self, side: Literal["source", "board"]) -> str:
        """Return the pin of one side as people say it."""
        role, pin = (self.here, self.contact.source) if side == "source" else (self.there, self.contact.board)
        return "nothing" if role is None or pin is None else describe_pin(role, pin)
