"""The job file: every key, every fault with file, line and key.

One long file, because all tests share the two jobs at its top.
"""

from __future__ import annotations

import pytest
from feeder_job import FEEDER_JOB

from analyzer.errors import JobError
from analyzer.findings import Severity
from analyzer.job import parse_job, read_job
from analyzer.job.settings import Arrangement, Attachment, FittingKind, Friction, Passage
from analyzer.units import LengthUnit, UnitSystem, ft, inches, lbf, lbf_per_ft

EVERY_KEY = (
    """\
title = "Ice rink chiller feeder"
units = "metric"
[drawing]
units = "inches"
layers = ["*RACEWAY*", "E-POWR"]
start = "Panel P1"
snap = "4 in"
accuracy = "1/8 in"
axes = ["north", "east", "depth"]
name_layers = ["*TEXT*"]
join = "1/8 in"
[drawing.fittings]
"JB*" = "junction box"
"PB*" = "Pull Box"
"EMT*" = "route"
[drawing.read_as]
"Riser" = "survey"
"""
    + FEEDER_JOB.replace(
        'trade_size = "2"', 'trade_size = 2\nbend_radius = "12 in"\nbender = "other"'
    )
    + """\
name = "phase conductors"
stranding = "stranded"
diameter = "0.65 in"
weight = "0.72 lbf/ft"
max_tension = "1500 lbf"
insulation_class = "600 V power"
[[conductors]]
name = "control cable"
diameter = "0.61 in"
weight = "0.32 lb/ft"
max_tension = "190 lbf"
[[existing_conductors]]
count = 2
size = 12
insulation = "THHN"
metal = "copper"
[pull]
friction = { low = 0.1, expected = 0.3, high = 0.6 }
feed_tension = "50 lbf"
arrangement = "bunched"
weight_factor_in_bends = false
attachment = "pulling eye"
line_working_load = "900 lbf"
puller_capacity = "2000 lbf"
lubricant_reach = "120 ft"
dry_friction = 0.5
[limits]
rules = "nec-2020"
degrees_between_pull_points = 270
length_between_pull_points = "150 ft"
sidewall_pressure = "500 lbf/ft"
clearance = "3/8 in"
[[fittings]]
name = "Box A"
kind = "pull box"
at = "12 ft"
run = "Riser"
passage = "refeed"
pull_point = true
feed_tension = "5 lbf"
size = ["24 in", "12 in", "8 in"]
[[fittings]]
name = "Box B"
kind = "handhole"
position = ["-12 ft", "3 ft", "10'-6 1/2\\""]
passage = "through"
"""
)


def faults(text: str) -> list[str]:
    """The lines of the error a job text gives."""
    with pytest.raises(JobError) as caught:
        parse_job(text, "rink.toml")
    return str(caught.value).splitlines()


def fault(text: str) -> str:
    """The only fault of a job text."""
    (line,) = faults(text)
    return line


def with_lines(*lines: str) -> str:
    return FEEDER_JOB + "\n".join(lines) + "\n"


def codes(text: str) -> set[str]:
    return {finding.code for finding in parse_job(text).findings}


# ------------------------------------------------------------------ every key lands in the job


