"""What reading a drawing would report of its entities, and of what they join to.

Hidden layers and layers that no pattern names are passed over, as they are when a run is read.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from analyzer.findings import Finding
from analyzer.importers.chaining.chain_curves import chain_curves, duplicate_findings
from analyzer.importers.chaining.chains import Chain
from analyzer.importers.chaining.drawn_curves import DrawnCurve
from analyzer.importers.drawings.blocks import open_layouts
from analyzer.importers.drawings.drawn_fittings import (
    fitting_boxes,
    fitting_sources,
    fitting_stops,
    in_layouts_with_runs,
    kind_findings,
    placed_fittings,
    repeated_names,
    without_stacked,
)
from analyzer.importers.drawings.fitting_symbols import FittingRule
from analyzer.importers.drawings.layer_choice import LayerChoice
from analyzer.importers.drawings.left_out import left_out_findings
from analyzer.importers.drawings.opened_layout import OpenedLayout
from analyzer.importers.drawings.reader import asked_layouts
from analyzer.importers.drawings.reference_clips import clip_findings
from analyzer.importers.drawings.route_pieces import standing_symbols
from analyzer.importers.drawings.unread_entities import unread_findings
from analyzer.job.settings import DrawingSettings
from analyzer.units import LengthUnit

__all__ = ["entity_findings", "opened_as_read"]


def opened_as_read(
    document: Any,
    held: OpenedLayout,
    choice: LayerChoice,
    rule: FittingRule,
    settings: DrawingSettings,
) -> OpenedLayout:
    """Return what a run would be read from.

    Parameters
    ----------
    document : ezdxf document
        The drawing.
    held : OpenedLayout
        All it holds, hidden layers too; returned as it is where nothing of it is left out.
    choice : LayerChoice
        Which layers are read.
    rule : FittingRule
        What is taken for a fitting.
    settings : DrawingSettings
        Layers, layouts and layers of names that the job asks for.
    """
    is_all = not any(state.is_off or state.is_frozen for state in choice.states.values())
    if is_all and not settings.layers and not settings.name_layers:
        return held
    text_layers = LayerChoice(settings.name_layers, choice.states) if settings.name_layers else None
    layouts = asked_layouts(document, settings.layouts)
    return open_layouts(document, layouts, choice, rule, text_layers)


def entity_findings(
    read: OpenedLayout,
    choice: LayerChoice,
    curves: Sequence[DrawnCurve],
    drawn: Sequence[Finding],
    settings: DrawingSettings,
    unit: LengthUnit | None,
) -> tuple[list[Finding], tuple[Chain, ...]]:
    """Return what would be reported of entities and of joining them, and the stray bits left out.

    Faults, what is left out or without length, what is drawn twice; then overlaps, gaps, branches,
    loops and ends that nearly meet.

    Parameters
    ----------
    read : OpenedLayout
        What `opened_as_read` returned.
    choice : LayerChoice
        Layers and the patterns they are chosen by.
    curves, drawn : sequences of DrawnCurve and Finding
        Its entities as curves, and what was found on making them.
    settings : DrawingSettings
        The joining distance and the snap.
    unit : LengthUnit or None
        Unit of the drawing. Where it is not known, how far ends lie apart is not known either:
        then nothing is said of joining but what is drawn twice.
    """
    told = [one for one in drawn if unit is not None or one.code != "curve-as-arcs"]
    findings = [*read.findings, *told, *clip_findings(read.clipped, unit)]
    symbols, stacked = without_stacked(read.symbols)
    findings += stacked
    if unit is None:
        return findings + left_out_findings(read, choice) + duplicate_findings(curves), ()
    fittings = placed_fittings(symbols, float(unit.factor))
    boxes = fitting_boxes(symbols, fittings, float(unit.factor))
    findings += [*kind_findings(symbols, unit), *repeated_names(fittings)]
    chains = chain_curves(
        curves,
        settings.join_m,
        settings.snap_m,
        boxes,
        unit,
        stops=fitting_stops(fittings),
        sources=fitting_sources(fittings),
        symbols=standing_symbols(symbols, read.entities, float(unit.factor)),
    )
    findings += in_layouts_with_runs(fittings, chains.chains)[1]
    unread, named = unread_findings(read.unread, chains.chains, settings.join_m, unit)
    findings += [*chains.findings, *unread, *left_out_findings(read, choice, named)]
    return findings, chains.strays
