"""The subcommand view, the graphics probe and the model file."""

from __future__ import annotations

import argparse
import json
import struct
import subprocess
import sys
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
import rink_analyses as rink

from analyzer.errors import GraphicsError, InputError, OutputError
from viewer import graphics_probe
from viewer.cases import scene_at
from viewer.chips import Chip
from viewer.cli import _refuse_of_several, command
from viewer.gltf import glb_bytes
from viewer.scene import build_scene


def arguments(*words, analysis=None):
    parser = argparse.ArgumentParser()
    command.add_arguments(parser)
    args = parser.parse_args(words)
    args.load_analysis = lambda: analysis if analysis is not None else rink.analysis_of()
    return args


def test_the_command_is_light_to_load():
    code = (
        "import sys, viewer.cli; "
        "print([m for m in ('numpy', 'pyvista', 'vtk', 'vtkmodules', 'matplotlib', 'PIL', "
        "'trimesh') if m in sys.modules])"
    )
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"


def test_building_and_laying_out_a_scene_loads_no_graphics_library():
    code = (
        "import sys, viewer.scene, viewer.image, viewer.solids; "
        "print([m for m in ('pyvista', 'vtk', 'vtkmodules') if m in sys.modules])"
    )
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"


@pytest.mark.parametrize("text", ["1600", "ax3", "100x100", "99999x99999", "1600x-3"])
def test_a_size_that_cannot_be_drawn_is_refused(text, capsys):
    with pytest.raises(SystemExit) as stop:
        arguments("--size", text)
    assert stop.value.code == 2
    assert "size" in capsys.readouterr().err


def test_a_size_is_read():
    assert arguments("--size", "1920x1080").size == (1920, 1080, None, None)
    assert arguments("--size", "letter").size == (11 * 300, 8.5 * 300, 3.0, 300)
    assert arguments().size is None


def test_a_window_without_a_screen_says_what_to_do(monkeypatch):
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    monkeypatch.setattr(sys, "platform", "linux")
    with pytest.raises(GraphicsError, match="--image FILE") as error:
        command.run(arguments())
    assert error.value.exit_code == 4


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="DISPLAY names screens on Linux")
def test_a_window_on_a_screen_that_does_not_answer_says_what_to_do(monkeypatch):
    monkeypatch.setenv("DISPLAY", ":987")
    with pytest.raises(GraphicsError, match=":987, does not answer: add --image FILE"):
        command.run(arguments())


def test_a_picture_without_a_graphics_library_names_the_packages(monkeypatch, tmp_path):
    def died(*_, **__):
        return SimpleNamespace(returncode=-11, stderr=b"")

    graphics_probe.graphics_fault.cache_clear()
    monkeypatch.setattr(graphics_probe.subprocess, "run", died)
    try:
        with pytest.raises(GraphicsError, match="libegl1 libgl1-mesa-dri") as error:
            command.run(arguments("--image", str(tmp_path / "rink.png")))
    finally:
        monkeypatch.undo()
        graphics_probe.graphics_fault.cache_clear()
    assert error.value.exit_code == 4
    assert list(tmp_path.iterdir()) == []


def test_a_child_that_never_answers_is_no_graphics_library(monkeypatch):
    def hangs(*_, **__):
        raise subprocess.TimeoutExpired("python", 90)

    graphics_probe.graphics_fault.cache_clear()
    monkeypatch.setattr(graphics_probe.subprocess, "run", hangs)
    try:
        assert "failed" in graphics_probe.graphics_fault()
    finally:
        monkeypatch.undo()
        graphics_probe.graphics_fault.cache_clear()


def test_a_picture_into_no_folder_is_refused_before_any_work(tmp_path):
    args = arguments("--image", str(tmp_path / "none" / "rink.png"))
    args.load_analysis = lambda: pytest.fail("the route was read")
    with pytest.raises(OutputError, match="there is no folder"):
        command.run(args)


def test_a_picture_goes_to_a_file_only():
    with pytest.raises(InputError, match="instead of -"):
        command.run(arguments("--image", "-"))


def parts_of(glb):
    """Header of a binary glTF, and its rows of numbers by accessor, read by the format alone."""
    magic, version, length, size, kind = struct.unpack_from("<4sIII4s", glb)
    assert (magic, version, length, kind) == (b"glTF", 2, len(glb), b"JSON")
    header = json.loads(glb[20 : 20 + size])
    start = 20 + size + 8
    types = {5125: np.uint32, 5126: np.float32}
    wide = {"SCALAR": 1, "VEC3": 3, "VEC4": 4}

    def rows(number):
        accessor = header["accessors"][number]
        view = header["bufferViews"][accessor["bufferView"]]
        at = start + view.get("byteOffset", 0) + accessor.get("byteOffset", 0)
        count = accessor["count"] * wide[accessor["type"]]
        assert at % 4 == start % 4
        flat = np.frombuffer(glb, types[accessor["componentType"]], count, at)
        return accessor, flat.reshape(accessor["count"], -1)

    return header, rows


