"""Loops from their files to the song: cut from the downbeat, at its rate, untouched where nothing must change."""

from __future__ import annotations

import itertools
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
import soundfile

from mixer.loops.card import Card
from mixer.material import loop
from mixer.material.fit import Frame
from mixer.material.loop import UnreadableLoopError
from mixer.music.keys import parse_key
from mixer.music.meter import parse_meter
from mixer.recipe.model import Layer, LoopSource
from mixer.store.content import content_key
from tests.signal.voice import hum
from tests.sounds import Made, click

RATE_HZ = 44_100
METER = parse_meter("4/4")
SONG = Frame(Fraction(96), METER, parse_key("A minor"))
LAYER = Layer("box", LoopSource("ticks"))
BEAT_FRAMES = 60 * RATE_HZ / 96


def card(path, **changes) -> Card:
    return replace(Card("ticks", path, Fraction(96), METER, 4, "drums"), **changes)


def make(card, frame=SONG, layer=LAYER, rate_hz=RATE_HZ):
    return loop.make(loop.fit(layer, card, frame), frame, rate_hz)


def refused(card):
    with pytest.raises(UnreadableLoopError) as told:
        make(card)
    return told.value


@pytest.fixture
def write(tmp_path):
    number = itertools.count()

    def _write(samples, rate_hz=RATE_HZ, subtype="FLOAT"):
        path = tmp_path / f"{next(number)}.wav"
        soundfile.write(path, samples, rate_hz, subtype=subtype)
        return path

    return _write


def noise(frames):
    return (0.1 * np.random.default_rng(3).standard_normal((frames, 2))).astype(np.float32)


