"""Other ways to a loop's tempo, bars and key, on the same files: the duration rule, librosa and essentia.

Either library is left out where it is not installed.
The duration rule knows only the file's length: of 1, 2, 4, 8 and 16 bars of 4/4 the one whose tempo is nearest to 110.
librosa: `feature.tempo` for tempo (its `beat_track` and its tuning end with a segmentation fault beside numpy 2.4,
so neither is used); for the key its `feature.chroma_cqt`, summed, against the profiles of Krumhansl
and Kessler (1982), since it names no keys itself. essentia: `PercivalBpmEstimator` and `KeyExtractor` as they are;
and with the duration rule of Font and Serra (ISMIR 2016) as its confidence, `LoopBpmConfidence`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from importlib.util import find_spec
from typing import Any

import mir_eval
import numpy as np
import soundfile

from mixer.loops.measure import keys

BARS = (1, 2, 4, 8, 16)
CONFIDENT = 0.95
Within = Callable[..., Callable[[float, float], bool]]


def by_duration(path: str) -> tuple[float, int]:
    """Tempo and bars from the length alone."""
    seconds = soundfile.info(path).duration
    tempo = {bars: bars * 240 / seconds for bars in BARS}
    bars = min(BARS, key=lambda b: abs(math.log2(tempo[b] / 110)))
    return tempo[bars], bars


def by_librosa(path: str) -> tuple[float, str]:
    """Tempo and key."""
    import librosa  # noqa: PLC0415 - a heavy package of its own

    samples, rate_hz = librosa.load(path, sr=22_050)
    tempo = float(np.atleast_1d(librosa.feature.tempo(y=samples, sr=rate_hz))[0])
    chroma = librosa.feature.chroma_cqt(y=samples, sr=rate_hz, tuning=0.0).sum(axis=1)
    fits = [np.corrcoef(np.roll(chroma, -tonic), keys.PROFILES[mode][0])[0, 1] for tonic, mode in keys.KEYS]
    tonic, mode = keys.KEYS[int(np.argmax(fits))]
    return tempo, f"{keys.TONICS[tonic]} {mode}"


def by_essentia(path: str) -> tuple[float, str, float]:
    """Tempo, key, and the confidence that the tempo gets from the file's length."""
    import essentia  # noqa: PLC0415 - a heavy package of its own

    essentia.log.infoActive = False
    import essentia.standard as by  # noqa: PLC0415 - it talks while it is loaded, if not told before

    samples = by.MonoLoader(filename=path, sampleRate=44_100)()
    tempo = float(by.PercivalBpmEstimator()(samples))
    tonic, mode, _ = by.KeyExtractor()(samples)
    return tempo, f"{tonic} {mode}", float(by.LoopBpmConfidence()(samples, tempo))


def peers(truths: list[dict[str, Any]], within: Within, octaves: tuple[float, ...]) -> None:
    """Print what each of them scores."""
    loops = [t for t in truths if t["tempo_bpm"]]
    lengths = [by_duration(t["path"]) for t in loops]
    _tell("duration rule", loops, [tempo for tempo, _ in lengths], within, octaves)
    print(
        f"duration rule    bars {100 * np.mean([f[1] == t['bars'] for f, t in zip(lengths, loops, strict=True)]):.0f}"
    )
    if find_spec("librosa"):
        found = [by_librosa(t["path"]) for t in loops]
        _tell("librosa", loops, [tempo for tempo, _ in found], within, octaves, [key for _, key in found])
    if find_spec("essentia"):
        heard = [by_essentia(t["path"]) for t in loops]
        _tell("essentia", loops, [f[0] for f in heard], within, octaves, [f[1] for f in heard])
        sure = [n for n, f in enumerate(heard) if f[2] > CONFIDENT]
        print(f"essentia, confident by the length: {len(sure)} of {len(loops)}")
        _tell("  of these", [loops[n] for n in sure], [heard[n][0] for n in sure], within, octaves)


def _tell(
    name: str,
    loops: list[dict[str, Any]],
    tempos: list[float],
    within: Within,
    octaves: tuple[float, ...],
    named: list[str] | None = None,
) -> None:
    """Tempo by the measures of Font and Serra (ISMIR 2016): accuracy 1, exact, 1e, 2; key by `mir_eval`, weighted."""
    tests = (within(0.04), within(0.001), lambda got, true: round(got) == round(true), within(0.04, octaves))
    shares = [
        100 * np.mean([test(got, t["tempo_bpm"]) for got, t in zip(tempos, loops, strict=True)]) for test in tests
    ]
    print(f"{name:16} tempo {' / '.join(f'{share:.0f}' for share in shares)}  (4 %, 0.1 %, whole number, octave)")
    if named:
        keyed = [mir_eval.key.weighted_score(t["key"], n) for n, t in zip(named, loops, strict=True) if t["key"]]
        print(f"{name:16} key weighted {100 * np.mean(keyed):.0f}")