def to_srgb(linear):
    """What a screen shows of linear light."""
    return np.where(
        linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055
    )


def test_a_model_holds_every_leg_and_box_with_the_colors_of_the_map(tmp_path):
    """Its colors are linear, as the format has them, and a screen shows the map's own."""
    file = tmp_path / "rink.glb"
    analysis = rink.analysis_of(boxes=(("Box A", 64.0),))
    args = arguments("--glb", str(file), "--direction", "forward", analysis=analysis)
    assert command.run(args) == 0
    header, rows = parts_of(file.read_bytes())
    meshes = {mesh["name"]: mesh["primitives"][0] for mesh in header["meshes"]}
    names = {"Leg 1", "Leg 2", "Box A", "Panel MCC-1", "Chiller 2"}
    assert names == set(meshes) == {node["name"] for node in header["nodes"]}
    shown = build_scene(analysis.runs[0], analysis.job, "forward")
    kind, colors = rows(meshes["Leg 1"]["attributes"]["COLOR_0"])
    assert kind["componentType"] == 5126 and kind["type"] == "VEC4" and (colors[:, 3] == 1.0).all()
    seen = to_srgb(colors[:, :3])
    expected = shown.scale.colors(shown.legs[0].tension_n)
    for color in seen[:: len(seen) // 20]:
        assert np.abs(expected - color).max(axis=1).min() < 1e-3
    # y is up in the model
    kind, points = rows(meshes["Leg 1"]["attributes"]["POSITION"])
    assert kind["max"][1] == pytest.approx(shown.legs[0].points_m[:, 2].max(), abs=0.2)
    assert np.allclose([kind["min"], kind["max"]], [points.min(axis=0), points.max(axis=0)])


def test_a_model_is_no_metal_and_light_leaves_the_colors_of_its_tube_alone():
    """Where nothing is said a material is wholly metal, which looks black under most lamps."""
    analysis = rink.analysis_of(boxes=(("Box A", 64.0),))
    header, _ = parts_of(glb_bytes(build_scene(analysis.runs[0], analysis.job, "forward")))
    for mesh in header["meshes"]:
        material = header["materials"][mesh["primitives"][0]["material"]]
        assert material["pbrMetallicRoughness"]["metallicFactor"] == 0.0
        assert material["pbrMetallicRoughness"]["roughnessFactor"] == 1.0
        unlit = "KHR_materials_unlit" in material.get("extensions", {})
        assert unlit == mesh["name"].startswith("Leg")
    assert header["extensionsUsed"] == ["KHR_materials_unlit"]


def test_another_program_reads_the_model(tmp_path):
    """The reader of VTK, which shares nothing with what writes the file."""
    import pyvista

    analysis = rink.analysis_of(boxes=(("Box A", 64.0),))
    shown = build_scene(analysis.runs[0], analysis.job, "forward")
    (file := tmp_path / "rink.glb").write_bytes(glb_bytes(shown, 0.05))
    surfaces = list(pyvista.read(file).recursive_iterator())
    assert len(surfaces) == 5
    assert all("COLOR_0" in surface.point_data for surface in surfaces)
    tube = surfaces[0]
    assert tube.area == pytest.approx(2 * np.pi * 0.05 * shown.legs[0].length_m, rel=0.02)


def test_a_model_is_turned_to_its_axes_and_not_mirrored(tmp_path):
    """East stays x, up becomes y, and north points to -z, as right-handed as the drawing."""
    import trimesh

    analysis = rink.analysis_of()
    scene = build_scene(analysis.runs[0], analysis.job, "forward")
    (file := tmp_path / "rink.glb").write_bytes(glb_bytes(scene, 0.02))
    low, high = trimesh.load(file).geometry["Leg 1"].bounds
    least, most = scene.legs[0].points_m.min(axis=0), scene.legs[0].points_m.max(axis=0)
    assert low == pytest.approx([least[0], least[2], -most[1]], abs=0.05)
    assert high == pytest.approx([most[0], most[2], -least[1]], abs=0.05)


def test_a_model_has_the_true_width_of_the_raceway():
    analysis = rink.analysis_of()
    shown = build_scene(analysis.runs[0], analysis.job, "forward")
    thick, thin = glb_bytes(shown, 0.2), glb_bytes(shown, 0.02)
    assert thick != thin


def test_an_unknown_run_is_named(tmp_path):
    with pytest.raises(InputError, match="no run is named 'pump'"):
        command.run(arguments("--glb", str(tmp_path / "a.glb"), "--run", "pump"))


def test_expected_friction_needs_no_second_analysis():
    analysis = rink.analysis_of()
    shown = scene_at(analysis, analysis.runs[0], "forward", "expected")
    assert shown.shown is shown.analysis
    assert shown.friction == 0.35


def test_high_friction_is_analyzed_again_and_said():
    analysis = rink.analysis_of()
    run = analysis.runs[0]
    shown = scene_at(analysis, run, "forward", "high")
    assert shown.friction == 0.5
    assert shown.analysis is run
    assert shown.shown.legs[0].forward.expected.friction == 0.5
    assert shown.legs[0].max_tension_n == shown.shown.legs[0].forward.expected.max_tension_n


def test_equal_analyses_give_equal_scenes():
    one, other = rink.analysis_of(), rink.analysis_of()
    a = build_scene(one.runs[0], one.job)
    b = build_scene(replace(other.runs[0]), other.job)
    assert all(
        np.array_equal(x.tension_n, y.tension_n) for x, y in zip(a.legs, b.legs, strict=True)
    )


def test_names_in_letters_of_no_font_are_said(capsys, monkeypatch):
    from viewer.options import ViewOptions
    from viewer.outputs import _say_undrawable

    made = rink.analysis_of(ends=("盤", "Chiller 2"))
    options = ViewOptions(None, "better", "expected", "tension", None, dark=False)
    monkeypatch.setattr("viewer.fonts.letters_lacking", lambda text: "盤" if "盤" in text else "")
    _say_undrawable(made, options)
    assert capsys.readouterr().err == (
        "Letters of this name are drawn as empty boxes, as no font installed here holds them: 盤. "
        "Install a font for them, or write them in other letters.\n"
    )
    _say_undrawable(rink.analysis_of(), options)
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("--quantity", "sidewall"), "--quantity goes with a picture of one run"),
        (("--at-friction", "0.3"), "--at-friction goes with"),
        (("--true-diameter",), "--true-diameter goes with"),
        (("--quantity", "share", "--at-friction", "high"), "--quantity and --at-friction go with"),
    ],
)
def test_options_that_a_picture_of_all_runs_would_leave_aside_are_refused(words, named, tmp_path):
    one = rink.tiny(name="a")
    both = replace(one, runs=(one.runs[0], rink.tiny(name="b").runs[0]))
    file = tmp_path / "all.png"
    model = tmp_path / "worst.glb"
    with pytest.raises(InputError, match=named) as refused:
        command.run(arguments("--image", str(file), "--glb", str(model), *words, analysis=both))
    assert "name it by --run (a, b), or leave " in str(refused.value)
    assert not file.exists()
    assert not model.exists()