def onsets(samples, rate_hz=RATE_HZ):
    """Frames at which clicks stand: where a click laid upon the sound fits best."""
    fits = np.correlate(samples[:, 0], click(rate_hz).astype(np.float32), "valid")
    found = []
    while fits.max() > 0.2 * np.sum(click(rate_hz) ** 2):
        at = int(fits.argmax())
        found.append(at)
        fits[max(0, at - rate_hz // 10) : at + rate_hz // 10] = 0
    return sorted(found)


def test_at_the_songs_tempo_key_and_rate_it_passes_through_bit_for_bit(write):
    samples = noise(round(16 * BEAT_FRAMES))
    for key in (None, parse_key("A minor")):
        material = make(card(write(samples), key=key))
        assert material.samples.dtype == np.float32
        assert np.array_equal(material.samples, samples)
        assert material.remarks == ()


def test_bit_for_bit_from_16_bits_too(write):
    """A 16-bit sample is its number / 32768 (libsndfile's documentation, "normalised float")."""
    numbers = np.random.default_rng(4).integers(-20_000, 20_000, (round(16 * BEAT_FRAMES), 2), dtype=np.int16)
    assert np.array_equal(make(card(write(numbers, subtype="PCM_16"))).samples, (numbers / 32768).astype(np.float32))


@pytest.mark.parametrize("level", [4.0, 300.0])
def test_values_above_full_scale_are_only_louder(write, level):
    samples = noise(round(16 * BEAT_FRAMES))
    quiet, loud = make(card(write(samples))), make(card(write(samples * np.float32(level))))
    assert loud.loudness_lufs - quiet.loudness_lufs == pytest.approx(20 * np.log10(level), abs=0.011)
    assert np.isfinite(loud.samples).all()


def test_it_is_cut_from_its_downbeat(write):
    whole = noise(round(20 * BEAT_FRAMES))
    start = round(1.5 * RATE_HZ)
    material = make(card(write(whole), downbeat_seconds=Fraction("1.5")))
    assert np.array_equal(material.samples, whole[start : start + round(16 * BEAT_FRAMES)])


def _with_upbeat(silent_seconds, bars_frames):
    """Half a second of silence or none, an upbeat of one beat with a click, then clicks on the beats of some bars."""
    silent = round(silent_seconds * RATE_HZ)
    beat = round(BEAT_FRAMES)
    frames = silent + beat + bars_frames
    samples = np.zeros((frames, 2), np.float32)
    for at in [silent, *(silent + beat + round(n * BEAT_FRAMES) for n in range(round(bars_frames / BEAT_FRAMES)))]:
        hit = 0.5 * click(RATE_HZ, strong=at != silent)[:, None]
        samples[at : at + len(hit)] += hit[: frames - at].astype(np.float32)
    return samples, Fraction(silent + beat, RATE_HZ)


@pytest.mark.parametrize("silent_seconds", [0, 0.5], ids=["at once", "after silence"])
def test_an_upbeat_leads_into_the_first_bar_each_time(write, silent_seconds):
    """Four bars of which the last was left a beat short for the upbeat, as printed music does it."""
    whole = round(16 * BEAT_FRAMES)
    samples, downbeat = _with_upbeat(silent_seconds, whole - round(BEAT_FRAMES))
    material = make(card(write(samples), downbeat_seconds=downbeat))
    assert onsets(material.samples) == pytest.approx([n * BEAT_FRAMES for n in range(16)], abs=1)
    upbeat = material.samples[-round(BEAT_FRAMES) :]
    before = samples[: round(downbeat * RATE_HZ)][-len(upbeat) :]
    assert np.array_equal(upbeat, before)
    assert material.upbeat_frames == pytest.approx(len(upbeat), abs=30)
    assert material.remarks == ()


def test_an_upbeat_before_whole_bars_is_heard_where_they_end_in_a_rest(write):
    whole, beat = round(16 * BEAT_FRAMES), round(BEAT_FRAMES)
    samples, downbeat = _with_upbeat(0.5, whole)
    there = make(card(write(samples), downbeat_seconds=downbeat))
    assert np.array_equal(there.samples, samples[-whole:])  # a hit stands there already
    assert there.upbeat_frames == 0
    samples[-beat:] = 0
    rest = make(card(write(samples), downbeat_seconds=downbeat))
    assert onsets(rest.samples) == pytest.approx([n * BEAT_FRAMES for n in range(16)], abs=1)
    assert rest.upbeat_frames == pytest.approx(beat, abs=30)


def test_counting_in_is_no_upbeat(write):
    """A whole bar of clicks before the first downbeat, and a loop whose last bar rests."""
    samples, _ = _with_upbeat(0.0, round(16 * BEAT_FRAMES))
    samples[-round(3.9 * BEAT_FRAMES) :] = 0
    material = make(card(write(samples), bars=3, downbeat_seconds=Fraction(round(5 * BEAT_FRAMES), RATE_HZ)))
    assert material.upbeat_frames == 0
    assert not material.samples[-round(3.8 * BEAT_FRAMES) :].any()


def test_silence_in_front_is_skipped_by_the_downbeat_and_kept_without(write):
    made = Made("ticks").samples()
    path = write(np.concatenate([np.zeros((12_345, 2), np.float32), made]))
    there = make(card(path, downbeat_seconds=Fraction(12_345, RATE_HZ)))
    assert np.array_equal(there.samples, made)
    late = make(card(path))
    assert onsets(late.samples)[0] == 12_345
    assert len(late.samples) == len(made)


def test_mono_is_on_both_channels(write):
    mono = noise(round(16 * BEAT_FRAMES))[:, 0]
    material = make(card(write(mono)))
    assert np.array_equal(material.samples, np.stack([mono, mono], axis=1))


@pytest.mark.parametrize("own_rate_hz", [8_000, 22_050, 48_000, 96_000])
@pytest.mark.parametrize("rate_hz", [44_100, 48_000])
def test_at_another_rate_each_beat_stays_where_it_is(write, own_rate_hz, rate_hz):
    made = Made("ticks", rate_hz=own_rate_hz)
    material = make(card(write(made.samples(), own_rate_hz)), rate_hz=rate_hz)
    assert len(material.samples) == 10 * rate_hz
    beats = np.arange(16) * 60 / 96 * rate_hz
    assert np.abs(np.array(onsets(material.samples, rate_hz)) - beats).max() <= rate_hz / own_rate_hz + 1


@pytest.mark.parametrize("own_rate_hz", [22_050, 48_000, 96_000])
def test_at_another_rate_it_is_the_same_sound(write, own_rate_hz):
    """A tone of whole cycles is known at any rate: what comes out is computed beside it."""
    cycles = 2200
    own = np.arange(10 * own_rate_hz) / (10 * own_rate_hz)
    tone = (0.3 * np.sin(2 * np.pi * cycles * own)).astype(np.float32)
    material = make(card(write(tone, own_rate_hz)))
    wanted = 0.3 * np.sin(2 * np.pi * cycles * np.arange(10 * RATE_HZ) / (10 * RATE_HZ))
    assert np.abs(material.samples[:, 0] - wanted).max() < 1e-4


def test_a_card_with_more_bars_than_the_file_gives_silence_and_says_so(write):
    two_bars = Made("ticks", bars=2).samples()
    path = write(two_bars)
    material = make(card(path))
    assert np.array_equal(material.samples[: len(two_bars)], two_bars)
    assert not material.samples[len(two_bars) :].any()
    assert len(material.samples) == 2 * len(two_bars)
    (remark,) = material.remarks
    assert (remark.kind, remark.facts) == ("loop-short", {"file": path.name, "bars_there": 2.0, "of": 4})


def test_a_single_hit_or_a_last_bar_that_ends_early_is_no_matter(write):
    hit = np.stack([click(), click()], axis=1)
    assert make(card(write(hit), bars=1)).remarks == ()
    assert make(card(write(Made("ticks").samples()[: -round(3.9 * BEAT_FRAMES)]))).remarks == ()


def test_what_breaks_off_is_told_where_something_is_missing(write):
    path = write(Made("ticks").samples())
    path.write_bytes(path.read_bytes()[:-40_000])
    (remark,) = make(card(path)).remarks
    assert (remark.kind, remark.facts) == ("sound-cut", {"file": path.name})
    assert make(card(path, bars=2)).remarks == ()


def test_silence_and_what_is_as_good_as_silence(write):
    frames = round(16 * BEAT_FRAMES)
    assert refused(card(write(np.zeros((frames, 2))))).kind == "sound-silent"
    # Softer than what ITU-R BS.1770-4 leaves out as silence (-70 LUFS).
    assert refused(card(write(noise(frames) * 1e-4))).kind == "loop-silent"
    assert refused(card(write(np.full((frames, 2), 0.5)), bars=1)).kind == "loop-silent"  # a voltage, no sound
    sound_first = np.concatenate([noise(RATE_HZ), np.zeros((frames, 2), np.float32)])
    assert refused(card(write(sound_first), downbeat_seconds=Fraction(2))).kind == "loop-silent"
    assert refused(card(write(noise(RATE_HZ)), downbeat_seconds=Fraction(100))).kind == "loop-silent"


def test_a_card_that_would_need_minutes_is_refused(write):
    told = refused(card(write(noise(RATE_HZ)), bars=64, tempo_bpm=Fraction(20)))
    assert (told.kind, told.facts["most"]) == ("loop-long", 120)


def test_a_file_of_one_frame(write):
    material = make(card(write(np.full((1, 2), 0.9)), bars=1))
    assert len(material.samples) == round(4 * BEAT_FRAMES)
    assert np.isfinite(material.samples).all()


@pytest.mark.parametrize("semitones", [-12, 5])
@pytest.mark.parametrize("tempo_bpm", [80, 120])
def test_a_file_of_one_frame_at_another_tempo_and_pitch(write, tempo_bpm, semitones):
    song = Frame(Fraction(tempo_bpm), METER, None)
    material = make(card(write(np.full((1, 2), 0.9)), bars=1), song, replace(LAYER, pitch=semitones))
    assert len(material.samples) == 240 * RATE_HZ // tempo_bpm
    assert np.isfinite(material.samples).all()


def test_the_key_is_that_of_the_files_bytes(write):
    path = write(noise(RATE_HZ))
    assert make(card(path, bars=1)).content_key == content_key(path)


def test_the_file_is_named_when_it_cannot_be_used(write):
    path = write(noise(RATE_HZ))
    path.write_text("no sound", encoding="utf-8")
    told = refused(card(path))
    assert (told.kind, told.facts) == ("sound-unknown", {"file": path.name})


def test_a_loop_does_not_keep_the_recording_that_it_was_cut_from(write):
    bars = round(16 * BEAT_FRAMES)
    made = make(card(write(noise(5 * bars))))
    held = made.samples if made.samples.base is None else made.samples.base
    assert len(made.samples) == bars
    assert held.nbytes <= bars * 8


def test_a_voice_is_moved_as_a_voice_by_whatever_says_that_it_is_one(write):
    file = write(hum(220, round(4 * BEAT_FRAMES)))
    sung = card(file, bars=1, key=parse_key("C minor"), role="melody")
    as_voice = [make(replace(sung, role="voice")), make(sung, layer=replace(LAYER, role="voice"))]
    as_voice += [make(replace(sung, role="voice"), layer=replace(LAYER, role="melody"))]
    assert all(np.array_equal(one.samples, as_voice[0].samples) for one in as_voice)
    assert np.abs(make(sung).samples - as_voice[0].samples).max() > 0.01
