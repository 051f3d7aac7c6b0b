"""Lets these tests use the routes and jobs that the property tests share with them."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.append(str(Path(__file__).parents[2] / "properties"))
