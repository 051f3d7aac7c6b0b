"""The files that a command line names: routes must be there, and no output may cost an input."""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterator
from pathlib import Path

from analyzer.errors import OutputError, RouteError

__all__ = ["check_outputs", "check_route", "is_file", "job_beside", "name_fault", "named_path"]

_LONGEST_SHOWN = 120  # letters of a path in a message

_SUFFIXES = {
    "json": (".json", ".txt"),
    "csv": (".csv", ".txt"),
    "sheet": (".html", ".htm"),
    "html": (".html", ".htm"),
    "page": (".html", ".htm"),
    "xlsx": (".xlsx",),
    "write_job": (".toml",),
    "image": (".png",),
    "glb": (".glb",),
    "movie": (".gif", ".mp4"),
}
"""Outputs of all commands, and the endings that a file of each kind has."""
_KNOWN = {suffix for group in _SUFFIXES.values() for suffix in group} | {
    ".bmp", ".csv", ".dxf", ".gltf", ".jpeg", ".jpg", ".obj", ".ods", ".pdf", ".stl", ".svg",
    ".tif", ".tiff", ".webp", ".xls", ".xlsm",
}  # fmt: skip
_TEXT = ("json", "csv", "sheet", "html")
"""Outputs that can go to standard output."""


def named_path(text: str) -> Path:
    """Return the path of an option; an empty name, which would be the current folder, is refused.

    Raises
    ------
    ArgumentTypeError
        If it is empty.
    """
    if not text.strip():
        raise argparse.ArgumentTypeError("the name is empty: give one, or leave the option out")
    return Path(text)


def job_beside(route: Path) -> Path | None:
    """Return where the job file beside a route would stand; None for what has no name of a file."""
    return route.with_suffix(".toml") if route.name else None


def name_fault(path: Path) -> str:
    """Return why nothing can be asked of a file of that name; empty where it can.

    A name that is too long, a folder that cannot be looked into and links in a circle are faults; a
    file that is not there is none.
    """
    try:
        path.stat()
    except (FileNotFoundError, NotADirectoryError):
        return ""
    except OSError as error:
        return error.strerror or type(error).__name__
    except ValueError as error:
        return f"no file name ({error})"
    return ""


def is_file(path: Path) -> bool:
    """Whether a file stands there; nothing does under a name that can be none of a file."""
    return not name_fault(path) and path.is_file()


def _shown(path: Path) -> str:
    """Return a path for a message: a long one cut, one of odd characters in quotes."""
    text = str(path)
    text = text if text.isprintable() else repr(text)
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}..."


def check_route(path: Path) -> None:
    """Refuse a route that is not there.

    Raises
    ------
    RouteError
        If there is no such file, it is a folder, or the name can be none of a file.
    """
    if fault := name_fault(path):
        raise RouteError(f"{_shown(path)}: {fault}")
    if path.is_dir():
        fault = "an empty name is no route" if path == Path() else f"{path} is a folder, no route"
        raise RouteError(f"{fault}: name a .dxf or .csv file")
    if not path.exists():
        raise RouteError(f"{path}: there is no such file")


def check_outputs(args: argparse.Namespace) -> None:
    """Refuse outputs that would overwrite an input or each other, or be what their name denies.

    Nor may one have no place to stand: nothing is written then, by any of them.

    Parameters
    ----------
    args : Namespace
        A parsed command line; outputs are known by their option.

    Raises
    ------
    OutputError
        With the option and the file.
    """
    inputs = _inputs(args)
    taken: dict[Path, str] = {}
    for option, path in _outputs(args):
        if str(path) == "-":
            if option not in _TEXT:
                raise OutputError(f"--{option} goes to a file: give it a name instead of -")
            if path in taken:
                raise OutputError(
                    f"--{taken[path]} and --{option} both go to standard output: name a file for "
                    "one of them"
                )
            taken[path] = option
            continue
        if fault := name_fault(path):
            raise OutputError(f"cannot write {_shown(path)}: {fault}")
        if path == Path():
            raise OutputError(f"--{option}: the name of the file is empty")
        if path.is_dir():
            raise OutputError(f"cannot write {path}: it is a folder, --{option} writes a file")
        _check_suffix(option, path)
        real = path.resolve()
        _check_place(path, real)
        if real in inputs:
            raise OutputError(f"--{option} {path} would overwrite {inputs[real]}: name another")
        if real in taken:
            raise OutputError(f"--{taken[real]} and --{option} name the same file {path}")
        taken[real] = option
        if option == "write-job" and path.exists():
            raise OutputError(
                f"{path} is there already, and --write-job makes a new job file only: name "
                "another, or take this one away"
            )
    _check_folder(args, inputs, taken)


def _check_place(path: Path, real: Path) -> None:
    """Refuse a place where no file can be written, before any other output is."""
    if not real.parent.is_dir():
        raise OutputError(f"cannot write {path}: there is no folder {path.parent}")
    target = real if real.exists() and not real.is_file() else real.parent
    if not os.access(target, os.W_OK):
        raise OutputError(f"cannot write {path}: no permission to write there")


def _outputs(args: argparse.Namespace) -> Iterator[tuple[str, Path]]:
    for name in _SUFFIXES:
        path = getattr(args, name, None)
        is_folder = name == "csv" and hasattr(args, "sheet")
        if isinstance(path, Path) and not is_folder:
            yield name.replace("_", "-"), path


def _inputs(args: argparse.Namespace) -> dict[Path, str]:
    """Return every file that is read, and what it is."""
    routes = [Path(route) for route in getattr(args, "routes", None) or ()]
    found = {r.resolve(): f"the route {r}" for r in routes if not name_fault(r)}
    job = getattr(args, "job", None)
    jobs = [job] if job else [job_beside(route) for route in routes]
    found.update({job.resolve(): f"the job file {job}" for job in jobs if job and is_file(job)})
    return found


def _check_suffix(option: str, path: Path) -> None:
    allowed, suffix = _SUFFIXES[option.replace("-", "_")], path.suffix.lower()
    if suffix in _KNOWN and suffix not in allowed:
        raise OutputError(
            f"--{option} {path}: what it writes is no {suffix} file; end the name in "
            f"{' or '.join(allowed)}"
        )


def _check_folder(
    args: argparse.Namespace, inputs: dict[Path, str], taken: dict[Path, str]
) -> None:
    """Refuse a folder of tables one of which would overwrite a route, or that is a file."""
    folder = getattr(args, "csv", None)
    if not isinstance(folder, Path) or not hasattr(args, "sheet"):
        return
    if str(folder) == "-":
        raise OutputError("--csv writes a folder of tables: give it a name instead of -")
    if fault := name_fault(folder):
        raise OutputError(f"cannot make folder {_shown(folder)}: {fault}")
    if folder.resolve() in taken:
        raise OutputError(f"--{taken[folder.resolve()]} and --csv name the same file {folder}")
    if folder.exists() and not folder.is_dir():
        raise OutputError(f"cannot write {folder}: --csv makes a folder, and this is a file")
    stands = next(place for place in folder.resolve().parents if place.exists())
    if not folder.exists() and not (stands.is_dir() and os.access(stands, os.W_OK)):
        raise OutputError(f"cannot make folder {folder}: {stands.name} takes no folder")
    from analyzer.reports.table_columns import TABLE_NAMES

    for name in TABLE_NAMES:
        real = (folder / f"{name}.csv").resolve()
        if real in inputs:
            raise OutputError(f"--csv {folder} would overwrite {inputs[real]}: name another folder")
