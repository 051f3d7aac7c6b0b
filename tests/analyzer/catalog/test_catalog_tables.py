"""Every table is well formed, says where it was read, and agrees with itself.

The internal checks are those that would expose a wrong digit: area against diameter, inch against
millimeter, strand geometry, wall against outside and inside diameter.
"""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt

import pytest

from analyzer.catalog.tables import (
    TableShape,
    check_shape,
    find_row,
    parse_table,
    read_table,
    table_names,
)
from analyzer.errors import CatalogError

GOOD = "# title\nname,value,source,confirmed\na,1,S,yes\nb,2,S,no\n"
SHAPE = TableShape(key=("name",), positive=("value",), rising=("value",))


@pytest.mark.parametrize("name", table_names())
def test_every_table_reads_and_names_its_sources(name: str) -> None:
    table = read_table(name)
    assert table.rows
    assert len(table.title) > 20
    assert len(table.header) >= 2
    text = " ".join(table.header)
    codes = {code for row in table.rows for code in _codes(row["source"])}
    assert all(f"{code}: " in text for code in codes)


def _codes(source: str) -> set[str]:
    words = source.replace(",", " ").replace(";", " ").replace("(", " ").replace(")", " ").split()
    return {w.rstrip(":") for w in words if w[0] in "SLF" and w[1:].rstrip(":").isdigit()}


def test_tables_are_read_once() -> None:
    assert read_table("raceways") is read_table("raceways")


def test_unknown_table_is_refused() -> None:
    with pytest.raises(CatalogError, match="no table 'raceway'"):
        read_table("raceway")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("name,value,source,confirmed\na,1,S,yes\n", "source lines belong on top"),
        (GOOD + "# late\n", "source lines belong on top"),
        ("# title\nname,value,source,confirmed\n", "no rows"),
        (GOOD + "c,3,S\n", "has not 4 cells"),
    ],
)
def test_malformed_text_is_refused(text: str, message: str) -> None:
    with pytest.raises(CatalogError, match=message):
        parse_table("test", text)


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ("c,0,S,yes", "'0' is no number above zero"),
        ("c,-1,S,yes", "'-1' is no number above zero"),
        ("c,nan,S,yes", "'nan' is no number above zero"),
        ("c,inf,S,yes", "'inf' is no number above zero"),
        ("c,,S,yes", "'' is no number above zero"),
        ("c,two,S,yes", "'two' is no number above zero"),
        ("b,3,S,yes", "not repeated"),
        (",3,S,yes", "is filled"),
        ("c,1.5,S,yes", "value falls from the row before"),
        ("c,3,S,maybe", "confirmed yes or no"),
        ("c,3,,yes", "needs a source"),
    ],
)
def test_broken_row_is_named(row: str, message: str) -> None:
    table = parse_table("test", GOOD + row + "\n")
    with pytest.raises(CatalogError, match=message):
        check_shape(table, SHAPE)


def test_missing_column_is_named() -> None:
    table = parse_table("test", GOOD)
    with pytest.raises(CatalogError, match="column other is missing"):
        check_shape(table, replace(SHAPE, optional=("other",)))


def test_raceway_areas_and_diameters_agree() -> None:
    """Half a unit of the last digit printed; metric diameters of the flexible kinds are coarse."""
    for row in read_table("raceways").rows:
        inch, mm = float(row["internal_diameter_in"]), float(row["internal_diameter_mm"])
        assert pi / 4 * inch**2 == pytest.approx(float(row["total_area_in2"]), abs=6e-4), row
        assert pi / 4 * mm**2 == pytest.approx(float(row["total_area_mm2"]), abs=1.0), row
        if row["confirmed"] == "yes":
            assert inch * 25.4 == pytest.approx(mm, abs=0.065), row
        if row["type"] == "EMT":
            wall = (float(row["outside_diameter_in"]) - inch) / 2
            assert wall == pytest.approx(float(row["wall_in"]), abs=6e-4), row


def test_insulated_areas_and_diameters_agree() -> None:
    for row in read_table("insulated_conductors").rows:
        inch, mm = float(row["diameter_in"]), float(row["diameter_mm"])
        assert pi / 4 * inch**2 == pytest.approx(float(row["area_in2"]), abs=1.5e-4), row
        assert inch * 25.4 == pytest.approx(mm, abs=0.011), row


def test_compact_areas_and_diameters_agree() -> None:
    for row in read_table("compact_conductors").rows:
        for kind in ("thw_thhw", "thhn", "xhhw"):
            if row[f"{kind}_diameter_in"]:
                inch = float(row[f"{kind}_diameter_in"])
                area = float(row[f"{kind}_area_in2"])
                assert pi / 4 * inch**2 == pytest.approx(area, abs=2e-4), row
                assert inch * 25.4 == pytest.approx(float(row[f"{kind}_diameter_mm"]), abs=0.011)


def test_bare_diameters_follow_strand_geometry() -> None:
    """1, 7, 19, ... round strands lie 1, 3, 5, ... strands across."""
    across = {1: 1, 7: 3, 19: 5, 37: 7, 61: 9, 91: 11, 127: 13}
    for row in read_table("conductor_properties").rows:
        strands = int(row["strands"])
        strand_in = sqrt(float(row["circular_mils"]) / strands) / 1000
        overall = float(row["overall_diameter_in"])
        assert across[strands] * strand_in == pytest.approx(overall, abs=1.6e-3), row


def test_bend_radii_agree_in_inches_and_millimeters() -> None:
    for row in read_table("bend_radius_table_2").rows:
        one, other = float(row["one_shot_full_shoe_in"]), float(row["other_bends_in"])
        assert one * 25.4 == pytest.approx(float(row["one_shot_full_shoe_mm"]), abs=0.06)
        assert other * 25.4 == pytest.approx(float(row["other_bends_mm"]), abs=0.06)
        assert one <= other


def test_offset_multipliers_are_the_cosecant() -> None:
    from math import radians, sin, tan

    for row in read_table("offsets").rows:
        angle = radians(float(row["angle_deg"]))
        assert 1 / sin(angle) == pytest.approx(float(row["multiplier_exact"]), abs=6e-5)
        assert tan(angle / 2) == pytest.approx(float(row["shrink_exact_in_per_in"]), abs=6e-5)


def test_row_is_found_by_its_keys_or_refused_with_them() -> None:
    row = find_row("weight_model", part="metal density", applies_to="copper")
    assert (row["part"], row["applies_to"]) == ("metal density", "copper")
    text = r"table weight_model: no row with part 'metal density', applies_to 'tin'"
    with pytest.raises(CatalogError, match=text):
        find_row("weight_model", part="metal density", applies_to="tin")
