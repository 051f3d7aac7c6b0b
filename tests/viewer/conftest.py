"""Tests of pictures are skipped, with the reason, where nothing can be drawn."""

from __future__ import annotations

import pytest
from screen_hand import screen

__all__ = ["pytest_collection_modifyitems", "screen"]


def pytest_collection_modifyitems(items):
    drawn = [item for item in items if item.get_closest_marker("picture")]
    if not drawn:
        return
    from viewer.graphics_probe import graphics_fault

    fault = graphics_fault()
    if fault:
        for item in drawn:
            item.add_marker(pytest.mark.skip(reason=fault))
