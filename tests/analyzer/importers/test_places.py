"""Where a fault of a route stands: file, place in the file's unit, row, or layer and handle."""

from __future__ import annotations

import pytest
from dxf_samples import LengthUnit, finding, job, read, save

from analyzer.errors import PlacedError, RouteError
from analyzer.importers.places import FilePlaces
from analyzer.importers.reading import open_route
from analyzer.importers.told_places import UnitText

BACK = [(0, 0), (120, 0), (20, 0), (20, 50)]


def message(path, **drawing):
    with pytest.raises(RouteError) as caught:
        open_route(path, job(**drawing))
    return str(caught.value)


def test_a_drawing_that_turns_back_names_file_place_layer_and_handle(tmp_path):
    def draw(_, model):
        model.add_lwpolyline(BACK, dxfattribs={"layer": "RACEWAY", "handle": "ABC"})

    text = message(save(tmp_path, draw, unit=2))
    assert text.startswith(
        "drawing.dxf: the route turns back on itself by 180° at (120, 0, 0) ft or (36.576, 0, 0) m "
        "(layer RACEWAY, LWPOLYLINE ABC), 120.00 ft (36.576 m) along the line"
    )


def test_of_several_entities_those_at_the_place_are_named(tmp_path):
    def draw(_, model):
        for handle, ends in (
            ("A1", ((-9, 0), (0, 0))),
            ("A2", ((0, 0), (120, 0))),
            ("A3", ((120, 0), (20, 0.5))),
        ):
            model.add_line(*ends, dxfattribs={"layer": "RACEWAY", "handle": handle})

    text = message(save(tmp_path, draw))
    assert "(layer RACEWAY, LINE A2; layer RACEWAY, LINE A3)" in text


def test_points_that_turn_back_name_file_and_row(tmp_path):
    path = tmp_path / "back.csv"
    path.write_text("x,y,z\n" + "".join(f"{x},{y},0\n" for x, y in BACK))
    text = message(path, units=LengthUnit.FOOT)
    assert text.startswith("back.csv: ")
    assert "at (120, 0, 0) ft or (36.576, 0, 0) m (row 3)" in text
    path.write_text("x_m,y_m,z_m\n0,0,0\n9,0,0\n5,0,0\n")
    assert "at (9, 0, 0) m (row 3), " in message(path)


@pytest.mark.parametrize("east", [500010.123, 0.25, 4200000.0004])
def test_a_place_far_from_the_origin_keeps_its_millimeters(tmp_path, east):
    path = tmp_path / "grid.csv"
    rows = [(east - 10, 4200000.456), (east, 4200000.456), (east - 5, 4200000.456)]
    path.write_text("x_m,y_m,z_m\n" + "".join(f"{x:.6f},{y},-0\n" for x, y in rows))
    assert f"at ({east:.15g}, 4200000.456, 0) m (row 3)" in message(path)


def test_a_way_out_and_back_is_no_loop(tmp_path):
    def draw(_, model):
        model.add_lwpolyline([(0, 0), (9, 5), (40, 0), (9, 5), (0, 0)], dxfattribs={"handle": "A1"})

    path = save(tmp_path, draw)
    text = message(path)
    assert "LWPOLYLINE A1 turns back on itself by 180° at (40, 0, 0) in or" in text
    assert "loop" not in text

    def with_a_run(document, model):
        draw(document, model)
        model.add_line((0, 50), (90, 50))
        model.add_circle((0, 90), 5)

    drawn = read(save(tmp_path, with_a_run))
    assert "180° at (40, 0, 0) in" in finding(drawn, "turned-back").message
    assert "1 closed curve " in finding(drawn, "closed-loop").message
    points = tmp_path / "aba.csv"
    points.write_text("x_ft,y_ft,z_ft\n0,0,0\n10,0,0\n0,0,0\n")
    text = message(points)
    assert "180° at (10, 0, 0) ft or (3.048, 0, 0) m (row 3)" in text
    assert "loop" not in text


def test_a_place_between_the_points_is_told_as_near():
    places = FilePlaces("a.csv", "as written in each cell", (((0.0, 0.0, 0.0), "row 2"),))
    error = places.told(PlacedError("a fault", (0.5, 0.0, 0.0), ": mend it"))
    assert str(error) == "a.csv: a fault at (0.5, 0, 0) m (near row 2): mend it"
    assert str(places.told(RouteError("no route"))) == "a.csv: no route"


def test_what_doubles_leave_of_zero_is_written_as_zero():
    text = UnitText(LengthUnit.FOOT)
    assert text.place((1e-16, -3e-16, 0.3048)) == "(0, 0, 1) ft"
    assert text.length(5e-17) == "0 ft"
