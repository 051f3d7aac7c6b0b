"""The settled job: every value used, in SI, defaults filled in, names looked up in the catalog."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from analyzer.catalog.conductors import Conductor
from analyzer.catalog.raceways import Raceway
from analyzer.findings import Finding
from analyzer.geometry.segments import Vector
from analyzer.job.key_lines import KeyPath
from analyzer.units import LengthUnit, UnitSystem, ft, inches, lbf_per_ft

__all__ = [
    "ARRANGEMENT_COUNTS",
    "SOURCE_KINDS",
    "Arrangement",
    "Attachment",
    "BoxSettings",
    "ConductorLine",
    "DrawingSettings",
    "FittingEntry",
    "FittingKind",
    "Friction",
    "Job",
    "Limits",
    "Passage",
    "PlanSettings",
    "PullSettings",
    "SidewallFriction",
]


class FittingKind(Enum):
    """Kinds of fitting; `END` is an end of a run that nothing names."""

    PULL_BOX = "pull box"
    JUNCTION_BOX = "junction box"
    CONDUIT_BODY = "conduit body"
    HANDHOLE = "handhole"
    MANHOLE = "manhole"
    PANEL = "panel"
    EQUIPMENT = "equipment"
    END = "end"


SOURCE_KINDS = frozenset({FittingKind.PANEL, FittingKind.EQUIPMENT})
"""Kinds of fitting that runs start or end at, and none passes."""


class Passage(Enum):
    """How conductors pass a pull point."""

    REFEED = "refeed"
    THROUGH = "through"


class Arrangement(Enum):
    """How a group of conductors lies in the raceway."""

    SINGLE = "single"
    PAIR = "pair"
    TRIANGULAR = "triangular"
    CRADLED = "cradled"
    DIAMOND = "diamond"
    BUNCHED = "bunched"


ARRANGEMENT_COUNTS = {
    Arrangement.SINGLE: range(1, 2),
    Arrangement.PAIR: range(2, 3),
    Arrangement.TRIANGULAR: range(3, 4),
    Arrangement.CRADLED: range(3, 4),
    Arrangement.DIAMOND: range(4, 5),
    Arrangement.BUNCHED: range(2, 1_000_000),
}
"""How many conductors can lie so."""


class Attachment(Enum):
    """What holds the conductors at the head."""

    BASKET_GRIP = "basket grip"
    PULLING_EYE = "pulling eye"


@dataclass(frozen=True, slots=True)
class DrawingSettings:
    """How to read the route file.

    Attributes
    ----------
    units : LengthUnit or None
        Unit of the file where the file does not say.
    layers : tuple of str
        Patterns of the layers to read; empty: all of them.
    start : str, (3,) float or None
        Name of a fitting, or a point, at the end a chain starts from. [m]
    snap_m : float
        How far from the centerline a fitting may stand. [m]
    accuracy_m : float or None
        Standard deviation of one coordinate; survey points only. [m]
    fitting_kinds : tuple of (pattern, FittingKind or None)
        Kind of a block reference by pattern of its name; the first that matches holds. None:
        the block is no fitting, what it draws is read as raceway.
    read_as : tuple of (run, str)
        How the bends of a named run are to be read where the points leave it open.
    axes : three str or None
        Meaning of the three coordinate columns, such as ``("north", "east", "depth")``.
    layouts : tuple of str
        Patterns of the paper space layouts to read besides model space.
    name_layers : tuple of str
        Patterns of the layers whose text names the run beside it.
    join_m : float
        Widest gap bridged where loose ends are chained. [m]
    units_by_option : bool
        Whether an option laid over the job named the unit; two jobs are equal all the same.
    """

    units: LengthUnit | None = None
    layers: tuple[str, ...] = ()
    start: str | Vector | None = None
    snap_m: float = inches(6)
    accuracy_m: float | None = None
    fitting_kinds: tuple[tuple[str, FittingKind | None], ...] = ()
    read_as: tuple[tuple[str, str], ...] = ()
    axes: tuple[str, str, str] | None = None
    layouts: tuple[str, ...] = ()
    name_layers: tuple[str, ...] = ()
    join_m: float = inches(1 / 16)
    units_by_option: bool = field(default=False, compare=False)


@dataclass(frozen=True, slots=True)
class ConductorLine:
    """A number of like conductors; `count_stated` is False where one was taken to be meant."""

    count: int
    conductor: Conductor
    count_stated: bool = True


@dataclass(frozen=True, slots=True)
class Friction:
    """The friction band: low governs hold-back and braking, high governs tension.

    `stated` is False for the default band; `is_band` is False where one number was given;
    `preset` names the catalog's friction it was taken from, empty where numbers were given.
    """

    low: float
    expected: float
    high: float
    stated: bool = True
    preset: str = ""

    @property
    def is_band(self) -> bool:
        """Whether low and high differ."""
        return self.low < self.high


@dataclass(frozen=True, slots=True)
class SidewallFriction:
    """Smaller friction in a bend where the conductors press hard.

    Attributes
    ----------
    above_n_per_m : float
        Sidewall pressure above which it holds, as reports give it. [N/m]
    part : float
        What remains of the friction there, low, expected and high alike; above 0, at most 1.
    source : str
        Where the two values come from; empty where no source is shown: then they count as from
        memory, and every report says so.
    """

    above_n_per_m: float
    part: float
    source: str = ""


@dataclass(frozen=True, slots=True)
class PullSettings:
    """How the conductors are pulled; None where the job does not say. [N] [m]"""

    friction: Friction = Friction(0.20, 0.35, 0.50, stated=False)
    feed_tension_n: float = 0.0
    arrangement: Arrangement | None = None
    weight_factor_in_bends: bool = True
    attachment: Attachment | None = None
    line_working_load_n: float | None = None
    puller_capacity_n: float | None = None
    lubricant_reach_m: float | None = None
    dry_friction: float | None = None
    friction_by_sidewall: SidewallFriction | None = None


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits to hold; values stated in the job override those of the rule set. [rad] [m] [N/m]

    `sidewall_from` says where the sidewall limit comes from: ``job``, ``insulation class`` or
    ``assumed`` (the older general rule of 300 lbf/ft, with a caution). `degrees_from` and
    `length_from` are ``job`` or ``rule set``; `length_between_pull_points_m` is None where neither
    limits it.
    """

    rules: str = "nec-2023"
    degrees_between_pull_points: float = 360.0
    degrees_from: str = "rule set"
    length_between_pull_points_m: float | None = None
    length_from: str = "rule set"
    sidewall_pressure_n_per_m: float = lbf_per_ft(300)
    sidewall_from: str = "assumed"
    clearance_m: float = inches(0.25)
    clearance_from: str = "assumed"


