"""Words a job may use."""

from __future__ import annotations

import pytest

from analyzer.catalog.conductors import find_conductor
from analyzer.catalog.nearest import nearest_name
from analyzer.catalog.tables import read_table
from analyzer.errors import JobError
from analyzer.geometry.readings import ReadAs
from analyzer.job import parse_job, words
from analyzer.units import LengthUnit


def test_every_length_unit_can_be_named():
    assert {LengthUnit(word) for word in words.LENGTH_UNITS.values()} == set(LengthUnit)


def test_insulation_classes_are_those_of_the_table():
    classes = {
        row["applies_to"]
        for row in read_table("pull_limits").rows
        if row["limit"] == "sidewall pressure"
    }
    assert set(words.INSULATION_CLASSES.values()) == classes - {"older general rule"}


def test_tempers_are_those_of_the_catalog():
    for temper in set(words.TEMPERS.values()):
        assert find_conductor("4/0", "XHHW-2", "aluminum", temper).temper == temper


@pytest.mark.parametrize(
    ("stranding", "choice"),
    [
        ("stranded", ("4/0", "THHN", "aluminum")),
        ("compact", ("4/0", "THHN", "aluminum")),
        ("solid", ("12", "THHN", "copper")),
    ],
)
def test_stranding_is_known_to_the_catalog(stranding, choice):
    assert stranding in words.STRANDINGS
    assert find_conductor(*choice, stranding=stranding).stranding == stranding


CONDUCTORS = '[[conductors]]\ncount = 1\nsize = "4"\ninsulation = "THHN"\nmetal = "copper"\n'


@pytest.mark.parametrize("word", ["corners", "chords", "survey"])
def test_every_reading_of_points_can_be_asked_for(word):
    job = parse_job(f'{CONDUCTORS}[drawing.read_as]\nA = "{word}"\n')
    assert job.drawing.read_as == (("A", word),)
    assert ReadAs(word).value == word


@pytest.mark.parametrize("word", ["arcs", "spline", "Arcs"])
def test_curves_of_a_drawing_cannot_be_asked_for(word):
    with pytest.raises(JobError) as caught:
        parse_job(f'{CONDUCTORS}[drawing.read_as]\nA = "{word}"\n')
    assert caught.value.exit_code == 2
    assert "belongs to curves of a drawing" in str(caught.value)
    assert 'can be read as "corners", "chords", "survey"' in str(caught.value)
    assert "line 7" in str(caught.value)


@pytest.mark.parametrize(
    ("word", "choices", "wanted"),
    [
        ("imperial", ["us", "metric"], None),
        ("600 V", ["300 V", "600 V control", "600 V power"], None),
        ("600 v powr", ["300 V", "600 V control", "600 V power"], "600 V power"),
        ("backward", ["better", "forward", "reverse"], None),
        ("Feeder 12", ["Feeder 2", "Feeder 1"], None),
        ("THHN-2", ["THHN", "THWN-2"], "THHN"),
        ("THWN-3", ["THWN", "THWN-2"], None),
        ("coper", ["copper", "aluminum"], "copper"),
    ],
)
def test_a_suggestion_mends_a_slip_and_never_changes_what_is_meant(word, choices, wanted):
    assert nearest_name(word, choices) == wanted