def test_every_key_lands_in_the_job():
    job = parse_job(EVERY_KEY, "rink.toml")
    assert (job.title, job.units, job.source) == (
        "Ice rink chiller feeder",
        UnitSystem.METRIC,
        "rink.toml",
    )
    drawing = job.drawing
    assert drawing.units is LengthUnit.INCH
    assert drawing.layers == ("*RACEWAY*", "E-POWR")
    assert drawing.start == "Panel P1"
    assert drawing.snap_m == pytest.approx(inches(4), rel=1e-15)
    assert drawing.accuracy_m == pytest.approx(inches(1 / 8), rel=1e-15)
    assert drawing.axes == ("north", "east", "depth")
    assert drawing.name_layers == ("*TEXT*",)
    assert drawing.join_m == pytest.approx(inches(1 / 8), rel=1e-15)
    assert drawing.fitting_kinds == (
        ("JB*", FittingKind.JUNCTION_BOX),
        ("PB*", FittingKind.PULL_BOX),
        ("EMT*", None),
    )
    assert drawing.read_as == (("Riser", "survey"),)
    assert job.raceway is not None
    assert (job.raceway.type, job.raceway.trade_size, job.bender) == ("EMT", "2", "other")
    assert job.bend_radius_m == pytest.approx(inches(12), rel=1e-15)

    phase, control = job.conductors
    assert (phase.count, phase.conductor.name) == (3, "phase conductors")
    assert phase.conductor.diameter_m == pytest.approx(inches(0.65), rel=1e-15)
    assert phase.conductor.weight_n_per_m == pytest.approx(lbf_per_ft(0.72), rel=1e-15)
    assert phase.conductor.max_tension_n == pytest.approx(lbf(1500), rel=1e-15)
    assert phase.conductor.insulation_class == "600 V power"
    assert phase.conductor.stranding == "stranded"
    assert (control.count, control.conductor.name) == (1, "control cable")
    (existing,) = job.existing
    assert (existing.count, existing.conductor.size) == (2, "12")

    pull = job.pull
    assert pull.friction == Friction(0.1, 0.3, 0.6)
    assert pull.feed_tension_n == pytest.approx(lbf(50), rel=1e-15)
    assert pull.arrangement is Arrangement.BUNCHED
    assert pull.weight_factor_in_bends is False
    assert pull.attachment is Attachment.PULLING_EYE
    assert pull.line_working_load_n == pytest.approx(lbf(900), rel=1e-15)
    assert pull.puller_capacity_n == pytest.approx(lbf(2000), rel=1e-15)
    assert pull.lubricant_reach_m == pytest.approx(ft(120), rel=1e-15)
    assert pull.dry_friction == 0.5

    limits = job.limits
    assert (limits.rules, limits.degrees_between_pull_points) == ("nec-2020", 270.0)
    assert limits.degrees_from == limits.sidewall_from == limits.clearance_from == "job"
    assert limits.length_between_pull_points_m == pytest.approx(ft(150), rel=1e-15)
    assert limits.sidewall_pressure_n_per_m == pytest.approx(lbf_per_ft(500), rel=1e-15)
    assert limits.clearance_m == pytest.approx(inches(3 / 8), rel=1e-15)

    box_a, box_b = job.fittings
    assert (box_a.name, box_a.kind, box_a.run) == ("Box A", FittingKind.PULL_BOX, "Riser")
    assert (box_a.passage, box_a.pull_point) == (Passage.REFEED, True)
    assert box_a.at_m == pytest.approx(ft(12), rel=1e-15)
    assert box_a.feed_tension_n == pytest.approx(lbf(5), rel=1e-15)
    assert box_a.size_m == pytest.approx((inches(24), inches(12), inches(8)), rel=1e-15)
    assert (box_b.kind, box_b.passage) == (FittingKind.HANDHOLE, Passage.THROUGH)
    assert box_b.position_m == pytest.approx((-ft(12), ft(3), ft(10) + inches(6.5)), rel=1e-15)


def test_nothing_is_assumed_in_silence_where_every_key_is_given():
    findings = parse_job(EVERY_KEY).findings
    assert not [finding for finding in findings if finding.severity is Severity.CAUTION]


def test_defaults_are_those_of_the_contract():
    job = parse_job(FEEDER_JOB)
    assert (job.title, job.units, job.source, job.fittings) == ("", UnitSystem.US, "", ())
    assert job.drawing.snap_m == pytest.approx(inches(6), rel=1e-15)
    assert job.pull.friction == Friction(0.20, 0.35, 0.50, stated=False)
    assert job.pull.feed_tension_n == 0.0
    assert job.pull.weight_factor_in_bends is True
    assert job.pull.arrangement is None and job.pull.attachment is None
    assert job.limits.rules == "nec-2023"
    assert (job.limits.degrees_between_pull_points, job.limits.degrees_from) == (360, "rule set")
    assert job.limits.length_between_pull_points_m is None
    assert job.limits.sidewall_pressure_n_per_m == pytest.approx(lbf_per_ft(300), rel=1e-15)
    assert (job.limits.sidewall_from, job.limits.clearance_from) == ("assumed", "assumed")
    assert job.bender == "one-shot"


def test_start_may_be_a_point():
    job = parse_job('[drawing]\nstart = ["0 ft", "0 ft", "-10 ft"]\n' + FEEDER_JOB)
    assert job.drawing.start == pytest.approx((0.0, 0.0, -ft(10)), rel=1e-15)


