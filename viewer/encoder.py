"""MP4 by an encoder found on this machine: ffmpeg on the path, or the one imageio-ffmpeg brings.

Nothing heavy is imported: whether a movie can be written is known before any work is done.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from importlib import import_module
from pathlib import Path

from analyzer.errors import InputError, OutputError

__all__ = ["check_movie", "encode", "find_encoder"]


def find_encoder() -> str | None:
    """Return the path of an ffmpeg that can be run, or None."""
    found = shutil.which("ffmpeg")
    if found is not None:
        return found
    try:
        return str(import_module("imageio_ffmpeg").get_ffmpeg_exe())
    except (ImportError, RuntimeError, OSError):
        return None


def check_movie(file: Path, size: tuple[int, int] | None = None) -> None:
    """Refuse a movie that cannot be written here.

    Raises
    ------
    InputError
        If the name ends in neither ``.gif`` nor ``.mp4``, or no MP4 encoder is found, or an MP4
        has an odd side.
    """
    kind = file.suffix.lower()
    if kind not in (".gif", ".mp4"):
        raise InputError(f"a movie is a .gif or .mp4 file: {file.name} is neither")
    if kind == ".gif":
        return
    if find_encoder() is None:
        raise InputError(
            "no MP4 encoder is found: install ffmpeg or the Python package imageio-ffmpeg, or give "
            "the movie a .gif name"
        )
    if size is not None and (size[0] % 2 or size[1] % 2):
        raise InputError(f"an MP4 needs even sides: {size[0]}x{size[1]} has an odd one")


def encode(
    pictures: Iterable[bytes], file: Path, width: int, height: int, frames_per_second: float
) -> None:
    """Write pictures as MP4.

    Parameters
    ----------
    pictures : iterable of bytes
        Each three bytes a pixel, row by row from the top.
    file : Path
        What is written.
    width, height : int
        Size of each picture, both even. [px]
    frames_per_second : float
        How fast they follow each other.

    Raises
    ------
    InputError
        If the name ends in neither ``.gif`` nor ``.mp4``, a side is odd, or no encoder is found.
    OutputError
        If the encoder fails, with its last words.
    """
    check_movie(file, (width, height))
    command = [
        str(find_encoder()),
        *("-y", "-loglevel", "error", "-f", "rawvideo", "-pix_fmt", "rgb24"),
        *("-s", f"{width}x{height}", "-r", f"{frames_per_second:g}", "-i", "-", "-an"),
        *("-pix_fmt", "yuv420p", "-movflags", "+faststart", "-f", "mp4", str(file)),
    ]
    with tempfile.TemporaryFile() as words:
        child = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=words
        )
        feed = child.stdin
        through = False
        try:
            # one that has ended takes no more: its own words tell why
            with suppress(BrokenPipeError):
                for picture in pictures:
                    feed.write(picture)  # type: ignore[union-attr]
            through = True
        finally:
            if not through:
                child.kill()
            with suppress(BrokenPipeError):
                feed.close()  # type: ignore[union-attr]
            code = child.wait()
        if code != 0:
            words.seek(0)
            said = words.read().decode(errors="replace").strip().splitlines()
            raise OutputError(
                f"the MP4 encoder failed{': ' + said[-1] if said else ''}; a .gif name needs none"
            )
