"""Rule sets cite by edition; friction presets say their source; the listing shows all."""

from __future__ import annotations

import pytest

from analyzer.catalog.conductors import find_conductor
from analyzer.catalog.frictions import find_friction, friction_names
from analyzer.catalog.listing import CATALOG_PARTS, list_catalog
from analyzer.catalog.raceways import find_raceway, raceway_types
from analyzer.catalog.rules import (
    bend_number_section,
    bend_radius_section,
    find_rules,
    rule_set_names,
)
from analyzer.catalog.supports import find_support_spacing
from analyzer.catalog.tables import read_table
from analyzer.errors import CatalogError
from analyzer.units import to_ft


@pytest.mark.parametrize(
    ("rules", "type", "number", "radius"),
    [
        (
            "nec-2020",
            "EMT",
            "NEC 2020 358.26",
            "NEC 2020 358.24 (number from memory), Chapter 9 Table 2",
        ),
        ("nec-2020", "RMC", "NEC 2020 344.26", "NEC 2020 344.24, Chapter 9 Table 2"),
        ("nec-2023", "EMT", "NEC 2023 358.24(B)", "NEC 2023 358.24(A), Chapter 9 Table 2"),
        ("nec-2023", "rigid", "NEC 2023 344.24(B)", "NEC 2023 344.24(A), Chapter 9 Table 2"),
        ("nec-2023", "HDPE", "NEC 2023 353.24(B)", "NEC 2023 353.24(A), Table 354.24"),
        (
            "nec-2020",
            "LFNC-B",
            "NEC 2020 356.26",
            "NEC 2020 356.24 (number from memory), Chapter 9 Table 2",
        ),
    ],
)
def test_sections_follow_edition_and_raceway(
    rules: str, type: str, number: str, radius: str
) -> None:
    raceway = find_raceway(type, 2)
    assert bend_number_section(find_rules(rules), raceway) == number
    assert bend_radius_section(find_rules(rules), raceway) == radius


@pytest.mark.parametrize("type", raceway_types())
def test_every_raceway_has_sections_in_both_editions(type: str) -> None:
    raceway = find_raceway(type, 1 if type != "PVC-EB" else 2)
    for name in ("nec-2020", "nec-2023"):
        assert raceway.article in bend_number_section(find_rules(name), raceway)


def test_default_rules_allow_360_degrees_and_any_length() -> None:
    rules = find_rules("NEC-2023")
    assert rules.degrees_between_pull_points == 360.0
    assert rules.length_between_pull_points_m is None
    assert rules.confirmed


@pytest.mark.parametrize(
    ("name", "degrees", "feet"),
    [
        ("telecom", 180, 100),
        ("military-telecom", 180, 450),
        ("owner-100ft-180deg", 180, 100),
        ("owner-150ft-270deg", 270, 150),
        ("owner-200ft-270deg", 270, 200),
    ],
)
def test_rule_sets_hold_their_limits(name: str, degrees: float, feet: float) -> None:
    rules = find_rules(name)
    assert rules.degrees_between_pull_points == degrees
    assert rules.length_between_pull_points_m is not None
    assert to_ft(rules.length_between_pull_points_m) == pytest.approx(feet)


def test_public_body_read_once_is_not_confirmed() -> None:
    assert not find_rules("telecom").confirmed
    assert find_rules("telecom").source


def test_unknown_rule_set_is_refused_with_the_nearest() -> None:
    with pytest.raises(CatalogError, match="nearest is nec-2023"):
        find_rules("ncc-2023")
    with pytest.raises(CatalogError, match=r"no rule set 'nec-2026'\. There are nec-2023"):
        find_rules("nec-2026")


def test_friction_bands_are_ordered_and_sourced() -> None:
    for name in friction_names():
        preset = find_friction(name)
        assert 0 < preset.low <= preset.expected <= preset.high < 1
        assert len(preset.source) > 10


