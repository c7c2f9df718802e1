"""Fits the weights by which `mixer measure` decides: `python -m benchmarks.truth.fit [--write]`.

Softmax over what is possible (ways to count, keys, roles), by gradient, on what is not set aside and on further
composed loops (`make --more 2700` into a folder beside the set). Prints six-fold cross-validated
results, and draws them (`confidence.svg`).
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import mir_eval
import numpy as np
from numpy.typing import NDArray

from benchmarks.truth import plot
from benchmarks.truth.facts import all_facts, right_keys, right_ones, to_fit
from benchmarks.truth.score import OCTAVES, within
from mixer.loops.measure import evidence, keys, roles
from mixer.loops.measure.readings import rounded_bpm

Curve = NDArray[np.float64]
Cases = list[tuple[Curve, NDArray[np.bool_]]]

STEPS = 300
READING, KEY, ROLE = 10.0, 5.0, 6.0  # how strictly the weights are drawn to nothing
# What has so little chance changes no weight; it is looked over again every so many steps.
HOPELESS, LOOKED_OVER = 1e-5, 25
KINDS = roles.KINDS
WEIGHTS = Path(evidence.__file__).with_name("weights.py")
HEAD = '''"""Weights of evidence, fitted on the truth set by `benchmarks/truth/fit.py`, which writes this file.

What speaks for a way to count has a weight for each of `evidence.WAYS`, what speaks for a key for each of `keys.WAYS`.
"""

from __future__ import annotations

'''


def softmax(scores: Curve) -> Curve:
    shares = np.exp(scores - scores.max())
    return np.asarray(shares / shares.sum())


def fitted(cases: Cases, strictness: float) -> Curve:
    """Weights that make what is right likely; `strictness` draws them to nothing."""
    cases = [(facts, right) for facts, right in cases if right.any()]
    facts, right = (np.concatenate(parts) for parts in zip(*cases, strict=True))
    starts = np.cumsum([0, *(len(one) for _, one in cases[:-1])])
    case = np.repeat(np.arange(len(cases)), [len(one) for _, one in cases])
    size = facts.std(axis=0) + 1e-3
    scaled = (facts / size).astype(np.float32)
    weights, mean, square = (np.zeros(len(size), np.float32) for _ in range(3))
    for step in range(STEPS):
        if step % LOOKED_OVER == 0:
            kept = right | (_shares(scaled @ weights, starts, case) > HOPELESS)
            some, wanted_of, case_of = scaled[kept], right[kept], case[kept]
            starts_of = np.searchsorted(case_of, np.arange(len(cases)))
        share = _shares(some @ weights, starts_of, case_of)
        wanted = share * wanted_of
        change = wanted / np.add.reduceat(wanted, starts_of)[case_of] - share
        slope = change.astype(np.float32) @ some - strictness * weights
        mean, square = 0.9 * mean + 0.1 * slope, 0.99 * square + 0.01 * slope**2
        weights = weights + 0.03 * (1 + np.cos(np.pi * step / STEPS)) * mean / (np.sqrt(square) + 1e-8)
    return np.asarray(weights / size)


def _shares(scores: Curve, starts: NDArray[np.intp], case: NDArray[np.intp]) -> Curve:
    """Softmax within each case."""
    shares = np.exp(scores - np.maximum.reduceat(scores, starts)[case])
    return np.asarray(shares / np.add.reduceat(shares, starts)[case])


def crossed(cases: Cases, strictness: float) -> list[Curve]:
    """The shares that each case's options get from weights that were fitted without it."""
    fold = np.random.RandomState(0).permutation(len(cases)) % 6
    shares: list[Curve] = [np.zeros(0)] * len(cases)
    for part in range(6):
        weights = fitted([c for c, f in zip(cases, fold, strict=True) if f != part], strictness)
        for place in np.flatnonzero(fold == part):
            shares[place] = softmax(cases[place][0] @ weights)
    return shares


def told(name: str, right: list[bool], confidence: list[float]) -> tuple[list[bool], list[float]]:
    good, sure = np.array(right, float), np.array(confidence)
    parts = [f"{100 * good.mean():.1f} right"]
    for bound in (0.9, 0.95, 0.98, 0.99):
        kept = sure > bound
        parts.append(
            f"> {bound}: {100 * kept.mean():.0f} sure, {100 * good[kept].mean() if kept.any() else 0:.1f} right"
        )
    print(f"{name:10} {'; '.join(parts)}")
    return right, confidence


def role_cases(found: list[dict[str, Any]]) -> Cases:
    """A role's facts stand in its own columns."""
    cases = []
    for one in found:
        if one["truth"]["role"]:
            what = roles.SPEECH if one["truth"]["kind"] == "speech" else one["truth"]["role"]
            facts = np.kron(np.eye(len(KINDS)), one["for roles"])
            cases.append((facts, np.array([kind == what for kind in KINDS])))
    return cases


