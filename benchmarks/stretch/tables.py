"""Results as Markdown tables."""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from benchmarks.stretch.results import AGAIN, OURS, Result

MAIN = ("mel_4096_db", "mel_1024_db", "flux")
Groups = dict[tuple[str, ...], list[Result]]


def table(rows: list[Result], by: list[str]) -> str:
    """Every method: means, and of what is measured many times in a loop the median or the 95th of 100 of all."""
    heads = [
        *by,
        "method",
        "mel 4096 dB",
        "mel 1024 dB",
        "flux",
        "onsets, median / 95 % ms",
        "of them",
        "beside one another",
    ]
    heads += [
        "rise before hits, 95 % dB",
        "tail before hits, 5 / 95 % dB",
        "under hit, 95 % dB",
        "notes further off than the join, level / colour",
    ]
    heads += ["stereo", "pitch, median / 95 % cents", "of them"]
    lines = [_line(heads), _line(["---"] * len(heads))]
    for group, members in _groups(rows, [*by, "method"]).items():
        lines.append(_line([*group, *_cells(members)]))
    return "\n".join(lines)


def shares(rows: list[Result], by: list[str]) -> str:
    """Ours divided by the best of the others, column by column."""
    heads = [*by, "mel 4096", "mel 1024", "flux"]
    lines = [_line(heads), _line(["---"] * len(heads))]
    for group, members in _groups(rows, by).items():
        cells = [f"{share(members, column):.2f}{_worst(members, column)}" for column in MAIN]
        lines.append(_line([*group, *cells]))
    return "\n".join(lines)


def share(rows: list[Result], column: str) -> float:
    """Our mean as a share of that of the best other method."""
    means = {
        name: float(np.mean([getattr(row.apart, column) for row in members]))
        for (name,), members in _groups(rows, ["method"]).items()
        if name != AGAIN
    }
    ours = means.pop(OURS)
    return ours / max(min(means.values()), 1e-9) if means else np.nan


def _worst(rows: list[Result], column: str) -> str:
    cases = _groups(rows, ["loop", "ratio", "semitones"])
    of_case = {case: share(members, column) for case, members in cases.items()}
    (loop, ratio, _), most = max(of_case.items(), key=lambda item: item[1])
    return f" ({most:.2f} {loop} {ratio})" if len(of_case) > 1 else ""


def _cells(members: list[Result]) -> list[str]:
    apart = [row.apart for row in members]

    def mean(name: str) -> float:
        return float(np.mean([getattr(each, name) for each in apart]))

    def all_of(name: str, *percents: float) -> list[str]:
        values = np.concatenate([getattr(each, name) for each in apart])
        return [f"{value:.1f}" for value in np.percentile(values, percents)] if len(values) else ["-"] * len(percents)

    return [
        f"{mean('mel_4096_db'):.2f}",
        f"{mean('mel_1024_db'):.2f}",
        f"{mean('flux'):.3f}",
        " / ".join(all_of("onsets_ms", 50, 95)),
        f"{mean('onsets_told'):.0%}",
        " / ".join(all_of("onsets_apart_ms", 50, 95)),
        all_of("smear_db", 95)[0],
        " / ".join(all_of("tail_db", 5, 95)),
        all_of("under_hit_db", 95)[0],
        f"{mean('join_level'):.2f} / {mean('join_colour'):.2f}",
        f"{mean('stereo'):.3f}",
        " / ".join(all_of("partials_cents", 50, 95)),
        f"{mean('partials_told'):.0%}",
    ]


def _groups(rows: list[Result], by: list[str]) -> Groups:
    groups: Groups = defaultdict(list)
    for row in rows:
        groups[tuple(str(getattr(row, name)) for name in by)].append(row)
    return groups


def _line(cells: list[str]) -> str:
    return f"| {' | '.join(cells)} |"
