"""What a drawing holds, in words for a terminal."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from textwrap import wrap

from analyzer.findings import Finding
from analyzer.importers.drawings.layer_contents import DrawingContents, LayerContents
from analyzer.reports.grid import Column, Table, grid_text
from analyzer.units import show_number

__all__ = ["drawing_text"]

_MOST_OF_A_CODE = 8
"""Findings of one code that are told: a drawing read whole may hold hundreds."""


def drawing_text(contents: DrawingContents, width: int) -> str:
    """Return the listing of a drawing: unit, extents, layers, blocks, what would be read.

    Parameters
    ----------
    contents : DrawingContents
        What `survey_drawing` returned.
    width : int
        Columns to stay within.
    """
    kind = "binary DXF" if contents.is_binary else "DXF"
    parts = [
        f"{contents.file}: {kind} {contents.version}\n  unit     {_unit(contents)}"
        + _extents(contents)
    ]
    parts.append(_layers(contents, width))
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
        parts.append(grid_text(Table("Block references", columns, rows), width))
    if contents.paper_space:
        held = ", ".join(
            f"{name} ({count:,}{', read' if name in contents.layouts_read else ''})"
            for name, count in contents.paper_space
        )
        text = f"Paper space, read only where [drawing] layouts names it: {held}"
        parts.append("\n".join(wrap(text, width)))
    if contents.findings:
        parts.append(_findings(contents.findings, width))
    return "\n\n".join(parts) + "\n"


def _findings(findings: Sequence[Finding], width: int) -> str:
    """Return the findings in their order; of those with one code the first few."""
    lines, left = ["Findings"], Counter(finding.code for finding in findings)
    told: Counter[str] = Counter()
    for finding in findings:
        code = finding.code
        told[code] += 1
        left[code] -= 1
        if told[code] > _MOST_OF_A_CODE:
            continue
        text = f"{finding.severity.value}: {finding.message}"
        text += f" ({finding.where})" if finding.where else ""
        lines += _item(text, width)
        if told[code] == _MOST_OF_A_CODE and left[code]:
            lines += _item(
                f"{left[code]} more of this kind ({code}): raceway check tells all", width
            )
    return "\n".join(lines)


def _item(text: str, width: int) -> list[str]:
    folded = wrap(text, width - 4)
    return [f"  - {folded[0]}", *(f"    {line}" for line in folded[1:])]


def _unit(contents: DrawingContents) -> str:
    if contents.unit is None or contents.unit_from == "file":
        return contents.unit_text
    return f"{contents.unit.value}, as the {contents.unit_from} says; file: {contents.unit_text}"


def _extents(contents: DrawingContents) -> str:
    if contents.extents is None:
        return "\n  extents  no line, arc or curve"
    if contents.unit is not None:
        return f"\n  extents  {contents.extents_in[0][1]}"
    lines = [f"\n  extents  if {unit.value}: {text}" for unit, text in contents.extents_in]
    return "".join(lines) + (
        "\n  the unit is not known: add --units, such as --units in, or units under [drawing]"
        " in the job"
    )


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
    return grid_text(Table(f"Layers (lengths in {unit})", columns, rows), width)


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
