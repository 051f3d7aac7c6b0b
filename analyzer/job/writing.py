"""The text of a job file that reads back to the same job.

What the job states is written; what was assumed stands in a comment, so that reading the file
again says the same cautions.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from dataclasses import replace

from analyzer.catalog.conductors import find_conductor
from analyzer.errors import JobError
from analyzer.job.reading import parse_job
from analyzer.job.settings import (
    BoxSettings,
    ConductorLine,
    DrawingSettings,
    FittingEntry,
    Job,
    PlanSettings,
    PullSettings,
)
from analyzer.job.words import BENDERS, ROUTE
from analyzer.units import (
    LengthUnit,
    ft,
    inches,
    lbf,
    lbf_per_ft,
    parse_force,
    parse_length,
    parse_pressure,
    parse_weight,
)

__all__ = ["job_text"]

Unit = tuple[str, float]

_INCHES: Unit = ("in", inches(1.0))
_FEET: Unit = ("ft", ft(1.0))
_MILLIMETERS: Unit = ("mm", float(LengthUnit.MILLIMETER.factor))
_METERS: Unit = ("m", 1.0)
_HEADER = (
    "# A job for the raceway path analyzer: everything besides the route.",
    "# Quantities are text with a unit. Lines behind # are assumptions: state your own values.",
)


def job_text(job: Job) -> str:
    """Return the text of a job file that reads back to an equal job.

    Raises
    ------
    JobError
        If no job file can say what this job holds, such as a raceway made by hand.
    """
    lines = [*_HEADER, ""]
    lines += [f"title = {_quoted(job.title)}"] if job.title else []
    lines += [f"units = {_quoted(job.units.value)}", ""]
    for part in (_drawing, _raceway, _conductors, _pull, _limits, _boxes, _plan, _fittings):
        lines += part(job)
    text = "\n".join(lines).rstrip("\n") + "\n"
    again = parse_job(text)
    if replace(again, source=job.source) != job:
        raise JobError(
            "this job cannot be written as a job file: it holds values that a file cannot state, "
            "such as a raceway that is not in the catalog"
        )
    return text


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _list(texts: Iterable[str]) -> str:
    return f"[{', '.join(texts)}]"


def _number(value: float) -> str:
    return repr(int(value)) if value == int(value) and abs(value) < 1e15 else repr(value)


def _quantity(value: float, units: Iterable[Unit], parse: Callable[[str], float], si: str) -> str:
    """Text in the first unit that reads back exactly with few digits; else all digits in SI."""
    for name, size in units:
        for decimals in range(5):
            text = f"{value / size:.{decimals}f} {name}"
            if parse(text) == value:
                return _quoted(text)
    return _quoted(f"{value!r} {si}")


def _length(value_m: float) -> str:
    units = [_INCHES, _FEET, _MILLIMETERS, _METERS]
    if abs(value_m) > inches(36.0):
        units = [_FEET, _INCHES, _METERS, _MILLIMETERS]
    return _quantity(value_m, units, parse_length, "m")


def _force(value_n: float) -> str:
    return _quantity(value_n, [("lbf", lbf(1.0)), ("N", 1.0), ("kN", 1e3)], parse_force, "N")


def _weight(value_n_per_m: float) -> str:
    units = [("lbf/ft", lbf_per_ft(1.0)), ("N/m", 1.0), ("lb/1000 ft", lbf_per_ft(0.001))]
    return _quantity(value_n_per_m, units, parse_weight, "N/m")


def _pressure(value_n_per_m: float) -> str:
    units = [("lbf/ft", lbf_per_ft(1.0)), ("N/m", 1.0), ("kN/m", 1e3)]
    return _quantity(value_n_per_m, units, parse_pressure, "N/m")


def _drawing(job: Job) -> list[str]:
    drawing, default = job.drawing, DrawingSettings()
    lines = []
    if drawing.units is not None:
        lines.append(f"units = {_quoted(drawing.units.value)}")
    if drawing.layers:
        lines.append(f"layers = {_list(map(_quoted, drawing.layers))}")
    if drawing.start is not None:
        start = drawing.start
        text = _quoted(start) if isinstance(start, str) else _list(map(_length, start))
        lines.append(f"start = {text}")
    if drawing.snap_m != default.snap_m:
        lines.append(f"snap = {_length(drawing.snap_m)}")
    if drawing.accuracy_m is not None:
        lines.append(f"accuracy = {_length(drawing.accuracy_m)}")
    if drawing.axes is not None:
        lines.append(f"axes = {_list(map(_quoted, drawing.axes))}")
    if drawing.layouts:
        lines.append(f"layouts = {_list(map(_quoted, drawing.layouts))}")
    if drawing.name_layers:
        lines.append(f"name_layers = {_list(map(_quoted, drawing.name_layers))}")
    if drawing.join_m != default.join_m:
        lines.append(f"join = {_length(drawing.join_m)}")
    lines = ["[drawing]", *lines, ""] if lines else []
    kinds = [(pattern, kind.value if kind else ROUTE) for pattern, kind in drawing.fitting_kinds]
    for name, pairs in (("fittings", kinds), ("read_as", list(drawing.read_as))):
        if pairs:
            rows = [f"{_quoted(key)} = {_quoted(word)}" for key, word in pairs]
            lines += [f"[drawing.{name}]", *rows, ""]
    return lines


def _raceway(job: Job) -> list[str]:
    lines = []
    if job.raceway is not None:
        lines += [
            f"type = {_quoted(job.raceway.type)}",
            f"trade_size = {_quoted(job.raceway.trade_size)}",
        ]
    if job.bend_radius_m is not None:
        lines.append(f"bend_radius = {_length(job.bend_radius_m)}")
    if job.bender in BENDERS:
        lines.append(f"bender = {_quoted(job.bender)}")
    return ["[raceway]", *lines, ""] if lines else []


def _conductors(job: Job) -> list[str]:
    lines = []
    for key, group in (("conductors", job.conductors), ("existing_conductors", job.existing)):
        for line in group:
            lines += [f"[[{key}]]", *_conductor(line), ""]
    return lines


def _conductor(line: ConductorLine) -> list[str]:
    conductor = line.conductor
    texts = {
        "size": conductor.size,
        "insulation": conductor.insulation,
        "metal": conductor.metal,
        "temper": conductor.temper,
    }
    name: str | None = conductor.name
    is_stated_diameter = True
    if conductor.size and conductor.insulation and conductor.metal:
        choice = (conductor.size, conductor.insulation, conductor.metal, conductor.temper)
        row = find_conductor(*choice)
        if (row.stranding, row.assumptions) != (conductor.stranding, conductor.assumptions):
            row = find_conductor(*choice, conductor.stranding)
            texts["stranding"] = conductor.stranding
        name = None if conductor.name == row.name else conductor.name
        is_stated_diameter = conductor.diameter_m != row.diameter_m
    lines = [f"name = {_quoted(name)}"] if name else []
    lines.append(f"{'' if line.count_stated else '# '}count = {line.count}")
    lines += [f"{key} = {_quoted(text)}" for key, text in texts.items() if text is not None]
    if is_stated_diameter:
        lines.append(f"diameter = {_length(conductor.diameter_m)}")
    if conductor.weight_from == "stated":
        lines.append(f"weight = {_weight(conductor.weight_n_per_m)}")
    if conductor.max_tension_n is not None:
        lines.append(f"max_tension = {_force(conductor.max_tension_n)}")
    if conductor.insulation_class is not None:
        lines.append(f"insulation_class = {_quoted(conductor.insulation_class)}")
    return lines


def _pull(job: Job) -> list[str]:
    pull, default = job.pull, PullSettings()
    band = pull.friction
    text = _number(band.low)
    if band.is_band:
        text = (
            f"{{ low = {_number(band.low)}, expected = {_number(band.expected)}, "
            f"high = {_number(band.high)} }}"
        )
    if band.preset:
        text = _quoted(band.preset)
    mark = "" if band.stated else "# "
    lines = ["[pull]", f"{mark}friction = {text}"]
    lines.append(f"feed_tension = {_force(pull.feed_tension_n)}")
    if pull.arrangement is not None:
        lines.append(f"arrangement = {_quoted(pull.arrangement.value)}")
    if pull.weight_factor_in_bends != default.weight_factor_in_bends:
        lines.append(f"weight_factor_in_bends = {str(pull.weight_factor_in_bends).lower()}")
    if pull.attachment is not None:
        lines.append(f"attachment = {_quoted(pull.attachment.value)}")
    if pull.line_working_load_n is not None:
        lines.append(f"line_working_load = {_force(pull.line_working_load_n)}")
    if pull.puller_capacity_n is not None:
        lines.append(f"puller_capacity = {_force(pull.puller_capacity_n)}")
    if pull.lubricant_reach_m is not None:
        lines.append(f"lubricant_reach = {_length(pull.lubricant_reach_m)}")
    if pull.dry_friction is not None:
        lines.append(f"dry_friction = {_number(pull.dry_friction)}")
    pressed = pull.friction_by_sidewall
    if pressed is not None:
        lines += ["", "[pull.friction_by_sidewall]"]
        lines.append(f"above = {_pressure(pressed.above_n_per_m)}")
        lines.append(f"friction = {_number(float(f'{pressed.part * band.expected:.12g}'))}")
        if pressed.source:
            lines.append(f"source = {_quoted(pressed.source)}")
    return [*lines, ""]


def _limits(job: Job) -> list[str]:
    limits = job.limits
    lines = ["[limits]", f"rules = {_quoted(limits.rules)}"]
    if limits.degrees_from == "job":
        degrees = _number(limits.degrees_between_pull_points)
        lines.append(f"degrees_between_pull_points = {degrees}")
    length_m = limits.length_between_pull_points_m
    if length_m is not None and limits.length_from == "job":
        lines.append(f"length_between_pull_points = {_length(length_m)}")
    sidewall = f"sidewall_pressure = {_pressure(limits.sidewall_pressure_n_per_m)}"
    lines.append(sidewall if limits.sidewall_from == "job" else f"# {sidewall}")
    clearance = f"clearance = {_length(limits.clearance_m)}"
    lines.append(clearance if limits.clearance_from == "job" else f"# {clearance}")
    return [*lines, ""]


def _boxes(job: Job) -> list[str]:
    boxes, default = job.boxes, BoxSettings()
    lines = []
    if boxes.run is not None:
        lines.append(f"run = {_quoted(boxes.run)}")
    if boxes.candidates_m:
        lines.append(f"candidates = {_list(map(_length, boxes.candidates_m))}")
    if boxes.spacing_m != default.spacing_m:
        lines.append(f"spacing = {_length(boxes.spacing_m)}")
    if boxes.need_from == "job":
        lines.append(f"need = {_length(boxes.need_m)}")
    for key, stretches in (("keep_out", boxes.keep_out_m), ("allowed", boxes.allowed_m)):
        if stretches:
            lines.append(f"{key} = {_list(_list(map(_length, pair)) for pair in stretches)}")
    if boxes.at_corners:
        lines.append("at_corners = true")
    if boxes.most != default.most:
        lines.append(f"most = {boxes.most}")
    if boxes.direction != default.direction:
        lines.append(f"direction = {_quoted(boxes.direction)}")
    for key, cost in (
        ("cost_per_box", boxes.cost_per_box),
        ("cost_per_setup", boxes.cost_per_setup),
    ):
        if cost is not None:
            lines.append(f"{key} = {_number(cost)}")
    return ["[boxes]", *lines, ""] if lines else []


def _plan(job: Job) -> list[str]:
    plan, default = job.plan, PlanSettings()
    lines = []
    if plan.feed_at is not None:
        lines.append(f"feed_at = {_quoted(plan.feed_at)}")
    for key, value, usual in (
        ("slack_each_end", plan.slack_each_end_m, default.slack_each_end_m),
        ("slack_per_box", plan.slack_per_box_m, default.slack_per_box_m),
        ("call_out_every", plan.call_out_every_m, default.call_out_every_m),
    ):
        if value != usual:
            lines.append(f"{key} = {_length(value)}")
    if plan.slack_percent != default.slack_percent:
        lines.append(f"slack_percent = {_number(plan.slack_percent)}")
    if plan.line_breaking_strength_n is not None:
        lines.append(f"line_breaking_strength = {_force(plan.line_breaking_strength_n)}")
    return ["[plan]", *lines, ""] if lines else []


def _fittings(job: Job) -> list[str]:
    lines = []
    for entry in job.fittings:
        lines += ["[[fittings]]", *_fitting(entry), ""]
    return lines


def _fitting(entry: FittingEntry) -> list[str]:
    lines = [f"name = {_quoted(entry.name)}"]
    if entry.kind is not None:
        lines.append(f"kind = {_quoted(entry.kind.value)}")
    if entry.run is not None:
        lines.append(f"run = {_quoted(entry.run)}")
    if entry.at_m is not None:
        lines.append(f"at = {_length(entry.at_m)}")
    if entry.position_m is not None:
        lines.append(f"position = {_list(map(_length, entry.position_m))}")
    if entry.passage is not None:
        lines.append(f"passage = {_quoted(entry.passage.value)}")
    if entry.pull_point is not None:
        lines.append(f"pull_point = {str(entry.pull_point).lower()}")
    if entry.feed_tension_n is not None:
        lines.append(f"feed_tension = {_force(entry.feed_tension_n)}")
    if entry.size_m is not None:
        lines.append(f"size = {_list(map(_length, entry.size_m))}")
    return lines
