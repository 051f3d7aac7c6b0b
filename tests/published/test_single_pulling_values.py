"""Single printed values about pulling, one source each (all named in examples.json):

ADS Mexicana, engineering note on friction in PE conduit, March 2009; Superior Essex, *Technical
Guideline* TG10 Rev. 3, 2014; General Cable, *Maximum Sidewall Pressure*, January 2011; a cable
maker's catalog (7.16 kgf/mm²). The jam ratios come from trade discussions: arithmetic only.
"""

from __future__ import annotations

from math import pi, radians

import pytest
from published_routes import DATA, scalar_examples
from pull_jobs import stated_conductor

from analyzer.geometry.segments import Arc
from analyzer.pulling.closed_forms import straight_tension_n, tension_at_sidewall_limit_n
from analyzer.pulling.groups import BENT_DIAMETER
from analyzer.pulling.limits import conductor_limit_n
from analyzer.pulling.sidewall import SidewallRule, sidewall_pressure_n_per_m
from analyzer.units import inches, lbf, parse_force, to_lbf


def test_level_straight_in_pe_conduit() -> None:
    total, per_meter = scalar_examples("HDPE-straight", "HDPE-per-metre")
    inputs = total["inputs"]
    tension = straight_tension_n(0.0, inputs["m"], inputs["L"], 0.0, inputs["mu"])
    assert tension == pytest.approx(total["printed"], abs=0.5)
    per = straight_tension_n(0.0, inputs["m"], 1.0, 0.0, inputs["mu"])
    assert per == pytest.approx(per_meter["printed"], abs=0.05)


def test_telephone_cable_of_1200_pairs() -> None:
    (example,) = scalar_examples("TANK-22AWG-1200pr")
    inputs = example["inputs"]
    wire = stated_conductor(metal="copper", metal_area_cmil=float(inputs["A"]), max_tension_n=None)
    single = conductor_limit_n(wire)
    assert single is not None
    # one cable: its wires share without a cut
    assert to_lbf(single) * inputs["N"] == pytest.approx(example["printed"], abs=0.5)


def test_tension_allowed_by_sidewall_pressure() -> None:
    (example,) = scalar_examples("GC-swp-example")
    inputs = example["inputs"]
    tension = tension_at_sidewall_limit_n(inputs["p"], inputs["R"])
    assert tension == pytest.approx(example["printed"], abs=0.5)
    plain = SidewallRule("single: T/R", 1.0)
    assert sidewall_pressure_n_per_m(tension, inputs["R"], plain) == inputs["p"]


def test_copper_stress_in_kilograms_force() -> None:
    (example,) = scalar_examples("unit-7.16")
    stress = lbf(0.008) / (pi / 4.0 * (inches(0.001) * 1000.0) ** 2) / parse_force("1 kgf")
    assert stress == pytest.approx(example["printed"], abs=0.005)


def test_raised_jam_ratio_of_three_750_kcmil() -> None:
    (example,) = scalar_examples("jam-3x750")
    inputs = example["inputs"]
    assert BENT_DIAMETER * inputs["D"] / inputs["d"] == pytest.approx(example["printed"], abs=0.005)


def test_lead_sheath_stress_in_metric() -> None:
    """1500 lbf/in² printed as 10.342 N/mm² in TES-P-104.05 par. 4.2.2a."""
    (example,) = scalar_examples("unit-lead")
    stress = lbf(1500.0) / (inches(1.0) * 1000.0) ** 2
    assert stress == pytest.approx(example["printed"], abs=0.0005)


def test_lengths_of_the_field_pull_close_on_the_printed_total() -> None:
    """Two straights and a 45° bend of R 100 ft make the 1649 ft printed, to half a foot."""
    (pull,) = DATA["field_pulls_inputs_only"]
    first, bend, last = pull["segments"]
    arc = Arc(
        (0.0, 0.0, 0.0),
        (0.0, bend["radius"], 0.0),
        (0.0, 0.0, 1.0),
        radians(bend["angle_deg"]),
    )
    total = first["length"] + arc.length_m + last["length"]
    assert total == pytest.approx(pull["cable"]["total_length_ft"], abs=0.5)
