"""Raceways are found by the names people write, and their radii by bender.

Values: NEC Chapter 9 Tables 2 and 4 and Table 354.24, as in the catalog's own tables.
"""

from __future__ import annotations

import pytest

from analyzer.catalog.raceways import (
    find_raceway,
    raceway_types,
    trade_size_number,
    trade_sizes,
)
from analyzer.errors import CatalogError
from analyzer.units import to_inches


@pytest.mark.parametrize(
    ("written", "type"),
    [
        ("EMT", "EMT"),
        ("emt", "EMT"),
        ("rigid", "RMC"),
        ("RMC", "RMC"),
        ("GRC", "RMC"),
        ("Intermediate Metal Conduit", "IMC"),
        ("PVC 40", "PVC-40"),
        ("PVC Sch 40", "PVC-40"),
        ("pvc sch. 40", "PVC-40"),
        ("Schedule 80 PVC", "PVC-80"),
        ("HDPE", "HDPE"),
        ("LFNC-A", "LFNC-A"),
        ("lfnc b", "LFNC-B"),
        ("flex", "FMC"),
        ("liquidtight flexible metal conduit", "LFMC"),
        ("ENT", "ENT"),
        ("ENT-2020", "ENT-2020"),
    ],
)
def test_type_is_found_under_plain_names(written: str, type: str) -> None:
    size = trade_sizes(written)[-1]
    assert find_raceway(written, size).type == type


@pytest.mark.parametrize("type", raceway_types())
def test_type_written_back_finds_the_same_raceway(type: str) -> None:
    for size in trade_sizes(type):
        raceway = find_raceway(type, size)
        assert find_raceway(raceway.type, raceway.trade_size) == raceway


@pytest.mark.parametrize(
    "size", ["1-1/2", "1 1/2", "1½", 1.5, "1.5", "1-1/2 in", '1-1/2"', "1-1/2-in."]
)
def test_trade_size_is_found_in_every_spelling(size: str | float) -> None:
    assert find_raceway("EMT", size).trade_size == "1-1/2"


@pytest.mark.parametrize("type", raceway_types())
def test_trade_sizes_of_the_tables_rise_as_numbers(type: str) -> None:
    sizes = [trade_size_number(size) for size in trade_sizes(type)]
    assert sizes == sorted(set(sizes))


def test_values_are_those_of_the_table() -> None:
    """NEC Chapter 9 Table 4, EMT 2: 2.067 in, 3.356 in²; Table 2: 9.5 and 12 in."""
    raceway = find_raceway("EMT", 2)
    assert to_inches(raceway.inside_diameter_m) == pytest.approx(2.067, rel=1e-12)
    assert raceway.outside_diameter_m is not None
    assert to_inches(raceway.outside_diameter_m) == pytest.approx(2.197, rel=1e-12)
    assert raceway.area_in2 == 3.356
    radii = {bender: to_inches(radius) for bender, radius in raceway.bend_radius_m}
    assert radii == pytest.approx({"one-shot": 9.5, "other": 12.0})


@pytest.mark.parametrize(
    ("type", "bender"),
    [
        ("EMT", "one-shot"),
        ("IMC", "one-shot"),
        ("RMC", "one-shot"),
        ("PVC 40", "one-shot"),
        ("FMC", "other"),
        ("LFMC", "other"),
        ("LFNC-A", "other"),
        ("ENT", "other"),
        ("HDPE", "table 354.24"),
    ],
)
def test_default_bender_follows_the_type(type: str, bender: str) -> None:
    raceway = find_raceway(type, 1)
    assert raceway.default_bender == bender
    assert bender in dict(raceway.bend_radius_m)


def test_hdpe_has_the_dimensions_of_pvc_40_and_its_own_radius() -> None:
    """Table 354.24, trade size 2: 26 in."""
    hdpe, pvc = find_raceway("HDPE", 2), find_raceway("PVC 40", 2)
    assert hdpe.inside_diameter_m == pvc.inside_diameter_m
    assert {b: to_inches(r) for b, r in hdpe.bend_radius_m} == {"table 354.24": pytest.approx(26.0)}


def test_size_without_a_table_radius_has_none() -> None:
    assert find_raceway("HDPE", 5).bend_radius_m == ()
    assert find_raceway("FMC", "3/8").bend_radius_m == ()


def test_unconfirmed_row_carries_its_mark() -> None:
    assert find_raceway("EMT", 4).confirmed
    imc = find_raceway("IMC", 4)
    assert not imc.confirmed
    assert "disagree" in imc.doubt
    assert "not confirmed" in imc.source
    assert not find_raceway("ENT-2020", 1).confirmed


@pytest.mark.parametrize("type", ["PVC-40", "PVC-80", "HDPE"])
def test_outside_diameter_not_confirmed_carries_its_mark(type: str) -> None:
    assert not find_raceway(type, "1/2").outside_confirmed
    assert not find_raceway(type, "3-1/2").outside_confirmed
    assert find_raceway(type, "1").outside_confirmed


def test_inch_figure_not_read_carries_its_mark() -> None:
    assert find_raceway("EMT", 2).inch_seen
    assert not find_raceway("IMC", 2).inch_seen
    assert "not read on a page" in find_raceway("IMC", 2).source


@pytest.mark.parametrize(
    ("type", "size", "message"),
    [
        ("EMMT", 2, "nearest is EMT"),
        ("rigit", 2, "nearest is RMC"),
        ("RCM", 2, "nearest is RMC"),
        ("EMT2", 2, "nearest is EMT"),
        ("ENT-2019", 2, "'ENT-2019' in the catalog. There are"),
        ("PVC Sch 50", 2, "'PVC Sch 50' in the catalog. There are"),
        ("PVC Shc. 40", 2, "nearest is PVC-40"),
        ("PVC", 2, "could mean two: write PVC-40 or PVC-80"),
        ("PVC-40/HDPE", 2, "could mean two"),
        ("EMT", 6, "no EMT of trade size 6 in the tables; there are 1/2, .*, 4"),
        ("EMT", "two", "'two' is no trade size"),
        ("", 2, "no raceway type ''"),
    ],
)
def test_unknown_name_is_refused_with_the_nearest(type: str, size: str, message: str) -> None:
    with pytest.raises(CatalogError, match=message):
        find_raceway(type, size)