def test_friction_preset_by_jacket() -> None:
    """TES-P-104.05 (2007), Table 05-03: lubricated PVC jacket 0.25 to 0.35."""
    preset = find_friction("PVC lubricated")
    assert (preset.low, preset.high) == (0.25, 0.35)
    with pytest.raises(CatalogError, match="nearest is pvc-lubricated"):
        find_friction("pvc-lubed")


@pytest.mark.parametrize(
    ("size", "metal", "feet"),
    [
        ("12", "copper", 100),
        ("8", "aluminum", 100),
        ("6", "copper", 100),
        ("1/0", "aluminum", 200),
        ("2/0", "copper", 80),
        ("4/0", "aluminum", 180),
        ("250", "copper", 60),
        ("350", "aluminum", 135),
        ("500", "copper", 50),
        ("750", "copper", 40),
        ("1000", "copper", 35),
    ],
)
def test_support_spacing_by_size_and_metal(size: str, metal: str, feet: float) -> None:
    """NEC Table 300.19(A)."""
    assert to_ft(find_support_spacing(size, metal).spacing_m) == pytest.approx(feet)


def test_support_spacing_read_once_is_not_confirmed() -> None:
    assert not find_support_spacing("10", "aluminum").confirmed
    assert find_support_spacing("10", "copper").confirmed
    with pytest.raises(CatalogError, match="copper and aluminum"):
        find_support_spacing("10", "steel")


@pytest.mark.parametrize("part", CATALOG_PARTS)
def test_listing_has_a_cell_for_every_column(part: str) -> None:
    listing = list_catalog(part.upper())
    assert listing.rows and listing.sources
    assert {len(row) for row in listing.rows} == {len(listing.columns)}


def test_listing_holds_every_name_a_job_can_write() -> None:
    assert {row[0] for row in list_catalog("raceways").rows} == set(raceway_types())
    assert [row[0] for row in list_catalog("rules").rows] == list(rule_set_names())
    assert [row[0] for row in list_catalog("frictions").rows] == list(friction_names())


@pytest.mark.parametrize("part", ["rules", "frictions", "lines", "limits", "practice"])
def test_every_listed_row_names_its_source_and_whether_it_is_confirmed(part: str) -> None:
    listing = list_catalog(part)
    source, confirmed = (listing.columns.index(name) for name in ("source", "confirmed"))
    for row in listing.rows:
        assert len(row[source]) > 4, row  # in words, no bare code
        assert row[confirmed] in ("yes", "no")


def test_lines_are_listed_with_both_figures_as_read() -> None:
    listing = list_catalog("lines")
    assert len(listing.rows) == len(read_table("pull_lines").rows)
    for shown, row in zip(listing.rows, read_table("pull_lines").rows, strict=True):
        assert shown[0] == row["kind"]
        assert float(shown[2].replace(",", "")) == float(row["breaking_strength_lbf"])
        assert float(shown[3].replace(",", "")) == float(row["working_load_lbf"])


def test_unknown_listing_is_refused_with_the_nearest() -> None:
    with pytest.raises(CatalogError, match="nearest is raceways"):
        list_catalog("raceway")


def test_beginning_of_several_names_is_answered_by_all_of_them() -> None:
    with pytest.raises(CatalogError, match="nearest are nec-2023 and nec-2020"):
        find_rules("nec")
    with pytest.raises(CatalogError, match="nearest are pvc-lubricated and pvc-dry"):
        find_friction("PVC")


@pytest.mark.parametrize(
    "look",
    [
        lambda: find_friction("high"),
        lambda: find_rules("metric"),
        lambda: find_rules("nec-2026"),
        lambda: find_rules(""),
        lambda: find_raceway("hose", "2"),
        lambda: find_conductor("4/0", "paper", "copper"),
        lambda: find_conductor("4/0", "THHN", "gold"),
        lambda: find_conductor("thick", "THHN", "copper"),
    ],
)
def test_what_is_no_slip_of_a_name_is_answered_by_the_list_alone(look) -> None:
    with pytest.raises(CatalogError, match="There are ") as caught:
        look()
    assert "nearest" not in str(caught.value)
