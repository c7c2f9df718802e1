"""The running median of many rows at once.

Sorting each window anew does the same work again and again. Here pairs of neighbours are ordered, pairs of pairs, and
so on, for all windows at once, each time with nothing but the smaller and the larger of two arrays: the windows share
what they have in common, and the processor compares many values at a time (odd-even merge: Batcher, "Sorting networks
and their applications", AFIPS 1968).
"""

from __future__ import annotations

from functools import reduce

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float32]


def running_median(values: Values, reach: int) -> Values:
    """The median of each value and of `reach` before and after it, along the first axis.

    Parameters
    ----------
    values : float32 array, shape (steps, any), circular along its first axis
    reach : int, a power of two

    Returns
    -------
    float32 array of the same shape
    """
    ordered = [np.take(values, np.arange(-reach, len(values) + reach), axis=0, mode="wrap")]
    while len(ordered) < reach:
        ordered = _merged([each[: -len(ordered)] for each in ordered], [each[len(ordered) :] for each in ordered])
    before = [each[: len(values)] for each in ordered]
    after = [each[reach + 1 :] for each in reversed(ordered)]
    # Laid against each other backwards, the smaller of each pair are the lower half of both.
    below = reduce(np.maximum, map(np.minimum, before, after))
    above = reduce(np.minimum, map(np.maximum, before, after))
    median: Values = np.minimum(np.maximum(values, below), above)
    return median


def _merged(some: list[Values], others: list[Values]) -> list[Values]:
    """Two ordered rows of arrays as one, value by value."""
    if len(some) == 1:
        return [np.minimum(some[0], others[0]), np.maximum(some[0], others[0])]
    even, odd = _merged(some[::2], others[::2]), _merged(some[1::2], others[1::2])
    inner = [order(*pair) for pair in zip(even[1:], odd[:-1], strict=True) for order in (np.minimum, np.maximum)]
    return [even[0], *inner, odd[-1]]
