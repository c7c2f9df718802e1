"""`mixer compare` as it is used: recipes, songs, kept versions."""

from __future__ import annotations

import json

import pytest

from tests.cli.program import mixer
from tests.sounds import Made, loop_folder

OLD = """title: Low Tide
tempo: 96
layers:
  drums: tin-roof
  bass: slow-tide
  shaker: rice-jar
sections:
  - verse, 4 bars: drums, bass
  - chorus, 4 bars: everything
"""
LONG = """sections:
  - name: verse
    bars: 4
    play:
      bass: 1-4
      drums:
  - name: chorus
    bars: 4
    play: {shaker: 1-, bass: 1-2 3-4, drums: }
layers:
  shaker:
    loop: rice-jar
    level: mf
  bass: {loop: slow-tide}
  drums: tin-roof
tempo: 96 bpm
title: Low Tide
""".replace("1-2 3-4", '"1-2, 3-4"')


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("compare")
    recipe = folder / "song.yaml"
    recipe.write_text(OLD, encoding="utf-8")
    assert mixer("render", "song.yaml", cwd=folder).returncode == 0
    recipe.write_text(OLD.replace("everything", "drums, bass, shaker 3-"), encoding="utf-8")
    return folder


SAID = 'chorus (from bar 5): "shaker" enters 2 bars later, at bar 7'


def test_the_version_before_is_the_other_side(folder):
    done = mixer("compare", "song.yaml", cwd=folder)
    assert done.returncode == 0
    assert done.stdout.splitlines()[0] == f"- {SAID}"


def test_a_song_is_compared_by_the_recipe_that_it_carries(folder):
    done = mixer("compare", "song.wav", "song.yaml", cwd=folder)
    assert done.stdout.splitlines()[0] == f"- {SAID}"


def test_versions_are_listed(folder):
    done = mixer("compare", "--versions", "song.yaml", cwd=folder)
    assert done.stdout.split("\n")[0].endswith("song 001.yaml")


def test_order_and_spelling_are_no_change(tmp_path):
    (tmp_path / "short.yaml").write_text(OLD, encoding="utf-8")
    (tmp_path / "long.yaml").write_text(LONG, encoding="utf-8")
    done = mixer("compare", "short.yaml", "long.yaml", cwd=tmp_path)
    assert done.stderr == ""
    assert done.stdout.startswith("Nothing has changed")


def test_each_change_has_a_reason_to_be_filled_in(folder, tmp_path):
    place = tmp_path / "why.md"
    done = mixer("compare", "song.yaml", "--because", str(place), cwd=folder)
    assert done.returncode == 0
    assert place.read_text(encoding="utf-8") == f"From song 001.yaml to song.yaml\n\n1. {SAID}\n   because ...\n"
    again = mixer("compare", "song.yaml", "--because", str(place), cwd=folder)
    assert again.returncode == 2
    assert "is there already" in again.stderr


def test_two_files_of_one_name_are_told_apart_by_their_folders(tmp_path):
    for week, bars in (("week 1", 4), ("week 2", 8)):
        (tmp_path / week).mkdir()
        recipe = f"tempo: 96\nlayers:\n  box: tin-roof\nsections:\n  - verse, {bars} bars: box\n"
        (tmp_path / week / "song.yaml").write_text(recipe, encoding="utf-8")
    mixer("compare", "week 1/song.yaml", "week 2/song.yaml", "--because", "why.md", cwd=tmp_path)
    assert (tmp_path / "why.md").read_text("utf-8").startswith("From week 1/song.yaml to week 2/song.yaml\n")


def test_other_programs_read_it(folder):
    (change,) = json.loads(mixer("compare", "song.yaml", "--json", cwd=folder).stdout)["changes"]
    assert (change["kind"], change["old"], change["new"], change["layer"]) == ("enters", 1, 3, "shaker")
    assert change["places"][0]["new"] == {"section": "chorus", "first_bar": 5, "last_bar": 6}
    assert change["message"] == SAID


def test_what_cannot_be_compared_is_told(tmp_path):
    (tmp_path / "alone.yaml").write_text(OLD, encoding="utf-8")
    (tmp_path / "no.wav").write_bytes(b"RIFF")
    for given, told in (("alone.yaml", "no earlier version"), ("gone.yaml", "no file"), ("no.wav", "no recipe")):
        done = mixer("compare", given, cwd=tmp_path)
        assert done.returncode == 2
        assert told in done.stderr
        assert "Traceback" not in done.stderr


