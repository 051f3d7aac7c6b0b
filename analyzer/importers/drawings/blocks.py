"""Block references and points: fittings by name, other blocks opened to their lines and arcs.

References are followed to any depth, through arrays, mirrors and scales. A block that inserts
itself is opened once and reported. The content of a fitting's block is its symbol, no route.
Fittings are looked for on every layer that is not hidden, whatever the layer patterns say,
because boxes seldom stand on the layer of the raceway.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from analyzer.errors import RouteError
from analyzer.findings import EVERY_RUN, NO_RUN, Concern, Finding, Severity
from analyzer.importers.drawings.block_places import placements_of, symbol_points
from analyzer.importers.drawings.block_units import UnscaledBlock, block_unit, is_unscaled
from analyzer.importers.drawings.clip_windows import clip_of
from analyzer.importers.drawings.drawn_texts import TEXT_ENTITIES, drawn_texts
from analyzer.importers.drawings.entities import CURVE_ENTITIES, DrawnEntity, read_entity
from analyzer.importers.drawings.fitting_symbols import FittingRule, block_label, fitting_name
from analyzer.importers.drawings.layer_choice import LayerChoice
from analyzer.importers.drawings.left_out_curves import INVISIBLE, NOT_NAMED, left_out_curve
from analyzer.importers.drawings.opened_layout import FittingSymbol, OpenedLayout
from analyzer.importers.drawings.placements import WORLD, Placement, vector_of
from analyzer.importers.drawings.readable_text import readable
from analyzer.importers.drawings.reference_clips import (
    DrawnSymbol,
    ReferencePlace,
    clipped_references,
)
from analyzer.importers.drawings.unread_entities import UnreadEntity, may_be_route, unread_entity
from analyzer.importers.drawings.whole_entities import require_place, require_whole
from analyzer.job.settings import FittingKind

__all__ = ["open_layouts"]

_MAX_ENTITIES = 5_000_000
_MAX_DEPTH = 100
_EXTERNAL, _OVERLAY = 4, 8  # flags of a BLOCK that stands in another drawing (DXF reference)
_MOST_PIECES = 20  # a block that draws more is a symbol, not a piece of raceway
_WORDS = frozenset({"TEXT", "MTEXT", "ATTDEF"})

_Read = TypeVar("_Read", DrawnEntity, FittingSymbol, UnreadEntity)


@dataclass(frozen=True, slots=True)
class _Place:
    """Where the walk stands: placement, layer of the reference, handles, blocks, layout."""

    placement: Placement = WORLD
    layer: str = "0"
    handles: tuple[str, ...] = ()
    blocks: tuple[str, ...] = ()
    layout: str = ""


def open_layouts(
    document: Any,
    layouts: Iterable[tuple[str, Iterable[Any]]],
    choice: LayerChoice,
    rule: FittingRule,
    text_layers: LayerChoice | None,
) -> OpenedLayout:
    """Return everything that layouts hold, block references opened.

    Parameters
    ----------
    document : ezdxf document
        What to read.
    layouts : iterable of (str, ezdxf layout)
        Model space under an empty name, and paper space layouts under theirs.
    choice : LayerChoice
        Layers that curves are taken from.
    rule : FittingRule
        Which blocks are fittings.
    text_layers : LayerChoice or None
        Layers that texts are taken from; None takes no text.

    Raises
    ------
    RouteError
        If opened block references hold more than five million entities.
    """
    opened = OpenedLayout()
    walk = _Walk(document, choice, rule, text_layers, opened)
    for name, layout in layouts:
        walk.follow(layout, _Place(layout=name))
    opened.clipped += clipped_references(walk.clipped, walk.whole)
    return opened


@dataclass(slots=True)
class _Walk:
    document: Any
    choice: LayerChoice
    rule: FittingRule
    text_layers: LayerChoice | None
    opened: OpenedLayout
    reported: set[tuple[str, str, str]] = field(default_factory=set)
    spellings: dict[str, str] = field(default_factory=dict)
    clipped: list[ReferencePlace] = field(default_factory=list)
    whole: set[tuple[str, str, str, Placement]] = field(default_factory=set)

    def _layer(self, entity: Any) -> str:
        """Name of the layer of an entity: upper and lower case alike, as the layer table has it."""
        name = str(_attribute(entity, "layer", "0"))
        known = self.spellings.get(name)
        if known is None:
            known = self._readable(name, entity)
            state = self.choice.states.get(known.lower())
            known = state.name if state else self.spellings.get(known.lower(), known)
            self.spellings[name] = self.spellings[known.lower()] = known
        return known

    def _readable(self, text: str, entity: Any) -> str:
        """Return a name or text as people can read it; say so where it holds stray bytes."""
        shown = readable(text)
        if shown != text:
            message = (
                f"{shown!r} holds bytes that are no text of the file's encoding: read as a western "
                "code page has them. Check the name, and save the drawing anew"
            )
            where = f"handle {_attribute(entity, 'handle', None) or 'none'}"
            self._once("text-misread", Severity.NOTE, message, where)
        return shown

    def follow(self, entities: Iterable[Any], place: _Place) -> None:
        opened = self.opened
        for entity in entities:
            opened.seen += 1
            if opened.seen > _MAX_ENTITIES:
                raise RouteError(
                    f"the block references of the drawing open into more than {_MAX_ENTITIES:,} "
                    "entities; export the raceway layers only"
                )
            kind = entity.dxftype()
            own = self._layer(entity)
            layer = place.layer if own == "0" and place.blocks else own
            if _attribute(entity, "invisible", 0):
                self._left_out(entity, kind, place, layer, INVISIBLE)
            elif self.choice.is_frozen(layer):
                self._left_out(entity, kind, place, layer, "on a frozen layer")
            elif kind == "INSERT":
                self._reference(entity, place, layer)
            elif self.choice.is_off(layer):
                self._left_out(entity, kind, place, layer, "on a layer that is off")
            elif kind in CURVE_ENTITIES and not self.choice.is_wanted(layer):
                self._left_out(entity, kind, place, layer, NOT_NAMED)
            else:
                self._entity(entity, kind, place, layer)

    def _left_out(self, entity: Any, kind: str, place: _Place, layer: str, reason: str) -> None:
        """Count what is left out; of an open curve, keep where it goes."""
        self.opened.left_out[(reason, layer)] += 1
        if kind in CURVE_ENTITIES:
            handle = _handle(entity, place)
            curve = left_out_curve(entity, place.placement, layer, handle, reason, place.layout)
            if curve is not None:
                self.opened.left_out_curves.append(curve)

    def _entity(self, entity: Any, kind: str, place: _Place, layer: str) -> None:
        handle = _handle(entity, place)
        if kind in CURVE_ENTITIES:
            try:
                drawn = read_entity(entity, place.placement, layer, handle)
            except (ValueError, ArithmeticError, LookupError, TypeError, AttributeError) as error:
                where = f"layer {layer}, handle {handle}"
                self._unreadable(entity, kind, error, where, EVERY_RUN)
                return
            if drawn is not None:
                self.opened.entities.append(_in_layout(drawn, place.layout))
                return
        elif kind in TEXT_ENTITIES and self._wants_text(layer):
            self._text(entity, place, layer, handle)
            return
        elif kind == "POINT":
            found = self.rule.kind_of_point(layer)
            if found is not None:
                at = place.placement.point(vector_of(entity.dxf.location))
                try:
                    require_place(at)
                except ValueError as error:
                    where = f"layer {layer}, handle {handle}"
                    self._unreadable(entity, kind, error, where, EVERY_RUN)
                    return
                name = self._readable(fitting_name(entity), entity)
                symbol = FittingSymbol(name, found[0], at, at, at, layer, handle, "", found[1])
                self.opened.symbols.append(_in_layout(symbol, place.layout))
                return
        if self.choice.is_wanted(layer):
            self.opened.not_read[(kind, layer)] += 1
            if may_be_route(entity):
                found_here = unread_entity(entity, place.placement, layer, handle)
                self.opened.unread.append(_in_layout(found_here, place.layout))

    def _unreadable(
        self,
        entity: Any,
        kind: str,
        error: Exception,
        where: str,
        concern: Concern = NO_RUN,
    ) -> None:
        text = f"{kind} cannot be read and was left out: {error}"
        own = str(_attribute(entity, "handle", None) or where)
        self._once("entity-unreadable", Severity.CAUTION, text, where, own, concern)

    def _wants_text(self, layer: str) -> bool:
        return self.text_layers is not None and self.text_layers.is_wanted(layer)

    def _text(self, entity: Any, place: _Place, layer: str, handle: str) -> None:
        try:
            texts = drawn_texts(entity, place.placement, layer, handle)
        except (ValueError, ArithmeticError, LookupError, TypeError, AttributeError) as error:
            self._unreadable(entity, entity.dxftype(), error, f"layer {layer}, handle {handle}")
            return
        for text in texts:
            words = self._readable(text.text, entity)
            self.opened.texts.append(replace(text, text=words, layout=place.layout))

    def _attributes(self, insert: Any, place: _Place, layer: str) -> None:
        """Take the visible attributes of a reference as texts."""
        for attribute in getattr(insert, "attribs", ()) if self.text_layers else ():
            own = self._layer(attribute)
            on = layer if own == "0" else own
            hidden = attribute.is_invisible or self.choice.is_hidden(on)
            if self._wants_text(on) and not hidden:
                self._text(attribute, place, on, _handle(attribute, place))

    def _reference(self, insert: Any, place: _Place, layer: str) -> None:
        """Take a reference as a fitting, or open its block where it stands."""
        name = _block_name(insert)
        block = self.document.blocks.get(name)
        self.opened.blocks[name] += 1
        if not self._can_draw(insert, block, place, layer):
            return
        shown = self._readable(_true_block_name(self.document, name), insert)
        found = self.rule.kind_of(shown, layer)
        if found is not None:
            self._fitting(insert, block, place, layer, shown, found)
            return
        self._attributes(insert, place, layer)
        if self._may_open(insert, block, place, layer):
            self._open(insert, block, place, layer, shown)

    def _can_draw(self, insert: Any, block: Any, place: _Place, layer: str) -> bool:
        """Return whether a reference is whole and its block in the drawing; report if not."""
        name, where = _block_name(insert), _where(insert, place, layer)
        try:
            require_whole(insert)
        except ValueError as error:
            self._unreadable(insert, f"reference to block {name!r}", error, where, EVERY_RUN)
            return False
        if block is None:
            text = f"the drawing holds no block {name!r}: this reference draws nothing"
            concern = self._may_hold(name, layer)
            self._once("block-missing", Severity.CAUTION, text, where, "", concern)
        return block is not None

    def _fitting(
        self,
        insert: Any,
        block: Any,
        place: _Place,
        layer: str,
        shown: str,
        found: tuple[FittingKind, str],
    ) -> None:
        """Take the symbols of a reference to the block of a fitting."""
        if self.choice.is_off(layer):
            self.opened.left_out[("on a layer that is off", layer)] += 1
            return
        name, handle = _block_name(insert), _handle(insert, place)
        for placement in placements_of(insert, block, place.placement):
            handles = (*place.handles, str(insert.dxf.handle))
            at = _Place(placement, layer, handles, (name,), place.layout)
            pieces = self._open_curves(block, at)
            try:
                self._symbol(insert, block, at, layer, handle, shown, found, pieces)
            except ValueError as error:
                what, where = f"reference to block {name!r}", _where(insert, place, layer)
                self._unreadable(insert, what, error, where, EVERY_RUN)

    def _may_open(self, insert: Any, block: Any, place: _Place, layer: str) -> bool:
        """Return whether a block stands in the drawing and not in itself; report if not."""
        name, where = _block_name(insert), _where(insert, place, layer)
        flags = int(block.block.dxf.get("flags", 0))
        if flags & _EXTERNAL or (flags & _OVERLAY and len(block) == 0):
            text = (
                f"block {name!r} stands in another drawing (external reference), which is not "
                "read; bind it into this drawing if it holds raceway"
            )
            concern = self._may_hold(name, layer)
            self._once("external-reference", Severity.CAUTION, text, where, "", concern)
            return False
        if name in place.blocks or len(place.blocks) >= _MAX_DEPTH:
            way = " > ".join((*place.blocks, name))
            text = f"block {name!r} inserts itself ({way}): not opened again"
            concern = Concern(entities=(str(insert.dxf.handle), *place.handles))
            self._once("block-inserts-itself", Severity.CAUTION, text, where, "", concern)
            return False
        return True

    def _open(self, insert: Any, block: Any, place: _Place, layer: str, shown: str) -> None:
        """Take what a block holds at every place of a reference; keep what is clipped away."""
        name, where = _block_name(insert), _where(insert, place, layer)
        first, clip = len(self.opened.entities), clip_of(insert)
        for placement in placements_of(insert, block, place.placement):
            handles = (*place.handles, str(insert.dxf.handle))
            inside = _Place(placement, layer, handles, (*place.blocks, name), place.layout)
            held, marked = len(self.opened.entities), len(self.opened.symbols)
            self.follow(block, inside)
            key = (name.lower(), layer, " > ".join((place.layout, *place.handles)), placement)
            if clip is None:
                self.whole.add(key)
                continue
            drawn = tuple(self.opened.entities[held:])
            symbols = tuple(map(_drawn_symbol, self.opened.symbols[marked:]))
            named = shown, where, str(insert.dxf.handle)
            self.clipped.append(ReferencePlace(clip, key, *named, drawn, symbols))
        last, code = len(self.opened.entities), block_unit(block)
        if last > first and code and is_unscaled(insert):
            unscaled = UnscaledBlock(shown, where, code, first, last)
            self.opened.unscaled.setdefault(name, unscaled)

    def _open_curves(self, block: Any, place: _Place) -> tuple[DrawnEntity, ...]:
        """Return the open curves of a block that draws a few of them and nothing else."""
        kinds = [entity.dxftype() for entity in block]
        if len(kinds) > _MOST_PIECES or not CURVE_ENTITIES.issuperset(set(kinds) - _WORDS):
            return ()
        held = OpenedLayout()
        _Walk(self.document, self.choice, self.rule, None, held).follow(block, place)
        if held.findings or held.left_out or any(one.is_closed for one in held.entities):
            return ()
        return tuple(held.entities)

    def _symbol(
        self,
        insert: Any,
        block: Any,
        place: _Place,
        layer: str,
        handle: str,
        shown: str,
        found: tuple[FittingKind, str],
        pieces: tuple[DrawnEntity, ...],
    ) -> None:
        placement = place.placement
        base = vector_of(block.block.dxf.get("base_point", (0.0, 0.0, 0.0)))
        position = placement.point(base)
        for place_of_it in (placement.origin, position):
            require_place(place_of_it)
        points = [position, *symbol_points(block, placement)]
        low = (min(p[0] for p in points), min(p[1] for p in points), min(p[2] for p in points))
        high = (max(p[0] for p in points), max(p[1] for p in points), max(p[2] for p in points))
        kind, rule = found
        name = self._readable(fitting_name(insert), insert)
        label = "" if name else self._readable(block_label(block), insert)
        reference = str(insert.dxf.name)
        symbol = FittingSymbol(
            *(name, kind, position, low, high, layer, handle, shown, rule, reference, pieces),
            layout=place.layout,
            block_label=label,
        )
        self.opened.symbols.append(symbol)

    def _may_hold(self, name: str, layer: str) -> Concern:
        """Return what a block concerns that is not in the drawing: any run, if its layers are read.

        Those of an external reference stand in the layer table under its own name.
        """
        own = f"{name}|".lower()
        layers = [layer, *(s.name for key, s in self.choice.states.items() if key.startswith(own))]
        return EVERY_RUN if any(map(self.choice.is_wanted, layers)) else NO_RUN

    def _once(
        self,
        code: str,
        severity: Severity,
        message: str,
        where: str,
        entity: str = "",
        concern: Concern = NO_RUN,
    ) -> None:
        """Report, but a fault inside a block only once however often the block stands."""
        key = (code, message, entity)
        if key not in self.reported:
            self.reported.add(key)
            self.opened.findings.append(Finding(code, severity, message, where, concern))


def _in_layout(one: _Read, layout: str) -> _Read:
    """Return something read with the paper space layout it stands in."""
    return replace(one, layout=layout) if layout else one


def _drawn_symbol(symbol: FittingSymbol) -> DrawnSymbol:
    pieces = tuple(piece.handle for piece in symbol.pieces)
    return DrawnSymbol(symbol.name or symbol.block, symbol.where, symbol.position, pieces)


def _true_block_name(document: Any, name: str) -> str:
    """Return the name of the dynamic block an unnamed block was made from, else the name."""
    if not name.upper().startswith("*U"):
        return name
    try:
        record = document.blocks.get(name).block_record
        handle = record.get_xdata("AcDbBlockRepBTag").get_first_value(1005, "")
        source = document.entitydb.get(handle)
        return str(source.dxf.name) if source is not None else name
    except Exception:  # a dynamic block without its source keeps its own name
        return name


def _where(entity: Any, place: _Place, layer: str) -> str:
    return f"layer {layer}, handle {_handle(entity, place)}"


def _block_name(insert: Any) -> str:
    """Return the name of the block that a reference names; empty where it names none."""
    return str(insert.dxf.get("name", ""))


def _attribute(entity: Any, name: str, default: Any) -> Any:
    """Return an attribute; of entities of an unknown type the drawing library keeps a few."""
    try:
        return entity.dxf.get(name, default)
    except (ValueError, AttributeError):
        pass
    try:
        return entity.graphic_properties().get(name, default)
    except (ValueError, AttributeError, LookupError):
        return default


def _handle(entity: Any, place: _Place) -> str:
    own = str(_attribute(entity, "handle", None) or "none")
    return " > ".join((*place.handles, own))
