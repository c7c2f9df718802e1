import numpy as np
import pytest
from scipy.signal import lfilter

from mixer.signal.kweighting import WeightedEnergy, chunk_frames, high_pass, shelf


@pytest.mark.parametrize("rate_hz", [22_050, 44_100, 48_000, 44_057, 96_000])
def test_energies_are_those_of_a_plain_recursive_filter(rate_hz):
    # scipy.signal.lfilter, frame by frame in double precision.
    sound = (np.random.default_rng(5).standard_normal((rate_hz // 2 * 3, 2)) * 0.2 + 0.3).astype(np.float32)
    weighted = WeightedEnergy(rate_hz)
    energies = np.concatenate([weighted.feed(sound), weighted.flush()])
    plain = sound.astype(np.float64)
    for stage in (shelf(rate_hz), high_pass(rate_hz)):
        plain = lfilter(stage.b, stage.a, plain, axis=0)
    whole = len(sound) // weighted.chunk_frames
    expected = (plain[: whole * weighted.chunk_frames] ** 2).reshape(whole, -1).sum(axis=1)
    assert len(energies) == whole
    assert energies == pytest.approx(expected, rel=2e-4)


@pytest.mark.parametrize("rate_hz", [22_050, 32_000, 44_100, 48_000, 88_200, 96_000, 192_000])
def test_a_hop_is_exactly_100_ms_at_the_usual_rates(rate_hz):
    frames, per_hop = chunk_frames(rate_hz)
    assert frames * per_hop * 10 == rate_hz


def test_a_rate_too_low_for_a_filter_is_refused():
    with pytest.raises(ValueError, match="too low a rate"):
        chunk_frames(100)
