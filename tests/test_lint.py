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


def section_names(docstring: str, section: str) -> set[str] | None:
    """Return the names that a section of a docstring tells of; None without such a section."""
    lines = docstring.splitlines()
    starts = [i for i, line in enumerate(lines[1:]) if line.startswith("---")]
    heads = [i for i in starts if lines[i] == section]
    if not heads:
        return None
    end = min([i for i in starts if i > heads[0]], default=len(lines))
    told = (line.partition(" : ")[0] for line in lines[heads[0] + 2 : end] if line[:1].strip())
    return {name.strip(" *") for names in told for name in names.split(",")}


def fields_of(node: ast.ClassDef) -> set[str]:
    fields = {item.target.id for item in node.body if isinstance(item, ast.AnnAssign)}  # type: ignore[union-attr]
    return {name for name in fields if not name.startswith("_")}


def arguments_of(node: ast.FunctionDef) -> set[str]:
    args = node.args
    every = [*args.posonlyargs, *args.args, *args.kwonlyargs, args.vararg, args.kwarg]
    return {arg.arg for arg in every if arg is not None} - {"self", "cls"}


def test_docstrings_name_the_arguments_and_fields_that_there_are() -> None:
    wrong = []
    for path in sorted(p for part in ("analyzer", "viewer") for p in (ROOT / part).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef):
                there = arguments_of(node)
                told = section_names(ast.get_docstring(node) or "", "Parameters")
            elif isinstance(node, ast.ClassDef) and any(
                "dataclass" in ast.unparse(d) for d in node.decorator_list
            ):
                there, told = (
                    fields_of(node),
                    section_names(ast.get_docstring(node) or "", "Attributes"),
                )
            else:
                continue
            if told is not None and told != there:
                wrong.append((path.relative_to(ROOT).as_posix(), node.name, sorted(told ^ there)))
    assert not wrong
