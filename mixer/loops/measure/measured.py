"""One sound file measured: what it is, how sure each answer is, and what else it could be.

The ways to count the file are weighed against each other (`readings`, `evidence`), then its role, its key and its
chords. The shares that softmax gives are held to be chances; an answer is called sure where the chance that the others
leave it is small enough that 98 of 100 such answers were right on loops of which all is known (`benchmarks/truth`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mixer.loops.catalog import ROLES
from mixer.loops.measure import evidence, keys, roles
from mixer.loops.measure.facts import Measured
from mixer.loops.measure.faults import faults, is_noisy, join_changes_colour, join_clicks
from mixer.loops.measure.hearing import Heard, hear
from mixer.loops.measure.hints import Hints, all_hints, together
from mixer.loops.measure.pitches import Pitches, find_pitches
from mixer.loops.measure.readings import INSIDE, SHORT, TAIL, UPBEAT, Reading, readings, rounded_bpm
from mixer.loops.measure.weights import KEY, READING, ROLE, SAID
from mixer.music.keys import Key
from mixer.record import replace
from mixer.signal.blocks import Samples
from mixer.signal.files import UnreadableSoundError, read_sound
from mixer.signal.loudness import LoudnessMeter, loop_loudness
from mixer.signal.truepeak import true_peak_dbtp

Curve = NDArray[np.floating]

LONGEST_SECONDS = 120
SONG_SECONDS = 45
SHORTEST_SECONDS = 0.3
SILENT_LEVEL = 2.5e-5  # -92 dBFS, whatever offset it lies on; the dither of 16 bits alone has -96
MOST_BARS = 16
LIFT_DB = 60
# A plain meter needs one gating block (ITU-R BS.1770-4).
BLOCK_SECONDS = 0.4
# Below this share an answer is not among the other readings.
WORTH_NAMING = 0.08
MOST_NAMED = 3
SURE = {"tempo_bpm": 0.98, "bars": 0.92, "time": 0.95, "first_downbeat_seconds": 0.99}
SURE_ROLE, SURE_KEY, SURE_CHORD = 0.94, 0.98, 0.9
# What a name alone says makes no answer sure.
LEAST_BY_SOUND = 0.5
SHORTEST_TAIL_SECONDS = 0.05


@dataclass
class _Answers:
    """Answers as they are found."""

    sure: list[str] = field(default_factory=list)
    others: dict[str, tuple[object, ...]] = field(default_factory=dict)
    problems: list[tuple[str, dict[str, object]]] = field(default_factory=list)


def measure(path: Path, *, by_name: bool = True) -> Measured:
    """Measure a sound file.

    Parameters
    ----------
    path : the file
    by_name : whether its name and tags may be weighed

    Returns
    -------
    what was measured; of a file that is no sound, only its problem
    """
    named = all_hints(path) if by_name and path.is_file() else []
    try:
        sound = read_sound(path, LONGEST_SECONDS)
    except UnreadableSoundError as error:
        found = ("whole song", {}) if error.kind == "sound-long" else (error.kind, dict(error.facts))
        return Measured(path, problems=(found,))
    heard = hear(sound.samples, sound.rate_hz)
    if heard.seconds < SHORTEST_SECONDS:
        return Measured(path, seconds=heard.seconds, problems=(("no pulse", {}),))
    loudness = _loudness(heard)
    if loudness == float("-inf") or float(sound.samples.std(axis=0).max()) < SILENT_LEVEL:
        return Measured(path, seconds=heard.seconds, problems=(("sound-silent", {}),))
    wrong = [(kind, dict[str, object]()) for kind in faults(sound.samples, loudness)]
    pitches = find_pitches(sound.samples, sound.rate_hz)
    role, chance = _role(heard, pitches, together(named))
    bare = Measured(
        path,
        role=role,
        loudness_lufs=round(loudness, 1),
        true_peak_dbtp=round(true_peak_dbtp(sound.samples, sound.rate_hz), 1),
        seconds=heard.seconds,
    )
    if role == roles.SPEECH:
        return replace(bare, role="voice", problems=(("speech", {}), *wrong))
    if kind := _no_loop(heard):
        return replace(bare, problems=((kind, {}), *wrong))
    return _as_loop(bare, role, chance, heard, pitches, named, wrong)


def _as_loop(
    bare: Measured,
    role: str,
    chance: float,
    heard: Heard,
    pitches: Pitches,
    named: list[Hints],
    wrong: list[tuple[str, dict[str, object]]],
) -> Measured:
    """Add to what is known of a sound how it is counted as a loop, with key and chords; or why it is none."""
    hints = together(named)
    answers = _Answers(sure=["role"] if chance > SURE_ROLE else [])
    counted = _counted(heard, pitches, hints, answers)
    if counted is None:
        return replace(bare, problems=(("no pulse", {}), *wrong))
    if counted.bars > MOST_BARS:
        return replace(bare, problems=(("whole song", {}), *wrong))
    if role == "background":  # without a pulse, what fits its length is a guess
        answers.sure = [name for name in answers.sure if name not in ("tempo_bpm", "bars", "time")]
    _tell_of_role(heard, pitches, hints, answers)
    key, chords = _pitched(pitches, counted, role, chance, hints, answers)
    if role != "background" and is_noisy(heard):
        wrong.append(("noise", {}))
    answers.problems += [*_ends(heard, counted), *wrong, *_disagreements(named, counted, key, role)]
    return replace(
        bare,
        tempo_bpm=round(rounded_bpm(counted), 2),
        bars=counted.bars,
        time=counted.time,
        first_downbeat_seconds=round(counted.origin_seconds, 4),
        key=key,
        chords=chords,
        sure=tuple(answers.sure),
        others=answers.others,
        problems=tuple(answers.problems),
    )


def _loudness(heard: Heard) -> float:
    found = _loudness_above_gate(heard.samples, heard.rate_hz)
    if np.isneginf(found):  # a meter takes what is softer than -70 LUFS for silence; here it is told
        found = _loudness_above_gate(heard.samples * np.float32(10 ** (LIFT_DB / 20)), heard.rate_hz) - LIFT_DB
    return found


def _loudness_above_gate(samples: Samples, rate_hz: int) -> float:
    if len(samples) < BLOCK_SECONDS * rate_hz:
        return loop_loudness(samples, rate_hz)
    meter = LoudnessMeter(rate_hz)
    meter.feed(samples)
    return meter.integrated_lufs()


def _shares(scores: Curve) -> Curve:
    shares = np.exp(scores - scores.max())
    return np.asarray(shares / shares.sum())


def _no_loop(heard: Heard) -> str:
    """Whether it is a single hit or a whole song; empty for neither."""
    if heard.seconds > SONG_SECONDS:
        return "whole song"
    strong = heard.strengths > 0.35
    level = np.maximum(heard.loudness_db, -60.0)
    quarter = max(1, len(level) // 4)
    dies = float(level[-quarter:].mean()) < float(level[:quarter].max()) - 18
    if (
        strong.sum() <= 1
        and dies
        and (not len(heard.onsets) or heard.onsets[strong].max(initial=0) < 0.35 * heard.seconds)
    ):
        return "single hit"
    return ""


def _counted(heard: Heard, pitches: Pitches, hints: Hints, answers: _Answers) -> Reading | None:
    """Choose how to count the file, and say of which parts of that it is sure."""
    found = readings(heard, pitches, hints.tempo_bpm)
    if not found:
        return None
    facts = evidence.evidence(heard, pitches, found, hints)
    heard_facts, said_facts = np.split(facts, [-len(evidence.SAID)], axis=1)
    scores = heard_facts @ np.array([READING[name] for name in evidence.NAMES]).T.ravel()
    by_sound = _shares(scores)
    shares = _shares(scores + said_facts @ np.array([SAID[name] for name in evidence.SAID]))
    best = found[int(shares.argmax())]
    same: dict[str, Callable[[Reading], bool]] = {
        "tempo_bpm": lambda r: abs(r.tempo_bpm / best.tempo_bpm - 1) < 0.002,
        "bars": lambda r: r.bars == best.bars,
        "time": lambda r: r.time == best.time,
        "first_downbeat_seconds": lambda r: abs(r.origin_seconds - best.origin_seconds) < 0.01,
    }
    said: dict[str, Callable[[Reading], object]] = {
        "tempo_bpm": lambda r: round(rounded_bpm(r), 1),
        "bars": lambda r: r.bars,
        "time": lambda r: r.time,
        "first_downbeat_seconds": lambda r: round(r.origin_seconds, 2),
    }
    for name, is_same in same.items():
        agreeing = np.array([is_same(reading) for reading in found])
        chance, chance_by_sound = float(shares[agreeing].sum()), float(by_sound[agreeing].sum())
        exact = name != "tempo_bpm" or best.kind not in (TAIL, SHORT, UPBEAT) or _is_whole(best)
        if chance > SURE[name] and chance_by_sound > LEAST_BY_SOUND and exact:
            answers.sure.append(name)
        elif others := _others(found, shares, said[name], said[name](best)):
            answers.others[name] = others
    return best


def _is_whole(reading: Reading) -> bool:
    """Whether a tempo that was found by the pulse came out so near a whole number that it must be that."""
    return rounded_bpm(reading).is_integer() and abs(rounded_bpm(reading) / reading.tempo_bpm - 1) < 0.0007


def _others(found: list[Reading], shares: Curve, said: Callable[[Reading], object], best: object) -> tuple[object, ...]:
    chances: dict[object, float] = {}
    for reading, share in zip(found, shares, strict=True):
        chances[said(reading)] = chances.get(said(reading), 0.0) + float(share)
    chances.pop(best, None)
    ordered = sorted(chances, key=lambda answer: -chances[answer])
    return tuple(answer for answer in ordered[:MOST_NAMED] if chances[answer] > WORTH_NAMING)


def _role_shares(heard: Heard, pitches: Pitches, hints: Hints) -> Curve:
    facts = roles.role_evidence(heard, pitches)
    weights = np.array([[ROLE[role][name] for name in roles.NAMES] for role in roles.KINDS])
    named = np.array([NAMED_ROLE * (role == hints.role) for role in roles.KINDS])
    return _shares(weights @ facts + named)


# How much a name that says a role weighs, in natural logarithms of chances.
NAMED_ROLE = 2.0


def _role(heard: Heard, pitches: Pitches, hints: Hints) -> tuple[str, float]:
    shares = _role_shares(heard, pitches, hints)
    best = int(shares.argmax())
    by_sound = _role_shares(heard, pitches, Hints())
    return roles.KINDS[best], float(min(shares[best], by_sound[best] + LEAST_BY_SOUND))


def _tell_of_role(heard: Heard, pitches: Pitches, hints: Hints, answers: _Answers) -> None:
    if "role" not in answers.sure:
        shares = _role_shares(heard, pitches, hints)
        order = np.argsort(-shares)[1 : MOST_NAMED + 1]
        answers.others["role"] = tuple(ROLES[n] for n in order if n < len(ROLES) and shares[n] > WORTH_NAMING)


def _pitched(
    pitches: Pitches, counted: Reading, role: str, chance: float, hints: Hints, answers: _Answers
) -> tuple[Key | None, tuple[str, ...]]:
    """Find key and chords of a loop whose role has them."""
    if role not in keys.PITCHED:
        if chance > SURE_ROLE:
            answers.sure += ["key", "chords"]
        return None, ()
    bar = counted.beats_per_bar * counted.beat_seconds
    bars = [(counted.origin_seconds + n * bar, counted.origin_seconds + (n + 1) * bar) for n in range(counted.bars)]
    facts = keys.key_evidence(pitches, bars, role, hints.key)
    by_sound = facts[:, :-1] @ np.array([KEY[name] for name in keys.NAMES]).T.ravel()
    shares = _shares(by_sound + facts[:, -1] * SAID["key"])
    best = int(shares.argmax())
    likeness = keys.chords_in_key(keys.chord_likeness(pitches, bars), best)
    chords = [int(row.argmax()) for row in likeness]
    order = [int(n) for n in np.argsort(-shares)[1 : MOST_NAMED + 1] if shares[n] > WORTH_NAMING]
    if keys.also_major([keys.KEYS[chord] for chord in chords]):
        tonic, _ = keys.KEYS[chords[0]]
        both = [keys.KEYS.index((tonic, "minor")), keys.KEYS.index(((tonic + 3) % 12, "major"))]
        order = [n for n in dict.fromkeys([*both, *order]) if n != best][:MOST_NAMED]
    elif _is_sure(float(shares[best]), SURE_KEY, chance) and _shares(by_sound)[best] > LEAST_BY_SOUND:
        answers.sure.append("key")
    if "key" not in answers.sure:
        answers.others["key"] = tuple(_key_name(n) for n in order)
    if {"bars", "time"} <= set(answers.sure) and float((likeness.max(axis=1) * shares[best]).min()) > SURE_CHORD:
        answers.sure.append("chords")
    tonic, mode = keys.KEYS[best]
    return Key(keys.TONICS[tonic], mode), tuple(keys.chord_name(chord) for chord in chords)


def _is_sure(share: float, bound: float, chance: float) -> bool:
    """Whether it is sure beside the role's own chance."""
    return share > bound and share * chance > bound * SURE_ROLE


