"""What a drawing holds, in words for a terminal."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from textwrap import wrap

from analyzer.findings import Finding
from analyzer.importers.drawings.layer_contents import DrawingContents, LayerContents
from analyzer.importers.told_units import in_order_of
from analyzer.reports.folding import headed_list, hung
from analyzer.reports.grid import Column, Table, table_text
from analyzer.units import UnitSystem, show_number

__all__ = ["drawing_text"]

_MOST_OF_A_CODE = 8
"""Findings of one code that are told: a drawing read whole may hold hundreds."""


def drawing_text(contents: DrawingContents, width: int, system: UnitSystem) -> str:
    """Return the listing of a drawing: unit, extents, layers, blocks, what would be read.

    Parameters
    ----------
    contents : DrawingContents
        What `survey_drawing` returned.
    width : int
        Columns to stay within.
    system : UnitSystem
        Whose units stand first.
    """
    kind = "binary DXF" if contents.is_binary else "DXF"
    head = [
        *wrap(f"{contents.file}: {kind} {contents.version}", width),
        *hung("  unit     ", _unit(contents), width),
        *_extents(contents, width, system),
    ]
    parts = ["\n".join(head), _layers(contents, width)]
    if contents.blocks:
        rows = tuple(
            (
                block.name,
                str(block.count),
                block.kind.value if block.kind else "lines",
                block.reason,
            )
            for block in contents.blocks
        )
        columns = (Column("Block"), Column("Count", True), Column("Read as"), Column("Why"))
        parts.append(table_text(Table("Block references", columns, rows), width))
    if contents.paper_space:
        held = ", ".join(
            f"{name} ({count:,}{', read' if name in contents.layouts_read else ''})"
            for name, count in contents.paper_space
        )
        text = f"Paper space, read only where [drawing] layouts names it: {held}"
        parts.append("\n".join(wrap(text, width)))
    if contents.findings:
        parts.append(_findings(contents.findings, width, system))
    return "\n\n".join(parts) + "\n"


def _findings(findings: Sequence[Finding], width: int, system: UnitSystem) -> str:
    """Return the findings in their order; of those with one code the first few."""
    sentences, left = [], Counter(finding.code for finding in findings)
    told: Counter[str] = Counter()
    for finding in findings:
        code = finding.code
        told[code] += 1
        left[code] -= 1
        if told[code] > _MOST_OF_A_CODE:
            continue
        text = f"{finding.severity.value}: {finding.message}"
        text += f" ({finding.where})" if finding.where else ""
        sentences.append(in_order_of(system, text))
        if told[code] == _MOST_OF_A_CODE and left[code]:
            sentences.append(f"{left[code]} more of this kind ({code}): raceway check tells all")
    return headed_list("Findings", sentences, width)


def _unit(contents: DrawingContents) -> str:
    if contents.unit is None or contents.unit_from == "file":
        return contents.unit_text
    return f"{contents.unit.value}, as the {contents.unit_from} says; file: {contents.unit_text}"


def _extents(contents: DrawingContents, width: int, system: UnitSystem) -> list[str]:
    head = "  extents  "
    if contents.extents is None:
        return hung(head, "no line, arc or curve", width)
    sizes = [(unit, in_order_of(system, text)) for unit, text in contents.extents_in]
    if contents.unit is not None:
        return hung(head, sizes[0][1], width)
    lines = [line for unit, size in sizes for line in hung(head, f"if {unit.value}: {size}", width)]
    advice = "the unit is not known: add --units, such as --units in, or units under [drawing] in "
    return [*lines, *hung("  ", f"{advice}the job", width)]


def _layers(contents: DrawingContents, width: int) -> str:
    columns = (
        Column("Layer"),
        Column("State"),
        Column("Entities"),
        Column("Length", True),
        Column("Open paths", True),
        Column("Loops", True),
        Column("Stray", True),
        Column("Read"),
        Column("Why"),
    )
    rows = tuple(_layer_row(layer) for layer in contents.layers)
    unit = contents.unit.value if contents.unit else "drawing units"
    return table_text(Table(f"Layers (lengths in {unit})", columns, rows), width)


def _layer_row(layer: LayerContents) -> tuple[str, ...]:
    state = "frozen" if layer.is_frozen else "off" if layer.is_off else "on"
    entities = ", ".join(f"{count} {name}" for name, count in layer.entities) or "nothing"
    return (
        layer.name,
        state,
        entities,
        show_number(layer.curve_length, 1),
        str(layer.open_paths),
        str(layer.closed_loops),
        str(layer.stray_bits),
        "yes" if layer.is_read else "no",
        layer.reason,
    )