@dataclass(frozen=True, slots=True)
class PlanSettings:
    """What the plan for the crew needs beside the pull. [m] [N]

    Attributes
    ----------
    feed_at : str or None
        Name of the pull point the reels stand at; None: the best place is looked for.
    slack_each_end_m, slack_per_box_m : float
        Conductor left at each end, and at each box on the way. [m]
    slack_percent : float
        Added to the length with its slack.
    call_out_every_m : float
        Longest way of the head without a call-out on a straight. [m]
    line_breaking_strength_n : float or None
        Of the pulling line. [N]

    References
    ----------
    MIL-HDBK-1012/3, 1996: 10 ft at each end and 10 percent; the rest is our choice.
    """

    feed_at: str | None = None
    slack_each_end_m: float = ft(10.0)
    slack_per_box_m: float = 0.0
    slack_percent: float = 10.0
    call_out_every_m: float = ft(50.0)
    line_breaking_strength_n: float | None = None


@dataclass(frozen=True, slots=True)
class FittingEntry:
    """One `[[fittings]]` entry: settings for a drawn fitting of that name, or a fitting placed.

    `run` names the run it stands on where a file holds several.
    """

    name: str
    kind: FittingKind | None = None
    at_m: float | None = None
    position_m: Vector | None = None
    run: str | None = None
    passage: Passage | None = None
    pull_point: bool | None = None
    feed_tension_n: float | None = None
    size_m: tuple[float, ...] | None = None


