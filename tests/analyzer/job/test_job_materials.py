"""Raceway and conductors of a job: from the catalog, stated, or both."""

from __future__ import annotations

from math import pi

import pytest

from analyzer.catalog.conductors import find_conductor
from analyzer.catalog.raceways import find_raceway
from analyzer.errors import JobError
from analyzer.findings import Severity
from analyzer.job import parse_job
from analyzer.units import inches, lbf, lbf_per_ft

RACEWAY = '[raceway]\ntype = "PVC 40"\ntrade_size = "2"\n'
COPPER = {"size": "4/0", "insulation": "THHN", "metal": "copper"}
ALUMINUM = {"size": "4/0", "insulation": "XHHW-2", "metal": "aluminum", "stranding": "compact"}
CABLE = {"diameter": "0.61 in", "weight": "0.32 lbf/ft"}


def table(header="conductors", count=3, **keys):
    rows = [f'{key} = "{value}"' for key, value in keys.items()]
    return "\n".join([f"[[{header}]]", f"count = {count}", *rows, ""])


def job_of(*tables, top="", raceway=RACEWAY):
    return parse_job(raceway + "".join(tables) + top)


def conductor_of(**keys):
    return job_of(table(**keys)).conductors[0].conductor


def found(job, code):
    return [finding for finding in job.findings if finding.code == code]


def test_raceway_is_the_row_of_the_catalog():
    job = job_of(table(**COPPER))
    assert job.raceway == find_raceway("PVC-40", "2")


@pytest.mark.parametrize(
    ("written", "size"),
    [("1.5", "1-1/2"), ("0.5", "1/2"), ("2", "2"), ('"1 1/2"', "1-1/2"), ("2.0", "2")],
)
def test_trade_size_is_text_or_number(written, size):
    raceway = f'[raceway]\ntype = "EMT"\ntrade_size = {written}\n'
    job = job_of(table(**COPPER), raceway=raceway)
    assert job.raceway is not None and job.raceway.trade_size == size


def test_bender_default_follows_the_type():
    flexible = job_of(table(**COPPER), raceway='[raceway]\ntype = "FMC"\ntrade_size = "3"\n')
    assert flexible.bender == "other"


def test_conductor_is_the_row_of_the_catalog():
    assert conductor_of(**COPPER) == find_conductor("4/0", "THHN", "copper")


def test_stated_diameter_gives_its_own_area():
    conductor = conductor_of(**COPPER, diameter="0.7 in")
    assert conductor.diameter_m == pytest.approx(inches(0.7), rel=1e-15)
    assert conductor.area_in2 == pytest.approx(pi / 4 * 0.49, rel=1e-12)
    assert conductor.weight_n_per_m == find_conductor("4/0", "THHN", "copper").weight_n_per_m


def test_stated_weight_carries_no_allowance():
    computed = conductor_of(size="500", insulation="XHHW", metal="copper")
    assert (computed.weight_from, computed.weight_allowance) == ("computed", 1.06)
    stated = conductor_of(size="500", insulation="XHHW", metal="copper", weight="1.7 lbf/ft")
    assert (stated.weight_from, stated.weight_allowance) == ("stated", 1.0)
    assert stated.pulling_weight_n_per_m == pytest.approx(lbf_per_ft(1.7), rel=1e-15)


def test_computed_weight_is_a_caution_that_says_the_allowance():
    job = job_of(table(size="500", insulation="XHHW", metal="copper"))
    (finding,) = found(job, "weight-computed")
    assert finding.severity is Severity.CAUTION
    assert "raised by 6 % for every force" in finding.message
    assert "up to 5.6 % low" in finding.message
    assert finding.where == "conductors[1]"


@pytest.mark.parametrize(
    ("wire", "unsure"),
    [
        ({"insulation": "THW"}, "the insulation density of THW"),
        ({"insulation": "RHH"}, "the insulation density of RHH"),
        (
            {"insulation": "THW", "stranding": "compact"},
            "the stranding factor of compact and the insulation density of THW",
        ),
    ],
)
def test_computed_weight_names_what_no_data_sheet_bears_out(wire, unsure):
    (finding,) = found(job_of(table(size="4/0", metal="copper", **wire)), "weight-computed")
    assert f"{unsure} by common practice: no data sheet was there to compare" in finding.message
    assert "raised by 6 %" in finding.message
    assert "5.6 %" not in finding.message


def test_published_or_stated_weight_gives_no_caution():
    assert not found(job_of(table(**COPPER)), "weight-computed")
    stated = job_of(table(size="500", insulation="XHHW", metal="copper", weight="1.7 lbf/ft"))
    assert not found(stated, "weight-computed")