@pytest.mark.parametrize("words", [(), ("--run", "b"), ("--drawing", "plan"), ("--compare", "all")])
def test_pictures_of_one_run_take_every_option(words):
    one = rink.tiny(name="a")
    both = replace(one, runs=(one.runs[0], rink.tiny(name="b").runs[0]))
    options = ("--quantity", "sidewall") if words else ()
    _refuse_of_several(both, arguments("--image", "a.png", *options, *words))


def test_labels_without_room_are_named(tmp_path, capsys):
    from viewer.outputs import _say_left_out
    from viewer.overlay import Marks
    from viewer.wording import left_out_text

    chip = Chip("bend 1", "bend", "B1  90°", "", (3.0, 4.0))
    left_out = Marks((chip,), (), (), None, None).left_out
    _say_left_out(tmp_path / "rink.png", left_out)
    assert left_out_text(left_out) == "No room for the label B1."
    assert capsys.readouterr().err == "No room in rink.png for a label: B1  90°.\n"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--image", "a.png", "--drawing", "plan", "--compare", "boxes"), "--compare do not go"),
        (("--image", "a.png", "--true-diameter", "--compare", "boxes"), "--compare do not go"),
        (("--image", "a.png", "--true-diameter", "--drawing", "closeup"), "closeup do not go"),
        (("--drawing", "plan"), "give it with --image"),
        (("--page", "a.html", "--size", "letter"), "leave it out"),
        (("--glb", "a.glb", "--size", "800x600"), "leave it out"),
        (("--glb", "a.glb", "--dark"), "leave --dark out"),
    ],
)
def test_options_that_would_do_nothing_are_refused_before_any_work(words, said):
    args = arguments(*words)
    args.load_analysis = lambda: pytest.fail("the route was read")
    with pytest.raises(InputError, match=said):
        command.run(args)
