"""From the tables of a job as written to a settled `Job`: defaults, catalog and limits filled in.

Every fault is gathered before anything is raised. Every assumption made is a finding.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from analyzer.catalog.nearest import fold_name, nearest_name
from analyzer.findings import Finding, Severity
from analyzer.job.faults import Faults
from analyzer.job.friction_settling import (
    by_sidewall_finding,
    preset_finding,
    settle_by_sidewall,
)
from analyzer.job.key_lines import KeyPath
from analyzer.job.keys import (
    BoxesTable,
    ConductorTable,
    DrawingTable,
    FittingTable,
    InnerFaultsError,
    JobTable,
    LimitsTable,
    PlanTable,
    PullTable,
    RacewayTable,
    SidewallFrictionTable,
)
from analyzer.job.limit_settling import settle_limits
from analyzer.job.line_settling import line_faults, line_findings
from analyzer.job.materials import settle_conductors, settle_raceway
from analyzer.job.settings import (
    ARRANGEMENT_COUNTS,
    Arrangement,
    BoxSettings,
    DrawingSettings,
    FittingEntry,
    Job,
    Passage,
    PlanSettings,
    PullSettings,
)
from analyzer.job.words import TABLE_SYNONYMS, sentence_list
from analyzer.units import UnitSystem

__all__ = ["settle_drawing", "settle_job"]

Model = TypeVar("Model", bound=BaseModel)

_TABLES: dict[str, type[BaseModel]] = {
    "drawing": DrawingTable,
    "raceway": RacewayTable,
    "conductors": ConductorTable,
    "existing_conductors": ConductorTable,
    "pull": PullTable,
    "limits": LimitsTable,
    "boxes": BoxesTable,
    "plan": PlanTable,
    "fittings": FittingTable,
}
_LOOKED_UP: dict[type[BaseModel], tuple[str, ...]] = {
    RacewayTable: ("type", "trade_size"),
    ConductorTable: ("size", "insulation", "metal", "temper", "stranding", "diameter", "weight"),
}


def settle_job(raw: Mapping[str, Any], faults: Faults) -> Job:
    """Return the settled job of the tables as written.

    Parameters
    ----------
    raw : mapping
        Tables and keys as TOML gives them.
    faults : Faults
        Knows where each key stands.

    Returns
    -------
    Job
        Every value used, in SI; `findings` names what was assumed.

    Raises
    ------
    JobError
        With every fault found, one a line.
    """
    findings: list[Finding] = []
    top = _check(JobTable, raw, (), faults)
    drawing = _table(DrawingTable, raw, "drawing", faults)
    raceway_table = _table(RacewayTable, raw, "raceway", faults)
    raceway, bender = settle_raceway(raceway_table, faults, findings)
    entries = _entries(ConductorTable, raw, "conductors", faults)
    conductors = settle_conductors(entries, "conductors", faults, findings)
    existing = settle_conductors(
        _entries(ConductorTable, raw, "existing_conductors", faults),
        "existing_conductors",
        faults,
        findings,
    )
    if "conductors" not in raw:
        faults.add(
            ("conductors",),
            "no conductors to pull: add [[conductors]] with count, size, insulation and metal, "
            'or the option --conductor "3 x 4/0 THHN copper"',
        )
    pull_table = _table(PullTable, raw, "pull", faults)
    count = 0 if None in entries else sum(entry.count for entry in entries if entry)
    system = UnitSystem.US if top is None else top.units
    pull = _pull(pull_table, count, system, faults, findings)
    limits_table = _table(LimitsTable, raw, "limits", faults)
    limits = settle_limits(limits_table, conductors, system, faults, findings)
    boxes = _boxes(_table(BoxesTable, raw, "boxes", faults), faults)
    plan = _plan(_table(PlanTable, raw, "plan", faults))
    if pull is not None:
        line_faults(pull, plan, system, faults)
        findings += line_findings(pull, plan, system)
    fittings = _fittings(_entries(FittingTable, raw, "fittings", faults), faults)
    number = sum(line.count for line in (*conductors, *existing))
    if number > 1 and raceway is None and not faults:
        faults.add(
            ("raceway",),
            f"no raceway, and {number} conductors lie in it together: add [raceway] with type and "
            'trade_size, or the option --raceway "EMT 2"',
        )
    faults.stop()
    assert top is not None and drawing is not None and raceway_table is not None
    assert pull is not None and limits is not None and boxes is not None
    return Job(
        title=top.title,
        units=top.units,
        drawing=_drawing(drawing, faults),
        raceway=raceway,
        bender=bender,
        bend_radius_m=raceway_table.bend_radius,
        conductors=conductors,
        existing=existing,
        pull=pull,
        limits=limits,
        fittings=fittings,
        findings=tuple(findings),
        source=faults.source,
        boxes=boxes,
        plan=plan,
        places=faults.places(),
    )


def settle_drawing(raw: Mapping[str, Any], faults: Faults) -> DrawingSettings:
    """Return how the route file is read, where the tables say nothing of the pull.

    Raises
    ------
    JobError
        With every fault found, one a line.
    """
    table = _table(DrawingTable, raw, "drawing", faults)
    faults.stop()
    assert table is not None
    return _drawing(table, faults)


def _check(
    model: type[Model], raw: Mapping[str, Any], path: KeyPath, faults: Faults
) -> Model | None:
    try:
        return model.model_validate(dict(raw))
    except ValidationError as error:
        faulty = {str(detail["loc"][0]) for detail in error.errors(include_url=False)}
        for detail in error.errors(include_url=False):
            place = (*path, *detail["loc"])
            cause = detail.get("ctx", {}).get("error")
            if isinstance(cause, InnerFaultsError):
                for rest, message in cause.faults:
                    faults.add((*place, *rest), message)
            elif detail["type"] == "extra_forbidden":
                is_table = _holds_tables(detail["input"])
                faults.add(place, _unknown(str(detail["loc"][-1]), is_table, model, path))
            elif detail["type"] == "missing":
                faults.add(path, f'needs the key "{detail["loc"][-1]}"')
            else:
                faults.add(place, str(cause))
    if model in _LOOKED_UP and not faulty & set(_LOOKED_UP[model]):
        # the catalog is asked all the same, so that its faults are said with these
        sound = {key: value for key, value in raw.items() if key not in faulty}
        return model.model_validate(sound)
    return None


def _holds_tables(value: object) -> bool:
    first = value[0] if isinstance(value, list) and value else value
    return isinstance(first, dict)


def _unknown(key: str, is_table: bool, model: type[BaseModel], path: KeyPath) -> str:
    """Return what to say of an unknown key; one that holds a table is meant for a table."""
    homes = [f"[{name}]" for name, table in _TABLES.items() if key in table.model_fields]
    if path and key in JobTable.model_fields:
        homes.insert(0, "the top of the file, before the first table")
    if homes:
        return f"unknown key here; it belongs in {' or '.join(homes)}"
    is_top = model is JobTable
    close = TABLE_SYNONYMS.get(fold_name(key)) if is_top else None
    # only a slip of its name says which table is meant
    close = close or nearest_name(key, model.model_fields, is_key=not is_top)
    if close is None and is_top and not is_table:
        plain = [name for name in model.model_fields if name not in _TABLES]
        close = nearest_name(key, plain, is_key=True)
    if close:
        return f'unknown key; did you mean "{close}"?'
    return f"unknown key; the keys here are {sentence_list(model.model_fields)}"


def _table(model: type[Model], raw: Mapping[str, Any], name: str, faults: Faults) -> Model | None:
    value = raw.get(name, {})
    if not isinstance(value, Mapping):
        faults.add((name,), f"needs a table: write [{name}] in single brackets, once")
        return None
    return _check(model, value, (name,), faults)


def _entries(
    model: type[Model], raw: Mapping[str, Any], name: str, faults: Faults
) -> list[Model | None]:
    value = raw.get(name, [])
    if not isinstance(value, list) or not all(isinstance(item, Mapping) for item in value):
        faults.add((name,), f"needs one table an entry: write [[{name}]] in double brackets")
        return []
    if name in raw and not value:
        faults.add((name,), "is an empty list: leave it out or add an entry")
    return [_check(model, item, (name, index), faults) for index, item in enumerate(value)]


def _drawing(table: DrawingTable, faults: Faults) -> DrawingSettings:
    default = DrawingSettings()
    return DrawingSettings(
        units=table.units,
        layers=table.layers,
        start=table.start,
        snap_m=default.snap_m if table.snap is None else table.snap,
        accuracy_m=table.accuracy,
        fitting_kinds=table.fittings,
        read_as=table.read_as,
        axes=table.axes,
        layouts=table.layouts,
        name_layers=table.name_layers,
        join_m=default.join_m if table.join is None else table.join,
        units_by_option=("drawing", "units") in faults.options,
    )


def _pull(
    table: PullTable | None,
    count: int,
    system: UnitSystem,
    faults: Faults,
    findings: list[Finding],
) -> PullSettings | None:
    if table is None:
        return None
    if (table.lubricant_reach is None) != (table.dry_friction is None):
        given, other = "lubricant_reach", "dry_friction"
        if table.lubricant_reach is None:
            given, other = other, given
        faults.add(
            ("pull", given),
            f'needs "{other}" beside it: dry_friction holds beyond lubricant_reach',
        )
    lies = table.arrangement
    if lies is not None and count and count not in ARRANGEMENT_COUNTS[lies]:
        least = ARRANGEMENT_COUNTS[lies].start
        wanted = "two or more" if lies is Arrangement.BUNCHED else str(least)
        faults.add(
            ("pull", "arrangement"),
            f'"{lies.value}" is for {wanted} conductor{"s" * (least > 1)}; the job pulls {count}',
        )
    default = PullSettings()
    friction = default.friction if table.friction is None else table.friction
    if not friction.stated:
        findings.append(
            Finding(
                "friction-assumed",
                Severity.CAUTION,
                f"no friction given: {friction.low:.2f} / {friction.expected:.2f} / "
                f"{friction.high:.2f} (low, expected, high) assumed, common practice; "
                "state friction in [pull]",
                "pull.friction",
            )
        )
    if friction.preset:
        findings.append(preset_finding(friction.preset))
    elif friction.stated and not friction.is_band:
        findings.append(
            Finding(
                "friction-single",
                Severity.NOTE,
                f"one friction number, {friction.expected:g}: low and high friction equal it, "
                "so results show no spread; a band says more",
                "pull.friction",
            )
        )
    pressed = None
    if table.friction_by_sidewall is not None:
        path = ("pull", "friction_by_sidewall")
        values = table.friction_by_sidewall
        if not isinstance(values, Mapping):
            faults.add(path, "needs a table with above and friction")
        elif (inner := _check(SidewallFrictionTable, values, path, faults)) is not None:
            pressed = settle_by_sidewall(inner, friction, faults)
        if pressed is not None:
            findings.append(by_sidewall_finding(pressed, friction, system))
    in_bends = table.weight_factor_in_bends
    return PullSettings(
        friction=friction,
        feed_tension_n=0.0 if table.feed_tension is None else table.feed_tension,
        arrangement=table.arrangement,
        weight_factor_in_bends=default.weight_factor_in_bends if in_bends is None else in_bends,
        attachment=table.attachment,
        line_working_load_n=table.line_working_load,
        puller_capacity_n=table.puller_capacity,
        lubricant_reach_m=table.lubricant_reach,
        dry_friction=table.dry_friction,
        friction_by_sidewall=pressed,
    )


def _boxes(table: BoxesTable | None, faults: Faults) -> BoxSettings | None:
    if table is None:
        return None
    for given in ("spacing", "allowed"):
        if table.candidates and getattr(table, given):
            faults.add(
                ("boxes", given),
                f'"candidates" names the only places to choose from: leave out "{given}" or '
                '"candidates"',
            )
    costs = {"cost_per_box": table.cost_per_box, "cost_per_setup": table.cost_per_setup}
    for given, other in (tuple(costs), tuple(reversed(costs))):
        if costs[given] is not None and costs[other] is None:
            faults.add(
                ("boxes", given), f'needs "{other}" beside it: a box saved can cost a set-up'
            )
    default = BoxSettings()
    return BoxSettings(
        run=table.run,
        candidates_m=table.candidates,
        spacing_m=default.spacing_m if table.spacing is None else table.spacing,
        need_m=default.need_m if table.need is None else table.need,
        keep_out_m=table.keep_out,
        allowed_m=table.allowed,
        at_corners=bool(table.at_corners),
        most=default.most if table.most is None else table.most,
        direction=table.direction or default.direction,
        cost_per_box=table.cost_per_box,
        cost_per_setup=table.cost_per_setup,
        need_from=default.need_from if table.need is None else "job",
    )


def _plan(table: PlanTable | None) -> PlanSettings:
    if table is None:
        return PlanSettings()
    default = PlanSettings()

    def stated(value: float | None, otherwise: float) -> float:
        return otherwise if value is None else value

    return PlanSettings(
        feed_at=table.feed_at,
        slack_each_end_m=stated(table.slack_each_end, default.slack_each_end_m),
        slack_per_box_m=stated(table.slack_per_box, default.slack_per_box_m),
        slack_percent=stated(table.slack_percent, default.slack_percent),
        call_out_every_m=stated(table.call_out_every, default.call_out_every_m),
        line_breaking_strength_n=table.line_breaking_strength,
    )


def _fittings(tables: list[FittingTable | None], faults: Faults) -> tuple[FittingEntry, ...]:
    seen: set[tuple[str, str | None]] = set()
    entries = []
    for index, table in enumerate(tables):
        if table is None:
            continue
        path: KeyPath = ("fittings", index)
        if (table.name, table.run) in seen:
            faults.add((*path, "name"), f'"{table.name}" stands here twice: each has its own name')
        seen.add((table.name, table.run))
        _fitting_faults(table, path, faults)
        entries.append(
            FittingEntry(
                name=table.name,
                kind=table.kind,
                at_m=table.at,
                position_m=table.position,
                run=table.run,
                passage=table.passage,
                pull_point=table.pull_point,
                feed_tension_n=table.feed_tension,
                size_m=table.size,
            )
        )
    return tuple(entries)


def _fitting_faults(table: FittingTable, path: KeyPath, faults: Faults) -> None:
    if table.at is not None and table.position is not None:
        faults.add((*path, "position"), 'give either "at" or "position", not both')
    if table.kind is None and (table.at is not None or table.position is not None):
        faults.add(path, 'needs "kind", such as "pull box": the job places this fitting')
    if table.pull_point is False and table.passage is Passage.REFEED:
        faults.add(
            (*path, "passage"), "conductors are refed at pull points only; pull_point is false"
        )
    if table.feed_tension is not None and (
        table.pull_point is False or table.passage is Passage.THROUGH
    ):
        faults.add(
            (*path, "feed_tension"),
            "nothing is fed here: feed_tension needs a pull point whose passage is refeed",
        )
