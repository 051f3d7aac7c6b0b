"""What reading a drawn path gives: a centerline and its bends, with how each was read."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from analyzer.findings import Finding
from analyzer.geometry.centerline import Centerline

__all__ = ["Attitude", "Bend", "RadiusFrom", "ReadAs", "Reading"]


class ReadAs(Enum):
    """How a run was read."""

    ARCS = "arcs"
    CORNERS = "corners"
    CHORDS = "chords"
    SPLINE = "spline"
    SURVEY = "survey"
    MIXED = "mixed"


class RadiusFrom(Enum):
    """Where the radius of a bend comes from."""

    DRAWING = "drawing"
    FIT = "fit"
    JOB = "job"
    TABLE = "table"


class Attitude(Enum):
    """How a bend lies in space, traveling forward.

    Level: plane within 1° of horizontal. In a vertical plane (within 1°): rising or falling by
    the sign of the height gained, crest or sag where it goes over the top or through the bottom
    (one of more than half a turn may do both: what comes first). Tilted: the rest.
    """

    LEVEL = "level"
    RISING = "rising"
    FALLING = "falling"
    CREST = "crest"
    SAG = "sag"
    TILTED = "tilted"


@dataclass(frozen=True, slots=True)
class Bend:
    """One bend of a run, forward.

    Attributes
    ----------
    number : int
        From 1 along the run.
    station_m, end_station_m : float
        Its tangent points, the lower station first; equal for a corner in a fitting. [m]
    angle_rad : float
        Total turning. [rad]
    radius_m : float or None
        Centerline radius (of a spline the smallest); None for a corner in a fitting. [m]
    radius_from : RadiusFrom or None
        None for a corner in a fitting.
    attitude : Attitude
        How it lies.
    rotation_rad : float or None
        Signed turn of the bend plane about the straight shared with the bend before,
        right-handed about forward travel, in (-pi, pi]; None for the first. [rad]
    in_fitting : bool
        A corner inside a fitting: it turns no raceway.
    read_as : ReadAs
        How this bend was read (never MIXED).
    angle_sd_rad, radius_sd_m : float or None
        Standard deviations, survey points only; an angle that nothing tells has pi, a radius that
        nothing tells has none. [rad] [m]
    radius_determined : bool or None
        Survey only: False where the deviation of the radius is above 0.3 of it.
    """

    number: int
    station_m: float
    end_station_m: float
    angle_rad: float
    radius_m: float | None
    radius_from: RadiusFrom | None
    attitude: Attitude
    rotation_rad: float | None
    in_fitting: bool
    read_as: ReadAs
    angle_sd_rad: float | None = None
    radius_sd_m: float | None = None
    radius_determined: bool | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """A drawn path read as a centerline.

    Attributes
    ----------
    centerline : Centerline
        Straights and arcs, with corners only where asked to keep them.
    bends : tuple of Bend
        In order.
    read_as : ReadAs
        One word for the run; MIXED where its bends differ in kind.
    deviation_m : float
        Greatest distance between centerline and drawn points (a corner's own vertex does not
        count: the bend cuts it on purpose). [m]
    findings : tuple of Finding
        Notes, cautions and errors of the reading.
    vertex_station_m : tuple of float
        Station nearest to each drawn vertex. [m]
    rounding_m : float
        Grid that the file rounds coordinates to. [m]
    """

    centerline: Centerline
    bends: tuple[Bend, ...]
    read_as: ReadAs
    deviation_m: float
    findings: tuple[Finding, ...]
    vertex_station_m: tuple[float, ...]
    rounding_m: float