def main() -> None:
    found = all_facts(to_fit())
    loops = [one for one in found if one["truth"]["tempo_bpm"] and one["readings"]]
    counted = [(one["for readings"], right_ones(one["truth"], one["readings"])) for one in loops]
    print(f"{sum(right.any() for _, right in counted)} of {len(counted)} have the right reading among theirs")
    shares = crossed(counted, READING)
    drawn = {}
    for name, same in SAME.items():
        right, sure = [], []
        for one, share in zip(loops, shares, strict=True):
            best = one["readings"][int(share.argmax())]
            sure.append(sum(p for p, r in zip(share, one["readings"], strict=True) if same(r, best)))
            right.append(RIGHT[name](one["truth"], best))
        drawn[name] = told(name, right, sure)
    keyed = [one for one in found if one["truth"]["key"]]
    key_cases = [(one["for keys"], right_keys(one["truth"])) for one in keyed]
    shares = crossed(key_cases, KEY)
    drawn["key"] = told(
        "key", [bool(r[s.argmax()]) for s, (_, r) in zip(shares, key_cases, strict=True)], [s.max() for s in shares]
    )
    names = [f"{keys.TONICS[tonic]} {mode}" for tonic, mode in keys.KEYS]
    chosen = [names[share.argmax()] for share in shares]
    weighted = [mir_eval.key.weighted_score(o["truth"]["key"], c) for o, c in zip(keyed, chosen, strict=True)]
    print(f"key by its label, weighted: {100 * np.mean(weighted):.1f}")
    for role in keys.PITCHED:
        picked = [n for n, one in enumerate(keyed) if one["truth"]["role"] == role]
        told(
            f"  {role}", [bool(key_cases[n][1][shares[n].argmax()]) for n in picked], [shares[n].max() for n in picked]
        )
        chords = {n: keys.chords_in_key(keyed[n]["chords"], int(shares[n].argmax())) for n in picked}
        good = [
            keys.chord_name(int(c.argmax())) == t
            for n in picked
            for c, t in zip(chords[n], keyed[n]["truth"]["chords"], strict=True)
        ]
        told("  chords", good, [float(c.max() * shares[n].max()) for n in picked for c in chords[n]])
    role_set = role_cases(found)
    shares = crossed(role_set, ROLE)
    drawn["role"] = told(
        "role", [bool(r[s.argmax()]) for s, (_, r) in zip(shares, role_set, strict=True)], [s.max() for s in shares]
    )
    del drawn["tempo 4 %"], drawn["octave"]
    plot.draw(drawn)
    table = np.zeros((len(KINDS), len(KINDS)), int)
    for s, (_, r) in zip(shares, role_set, strict=True):
        table[r.argmax(), s.argmax()] += 1
    print(KINDS, table, sep="\n")
    if "--write" in sys.argv:
        said = len(evidence.SAID)
        reading = fitted([*counted, *_again(loops, counted)], READING)
        key = fitted([*key_cases, *_again(keyed, key_cases)], KEY)
        parts: list[tuple[str, dict[str, Any]]] = [
            ("READING", _by_way(evidence.NAMES, reading[:-said])),
            ("SAID", dict(zip((*evidence.SAID, "key"), (*reading[-said:], key[-1]), strict=True))),
            ("KEY", _by_way(keys.NAMES, key[:-1])),
        ]
        by_role = fitted(role_set, ROLE).reshape(len(KINDS), -1)
        parts += [
            ("ROLE", {r: dict(zip(roles.NAMES, row, strict=True)) for r, row in zip(KINDS, by_role, strict=True)})
        ]
        WEIGHTS.write_text(HEAD + "\n".join(f"{name} = {_dressed(table)}" for name, table in parts) + "\n", "utf-8")


def _again(found: list[dict[str, Any]], cases: Cases) -> Cases:
    """Cases of other hands than the one that wrote most of the set, to be counted three times in all."""
    return 2 * [case for one, case in zip(found, cases, strict=True) if one["truth"]["source"] in ("demo", "again")]


def _by_way(names: tuple[str, ...], weights: Curve) -> dict[str, Any]:
    return dict(zip(names, weights.reshape(-1, len(names)).T, strict=True))


def _dressed(value: dict[str, Any] | Curve | float) -> str:
    if isinstance(value, dict):
        lines = [f"    {_quoted(k)}: {_dressed(v)},".replace("\n", "\n    ") for k, v in value.items()]
        return "\n".join(["{", *lines, "}"])
    if isinstance(value, np.ndarray):
        return f"({', '.join(_dressed(one) for one in value)})"
    return f"{value:.3f}"


def _quoted(text: str) -> str:
    return f'"{text}"'


SAME = {
    "tempo": lambda r, best: abs(r.tempo_bpm / best.tempo_bpm - 1) < 0.002,
    "tempo 4 %": lambda r, best: abs(r.tempo_bpm / best.tempo_bpm - 1) < 0.04,
    "octave": lambda r, best: within(0.04, OCTAVES)(r.tempo_bpm, best.tempo_bpm),
    "bars": lambda r, best: r.bars == best.bars,
    "time": lambda r, best: r.time == best.time,
    "downbeat": lambda r, best: abs(r.origin_seconds - best.origin_seconds) < 0.01,
}
RIGHT = {
    "tempo": lambda t, r: abs(rounded_bpm(r) / t["tempo_bpm"] - 1) <= 0.001,
    "tempo 4 %": lambda t, r: abs(r.tempo_bpm / t["tempo_bpm"] - 1) <= 0.04,
    "octave": lambda t, r: within(0.04, OCTAVES)(r.tempo_bpm, t["tempo_bpm"]),
    "bars": lambda t, r: r.bars == t["bars"],
    "time": lambda t, r: r.time == t["time"],
    "downbeat": lambda t, r: abs(r.origin_seconds - t["downbeat_seconds"]) <= 0.01,
}

if __name__ == "__main__":
    main()