def test_rule_set_gives_its_limits_and_stated_values_override_them():
    ruled = parse_job(with_lines("[limits]", 'rules = "owner-150ft-270deg"')).limits
    assert ruled.degrees_between_pull_points == 270
    assert ruled.length_between_pull_points_m == pytest.approx(ft(150), rel=1e-15)
    assert ruled.length_from == "rule set"
    for feet in (90, 150):
        stated = f'length_between_pull_points = "{feet} ft"'
        both = with_lines("[limits]", 'rules = "owner-150ft-270deg"', stated)
        limits = parse_job(both).limits
        assert limits.length_between_pull_points_m == pytest.approx(ft(feet), rel=1e-15)
        assert limits.length_from == "job"


def test_limits_looser_than_those_of_the_rule_set_are_a_note():
    """A caution they are where a leg uses them."""
    lines = ("[limits]", 'rules = "owner-150ft-270deg"', "degrees_between_pull_points = 36000")
    found = parse_job(with_lines(*lines, 'length_between_pull_points = "200 ft"')).findings
    notes = {finding.where: finding for finding in found if finding.code == "limit-looser"}
    assert {finding.severity for finding in notes.values()} == {Severity.NOTE}
    degrees = notes["limits.degrees_between_pull_points"].message
    assert "36,000° of bends between pull points, above the 270° of rule set owner-15" in degrees
    length = notes["limits.length_between_pull_points"].message
    assert "200.0 ft between pull points, above the 150.0 ft of rule set owner-15" in length
    strict = parse_job(with_lines("[limits]", 'length_between_pull_points = "9 ft"')).findings
    assert not [finding for finding in strict if finding.code == "limit-looser"]


def test_a_limit_that_reads_as_that_of_the_rule_set_is_not_told_as_looser():
    lines = ("[limits]", 'rules = "owner-150ft-270deg"', "degrees_between_pull_points = 270.0001")
    for metric in ("45.73 m", "45.721 m"):
        text = with_lines(*lines, f'length_between_pull_points = "{metric}"')
        assert "limit-looser" not in {finding.code for finding in parse_job(text).findings}


def test_degrees_may_be_written_with_their_unit():
    limits = parse_job(with_lines("[limits]", 'degrees_between_pull_points = "270 deg"')).limits
    assert limits.degrees_between_pull_points == 270.0


# ------------------------------------------------------------------------------ faults, placed


