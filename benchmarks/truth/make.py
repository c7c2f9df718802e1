"""Makes the truth set: `python -m benchmarks.truth.make [FOLDER] [--first N]`. The same files every time.

Sound and `truth.json` go to a folder outside the checkout. A third is set aside by a fixed rule that was written before
anything was measured: every third composed loop, and of the demo loops those whose name's CRC-32 divides by three.
`--aside N` makes a set that is all set aside: N composed loops by numbers that were never drawn before, and three
rounds of what was set aside beside them (of demo loops only those), at other tempos, in other keys, with other words
and songs.
"""

from __future__ import annotations

import argparse
import json
import tempfile
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import soundfile

from benchmarks.truth import band, spoil
from benchmarks.truth.manners import MANNERS, Manner
from benchmarks.truth.others import MORE_AIRS, MORE_SPOKEN, air, is_aside, other, others, spoken
from benchmarks.truth.scores import Score, compose

FOLDER = Path(tempfile.gettempdir()) / "mixer-truth"
COMPOSED = 165
FIRST_ASIDE, ROUNDS_ASIDE = 9000, 3
FIRST_MORE, FIRST_TURNED, MORE_TURNED = 1000, 20_000, 80
TURNED = "turned"  # an upbeat by which the last bar is short; only to fit by
BARS = (1,) * 10 + (2,) * 21 + (4,) * 42 + (8,) * 22 + (16,) * 2 + (3, 6, 12)
CUTS = ("seamless",) * 54 + ("first round",) * 20 + ("tail",) * 14 + ("silence",) * 7 + ("silence and tail",) * 5


@dataclass
class Truth:
    """What is known of a file. Tempo, bars and the like are None where there are none."""

    file: str
    kind: str  # loop, speech, hit, song
    role: str | None
    tempo_bpm: float | None
    bars: int | None
    time: str | None
    downbeat_seconds: float | None
    key: str | None
    chords: list[str]
    source: str
    aside: bool
    name: str  # what its name is worth
    difficulties: list[str] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("folder", nargs="?", type=Path, default=FOLDER)
    words.add_argument("--first", type=int, default=10_000, help="of each source, only so many")
    words.add_argument("--more", type=int, default=0, help="instead of the set, so many other composed loops to fit by")
    words.add_argument("--aside", type=int, default=0, help="instead of the set, so many composed loops, all set aside")
    asked = words.parse_args()
    asked.folder.mkdir(parents=True, exist_ok=True)
    jobs = [("composed", n) for n in range(min(COMPOSED, asked.first))]
    jobs += [("other", n) for n in range(min(len(others()), asked.first))]
    if asked.more:
        jobs = [("composed", FIRST_MORE + n) for n in range(asked.more)]
        jobs += [("spoken", n) for n in range(MORE_SPOKEN)] + [("air", n) for n in range(MORE_AIRS)]
        jobs += [(TURNED, FIRST_TURNED + n) for n in range(MORE_TURNED)]
    if asked.aside:
        jobs = [("composed", FIRST_ASIDE + n) for n in range(asked.aside)]
        jobs += [("other", n) for n in range(len(others()), (1 + ROUNDS_ASIDE) * len(others())) if is_aside(n)]
    with ProcessPoolExecutor(2) as pool:
        found = list(pool.map(_made, [str(asked.folder)] * len(jobs), jobs, chunksize=4))
    (asked.folder / "truth.json").write_text(json.dumps([asdict(t) for t in found], indent=1), encoding="utf-8")
    print(f"{len(found)} files in {asked.folder}")


def _made(folder: str, job: tuple[str, int]) -> Truth:
    source, number = job
    if source in ("composed", TURNED):
        return _composed(Path(folder), number, turned=source == TURNED)
    make = {"spoken": spoken, "air": air, "other": other}[source]
    return Truth(**make(Path(folder), number))


