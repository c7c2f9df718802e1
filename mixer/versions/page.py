"""Both versions on one page: they run in step, and the listener goes from one to the other at the same musical place.

The charts stand one above the other with what differs marked, the changes beside them. One file, with both songs
inside. Nothing plays by itself, and nothing says which version is the better one.
"""

from __future__ import annotations

import base64
import html
from collections.abc import Iterable, Sequence
from string import Template
from typing import Any

from mixer.coach.energy import Energy, energy
from mixer.coach.page import SongSound
from mixer.pages.chart import Chart
from mixer.pages.document import asset, document
from mixer.pages.svg import as_svg
from mixer.pages.together import Revision, engrave_together
from mixer.record import record
from mixer.song.charted import chart_of
from mixer.song.make import Made
from mixer.song.plan import Plan
from mixer.versions.change import Both, Change
from mixer.versions.changes import Compared
from mixer.versions.places import There, places
from mixer.words.english import chart as chart_words
from mixer.words.english import compared as words
from mixer.words.english import listening, page
from mixer.words.english.changes import NO_CHANGE, sentence

BARS_BEFORE = 1
WHOLE_SONG = ("title", "tempo", "time", "key")
"""Changes that are everywhere; they stand in the list and beside the title, and no bars are boxed for them."""


@record
class Version:
    """One version as it is heard.

    Parameters
    ----------
    name : of its file
    draft : whether something had to be left out
    sound : the finished song
    loudness_lufs : of it; None for silence
    energy : bar by bar
    """

    name: str
    draft: bool
    sound: SongSound
    loudness_lufs: float | None
    energy: Energy


def heard_version(name: str, plan: Plan, made: Made, sound: SongSound) -> Version:
    """Give a version as it is heard, of a song that was made."""
    loudness = made.report.loudness_lufs if made.report else None
    return Version(name, made.draft, sound, loudness, energy(plan, made.materials))


def compare_page(compared: Compared, versions: Both[Version], did: Iterable[str]) -> str:
    """Give the page.

    Parameters
    ----------
    compared : both versions
    versions : the same, as they are heard
    did : what the changes did, in sentences
    """
    charts = _charts(compared, versions)
    sheets = engrave_together([charts.old, charts.new], _revisions(compared.changes))
    facts = _facts(charts)
    texts = {
        "title": words.page_title(charts.old.title, charts.new.title),
        "changes": words.CHANGES,
        "did_head": words.WHAT_IT_DID,
        "chart": listening.CHART,
        "where": listening.WHERE,
        "play": listening.SCRIPT["play"],
        "switch": words.SCRIPT["to"][1],
        "mono": page.MONO,
        "larger": listening.LARGER,
        "how": words.HOW_TO_LISTEN,
    }
    body = Template(asset("compare.html")).substitute(
        {name: html.escape(text) for name, text in texts.items()},
        old=_head(words.OLD_VERSION, versions.old, facts.old),
        new=_head(words.NEW_VERSION, versions.new, facts.new),
        list=_changes(compared.changes),
        did=_items([words.lengths(compared.old.seconds, compared.new.seconds), *did] if compared.changes else []),
        keys=", ".join(f"<kbd>{html.escape(key)}</kbd> {html.escape(what)}" for key, what in words.KEYS),
        care="".join(f"<p>{html.escape(line)}</p>" for line in page.HEARING),
    )
    there, softest = places(compared), _softest(versions)
    data = {
        "words": {**listening.SCRIPT, **words.SCRIPT},
        "sides": [
            _side(
                compared.old,
                versions.old,
                as_svg(sheets[:1], charts.old.title, _seen(charts.old), places=True),
                there.old,
                softest,
            ),
            _side(
                compared.new,
                versions.new,
                as_svg(sheets[1:], charts.new.title, _seen(charts.new), places=True),
                there.new,
                softest,
            ),
        ],
    }
    style = asset("listen.css") + asset("compare.css")
    return document(texts["title"], body, style, asset("compare.js"), data)


