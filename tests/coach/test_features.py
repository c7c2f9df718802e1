"""What is heard in a loop is kept beside its sound: the same figures from the cache as from the loop."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from mixer.coach import features
from mixer.coach.features import LoopFeatures
from mixer.material.fit import Material
from mixer.store.content import key_of

RATE_HZ = 44_100


@pytest.fixture
def material():
    chance = np.random.default_rng(7)
    samples = (0.1 * chance.standard_normal((2 * RATE_HZ, 2))).astype(np.float32)
    samples[: RATE_HZ // 2] *= 0.01
    return Material(samples, -20.0, "content", kept_as=key_of("some loop"))


def bars(material):
    found = LoopFeatures(material, Fraction(2), 48, RATE_HZ)
    return [figures for bar in range(2) for figures in (found.bar(Fraction(bar)).bands, found.bar(Fraction(bar)).hits)]


def same(one, other):
    return all((mine == theirs).all() for mine, theirs in zip(one, other, strict=True))


def test_what_was_kept_is_what_was_heard(material, cache_folder, monkeypatch):
    first = bars(material)
    assert any(figures.any() for figures in first[1::2])
    assert len(list(cache_folder.glob("*.kept"))) == 1
    monkeypatch.setattr(features, "band_powers", None)  # so that nothing is heard anew
    assert same(bars(material), first)


def test_another_loop_and_a_spoilt_entry_are_heard_anew(material, cache_folder):
    first = bars(material)
    (entry,) = cache_folder.glob("*.kept")
    entry.write_bytes(entry.read_bytes()[:-9] + b"\1" * 9)
    assert same(bars(material), first)
    louder = replace(material, samples=2 * material.samples, kept_as=key_of("another loop"))
    assert not same(bars(louder), first)


def test_what_is_not_to_be_kept_is_not(material, cache_folder):
    first = bars(replace(material, kept_as=""))
    assert not cache_folder.exists()
    assert same(bars(material), first)
