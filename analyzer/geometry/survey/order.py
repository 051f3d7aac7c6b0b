"""Whether survey points run in order along what was fitted to them.

The fit asks only how far points stand off the run. Points measured twice, or a block of rows that
was put in the wrong place, lie on it all the same, and a run ends at the foot of its last point.

Source: own rule.
"""

from __future__ import annotations

import numpy as np

from analyzer.findings import Severity
from analyzer.geometry.numbered_findings import NumberedFinding
from analyzer.geometry.polyline import leg_lengths
from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import Ints, evaluate
from analyzer.geometry.survey.fit import ChainFit, fit_line
from analyzer.units import show_short, show_station

__all__ = ["order_findings", "stations_of"]

_BACK_SIGMAS, _BACK_STEPS = 12.0, 2.0
"""Way back along the run that is no error of the points: in deviations, and in median spacings
where it costs no length. At its ends it does."""

_MOST_NAMED = 5
"""Places that a message names at most. Own choice."""

_LONG_M = 0.5
"""Length from which feet and meters are shown, not inches and millimeters."""


def stations_of(points: Floats, fit: ChainFit | None) -> Floats:
    """Return how far along the fit every point stands, from any beginning. [m]

    Parameters
    ----------
    points : (n, 3) float
        The fitted points. [m]
    fit : ChainFit or None
        The chain; None for a straight.
    """
    if fit is None:
        center, direction, _ = fit_line(points)
        return np.asarray((points - center) @ direction)
    state = evaluate(points, fit.chain)
    f, own = state.frames, state.owner
    arcs = fit.chain.radii_m * f.angle
    straights = f.l2[:-1] - f.tangent[:-1] - f.tangent[1:]
    begin = np.concatenate(([0.0], np.cumsum(arcs[:-1] + straights)))
    beyond = arcs[own] + state.x * f.cos[own] - state.y * f.sin[own]
    on_arc = fit.chain.radii_m[own] * state.phi
    along = np.where(state.first, state.x, np.where(state.last, beyond, on_arc))
    return np.asarray(begin[own] + along)


def order_findings(
    points: Floats, fit: ChainFit | None, sigma: float, kept: Ints
) -> list[NumberedFinding]:
    """Return where points go back along the run: an error where that cuts it short by much.

    Parameters
    ----------
    points : (n, 3) float
        The fitted points. [m]
    fit : ChainFit or None
        The chain; None for a straight.
    sigma : float
        Standard deviation of one coordinate. [m]
    kept : (n,) int
        Their places among all points of the run.
    """
    stations = stations_of(points, fit)
    far = np.maximum.accumulate(stations)
    sure = _BACK_SIGMAS * sigma
    limit = max(sure, _BACK_STEPS * float(np.median(leg_lengths(points))))
    back = far - stations
    behind = back > limit
    for end in (slice(int(stations.argmin()) + 1), slice(int(stations.argmax()), None)):
        behind[end] |= back[end] > sure
    if not behind.any():
        return []
    edges = np.flatnonzero(np.diff(behind.astype(np.int8), prepend=0, append=0))
    blocks = list(zip(edges[::2], edges[1::2] - 1, strict=True))
    shown = [
        f"{{}} to {{}} by up to {_shown(float(back[first : last + 1].max()))}"
        for first, last in blocks[:_MOST_NAMED]
    ]
    more = "" if len(blocks) <= _MOST_NAMED else f" and {len(blocks) - _MOST_NAMED} more times"
    text = f"the points go back along the run: {', '.join(shown)}{more}. "
    lost = max(float(far[-1] - stations[-1]), float(stations[0] - stations.min()))
    if lost > sure:
        text += (
            f"A run goes from its first point to its last: as they stand {_shown(lost)} of it "
            "are lost. "
        )
    text += "Put the points in the order of the route, each place once."
    named = tuple(int(kept[at]) for block in blocks[:_MOST_NAMED] for at in block)
    severity = Severity.ERROR if lost > limit else Severity.CAUTION
    return [NumberedFinding("survey-points-go-back", severity, text, points=named)]


def _shown(length_m: float) -> str:
    return show_station(length_m) if length_m >= _LONG_M else show_short(length_m)