@pytest.mark.parametrize(
    ("lines", "place", "words"),
    [
        (["[pull]", "frictoin = 0.3"], "line 10, pull.frictoin", 'did you mean "friction"?'),
        (["[pull]", "size = 3"], "line 10, pull.size", "belongs in [conductors]"),
        (["[pull]", "qqqq = 3"], "line 10, pull.qqqq", 'the keys here are "friction"'),
        (["[pul]", "friction = 0.3"], "line 9, pul", 'did you mean "pull"?'),
        (["[conduit]", 'type = "EMT"'], "line 9, conduit", 'did you mean "raceway"?'),
        (["[[cables]]", "count = 3"], "line 9, cables", 'did you mean "conductors"?'),
        (["[Wires]", "count = 3"], "line 9, Wires", 'did you mean "conductors"?'),
        (["[gutter]", "size = 3"], "line 9, gutter", 'the keys here are "title"'),
        (["[unit_system]", "us = true"], "line 9, unit_system", 'the keys here are "title"'),
        (["[pull]", 'title = "x"'], "line 10, pull.title", "the top of the file"),
        (["[pull]", "feed_tension = 50"], "line 10, pull.feed_tension", 'such as "900 lbf"'),
        (["[pull]", 'feed_tension = "50"'], "line 10, pull.feed_tension", "no unit"),
        (["[pull]", 'feed_tension = "-1 lbf"'], "line 10, pull.feed_tension", "negative"),
        (["[pull]", 'feed_tension = "50 ft"'], "line 10, pull.feed_tension", "unit 'ft'"),
        (["[limits]", 'clearance = "1e300 ft"'], "limits.clearance", "too large to be meant"),
        (["[pull]", 'feed_tension = "1e300 lbf"'], "pull.feed_tension", "too large to be meant"),
        (["[plan]", 'call_out_every = "1e-300 in"'], "plan.call_out_every", "too small to be m"),
        (["[pull]", 'line_working_load = "0 lbf"'], "pull.line_working_load", "more than zero"),
        (["[pull]", "friction = 2.1"], "line 10, pull.friction", "from 0 to 2"),
        (["[pull]", "friction = -0.1"], "line 10, pull.friction", "from 0 to 2"),
        (["[pull]", "friction = nan"], "line 10, pull.friction", "from 0 to 2"),
        (["[pull]", "friction = inf"], "line 10, pull.friction", "from 0 to 2"),
        (
            ["[pull]", "friction = [0.2, 0.35, 0.5]"],
            "line 10, pull.friction",
            "a band written { low = 0.20, expected = 0.35, high = 0.50 }; got [0.2, 0.35, 0.5]",
        ),
        (
            ["[limits]", 'degrees_between_pull_points = "270"'],
            "line 10, limits.degrees_between_pull_points",
            '"270" has no unit: write 270 without quotes, or "270 deg"',
        ),
        (["[pull]", "friction = true"], "line 10, pull.friction", "a number without quotes"),
        (["[pull]", 'friction = "0.3"'], "line 10, pull.friction", "a number without quotes"),
        (
            ["[pull]", "friction = { low = 0.5, expected = 0.35, high = 0.6 }"],
            "line 10, pull.friction",
            "low <= expected <= high; got low 0.5, expected 0.35, high 0.6",
        ),
        (
            ["[pull]", "friction = { low = 0.2, expected = 0.7, high = 0.6 }"],
            "line 10, pull.friction",
            "low <= expected <= high",
        ),
        (
            ["[pull]", "[pull.friction]", "low = 0.2", "expected = 0.3"],
            "line 10, pull.friction",
            "needs high",
        ),
        (
            ["[pull.friction]", "low = 0.2", "expected = 0.3", "high = 3"],
            "line 12, pull.friction.high",
            "from 0 to 2",
        ),
        (["[pull]", "dry_friction = 0.5"], "line 10, pull.dry_friction", '"lubricant_reach"'),
        (["[pull]", 'lubricant_reach = "9 ft"'], "pull.lubricant_reach", '"dry_friction"'),
        (["[pull]", 'arrangement = "pair"'], "pull.arrangement", "for 2 conductors; the job pulls"),
        (["[pull]", 'arrangement = "cradle"'], "pull.arrangement", 'did you mean "cradled"?'),
        (["[pull]", 'attachment = "rope"'], "pull.attachment", '"basket grip", "pulling eye"'),
        (["[pull]", 'weight_factor_in_bends = "no"'], "weight_factor_in_bends", "true or false"),
        (["[limits]", 'rules = "nec-2032"'], "line 10, limits.rules", "nec-202"),
        (["[limits]", "degrees_between_pull_points = 0"], "limits.degrees", "more than zero"),
        (["[limits]", "degrees_between_pull_points = nan"], "limits.degrees", "more than zero"),
        (["[limits]", 'length_between_pull_points = "0 ft"'], "limits.length", "more than zero"),
        (["[limits]", 'sidewall_pressure = "0 lbf/ft"'], "limits.sidewall", "more than zero"),
        (["[limits]", 'clearance = "-1 in"'], "limits.clearance", "negative"),
        (["[drawing]", 'units = "furlong"'], "line 10, drawing.units", '"in", "ft"'),
        (["[drawing]", 'layers = "A"'], "line 10, drawing.layers", "a list"),
        (["[drawing]", "layers = []"], "line 10, drawing.layers", "a list of 1 or more"),
        (["[drawing]", 'layers = ["A",', "3]"], "line 11, drawing.layers[2]", "text in quotes"),
        (["[drawing]", 'start = ["1 ft", "2 ft"]'], "drawing.start", "a list of 3"),
        (["[drawing]", 'start = ""'], "drawing.start", "is empty"),
        (["[drawing]", "snap = 6"], "drawing.snap", 'such as "6 in"; got 6'),
        (["[drawing]", 'accuracy = "0 in"'], "drawing.accuracy", "more than zero"),
        (["[drawing]", 'axes = ["east", "west", "up"]'], "drawing.axes", "one of north or south"),
        (["[drawing]", 'axes = ["east", "north", "hi"]'], "drawing.axes[3]", '"depth"'),
        (
            ["[drawing.fittings]", '"JB*" = "junction bx"'],
            'line 10, drawing.fittings."JB*"',
            'did you mean "junction box"?',
        ),
        (["[drawing]", "fittings = 5"], "drawing.fittings", 'as "JB*" = "junction box" below'),
        (["[drawing]", "read_as = 5"], "drawing.read_as", 'as "run 1" = "corners" below'),
        (["[drawing]", 'read_as = "survey"'], "drawing.read_as", 'as "run 1" = "survey" below'),
        (["[drawing.fittings]", 'A = "end"'], "drawing.fittings.A", "not known"),
        (["[drawing.fittings]", 'A = "rout"'], "drawing.fittings.A", 'did you mean "route"?'),
        (["[[fittings]]", 'name = "A"', 'kind = "route"'], "fittings[1].kind", "not known"),
        (["[drawing.read_as]", 'A = "mixed"'], "drawing.read_as.A", "not known"),
        (["[[fittings]]", 'kind = "pull box"'], "line 9, fittings[1]", 'needs the key "name"'),
        (
            ["[[fittings]]", 'name = "A"', 'kind = "pull box"', 'at = "-1 ft"'],
            "line 12, fittings[1].at",
            "negative",
        ),
        (["[[fittings]]", 'name = "A"', 'at = "1 ft"'], "line 9, fittings[1]", 'needs "kind"'),
        (
            [
                "[[fittings]]",
                'name = "A"',
                'kind = "pull box"',
                'at = "1 ft"',
                'position = ["1 ft", "1 ft", "1 ft"]',
            ],
            "line 13, fittings[1].position",
            "not both",
        ),
        (
            ["[[fittings]]", 'name = "A"', "[[fittings]]", 'name = "A"'],
            "line 12, fittings[2].name",
            "twice",
        ),
        (
            ["[[fittings]]", 'name = "A"', 'size = ["1 in", "1 in", "1 in", "1 in"]'],
            "line 11, fittings[1].size",
            "a list of 1 to 3",
        ),
        (["[[fittings]]", 'name = "A"', 'size = ["0 in"]'], "fittings[1].size[1]", "zero"),
        (
            ["[[fittings]]", 'name = "A"', "pull_point = false", 'passage = "refeed"'],
            "line 12, fittings[1].passage",
            "pull points only",
        ),
        (
            ["[[fittings]]", 'name = "A"', 'passage = "through"', 'feed_tension = "1 lbf"'],
            "line 12, fittings[1].feed_tension",
            "nothing is fed here",
        ),
        (["[[pull]]", "friction = 0.3"], "line 9, pull", "[pull] in single brackets"),
        (["[fittings]", 'name = "A"'], "line 9, fittings", "[[fittings]] in double brackets"),
    ],
)
def test_fault_is_placed_by_line_and_key(lines, place, words):
    message = fault(with_lines(*lines))
    assert message.startswith("rink.toml, line ")
    assert place in message
    assert words in message