def test_existing_conductors_are_not_pulled_so_their_weight_is_no_caution():
    existing = table("existing_conductors", size="500", insulation="XHHW", metal="copper")
    assert not found(job_of(table(**COPPER), existing), "weight-computed")


def test_stated_conductor_holds_what_was_stated():
    keys = {**CABLE, "name": "control cable", "max_tension": "190 lbf"}
    conductor = conductor_of(count=1, **keys, insulation_class="600 V control")
    assert conductor.name == "control cable"
    assert conductor.area_in2 == pytest.approx(pi / 4 * 0.61**2, rel=1e-12)
    assert conductor.weight_n_per_m == pytest.approx(lbf_per_ft(0.32), rel=1e-15)
    assert conductor.max_tension_n == pytest.approx(lbf(190), rel=1e-15)
    assert (conductor.weight_from, conductor.source) == ("stated", "job")
    assert conductor.metal_area_cmil is None


def test_unnamed_conductor_is_named_by_its_place():
    job = job_of(table(**CABLE), table(**CABLE), table("existing_conductors", **CABLE))
    assert [line.conductor.name for line in job.conductors] == ["conductor 1", "conductor 2"]
    assert job.existing[0].conductor.name == "existing conductor 1"


def test_size_and_metal_of_a_stated_conductor_give_its_metal_area():
    conductor = conductor_of(**CABLE, size="4/0 AWG", metal="aluminum", temper="1/2 hard")
    assert (conductor.size, conductor.metal, conductor.temper) == ("4/0", "aluminum", "1/2 hard")
    # NEC Chapter 9 Table 8: 4/0 AWG has 211,600 circular mils
    assert conductor.metal_area_cmil == 211_600


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({"diameter": "0.61 in"}, 'needs "weight" too'),
        ({"weight": "1 lbf/ft"}, 'needs "diameter" too'),
        ({"name": "cable"}, "or a stated diameter and weight"),
        ({"size": "4/0"}, '"insulation" and "metal"'),
        ({"size": "4/0", "diameter": "0.6 in"}, '"insulation" and "metal"'),
        ({"insulation": "THHN", "metal": "copper"}, '"size"'),
        ({**CABLE, "size": "4/0"}, 'needs "metal" beside it'),
        ({**CABLE, "size": "5/0", "metal": "copper"}, "the nearest is"),
        ({**CABLE, "temper": "soft"}, 'metal = "aluminum" only'),
        ({**CABLE, "metal": "copper", "temper": "soft"}, 'metal = "aluminum" only'),
        ({**CABLE, "stranding": "compact"}, '"size" and "insulation" and "metal"'),
    ],
)
def test_incomplete_conductor_says_what_is_missing(keys, words):
    with pytest.raises(JobError) as caught:
        conductor_of(**keys)
    assert words in str(caught.value)


def test_aluminum_without_temper_is_a_caution_where_the_limit_needs_it():
    (finding,) = found(job_of(table(**ALUMINUM)), "temper-assumed")
    assert finding.severity is Severity.CAUTION and "AA-8000" in finding.message
    assert not found(job_of(table(**ALUMINUM, temper="AA-8000")), "temper-assumed")
    assert not found(job_of(table(**ALUMINUM, max_tension="900 lbf")), "temper-assumed")
    assert not found(job_of(table(**COPPER)), "temper-assumed")


def test_stated_aluminum_without_temper_is_left_open():
    job = job_of(table(**CABLE, size="4/0", metal="aluminum"))
    assert not found(job, "temper-assumed")
    assert job.conductors[0].conductor.temper is None


def test_stranding_the_catalog_had_to_choose_is_a_caution():
    job = job_of(table(size="4/0", insulation="XHHW-2", metal="aluminum"))
    (finding,) = found(job, "conductor-assumed")
    assert finding.severity is Severity.CAUTION and "stranding" in finding.message
    assert not found(job_of(table(**ALUMINUM)), "conductor-assumed")


def test_row_that_is_not_confirmed_is_a_caution():
    assert not find_raceway("ENT-2020", "2").confirmed
    raceway = '[raceway]\ntype = "ENT-2020"\ntrade_size = "2"\n'
    (finding,) = found(job_of(table(**COPPER), raceway=raceway), "table-unconfirmed")
    assert finding.severity is Severity.CAUTION
    assert finding.where == "raceway"


