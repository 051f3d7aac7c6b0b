"""Checks: each a verdict with its value, limit, place and clause."""

from __future__ import annotations

from analyzer.checks.check import Check
from analyzer.checks.run_checks import (
    CHECK_FAMILIES,
    count_not_checked,
    needed_not_made,
    run_checks,
    verdict_of,
)

__all__ = [
    "CHECK_FAMILIES",
    "Check",
    "count_not_checked",
    "needed_not_made",
    "run_checks",
    "verdict_of",
]
