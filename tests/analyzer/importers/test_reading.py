"""From a route file to runs: reader by suffix, run names, first end, radius, findings.

One long file, because all tests share the small files made at its top.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from dataclasses import replace
from math import pi

import ezdxf
import numpy as np
import pytest

from analyzer import open_route
from analyzer.catalog.raceways import Raceway
from analyzer.errors import JobError, RouteError
from analyzer.findings import Severity
from analyzer.geometry.readings import RadiusFrom, ReadAs
from analyzer.job.reading import parse_job
from analyzer.job.settings import (
    DrawingSettings,
    FittingEntry,
    FittingKind,
    Job,
    Limits,
    PullSettings,
)
from analyzer.route.legs import split_into_legs
from analyzer.units import LengthUnit, UnitSystem, ft, inches

RACEWAY = Raceway(
    type="EMT",
    trade_size="2",
    inside_diameter_m=inches(2.067),
    outside_diameter_m=inches(2.197),
    area_in2=3.356,
    bend_radius_m=(("one-shot", inches(9.5)), ("other", inches(12))),
    default_bender="one-shot",
    confirmed=True,
    source="made up for this test",
)
JOB = Job(
    title="",
    units=UnitSystem.US,
    drawing=DrawingSettings(),
    raceway=RACEWAY,
    bender="one-shot",
    bend_radius_m=None,
    conductors=(),
    existing=(),
    pull=PullSettings(),
    limits=Limits(),
    fittings=(),
)
FEEDER = (
    "x_ft,y_ft,z_ft,fitting,label\n"
    "0,0,10,panel,Panel P1\n20,0,10,,\n20,15,10,,\n20,15,0,equipment,Chiller\n"
)


@pytest.fixture
def csv(tmp_path):
    def reading(content: str, name: str = "feeder.csv", job: Job = JOB, **drawing: object):
        path = tmp_path / name
        path.write_text(content, encoding="utf-8")
        return open_route(path, replace(job, drawing=replace(job.drawing, **drawing)))

    return reading


@pytest.fixture
def dxf(tmp_path):
    def reading(draw, job: Job = JOB, **drawing: object):
        document = ezdxf.new("R2010", units=1)
        draw(document)
        path = tmp_path / "feeder.dxf"
        document.saveas(path)
        return open_route(path, replace(job, drawing=replace(job.drawing, **drawing)))

    return reading


def finding(run, code):
    (found,) = [f for f in run.findings if f.code == code]
    return found


# files


def test_run_carries_its_file(csv, tmp_path):
    route = csv(FEEDER)
    (run,) = route.runs
    assert run.name == "feeder"
    assert run.input == route.input
    assert (run.input.file, run.input.reader) == ("feeder.csv", "csv")
    assert (run.input.length_unit, run.input.length_unit_from) == ("ft", "header")
    data = (tmp_path / "feeder.csv").read_bytes()
    assert run.input.sha256 == hashlib.sha256(data).hexdigest()
    assert run.input.extents_m[1] == pytest.approx((ft(20), ft(15), ft(10)))
    assert run.centerline.start_m == pytest.approx((0, 0, ft(10)))
    assert run.centerline.end_m == pytest.approx((ft(20), ft(15), 0))
    assert [f.name for f in run.fittings] == ["Panel P1", "Chiller"]
    assert run.read_as is ReadAs.CORNERS


@pytest.mark.parametrize("name", ["feeder.CSV", "feeder.tsv", "feeder.txt"])
def test_point_files_are_known_by_their_suffix(csv, name):
    assert csv(FEEDER, name).input.reader == "csv"


def test_path_may_be_text(tmp_path):
    path = tmp_path / "feeder.csv"
    path.write_text(FEEDER)
    assert open_route(str(path), JOB).runs[0].name == "feeder"


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("absent.csv", "does not exist"),
        ("folder.csv", "is a folder"),
        ("route.pdf", r"a drawing ends in \.dxf"),
        ("route", r"a drawing ends in \.dxf"),
    ],
)
def test_file_that_cannot_be_a_route(tmp_path, name, message):
    path = tmp_path / name
    if name.startswith("folder"):
        path.mkdir()
    elif name.startswith("route"):
        path.write_text("x")
    with pytest.raises(RouteError, match=message):
        open_route(path, JOB)


def test_route_that_turns_back_names_the_run(csv):
    with pytest.raises(RouteError, match=r"turns back on itself.*run feeder"):
        csv("x_ft,y_ft,z_ft\n0,0,0\n10,0,0\n5,0,0\n")


# runs


def test_runs_without_name_are_numbered_after_the_file(dxf):
    def draw(document):
        for y in (0, 100):
            document.modelspace().add_lwpolyline([(0, y), (300, y)])

    names = [run.name for run in dxf(draw).runs]
    assert len(set(names)) == 2


def test_runs_of_a_point_file_keep_their_names(csv):
    route = csv("x_ft,y_ft,z_ft,run\n0,0,0,up\n0,0,9,up\n5,0,0,down\n5,0,9,down\n")
    assert [run.name for run in route.runs] == ["up", "down"]
    assert all("run up" in f.where for f in route.runs[0].findings)


def test_all_points_level_is_a_caution(csv):
    (run,) = csv("x_ft,y_ft,z_ft\n0,0,10\n20,0,10\n20,15,10\n").runs
    assert finding(run, "all-level").severity is Severity.CAUTION


# radius


def test_corner_radius_comes_from_the_table_of_the_bender(csv):
    one_shot, other = (csv(FEEDER, job=replace(JOB, bender=b)) for b in ("one-shot", "other"))
    assert one_shot.runs[0].bends[0].radius_m == pytest.approx(inches(9.5))
    assert other.runs[0].bends[0].radius_m == pytest.approx(inches(12))
    assert one_shot.runs[0].bends[0].radius_from is RadiusFrom.TABLE


def test_no_bender_means_the_default_of_the_raceway(csv):
    (run,) = csv(FEEDER, job=replace(JOB, bender=None)).runs
    assert run.bends[0].radius_m == pytest.approx(inches(9.5))


def test_job_radius_goes_before_the_table_and_the_file_before_both(csv):
    job = replace(JOB, bend_radius_m=inches(18))
    (run,) = csv(FEEDER, job=job).runs
    assert run.bends[0].radius_m == pytest.approx(inches(18))
    assert run.bends[0].radius_from is RadiusFrom.JOB
    content = "x_ft,y_ft,z_ft,radius_in\n0,0,0,\n20,0,0,24\n20,15,0,\n20,15,9,\n"
    (run,) = csv(content, job=job).runs
    assert [bend.radius_m for bend in run.bends] == pytest.approx([inches(24), inches(18)])
    assert run.bends[0].radius_from is RadiusFrom.DRAWING


def test_a_job_radius_that_no_corner_takes_is_said(csv):
    head, turn = "x_ft,y_ft,z_ft,radius_in\n", "0,0,10,\n40,0,10,{}\n40,40,12,{}\n80,40,12,\n"

    def said(text: str, radius_m: float | None) -> list[str]:
        found = csv(text, job=replace(JOB, bend_radius_m=radius_m)).findings
        return [one.message for one in found if one.code == "bend-radius-unused"]

    (message,) = said(head + turn.format(20, 20), inches(12))
    assert message.startswith("bend_radius under [raceway], 12 in, is the radius of no bend of ")
    assert "a radius of its own" in message
    assert said(head + turn.format(20, ""), inches(12)) == []
    assert said(head + turn.format(20, 20), None) == []
    straight = "x_ft,y_ft,z_ft\n0,0,10\n40,0,12\n"
    assert "it has no bend" in said(straight, inches(12))[0]


def test_no_radius_anywhere_says_what_to_add(csv):
    with pytest.raises(RouteError, match=r"2 corners have no bend radius.*bend_radius"):
        csv(FEEDER, job=replace(JOB, raceway=None, bender=None))


# readings by name


def test_read_as_forces_the_reading_of_its_run(csv):
    (run,) = csv(FEEDER, read_as=(("feeder", "corners"),)).runs
    assert run.read_as is ReadAs.CORNERS


def test_read_as_names_a_run_as_other_settings_do(csv):
    (run,) = csv(FEEDER, read_as=(("Feeder", "corners"),)).runs
    assert run.read_as is ReadAs.CORNERS
    with pytest.raises(JobError, match='runs "feeder" and "Feeder" are the same run, "feeder"'):
        csv(FEEDER, read_as=(("feeder", "corners"), ("Feeder", "survey")))


def test_read_as_for_an_unknown_run_is_refused(csv):
    hint = r'"fedder", which the file does not hold; did you mean "\w+"\? It holds "'
    with pytest.raises(JobError, match=hint):
        csv(FEEDER, read_as=(("fedder", "corners"),))
    with pytest.raises(JobError, match='"x", which the file does not hold: it holds "feeder"'):
        csv(FEEDER, read_as=(("x", "corners"),))


def test_read_as_an_unknown_word_is_refused(csv):
    with pytest.raises(JobError, match='"curves" for run "feeder" is none of "corners"'):
        csv(FEEDER, read_as=(("feeder", "curves"),))


@pytest.mark.parametrize("word", ["arcs", "spline"])
def test_read_as_a_drawn_curve_is_a_fault_of_the_job(csv, dxf, word):
    words = f'run "feeder": "{word}" belongs to curves of a drawing.* "corners", "chords", "survey"'
    with pytest.raises(JobError, match=words):
        csv(FEEDER, read_as=(("feeder", word),))
    with pytest.raises(JobError, match=words):
        dxf(lambda d: d.modelspace().add_line((0, 0), (9, 0)), read_as=(("feeder", word),))


def test_axes_are_refused_for_a_drawing(dxf):
    with pytest.raises(JobError, match="axes under"):
        dxf(
            lambda document: document.modelspace().add_line((0, 0, 0), (90, 0, 0)),
            axes=("north", "east", "up"),
        )


# first end


def test_point_file_keeps_its_order_and_says_so(csv):
    note = finding(csv(FEEDER).runs[0], "first-end")
    assert note.severity is Severity.NOTE
    assert "(0.0 ft, 0.0 ft, 10.0 ft): the order of the file" in note.message


@pytest.mark.parametrize("start", ["Chiller", "chiller", (ft(20), ft(15), ft(0.2))])
def test_start_turns_a_run_round(csv, start):
    straight, turned = csv(FEEDER).runs[0], csv(FEEDER, start=start).runs[0]
    assert [f.name for f in turned.fittings] == ["Chiller", "Panel P1"]
    assert turned.centerline.start_m == pytest.approx((ft(20), ft(15), 0))
    assert turned.centerline.length_m == pytest.approx(straight.centerline.length_m)
    assert "named by start" in finding(turned, "first-end").message


def test_turned_run_keeps_radii_and_fittings_at_their_vertices(csv):
    content = (
        "x_ft,y_ft,z_ft,radius_in,fitting,label\n"
        "0,0,0,,panel,P\n9,0,0,24,,\n9,9,0,,,\n9,18,0,,pull box,Box\n9,18,9,,,\n"
    )
    (run,) = csv(content, start=(ft(9), ft(18), ft(9))).runs
    assert [f.name for f in run.fittings] == ["start", "Box", "P"]
    assert run.fittings[1].position_m == pytest.approx((ft(9), ft(18), 0))
    assert run.fittings[1].station_m == pytest.approx(ft(9))
    assert [bend.in_fitting for bend in run.bends] == [True, False]
    assert run.bends[1].radius_m == pytest.approx(inches(24))


def test_start_at_the_first_end_keeps_the_order(csv):
    (run,) = csv(FEEDER, start="Panel P1").runs
    assert run.fittings[0].name == "Panel P1"


def test_start_at_no_end_is_refused_with_the_ends(csv):
    with pytest.raises(JobError, match=r'"Chilller".*Fittings at ends: "Panel P1", "Chiller"'):
        csv(FEEDER, start="Chilller")
    with pytest.raises(JobError, match="at no end of a run"):
        csv(FEEDER, start=(ft(5), 0.0, ft(10)))


def test_start_at_a_fitting_placed_by_at_says_that_at_follows_from_the_start(csv):
    entry = FittingEntry("Switchgear", kind=FittingKind.EQUIPMENT, at_m=0.0)
    job = replace(JOB, fittings=(entry,))
    with pytest.raises(JobError) as refused:
        csv(FEEDER, job=job, start="switchgear")
    said = str(refused.value)
    assert '"Switchgear" is placed by at, which is measured from the start' in said
    assert "give its position, or give start a point" in said
    assert "stands at no end" not in said and "Ends: (0.0 ft" in said


def chain(document):
    """Two loose lines drawn in mixed directions, from (0, 0, 0) to (300, 200, 0) inches."""
    space = document.modelspace()
    space.add_line((300, 0, 0), (0, 0, 0))
    space.add_line((300, 200, 0), (300, 0, 0))


def test_chain_starts_at_the_smaller_point_with_a_note(dxf):
    (run,) = dxf(chain).runs
    assert run.centerline.start_m == pytest.approx((0, 0, 0))
    assert "smaller x, y, z" in finding(run, "first-end").message
    assert sum(bend.angle_rad for bend in run.bends) == pytest.approx(pi / 2)


def test_chain_starts_at_the_end_with_equipment(dxf):
    entry = FittingEntry(
        "Chiller", kind=FittingKind.EQUIPMENT, position_m=(inches(300), inches(200), 0.0)
    )
    (run,) = dxf(chain, job=replace(JOB, fittings=(entry,))).runs
    assert [f.name for f in run.fittings] == ["Chiller", "end"]
    assert "the end at Chiller" in finding(run, "first-end").message


def test_chain_with_equipment_at_both_ends_starts_at_the_smaller_point(dxf):
    ends = [(0.0, 0.0, 0.0), (inches(300), inches(200), 0.0)]
    entries = tuple(
        FittingEntry(name, kind=FittingKind.PANEL, position_m=end)
        for name, end in zip("AB", ends, strict=True)
    )
    (run,) = dxf(chain, job=replace(JOB, fittings=entries)).runs
    assert [f.name for f in run.fittings] == ["A", "B"]
    assert "both ends have a panel" in finding(run, "first-end").message


def test_kind_of_a_drawn_fitting_turns_the_run_however_its_name_is_spaced(dxf):
    def draw(document):
        chain(document)
        document.blocks.new("BOX").add_circle((0, 0), 2.0)
        block = document.modelspace().add_blockref("BOX", (300, 200, 0))
        block.add_attrib("NAME", "Panel P1")

    entry = FittingEntry("panel  P1", kind=FittingKind.PANEL)
    drawing = DrawingSettings(fitting_kinds=(("BOX", FittingKind.PULL_BOX),))
    (run,) = dxf(draw, job=replace(JOB, drawing=drawing, fittings=(entry,))).runs
    assert "the end at Panel P1" in finding(run, "first-end").message
    assert run.fittings[0].name.casefold().split() == ["panel", "p1"]


def test_start_goes_before_equipment(dxf):
    entry = FittingEntry("P", kind=FittingKind.PANEL, position_m=(0.0, 0.0, 0.0))
    job = replace(JOB, fittings=(entry,))
    (run,) = dxf(chain, job=job, start=(inches(300), inches(200), 0.0)).runs
    assert [f.name for f in run.fittings] == ["start", "P"]


# fittings and legs


def test_box_at_a_corner_splits_the_run_into_two_legs(csv):
    (run,) = csv(FEEDER.replace("20,0,10,,", "20,0,10,pull box,Box A")).runs
    first, second = split_into_legs(run)
    assert (first.start.name, first.end.name, second.end.name) == ("Panel P1", "Box A", "Chiller")
    assert first.length_m == pytest.approx(ft(20))
    assert (first.bend_total_rad, second.bend_total_rad) == pytest.approx((0.0, pi / 2))
    assert second.rise_m == pytest.approx(ft(-10))


def test_box_block_of_a_drawing_splits_a_bend_free_run(dxf):
    def draw(document):
        document.blocks.new("JB-12").add_lwpolyline(
            [(-6, -6), (6, -6), (6, 6), (-6, 6)], close=True
        )
        space = document.modelspace()
        space.add_lwpolyline([(0, 0), (300, 0)])
        space.add_blockref("JB-12", (120, 2), dxfattribs={"rotation": 30})

    job = replace(
        JOB, drawing=replace(JOB.drawing, fitting_kinds=(("JB*", FittingKind.JUNCTION_BOX),))
    )
    (run,) = dxf(draw, job=job).runs
    box = run.fittings[1]
    assert box.kind is FittingKind.JUNCTION_BOX
    assert box.station_m == pytest.approx(inches(120))
    assert run.input.length_unit == "in"


def test_drawing_without_unit_follows_the_job(tmp_path):
    document = ezdxf.new("R2010", units=0)
    document.modelspace().add_line((0, 0, 0), (10, 0, 0))
    path = tmp_path / "feeder.dxf"
    document.saveas(path)
    job = replace(JOB, drawing=replace(JOB.drawing, units=LengthUnit.FOOT))
    assert open_route(path, job).runs[0].centerline.length_m == pytest.approx(ft(10))
    with pytest.raises(RouteError, match="--units"):
        open_route(path, JOB)


JOB_TEXT = (
    '[raceway]\ntype = "EMT"\ntrade_size = "2"\n[[conductors]]\ncount = 3\nsize = "4/0"\n'
    'insulation = "THHN"\nmetal = "copper"\n'
)


@pytest.mark.parametrize("more", ["", "c,0,50,0,,\nc,20,50,1,,\n"])
def test_fittings_stay_on_their_runs_where_a_run_before_them_cannot_be_read(tmp_path, more):
    path = tmp_path / "two.csv"
    path.write_text(
        "run,x_ft,y_ft,z_ft,fitting,label\n"
        "b,0,0,0,,\nb,10,0,0,pull box,Lost\nb,5,0,0,,\n"
        "a,0,0,10,,\na,20,0,10,pull box,P1\na,40,0,10,,\na,40,20,12,,\n" + more
    )
    route = open_route(path, parse_job(JOB_TEXT))
    assert [one.name for one in route.runs[0].fittings] == ["start", "P1", "end"]
    assert all(len(run.fittings) == 2 for run in route.runs[1:])


def test_a_run_that_cannot_be_read_leaves_the_others_and_is_named(tmp_path):
    path = tmp_path / "two.csv"
    path.write_text(
        "run,x_ft,y_ft,z_ft\na,0,0,10\na,20,0,10\na,20,20,12\nb,0,0,0\nb,10,0,0\nb,5,0,0\n"
    )
    route = open_route(path, parse_job(JOB_TEXT))
    assert [run.name for run in route.runs] == ["a"]
    (lost,) = [finding for finding in route.findings if finding.code == "run-unread"]
    assert lost.where == "b"
    assert lost.severity is Severity.ERROR


def test_settings_for_drawings_are_said_to_do_nothing_for_points(csv):
    route = csv(FEEDER, layers=("*RACEWAY*",), join_m=inches(1))
    (said,) = [f for f in route.findings if f.code == "drawing-setting-unused"]
    assert said.severity is Severity.NOTE
    assert '"layers", "join" under [drawing] do nothing for feeder.csv' in said.message
    assert not [f for f in csv(FEEDER).findings if f.code == "drawing-setting-unused"]


def surveyed_csv(off_rows: Sequence[int] = ()) -> str:
    """Points 0.1 m apart along a right angle of radius 0.6 m, 2 mm off; some rows 0.3 m off."""
    s = np.arange(0.0, 6.0 + 0.3 * np.pi, 0.1)
    turn = np.clip((s - 3.0) / 0.6, 0.0, np.pi / 2)
    x = np.minimum(s, 3.0) + 0.6 * np.sin(turn)
    y = 0.6 * (1.0 - np.cos(turn)) + np.maximum(s - 3.0 - 0.3 * np.pi, 0.0)
    points = np.column_stack((x, y, np.zeros_like(s)))
    points += np.random.default_rng(8).normal(size=points.shape) * 0.002
    for row in off_rows:
        points[row - 2, 2] += 0.3
    return "x_m,y_m,z_m\n" + "".join(f"{a:.5f},{b:.5f},{c:.5f}\n" for a, b, c in points)


def test_survey_points_left_out_are_named_by_their_rows(csv):
    (run,) = csv(surveyed_csv((20, 45)), accuracy_m=0.002).runs
    assert "left out: row 20, row 45. " in finding(run, "survey-outliers").message


def test_points_left_out_at_an_end_are_said_to_shorten_the_run(csv):
    (run,) = csv(surveyed_csv((2, 45)), accuracy_m=0.002).runs
    message = finding(run, "survey-outliers").message
    assert "left out: row 2, row 45. " in message
    # 0.1 m along and 0.3 m off: 316 mm, give or take the noise
    said = re.search(
        r"At the end, row 2, the run is read only from row 3 on, .*\((\d+)\.\d mm\)", message
    )
    assert said
    assert float(said[1]) == pytest.approx(316.0, abs=8.0)


def test_findings_tell_lengths_in_the_units_of_the_job_first(csv):
    (run,) = csv(surveyed_csv()).runs
    us = finding(run, "survey-accuracy-estimated").message
    (run,) = csv(surveyed_csv(), job=replace(JOB, units=UnitSystem.METRIC)).runs
    metric = finding(run, "survey-accuracy-estimated").message
    assert re.search(r"stated: 0\.\d+ in \([12]\.\d+ mm\) a coordinate", us)
    assert re.search(r"stated: [12]\.\d+ mm \(0\.\d+ in\) a coordinate", metric)
    assert finding(run, "read-as-survey").where.endswith("station 0.000 m (0.00 ft)")


def test_a_gap_between_runs_of_several_pieces_is_told_of_both_runs(tmp_path):
    drawing = ezdxf.new()
    drawing.units = 1
    for a, b in (
        ((0, 0), (90, 0)),
        ((90, 0), (90, 80)),
        ((90, 81), (90, 200)),
        ((90, 200), (0, 200)),
    ):
        drawing.modelspace().add_line(a, b)
    drawing.saveas(path := tmp_path / "gap.dxf")
    route = open_route(path, JOB)
    told = [[finding.code for finding in of.findings] for of in (*route.runs, route)]
    assert ["gap-not-bridged" in codes for codes in told] == [True, True, False]


@pytest.mark.parametrize(
    ("apart_in", "raceway", "told"),
    [(2.197, RACEWAY, True), (0.3, RACEWAY, True), (2.3, RACEWAY, False), (2.197, None, False)],
)
def test_runs_nearer_than_their_raceway_is_wide_are_a_caution_for_both(
    tmp_path, apart_in, raceway, told
):
    rows = "run,x_in,y_in,z_in\n"
    for run, y in (("A", 0.0), ("B", apart_in)):
        rows += f"{run},0,{y},0\n{run},200,{y},0\n{run},{200},{y},90\n"
    (path := tmp_path / "edges.csv").write_text(rows)
    route = open_route(path, replace(JOB, raceway=raceway, bend_radius_m=0.3))
    found = [[f for f in run.findings if f.code == "runs-too-near"] for run in route.runs]
    assert [len(of) for of in found] == [told, told]
    if told:
        text = found[0][0].message
        assert text.startswith(f"runs A and B keep {apart_in:.3g} in apart over 23.7 ft")
        assert "each 2.2 in wide outside" in text


@pytest.mark.parametrize("confirmed", [True, False])
def test_runs_too_near_by_a_width_that_is_not_confirmed_say_so(tmp_path, confirmed):
    rows = "run,x_in,y_in,z_in\nA,0,0,0\nA,200,0,0\nB,0,2,0\nB,200,2,0\n"
    (path := tmp_path / "edges.csv").write_text(rows)
    raceway = replace(RACEWAY, outside_confirmed=confirmed)
    route = open_route(path, replace(JOB, raceway=raceway))
    text = next(f for f in route.runs[0].findings if f.code == "runs-too-near").message
    words = "each 2.2 in wide outside (a table value not confirmed; measure the raceway)."
    assert (words in text) is not confirmed


@pytest.mark.parametrize(("along_in", "told"), [(130, True), (110, True), (103, False)])
def test_runs_are_too_near_where_more_than_half_of_the_shorter_lies_beside_the_other(
    tmp_path, along_in, told
):
    """B, 200 in long, lies 2 in beside A and then turns away in a bend of 11.8 in.

    The bend makes it 195 in long and takes the last 9.5 in of the way beside A.
    """
    rows = "run,x_in,y_in,z_in\nA,0,0,0\nA,300,0,0\n"
    rows += f"B,0,2,0\nB,{along_in},2,0\nB,{along_in},{202 - along_in},0\n"
    (path := tmp_path / "beside.csv").write_text(rows)
    route = open_route(path, replace(JOB, bend_radius_m=0.3))
    assert [
        [finding.code for finding in run.findings].count("runs-too-near") for run in route.runs
    ] == [told, told]


def test_a_stub_that_goes_on_where_a_run_ends_is_not_too_near(tmp_path):
    rows = "run,x_in,y_in,z_in\nA,0,0,0\nA,200,0,0\nB,200,0,0\nB,203,0,0\n"
    (path := tmp_path / "stub.csv").write_text(rows)
    route = open_route(path, JOB)
    assert not [f for run in route.runs for f in run.findings if f.code == "runs-too-near"]


def test_an_overlap_that_stays_is_told_of_both_runs_and_only_once(tmp_path):
    drawing = ezdxf.new()
    drawing.units = 1
    way = [(0, 0), (100, 0), (100, 100), (200, 100), (200, 300)]
    drawing.modelspace().add_lwpolyline(way[:4])
    drawing.modelspace().add_lwpolyline(way[1:])
    drawing.saveas(path := tmp_path / "overlap.dxf")
    told = [[finding.code for finding in run.findings] for run in open_route(path, JOB).runs]
    assert [codes.count("overlapping-entity") for codes in told] == [1, 1]
    assert "runs-too-near" not in told[0] + told[1]


def test_accuracy_that_curves_make_nothing_of_is_said(tmp_path):
    document = ezdxf.new("R2018")
    document.header["$INSUNITS"] = 1
    model = document.modelspace()
    model.add_line((0, 0), (200, 0))
    model.add_arc((200, 20), 20, 270, 360)
    model.add_line((220, 20), (220, 200))
    document.saveas(tmp_path / "arcs.dxf")
    stated = replace(JOB, drawing=DrawingSettings(accuracy_m=0.005))
    (run,) = open_route(tmp_path / "arcs.dxf", stated).runs
    told = [one for one in run.findings if one.code == "drawing-setting-unused"]
    assert [one.severity for one in told] == [Severity.NOTE]
    assert "accuracy under [drawing] does nothing for run arcs" in told[0].message
    (plain,) = open_route(tmp_path / "arcs.dxf", JOB).runs
    assert "drawing-setting-unused" not in {one.code for one in plain.findings}


@pytest.mark.parametrize(
    ("unit", "end", "words"),
    [
        ("ft", "46,0,40", []),
        (
            "km",
            "46,0,0",
            ["150,918.6 ft long", "more than 65,616.8 ft", "in km, named by the header"],
        ),
        ("m", "0,0,1200", ["3,937.0 ft from its lowest to its highest point"]),
        ("km", "46,0,40", ["long", "and 131,233.6 ft from its lowest"]),
    ],
)
def test_run_larger_than_raceway_is_a_caution_on_its_unit(tmp_path, unit, end, words):
    path = tmp_path / "big.csv"
    path.write_text(f"x_{unit},y_{unit},z_{unit}\n0,0,0\n{end}\n")
    (run,) = open_route(path, JOB).runs
    told = [one for one in run.findings if one.code == "run-very-large"]
    assert [one.severity for one in told] == [Severity.CAUTION] * bool(words)
    assert all(word in one.message for word in words for one in told)
