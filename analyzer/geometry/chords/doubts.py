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
    covers : (int, int) or None
        First and last vertex that the message speaks of, where they are more than the one.
    """

    vertex: int
    message: str
    serious: bool
    arc: tuple[int, int, float] | None = None
    otherwise: str = ""
    covers: tuple[int, int] | None = None

    @property
    def spoken_of(self) -> range:
        """The vertices that need no other doubt: those it covers, those of its arc, or its own."""
        first, last = self.covers or (self.arc and self.arc[:2]) or (self.vertex, self.vertex)
        return range(first, last + 1)

    def moved(self, vertices: Sequence[int]) -> Doubt:
        """Return the doubt with its vertices numbered as in the stretch they were taken from."""
        arc = self.arc and (vertices[self.arc[0]], vertices[self.arc[1]], self.arc[2])
        covers = self.covers and (vertices[self.covers[0]], vertices[self.covers[1]])
        return replace(self, vertex=vertices[self.vertex], arc=arc, covers=covers)
