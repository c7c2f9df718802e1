"""A plan becomes a chart: levels as marks, fades as hairpins, beats as notes."""

from __future__ import annotations

import pytest

from mixer.pages.chart import Beat, Hairpin
from mixer.song.charted import chart_of
from mixer.song.opened import open_recipe
from tests.sounds import Made, loop_folder

SONG = """title: Fades
tempo: 96
time: {time}
layers:
  box:
    loop: ticks
    level: p
  hum: hum
sections:
  - one, 4 bars: box 2-, hum
  - name: two
    bars: 4
    fade out: 2 bars
    play:
      box:
        level: +5
        fade in: 1 bar
      hum: 1-2
  - one
"""


def chart(folder, time="4/4"):
    loop_folder(folder / "loops", Made("ticks", time=time), Made("hum", kind="tone", role="harmony", time=time))
    (folder / "song.yaml").write_text(SONG.format(time=time), encoding="utf-8")
    plan = open_recipe(folder / "song.yaml").plan
    assert plan is not None
    return chart_of(plan)


def test_levels_and_fades_stand_where_they_were_written(tmp_path):
    song = chart(tmp_path)
    box, hum = song.layers
    # p is -8 dB and 5 dB more are -3, nearest to mp (-4); RECIPE: pp p mp mf f ff are -12 -8 -4 0 +3 +6 dB.
    assert box.levels == ((2, "p"), (5, "mp"), (10, "p"))
    assert hum.levels == ((1, "mf"),)
    assert box.hairpins == (Hairpin(5, 6, up=True), Hairpin(7, 9, up=False))
    assert hum.hairpins == ()  # it has stopped before the section fades
    assert hum.heard == ((1, 6), (9, 12))
    assert [(each.letter, each.first_bar) for each in song.sections] == [("A", 1), ("B", 5), ("A", 9)]


@pytest.mark.parametrize(("time", "beat"), [("3/4", Beat(4)), ("6/8", Beat(4, dotted=True))])
def test_the_note_that_is_counted(tmp_path, time, beat):
    """In 6/8 the beat is the dotted quarter note (the README's table of key words; any primer of notation)."""
    assert chart(tmp_path, time).beat == beat
