"""A song in sentences: everything that the chart shows, one thing after the other."""

from __future__ import annotations

from mixer.song.opened import open_recipe
from mixer.song.spoken import spoken
from tests.cli.program import mixer
from tests.sounds import Made, loop_folder

SONG = """title: Low Tide
by: Mara
about: calm water
tempo: 120
key: A minor
layers:
  box: ticks
  hum: hum
sections:
  - intro, 4 bars: hum
  - name: verse
    bars: 8
    meant: it opens
    fade in: 1 bar
    play:
      box: 5-8
      hum:
        in bars: 1, 3-4
        level: -6
        fade out: 2 bars
  - rest, 1 bar: nothing
  - intro
ending: last hit
"""


def test_every_fact_is_said_in_the_order_of_the_song(tmp_path):
    loop_folder(tmp_path / "loops", Made("ticks"), Made("hum", kind="tone", role="bass", key="A minor"))
    (tmp_path / "song.yaml").write_text(SONG, encoding="utf-8")
    opened = open_recipe(tmp_path / "song.yaml")
    lines = spoken(opened.plan)
    # 17 bars of 2 s, and two beats in which the last hit dies away.
    assert lines == [
        "Low Tide, by Mara. It lasts 35 seconds, 17 bars of 4/4 at 120 beats a minute, in A minor.",
        "calm water",
        "2 layers: box (drums, loop ticks) and hum (bass, loop hum).",
        "Section A, intro, 4 bars from bar 1, after 0 seconds. Hum.",
        "Section B, verse, 8 bars from bar 5, after 8 seconds. Box from bar 5; hum in bar 1 alone and in bars 3 to 4. "
        "Everyone fades in over 1 bar. Hum is softer here. Hum fades out over 2 bars. It is meant as: it opens.",
        "Section C, rest, 1 bar from bar 13, after 24 seconds. Silence.",
        "Section A, intro, 4 bars from bar 14, after 26 seconds. Hum.",
        "It ends with a last hit that dies away.",
    ]
    said = mixer("check", "song.yaml", "--words", cwd=tmp_path)
    assert said.stdout.splitlines() == lines
