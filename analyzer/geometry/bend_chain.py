"""The chain of corner points that reading a drawn path builds up, and what its parts know."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from math import radians, tan

from analyzer.findings import Finding, Severity
from analyzer.geometry.centerline import angle_between
from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.corners import Node
from analyzer.geometry.drawn import DrawnAs, DrawnEdge
from analyzer.geometry.numbered_findings import NumberedFinding
from analyzer.geometry.readings import RadiusFrom, ReadAs
from analyzer.geometry.segments import Arc, Floats, Straight, Vector
from analyzer.geometry.vectors import plus, to_vector
from analyzer.units import show_short, show_station

__all__ = [
    "ROUNDED_RAD",
    "TANGENT_RAD",
    "Asked",
    "BendChain",
    "BendSpec",
    "Drawing",
    "OffTangent",
    "add_corner",
    "arc_node",
    "in_brackets",
    "is_line",
    "place_of",
]

TANGENT_RAD = 1e-6
"""A joint that turns no more than this is tangent. [rad]"""

ROUNDED_RAD = radians(0.5)
"""A joint of a drawn arc that turns no more than this misses tangency by rounding. [rad]"""


_EASED_SHARE, _EASED_FROM = 0.1, 3.0
"""Share of the lines beside it that a slight corner is spread over, and how many radii of a bend
they are long at least: then the bends at their other ends have room."""


@dataclass(slots=True)
class BendSpec:
    """What is known of a bend before it is laid out.

    `corner` tells a drawn corner, whose own vertex the bend cuts on purpose; `chord_joints` are
    the first and last vertex of chords that lie on the arc; `told` is said at a corner that still
    turns once what lies beside it is read; the rest is as in `Bend`.
    """

    read_as: ReadAs
    radius_from: RadiusFrom | None
    in_fitting: bool = False
    corner: bool = False
    chord_joints: tuple[int, int] | None = None
    angle_sd_rad: float | None = None
    radius_sd_m: float | None = None
    radius_determined: bool | None = None
    told: Finding | None = None


@dataclass(slots=True)
class Asked:
    """What the caller of `read_bends` asked for, under the same names."""

    corner_radius_m: float | None
    radius_from: RadiusFrom
    accuracy_m: float | None
    read_as: ReadAs | None
    where: str


@dataclass(slots=True)
class Drawing:
    """The path cleaned: repeats dropped, an origin subtracted.

    Joints are the vertices left, one more than edges. `joint_of_vertex` gives the joint of each
    vertex as drawn; `kept` and `radii_m` go by joint. `rounding_m` is the grid of the coordinates,
    `floor_m` what doubles leave. Add `origin` to come back to the file's coordinates. `names` are
    those of the joints in the file. `straights` gives the first and the last joint of the straight
    that an edge beside an arc is a part of, where a coarse grid makes its vertices turn.
    """

    edges: list[DrawnEdge]
    points_m: Floats
    joint_of_vertex: list[int]
    kept: frozenset[int]
    radii_m: list[float | None]
    rounding_m: float
    floor_m: float
    origin: Vector
    names: tuple[str, ...]
    straights: dict[int, tuple[int, int]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class OffTangent:
    """A joint where a drawn curve and the straight beside it miss tangency by more than rounding.

    Attributes
    ----------
    turn_rad : float
        By how much. [rad]
    swing_rad : float
        How far the straight as laid, from the short arc on it, lies off the way it is drawn: the
        turns at its ends differ by that from those drawn. [rad]
    joint : int
        The drawn vertex.
    curve, lead : int
        Places in the specs of the bend that holds the curve there, and of the one that takes up
        the turn; alike where that is one bend.
    """

    turn_rad: float
    swing_rad: float
    joint: int
    curve: int
    lead: int


@dataclass(slots=True)
class BendChain:
    """Corner points gathered along the path.

    `joints` holds the joint of each corner point, `specs` what is known of each bend, `findings`
    each with the joint it stands at, `left_out` the joints of survey outliers, `end` the fitted
    end of a survey, `surveyed` whether survey points were fitted and `scatter_m` their largest
    deviation of a coordinate about a fit, `last_run` the chords gathered last with their bend and
    the joint at their end, `outside` the joints of polygons round the outside of an arc,
    `missed_rad` by how much joints of drawn arcs miss tangency that count as tangent, `off_tangent`
    the joints that do by more.
    """

    nodes: list[Node] = field(default_factory=list)
    joints: list[int] = field(default_factory=list)
    specs: list[BendSpec] = field(default_factory=list)
    findings: list[tuple[Finding | NumberedFinding, int | None]] = field(default_factory=list)
    left_out: set[int] = field(default_factory=set)
    end: Vector | None = None
    surveyed: bool = False
    scatter_m: float = 0.0
    last_run: tuple[int, int, ChordRun] | None = None
    outside: set[int] = field(default_factory=set)
    missed_rad: list[float] = field(default_factory=list)
    off_tangent: list[OffTangent] = field(default_factory=list)

    def add(self, spec: BendSpec, nodes: list[Node], joint: int) -> None:
        """Add a bend of its own with its corner points; `joint` is the drawn vertex before it."""
        number = len(self.specs)
        self.specs.append(spec)
        self.extend(number, nodes, joint)

    def extend(self, number: int, nodes: list[Node], joint: int) -> None:
        """Add corner points to a bend that is already there."""
        for node in nodes:
            self.nodes.append(replace(node, bend=number))
            self.joints.append(joint)

    def find(self, code: str, severity: Severity, message: str, joint: int | None) -> None:
        """Note a finding; its place becomes the station of a drawn vertex once laid out."""
        self.findings.append((Finding(code, severity, message), joint))


def is_line(edge: DrawnEdge) -> bool:
    """Return whether an edge is a drawn line, which may stand for a chord."""
    return edge.drawn_as is DrawnAs.LINE and isinstance(edge.segment, Straight)


def add_corner(drawing: Drawing, asked: Asked, chain: BendChain, joint: int) -> None:
    """Add the corner at a joint: sharp in a fitting, otherwise with its radius or the job's.

    Parameters
    ----------
    drawing : Drawing
        The path.
    asked : Asked
        What was asked for, with the radius of corners that have none of their own.
    chain : BendChain
        Corner points gathered up to there; the corner is added to it.
    joint : int
        The drawn vertex.
    """
    place = to_vector(drawing.points_m[joint])
    if joint in drawing.kept:
        chain.add(
            BendSpec(ReadAs.CORNERS, None, in_fitting=True, corner=True), [Node(place)], joint
        )
        return
    own = drawing.radii_m[joint]
    radius = own if own is not None else asked.corner_radius_m
    source = RadiusFrom.DRAWING if own is not None else asked.radius_from
    told = None
    if radius is not None and _is_slight(drawing, joint):
        eased = _eased_radius(drawing, joint, radius) if own is None else None
        text = (
            "is taken for two straights that do not quite line up: its turn counts, spread over "
            f"the lines beside it (R {show_short(eased)})"
            if eased is not None
            else f"is read as a bend of its own (R {show_short(radius)}): where one straight was "
            "meant, leave the point out or draw it in line"
        )
        if eased is not None or asked.read_as is not ReadAs.CORNERS:
            told = Finding(
                "slight-corner", Severity.NOTE, f"a corner of half a degree or less {text}"
            )
        if eased is not None:
            radius, source = eased, RadiusFrom.DRAWING
    # The radius may be missing: only corners that still turn in the end need one.
    chain.add(
        BendSpec(ReadAs.CORNERS, source, corner=True, told=told),
        [Node(place, radius if radius is not None else float("nan"))],
        joint,
    )


def _is_slight(drawing: Drawing, joint: int) -> bool:
    """Whether a corner is too slight to be bent."""
    return 0 < joint < len(drawing.edges) and TANGENT_RAD < _turn(drawing, joint) <= ROUNDED_RAD


def _turn(drawing: Drawing, joint: int) -> float:
    before, after = drawing.edges[joint - 1].segment, drawing.edges[joint].segment
    return angle_between(before.end_tangent, after.start_tangent)


def _eased_radius(drawing: Drawing, joint: int, radius_m: float) -> float | None:
    """Radius that spreads a corner too slight to be bent over the lines beside it. [m]

    None where these are so short that other bends may need them.
    """
    shortest = min(edge.segment.length_m for edge in drawing.edges[joint - 1 : joint + 1])
    if shortest < _EASED_FROM * radius_m:
        return None
    return _EASED_SHARE * shortest / tan(_turn(drawing, joint) / 2.0)


def arc_node(arc: Arc, *, hemmed: bool = False) -> Node:
    """Return the corner point of a drawn arc, to be used as it is.

    `hemmed` tells that no straight stands beside it that it could take more of.
    """
    reach = arc.radius_m * tan(arc.angle_rad / 2.0)
    place = plus(arc.start_m, arc.start_tangent, reach)
    return Node(place, arc.radius_m, -1, arc, reach if hemmed else None)


def in_brackets(where: str) -> str:
    """Return the place in brackets for the end of a sentence; nothing where it is empty."""
    return f" ({where})" if where else ""


def place_of(asked: Asked, station_m: float | None) -> str:
    """Return where a finding stands: the place of the route and the station."""
    parts = [asked.where] if asked.where else []
    if station_m is not None:
        parts.append(f"station {show_station(station_m)}")
    return ", ".join(parts)
