"""The feeder that most tests pull: three 4/0 in EMT 2, as a job file and as options."""

from __future__ import annotations

__all__ = ["BAND", "FEEDER", "FEEDER_JOB", "QUICK"]

FEEDER = "3 x 4/0 THHN copper"
FEEDER_JOB = """\
[raceway]
type = "EMT"
trade_size = "2"
[[conductors]]
count = 3
size = "4/0"
insulation = "THHN"
metal = "copper"
"""
BAND = "friction = { low = 0.2, expected = 0.35, high = 0.5 }\n"
QUICK = ["--raceway", "EMT 2", "--conductor", FEEDER, "--friction", "0.2,0.35,0.5"]
