"""The catalog: raceways, conductors, rule sets and frictions of published tables."""

from __future__ import annotations

from analyzer.catalog.conductor_sizes import (
    conductor_sizes,
    metal_area_cmil,
    parse_conductor_size,
    size_rank,
)
from analyzer.catalog.conductors import Conductor, find_conductor, insulation_types
from analyzer.catalog.frictions import FrictionPreset, find_friction, friction_names
from analyzer.catalog.listing import CATALOG_PARTS, CatalogListing, list_catalog
from analyzer.catalog.raceways import (
    Raceway,
    find_raceway,
    raceway_types,
    trade_size_number,
    trade_sizes,
)
from analyzer.catalog.rules import (
    RuleSet,
    bend_number_section,
    bend_radius_section,
    find_rules,
    rule_set_names,
)

__all__ = [
    "CATALOG_PARTS",
    "CatalogListing",
    "Conductor",
    "FrictionPreset",
    "Raceway",
    "RuleSet",
    "bend_number_section",
    "bend_radius_section",
    "conductor_sizes",
    "find_conductor",
    "find_friction",
    "find_raceway",
    "find_rules",
    "friction_names",
    "insulation_types",
    "list_catalog",
    "metal_area_cmil",
    "parse_conductor_size",
    "raceway_types",
    "rule_set_names",
    "size_rank",
    "trade_size_number",
    "trade_sizes",
]
