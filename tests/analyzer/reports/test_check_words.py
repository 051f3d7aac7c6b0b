"""What the checks of a run say together."""

from __future__ import annotations

from dataclasses import replace

from analyzer.checks.check import Check
from analyzer.findings import Verdict
from analyzer.reports.check_words import check_cautions

FORWARD = Check(
    code="conductor-tension",
    leg=None,
    direction="forward",
    verdict=Verdict.CAUTION,
    value=2.0,
    limit=1.0,
    unit="N",
    where="whole run",
    station_m=None,
    source="passage not stated",
    message="Not stated at A. Pulled through forward, tension 2 N. State it.",
    way_words="forward, tension 2 N",
)
REVERSE = replace(
    FORWARD,
    code="sidewall",
    direction="reverse",
    message="Not stated at A. Pulled through in reverse, sidewall 3 N/m. State it.",
    way_words="in reverse, sidewall 3 N/m",
)


def test_cautions_alike_but_for_the_direction_are_told_in_one_sentence() -> None:
    elsewhere = replace(FORWARD, message=FORWARD.message.replace("at A", "at B"))
    both = "Not stated at A. Pulled through forward, tension 2 N; in reverse, sidewall 3 N/m. "
    assert check_cautions([FORWARD, elsewhere, REVERSE]) == [
        f"{both}State it.",
        elsewhere.message,
    ]


def test_a_caution_on_one_direction_alone_reads_as_its_check() -> None:
    assert check_cautions([FORWARD, replace(REVERSE, counts=False)]) == [FORWARD.message]
    assert check_cautions([REVERSE, REVERSE]) == [REVERSE.message]


def test_cautions_on_assumptions_follow_with_what_they_touch() -> None:
    doubtful = replace(FORWARD, doubts=("friction is assumed",), way_words="")
    told = check_cautions([doubtful, FORWARD, replace(doubtful, code="sidewall"), REVERSE])
    assert len(told) == 2
    assert told[1].startswith("Friction is assumed (touches ")
