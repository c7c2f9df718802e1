"""Running medians, held against numpy's own median of every window."""

import numpy as np
import pytest

from mixer.signal.medians import running_median


@pytest.mark.parametrize("reach", [1, 2, 4, 8])
@pytest.mark.parametrize("steps", [1, 5, 40])
@pytest.mark.parametrize("kinds", [3, 10_000])
def test_every_window_has_the_median_that_numpy_finds(reach, steps, kinds):
    """Of few kinds of values, many are equal; windows may be longer than the circle."""
    values = np.random.default_rng(reach + steps).integers(kinds, size=(steps, 6)).astype(np.float32)
    windows = values[(np.arange(steps)[:, None] + np.arange(-reach, reach + 1)) % steps]
    assert np.array_equal(running_median(values, reach), np.median(windows, axis=1))
