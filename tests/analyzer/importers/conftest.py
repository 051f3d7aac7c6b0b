"""The fixture with which tests of point files read a text."""

from __future__ import annotations

from dataclasses import replace

import pytest
from point_samples import JOB

from analyzer.importers.drawn_file import DrawnFile
from analyzer.importers.points.reader import read_points


@pytest.fixture
def read(tmp_path):
    def reading(content: str | bytes, source: str = "", **drawing: object) -> DrawnFile:
        path = tmp_path / "riser.csv"
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        settings = replace(JOB.drawing, **drawing)
        return read_points(path, replace(JOB, drawing=settings, source=source))

    return reading
