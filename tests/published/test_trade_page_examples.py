"""Single values of trade pages that the other files leave: what they say of our rules.

J. DeDad, "Simple calculations for cable pulling", *EC&M*, November 2001 (opening); UFC 3-535-01,
2005, Table 12-4, the rows of No. 8; a forum's jam ratio of four; a lubricant maker's case note,
of which only route and weight could be read; a lead-sheath factor of a maker's sheet, checked as a
unit only, since no lead-sheathed cable is in the catalog; a jam ratio of mixed sizes that its page
cuts off instead of rounding.
"""

from __future__ import annotations

from math import pi, radians

import pytest
from published_routes import DATA, scalar_examples
from pull_jobs import job_with, stated_conductor
from pull_routes import route

from analyzer.catalog.raceways import find_raceway
from analyzer.job import parse_job
from analyzer.pulling.groups import conductor_group
from analyzer.pulling.limits import tension_limits
from analyzer.units import ft, inches, to_lbf

(FIELD,) = DATA["field_pulls_inputs_only"]


def test_area_of_three_stated_cables() -> None:
    (example,) = scalar_examples("ECM-area")
    job = parse_job(
        '[raceway]\ntype = "PVC 40"\ntrade_size = "5"\n[[conductors]]\ncount = 3\n'
        'diameter = "1.6 in"\nweight = "2.2 lbf/ft"\n'
    )
    (line,) = job.conductors
    # printed with 0.785 for pi/4
    assert 3 * line.conductor.area_in2 == pytest.approx(example["printed"], abs=0.005)


def test_rows_of_number_eight_do_not_follow_the_rule_by_area() -> None:
    (example,) = scalar_examples("UFC-3x8AWG")
    conductor = stated_conductor(
        metal="copper", metal_area_cmil=float(example["inputs"]["A"]), max_tension_n=None
    )
    job = job_with([(3, conductor)], raceway=find_raceway("EMT", "2"))
    by_area = to_lbf(tension_limits(job, conductor_group(job))[0].limit)
    assert by_area == pytest.approx(396.2, abs=0.05)
    assert example["printed"] == 367
    assert abs(by_area - example["printed"]) > 20


def test_jam_ratio_of_four_conductors_is_not_computed() -> None:
    # a page averages the fourth one in (3.76); the rule is for three like conductors
    (example,) = scalar_examples("jam-avg4")
    inputs = example["inputs"]
    three = stated_conductor(diameter_m=inches(inputs["d"]))
    ground = stated_conductor(diameter_m=inches(inputs["g"]))
    group = conductor_group(
        job_with([(3, three), (1, ground)], raceway=find_raceway("PVC 40", "6"))
    )
    assert group.jam_ratio is None
    assert "three like conductors" in group.jam_reason
    alone = conductor_group(job_with([(3, three)], raceway=find_raceway("PVC 40", "6")))
    assert alone.jam_ratio is not None


def test_jam_ratio_of_mixed_sizes_is_cut_off_on_its_page_and_not_computed_here() -> None:
    # three of 1.73 in and one of 0.98 in in 6.065 in: printed 2.94, its own formula gives 2.949
    (example,) = scalar_examples("jam-3D")
    inputs = example["inputs"]
    by_formula = 3 * inputs["D"] / (3 * inputs["d1"] + inputs["d2"])
    assert example["known_bad"]
    assert round(by_formula, 2) == 2.95
    assert int(by_formula * 100) / 100 == example["printed"]
    raceway = find_raceway("RMC", "6")  # 6.093 in; the page has the pipe size of 6.065 in
    three = stated_conductor(diameter_m=inches(inputs["d1"]))
    ground = stated_conductor(diameter_m=inches(inputs["d2"]))
    group = conductor_group(job_with([(3, three), (1, ground)], raceway=raceway))
    assert group.jam_ratio is None
    assert "three like conductors" in group.jam_reason


def test_lead_sheath_factor_is_1500_psi_on_the_ring_of_the_sheath() -> None:
    # Tm = 4712 t (D - t): pi t (D - t) is the area of a ring of outer diameter D and wall t
    (example,) = scalar_examples("unit-lead-4712")
    diameter, wall = 2.0, 0.1
    ring = pi / 4 * (diameter**2 - (diameter - 2 * wall) ** 2)
    by_stress = 1500.0 * ring
    assert example["printed"] * wall * (diameter - wall) == pytest.approx(by_stress, rel=1e-4)


def test_route_of_the_case_note_closes_on_its_length() -> None:
    parts = []
    for segment in FIELD["segments"]:
        if segment["type"] == "straight":
            parts.append(ft(segment["length"]))
        else:
            parts.append((ft(segment["radius"]), radians(segment["angle_deg"]), (0, 1, 0)))
    length = route((1, 0, 0), parts).length_m
    assert length / ft(1) == pytest.approx(FIELD["cable"]["total_length_ft"], abs=0.5)
    assert length == pytest.approx(ft(1020 + 550 + 100 * pi / 4))
    assert FIELD["measured"] is None  # nothing to compare a tension with
