"""The way from a route file to runs: reader, first end, bends, fittings.

Bends are read run by run; where one cannot be read, the others stand and it is told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from hashlib import sha256
from itertools import compress
from pathlib import Path

from analyzer.errors import InputError, JobError, RouteError
from analyzer.findings import Finding, Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.drawn import DrawnPath
from analyzer.geometry.readings import RadiusFrom, ReadAs, Reading
from analyzer.importers.concerned_runs import findings_by_run
from analyzer.importers.drawings.repairs import telling_damage
from analyzer.importers.drawn_file import DrawnFile
from analyzer.importers.first_ends import with_first_ends
from analyzer.importers.forced_readings import forced_readings
from analyzer.importers.near_runs import near_run_findings
from analyzer.importers.numbered_runs import with_run_names
from analyzer.importers.places import FilePlaces
from analyzer.importers.points.reader import read_points
from analyzer.importers.run_extents import run_extent_findings
from analyzer.importers.told_units import in_order_of
from analyzer.job.settings import DrawingSettings, Job
from analyzer.job.words import sentence_list
from analyzer.route.paths import PathToPlace
from analyzer.route.placing import PlacedRun, place_fittings
from analyzer.route.run import Route, Run, RunInput
from analyzer.units import show_radius

__all__ = ["POINT_SUFFIXES", "open_route"]

POINT_SUFFIXES = (".csv", ".tsv", ".txt")
"""Endings of the names of point files."""

_DRAWING_SUFFIXES = (".dxf",)


def open_route(path: Path | str, job: Job) -> Route:
    """Return the runs of a route file, bends read and fittings placed.

    Parameters
    ----------
    path : Path or str
        A drawing (``.dxf``) or a file of points (``.csv``, ``.tsv``, ``.txt``).
    job : Job
        Units, snap, first end, bend radius and fittings hold where the file does not say.

    Returns
    -------
    Route
        The runs with their findings, and the findings of the file.

    Raises
    ------
    RouteError
        If the file is missing or cannot be read for certain.
    JobError
        If the job names a run, an end or a fitting that the file does not hold.
    """
    path = Path(path)
    checksum = _checksum(path)
    drawn = with_run_names(_read_file(path, job), path.stem, job)
    with telling_damage(drawn.findings):
        return _placed_route(drawn, path, checksum, job)


def _placed_route(drawn: DrawnFile, path: Path, checksum: str, job: Job) -> Route:
    """Return the runs of what was drawn, bends read and fittings placed."""
    of_ends: list[list[Finding]] = [[] for _ in drawn.paths]
    drawn = with_first_ends(drawn, job, of_ends)
    source = RunInput(
        file=path.name,
        sha256=checksum,
        reader=drawn.reader,
        length_unit=drawn.length_unit,
        length_unit_from=drawn.length_unit_from,
        extents_m=drawn.extents_m,
    )
    placed, keep, unread = _placed(_to_place(drawn, path.name, job), drawn, job)
    drawn = drawn.keeping(keep)
    of_file, rest = findings_by_run(drawn, [one.drawn_m for one in placed])
    runs = tuple(
        _run(drawn_path.name, one, (*on_run, *of_end), source, job)
        for drawn_path, one, on_run, of_end in zip(
            drawn.paths, placed, of_file, compress(of_ends, keep), strict=True
        )
    )
    runs = _with_near_runs(runs, drawn.layouts, job)
    return Route(source, runs, (*unread, *rest, *_unused_radius(runs, path, job)))


def _to_place(drawn: DrawnFile, file: str, job: Job) -> list[PathToPlace]:
    """Return the paths of a file, each with the way to read its bends."""
    forced = forced_readings([drawn_path.name for drawn_path in drawn.paths], job)
    return [
        PathToPlace(
            drawn_path.name, drawn_path, partial(_read, drawn_path, job, as_read, places), layout
        )
        for drawn_path, as_read, places, layout in zip(
            drawn.paths, forced, _places(drawn, file), drawn.layouts, strict=True
        )
    ]


def _placed(
    paths: Sequence[PathToPlace], drawn: DrawnFile, job: Job
) -> tuple[tuple[PlacedRun, ...], list[bool], list[Finding]]:
    """Return the runs that can be read, which of the paths these are, and what bars the others."""
    try:
        placed = place_fittings(paths, drawn.fittings, job, drawn.left_out)
        return placed, [True] * len(paths), []
    except RouteError:
        unread = _unread(paths, drawn) if len(paths) > 1 else []
        lost = {finding.where for finding in unread}
        if not lost or len(lost) == len(paths):
            raise
    keep = [path.name not in lost for path in paths]
    fittings = drawn.keeping(keep).fittings
    return place_fittings(list(compress(paths, keep)), fittings, job, drawn.left_out), keep, unread


def _unread(paths: Sequence[PathToPlace], drawn: DrawnFile) -> list[Finding]:
    """Return a finding of severity error for every run that cannot be read by itself."""
    found = []
    for path in paths:
        try:
            with telling_damage(drawn.findings):
                path.read(frozenset())
        except RouteError as error:
            found.append(Finding("run-unread", Severity.ERROR, str(error), path.name))
    return found


def _run(
    name: str, placed: PlacedRun, told_before: Sequence[Finding], source: RunInput, job: Job
) -> Run:
    """Return a run with its findings: those told before it was read come first."""
    reading = placed.reading
    return Run(
        name=name,
        input=source,
        centerline=reading.centerline,
        bends=reading.bends,
        fittings=placed.fittings,
        read_as=reading.read_as,
        deviation_m=reading.deviation_m,
        findings=(
            *told_before,
            *reading.findings,
            *_unused_accuracy(name, reading.read_as, job),
            *run_extent_findings(name, reading.centerline, source, job),
            *placed.findings,
        ),
        rounding_m=reading.rounding_m,
    )


def _with_near_runs(runs: tuple[Run, ...], layouts: Sequence[str], job: Job) -> tuple[Run, ...]:
    """Tell of runs too near to each other, but of none that are told to overlap."""
    names, lines = [run.name for run in runs], [run.centerline for run in runs]
    for pair, near in near_run_findings(names, lines, layouts, job):
        both = set(runs[pair[0]].findings) & set(runs[pair[1]].findings)
        if any(finding.code == "overlapping-entity" for finding in both):
            continue
        runs = tuple(
            replace(run, findings=(*run.findings, near)) if index in pair else run
            for index, run in enumerate(runs)
        )
    return runs


def _checksum(path: Path) -> str:
    readable = ", ".join((*_DRAWING_SUFFIXES, *POINT_SUFFIXES))
    try:
        is_folder, is_there = path.is_dir(), path.exists()
    except (OSError, ValueError) as error:
        raise RouteError(f"{path} cannot be read: {_reason(error)}") from error
    if is_folder:
        raise RouteError(f"{path} is a folder: name a route file ({readable})")
    if not is_there:
        raise RouteError(f"{path} does not exist: check the name and the folder")
    if path.suffix.lower() == ".toml":
        raise RouteError(
            f"{path.name} looks like a job file: name the route ({readable}) and give the job by "
            f"--job {path.name}"
        )
    if path.suffix.lower() not in (*_DRAWING_SUFFIXES, *POINT_SUFFIXES):
        raise RouteError(
            f"{path.name} is no route that can be read: a drawing ends in .dxf, a file of points "
            f"in {', '.join(POINT_SUFFIXES)}"
        )
    try:
        return sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        raise RouteError(f"{path} cannot be read: {_reason(error)}") from error


def _reason(error: OSError | ValueError) -> str:
    return getattr(error, "strerror", None) or str(error) or type(error).__name__


def _read_file(path: Path, job: Job) -> DrawnFile:
    if path.suffix.lower() in POINT_SUFFIXES:
        points = read_points(path, job)
        return replace(points, findings=(*points.findings, *_unused_settings(path, job)))
    if job.drawing.axes is not None:
        raise JobError(
            f"{job.at('drawing', 'axes')}"
            f"axes under [drawing] says what the columns of points mean, but {path.name} is a "
            "drawing: leave it out"
        )
    from analyzer.importers.drawings.reader import read_drawing

    return read_drawing(path, job)


def _unused_accuracy(run: str, read_as: ReadAs, job: Job) -> list[Finding]:
    """Say that curves are read as drawn, whatever accuracy is stated for points."""
    if job.drawing.accuracy_m is None or read_as not in (ReadAs.ARCS, ReadAs.SPLINE):
        return []
    text = (
        f"accuracy under [drawing] does nothing for run {run}: its curves are read as drawn; an "
        "accuracy is that of points and straight lines of a survey"
    )
    return [Finding("drawing-setting-unused", Severity.NOTE, text, f"run {run}")]


def _unused_radius(runs: Sequence[Run], path: Path, job: Job) -> list[Finding]:
    """Say that no corner of a file takes the bend radius that the job states."""
    radii_from = {bend.radius_from for run in runs for bend in run.bends if not bend.in_fitting}
    if job.bend_radius_m is None or RadiusFrom.JOB in radii_from:
        return []
    why = "every bend has a radius of its own, which goes first" if radii_from else "it has no bend"
    text = (
        f"bend_radius under [raceway], {show_radius(job.bend_radius_m, job.units)}, is the radius "
        f"of no bend of {path.name}: {why}"
    )
    return [Finding("bend-radius-unused", Severity.NOTE, text, f"{path.name}, [raceway]")]


def _unused_settings(path: Path, job: Job) -> list[Finding]:
    """Say which settings for drawings do nothing for a file of points."""
    given, plain = job.drawing, DrawingSettings()
    keys = {
        "layers": given.layers != plain.layers,
        "name_layers": given.name_layers != plain.name_layers,
        "layouts": given.layouts != plain.layouts,
        "join": given.join_m != plain.join_m,
        "fittings": given.fitting_kinds != plain.fitting_kinds,
    }
    unused = [key for key, is_given in keys.items() if is_given]
    if not unused:
        return []
    verb = "does" if len(unused) == 1 else "do"
    text = (
        f"{sentence_list(unused)} under [drawing] {verb} nothing for {path.name}, a file of "
        "points: only a drawing has layers, blocks and loose ends; leave out "
        "what is not meant, or check that this is the file you mean"
    )
    return [Finding("drawing-setting-unused", Severity.NOTE, text, f"{path.name}, [drawing]")]


def _places(drawn: DrawnFile, file: str) -> list[FilePlaces]:
    marks = drawn.marks or ((),) * len(drawn.paths)
    return [FilePlaces(file, drawn.length_unit, of_path) for of_path in marks]


def _read(
    drawn_path: DrawnPath,
    job: Job,
    as_read: ReadAs | None,
    places: FilePlaces,
    kept: frozenset[int],
) -> Reading:
    radius_m, radius_from = _corner_radius(job)
    try:
        reading = read_bends(
            drawn_path,
            corner_radius_m=radius_m,
            radius_from=radius_from,
            kept_vertices=kept,
            accuracy_m=job.drawing.accuracy_m,
            read_as=as_read,
            where=f"run {drawn_path.name}",
        )
    except InputError as error:
        text = f"{places.file}: run {drawn_path.name} ({drawn_path.where}): {error}"
        raise RouteError(text) from error
    except RouteError as error:
        raise places.told(error) from error
    findings = (
        replace(
            finding,
            message=in_order_of(job.units, finding.message),
            where=in_order_of(job.units, finding.where),
        )
        for finding in reading.findings
    )
    return replace(reading, findings=tuple(findings))


def _corner_radius(job: Job) -> tuple[float | None, RadiusFrom]:
    """Return the radius of corners drawn without one: stated in the job, else from the table."""
    if job.bend_radius_m is not None:
        return job.bend_radius_m, RadiusFrom.JOB
    return job.table_radius_m, RadiusFrom.TABLE
