"""Joined nets: what the contacts of a mating connect, and what level every net of the board then takes.

All grounds of one side are one net, all its supplies of one voltage another; every other pin stands alone.
Levels are in V to the source's ground, at the worst moment: a signal may be high or low.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from calculators.notation.units import Ohm, Volt
from calculators.pin_order.limits import Limits
from calculators.pin_order.pairs import Pairs
from calculators.pin_order.plug import Pin, Role

DIODE_DROP = 0.6
"""V across a conducting silicon protection diode; the low end of 0.6 V to 0.7 V finds more current."""

OUTPUT_RESISTANCE = 25.0
"""Ω of a logic output; CMOS outputs measure about 20 Ω to 60 Ω, the low end finds more current."""


LINE_PEAK = 2.8
"""V at the peaks of line audio: the 2 V of full scale that players give; common practice."""

LINE_RESISTANCE = 470.0
"""Ω of a line output; 100 Ω to 1 kΩ are usual; common practice."""


@dataclass(frozen=True, slots=True)
class NetVoltage:
    """What holds a net: anywhere from `low` to `high` (V to the source's ground) behind `resistance` (Ω).

    `stiff` is a ground, a supply or an amplifier, as against a logic output. What only a resistor pulls up
    comes to `high` through that, its `pull_up`.
    """

    low: Volt
    high: Volt
    resistance: Ohm
    stiff: bool
    pull_up: Ohm | None = None

    @property
    def lift(self) -> Ohm:
        """The resistance in Ω on the way from `high`."""
        return self.resistance if self.pull_up is None else self.pull_up


type Net = str | tuple[str, float] | int
"""One net of one side: "ground", a loudspeaker terminal, a supply by its voltage, or a pin by its number."""


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
        if role.kind == "line":
            return NetVoltage(-LINE_PEAK, LINE_PEAK, LINE_RESISTANCE, False)
        if role.is_bus:
            return NetVoltage(0.0, limits.signal_level, OUTPUT_RESISTANCE, False, limits.pull_up)
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
    def highest_rail(self) -> Volt:
        """The highest voltage on any supply of the board, 0 without one."""
        return self.highest_level.high if self.highest_level is not None else 0.0

    @cached_property
    def lowest_ground(self) -> Volt | None:
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


class Contact:
    """One place of a mating, with both pins and both levels at hand; one side may be open."""

    def __init__(self, scene: Scene, here: int | None, there: int | None) -> None:
        self.scene, self.limits = scene, scene.limits
        self.here = None if here is None else Pin(here, scene.source[here])
        self.there = None if there is None else Pin(there, scene.board[there])
        self.source_kind = None if self.here is None else self.here.role.kind
        self.board_kind = None if self.there is None else self.there.role.kind
        self.drive = None if here is None else scene.drives[here]
        self.net = None if there is None else find_net(scene.board, there)
        self.level = None if self.net is None else scene.find_level(self.net)
        self.source_listens = self.here is not None and self.here.role.listens(at_source=True)
        self.board_drives = self.there is not None and self.there.role.drives(at_source=False)
        self.board_listens = self.there is not None and self.there.role.listens(at_source=False)
        self.board_takes = self.board_listens or self.board_kind == "line"
        """Whether the board wants a signal here, also one that no diode stands behind."""
        self.board_pulls = self.there is not None and self.there.role.is_bus
        self.is_bus = self.board_pulls and self.here is not None and self.here.role.is_bus
        joined = () if self.net is None else scene.joined.get(self.net, ())
        self.partners = [pin for pin in joined if pin != here]
        """The other source pins that the board joins to this one."""
