"""Cautions on a file count for the runs they concern, and for no others."""

from __future__ import annotations

from itertools import pairwise

import ezdxf
import pytest
from feeder_job import BAND, FEEDER_JOB

from analyzer.analysis import analyze
from analyzer.importers.reading import open_route
from analyzer.job.reading import parse_job
from analyzer.reports.content import content_of

JOB = f"""
{FEEDER_JOB}insulation_class = "600 V power"
[pull]
{BAND}attachment = "pulling eye"
line_working_load = "2000 lbf"
puller_capacity = "2000 lbf"
[limits]
rules = "nec-2023"
sidewall_pressure = "500 lbf/ft"
"""
RUN = [(0, 0, 120), (200, 0, 120), (200, 200, 130)]
FAR = [(0, 5000, 120), (200, 5000, 120), (200, 5200, 130)]
RACEWAY = {"layer": "RACEWAY"}


@pytest.fixture
def analyzed(tmp_path):
    def reading(draw, drawing="", change=None):
        document = ezdxf.new("R2010", units=1)
        draw(document, document.modelspace())
        path = tmp_path / "plan.dxf"
        document.saveas(path)
        if change is not None:
            path.write_text(change(path.read_text()))
        job = parse_job(f"[drawing]\n{drawing}\n{JOB}")
        route = open_route(path, job)
        return analyze(route.runs, job, route.findings)

    return reading


def polyline(model, points, layer="RACEWAY", **how):
    return model.add_polyline3d(points, dxfattribs={"layer": layer}, **how)


def told(analysis):
    """Verdict of each run and the codes of cautions on it, then the codes left on the files."""
    runs = [
        (item.verdict.value, sorted({f.code for f in item.findings if f.severity.value != "note"}))
        for item in analysis.runs
    ]
    return runs, sorted({f.code for f in analysis.findings if f.severity.value != "note"})


def lines(model, *points):
    for start, end in pairwise(points):
        model.add_line(start, end, dxfattribs=RACEWAY)


def test_a_clean_drawing_passes(analyzed):
    analysis = analyzed(lambda _, model: (polyline(model, RUN), polyline(model, FAR)))
    assert told(analysis) == ([("pass", []), ("pass", [])], [])


def test_a_branch_is_a_caution_on_all_that_meet_there_and_on_no_other(analyzed):
    def draw(_, model):
        lines(model, *RUN, (200, 600, 140))
        lines(model, (200, 200, 130), (244, 200, 130))
        polyline(model, FAR)

    runs, of_files = told(analyzed(draw))
    assert [verdict for verdict, _ in runs].count("caution") == 3
    assert ("pass", []) in runs
    assert of_files == []


def test_a_gap_between_runs_of_loose_lines_is_a_caution_on_both(analyzed):
    def draw(_, model):
        lines(model, *RUN)
        lines(model, (200, 201, 130), (200, 600, 130), (600, 600, 140))

    assert told(analyzed(draw)) == ([("caution", ["gap-not-bridged"])] * 2, [])


def test_a_missing_riser_is_a_caution_on_both_runs_although_each_has_another(analyzed):
    def draw(_, model):
        polyline(model, [(0, 0, 12), (0, 0, 120), (200, 0, 120), (200, 100, 120)])
        polyline(model, [(200, 100, 12), (200, 300, 12), (400, 300, 12), (400, 300, 0)])

    assert told(analyzed(draw)) == ([("caution", ["gap-not-bridged"])] * 2, [])


def test_overlapping_polylines_are_a_caution_on_both(analyzed):
    def draw(_, model):
        polyline(model, [(0, 0, 0), (0, 100, 0), (200, 100, 10)])
        polyline(model, [(100, 100, 5), (200, 100, 10), (400, 100, 20), (400, 300, 20)])

    runs, of_files = told(analyzed(draw))
    assert [(verdict, "overlapping-entity" in codes) for verdict, codes in runs] == [
        ("caution", True)
    ] * 2
    assert of_files == []


def test_a_stray_bit_is_a_caution_on_a_run_that_ends_beside_it(analyzed):
    def draw(_, model):
        polyline(model, RUN)
        polyline(model, FAR)
        lines(model, (200, 203, 130), (200, 204, 130))

    runs, of_files = told(analyzed(draw))
    assert runs == [("caution", ["stray-bit"]), ("pass", [])]
    assert of_files == []


def test_a_loop_far_away_and_an_unused_pattern_stay_on_the_file(analyzed):
    def draw(_, model):
        polyline(model, RUN)
        lines(model, (0, 900, 0), (50, 900, 0), (50, 950, 0), (0, 900, 0))

    analysis = analyzed(draw, 'layers = ["RACEWAY", "NOWHERE"]')
    assert told(analysis) == ([("pass", [])], ["closed-loop", "layer-pattern-unused"])


