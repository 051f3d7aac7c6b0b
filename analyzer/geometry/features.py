"""Features: bends that belong together, such as offsets and saddles."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Feature"]


@dataclass(frozen=True, slots=True)
class Feature:
    """Bends that belong together.

    Attributes
    ----------
    kind : str
        ``kick``, ``offset``, ``rolling offset``, ``three-bend saddle``, ``four-bend saddle``,
        ``back-to-back``, ``quarter bend``, ``vertical drop``, ``vertical rise``, ``dog-leg``.
    bends : tuple of int
        Numbers of its bends.
    figures : tuple of (str, float)
        Named figures with their unit in the name, such as ``("depth_m", 0.3)``.
    """

    kind: str
    bends: tuple[int, ...]
    figures: tuple[tuple[str, float], ...]
