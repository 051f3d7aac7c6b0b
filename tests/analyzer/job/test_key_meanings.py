"""Every key of the job file is told to people, with an example and the default that holds."""

from __future__ import annotations

import re
import tomllib
from dataclasses import fields
from pathlib import Path

import pytest
from pydantic import BaseModel

from analyzer.job import keys, parse_job
from analyzer.job.key_meanings import JOB_TABLES, KeyMeaning
from analyzer.job.settings import (
    BoxSettings,
    DrawingSettings,
    Friction,
    Limits,
    PlanSettings,
    PullSettings,
)
from analyzer.reports.job_keys_text import job_keys_text

MODELS: dict[str, type[BaseModel]] = {
    "": keys.JobTable,
    "[drawing]": keys.DrawingTable,
    "[raceway]": keys.RacewayTable,
    "[[conductors]]": keys.ConductorTable,
    "[[existing_conductors]]": keys.ConductorTable,
    "[pull]": keys.PullTable,
    "[pull.friction_by_sidewall]": keys.SidewallFrictionTable,
    "[limits]": keys.LimitsTable,
    "[boxes]": keys.BoxesTable,
    "[plan]": keys.PlanTable,
    "[[fittings]]": keys.FittingTable,
}
SETTINGS = {
    "[drawing]": DrawingSettings(),
    "[pull]": PullSettings(),
    "[limits]": Limits(),
    "[boxes]": BoxSettings(),
    "[plan]": PlanSettings(),
}
TABLES = {"drawing", "raceway", "conductors", "existing_conductors", "pull", "limits", "boxes"}
INNER = {"": TABLES | {"plan", "fittings"}, "[pull]": {"friction_by_sidewall"}}
EACH = [(table.heading, key) for table in JOB_TABLES for key in table.keys]


def read(heading: str, key: KeyMeaning, text: str) -> object:
    """What the model of a table makes of a value."""
    model = MODELS[heading]
    needed = {
        name: {"name": "x", "above": "1 lbf/ft", "friction": 0.2}[name]
        for name, field in model.model_fields.items()
        if field.is_required()
    }
    value = tomllib.loads(f"value = {text}")["value"]
    return getattr(model.model_validate(needed | {key.name: value}), key.name)


def test_every_key_is_told_in_the_order_of_its_table() -> None:
    assert [table.heading for table in JOB_TABLES] == list(MODELS)
    every = {
        model
        for model in vars(keys).values()
        if isinstance(model, type)
        and issubclass(model, BaseModel)
        and model.__module__ == keys.__name__
    }
    assert every - {keys._Table} == set(MODELS.values())
    for table in JOB_TABLES:
        left_out = INNER.get(table.heading, set())
        wanted = [name for name in MODELS[table.heading].model_fields if name not in left_out]
        assert [key.name for key in table.keys] == wanted, table.heading


@pytest.mark.parametrize(("heading", "key"), EACH, ids=lambda item: getattr(item, "name", item))
def test_every_example_is_one_that_a_job_can_hold(heading: str, key: KeyMeaning) -> None:
    read(heading, key, key.example)
    assert key.meaning


def is_value(text: str) -> bool:
    try:
        tomllib.loads(f"value = {text}")
    except tomllib.TOMLDecodeError:
        return False
    return True


def test_defaults_told_as_values_are_those_that_hold() -> None:
    held = 0
    for heading, key in EACH:
        if heading not in SETTINGS or not is_value(key.default):
            continue
        settings = SETTINGS[heading]
        (name,) = [
            field.name
            for field in fields(settings)
            if field.name in (key.name, f"{key.name}_m", f"{key.name}_n")
        ]
        told, holds = read(heading, key, key.default), getattr(settings, name)
        if isinstance(told, Friction):
            told = (told.low, told.expected, told.high)
            holds = (holds.low, holds.expected, holds.high)
        assert told == (pytest.approx(holds) if isinstance(holds, float) else holds), key.name
        held += 1
    assert held >= 15


@pytest.mark.parametrize("width", [40, 60, 80, 110])
def test_listing_holds_every_key_and_folds(width: int) -> None:
    text = job_keys_text(width)
    assert max(map(len, text.splitlines())) <= width
    for heading, key in EACH:
        assert heading in text
        assert f"  {key.name} = " in text


def test_looking_for_a_text_keeps_the_keys_that_hold_it() -> None:
    text = job_keys_text(100, find="MAX_tension")
    assert 'max_tension = "190 lbf"' in text
    assert "feed_tension" not in text
    assert job_keys_text(100, find="no such key") == ""


def test_job_of_the_readme_is_one_with_and_without_the_cable_of_your_own() -> None:
    readme = (Path(__file__).parents[3] / "README.md").read_text(encoding="utf-8")
    part = readme.partition("## The job file")[2]
    (text,) = re.findall(r"```toml\n(.*?)```", part.partition("\n## ")[0], re.DOTALL)
    assert [line.count for line in parse_job(text).conductors] == [3]
    own = re.search(r"# \[\[conductors\]\].*?\n\n", text, re.DOTALL)
    assert own is not None
    stated = text.replace(own[0], re.sub(r"^# ", "", own[0], flags=re.MULTILINE))
    cable = parse_job(stated).conductors[1].conductor
    assert (cable.name, cable.weight_from) == ("control cable", "stated")