def _composed(folder: Path, number: int, *, turned: bool = False) -> Truth:
    draw = np.random.RandomState(7000 + number)
    manner = MANNERS[number * 7 % len(MANNERS)]
    tempo = round(draw.uniform(manner.slowest, manner.fastest), 2)
    tempo = (round(tempo), round(tempo), round(tempo), round(2 * tempo) / 2, tempo)[draw.randint(5)]
    beats_per_bar = {"4/4": 4, "3/4": 3, "6/8": 2}[manner.time]
    bars = int(draw.choice(BARS))
    bars = max(bars, 2) if turned else bars
    while bars > 1 + turned and bars * beats_per_bar * 60 / tempo > 36:
        bars //= 2
    tonic, mode = number * 5 % 12, ("major", "minor")[number // 12 % 2]
    upbeat = bool(draw.rand() < 0.06) or turned
    score = compose(manner, bars, tonic, mode, draw, upbeat=upbeat)
    cut = TURNED if turned else CUTS[draw.randint(len(CUTS))]
    samples, downbeat = _cut(score, float(tempo), cut, draw)
    truth = _truth_of(score, manner, float(tempo), downbeat, number)
    if upbeat:
        truth.difficulties.append("upbeat")
        truth.problems.append("upbeat")
    if cut != "seamless":
        truth.difficulties.append(cut)
    truth.problems += [word for word in ("silence", "tail") if word in cut]
    if draw.randint(100) < 3 and cut in ("seamless", "first round") and not upbeat and bars > 1:
        samples = samples[: -round(draw.uniform(0.1, 0.6) * 60 / float(tempo) * band.RATE_HZ)]
        truth.difficulties.append("cut short")
        truth.problems.append("cut short")
    _finished(samples, truth, number, folder, draw)
    return truth


def _cut(score: Score, tempo: float, cut: str, draw: np.random.RandomState) -> tuple[np.ndarray, float]:
    """Play and cut; gives the sound at 44.1 kHz and where its first downbeat is, in seconds."""
    beat = 60 / tempo
    pickup, beats = float(score.pickup_beats), score.bars * score.beats_per_bar
    wet = bool(draw.rand() < 0.5)
    if cut == TURNED or (cut == "seamless" and not pickup):
        parts = [band.Part(p.program, _twice(p.notes, beats), p.drums, p.volume, p.pan) for p in score.parts]
        samples = band.play(parts, beat, -pickup, 2 * beats, wet=wet)
        return samples[round(beats * beat * band.RATE_HZ) :], pickup * beat
    length = pickup + beats
    if "tail" in cut:
        length += draw.uniform(0.3, 2.0) / beat
    samples = band.play(list(score.parts), beat, -pickup, length, wet=wet)
    downbeat = pickup * beat
    if "silence" in cut:
        seconds = draw.uniform(0.02, 0.9)
        samples = np.concatenate([np.zeros((round(seconds * band.RATE_HZ), 2), np.float32), samples])
        downbeat += seconds
    return samples, downbeat


def _twice(notes: tuple[band.Note, ...], beats: int) -> tuple[band.Note, ...]:
    again = [band.Note(n.beat + beats, n.key, n.velocity, n.beats) for n in notes]
    return (*notes, *again)


def _truth_of(score: Score, manner: Manner, tempo: float, downbeat: float, number: int) -> Truth:
    hard = [manner.name] if manner.name in ("half time", "broken") else []
    hard += ["swing"] if manner.swung else []
    hard += [score.time] if score.time != "4/4" else []
    return Truth(
        file="",
        kind="loop",
        role=score.role,
        tempo_bpm=tempo,
        bars=score.bars,
        time=score.time,
        downbeat_seconds=downbeat,
        key=score.key,
        chords=list(score.chords),
        source="composed",
        aside=number % 3 == 2 or FIRST_ASIDE <= number < FIRST_TURNED,
        name="",
        difficulties=hard,
    )


def _finished(samples: np.ndarray, truth: Truth, number: int, folder: Path, draw: np.random.RandomState) -> None:
    """Level, channels, rate and name; writes the file."""
    samples = spoil.normal(samples)
    for table in (spoil.LEVELS, spoil.CHANNELS):
        if what := spoil.draw_one(table, draw):
            samples = spoil.SPOILS[what](samples)
            truth.difficulties.append(what)
            truth.problems += [what] if what != "mono" else []
    rate_hz = int(draw.choice(spoil.RATES_HZ))
    if rate_hz != band.RATE_HZ:
        samples = spoil.at_rate(samples, band.RATE_HZ, rate_hz)
        truth.difficulties.append(f"{rate_hz} Hz")
    tempo, bars = truth.tempo_bpm or 0.0, truth.bars or 0
    stem, truth.name = spoil.named(number, truth.role or "", tempo, truth.key, bars, draw)
    ending = ("wav",) * 6 + ("flac",) * 10 + ("ogg", "mp3")
    kind = str(draw.choice(ending))
    if kind in ("ogg", "mp3"):
        truth.difficulties.append("lossy")
        kind = "ogg" if rate_hz == 96_000 else kind
    truth.file = f"{stem}.{kind}"
    write(folder / truth.file, samples, rate_hz)


def write(path: Path, samples: np.ndarray, rate_hz: int) -> None:
    ending = path.suffix[1:]
    options: dict[str, Any] = {"subtype": "PCM_16"} if ending in ("wav", "flac") else {"format": ending.upper()}
    clipped = np.clip(samples, -1, 32767 / 32768).astype(np.float32)
    if ending == "ogg":  # libsndfile writes long Vorbis in one piece only with a small stack, so piece by piece
        with soundfile.SoundFile(path, "w", rate_hz, clipped.shape[1], **options) as out:
            for start in range(0, len(clipped), 4096):
                out.write(clipped[start : start + 4096])
    else:
        soundfile.write(path, clipped, rate_hz, **options)


if __name__ == "__main__":
    main()
