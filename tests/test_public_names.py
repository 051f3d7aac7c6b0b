"""Every module lists its public names, sorted; the list is the reality; each has a docstring,
and the examples in docstrings hold.

Functions and classes without a leading underscore are public. Constants and type aliases are
public where they are listed; what another module imports has to be.
"""

from __future__ import annotations

import ast
import doctest
import importlib
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
MODULES = sorted(
    path
    for package in ("analyzer", "viewer")
    for path in (ROOT / package).rglob("*.py")
    if path.name != "__main__.py" and path.read_text("utf-8").strip()
)
WITH_EXAMPLES = [path for path in MODULES if ">>>" in path.read_text("utf-8")]


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


@cache
def tree_of(path: Path) -> ast.Module:
    """A module parsed once, however many others import from it."""
    return ast.parse(path.read_text("utf-8"))


def listed_names(tree: ast.Module) -> list[str] | None:
    """The literal `__all__` of a module; None where it has none."""
    for node in tree.body:
        if isinstance(node, ast.Assign):
            targets, value = node.targets, node.value
        elif isinstance(node, ast.AnnAssign) and node.value is not None:
            targets, value = [node.target], node.value
        else:
            continue
        if any(isinstance(target, ast.Name) and target.id == "__all__" for target in targets):
            names = ast.literal_eval(value)
            return list(names)
    return None


def defined_names(tree: ast.Module) -> tuple[set[str], set[str]]:
    """Public functions and classes, and constants and aliases, at the top of a module."""
    made, assigned = set(), set()
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            made.add(node.name)
        elif isinstance(node, ast.Assign):
            assigned |= {target.id for target in node.targets if isinstance(target, ast.Name)}
        elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            assigned.add(node.target.id)
    return tuple({name for name in names if name[0] != "_"} for names in (made, assigned))


def imported_names(tree: ast.Module) -> list[tuple[str, str]]:
    """Module and name of everything imported by name from one of our packages."""
    return [
        (node.module, alias.name)
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module and not node.level
        if node.module.split(".")[0] in ("analyzer", "viewer")
        for alias in node.names
    ]


def place_in_list(name: str) -> tuple[int, str]:
    """Constants, then classes, then the rest, as the linter sorts them."""
    kind = 0 if name.isupper() else 1 if name[:1].isupper() else 2
    return kind, name


def without_docstring(tree: ast.Module) -> list[str]:
    """Public functions, classes and methods that have no docstring."""
    missing = []
    for node in tree.body:
        if not isinstance(node, ast.FunctionDef | ast.ClassDef) or node.name.startswith("_"):
            continue
        if ast.get_docstring(node) is None:
            missing.append(node.name)
        if isinstance(node, ast.ClassDef):
            missing += [
                f"{node.name}.{inner.name}"
                for inner in node.body
                if isinstance(inner, ast.FunctionDef)
                and not inner.name.startswith("_")
                and ast.get_docstring(inner) is None
            ]
    return missing


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_list_of_public_names_is_sorted_and_true(path):
    tree = tree_of(path)
    listed = listed_names(tree)
    assert listed is not None, "the module has no __all__"
    assert listed == sorted(set(listed), key=place_in_list)
    if path.name != "__init__.py":
        made, assigned = defined_names(tree)
        assert made <= set(listed) <= made | assigned


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_module_and_every_public_name_have_a_docstring(path):
    tree = tree_of(path)
    assert ast.get_docstring(tree), "the module has no docstring"
    assert without_docstring(tree) == []


@pytest.mark.parametrize("path", WITH_EXAMPLES, ids=name_of)
def test_examples_of_the_docstrings_hold(path):
    parts = path.relative_to(ROOT).with_suffix("").parts
    module = importlib.import_module(".".join(parts).removesuffix(".__init__"))
    result = doctest.testmod(module)
    assert result.attempted > 0
    assert result.failed == 0


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_only_public_names_are_imported(path):
    for module, name in imported_names(tree_of(path)):
        source = ROOT.joinpath(*module.split("."))
        if (source / f"{name}.py").is_file() or (source / name).is_dir():
            continue
        file = source / "__init__.py" if source.is_dir() else source.with_suffix(".py")
        assert file.is_file(), f"{module} is no module of ours"
        listed = listed_names(tree_of(file))
        assert listed is not None and name in listed, f"{name} is not public in {module}"


@pytest.mark.parametrize("package", ["analyzer", "analyzer.job"])
def test_package_offers_the_names_it_lists(package):
    code = f"import {package} as p\nfor name in p.__all__:\n    getattr(p, name)"
    subprocess.run([sys.executable, "-c", code], check=True, cwd=ROOT)


@pytest.mark.parametrize("package", ["analyzer", "viewer"])
def test_every_folder_with_modules_is_a_package(package):
    folders = {path.parent for path in (ROOT / package).rglob("*.py")}
    assert not [folder for folder in folders if not (folder / "__init__.py").is_file()]


def test_unlisted_or_undocumented_name_would_be_found():
    tree = ast.parse('"""Doc."""\n__all__ = ["a"]\nB = 1\ndef a(): ...\nclass C:\n    """C."""')
    assert listed_names(tree) == ["a"]
    assert defined_names(tree) == ({"a", "C"}, {"B"})
    assert without_docstring(tree) == ["a"]