@pytest.mark.parametrize(
    ("old", "new", "place", "words"),
    [
        ('"EMT"', '"EMTT"', "line 2, raceway.type", "the nearest is EMT"),
        ('trade_size = "2"', 'trade_size = "7"', "line 3, raceway.trade_size", "3-1/2"),
        ('trade_size = "2"', "trade_size = -2", "line 3, raceway.trade_size", "more than zero"),
        ('trade_size = "2"\n', "", "line 2, raceway.type", 'needs "trade_size"'),
        ('type = "EMT"\n', "", "line 2, raceway.trade_size", 'needs "type"'),
        ("count = 3", "count = 0", "line 5, conductors[1].count", "from 1 to 10,000"),
        ("count = 3", "count = 2.0", "line 5, conductors[1].count", "whole number"),
        ("count = 3", "count = 10001", "line 5, conductors[1].count", "from 1 to 10,000"),
        ("count = 3", "count = true", "line 5, conductors[1].count", "whole number"),
        ('"4/0"', '"5/0"', "line 6, conductors[1].size", "the nearest is"),
        ('"THHN"', '"THNN"', "line 7, conductors[1].insulation", "the nearest is THHN"),
        ('"copper"', '"coper"', "line 8, conductors[1].metal", 'did you mean "copper"?'),
        ('metal = "copper"\n', "", "line 4, conductors[1]", '"metal"'),
        (
            'metal = "copper"',
            'metal = "copper"\ntemper = "soft"',
            "line 9, conductors[1].temper",
            "aluminum",
        ),
        ('"copper"', '"copper"\nweight = "-1 lbf/ft"', "line 9, conductors[1].weight", "more"),
        (
            '"copper"',
            '"copper"\ninsulation_class = "480 V"',
            "line 9, conductors[1].insulation_class",
            '"300 V"',
        ),
        ('[raceway]\ntype = "EMT"\ntrade_size = "2"\n', "", "raceway", "add [raceway]"),
        (
            '[raceway]\ntype = "EMT"\ntrade_size = "2"',
            '[raceway]\nbender = "other"',
            "line 2, raceway.bender",
            'needs "type"',
        ),
        ('"EMT"', '"HDPE"\nbender = "other"', "line 3, raceway.bender", "its own table"),
    ],
)
def test_fault_of_raceway_or_conductor_is_placed(old, new, place, words):
    assert old in FEEDER_JOB
    message = fault(FEEDER_JOB.replace(old, new, 1))
    assert f"rink.toml, {place}" in message
    assert words in message


