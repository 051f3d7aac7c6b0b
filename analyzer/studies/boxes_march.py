"""The pull from every possible feed place at once.

One march along the run carries the tension of all pulls that are under way: at each stop the
figures of those that end there are noted, and one more pull begins. It is the string model of
`pulling.string_model`, on straights written out for all feed places and all heads together.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.pulling.string_model import (
    ArcPiece,
    CornerPiece,
    Piece,
    StraightPiece,
    pull_string,
    split_piece,
)
from analyzer.route.run import SAME_PLACE_M
from analyzer.studies.boxes_arcs import pull_around
from analyzer.studies.boxes_places import Stop

__all__ = ["Note", "Rubbing", "march"]


@dataclass(frozen=True, slots=True)
class Rubbing:
    """Effective friction on straights and in bends, before and beyond the lubricant's reach.

    Negative where the march goes backwards along conductors held back.
    """

    straight: float
    bend: float
    dry_straight: float
    dry_bend: float
    reach_m: float | None = None


Note = Callable[[slice, slice, Floats, Floats, Floats], None]
"""Takes rows (where pulls start), columns (where they end), exit tension, greatest tension and
greatest tension over radius of bends, each of shape (rows, columns) or (rows, 1). [N] [N/m]"""


def march(
    pieces: Sequence[Piece],
    stops: Sequence[Stop],
    weight_n_per_m: float,
    rubbing: Rubbing,
    start_n: Sequence[float],
    note: Note,
) -> None:
    """Go along the run once and note the figures of all pulls.

    Parameters
    ----------
    pieces : sequence of Piece
        From the first stop to the last in the direction of the march, cut at fixed stops.
    stops : sequence of Stop
        n stops in the order of the march.
    weight_n_per_m : float
        Weight per length of all conductors. [N/m]
    rubbing : Rubbing
        Effective friction.
    start_n : (n,) float
        Tension with which a pull starts at each stop. [N]
    note : Note
        Called block by block, each pair of stops at most once. Entries at or below the diagonal
        and across a fixed stop mean nothing.
    """
    _March(pieces, stops, weight_n_per_m, rubbing, start_n, note).go()


class _March:
    """State of a march; row i is the pull that starts at stop i."""

    def __init__(
        self,
        pieces: Sequence[Piece],
        stops: Sequence[Stop],
        weight: float,
        rubbing: Rubbing,
        start_n: Sequence[float],
        note: Note,
    ) -> None:
        self.note = note
        self.pieces, self.stops, self.weight, self.rubbing = pieces, stops, weight, rubbing
        n = len(stops)
        origin = pieces[0].station_m
        sign = 1.0 if pieces[-1].end_station_m >= origin else -1.0
        self.origin, self.sign = origin, sign
        self.arrive = np.array([sign * (stop.arrive_m - origin) for stop in stops])
        self.leave = np.array([sign * (stop.leave_m - origin) for stop in stops])
        self.tension = np.asarray(start_n, dtype=float).copy()
        self.greatest = self.tension.copy()
        self.bearing = np.zeros(n)
        self.dry_from = np.full(n, np.inf)
        if rubbing.reach_m is not None:
            way = np.array([stop.way_out.length_m for stop in stops])
            self.dry_from = self.leave - way + rubbing.reach_m
        self.first, self.count, self.arrived = 0, 0, 1

    def go(self) -> None:
        """March from the first piece to the last."""
        for piece in self.pieces:
            low, high = self._ends(piece)
            if isinstance(piece, StraightPiece):
                self._straight(piece, low, high)
            elif isinstance(piece, ArcPiece):
                self._start_at(low)
                self._arc(piece)
            else:
                self._corner(piece, low)
            self._arrive_at(high)

    def _ends(self, piece: Piece) -> tuple[float, float]:
        low = self.sign * (piece.station_m - self.origin)
        return low, self.sign * (piece.end_station_m - self.origin)

    def _rows(self) -> slice:
        return slice(self.first, self.count)

    def _start_at(self, place: float) -> None:
        """Begin the pulls of stops at or before a joint; a corner there is behind them already."""
        while self.count < len(self.stops) and self.leave[self.count] <= place + SAME_PLACE_M:
            self._begin(self.count)
            self.count += 1

    def _begin(self, row: int) -> None:
        """Pull the new row through the way out of its stop."""
        way = self.stops[row].way_out
        if way.length_m > 0.0:
            part = np.array([self.tension[row]])
            wet = min(way.length_m, self.rubbing.reach_m or way.length_m)
            part, top = self._along(part, way.up, way.across, wet, way.length_m - wet)
            self.tension[row], self.greatest[row] = part[0], max(self.tension[row], top[0])

    def _arrive_at(self, place: float) -> None:
        """Note the pulls that end at a joint; at a fixed stop none goes on."""
        while self.arrived < len(self.stops) and self.arrive[self.arrived] <= place + SAME_PLACE_M:
            column, rows = self.arrived, slice(self.first, min(self.count, self.arrived))
            self._note(rows, column)
            if self.stops[column].is_fixed:
                self.first = column
            self.arrived += 1

    def _note(self, rows: slice, column: int) -> None:
        tension, greatest = self.tension[rows], self.greatest[rows]
        way = self.stops[column].way_in
        if way.length_m > 0.0:
            end = self.arrive[column]
            wet = np.clip(self.dry_from[rows] - end, 0.0, way.length_m)
            tension, top = self._along(tension, way.up, way.across, wet, way.length_m - wet)
            greatest = np.maximum(greatest, top)
        figures = (each[:, None] for each in (tension, greatest, self.bearing[rows]))
        self.note(rows, slice(column, column + 1), *figures)

    def _exits(
        self,
        tension: Floats,
        up: float,
        across: float,
        wet_m: Floats | float,
        dry_m: Floats | float,
    ) -> Floats:
        """Tension at the end of lengths of straight, wet first, then dry."""
        w, rubbing = self.weight, self.rubbing
        out = w * (up + rubbing.straight * across) * wet_m + tension
        np.maximum(out, 0.0, out=out)
        if rubbing.reach_m is not None:
            out += w * (up + rubbing.dry_straight * across) * dry_m
            np.maximum(out, 0.0, out=out)
        return out

    def _along(
        self,
        tension: Floats,
        up: float,
        across: float,
        wet_m: Floats | float,
        dry_m: Floats | float,
    ) -> tuple[Floats, Floats]:
        """Exit and greatest tension; wet friction is never above dry, so it stands at an end."""
        out = self._exits(tension, up, across, wet_m, dry_m)
        return out, np.maximum(tension, out)

    def _straight(self, piece: StraightPiece, low: float, high: float) -> None:
        self._start_at(low)
        old_rows, n = self.count, len(self.stops)
        new_rows = old_rows
        while new_rows < n and self.leave[new_rows] < high - SAME_PLACE_M:
            self._begin(new_rows)
            new_rows += 1
        begin: Floats | float = low
        if new_rows > old_rows:
            begin = np.full(new_rows - self.first, low)
            begin[old_rows - self.first :] = self.leave[old_rows:new_rows]
        last = self.arrived
        while last < n and self.arrive[last] < high - SAME_PLACE_M:
            last += 1
        if last > self.arrived:
            starts = np.broadcast_to(np.asarray(begin), (new_rows - self.first,))
            self._note_inside(piece, starts, slice(self.first, new_rows), slice(self.arrived, last))
            self.arrived = last
        self.count = new_rows
        rows = self._rows()
        wet, dry = self._wet_and_dry(rows, begin, high - begin)
        self.tension[rows], top = self._along(self.tension[rows], piece.up, piece.across, wet, dry)
        self.greatest[rows] = np.maximum(self.greatest[rows], top)

    def _wet_and_dry(
        self, rows: slice, begin: Floats | float, gone: Floats | float
    ) -> tuple[Floats | float, Floats | float]:
        """Parts of the way before and beyond the lubricant's reach."""
        if self.rubbing.reach_m is None:
            return gone, 0.0
        wet = np.clip(self.dry_from[rows] - begin, 0.0, gone)
        return wet, gone - wet

    def _note_inside(
        self, piece: StraightPiece, begin: Floats, rows: slice, columns: slice
    ) -> None:
        """Note all pulls that end at stops inside a straight."""
        gone = np.maximum(self.arrive[columns][None, :] - begin[:, None], 0.0)
        wet: Floats = gone
        dry: Floats | float = 0.0
        if self.rubbing.reach_m is not None:
            wet = np.clip((self.dry_from[rows] - begin)[:, None], 0.0, gone)
            dry = gone - wet
        tension = self._exits(self.tension[rows][:, None], piece.up, piece.across, wet, dry)
        greatest = np.maximum(self.greatest[rows][:, None], tension)
        self.note(rows, columns, tension, greatest, self.bearing[rows][:, None])

    def _arc(self, piece: ArcPiece) -> None:
        if self.count == self.first:
            return
        low, high = self._ends(piece)
        rows = np.arange(self.first, self.count)
        dry_from = self.dry_from[rows]
        for group, friction in (
            (rows[dry_from >= high], self.rubbing.bend),
            (rows[dry_from <= low], self.rubbing.dry_bend),
        ):
            if group.size:
                self.tension[group], top = pull_around(
                    piece.shape, self.weight, self.tension[group], friction
                )
                self._press(group, top, piece.shape.radius_m)
        for row in rows[(dry_from > low) & (dry_from < high)]:
            parts = split_piece(piece, self.origin + self.sign * float(self.dry_from[row]))
            k = [[self.rubbing.bend], [self.rubbing.dry_bend]]
            (pulled,) = pull_string(parts, self.weight, k[: len(parts)], self.tension[row])
            self.tension[row] = pulled.exit_tension_n
            self._press(np.array([row]), np.array([pulled.greatest()[0]]), piece.shape.radius_m)

    def _press(self, rows: np.ndarray, top: Floats, radius_m: float) -> None:
        self.greatest[rows] = np.maximum(self.greatest[rows], top)
        self.bearing[rows] = np.maximum(self.bearing[rows], top / radius_m)

    def _corner(self, piece: CornerPiece, place: float) -> None:
        rows = self._rows()
        is_dry = place > self.dry_from[rows] + SAME_PLACE_M
        k = np.where(is_dry, self.rubbing.dry_bend, self.rubbing.bend)
        self.tension[rows] *= np.exp(k * piece.angle_rad)
        self.greatest[rows] = np.maximum(self.greatest[rows], self.tension[rows])
