"""A size without room is refused with one that has it, whatever its shape."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
import rink_analyses as rink

from analyzer.errors import InputError
from viewer.compare import require_room
from viewer.compared_cases import cases_of
from viewer.developed import plan_developed
from viewer.image import plan_picture
from viewer.many import build_many
from viewer.many_picture import plan_many, require_many_room
from viewer.options import ViewOptions
from viewer.scene import build_scene
from viewer.sizes import LEAST_RUN_UNITS, MOST_PIXELS, no_room


@pytest.fixture(scope="module")
def analysis():
    return rink.analysis_of(boxes=(("Box A", 64.0),))


def named_size(refused) -> tuple[int, int]:
    text = str(refused.value)
    named = re.search(r" has no room for its views?: give it --size (\d+)x(\d+)$", text)
    assert named is not None, text
    width, height = int(named[1]), int(named[2])
    assert width * height <= MOST_PIXELS
    return width, height


@pytest.mark.parametrize(
    ("drawing", "size"),
    [
        ("view", (4000, 400)),
        ("view", (50000, 640)),  # of this width no height has room within the most pixels
        ("plan", (3600, 500)),
        ("elevation", (3200, 400)),
        ("many", (4000, 400)),
    ],
)
def test_a_flat_picture_is_refused_with_a_size_whose_view_shows_the_run(analysis, drawing, size):
    scene = build_scene(analysis.runs[0], analysis.job)
    every = build_many(replace(analysis, runs=analysis.runs * 2))

    def view(width, height):
        if drawing == "many":
            require_many_room(every, width, height)
            made = plan_many(every, width, height, effort=0.0)
            return made.canvas, made.camera, every.points_m
        if drawing == "elevation":
            made = plan_developed(scene, width, height, effort=0.0)
            return made.canvas, made.camera, made.flat.points_m
        angles = (-90.0, 90.0) if drawing == "plan" else (-70.0, 30.0)
        made = plan_picture(scene, width, height, effort=0.0, angles=angles)
        return made.canvas, made.camera, scene.points_m

    with pytest.raises(InputError) as refused:
        view(*size)
    width, height = named_size(refused)
    assert (width == size[0]) is (size[0] < 50000)
    if size[0] < 50000:
        canvas, camera, points = view(width, height)
        pixels = camera.pixels(points[~np.isnan(points).any(axis=1)])
        assert 0.8 * LEAST_RUN_UNITS * canvas.text_unit < np.ptp(pixels[:, 1]) < camera.height


def test_a_flat_comparison_is_refused_with_a_size_that_works(analysis):
    options = ViewOptions(None, "better", "expected", "tension", None, False)
    cases = cases_of(analysis, options, "all")
    with pytest.raises(InputError) as refused:
        require_room("comparison", cases, 4000, 400)
    require_room("comparison", cases, *named_size(refused))


@pytest.mark.parametrize(
    ("fits", "told"),
    [
        (lambda width, height: height >= 500, "give it --size 1000x510"),
        (lambda width, height: height >= 500 and width >= 1100, "give it --size 1274x510"),
        (lambda width, height: height >= 50 * width, "give it --size 640x33426"),
        (lambda width, height: False, "make it larger"),
    ],
)
def test_the_smallest_change_with_room_is_named(fits, told):
    text = str(no_room("picture", "view", fits, 1000, 400))
    assert f"a picture of 1000x400 has no room for its view: {told}" in text
