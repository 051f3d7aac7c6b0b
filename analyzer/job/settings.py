"""The settled job: every value used, in SI, defaults filled in, names looked up in the catalog."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum

from analyzer.catalog.conductors import Conductor
from analyzer.catalog.raceways import Raceway
from analyzer.findings import Finding
from analyzer.geometry.segments import Vector
from analyzer.units import LengthUnit, UnitSystem, inches, lbf_per_ft

__all__ = [
    "Arrangement",
    "Attachment",
    "ConductorLine",
    "DrawingSettings",
    "FittingEntry",
    "FittingKind",
    "Friction",
    "Job",
    "Limits",
    "Passage",
    "PullSettings",
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


class Attachment(Enum):
    """What holds the conductors at the head."""

    BASKET_GRIP = "basket grip"
    PULLING_EYE = "pulling eye"


@dataclass(frozen=True, slots=True)
class DrawingSettings:
    """How to read the route file."""

    units: LengthUnit | None = None
    layers: tuple[str, ...] = ()
    start: str | Vector | None = None
    snap_m: float = inches(6)
    accuracy_m: float | None = None
    fitting_kinds: tuple[tuple[str, FittingKind], ...] = ()
    read_as: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class ConductorLine:
    """A number of like conductors."""

    count: int
    conductor: Conductor


@dataclass(frozen=True, slots=True)
class Friction:
    """The friction band: low governs hold-back and braking, high governs tension.

    `stated` is False for the default band; `is_band` is False where one number was given.
    """

    low: float
    expected: float
    high: float
    stated: bool = True

    @property
    def is_band(self) -> bool:
        """Whether low and high differ."""
        return self.low < self.high


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


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits to hold; values stated in the job override those of the rule set. [rad] [m] [N/m]

    `sidewall_from` says where the sidewall limit comes from: ``job``, ``insulation class`` or
    ``assumed`` (the older general rule of 300 lbf/ft, with a caution).
    `length_between_pull_points_m` is None where no rule limits it.
    """

    rules: str = "nec-2023"
    degrees_between_pull_points: float = 360.0
    degrees_from: str = "rule set"
    length_between_pull_points_m: float | None = None
    sidewall_pressure_n_per_m: float = lbf_per_ft(300)
    sidewall_from: str = "assumed"
    clearance_m: float = inches(0.25)
    clearance_from: str = "assumed"


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
class Job:
    """Everything besides the route.

    Attributes
    ----------
    raceway : Raceway or None
        None only where a single conductor is pulled and no corner needs a radius.
    bender : str or None
        Bender the table radius is taken for; None when the raceway is None.
    bend_radius_m : float or None
        Radius stated for corners drawn without one. [m]
    conductors, existing : tuple of ConductorLine
        To be pulled (at least one); already in the raceway.
    findings : tuple of Finding
        What a person should know about how the job was settled (assumed values and the like).
    source : str
        File name of the job, empty without a file.
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

    @property
    def conductor_count(self) -> int:
        """Number of conductors pulled."""
        return sum(line.count for line in self.conductors)

    @property
    def pulling_weight_n_per_m(self) -> float:
        """Weight of all conductors pulled, allowances included. [N/m]"""
        return sum(line.count * line.conductor.pulling_weight_n_per_m for line in self.conductors)
