"""Where a loop's card says one thing and its sound another: told, with what it would do to the song. The card counts.

The program's own loops are held to their cards by its tests.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from mixer.loops.library import demo_loops_folder
from mixer.loops.measure.doubt import Doubt, doubts
from mixer.loops.measure.facts import Measured
from mixer.loops.measure.known import known, measured_once
from mixer.material.fit import Material
from mixer.music.keys import Key, semitones_between
from mixer.recipe.model import AS_RECORDED
from mixer.song.plan import Part, Plan
from mixer.store.cache import open_cache
from mixer.words.problem import Place, Problems

TOLD_AT_BAR = 8


def doubt_cards(plan: Plan, problems: Problems) -> None:
    """Tell loops that are heard in a song and do not sound as their cards say; what is not known of them is measured.

    Parameters
    ----------
    plan : the song
    problems : grows
    """
    found: dict[Path, Measured] = {}

    def listened(part: Part) -> Measured:
        path = part.fit.card.path
        return found.get(path) or found.setdefault(path, measured_once(path))

    _tell(plan, listened, problems)


def doubt_known_cards(plan: Plan, materials: Mapping[str, Material], problems: Problems) -> None:
    """Tell the same, as far as it is known without listening: a song is not kept waiting for it.

    Parameters
    ----------
    plan : the song
    materials : by layer's name
    problems : grows
    """
    cache = open_cache()

    def remembered(part: Part) -> Measured | None:
        material = materials.get(part.layer.name)
        # Of a loop that is much too short that is told already.
        return known(part.fit.card.path, material.content_key, cache) if material and not material.remarks else None

    _tell(plan, remembered, problems)


def _tell(plan: Plan, look: Callable[[Part], Measured | None], problems: Problems) -> None:
    ours = demo_loops_folder()
    for part in plan.parts:
        card = part.fit.card
        if not part.cues or ours in card.path.parents:
            continue
        found = look(part)
        for each in doubts(card, found) if found else ():
            _tell_one(each, part, plan, problems)


def _tell_one(doubt: Doubt, part: Part, plan: Plan, problems: Problems) -> None:
    place = part.layer.at.get("loop", Place(plan.recipe.file))
    facts: dict[str, object] = {"name": part.fit.card.name, "listed": doubt.listed, "sounds": doubt.sounds}
    if doubt.kind == "tempo":
        # What the song takes for a bar of the loop lasts longer or shorter in the file.
        early = -doubt.drift * float(TOLD_AT_BAR * plan.frame.bar_seconds)
        problems.tell("card-tempo", place, bar=TOLD_AT_BAR, early=early, **facts)
    elif doubt.kind == "bars":
        problems.tell("card-bars", place, **facts)
    elif isinstance(doubt.sounds, Key) and plan.frame.key is not None and part.layer.pitch != AS_RECORDED:
        right = semitones_between(doubt.sounds, plan.frame.key)
        moved = part.fit.semitones - part.layer.pitch
        if off := (moved - right + 6) % 12 - 6:
            said = {"listed": str(doubt.listed or ""), "sounds": str(doubt.sounds)}
            problems.tell("card-key", place, semitones=off, **{**facts, **said})
