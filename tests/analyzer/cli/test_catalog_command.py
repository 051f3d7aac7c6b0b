"""`raceway catalog` folds to the terminal and tells people no codes of its tables."""

from __future__ import annotations

import re

import pytest

from analyzer.catalog.listing import CATALOG_PARTS, list_catalog
from analyzer.catalog.raceways import find_raceway, raceway_types, trade_sizes
from analyzer.cli.main import main

# of a source in the header of a table, such as L4; not part of a number such as TES-P-104
CODE = re.compile(r"(?<![\w-])[SLF]\d{1,2}\b(?![\w/-])")


@pytest.mark.parametrize("width", [60, 80])
@pytest.mark.parametrize("part", [*CATALOG_PARTS, "keys", None])
def test_listings_fold_to_the_width(part, width, monkeypatch, capsys) -> None:
    monkeypatch.setattr("analyzer.cli.output.terminal_width", lambda: width)
    assert main(["catalog", *([part] if part else [])]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) > 5
    assert max(map(len, lines)) <= width


@pytest.mark.parametrize("part", CATALOG_PARTS)
def test_no_listing_shows_a_code_of_its_table(part: str) -> None:
    listing = list_catalog(part)
    for text in (*(cell for row in listing.rows for cell in row), *listing.sources):
        assert not CODE.search(text), text
        assert "_" not in text.split(" ")[0], text  # a column of the file


def test_no_doubt_about_a_raceway_names_a_code() -> None:
    for kind in raceway_types():
        for size in trade_sizes(kind):
            assert not CODE.search(find_raceway(kind, size).doubt)


def test_limits_that_sources_disagree_on_name_them(capsys) -> None:
    assert main(["catalog", "limits"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "UFC 3-535-01, 2005, counts four in full; not the default" in out
    assert "TES-P-104.05 prints 4.371 kN/m" in out


def test_unknown_part_names_the_nearest(capsys) -> None:
    assert main(["catalog", "key"]) == 2
    assert "the nearest is keys" in capsys.readouterr().err


def test_keys_that_hold_a_text(capsys) -> None:
    assert main(["catalog", "keys", "--find", "max_tension"]) == 0
    assert 'max_tension = "190 lbf"' in capsys.readouterr().out
    assert main(["catalog", "keys", "--find", "no such key"]) == 0
    assert "no key of the job file holds 'no such key'" in capsys.readouterr().err