@pytest.mark.parametrize("name", ["[[conductor]]", "[[cables]]"])
def test_table_under_a_wrong_name_is_told_before_the_table_that_is_missing(name):
    found = faults(FEEDER_JOB.replace("[[conductors]]", name))
    assert "line 4, " in found[0] and 'did you mean "conductors"?' in found[0]
    assert "no conductors to pull" in found[-1]


def test_all_faults_are_said_at_once_in_order_of_line():
    found = faults(
        'titel = "x"\n'
        + FEEDER_JOB.replace('"EMT"', '"EMTX"').replace("count = 3", "count = 0")
        + 'temper = "soft"\n[pull]\nfriction = 3\n[[fittings]]\nname = "A"\nat = 3\n'
    )
    assert [line.split(":")[0] for line in found] == [
        "rink.toml, line 1, titel",
        "rink.toml, line 3, raceway.type",
        "rink.toml, line 6, conductors[1].count",
        "rink.toml, line 10, conductors[1].temper",
        "rink.toml, line 12, pull.friction",
        "rink.toml, line 15, fittings[1].at",
    ]


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('unit_system = "us"', 'did you mean "units"?'),
        ('unit_system = ["us"]', 'did you mean "units"?'),
        ('conduits = "EMT 2"', 'did you mean "raceway"?'),
        ('condutors = "3 x 4/0"', 'did you mean "conductors"?'),
        ('tray = "A"', 'the keys here are "title"'),
    ],
)
def test_unknown_key_above_the_tables_may_be_meant_for_a_key_there(line, words):
    assert words in fault(f"{line}\n{FEEDER_JOB}")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("360.", 'write "360. deg"'),
        (".5", 'write ".5 deg"'),
        ("3/4", 'write "3/4 deg"'),
        ("1 1/2", 'write "1 1/2 deg"'),
        ("0270", 'write "0270 deg"'),
        ("2.7e2", 'write 2.7e2 without quotes, or "2.7e2 deg"'),
        ("270.5", 'write 270.5 without quotes, or "270.5 deg"'),
    ],
)
def test_degrees_are_advised_without_quotes_only_where_that_can_be_read(text, words):
    line = f'degrees_between_pull_points = "{text}"'
    assert fault(with_lines("[limits]", line)).endswith(words)
    if "without quotes" in words:
        parse_job(with_lines("[limits]", line.replace('"', "")))


def test_fault_of_the_second_entry_names_the_second_entry():
    second = '[[conductors]]\nsize = "4/0"\ninsulation = "THHX"\nmetal = "copper"\n'
    found = faults(FEEDER_JOB.replace("count = 3", "count = 0") + second)
    assert found[1].startswith("rink.toml, line 11, conductors[2].insulation")


def test_no_conductors_says_what_to_add():
    message = fault('[raceway]\ntype = "EMT"\ntrade_size = "2"\n')
    assert "[[conductors]]" in message and "--conductor" in message


def test_one_conductor_needs_no_raceway():
    job = parse_job("[[conductors]]" + FEEDER_JOB.split("[[conductors]]")[1].replace("3", "1"))
    assert job.raceway is None and job.bender is None


def test_existing_conductor_needs_a_raceway_to_lie_in():
    one = "[[conductors]]" + FEEDER_JOB.split("[[conductors]]")[1].replace("3", "1")
    message = fault(one + one.replace("[[conductors]]", "[[existing_conductors]]"))
    assert "2 conductors lie in it together" in message


# ------------------------------------------------------------------------------------ findings


