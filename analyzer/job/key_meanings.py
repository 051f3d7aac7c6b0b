"""What every key of the job file means, with an example and what holds where it is left out.

For people who write a job: `raceway catalog keys` lists it. What a value must be stands in `keys`;
a test holds that both have the same keys, that every example is one a job can hold, and that the
defaults are those of `settings`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from analyzer.job.settings import Arrangement, Attachment, FittingKind, Passage
from analyzer.job.words import (
    AXES,
    BENDERS,
    BOX_DIRECTIONS,
    INSULATION_CLASSES,
    LENGTH_UNITS,
    METALS,
    READ_AS,
    ROUTE,
    STRANDINGS,
    TEMPERS,
    sentence_list,
)

__all__ = ["JOB_TABLES", "KeyMeaning", "TableMeaning"]


@dataclass(frozen=True, slots=True)
class KeyMeaning:
    """One key: its name, an example as it is written, what it means, what holds without it.

    `default` is empty where nothing is assumed; as written in a job where it is a value.
    """

    name: str
    example: str
    meaning: str
    default: str = ""


@dataclass(frozen=True, slots=True)
class TableMeaning:
    """One table of the job file: its heading, what it is for, and its keys."""

    heading: str
    meaning: str
    keys: tuple[KeyMeaning, ...]


def _one_of(words: Iterable[str]) -> str:
    return sentence_list(dict.fromkeys(words))


_KINDS = [kind.value for kind in FittingKind if kind is not FittingKind.END]
_RUN = "name of the run it is about, where a file holds several"

_TOP = TableMeaning(
    "",
    "Above all tables",
    (
        KeyMeaning("title", '"Ice rink chiller feeder"', "heads every report"),
        KeyMeaning("units", '"metric"', 'how people see results: "us" or "metric"', '"us"'),
    ),
)
_DRAWING = TableMeaning(
    "[drawing]",
    "How to read the route file",
    (
        KeyMeaning(
            "units",
            '"in"',
            f"unit of the file where it names none: {_one_of(LENGTH_UNITS.values())}",
        ),
        KeyMeaning("layers", '["E-RACEWAY*"]', "patterns of the layers to read", "all visible"),
        KeyMeaning(
            "start",
            '"Panel P1"',
            'where a chain of lines starts: a fitting, or a point ["0 ft", "0 ft", "10 ft"]',
            "the end with a panel or equipment, else the end of smaller x, y, z",
        ),
        KeyMeaning("snap", '"6 in"', "how far from the line a fitting may stand", '"6 in"'),
        KeyMeaning(
            "accuracy",
            '"1/8 in"',
            "measured points: standard deviation of one coordinate",
            "estimated, and said",
        ),
        KeyMeaning(
            "fittings",
            '{ "JB*" = "junction box", "EMT-ELBOW*" = "route" }',
            f"kind by pattern of the block's name: {_one_of(_KINDS)}; {sentence_list([ROUTE])}: no "
            "fitting, what the block draws is raceway",
        ),
        KeyMeaning(
            "read_as",
            '{ "run 1" = "corners" }',
            f"how a named run is read: {_one_of(READ_AS.values())}",
            "found from the points",
        ),
        KeyMeaning(
            "axes",
            '["north", "east", "up"]',
            f"what the three columns of a point file mean, in their order: {_one_of(AXES)}",
            "x, y, z as headed",
        ),
        KeyMeaning("layouts", '["Layout1"]', "patterns of layouts to read besides model space"),
        KeyMeaning("name_layers", '["E-TEXT"]', "layers whose texts name the runs beside them"),
        KeyMeaning("join", '"1/16 in"', "widest gap bridged between loose ends", '"1/16 in"'),
    ),
)
_RACEWAY = TableMeaning(
    "[raceway]",
    "Needed where several conductors are pulled",
    (
        KeyMeaning("type", '"EMT"', "see: raceway catalog raceways"),
        KeyMeaning("trade_size", '"1-1/2"', "text, or a number"),
        KeyMeaning(
            "bend_radius",
            '"9-1/2 in"',
            "to the centerline, of corners drawn without a radius",
            "the table, by bender",
        ),
        KeyMeaning(
            "bender", '"one-shot"', f"column of the table: {_one_of(BENDERS.values())}", "by type"
        ),
    ),
)
_CONDUCTORS = TableMeaning(
    "[[conductors]]",
    "Pulled, one entry a kind: from the catalog by size, insulation and metal; or your own cable "
    "by diameter, weight and max_tension; or both, what is stated holds",
    (
        KeyMeaning("name", '"control cable"', "as reports name it"),
        KeyMeaning("count", "3", "how many", "1"),
        KeyMeaning("size", '"4/0"', "AWG or kcmil; see: raceway catalog conductors"),
        KeyMeaning("insulation", '"THHN"', 'type as in the catalog, or "bare"'),
        KeyMeaning("metal", '"copper"', _one_of(METALS.values())),
        KeyMeaning(
            "temper",
            '"AA-8000"',
            f"of aluminum, for its tension limit: {_one_of(TEMPERS.values())}",
            "AA-8000 for building wire, with a caution",
        ),
        KeyMeaning(
            "stranding",
            '"compact"',
            _one_of(STRANDINGS.values()),
            "copper stranded, aluminum compact",
        ),
        KeyMeaning("diameter", '"0.61 in"', "over all, of one", "the catalog's"),
        KeyMeaning("weight", '"0.32 lbf/ft"', "per length, of one", "the catalog's"),
        KeyMeaning(
            "max_tension",
            '"190 lbf"',
            "the cable maker's limit, of one",
            "by metal and area; of a cable without size: not checked",
        ),
        KeyMeaning(
            "insulation_class",
            '"600 V control"',
            f"sets the sidewall limit: {_one_of(INSULATION_CLASSES.values())}",
        ),
    ),
)
_EXISTING = TableMeaning(
    "[[existing_conductors]]",
    "Already in the raceway and not pulled; counted in fill, jam ratio and clearance",
    _CONDUCTORS.keys,
)
_PULL = TableMeaning(
    "[pull]",
    "How the conductors are pulled",
    (
        KeyMeaning(
            "friction",
            "{ low = 0.20, expected = 0.35, high = 0.50 }",
            "a band, one number, or a name; see: raceway catalog frictions",
            "{ low = 0.20, expected = 0.35, high = 0.50 }",
        ),
        KeyMeaning("feed_tension", '"20 lbf"', "where the conductors enter", '"0 lbf"'),
        KeyMeaning(
            "arrangement",
            '"cradled"',
            f"how they lie: {_one_of(kind.value for kind in Arrangement)}",
            "by number and diameters",
        ),
        KeyMeaning(
            "weight_factor_in_bends", "false", "whether the weight factor counts in bends", "true"
        ),
        KeyMeaning(
            "attachment",
            '"basket grip"',
            f"at the head: {_one_of(kind.value for kind in Attachment)}",
            "grip not checked",
        ),
        KeyMeaning("line_working_load", '"900 lbf"', "of the pulling line", "line not checked"),
        KeyMeaning("puller_capacity", '"2000 lbf"', "of the puller", "puller not checked"),
        KeyMeaning(
            "lubricant_reach",
            '"120 ft"',
            "from each feed; beyond it dry_friction, or the band where that is higher",
            "the whole way",
        ),
        KeyMeaning("dry_friction", "0.5", "beyond lubricant_reach; one needs the other"),
    ),
)
_BY_SIDEWALL = TableMeaning(
    "[pull.friction_by_sidewall]",
    "Smaller friction in bends where the conductors press hard; above and friction are needed",
    (
        KeyMeaning("above", '"150 lbf/ft"', "sidewall pressure from which it holds"),
        KeyMeaning("friction", "0.25", "expected there; low and high fall by the same part"),
        KeyMeaning("source", '"cable maker\'s test"', "where both come from", "from memory"),
    ),
)
_LIMITS = TableMeaning(
    "[limits]",
    "A rule set, and single values that override it",
    (
        KeyMeaning("rules", '"nec-2020"', "see: raceway catalog rules", '"nec-2023"'),
        KeyMeaning("degrees_between_pull_points", "270", "degrees of bend", "the rule set's"),
        KeyMeaning(
            "length_between_pull_points", '"150 ft"', "along the run", "the rule set's, if any"
        ),
        KeyMeaning(
            "sidewall_pressure",
            '"500 lbf/ft"',
            "the cable maker's",
            "by insulation_class; else 300 lbf/ft, with a caution",
        ),
        KeyMeaning("clearance", '"1/2 in"', "least room above the conductors", '"1/4 in"'),
    ),
)
_BOXES = TableMeaning(
    "[boxes]",
    "raceway boxes: where boxes may be added, and what they cost",
    (
        KeyMeaning("run", '"feeder"', _RUN),
        KeyMeaning(
            "candidates", '["40 ft", "95 ft"]', "the only stations to choose from", "any straight"
        ),
        KeyMeaning("spacing", '"1 ft"', "between the places tried first", '"1 ft"'),
        KeyMeaning("need", '"18 in"', "clear straight on either side of a box's middle", '"12 in"'),
        KeyMeaning("keep_out", '[["30 ft", "60 ft"]]', "stretches where no box may stand"),
        KeyMeaning("allowed", '[["0 ft", "90 ft"]]', "stretches where boxes may stand", "all"),
        KeyMeaning("at_corners", "true", "whether a box may replace a bend", "false"),
        KeyMeaning("most", "4", "greatest number of boxes to add", "8"),
        KeyMeaning(
            "direction",
            '"forward"',
            f"which way the legs are pulled: {_one_of(BOX_DIRECTIONS.values())}",
            '"better"',
        ),
        KeyMeaning("cost_per_box", "400", "in any currency; one needs the other"),
        KeyMeaning("cost_per_setup", "650", "of each place where reels stand, same currency"),
    ),
)
_PLAN = TableMeaning(
    "[plan]",
    "raceway plan: what the crew needs besides",
    (
        KeyMeaning("feed_at", '"Box A"', "where the reels stand", "the best place is looked for"),
        KeyMeaning("slack_each_end", '"6 ft"', "conductor left at each end", '"10 ft"'),
        KeyMeaning("slack_per_box", '"2 ft"', "conductor left at each box", '"0 ft"'),
        KeyMeaning("slack_percent", "5", "added to the length with its slack", "10"),
        KeyMeaning(
            "call_out_every", '"25 ft"', "longest way of the head without a call-out", '"50 ft"'
        ),
        KeyMeaning(
            "line_breaking_strength",
            '"2500 lbf"',
            "of the pulling line; where line_working_load is not stated a fifth of it is the limit",
        ),
    ),
)
_FITTINGS = TableMeaning(
    "[[fittings]]",
    "Settings for a drawn fitting of that name, or a fitting placed by at or position; name is "
    "needed",
    (
        KeyMeaning("name", '"Box A"', "as drawn, or a new one"),
        KeyMeaning("kind", '"pull box"', _one_of(_KINDS), "as drawn; needed with at or position"),
        KeyMeaning("at", '"12 ft"', "its station along the run"),
        KeyMeaning("position", '["12 ft", "3 ft", "10 ft"]', "or its place in space"),
        KeyMeaning("run", '"feeder"', _RUN),
        KeyMeaning(
            "passage",
            '"through"',
            f"{_one_of(kind.value for kind in Passage)}: taken out slack and fed again, or tension "
            "carries on",
            "refeed; a caution where that decides",
        ),
        KeyMeaning(
            "pull_point", "true", "whether conductors can be fed or pulled there", "by kind"
        ),
        KeyMeaning("feed_tension", '"20 lbf"', "where conductors are fed there", "that of [pull]"),
        KeyMeaning(
            "size",
            '["24 in", "12 in", "8 in"]',
            "inside; tells which drawn corners lie in it, and the slack in a manhole or handhole; "
            "whether the box is large enough is not checked",
        ),
    ),
)

JOB_TABLES = (
    _TOP,
    _DRAWING,
    _RACEWAY,
    _CONDUCTORS,
    _EXISTING,
    _PULL,
    _BY_SIDEWALL,
    _LIMITS,
    _BOXES,
    _PLAN,
    _FITTINGS,
)
"""Every table of the job file in the order of a job, each with all its keys."""
