"""Conductors are found by the names people write; what is not stated is said.

Values: NEC Chapter 9 Tables 5, 5A and 8, and data sheets, as in the catalog's own tables.
"""

from __future__ import annotations

from dataclasses import replace
from math import pi

import pytest

from analyzer.catalog.conductor_sizes import (
    conductor_sizes,
    metal_area_cmil,
    parse_conductor_size,
    size_rank,
)
from analyzer.catalog.conductors import find_conductor, insulation_types
from analyzer.errors import CatalogError
from analyzer.units import inches, to_inches, to_lbf_per_ft


@pytest.mark.parametrize(
    ("written", "size"),
    [
        ("4/0", "4/0"),
        ("0000", "4/0"),
        ("4/0 AWG", "4/0"),
        ("0", "1/0"),
        ("00", "2/0"),
        ("#12", "12"),
        ("12 AWG", "12"),
        ("No. 12", "12"),
        ("12", "12"),
        (12, "12"),
        ("250", "250"),
        (250, "250"),
        ("250 kcmil", "250"),
        ("250 MCM", "250"),
        ("250kcmil", "250"),
        ("AWG 6", "6"),
        ("1", "1"),
    ],
)
def test_size_is_read_in_every_spelling(written: str | int, size: str) -> None:
    assert parse_conductor_size(written) == size


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ("255", "nearest is 250 kcmil"),
        ("5", "nearest is (4|6) AWG"),
        ("5/0", "nearest is 4/0 AWG"),
        ("7/0", "nearest is 4/0 AWG"),
        ("45 AWG", "nearest is 18 AWG"),
        ("13 kcmil", "nearest is 250 kcmil"),
        ("7-0", "'7-0' in the tables. There are"),
        ("4/O", "nearest is 4/0 AWG"),
        (r"4\0", "nearest is 4/0 AWG"),
        ("OO", "nearest is 2/0 AWG"),
        ("250k", "nearest is 250 kcmil"),
        ("350kcmill", "nearest is 350 kcmil"),
        ("4.0", "'4.0' in the tables. There are"),
        ("12/3", "'12/3' in the tables. There are"),
        ("12 kcmil", "write 12 AWG if you mean it"),
        ("250 AWG", "write 250 kcmil if you mean it"),
        ("", "no conductor size ''"),
        ("-4", "no conductor size '-4'"),
    ],
)
def test_unknown_size_is_refused_with_the_nearest(written: str, message: str) -> None:
    with pytest.raises(CatalogError, match=message):
        parse_conductor_size(written)


@pytest.mark.parametrize(
    ("written", "insulation", "diameter_in"),
    [
        ("THHN", "THHN", 0.642),
        ("thwn-2", "THWN-2", 0.642),
        ("THHN/THWN-2", "THHN/THWN-2", 0.642),
        ("xhhw2", "XHHW-2", 0.638),
        ("THW", "THW", 0.688),
        ("RHH", "RHH", 0.778),
        ("RHH*", "RHH*", 0.688),
        ("rhw-2*", "RHW-2*", 0.688),
        ("Type THHN", "THHN", 0.642),
    ],
)
def test_insulation_is_found_in_every_spelling(
    written: str, insulation: str, diameter_in: float
) -> None:
    """Diameters of 4/0 AWG, NEC Chapter 9 Table 5."""
    conductor = find_conductor("4/0", written, "copper")
    assert conductor.insulation == insulation
    assert to_inches(conductor.diameter_m) == pytest.approx(diameter_in, rel=1e-12)
    assert conductor.metal_area_cmil == 211600.0


@pytest.mark.parametrize("insulation", insulation_types())
@pytest.mark.parametrize("metal", ["copper", "aluminum"])
def test_what_was_found_finds_itself_again(insulation: str, metal: str) -> None:
    conductor = find_conductor("2", insulation, metal)
    assert conductor.size is not None and conductor.insulation is not None
    again = find_conductor(conductor.size, conductor.insulation, metal, None, conductor.stranding)
    assert again.diameter_m == conductor.diameter_m
    assert again.weight_n_per_m == conductor.weight_n_per_m


