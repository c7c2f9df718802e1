"""Loops made in the test, so that tempo, bars, key and faults are known; and the demo loops against their cards."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pyloudnorm
import pytest
import soundfile
import soxr

import mixer.loops.measure
import mixer.signal.files
from mixer.loops.library import demo_loops_folder, open_library
from mixer.loops.measure.faults import join_changes_colour
from mixer.loops.measure.hearing import hear
from mixer.loops.measure.hints import Hints, all_hints, hints_in, together
from mixer.loops.measure.measured import measure
from mixer.music.keys import Key
from mixer.signal import said as said_module
from mixer.signal.riff import chunk
from mixer.words.english import measured as words

RATE_HZ = 44_100


def _hit(kind, seconds=0.18):
    time = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    noise = np.random.default_rng(3).standard_normal(len(time))
    if kind == "kick":
        return np.sin(2 * np.pi * (50 * time + 4 * (1 - np.exp(-time * 40)))) * np.exp(-time * 10)
    if kind == "snare":
        noise = np.convolve(noise, np.ones(4) / 2, "same")
        return (0.7 * noise + np.sin(2 * np.pi * 190 * time)) * np.exp(-time * 22) * 0.7
    return np.diff(noise, prepend=0) * np.exp(-time * 90) * 0.25


def drums(tempo_bpm, bars=4, rate_hz=RATE_HZ):
    """Backbeat: kick on 1 and 3, snare on 2 and 4, hats on eighths; circular, exactly as long as its bars."""
    beat = 60 / tempo_bpm * RATE_HZ
    out = np.zeros(round(bars * 4 * beat))
    for eighth in range(bars * 8):
        names = ["hat", *(["kick"] if eighth % 4 == 0 else ["snare"] if eighth % 4 == 2 else [])]
        names += ["kick"] if eighth % 16 == 13 else []
        for name in names:
            sound = _hit(name)
            at = (round(eighth * beat / 2) + np.arange(len(sound))) % len(out)
            out[at] += sound
    stereo = np.repeat(0.5 * out[:, None] / np.abs(out).max(), 2, axis=1)
    if rate_hz != RATE_HZ:
        return soxr.resample(stereo, RATE_HZ, rate_hz)
    return stereo


def chords(tempo_bpm=90.0, roots=(57, 53, 48, 55), minors=(True, False, False, False)):
    """One chord a bar, struck on every beat, with a bass note: tones with four partials that die away."""
    beat = 60 / tempo_bpm
    out = np.zeros(round(len(roots) * 4 * beat * RATE_HZ))
    for bar, (root, minor) in enumerate(zip(roots, minors, strict=True)):
        for count in range(4):
            time = np.arange(round(beat * RATE_HZ)) / RATE_HZ
            for key in (root - 12, root, root + (3 if minor else 4), root + 7):
                hz = 440 * 2 ** ((key - 69) / 12)
                tone = sum(np.sin(2 * np.pi * n * hz * time) / n**2 for n in range(1, 5)) * np.exp(-time * 3)
                start = round((bar * 4 + count) * beat * RATE_HZ)
                part = out[start : start + len(time)]
                part += 0.05 * (1.3 if count == 0 else 1) * tone[: len(part)]
    return np.repeat(out[:, None], 2, axis=1)


@pytest.fixture
def measured(tmp_path):
    def write_and_measure(samples, name="take 1.wav", rate_hz=RATE_HZ):
        path = tmp_path / name
        soundfile.write(path, samples, rate_hz, subtype="FLOAT")
        return measure(path)

    return write_and_measure


def kinds(one):
    return {kind for kind, _ in one.problems}


@pytest.mark.parametrize(("tempo_bpm", "rate_hz"), [(96, 44_100), (123.4, 22_050), (101.25, 96_000)])
def test_a_loop_of_drums_is_counted_to_a_thousandth(measured, tempo_bpm, rate_hz):
    one = measured(drums(tempo_bpm, rate_hz=rate_hz), rate_hz=rate_hz)
    assert one.tempo_bpm == pytest.approx(tempo_bpm, rel=0.001)
    assert (one.bars, one.time, one.role, one.key) == (4, "4/4", "drums", None)
    assert one.first_downbeat_seconds == 0
    assert {"tempo_bpm", "bars", "time"} <= set(one.sure)
    assert one.problems == ()


@pytest.mark.parametrize("gain", [1.0, 0.01], ids=["loud", "very soft"])
@pytest.mark.parametrize("sides", [(1, 1), (1, -1)], ids=["in phase", "anti-phase"])
def test_level_and_phase_change_nothing_but_what_is_told(measured, gain, sides):
    one = measured(drums(96) * gain * np.array(sides))
    assert (one.tempo_bpm, one.bars, one.role) == (96, 4, "drums")
    assert ("anti-phase" in kinds(one)) == (sides == (1, -1))
    assert ("very soft" in kinds(one)) == (gain < 1)


@pytest.mark.parametrize(("gain_db", "told"), [(-20, {"very soft"}), (-52, {"very soft", "too soft"})])
def test_what_is_softer_than_a_meter_hears_is_no_silence(measured, gain_db, told):
    """ITU-R BS.1770-4 gates at -70 LUFS; what lies below is as much softer as it was made."""
    loud = drums(96)
    soft = measured(loud * 10 ** (gain_db / 20))
    assert (soft.tempo_bpm, soft.bars, soft.role) == (96, 4, "drums")
    assert soft.loudness_lufs == pytest.approx(measured(loud).loudness_lufs + gain_db, abs=0.15)
    assert kinds(soft) == told


def test_the_dither_of_silence_is_silence(measured):
    """Triangular dither of 16 bits, rounded: what is left where a recording was silent (Lipshitz and others 1992)."""
    noise = np.random.default_rng(8).uniform(-0.5, 0.5, (2, 4 * RATE_HZ, 2)).sum(axis=0)
    assert kinds(measured(np.round(noise) / 32768)) == {"sound-silent"}


def test_silence_in_front_moves_the_downbeat_and_not_the_tempo(measured):
    one = measured(np.concatenate([np.zeros((RATE_HZ // 2, 2)), drums(96)]))
    assert one.tempo_bpm == pytest.approx(96, rel=0.001)
    assert one.first_downbeat_seconds == pytest.approx(0.5, abs=0.01)
    assert "silence in front" in kinds(one)


def test_an_upbeat_is_not_the_first_bar(measured):
    loop = drums(96)
    one = measured(np.concatenate([loop[-round(RATE_HZ * 60 / 96) :], loop]))
    assert (one.tempo_bpm, one.bars) == (96, 4)
    assert one.first_downbeat_seconds == pytest.approx(60 / 96, abs=0.01)
    assert words.problem(*one.problems[0]) == "Notes come before the first bar: an upbeat of 1 beat."


@pytest.mark.parametrize("upbeat", [1, 2])
def test_an_upbeat_by_which_the_last_bar_is_short_is_not_the_first_bar(measured, upbeat):
    """The file is whole bars long, and yet its chords change so many beats after each of them begins."""
    beat = 60 / 90
    one = measured(np.roll(chords(90.0), round(upbeat * beat * RATE_HZ), axis=0))
    assert (one.tempo_bpm, one.bars, one.time) == (90, 4, "4/4")
    assert one.first_downbeat_seconds == pytest.approx(upbeat * beat, abs=0.01)
    assert one.chords == ("Am", "F", "C", "G")
    assert ("upbeat", {"beats": upbeat}) in one.problems
    assert not {"cut short", "tail", "silence in front"} & kinds(one)


def test_a_tail_is_not_counted(measured):
    ring = np.exp(-np.arange(RATE_HZ) / 9000)[:, None] * 0.05 * np.sin(np.arange(RATE_HZ) / 9)[:, None]
    one = measured(np.concatenate([drums(96), np.repeat(ring, 2, axis=1)]))
    assert (one.tempo_bpm, one.bars) == (96, 4)
    assert "tail" in kinds(one)


def test_held_chords_with_a_tail_are_counted_by_their_changes(measured):
    out = np.zeros((13 * RATE_HZ, 2))
    for bar, (root, third) in enumerate([(57, 3), (53, 4), (60, 4), (55, 4)]):
        time = np.arange(round(5.2 * RATE_HZ)) / RATE_HZ
        shape = np.minimum(1, time / 0.2) * np.exp(-np.maximum(0, time - 2.5) * 5)
        tones = sum(
            np.sin(2 * np.pi * n * 440 * 2 ** ((key - 69) / 12) * time) / n
            for key in (root - 12, root, root + third, root + 7)
            for n in range(1, 5)
        )
        start = round(bar * 2.5 * RATE_HZ)
        part = out[start : start + len(time)]
        part += 0.05 * (shape * tones)[: len(part), None]
    one = measured(out[: round(11.3 * RATE_HZ)])
    assert one.tempo_bpm == pytest.approx(96, rel=0.04)
    assert "tail" in kinds(one)
    assert one.first_downbeat_seconds == 0  # what swells begins before it is heard


def test_key_and_chords_are_heard_bar_by_bar(measured):
    one = measured(chords())
    assert str(one.key) == "A minor"
    assert one.chords == ("Am", "F", "C", "G")
    assert one.role == "harmony"
    # These four chords are in A minor or in C major: Richards, Music Theory Online 23.3 (2017).
    assert "key" not in one.sure
    assert one.others["key"][0] == "C major"


def struck_in_bars(places, strengths, bars=4, bar_seconds=1.5):
    """Short notes of a wood block at parts of a bar."""
    out = np.zeros((round(bars * bar_seconds * RATE_HZ), 2))
    time = np.arange(round(0.08 * RATE_HZ)) / RATE_HZ
    note = np.exp(-time * 60) * np.sin(2 * np.pi * 900 * time)
    for bar in range(bars):
        for place, strength in zip(places, strengths, strict=True):
            start = round((bar + place) * bar_seconds * RATE_HZ)
            out[start : start + len(note)] += 0.5 * strength * note[:, None]
    return out


@pytest.mark.parametrize(
    ("sixths", "strengths", "time"),
    [((0, 2, 4), (1, 0.6, 0.6), "3/4"), ((0, 1, 2, 3, 4, 5), (1, 0.4, 0.5, 0.9, 0.4, 0.5), "6/8")],
    ids=["three", "six"],
)
def test_three_and_six_are_told_by_the_middle_of_the_bar(measured, sixths, strengths, time):
    one = measured(struck_in_bars([n / 6 for n in sixths], strengths))
    assert (one.time, one.bars) == (time, 4)
    assert one.tempo_bpm == pytest.approx({"3/4": 120, "6/8": 80}[time])


@pytest.mark.parametrize(
    ("spoil", "kind"),
    [
        (lambda x: np.clip(4 * x, -0.9, 0.9), "clipped"),
        (lambda x: x + 0.05, "DC"),
        (lambda x: x * np.array([1, 0]), "one channel silent"),
        (lambda x: x + 0.003 * np.random.default_rng(5).standard_normal(x.shape), "noise"),
    ],
    ids=["clipped", "DC", "one channel silent", "noise"],
)
def test_faults_are_told(measured, spoil, kind):
    assert kinds(measured(spoil(drums(96)))) == {kind}


def sweep(closed):
    """Eight beats of noise that grow steadily brighter, or first brighter and then as much duller again."""
    time = np.arange(4 * RATE_HZ) / RATE_HZ
    noise = np.random.default_rng(6).standard_normal((len(time), 2))
    bright = np.convolve(noise[:, 0], [1, -1], "same"), np.convolve(noise[:, 1], [1, -1], "same")
    dull = [np.convolve(side, np.ones(40) / 8, "same") for side in noise.T]
    share = (np.abs(time - 2) / 2 if closed else time / 4)[:, None]
    pulse = 1 + 0.5 * np.exp(-(time % 0.5) * 20)[:, None]
    return 0.1 * pulse * (share * np.stack(bright, axis=1) + (1 - share) * np.stack(dull, axis=1))


def test_a_join_that_changes_colour_is_told_and_a_steady_one_is_not():
    assert join_changes_colour(hear(sweep(closed=False).astype(np.float32), RATE_HZ), 0, 4)
    assert not join_changes_colour(hear(sweep(closed=True).astype(np.float32), RATE_HZ), 0, 4)


def test_chords_that_change_inside_too_are_no_change_of_colour(measured):
    assert not kinds(measured(chords())) & {"join clicks", "join changes colour", "noise"}


def test_a_join_that_clicks_is_told(measured):
    samples = chords()
    cut = np.arange(len(samples)) / len(samples)
    assert "join clicks" in kinds(measured(samples + 0.3 * cut[:, None] ** 9))


def test_a_single_hit_is_no_loop(measured):
    hit = np.concatenate([_hit("kick", 0.5), np.zeros(RATE_HZ)])
    one = measured(np.repeat(hit[:, None], 2, axis=1))
    assert not one.is_loop
    assert "single hit" in kinds(one)


def test_a_long_recording_is_no_loop(measured):
    one = measured(np.tile(drums(96, bars=2), (12, 1)))
    assert not one.is_loop
    assert "whole song" in kinds(one)


def test_what_is_no_sound_is_told(tmp_path):
    path = tmp_path / "notes.wav"
    path.write_text("bring the shaker", encoding="utf-8")
    one = measure(path)
    assert not one.is_loop
    assert kinds(one) == {"sound-unknown"}


@pytest.mark.parametrize("frames", [1, 2, 64, 500, 5000, 20_000])
@pytest.mark.parametrize("kind", ["noise", "offset", "click"])
def test_scraps_are_no_loops_and_no_trouble(measured, frames, kind):
    noise = 0.1 * np.random.default_rng(4).standard_normal((frames, 2))
    click = np.zeros((frames, 2))
    click[frames // 2] = 0.5
    one = measured({"noise": noise, "offset": np.full((frames, 2), 0.3), "click": click}[kind])
    assert not one.is_loop
    assert all(words.problem(kind, facts) for kind, facts in one.problems)


def test_sounds_without_a_pulse_are_not_called_sure(measured):
    one = measured(0.1 * np.random.default_rng(4).standard_normal((4 * RATE_HZ, 2)))
    assert one.role == "background"
    assert not {"tempo_bpm", "bars", "time"} & set(one.sure)


def test_a_name_that_lies_is_told_and_not_believed(measured):
    one = measured(drums(96), name="groove 120bpm 8 bars.wav")
    assert (one.tempo_bpm, one.bars) == (96, 4)
    assert {"name tempo", "name bars"} <= kinds(one)


def test_what_tags_say_is_weighed_and_told_like_names(tmp_path):
    path = tmp_path / "take 1.flac"
    with soundfile.SoundFile(path, "w", RATE_HZ, 2) as sound:
        sound.title, sound.comment = "groove 120bpm", "8 bars"
        sound.write(drums(96))
    one = measure(path)
    assert (one.tempo_bpm, one.bars) == (96, 4)
    assert {"name tempo", "name bars"} <= kinds(one)


def test_each_that_lies_is_told_and_what_they_agree_in_is_told_once(tmp_path):
    path = tmp_path / "groove 120bpm.wav"
    soundfile.write(path, drums(96), RATE_HZ)
    info = chunk(b"LIST", b"INFO" + chunk(b"INAM", b"beat 120 bpm\0") + chunk(b"ICMT", b"96 bpm, 2 bars\0"))
    path.write_bytes(path.read_bytes() + info)
    told = [(kind, facts["named"]) for kind, facts in measure(path).problems]
    assert told == [("name tempo", 120), ("name bars", 2)]


@pytest.mark.parametrize(
    ("tempo", "key", "said"),
    [
        # ID3v2.3: TBPM is a number; TKEY a letter, b or #, m for minor, or "o" (id3.org, section 4.2.1: from memory).
        ("96", "F#m", Hints(tempo_bpm=96, key=Key("F#", "minor"))),
        ("92.5", "Bb", Hints(tempo_bpm=92.5, key=Key("Bb", "major"))),
        ("0", "o", Hints()),
        ("96 bpm", "A minor", Hints(tempo_bpm=96, key=Key("A", "minor"))),
        ("fast", "nothing", Hints()),
    ],
)
def test_fields_are_read(monkeypatch, tmp_path, tempo, key, said):
    monkeypatch.setattr(said_module, "said_in", lambda _: {"tempo": tempo, "key": key})
    assert together(all_hints(tmp_path / "take.wav")) == said


def test_loudness_is_that_of_pyloudnorm(measured):
    samples = drums(96)
    meter = pyloudnorm.Meter(RATE_HZ, filter_class="DeMan")
    assert measured(samples).loudness_lufs == pytest.approx(meter.integrated_loudness(samples), abs=0.1)


@pytest.mark.parametrize(
    ("stem", "said"),
    [
        ("Drum Loop 96bpm", Hints(tempo_bpm=96, role="drums")),
        ("bass_Am_92,5 BPM_8bars", Hints(tempo_bpm=92.5, bars=8, key=Key("A", "minor"), role="bass")),
        ("pad F# minor", Hints(key=Key("F#", "minor"), role="harmony")),
        ("take 96", Hints()),
        ("2024-11-03 recording 2", Hints()),
    ],
)
def test_names_are_read(stem, said):
    assert hints_in(stem) == said


@pytest.mark.parametrize("name", ["tin-roof", "paper-lantern", "slow-tide", "wooden-horse"])
def test_demo_loops_are_what_their_cards_say(name):
    card = open_library(None).find(name)
    one = measure(demo_loops_folder() / card.path.name)
    assert one.tempo_bpm == pytest.approx(float(card.tempo_bpm), rel=0.001)
    assert (one.bars, one.time, one.role) == (card.bars, str(card.meter), card.role)
    assert str(one.key) == str(card.key)


@pytest.mark.parametrize(
    ("kind", "listed", "heard", "told"),
    [
        ("card tempo", 90.0, 96.0004, "Its card says 90 beats a minute, but it sounds like 96."),
        ("card bars", 8, 4.0, "Its card says 8 bars, but it sounds like 4."),
        ("card key", "", "A minor", "Its card says no key, but it sounds like A minor."),
    ],
)
def test_a_card_that_says_otherwise_is_told(kind, listed, heard, told):
    assert words.problem(kind, {"listed": listed, "heard": heard}).startswith(f"{told} The card counts: correct it")


def test_every_problem_has_words():
    folder = Path(mixer.loops.measure.__file__).parent
    text = "".join((folder / f"{name}.py").read_text("utf-8") for name in ("measured", "faults"))
    told = set(re.findall(r'(?:append\(|\(\(|return )"([a-zA-Z -]+)"', text)) - {"role", "key", "chords"}
    told |= set(re.findall(r'"(sound-[a-z-]+)"', Path(mixer.signal.files.__file__).read_text("utf-8"))) - {"sound-long"}
    assert len(told) > 20
    assert {kind for kind in told if not words.knows(kind)} == set()
