"""A whole song in sentences, for those who listen to text: no columns, no drawings, one thing after the other."""

from __future__ import annotations

from fractions import Fraction

from mixer.recipe.model import Entry
from mixer.song.outline import outline, spans_of
from mixer.song.plan import Plan
from mixer.words.english import spoken as said


def spoken(plan: Plan) -> list[str]:
    """Say a song, a line for each section.

    Parameters
    ----------
    plan : the song
    """
    song = outline(plan)
    recipe = plan.recipe
    title = song.title or recipe.file
    lines = [said.song(title, song.by, song.seconds, song.bars, song.tempo_bpm, song.key, song.time)]
    lines += [recipe.about] if recipe.about else []
    lines += [said.layers([(layer.name, layer.role, layer.loop) for layer in song.layers])]
    known = {layer.name for layer in song.layers}
    for told, section in zip(song.sections, recipe.sections, strict=True):
        entries = [entry for entry in section.entries if entry.layer in known]
        parts = [
            said.section(told.letter, told.name, told.first_bar, told.bars, told.start_seconds),
            said.players([_player(entry, section.bars) for entry in entries], section.bars),
            *_fades(said.EVERYONE, section.fade_in_bars, section.fade_out_bars),
            *(line for entry in entries for line in _details(entry)),
        ]
        parts += [said.meant(told.meant)] if told.meant else []
        lines.append(" ".join(parts))
    lines.append(said.ending(recipe.ending))
    return lines


def _player(entry: Entry, bars: int) -> tuple[str, tuple[tuple[int, int], ...]]:
    return entry.layer, spans_of(entry.bars(bars), bars)


def _details(entry: Entry) -> list[str]:
    told = [said.level(entry.layer, entry.level_db)] if entry.level_db else []
    return told + _fades(entry.layer, entry.fade_in_bars, entry.fade_out_bars)


def _fades(who: str, fade_in_bars: Fraction, fade_out_bars: Fraction) -> list[str]:
    return [said.fade(who, way, float(bars)) for way, bars in (("in", fade_in_bars), ("out", fade_out_bars)) if bars]