@dataclass(frozen=True, slots=True)
class BoxSettings:
    """Where boxes may be added, and what they cost. [m]

    Attributes
    ----------
    run : str or None
        Name of the run that stations below belong to, where a file holds several.
    candidates_m : tuple of float
        Stations to choose from; empty: any place on a straight that can take a box.
    spacing_m : float
        Distance between the places tried first; the answer is then refined between them.
    need_m : float
        Clear straight a box needs on either side of its middle, up to a bend, an end or a fitting.
    keep_out_m, allowed_m : tuple of (from, to)
        Stretches where no box may stand; stretches where boxes may stand (empty: everywhere).
    at_corners : bool
        Whether a box may also replace a bend.
    most : int
        Greatest number of boxes to add.
    direction : str
        ``better``: each leg in its better direction; ``forward`` or ``reverse``: all legs so.
    cost_per_box, cost_per_setup : float or None
        In any one currency. A set-up is one place where the reels stand.
    need_from : str
        ``job`` or ``assumed``.
    """

    run: str | None = None
    candidates_m: tuple[float, ...] = ()
    spacing_m: float = ft(1)
    need_m: float = inches(12)
    keep_out_m: tuple[tuple[float, float], ...] = ()
    allowed_m: tuple[tuple[float, float], ...] = ()
    at_corners: bool = False
    most: int = 8
    direction: str = "better"
    cost_per_box: float | None = None
    cost_per_setup: float | None = None
    need_from: str = "assumed"


@dataclass(frozen=True, slots=True)
class Job:
    """Everything besides the route.

    Attributes
    ----------
    title : str
        Name of the project for pages; may be empty.
    units : UnitSystem
        What people see first.
    drawing : DrawingSettings
        How the route file is read.
    raceway : Raceway or None
        None only where a single conductor is pulled and no corner needs a radius.
    bender : str or None
        Bender the table radius is taken for; None when the raceway is None.
    bend_radius_m : float or None
        Radius stated for corners drawn without one. [m]
    conductors, existing : tuple of ConductorLine
        To be pulled (at least one); already in the raceway.
    pull : PullSettings
        Friction, lubricant, feed tension and what pulls.
    limits : Limits
        Rules and limits that pulls and raceway are checked against.
    fittings : tuple of FittingEntry
        Fittings that the job places or tells more of.
    findings : tuple of Finding
        What a person should know about how the job was settled (assumed values and the like).
    source : str
        File name of the job, empty without a file.
    boxes : BoxSettings
        Where boxes may be added.
    plan : PlanSettings
        What the plan for the crew needs.
    places : mapping of key path to str
        Where each key stands: file and line, or the option that sets it.
    """

    title: str
    units: UnitSystem
    drawing: DrawingSettings
    raceway: Raceway | None
    bender: str | None
    bend_radius_m: float | None
    conductors: tuple[ConductorLine, ...]
    existing: tuple[ConductorLine, ...]
    pull: PullSettings
    limits: Limits
    fittings: tuple[FittingEntry, ...]
    findings: tuple[Finding, ...] = field(default=())
    source: str = ""
    boxes: BoxSettings = BoxSettings()
    plan: PlanSettings = PlanSettings()
    places: Mapping[KeyPath, str] = field(default_factory=dict, compare=False, repr=False)

    def at(self, *path: str | int) -> str:
        """Return where a key stands, to begin a message with; empty where the job has no file.

        Examples
        --------
        ``feeder.toml, line 12: ``, of the key, or of the table that lacks it.
        """
        for length in range(len(path), 0, -1):
            if path[:length] in self.places:
                return f"{self.places[path[:length]]}: "
        return f"{self.source}: " if self.source else ""

    def at_entry(self, entry: FittingEntry | None) -> str:
        """Return where an entry of ``[[fittings]]`` stands, to begin a message with."""
        if entry is None or entry not in self.fittings:
            return self.at("fittings")
        return self.at("fittings", self.fittings.index(entry))

    @property
    def table_radius_m(self) -> float | None:
        """Smallest bend radius of the table for raceway and bender; None where it has none. [m]

        It counts to the centerline of the raceway.
        """
        if self.raceway is None:
            return None
        by_bender = dict(self.raceway.bend_radius_m)
        return by_bender.get(self.bender or self.raceway.default_bender)

    @property
    def drawing_units_from(self) -> str:
        """Who named the unit of the route file: ``job`` or ``option``."""
        return "option" if self.drawing.units_by_option or not self.source else "job"

    @property
    def pulling_weight_n_per_m(self) -> float:
        """Weight of all conductors pulled, allowances included. [N/m]"""
        return sum(line.count * line.conductor.pulling_weight_n_per_m for line in self.conductors)
