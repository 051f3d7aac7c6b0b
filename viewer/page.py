"""The page: one offline HTML file with the run in 3D, its chart, legs, verdict and cautions.

Plotly's script is embedded, as are all values; a content policy allows these scripts alone and
no request at all. Texts from drawings reach the page as data only: inside the data block every
``<`` is written as an escape, and the page's script sets them as text. Equal input gives equal
bytes.
"""

from __future__ import annotations

import json
from base64 import b64encode
from hashlib import sha256
from importlib.resources import files
from pathlib import Path

from analyzer.analysis import Analysis
from analyzer.errors import OutputError
from analyzer.reports.cautions import SHORT_CAUTION
from viewer.page_data import page_values
from viewer.palette import LIGHT, Theme

__all__ = ["data_block", "page_html", "write_page"]

_SCRIPTS = (
    "page_state.js", "page_verdict.js", "page_view.js", "page_triad.js", "page_labels.js",
    "page_chart.js", "page_list.js", "page_panel.js",
)  # fmt: skip


def page_html(
    analysis: Analysis,
    run: str | None = None,
    direction: str = "better",
    friction: str = "expected",
    theme: Theme = LIGHT,
) -> str:
    """Return the page of one run as one HTML text.

    Parameters
    ----------
    analysis : Analysis
        What `analyze` returned.
    run : str, optional
        Name of the run; the first by default.
    direction : str
        ``forward``, ``reverse`` or ``better``: what the page opens with.
    friction : str
        ``low``, ``expected`` or ``high``: what the page opens with.
    theme : Theme
        Neutral colors.

    Raises
    ------
    InputError
        If no run has that name.
    """
    from jinja2 import Environment, StrictUndefined
    from plotly.offline import get_plotlyjs

    folder = files("viewer").joinpath("templates")

    def text_of(name: str) -> str:
        return folder.joinpath(name).read_text("utf-8")

    values = page_values(analysis, theme, run, direction, friction)
    library = get_plotlyjs().replace("</script", "<\\/script")
    own = "(function () {\n'use strict';\n" + "".join(map(text_of, _SCRIPTS)) + "})();\n"
    environment = Environment(autoescape=True, undefined=StrictUndefined)
    return environment.from_string(text_of("page.html.j2")).render(
        values=values,
        theme=values["theme"],
        caution=SHORT_CAUTION,
        style=text_of("page.css"),
        policy=_policy(library, own),
        data=data_block(values),
        library=library,
        script=own,
    )


def data_block(values: object) -> str:
    """Return values as JSON that can stand inside a script element: no ``<``, ``>`` or ``&``."""
    text = json.dumps(values, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return text


def _policy(*scripts: str) -> str:
    """Return a content policy under which these scripts run and nothing is fetched."""
    hashes = " ".join(
        f"'sha256-{b64encode(sha256(script.encode('utf-8')).digest()).decode()}'"
        for script in scripts
    )
    return (
        f"default-src 'none'; script-src {hashes}; style-src 'unsafe-inline'; "
        "img-src data: blob:; base-uri 'none'; form-action 'none'"
    )


def write_page(
    analysis: Analysis,
    file: Path,
    run: str | None = None,
    direction: str = "better",
    friction: str = "expected",
    theme: Theme = LIGHT,
) -> None:
    """Write the page of one run, whole or not at all.

    Parameters
    ----------
    analysis : Analysis
        What `analyze` returned.
    file : Path
        What is written.
    run : str, optional
        Name of the run; the first by default.
    direction : str
        ``forward``, ``reverse`` or ``better``: what the page opens with.
    friction : str
        ``low``, ``expected`` or ``high``: what the page opens with.
    theme : Theme
        Neutral colors.

    Raises
    ------
    OutputError
        If the file cannot be written.
    InputError
        If no run has that name.
    """
    text = page_html(analysis, run, direction, friction, theme)
    part = file.with_name(file.name + ".part")
    try:
        part.write_text(text, "utf-8", newline="\n")
        part.replace(file)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise OutputError(f"cannot write {file}: {error.strerror or error}") from error
