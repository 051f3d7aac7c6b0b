"""The columns of every table of CSV files and workbook, whether it has rows or not.

SI columns only, each ending in its unit; columns in feet and pounds are made from them.
"""

from __future__ import annotations

__all__ = ["TABLE_COLUMNS", "TABLE_NAMES"]

_PULL = ("run", "leg", "direction")
_FIGURES = (
    "exit_tension_n", "max_tension_n", "max_tension_station_m", "max_sidewall_n_per_m",
    "max_sidewall_station_m",
)  # fmt: skip

TABLE_COLUMNS: dict[str, tuple[str, ...]] = {
    "cautions": ("caution",),
    "facts": ("fact", "value", "unit"),
    "runs": (
        "run", "file", "sha256", "verdict", "length_m", "read_as", "deviation_m",
        "start_x_m", "start_y_m", "start_z_m", "end_x_m", "end_y_m", "end_z_m",
    ),
    "legs": (
        "run", "name", "from", "to", "start_station_m", "end_station_m", "length_m", "rise_m",
        "bend_count", "bend_total_deg", "better", "pulled",
    ),
    "pulls": (
        *_PULL, "feed_at", "pull_at", "friction_level", "feed_tension_n", *_FIGURES,
        "sidewall_rule", "braked_friction_level", "hold_back_n", "braked_max_tension_n",
        "braked_max_tension_station_m", "braked_max_sidewall_n_per_m",
        "braked_max_sidewall_station_m", "share_of_limit", "governed_by", "share_friction_level",
        *(f"low_{name}" for name in _FIGURES), *(f"high_{name}" for name in _FIGURES),
        "highest_friction", "pressed_bend", "smallest_radius_m", "bounds_friction_level",
        "lower_bound_n", "upper_bound_n", "corners_not_checked",
    ),
    "profiles": (*_PULL, "friction_level", "station_m", "tension_n", "sidewall_n_per_m"),
    "bend_tensions": (
        *_PULL, "friction_level", "number", "arriving_n", "leaving_n",
        "sidewall_n_per_m", "braked_sidewall_n_per_m", "needs_radius_m",
    ),
    "bends": (
        "run", "number", "station_m", "end_station_m", "angle_deg", "radius_m", "radius_from",
        "attitude", "rotation_deg", "leg", "in_fitting", "read_as", "angle_sd_deg", "radius_sd_m",
        "radius_determined",
    ),
    "features": (
        "run", "kind", "bends", "station_m", "end_station_m", "angle_deg", "second_angle_deg",
        "net_angle_deg", "rotation_deg", "gain_m", "depth_m", "spacing_m", "multiplier",
        "shrink_m", "center_to_center_m", "start_elevation_m", "end_elevation_m",
        "trade_multiplier", "trade_spacing_m", "trade_shrink_m", "top_m", "top_elevation_m",
        "bottom_elevation_m", "rise_m", "straight_m", "roll_m", "true_offset_m", "roll_deg",
    ),
    "segments": (
        "run", "kind", "station_m", "length_m", "start_x_m", "start_y_m", "start_z_m", "end_x_m",
        "end_y_m", "end_z_m", "center_x_m", "center_y_m", "center_z_m", "axis_x", "axis_y",
        "axis_z", "radius_m", "angle_deg",
    ),
    "fittings": (
        "run", "name", "kind", "station_m", "position_x_m", "position_y_m", "position_z_m",
        "pull_point", "passage", "passage_stated", "feed_tension_n",
    ),
    "checks": (
        "run", "code", "leg", "direction", "verdict", "counts", "friction_level", "value", "limit",
        "unit", "where", "station_m", "bends", "source", "message",
    ),
    "findings": ("run", "code", "severity", "message", "where"),
}  # fmt: skip
"""Columns of each table, in order; a row leaves out what it has no value for."""

TABLE_NAMES = tuple(TABLE_COLUMNS)
"""The tables; each is a file NAME.csv, or a page of the workbook."""
