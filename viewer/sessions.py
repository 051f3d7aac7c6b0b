"""Which window opens, and which one follows it."""

from __future__ import annotations

from analyzer.analysis import Analysis
from viewer.compare_window import CompareWindow
from viewer.compared_cases import cases_of
from viewer.many import build_many
from viewer.many_window import ManyWindow
from viewer.options import ViewOptions
from viewer.quantities import Quantity
from viewer.window import RunWindow

__all__ = ["show_windows"]

_RUN_SIZE = (1440, 900)
_COMPARE_SIZE = (1600, 900)


def show_windows(analysis: Analysis, options: ViewOptions, compare: str | None = None) -> None:
    """Open a window and stay until it is closed; where several runs are shown, picking opens one.

    Raises
    ------
    GraphicsError
        If no graphics library is usable here.
    """
    size = None if options.size is None else (options.size.width, options.size.height)
    if compare is not None:
        cases = cases_of(analysis, options, compare)
        CompareWindow(cases, options.theme, size or _COMPARE_SIZE).show()
        return
    several = options.run is None and len(analysis.runs) > 1
    name = options.run
    while True:
        if several:
            every = ManyWindow(
                build_many(analysis, options.direction), options.theme, size or _RUN_SIZE
            )
            every.show()
            name = every.picked
            if name is None:
                return
        window = RunWindow(
            analysis,
            name,
            options.direction,
            options.friction,
            Quantity(options.quantity),
            options.theme,
            size or _RUN_SIZE,
            from_list=several,
        )
        window.show()
        if not window.back:
            return