def _key_name(number: int) -> str:
    tonic, mode = keys.KEYS[number]
    return f"{keys.TONICS[tonic]} {mode}"


def _ends(heard: Heard, counted: Reading) -> list[tuple[str, dict[str, object]]]:
    """What is before the first bar and after the last, and how the end joins the start."""
    found: list[tuple[str, dict[str, object]]] = []
    start = heard.start_seconds
    if start > 0.01:
        found.append(("silence in front", {"seconds": round(start, 2)}))
    if counted.kind in (UPBEAT, INSIDE):
        beats = (counted.origin_seconds - start) / counted.beat_seconds
        found.append(("upbeat", {"beats": round(beats, 2)}))
    first, end = counted.origin_seconds, counted.end_seconds
    if counted.kind == INSIDE:
        first, end = 0.0, heard.seconds
    rest = heard.seconds - end
    if rest > SHORTEST_TAIL_SECONDS:
        found.append(("tail", {"seconds": round(rest, 2)}))
    elif rest < -SHORTEST_TAIL_SECONDS:
        found.append(("cut short", {"seconds": round(-rest, 2)}))
    else:
        if join_clicks(heard.samples, round(first * heard.rate_hz), round(end * heard.rate_hz)):
            found.append(("join clicks", {}))
        if join_changes_colour(heard, first, end):
            found.append(("join changes colour", {}))
    return found


def _disagreements(
    named: Iterable[Hints], counted: Reading, key: Key | None, role: str
) -> list[tuple[str, dict[str, object]]]:
    """Where the file's name or a tag says otherwise; what several of them say is told once."""
    found: list[tuple[str, dict[str, object]]] = []
    for hints in named:
        if hints.tempo_bpm and not evidence.agree(counted.tempo_bpm, hints.tempo_bpm):
            found.append(("name tempo", {"named": hints.tempo_bpm, "heard": round(rounded_bpm(counted), 1)}))
        if hints.bars and hints.bars != counted.bars:
            found.append(("name bars", {"named": hints.bars, "heard": counted.bars}))
        if hints.key and key and (hints.key.tonic_semitones, hints.key.mode) != (key.tonic_semitones, key.mode):
            found.append(("name key", {"named": str(hints.key), "heard": str(key)}))
        if hints.role and hints.role != role:
            found.append(("name role", {"named": hints.role, "heard": role}))
    return [told for number, told in enumerate(found) if told not in found[:number]]