def test_friction_not_given_is_a_caution():
    finding = next(f for f in parse_job(FEEDER_JOB).findings if f.code == "friction-assumed")
    assert finding.severity is Severity.CAUTION
    assert "0.20 / 0.35 / 0.50" in finding.message


def test_one_friction_number_is_a_note():
    job = parse_job(with_lines("[pull]", "friction = 0.3"))
    assert job.pull.friction == Friction(0.3, 0.3, 0.3)
    finding = next(f for f in job.findings if f.code == "friction-single")
    assert finding.severity is Severity.NOTE


def test_band_gives_no_friction_finding():
    text = with_lines("[pull]", "friction = { low = 0.2, expected = 0.3, high = 0.5 }")
    assert not {code for code in codes(text) if code.startswith("friction")}


def test_rule_set_read_in_one_text_is_a_caution():
    assert "table-unconfirmed" in codes(with_lines("[limits]", 'rules = "telecom"'))
    assert "table-unconfirmed" not in codes(FEEDER_JOB)


def test_what_a_rule_set_says_besides_is_a_note():
    job = parse_job(with_lines("[limits]", 'rules = "state-highway"'))
    finding = next(f for f in job.findings if f.code == "rules-note")
    assert "bends at terminations count too" in finding.message


# ------------------------------------------------------------------------- files and TOML text


def test_job_file_is_read_by_its_name(tmp_path):
    path = tmp_path / "rink.toml"
    path.write_bytes(b"\xef\xbb\xbf" + FEEDER_JOB.replace("\n", "\r\n").encode())
    assert read_job(path).source == "rink.toml"


def test_missing_file_is_one_clear_message(tmp_path):
    with pytest.raises(JobError, match=r"none\.toml: the job file cannot be read: No such file"):
        read_job(tmp_path / "none.toml")


def test_folder_is_no_job_file(tmp_path):
    with pytest.raises(JobError, match="cannot be read"):
        read_job(tmp_path)


def test_other_encoding_is_refused_with_its_line(tmp_path):
    path = tmp_path / "rink.toml"
    path.write_bytes(b'title = "a"\n# caf\xe9\n')
    with pytest.raises(JobError, match=r"rink\.toml, line 2: not UTF-8 text"):
        read_job(path)


def test_empty_file_says_what_to_add(tmp_path):
    path = tmp_path / "rink.toml"
    path.write_text("")
    with pytest.raises(JobError, match="no conductors to pull"):
        read_job(path)


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("[pull\nfriction = 0.3", 1, "not valid TOML"),
        ("[raceway]\nbend_radius = 9 in\n", 2, "stands in quotes"),
        ("[raceway]\nbend_radius = 9-1/2 in\n", 2, "stands in quotes"),
        ("a = 1\na = 2\n", 2, "not valid TOML"),
        ("a = 0.3\na = 0.4\n", 2, "the key stands twice: a = 0.4; keep one of the two"),
        ("[pull]\na = 1\n[pull]\n", 3, "[pull] stands twice: [pull]; keep one of the two"),
        ("[a.b]\n[c]\n[a.b]\n", 3, "[a.b] stands twice"),
        ('title = "x', 1, "not valid TOML"),
        ("a = 1\n\nb = \n", 3, "not valid TOML"),
    ],
)
def test_toml_fault_is_placed_by_line(text, line, words):
    message = fault(text)
    assert message.startswith(f"rink.toml, line {line}: not valid TOML")
    assert words in message


@pytest.mark.parametrize(
    ("written", "advice"),
    [
        ("friction = .35", "a digit before its point, such as 0.35"),
        ("friction = { low = .2, expected = 0.3, high = 0.4 }", "a digit before its point"),
        ("friction = 0,35", "a decimal point, such as 0.35"),
        ("feed_tension = 50 lbf", "stands in quotes"),
        ('feed_tension = 9-1/2"', "stands in quotes"),
    ],
)
def test_number_that_is_not_toml_gets_the_advice_that_mends_it(written, advice) -> None:
    assert advice in fault(f"[pull]\n{written}\n")


def test_deep_nesting_is_refused_without_a_crash():
    assert "not valid TOML" in fault("a = " + "[" * 5000 + "]" * 5000)


def test_date_is_no_length():
    assert "got 1979-05-27" in fault(with_lines("[drawing]", "snap = 1979-05-27"))
