"""Other ways to a loop's tempo, bars and key, on the same files: the duration rule, and librosa where it is installed.

The duration rule knows only the file's length: of 1, 2, 4, 8 and 16 bars of 4/4 the one whose tempo is nearest to 110.
librosa: `feature.tempo` for tempo (its `beat_track` and its tuning end with a segmentation fault beside numpy 2.4,
so neither is used); for the key its `feature.chroma_cqt`, summed, against the profiles of Krumhansl
and Kessler (1982), since it names no keys itself.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import mir_eval
import numpy as np
import soundfile

from mixer.loops.measure import keys

BARS = (1, 2, 4, 8, 16)


def by_duration(seconds: float) -> tuple[float, int]:
    tempo = {bars: bars * 240 / seconds for bars in BARS}
    bars = min(BARS, key=lambda b: abs(math.log2(tempo[b] / 110)))
    return tempo[bars], bars


def by_librosa(path: str, *, keyed: bool) -> tuple[float, str]:
    import librosa  # noqa: PLC0415 - a heavy package of its own

    samples, rate_hz = librosa.load(path, sr=22_050)
    tempo = float(np.atleast_1d(librosa.feature.tempo(y=samples, sr=rate_hz))[0])
    if not keyed:
        return tempo, ""
    chroma = librosa.feature.chroma_cqt(y=samples, sr=rate_hz, tuning=0.0).sum(axis=1)
    fits = [np.corrcoef(np.roll(chroma, -tonic), keys.PROFILES[mode][0])[0, 1] for tonic, mode in keys.KEYS]
    tonic, mode = keys.KEYS[int(np.argmax(fits))]
    return tempo, f"{keys.TONICS[tonic]} {mode}"


def _both(truth: dict[str, Any]) -> tuple[float, int, float, str]:
    return (*by_duration(soundfile.info(truth["path"]).duration), *by_librosa(truth["path"], keyed=bool(truth["key"])))


def peers(truths: list[dict[str, Any]], within: Callable[..., Any], octaves: tuple[float, ...]) -> None:
    loops = [t for t in truths if t["tempo_bpm"]]
    found = [_both(truth) for truth in loops]
    tests = {"4 %": within(0.04), "0.1 %": within(0.001), "octave": within(0.04, octaves)}
    for name, column in (("duration rule", 0), ("librosa", 2)):
        shares = [
            100 * np.mean([test(f[column], t["tempo_bpm"]) for f, t in zip(found, loops, strict=True)])
            for test in tests.values()
        ]
        print(f"{name:16} tempo {' / '.join(f'{share:.0f}' for share in shares)}  (4 %, 0.1 %, octave)")
    print(f"duration rule    bars {100 * np.mean([f[1] == t['bars'] for f, t in zip(found, loops, strict=True)]):.0f}")
    keyed = [mir_eval.key.weighted_score(t["key"], f[3]) for f, t in zip(found, loops, strict=True) if t["key"]]
    print(f"librosa          key weighted {100 * np.mean(keyed):.0f}")
