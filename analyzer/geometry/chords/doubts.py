"""A doubt about how some drawn lines were read, as data."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

__all__ = ["Doubt"]


@dataclass(frozen=True, slots=True)
class Doubt:
    """A place that could be read another way.

    Attributes
    ----------
    vertex : int
        Vertex of the stretch where it starts.
    message : str
        What it was read as, what else it could be, and the option that settles it.
    serious : bool
        Whether the other reading is as natural: a caution; otherwise a note.
    arc : (int, int, float) or None
        First and last vertex and angle of the arc that reading as chords is said to give. [rad]
    otherwise : str
        The message where it gives another.
    """

    vertex: int
    message: str
    serious: bool
    arc: tuple[int, int, float] | None = None
    otherwise: str = ""

    def moved(self, vertices: Sequence[int]) -> Doubt:
        """Return the doubt with its vertices numbered as in the stretch they were taken from."""
        arc = self.arc and (vertices[self.arc[0]], vertices[self.arc[1]], self.arc[2])
        return replace(self, vertex=vertices[self.vertex], arc=arc)