def test_inch_figure_that_was_not_seen_is_a_note():
    job = job_of(table(**ALUMINUM))
    assert not job.conductors[0].conductor.inch_seen
    (finding,) = found(job, "inch-value-not-seen")
    assert finding.severity is Severity.NOTE


# --------------------------------------------------------------------------- sidewall pressure
# Values: cable maker's paper "Maximum Sidewall Pressure", January 2011, and the older general
# rule of 300 lbf/ft as printed by two guides (catalog table pull_limits).


@pytest.mark.parametrize(
    ("name", "limit"),
    [
        ("300 V", 500),
        ("600 V control", 500),
        ("600 V power", 1000),
        ("5-35 kV shielded", 1000),
        ("interlocked armor", 300),
        ("corrugated armor", 500),
    ],
)
def test_sidewall_limit_by_insulation_class(name, limit):
    job = job_of(table(**COPPER, insulation_class=name))
    assert job.limits.sidewall_pressure_n_per_m == pytest.approx(lbf_per_ft(limit), rel=1e-15)
    assert job.limits.sidewall_from == "insulation class"
    assert not found(job, "sidewall-assumed")


def test_smallest_class_among_the_conductors_limits():
    job = job_of(
        table(**COPPER, insulation_class="600 V power"),
        table(**CABLE, insulation_class="300 V"),
    )
    assert job.limits.sidewall_pressure_n_per_m == pytest.approx(lbf_per_ft(500), rel=1e-15)


def test_one_conductor_without_class_leaves_the_general_rule():
    job = job_of(table(**COPPER, insulation_class="600 V power"), table(**CABLE))
    assert job.limits.sidewall_pressure_n_per_m == pytest.approx(lbf_per_ft(300), rel=1e-15)
    assert job.limits.sidewall_from == "assumed"
    (finding,) = found(job, "sidewall-assumed")
    assert finding.severity is Severity.CAUTION


def test_stated_sidewall_limit_overrides_the_class():
    job = job_of(
        table(**COPPER, insulation_class="interlocked armor"),
        top='[limits]\nsidewall_pressure = "800 lbf/ft"\n',
    )
    assert job.limits.sidewall_pressure_n_per_m == pytest.approx(lbf_per_ft(800), rel=1e-15)
    assert job.limits.sidewall_from == "job"
    assert not found(job, "sidewall-assumed")


def test_count_left_out_is_one_and_said() -> None:
    job = parse_job(RACEWAY + table(**CABLE).replace("count = 3\n", ""))
    (line,) = job.conductors
    assert (line.count, line.count_stated) == (1, False)
    (note,) = [finding for finding in job.findings if finding.code == "count-assumed"]
    assert "one is taken" in note.message


@pytest.mark.parametrize(
    ("stated", "words"),
    [
        ({"diameter": "0.2 in"}, "diameter 0.2 in"),
        ({"weight": "0.01 lbf/ft"}, "weight 0.01 lbf/ft"),
        ({"diameter": "0.61 in", "weight": "0.70 lbf/ft"}, ""),
    ],
)
def test_conductor_thinner_or_lighter_than_its_metal_is_a_caution(stated, words) -> None:
    """NEC Chapter 9 Table 8: 4/0 AWG is 211,600 circular mils, so 0.46 in were it solid."""
    cautions = found(job_of(table(**COPPER, **stated)), "conductor-implausible")
    assert len(cautions) == bool(words)
    assert all(words in finding.message for finding in cautions)


@pytest.mark.parametrize(
    ("weight", "words"),
    [
        ("4.2 lb/1000 ft", "0.0028 g/cm3, lighter than any cable"),
        ("4.2 lb/ft", ""),
        ("6250 kg/m", "2,797 g/cm3, heavier than any cable"),
    ],
)
def test_weight_that_no_cable_of_its_diameter_has_is_a_caution(weight, words) -> None:
    """By hand: 4.2 lb on 12 x pi/4 x 2.1^2 in3 a foot are 0.101 lb/in3, 2.80 g/cm3."""
    cable = table(count=1, name="cable", diameter="2.1 in", weight=weight)
    cautions = found(job_of(cable), "conductor-implausible")
    assert len(cautions) == bool(words)
    assert all(words in finding.message for finding in cautions)


@pytest.mark.parametrize("metal", ["copper", "aluminum"])
def test_no_conductor_of_the_catalog_is_lighter_than_its_metal(metal) -> None:
    for size in ("12", "4", "2", "4/0", "500"):
        keys = {"size": size, "insulation": "XHHW-2", "metal": metal}
        assert not found(job_of(table(count=1, **keys)), "conductor-implausible")
