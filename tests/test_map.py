"""The map of the developers' guide names every module once, in the room where it stands."""

from __future__ import annotations

import re
from fnmatch import fnmatch
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = ("analyzer", "viewer")


def named_places() -> list[str]:
    """Every module of the map as a path; names of one line share what the line says of them."""
    guide = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    lines = guide.split("## Map", 1)[1].split("```")[1].strip("\n").splitlines()
    rooms: list[tuple[int, str]] = []
    places = []
    for line in lines:
        indent = len(line) - len(line.lstrip())
        names = re.split(r"\s{3,}", line.strip())[0].split()
        rooms = [room for room in rooms if room[0] < indent]
        inside = "".join(room for _, room in rooms)
        if names[0].endswith("/"):
            rooms.append((indent, names[0]))
        elif inside.startswith(PACKAGES):
            places += [f"{inside}{name}.py" for name in names]
    return places


def modules() -> set[str]:
    return {
        path.relative_to(ROOT).as_posix()
        for package in PACKAGES
        for path in (ROOT / package).rglob("*.py")
        if not path.name.startswith("__")
    }


def test_every_module_stands_on_the_map_once() -> None:
    places = named_places()
    for module in sorted(modules()):
        exact = places.count(module)
        kinds = sum("*" in place and fnmatch(module, place) for place in places)
        assert exact == 1 or (exact == 0 and kinds == 1), module


def test_the_map_names_nothing_that_is_gone() -> None:
    held = modules()
    gone = [place for place in named_places() if not any(fnmatch(m, place) for m in held)]
    assert not gone
