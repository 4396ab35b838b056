"""Arrow's columns as numpy's arrays, without pandas, which arrow's own conversion loads."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import pyarrow as pa


def floats_of(numbers: pa.Array | pa.ChunkedArray) -> np.ndarray:
    """Numbers of 64 bits, shape (n,), NaN where there is none; one chunk without gaps is shared, not copied."""
    import pyarrow as pa

    if isinstance(numbers, pa.ChunkedArray):
        parts = [floats_of(chunk) for chunk in numbers.chunks]
        return parts[0] if len(parts) == 1 else np.concatenate([np.empty(0), *parts])
    known = numbers
    if numbers.null_count:
        import pyarrow.compute as pc  # here, so that a log without gaps is had without its many functions

        known = pc.fill_null(numbers, math.nan)
    return np.frombuffer(known.buffers()[1], np.float64, len(known), 8 * known.offset) if len(known) else np.empty(0)


def counts_of(numbers: pa.Array) -> np.ndarray:
    """Whole numbers, shape (n,), 0 where there is none."""
    import pyarrow as pa
    import pyarrow.compute as pc

    known = pc.cast(numbers, pa.int64())
    if known.null_count:
        known = pc.fill_null(known, 0)
    return np.frombuffer(known.buffers()[1], np.int64, len(known), 8 * known.offset) if len(known) else np.empty(0, int)


def mask_of(truths: pa.Array) -> np.ndarray:
    """Truths, shape (n,), false where there is none."""
    import pyarrow as pa
    import pyarrow.compute as pc

    return counts_of(pc.cast(truths, pa.int8())).astype(bool)


def give_back_memory() -> None:
    """Give back to the system what reading freed: the analysis asks for pieces of other sizes."""
    import pyarrow as pa

    pa.system_memory_pool().release_unused()
