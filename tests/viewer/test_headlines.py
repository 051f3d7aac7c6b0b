"""The words on a picture never flatter: they name the check that governs, as the reports do."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from feeder_job import FEEDER_JOB

from analyzer.analysis import Analysis, analyze
from analyzer.checks.run_checks import count_not_checked
from analyzer.importers.reading import open_route
from analyzer.job.options import job_from_options
from analyzer.job.reading import parse_job, read_job
from analyzer.pulling.results import Direction
from analyzer.reports.content import content_of
from analyzer.reports.words import check_name
from analyzer.units import lbf_per_ft
from viewer.canvas import Canvas
from viewer.closeup import draw_closeup, plan_closeup
from viewer.compare import draw_comparison_sheet, plan_comparison
from viewer.compared_cases import Case, box_cases, conclusion
from viewer.developed import draw_developed, plan_developed
from viewer.headlines import headline
from viewer.image import draw_footer, plan_picture
from viewer.many import build_many, many_headline, many_subline, row_words
from viewer.overlay import Marks
from viewer.quantities import Quantity
from viewer.scene import Scene, build_scene
from viewer.shown_values import of_limit, percent_text, times
from viewer.wording import governing_beside, notes, verdict_line

EXAMPLES = Path(__file__).parents[2] / "example_paths"
ROUTES = ("overhead_feeder.dxf", "riser.csv", "training_yard.csv", "training_yard_two_boxes.csv")


def analysis_of(name: str) -> Analysis:
    job = read_job((EXAMPLES / name).with_suffix(".toml"))
    read = open_route(EXAMPLES / name, job)
    return analyze(read.runs, job, read.findings)


def shown(analysis: Analysis, direction: str, quantity: Quantity = Quantity.TENSION) -> Scene:
    return build_scene(analysis.runs[0], analysis.job, direction, quantity=quantity)


def greatest(scene: Scene):
    """The greatest share of limit of the legs as they are shown pulled, from the analysis."""
    pulls = [
        leg.forward if trace.direction is Direction.FORWARD else leg.reverse
        for leg, trace in zip(scene.analysis.legs, scene.legs, strict=True)
    ]
    return max((share for pull in pulls for share in pull.shares), key=lambda share: share.share)


@pytest.mark.parametrize("name", ROUTES)
@pytest.mark.parametrize("direction", ["better", "forward", "reverse"])
def test_words_tell_the_greatest_share_of_all_limits(name, direction):
    analysis = analysis_of(name)
    for quantity in (Quantity.TENSION, Quantity.SIDEWALL, Quantity.SHARE):
        scene = shown(analysis, direction, quantity)
        most = greatest(scene)
        told = governing_beside(scene)
        if told is None:
            peak = max(leg.high_peak for leg in scene.legs)
            limit = scene.chart_scale.limit
            assert max(peak, scene.peak.peak) / limit == pytest.approx(most.share, rel=1e-9)
        else:
            assert told == most
            assert of_limit(most.share) in verdict_line(scene)
            assert of_limit(most.share) in conclusion(Case("", scene))


@pytest.mark.parametrize("direction", ["better", "forward"])
def test_the_number_of_checks_not_made_stands_beside_every_verdict(direction):
    analysis = analysis_of("riser.csv")
    missing = f"{count_not_checked(analysis.runs[0].checks)} not checked"
    scene = shown(analysis, direction)
    every = build_many(replace(analysis, runs=analysis.runs * 2), direction)
    assert missing in verdict_line(scene)
    assert missing in conclusion(Case("", scene))
    assert missing in row_words(every.rows[0])[1]
    assert f"checks not made: {missing[0]} in each run" in many_subline(every)


BAND = "[pull]\nfriction = { low = 0.2, expected = 0.35, high = 0.5 }\n"
LIMIT = '[limits]\nsidewall_pressure = "500 lbf/ft"\n'


@pytest.mark.parametrize(
    ("last_z", "more", "number"),
    [
        (1, BAND + LIMIT, 0),
        (0, BAND + LIMIT, 1),  # all at one elevation
        (1, BAND, 2),  # the limit assumed, and the check it touches
        (0, "", 5),
        (0, BAND + LIMIT + "degrees_between_pull_points = 45\n", 1),  # and fails
    ],
)
def test_pictures_tell_how_many_cautions_check_lists_and_where(tmp_path, last_z, more, number):
    route = tmp_path / "ell.csv"
    route.write_text(f"x_ft,y_ft,z_ft\n0,0,0\n20,0,0\n20,9,{last_z}\n", encoding="utf-8")
    job = parse_job(FEEDER_JOB + more)
    read = open_route(route, job)
    analysis = analyze(read.runs, job, read.findings)
    content = content_of(analysis)
    assert len({*content.runs[0].cautions, *content.cautions}) == number
    told = "1 caution" if number == 1 else f"{number} cautions"
    scene = shown(analysis, "better")
    every = build_many(replace(analysis, runs=analysis.runs * 2))
    for text, words in (
        (verdict_line(scene), f" · {told}"),
        (conclusion(Case("", scene)), f"; {told}."),
        (many_subline(every), f" · cautions: {number} in each run, listed by raceway check"),
    ):
        assert (words in text) == (number > 0), text
        assert (told.split()[1] in text.replace("verdict: caution", "")) == (number > 0)
    assert ("Cautions are listed by raceway check." in notes(scene)) == (number > 0)


def test_headline_of_a_run_that_sidewall_pressure_governs_says_so():
    analysis = analysis_of("riser.csv")
    scene = shown(analysis, "better")
    most = greatest(scene)
    assert most.code == "sidewall"
    whole = f"{100 * most.share:.0f} % of the sidewall limit"
    assert whole in headline(scene)
    # as the reports say it
    said = content_of(analysis).runs[0].headline
    assert f"Highest {100 * most.share:.0f} % of limit (sidewall pressure)" in said


@pytest.mark.parametrize(("sidewall", "kind"), [("60 lbf/ft", "sidewall"), ("9 kN/m", "tension")])
@pytest.mark.parametrize("high", [0.35, 0.5])
def test_headline_of_the_share_of_limit_names_the_one_that_is_reached(
    tmp_path, sidewall, kind, high
):
    route = tmp_path / "ell.csv"
    route.write_text("x_ft,y_ft,z_ft\n0,0,0\n10,0,0\n10,9,1\n", encoding="utf-8")
    band = f"[pull]\nfriction = {{ low = 0.2, expected = 0.35, high = {high} }}\n"
    band += 'line_working_load = "300 lbf"\n'
    job = parse_job(f'{FEEDER_JOB}{band}[limits]\nsidewall_pressure = "{sidewall}"\n')
    read = open_route(route, job)
    scene = shown(analyze(read.runs, job, read.findings), "forward", Quantity.SHARE)
    most = greatest(scene)
    assert most.code.startswith({"sidewall": "sidewall", "tension": "line"}[kind])
    told = percent_text(most.share)
    assert f"The pull reaches {told} of its {kind} limit" in headline(scene)
    assert f"limit 100 % ({kind})" in verdict_line(scene)


def test_headline_of_a_run_that_braking_governs_names_both_states(tmp_path):
    route = tmp_path / "shaft.csv"
    route.write_text("x_ft,y_ft,z_ft\n0,0,0\n20,0,0\n20,0,90\n24,0,90\n", encoding="utf-8")
    job = job_from_options(
        raceway="RMC 2", conductor=["3 x 4/0 XHHW-2 copper"], friction="0.1,0.15,0.2"
    )
    read = open_route(route, job)
    analysis = analyze(read.runs, job, read.findings)
    scene = shown(analysis, "reverse")
    most = greatest(scene)
    assert most.code == "sidewall-braked"
    text = headline(scene)
    assert f"{percent_text(most.share)} of its sidewall limit braked, " in text
    assert text.endswith(" % of its tension limit pulled")
    assert f"braked sidewall pressure governs, {of_limit(most.share)}" in verdict_line(scene)
    for quantity in (Quantity.SIDEWALL, Quantity.SHARE):
        text = headline(shown(analysis, "reverse", quantity))
        assert text.endswith(f"; braked sidewall pressure governs, {of_limit(most.share)}")


def failing_drop(tmp_path, sidewall, line):
    """A drop and a rise whose pull passes its limits by far at high friction."""
    route = tmp_path / "drop.csv"
    route.write_text(
        "x_ft,y_ft,z_ft\n0,0,20\n30,0,20\n30,40,20\n30,40,4\n70,40,4\n70,90,4\n70,90,12\n",
        encoding="utf-8",
    )
    told = route.with_suffix(".toml")
    told.write_text(
        '[raceway]\ntype = "EMT"\ntrade_size = "2"\n'
        '[[conductors]]\ncount = 3\nsize = "1/0"\ninsulation = "THHN"\nmetal = "copper"\n'
        "[pull]\nfriction = { low = 0.20, expected = 0.35, high = 0.50 }\n"
        f'line_working_load = "{line}"\n[limits]\nsidewall_pressure = "{sidewall}"\n',
        encoding="utf-8",
    )
    job = read_job(told)
    read = open_route(route, job)
    return analyze(read.runs, job, read.findings)


@pytest.mark.parametrize("quantity", [Quantity.TENSION, Quantity.SIDEWALL, Quantity.SHARE])
@pytest.mark.parametrize("sidewall", ["300 lbf/ft", "30 lbf/ft"])
@pytest.mark.parametrize("line", ["250 lbf", "1500 lbf"])
def test_the_headline_of_a_failing_run_tells_the_greatest_factor(
    tmp_path, line, sidewall, quantity
):
    scene = shown(failing_drop(tmp_path, sidewall, line), "better", quantity)
    most = greatest(scene)
    text = headline(scene)
    kind = check_name(most.code)
    if governing_beside(scene) is not None:
        assert text.endswith(f"; {kind} {times(most.share)} times its limit")
    elif scene.peak.peak > scene.chart_scale.limit:
        assert text.endswith(f", {times(most.share)} times at high friction")
    else:
        # over its limit at high friction alone
        assert text.startswith("At high friction 0.5 ")


def test_the_headline_of_a_pull_over_its_limit_in_full(tmp_path):
    scene = shown(failing_drop(tmp_path, "300 lbf/ft", "250 lbf"), "better")
    assert headline(scene) == "The pull ends at 1.87 times its limit, 6.3 times at high friction"
    scene = shown(failing_drop(tmp_path, "100 lbf/ft", "250 lbf"), "better")
    assert headline(scene) == (
        "The pull ends at 1.87 times its limit, 6.3 times at high friction; "
        "sidewall pressure 9.0 times its limit"
    )


@pytest.mark.picture
@pytest.mark.parametrize("drawing", ["view", "elevation", "closeup", "compare"])
def test_a_picture_says_which_labels_found_no_room(drawing, monkeypatch):
    written: list[str] = []
    draw = Canvas.text

    def noted(canvas, x, y, text, *args, **options):
        written.append(text)
        return draw(canvas, x, y, text, *args, **options)

    monkeypatch.setattr(Canvas, "text", noted)
    monkeypatch.setattr(Marks, "left_out", property(lambda marks: ("B3  90°", "Leg 2   47 lbf")))
    scene = shown(analysis_of("training_yard.csv"), "better")
    if drawing == "view":
        picture = plan_picture(scene, 900, 700)
        draw_footer(picture.canvas, picture.layout, picture.marks.left_out)
    elif drawing == "elevation":
        draw_developed(plan_developed(scene, 900, 700))
    elif drawing == "closeup":
        draw_closeup(plan_closeup(scene, 900, 700))
    else:
        draw_comparison_sheet(plan_comparison((Case("A", scene), Case("B", scene)), 900, 700))
    # a close-up and a comparison have two views, each with its own labels
    two_views = drawing in ("closeup", "compare")
    names = "B3, Leg 2 and 2 more" if two_views else "B3 and Leg 2"
    foot = next(text for text in written if text.startswith("No room"))
    assert foot.startswith(f"No room for the labels {names}.")


THROUGH_A_BODY = (
    "x_ft,y_ft,z_ft,fitting,label\n"
    "0,0,10,panel,P\n20,0,10,,\n20,20,10,conduit body,LB\n40,20,13,equipment,E\n"
)
PASSED = '[[fittings]]\nname = "LB"\npassage = "through"\n'


def test_a_corner_passed_through_stands_in_the_headline_of_every_quantity(tmp_path):
    route = tmp_path / "body.csv"
    route.write_text(THROUGH_A_BODY, encoding="utf-8")
    for passage, told in ((PASSED, True), (PASSED.replace("through", "refeed"), False)):
        job = parse_job(FEEDER_JOB + BAND + LIMIT + passage)
        read = open_route(route, job)
        analysis = analyze(read.runs, job, read.findings)
        said = "idewall pressure inside LB not checked"
        for quantity in (Quantity.TENSION, Quantity.SIDEWALL, Quantity.SHARE):
            scene = shown(analysis, "better", quantity)
            assert (said in headline(scene)) is told, headline(scene)
            assert ("verdict: not checked" in verdict_line(scene)) is told
        every = build_many(replace(analysis, runs=analysis.runs * 2), "better")
        assert ("; 2 could be checked only in part" in many_headline(every)) is told
    without, refed = box_cases(analysis, analysis.runs[0])
    assert "verdict: not checked" in conclusion(without)
    assert "verdict: pass" in conclusion(refed)


STRAIGHT = "x_ft,y_ft,z_ft,fitting,label\n0,0,10,panel,P\n120,0,10,equipment,M\n"


def test_a_run_without_bends_has_no_sidewall_pressure_and_the_limit_of_its_job(tmp_path):
    route = tmp_path / "straight.csv"
    route.write_text(STRAIGHT, encoding="utf-8")
    for line, told in (
        ("", "; conductor tension governs, {share} of limit"),
        ('[pull]\nline_working_load = "50 lbf"\n', ", but line tension fails"),
    ):
        job = parse_job(FEEDER_JOB + LIMIT + line)
        read = open_route(route, job)
        scene = shown(analyze(read.runs, job, read.findings), "better", Quantity.SIDEWALL)
        share = percent_text(greatest(scene).share)
        assert headline(scene) == f"No bends, so no sidewall pressure{told.format(share=share)}"
        assert scene.chart_scale.limit == pytest.approx(lbf_per_ft(500), rel=1e-12)
        assert "Highest 0.0 lbf/ft, limit 500 lbf/ft (conductors)" in verdict_line(scene)


def test_a_corner_passed_through_alone_is_not_told_as_no_bends(tmp_path):
    route = tmp_path / "body.csv"
    route.write_text(
        "x_ft,y_ft,z_ft,fitting,label\n0,0,10,panel,P\n20,0,10,conduit body,LB\n"
        "20,20,10,equipment,E\n",
        encoding="utf-8",
    )
    job = parse_job(FEEDER_JOB + LIMIT + PASSED)
    read = open_route(route, job)
    scene = shown(analyze(read.runs, job, read.findings), "better", Quantity.SIDEWALL)
    assert not scene.bends
    assert "No bends" not in headline(scene)
    assert headline(scene).endswith("sidewall pressure inside LB not checked")


TOWARD = (
    "x_ft,y_ft,z_ft,fitting,label\n0,0,10,panel,Panel P1\n10,0,10,,\n10,10,10,,\n0,10,10,,\n"
    "0,70,10,pull box,Rink box\n0,130,10,,\n10,130,10,,\n10,140,10,,\n"
    "20,140,10,equipment,Chiller 2\n"
)
"""Three bends at either end of two long straights: both legs are gentler pulled to the middle."""


@pytest.mark.parametrize(("limit_lbf_per_ft", "needed"), [(150, True), (3000, False)])
@pytest.mark.parametrize("direction", ["better", "forward"])
def test_pictures_name_the_box_where_conductors_are_joined(
    tmp_path, direction, limit_lbf_per_ft, needed
):
    route = tmp_path / "toward.csv"
    route.write_text(TOWARD, encoding="utf-8")
    limit = LIMIT.replace("500", str(limit_lbf_per_ft))
    job = parse_job(FEEDER_JOB.replace('"2"\n', '"2"\nbend_radius = "24 in"\n') + BAND + limit)
    read = open_route(route, job)
    analysis = analyze(read.runs, job, read.findings)
    scene = shown(analysis, direction)
    joined = direction == "better"
    assert ("cut and joined at Rink box" in notes(scene)) == joined
    told = "; only with a joint at Rink box"
    assert headline(scene).endswith(told) == (joined and needed)
