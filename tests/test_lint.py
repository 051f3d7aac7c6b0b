"""The house style is held by the tools that DEVELOPERS.md names."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.mark.parametrize(
    "command",
    [
        ("ruff", "check", "--no-cache", "."),
        ("ruff", "format", "--no-cache", "--check", "."),
        ("mypy", "--no-error-summary"),
    ],
    ids=["lint", "format", "types"],
)
def test_tool_finds_nothing(command: tuple[str, ...]) -> None:
    result = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert result.returncode == 0, result.stdout + result.stderr