@pytest.mark.parametrize("metal", ["aluminum", "aluminium", "AL", "Aluminum"])
def test_metal_is_found_in_every_spelling(metal: str) -> None:
    assert find_conductor("4/0", "XHHW-2", metal).metal == "aluminum"


def test_aluminum_without_stranding_is_compact_and_says_so() -> None:
    """Table 5A, 4/0 AWG XHHW: 0.590 in, 0.2734 in²; Table 5 stranded: 0.638 in."""
    conductor = find_conductor("4/0", "XHHW-2", "aluminum")
    assert conductor.stranding == "compact"
    assert to_inches(conductor.diameter_m) == pytest.approx(0.590, rel=1e-12)
    assert conductor.area_in2 == 0.2734
    assert "compact taken" in conductor.assumptions[0]
    assert "taken as compact" in conductor.source
    assert not conductor.inch_seen


def test_stated_stranding_leaves_no_assumption() -> None:
    conductor = find_conductor("4/0", "XHHW-2", "aluminum", stranding="stranded")
    assert to_inches(conductor.diameter_m) == pytest.approx(0.638, rel=1e-12)
    assert conductor.assumptions == ()
    assert find_conductor("4/0", "THHN", "copper").assumptions == ()


def test_published_weight_is_marked_published() -> None:
    """Data sheet: 4/0 AWG THHN copper 716 lb/1000 ft."""
    conductor = find_conductor("4/0", "THHN", "copper")
    assert conductor.weight_from == "published"
    assert to_lbf_per_ft(conductor.pulling_weight_n_per_m) == pytest.approx(0.716, rel=1e-12)


def test_computed_weight_is_marked_and_raised_for_every_force() -> None:
    conductor = find_conductor("500", "THHN", "copper")
    assert conductor.weight_from == "computed"
    assert conductor.pulling_weight_n_per_m == pytest.approx(1.06 * conductor.weight_n_per_m)


def test_computed_weight_by_hand() -> None:
    """500 kcmil THHN copper: metal 500 kcmil x 8.89 x 1.02, insulation 0.949 to 0.813 in x 1.35."""
    metal = pi / 4 * inches(1e-3) ** 2 * 500e3 * 8890 * 1.02
    insulation = pi / 4 * (inches(0.949) ** 2 - inches(0.813) ** 2) * 1350
    conductor = find_conductor("500", "THHN", "copper")
    assert conductor.weight_n_per_m == pytest.approx((metal + insulation) * 9.80665, rel=1e-12)


def test_solid_conductor_weighs_less_metal_than_stranded() -> None:
    solid = find_conductor("12", "THHN", "copper", stranding="solid")
    assert solid.name == "12 AWG THHN solid copper"
    assert solid.weight_from == "computed"
    with pytest.raises(CatalogError, match="no solid 4/0 AWG"):
        find_conductor("4/0", "THHN", "copper", stranding="solid")


def test_weight_of_compact_aluminum_without_a_sheet_follows_from_metal_and_insulation() -> None:
    """4/0 AWG THHN: 211,600 cmil are 107.22 mm² of 2.70 g/cm³, 2 % more for the lay: 0.2953 kg/m.

    Table 5A, 0.475 in bare and 0.595 in over insulation: 65.06 mm² of 1.35 g/cm³: 0.0878 kg/m.
    """
    conductor = find_conductor("4/0", "THHN", "aluminum")
    assert (conductor.stranding, conductor.weight_from) == ("compact", "computed")
    kg_per_m = conductor.weight_n_per_m / 9.80665
    assert kg_per_m == pytest.approx(0.2953 + 0.0878, abs=2e-4)
    assert conductor.weight_allowance == 1.06


