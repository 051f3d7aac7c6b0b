"""Small drawings for the tests of the DXF reader, and a job that reads them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np

from analyzer.geometry.drawn import DrawnPath
from analyzer.importers.drawings.reader import read_drawing
from analyzer.importers.drawn_file import DrawnFile
from analyzer.job.settings import DrawingSettings, Friction, Job, Limits, PullSettings
from analyzer.units import LengthUnit, UnitSystem

INCH = 0.0254


def job(*, source: str = "job.toml", **drawing: Any) -> Job:
    """A job with the given drawing settings and nothing else."""
    return Job(
        title="",
        units=UnitSystem.US,
        drawing=DrawingSettings(**drawing),
        raceway=None,
        bender=None,
        bend_radius_m=None,
        conductors=(),
        existing=(),
        pull=PullSettings(Friction(0.2, 0.35, 0.5)),
        limits=Limits(),
        fittings=(),
        source=source,
    )


def save(
    folder: Path,
    draw: Callable[[Any, Any], None],
    *,
    version: str = "R2018",
    unit: int | None = 1,
    binary: bool = False,
) -> Path:
    """Save a drawing made by `draw(document, model_space)`; unit None leaves the variable out."""
    document = ezdxf.new(version)
    if unit is not None:
        document.header["$INSUNITS"] = unit
    draw(document, document.modelspace())
    path = folder / "drawing.dxf"
    document.saveas(path, fmt="bin" if binary else "asc")
    if unit is None and not binary:
        text = path.read_text(encoding="utf-8", errors="surrogateescape")
        lines = text.split("\n")
        if "$INSUNITS" in lines:
            at = lines.index("$INSUNITS")
            del lines[at - 1 : at + 3]
        path.write_text("\n".join(lines), encoding="utf-8", errors="surrogateescape")
    return path


def read(path: Path, **drawing: Any) -> DrawnFile:
    """Read a drawing with the given drawing settings."""
    return read_drawing(path, job(**drawing))


def draw_and_read(
    folder: Path, draw: Callable[[Any, Any], None], *, version: str = "R2018", **drawing: Any
) -> DrawnFile:
    """Save a drawing in inches and read it."""
    return read(save(folder, draw, version=version), **drawing)


def length_m(path: DrawnPath) -> float:
    return sum(edge.segment.length_m for edge in path.edges)


def codes(drawn: DrawnFile) -> list[str]:
    return [finding.code for finding in drawn.findings]


def finding(drawn: DrawnFile, code: str) -> Any:
    found = [one for one in drawn.findings if one.code == code]
    assert len(found) == 1, codes(drawn)
    return found[0]


def away_from_path_m(path: DrawnPath, point: Any) -> float:
    """Distance of a point from a path, by closest approach to each edge sampled and refined."""
    best = float("inf")
    p = np.asarray(point, dtype=float)
    for edge in path.edges:
        segment = edge.segment
        low, high = 0.0, segment.length_m
        for _ in range(12):
            grid = np.linspace(low, high, 33)
            away = np.linalg.norm(segment.points_at(grid) - p, axis=1)
            i = int(np.argmin(away))
            best = min(best, float(away[i]))
            low, high = grid[max(i - 1, 0)], grid[min(i + 1, 32)]
    return best


def flattened_m(entity: Any, factor: float = INCH) -> np.ndarray:
    """Points of an entity as the drawing library itself puts them on its lines and arcs. [m]"""
    rows: list[tuple[float, ...]] = []
    parts = entity.virtual_entities() if hasattr(entity, "virtual_entities") else [entity]
    for part in parts:
        if part.dxftype() == "LINE":
            rows += [tuple(part.dxf.start), tuple(part.dxf.end)]
        else:
            rows += [tuple(p) for p in part.flattening(1e-4)]
    return np.array(rows) * factor


def opened(entities: Any) -> Iterator[Any]:
    """Entities with block references opened by the drawing library itself."""
    from ezdxf import disassemble

    return disassemble.recursive_decompose(entities)


__all__ = [
    "INCH",
    "LengthUnit",
    "away_from_path_m",
    "codes",
    "draw_and_read",
    "finding",
    "flattened_m",
    "job",
    "length_m",
    "opened",
    "read",
    "save",
]
