"""What the command line asks the viewer for; nothing heavy is imported before it is used."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from analyzer.analysis import Analysis
    from viewer.palette import Theme
    from viewer.scene import Scene

__all__ = ["PictureSize", "ViewOptions"]


class PictureSize(NamedTuple):
    """Size of a picture; on paper also the pixels of a drawing unit (1/100 in) and of an inch."""

    width: int
    height: int
    unit_px: float | None = None
    dpi: int | None = None


@dataclass(frozen=True, slots=True)
class ViewOptions:
    """What the command line asks for."""

    run: str | None
    direction: str
    friction: str | float
    quantity: str
    size: PictureSize | None
    dark: bool

    @property
    def theme(self) -> Theme:
        """Neutral colors."""
        from viewer.palette import DARK, LIGHT

        return DARK if self.dark else LIGHT

    def scene(self, analysis: Analysis) -> Scene:
        """Return the scene of the run asked for."""
        from viewer.cases import scene_at
        from viewer.quantities import Quantity
        from viewer.scene import run_named

        judged = run_named(analysis, self.run)
        quantity = Quantity(self.quantity)
        return scene_at(analysis, judged, self.direction, self.friction, quantity)