def test_use_2_takes_the_sheet_when_compact_and_the_covered_rows_otherwise() -> None:
    """Sheet of compact aluminum USE-2, 4/0 AWG: 0.638 in, 269 lb/1000 ft."""
    compact = find_conductor("4/0", "USE-2", "aluminum")
    assert to_inches(compact.diameter_m) == pytest.approx(0.638, rel=1e-12)
    assert to_lbf_per_ft(compact.weight_n_per_m) == pytest.approx(0.269, rel=1e-12)
    assert not compact.confirmed
    assert "one maker's sheet" in compact.doubt
    stranded = find_conductor("4/0", "USE-2", "copper")
    assert stranded.diameter_m == find_conductor("4/0", "RHH", "copper").diameter_m
    assert "write RHH* for one without" in stranded.assumptions[0]


def test_compact_row_that_does_not_exist_is_refused() -> None:
    with pytest.raises(CatalogError, match="no compact 250 kcmil RHH aluminum"):
        find_conductor("250", "RHH", "aluminum", stranding="compact")
    with pytest.raises(CatalogError, match="no compact 2 AWG RHH copper"):
        find_conductor("2", "USE-2", "copper", stranding="compact")


def test_unconfirmed_weight_carries_its_mark() -> None:
    conductor = find_conductor("14", "XHHW-2", "copper")
    assert not conductor.confirmed
    assert "not confirmed" in conductor.doubt
    assert find_conductor("2", "XHHW-2", "aluminum").confirmed


def test_bare_conductor_has_the_size_of_table_8() -> None:
    """Table 8, 6 AWG stranded: 0.184 in, 17.09 mm²."""
    bare = find_conductor("6", "bare", "copper")
    assert to_inches(bare.diameter_m) == pytest.approx(0.184, rel=1e-12)
    assert bare.area_in2 == pytest.approx(17.09 / 645.16, rel=1e-12)


def test_metal_area_by_size() -> None:
    """Table 8; 26,240 cmil for 6 AWG, the size of the published tension limits."""
    assert metal_area_cmil("6 AWG") == 26240.0
    assert metal_area_cmil("350 kcmil") == 350000.0


def test_named_conductor_keeps_size_insulation_and_metal_beside_its_name() -> None:
    found = find_conductor("2/0", "THHN", "aluminum")
    assert found.full_name == found.name == "2/0 AWG THHN compact aluminum"
    ground = replace(found, name="ground")
    assert ground.full_name == "ground (2/0 AWG THHN compact aluminum)"
    assert replace(ground, insulation=None, stranding=None).full_name == "ground (2/0 AWG aluminum)"
    assert replace(ground, size=None).full_name == "ground"
    assert replace(found, name=f"{found.name}, phase A").full_name == f"{found.name}, phase A"


def test_sizes_rank_in_order() -> None:
    ranks = [size_rank(size) for size in conductor_sizes()]
    assert ranks == sorted(set(ranks))
    assert size_rank("4/0") > size_rank("1") > size_rank("12")
    with pytest.raises(CatalogError, match="no conductor size"):
        size_rank("13")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("4/0", "THHNN", "copper"), "nearest is THHN"),
        (("4/0", "TNHH", "copper"), "nearest is THHN"),
        (("4/0", "XHHW-3", "copper"), "XHHW-3' in the tables. There are"),
        (("4/0", "THHN-2", "copper"), "nearest is THHN\\."),
        (("4/0", "TWH", "copper"), "nearest is THW\\."),
        (("4/0", "THHN/XHHW", "copper"), "different size"),
        (("4/0", "THHN", "coper"), "nearest is copper"),
        (("4/0", "THHN", "aluminum", "AA8001"), "'AA8001'. There are"),
        (("4/0", "THHN", "copper", "hard"), "leave out temper"),
        (("4/0", "THHN", "copper", None, "compacted"), "nearest is compact"),
        (("18", "THHN", "copper"), "holds 14 to 1000 kcmil"),
        (("2000", "THHN", "copper"), "holds 14 to 1000 kcmil"),
    ],
)
def test_unknown_name_is_refused_with_the_nearest(arguments: tuple[str, ...], message: str) -> None:
    with pytest.raises(CatalogError, match=message):
        find_conductor(*arguments)
