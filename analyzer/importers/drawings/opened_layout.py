"""What layouts of a drawing hold once all block references are opened, in drawing units."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from analyzer.findings import Finding
from analyzer.geometry.segments import Vector
from analyzer.importers.drawings.block_units import UnscaledBlock
from analyzer.importers.drawings.drawn_texts import DrawnText
from analyzer.importers.drawings.entities import DrawnEntity
from analyzer.importers.drawings.left_out_curves import LeftOutCurve
from analyzer.importers.drawings.reference_clips import ClippedReference
from analyzer.importers.drawings.unread_entities import UnreadEntity
from analyzer.job.settings import FittingKind

__all__ = ["FittingSymbol", "OpenedLayout"]


@dataclass(frozen=True, slots=True)
class FittingSymbol:
    """A block reference or point read as a fitting, in drawing units.

    `low` and `high` are the corners of its symbol; equal to the position where it draws nothing.
    `block` is the name of the block a person knows, `reference` the one referred to; both are
    empty for a point. `rule` is what told its kind: empty for the job, ``block`` or ``layer`` for
    a trade word in that name. `pieces` are the open curves a block draws, where it draws nothing
    else. `layout` is the paper space layout it stands in; empty in model
    space. `block_label` is what all references to its block bear, where this one has no name.
    """

    name: str
    kind: FittingKind
    position: Vector
    low: Vector
    high: Vector
    layer: str
    handle: str
    block: str
    rule: str
    reference: str = ""
    pieces: tuple[DrawnEntity, ...] = ()
    layout: str = ""
    block_label: str = ""

    @property
    def told_by(self) -> str:
        """What told its kind, in words."""
        by = {"": "the job", "block": "its name"}
        return by.get(self.rule, f"the name of its layer {self.layer!r}")

    @property
    def where(self) -> str:
        """Layer, block and handle."""
        what = f"block {self.block}" if self.block else "POINT"
        return f"layer {self.layer}, {what}, handle {self.handle}"


@dataclass(slots=True)
class OpenedLayout:
    """What layouts hold once all block references are opened, in drawing units.

    `left_out` counts, by reason and layer, entities that were left out, and `left_out_curves`
    holds the open curves among them; `not_read` counts entity types that draw no route, and
    `unread` holds those among them that may. `clipped` holds what clipped references draw out of
    sight.
    """

    entities: list[DrawnEntity] = field(default_factory=list)
    symbols: list[FittingSymbol] = field(default_factory=list)
    texts: list[DrawnText] = field(default_factory=list)
    blocks: Counter[str] = field(default_factory=Counter)
    left_out: Counter[tuple[str, str]] = field(default_factory=Counter)
    left_out_curves: list[LeftOutCurve] = field(default_factory=list)
    not_read: Counter[tuple[str, str]] = field(default_factory=Counter)
    unread: list[UnreadEntity] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    unscaled: dict[str, UnscaledBlock] = field(default_factory=dict)
    clipped: list[ClippedReference] = field(default_factory=list)
    seen: int = 0
