"""Tables of drawn parts that take one more column without being copied.

A table of 100 000 parts and 64 sources is 50 MB, and writing it anew costs more than judging a tolerance
over it. So each is made with room for one column, and whoever widens it takes that room, if nobody did or
whoever did put the same there. Each column is in the unit of its source: [mm], [N] or [K].
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def roomy(count: int, columns: int) -> Floats:
    """An empty table (count, columns) by columns, with room for one more."""
    whole = np.empty((count, columns + 1), order="F")
    whole[:, columns] = np.nan  # nobody took it
    return whole[:, :columns]


def copied(sample: Floats) -> Floats:
    """The same table, roomy."""
    out = roomy(*sample.shape)
    out[...] = sample
    return out


def widened(sample: Floats, column: Floats) -> Floats:
    """The table with ``column`` (count,) behind its last: in place where there is room, else a copy."""
    count, columns = sample.shape
    whole = sample.base
    if isinstance(whole, np.ndarray) and whole.ndim == 2 and _room(sample, whole):
        room = whole[:count, columns]
        if np.isnan(whole[:, columns]).all():
            room[...] = column
        if np.array_equal(room, column):
            return whole[:count]
    out = np.empty((count, columns + 1), order="F")
    out[:, :columns] = sample
    out[:, columns] = column
    return out


def _room(sample: Floats, whole: Floats) -> bool:
    """Whether a table is the first columns and the first rows of one that is wider by one."""
    return (
        whole.shape[1] == sample.shape[1] + 1
        and whole.flags.f_contiguous
        and len(sample) <= len(whole)
        and sample.strides == whole.strides
        and sample.ctypes.data == whole.ctypes.data
    )
