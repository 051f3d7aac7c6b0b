"""Long rows of numbers for the page: packed once each, as the text of single-precision values.

Single precision keeps seven digits, more than any figure on the page shows. Equal rows are held
once: places and sidewall pressures recur from friction to friction.
"""

from __future__ import annotations

from base64 import b64encode

import numpy as np
from numpy.typing import ArrayLike

__all__ = ["Series"]


class Series:
    """Rows of numbers under their number, in the order they were first seen."""

    __slots__ = ("_numbers", "size")

    def __init__(self) -> None:
        self._numbers: dict[str, int] = {}
        self.size = 0

    def add(self, values: ArrayLike) -> int:
        """Return the number of a row, which is kept if it is new; nested rows are laid flat.

        Parameters
        ----------
        values : array of float
            Finite numbers of any shape.
        """
        row = np.ascontiguousarray(values, dtype="<f4").ravel()
        if not np.isfinite(row).all():
            raise ValueError("a row for the page holds a number that is not finite")
        text = b64encode(row.tobytes()).decode("ascii")
        if text not in self._numbers:
            self._numbers[text] = len(self._numbers)
            self.size += len(text) + 3
        return self._numbers[text]

    def packed(self) -> list[str]:
        """Return all rows, each as little-endian single-precision values in base64."""
        return list(self._numbers)
