"""The pull: tension and sidewall pressure along a run, groups of conductors, limits."""

from __future__ import annotations

from analyzer.pulling.groups import Clearance, ConductorGroup, conductor_group, weight_factor
from analyzer.pulling.limits import (
    PullLimit,
    braked_limit,
    conductor_limit_n,
    friction_level,
    shares,
    sharing_fraction,
    sidewall_limit,
    tension_limits,
)
from analyzer.pulling.pulls import pull_legs, pull_through
from analyzer.pulling.results import (
    BrakedState,
    Direction,
    Profile,
    Pull,
    PullFigures,
    Share,
)
from analyzer.pulling.sections import (
    Section,
    held_sections,
    least_frictions,
    leg_sections,
    piece_frictions,
    pull_pieces,
    pulled_sections,
    whole_section,
)
from analyzer.pulling.sidewall import SidewallRule, sidewall_pressure_n_per_m, sidewall_rule
from analyzer.pulling.string_model import (
    ArcPiece,
    CornerPiece,
    Piece,
    PressedFriction,
    ProfilePoint,
    StraightPiece,
    StringPull,
    pieces_between,
    pull_string,
    reversed_pieces,
    split_piece,
)

__all__ = [
    "ArcPiece",
    "BrakedState",
    "Clearance",
    "ConductorGroup",
    "CornerPiece",
    "Direction",
    "Piece",
    "PressedFriction",
    "Profile",
    "ProfilePoint",
    "Pull",
    "PullFigures",
    "PullLimit",
    "Section",
    "Share",
    "SidewallRule",
    "StraightPiece",
    "StringPull",
    "braked_limit",
    "conductor_group",
    "conductor_limit_n",
    "friction_level",
    "held_sections",
    "least_frictions",
    "leg_sections",
    "piece_frictions",
    "pieces_between",
    "pull_legs",
    "pull_pieces",
    "pull_string",
    "pull_through",
    "pulled_sections",
    "reversed_pieces",
    "shares",
    "sharing_fraction",
    "sidewall_limit",
    "sidewall_pressure_n_per_m",
    "sidewall_rule",
    "split_piece",
    "tension_limits",
    "weight_factor",
    "whole_section",
]