def test_a_loop_that_was_replaced_under_its_name_is_told(tmp_path):
    loop_folder(tmp_path / "loops", Made("box", bars=2), Made("hum", "tone", role="bass", bars=2))
    (tmp_path / "song.yaml").write_text(
        "tempo: 96\nlayers:\n  box: box\n  hum: hum\nsections:\n  - verse, 2 bars: box, hum\n", encoding="utf-8"
    )
    assert mixer("render", "song.yaml", cwd=tmp_path).returncode == 0
    assert mixer("compare", "song.wav", "song.yaml", cwd=tmp_path).stdout.startswith("Nothing has changed")
    loop_folder(tmp_path / "loops", Made("box", "noise", bars=2), Made("hum", "tone", role="bass", bars=2))
    done = mixer("compare", "song.wav", "song.yaml", cwd=tmp_path)
    assert done.stdout.splitlines()[0] == '- verse (from bar 1): "box" sounds different: box is another recording now'
    assert "song.wav was made with another recording of box" in done.stderr


def test_what_was_meant_stands_beside_what_it_did(tmp_path):
    """A section that was to be quiet and got the drums; one whose words only its maker can judge."""
    text = OLD.replace("verse, 4 bars: drums, bass", "verse, 4 bars:\n      bass:\n    meant: quiet and calm").replace(
        "chorus, 4 bars: everything", "chorus, 4 bars: shaker\n    meant: the ferry has gone"
    )
    (tmp_path / "old.yaml").write_text(text, encoding="utf-8")
    (tmp_path / "new.yaml").write_text(
        text.replace("      bass:\n", "      bass:\n      drums:\n").replace("4 bars: shaker", "4 bars: shaker, drums"),
        encoding="utf-8",
    )
    there = mixer("compare", "old.yaml", "new.yaml", cwd=tmp_path).stdout
    assert (
        '- verse (from bar 1): you wrote "quiet and calm", and it is fuller and busier than before: '
        "further away from your words\n" in there
    )
    assert 'chorus (from bar 5): you wrote "the ferry has gone"' in there
    assert "Only you can tell." in there
    back = mixer("compare", "new.yaml", "old.yaml", cwd=tmp_path).stdout
    assert "less full and calmer than before: nearer to your words" in back


def test_what_a_brief_asks_about_energy_is_told_where_it_is_otherwise(tmp_path):
    (tmp_path / "first.yaml").write_text(
        "brief: first\ngoal: Listen.\nfind out:\n  - energy rises from verse to chorus\n", encoding="utf-8"
    )
    text = OLD.replace("tempo: 96", "tempo: 96\nbrief: first")
    (tmp_path / "old.yaml").write_text(text, encoding="utf-8")
    (tmp_path / "new.yaml").write_text(text.replace("4 bars: everything", "4 bars: shaker"), encoding="utf-8")
    said = mixer("compare", "old.yaml", "new.yaml", cwd=tmp_path).stdout
    assert "- the brief asks about this: energy rises from verse to chorus. Now less goes on in" in said
    assert "before, more goes on in" in said


def test_bars_of_both_versions_are_not_mixed_up(tmp_path):
    """A longer intro: the chorus begins later, and its bars are counted as they are now."""
    text = OLD.replace("sections:\n", "sections:\n  - intro, 4 bars: bass\n")
    (tmp_path / "old.yaml").write_text(text, encoding="utf-8")
    new = text.replace("intro, 4", "intro, 8").replace("everything", "drums, bass, shaker 1, 3")
    (tmp_path / "new.yaml").write_text(new, encoding="utf-8")
    said = mixer("compare", "old.yaml", "new.yaml", cwd=tmp_path).stdout
    heard = (
        'chorus (from bar 13): "shaker" is heard in bars 1 and 3 of the section now, not in bars 1 to 4 of the section'
    )
    assert f"- {heard}\n" in said
    assert "Bars are counted as they are now" in said


def test_what_comes_again_is_said_to_be_heard_once(tmp_path):
    text = OLD + "  - bridge, 4 bars: bass\n  - chorus\n"
    (tmp_path / "old.yaml").write_text(text, encoding="utf-8")
    (tmp_path / "new.yaml").write_text(text.replace("everything", "drums, bass, shaker 3-"), encoding="utf-8")
    said = mixer("compare", "old.yaml", "new.yaml", "--out", "both.wav", cwd=tmp_path).stdout
    assert "What comes again is heard at its first place only: chorus, and again from bar 13." in said
    assert "1 place, with a bar before" in said
