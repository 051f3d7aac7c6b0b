"""The house style is held by the tools that DEVELOPERS.md names."""

from __future__ import annotations

import ast
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


def test_factors_of_units_stand_in_units_alone() -> None:
    factors = {0.0254, 0.3048, 25.4, 304.8, 4.4482216152605, 9.80665}
    for folder in ("analyzer", "viewer"):
        for path in (ROOT / folder).rglob("*.py"):
            if path == ROOT / "analyzer" / "units.py":
                continue
            text = path.read_text(encoding="utf-8")
            if not any(str(factor) in text for factor in factors):
                continue
            numbers = {
                node.value
                for node in ast.walk(ast.parse(text))
                if isinstance(node, ast.Constant) and isinstance(node.value, float)
            }
            assert not numbers & factors, path