def _charts(compared: Compared, versions: Both[Version]) -> Both[Chart]:
    """Charts whose lines of energy have one measure, so that they can be held against each other."""
    both = Energy((*versions.old.energy.detail, *versions.new.energy.detail)).shape
    count = len(versions.old.energy.detail)
    return Both(chart_of(compared.old, both[:count]), chart_of(compared.new, both[count:]))


def _seen(chart: Chart) -> str:
    return chart_words.described(chart.bars, chart.length, [(s.letter, s.name, s.first_bar) for s in chart.sections])


def _revisions(changes: Sequence[Change]) -> tuple[list[Revision], list[Revision]]:
    """Give the bars to be marked in the old chart and in the new one."""
    sides: tuple[list[Revision], list[Revision]] = ([], [])
    for number, change in enumerate(changes, 1):
        for passage in () if change.kind in WHOLE_SONG else change.passages:
            names: Both[str | None] = change.layer or Both(None, None)
            for found, stretch, layer in zip(sides, (passage.old, passage.new), (names.old, names.new), strict=True):
                if stretch and layer != "":  # a layer that is not in this version
                    found.append(Revision(number, stretch.song_first_bar, stretch.song_last_bar, layer or ""))
    return sides


def _facts(charts: Both[Chart]) -> Both[list[tuple[str, bool]]]:
    """Give what is said of each song as a whole, and whether it differs."""
    told = [[c.title, words.tempo(c.tempo), c.key, c.time, c.length] for c in (charts.old, charts.new)]
    pairs = list(zip(*told, strict=True))
    return Both(*([(pair[side], pair[0] != pair[1]) for pair in pairs if pair[side]] for side in (0, 1)))


def _head(label: str, version: Version, facts: Iterable[tuple[str, bool]]) -> str:
    draft = f' <span class="draft">{html.escape(listening.DRAFT)}</span>' if version.draft else ""
    told = ", ".join(
        f'<span class="differs">{html.escape(text)}</span>' if differs else html.escape(text) for text, differs in facts
    )
    return f"<h2>{html.escape(label)}: {html.escape(version.name)}{draft}</h2><p>{told}</p>"


def _changes(changes: Sequence[Change]) -> str:
    """Give the list of changes; each that has a place plays from a bar before."""
    told = []
    for change in changes:
        text = html.escape(sentence(change))
        start = _start(change)
        bars = "".join(f' data-{side}="{bar}"' for side, bar in (("old", start.old), ("new", start.new)) if bar)
        told.append(
            f'<li><button type="button" class="link"{bars}>{text}</button></li>' if bars else f"<li>{text}</li>"
        )
    return f'<ol class="changes">{"".join(told)}</ol>' if told else f"<p>{html.escape(NO_CHANGE)}</p>"


def _start(change: Change) -> Both[int]:
    """Give the bars from which a change is heard, one before its first; 0 where a version does not have it."""
    passages = [(each.old, each.new) for each in change.passages] if change.heard else []
    bars = [next((each[side] for each in passages if each[side]), None) for side in (0, 1)]
    return Both(*(max(1, each.song_first_bar - BARS_BEFORE) if each else 0 for each in bars))


def _items(lines: Sequence[str]) -> str:
    return f"<ul>{''.join(f'<li>{html.escape(line)}</li>' for line in lines)}</ul>" if lines else ""


def _softest(versions: Both[Version]) -> float:
    known = [each.loudness_lufs for each in (versions.old, versions.new) if each.loudness_lufs is not None]
    return min(known, default=0.0)


def _side(plan: Plan, version: Version, svg: str, there: Sequence[There], softest_lufs: float) -> dict[str, Any]:
    louder_db = 0.0 if version.loudness_lufs is None else version.loudness_lufs - softest_lufs
    return {
        "bars": plan.recipe.bars,
        "barSeconds": float(plan.frame.bar_seconds),
        "seconds": plan.seconds,
        "gain": round(10 ** (-louder_db / 20), 6),
        "svg": svg,
        "sound": base64.b64encode(version.sound.content).decode(),
        "sections": [{"name": mark.name, "first": mark.first_bar, "bars": mark.bars} for mark in plan.marks],
        "there": [{"bar": each.bar, "why": each.why} for each in there],
    }