def test_a_unit_in_dispute_is_a_caution_on_every_run_told_once(analyzed):
    analysis = analyzed(
        lambda _, model: (polyline(model, RUN), polyline(model, FAR)), 'units = "ft"'
    )
    assert told(analysis) == ([("caution", ["unit-differs"])] * 2, ["unit-differs"])
    content = content_of(analysis)
    assert len(content.cautions) == 1
    assert "counts for this run too: unit differs" in content.runs[0].cautions[0]
    alone = analyzed(lambda _, model: polyline(model, RUN), 'units = "ft"')
    assert told(alone) == ([("caution", ["unit-differs"])], [])


def test_an_external_reference_is_a_caution_where_its_layers_are_read(analyzed):
    def draw(document, model):
        polyline(model, RUN)
        document.add_xref_def("rack.dxf", "RACK")
        document.layers.add("RACK|E-ROUTE")
        model.add_blockref("RACK", (0, 0), dxfattribs={"layer": "BACKGROUND"})

    for drawing in ("", 'layers = ["RACEWAY", "*ROUTE"]'):
        (run,), _ = told(analyzed(draw, drawing))
        assert run[0] == "caution"
        assert "external-reference" in run[1]
    assert told(analyzed(draw, 'layers = ["RACEWAY"]')) == ([("pass", [])], ["external-reference"])


def test_an_unreadable_line_is_a_caution_on_every_run(analyzed):
    def draw(_, model):
        polyline(model, RUN)
        model.add_line((200, 200, 130), (777, 200, 130), dxfattribs=RACEWAY)

    def without_end(text):
        return text.replace(" 11\n777.0\n 21\n200.0\n 31\n130.0\n", "")

    runs, _ = told(analyzed(draw, change=without_end))
    assert runs == [("caution", ["entity-unreadable"])]


@pytest.mark.parametrize(("end", "verdict"), [((200, 200, 130), "caution"), (FAR[0], "pass")])
def test_a_multiline_is_a_caution_where_it_carries_a_run_on(analyzed, end, verdict):
    def draw(_, model):
        polyline(model, RUN)
        model.add_mline([end, (end[0], end[1] + 50, end[2])], dxfattribs=RACEWAY)

    analysis = analyzed(draw)
    assert analysis.runs[0].verdict.value == verdict
    notes = [finding.code for finding in analysis.findings]
    assert notes == ([] if verdict == "caution" else ["entities-not-read"])


@pytest.mark.parametrize(("layer", "verdict"), [("RACEWAY", "caution"), ("WALLS", "pass")])
def test_an_object_of_unknown_shape_is_a_caution_on_the_layer_of_a_run(analyzed, layer, verdict):
    strange = f"  0\nSTRANGE_PIPE\n  5\nFEED\n330\n17\n100\nAcDbEntity\n  8\n{layer}\n"
    analysis = analyzed(
        lambda _, model: polyline(model, RUN),
        change=lambda text: text.replace("ENTITIES\n", f"ENTITIES\n{strange}", 1),
    )
    assert analysis.runs[0].verdict.value == verdict


def test_a_closed_polyline_that_starts_at_the_end_of_a_run_may_be_its_rest(analyzed):
    def draw(_, model):
        polyline(model, RUN)
        polyline(model, [RUN[-1], (200, 400, 130), (500, 400, 130)], close=True)
        polyline(model, [(0, 900, 0), (50, 900, 0), (50, 950, 0)], close=True)

    analysis = analyzed(draw)
    assert told(analysis) == ([("caution", ["closed-curve-at-end"])], [])
    (loop,) = [finding for finding in analysis.findings if finding.code == "closed-loop"]
    assert loop.message.startswith("1 closed curve on")


@pytest.mark.parametrize(
    ("whole", "broken", "verdict"),
    [("\n7.77\n", "\n7x77\n", "caution"), ("TEXT\n  5\n", "TEXT\n  5\nG", "pass")],
)
def test_a_drawing_that_lost_something_in_recovery_is_a_caution(analyzed, whole, broken, verdict):
    def draw(_, model):
        polyline(model, RUN)
        model.add_text("P1", height=7.77)

    analysis = analyzed(draw, change=lambda text: text.replace(whole, broken))
    assert analysis.runs[0].verdict.value == verdict
    recovered = {finding.code for finding in (*analysis.findings, *analysis.runs[0].findings)}
    assert "drawing-recovered" in recovered


def test_cautions_on_rows_count_for_the_runs_of_these_rows(tmp_path):
    path = tmp_path / "yard.csv"
    path.write_text(
        'run,x_ft,y_ft,z_ft\na,0,0,0\na,"40 in",0,0\na,40,0,1\nb,0,90,0\nb,40,90,0\nb,40,130,1\n'
    )
    job = parse_job(JOB)
    route = open_route(path, job)
    codes = [[f.code for f in run.findings if f.severity.value == "caution"] for run in route.runs]
    assert ["cell-unit-differs" in found for found in codes] == [True, False]
    assert not [f for f in route.findings if f.severity.value == "caution"]
