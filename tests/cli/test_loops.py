"""`loops` with folders of any state: what can be used is listed, what cannot is told."""

from __future__ import annotations

import json

from mixer.words.say import columns
from tests.cli.program import mixer
from tests.sounds import Made, loop_folder


def test_own_loops_stand_with_those_of_the_program(tmp_path):
    loop_folder(tmp_path / "mine", Made("footsteps", role="percussion", tempo_bpm="88", bars=2))
    done = mixer("loops", "--loops", "mine", "--json", cwd=tmp_path)
    found = {loop["name"]: loop for loop in json.loads(done.stdout)["loops"]}
    assert done.returncode == 0
    assert found["footsteps"]["tempo_bpm"] == 88
    assert found["footsteps"]["bars"] == 2
    assert "tin-roof" in found
    assert found["tin-roof"]["ask"] == []
    assert found["footsteps"]["ask"] == ["class", "parents", "home", "on"]


def test_they_are_listed_by_role_or_by_set(tmp_path):
    loop_folder(tmp_path / "mine", Made("footsteps", role="percussion"))
    by_role = mixer("loops", "--loops", "mine", cwd=tmp_path).stdout.split("\n\n")
    assert [group.splitlines()[0] for group in by_role][:3] == ["drums", "bass", "harmony"]
    by_set = mixer("loops", "--loops", "mine", "--by", "set", cwd=tmp_path).stdout.split("\n\n")
    headings = [group.splitlines()[0] for group in by_set]
    assert headings == [*sorted(headings[:-1]), "of no set"]
    assert "ferry town" in headings
    (ferry,) = (group for group in by_set if group.startswith("ferry town"))
    assert "  tin-roof " in ferry
    assert ferry.splitlines()[1].endswith("drums")
    assert "  footsteps " in by_set[-1]


def test_a_lost_card_is_told_and_the_others_are_listed(tmp_path):
    folder = loop_folder(tmp_path / "mine", Made("here"), Made("gone"))
    (folder / "gone.wav").unlink()
    done = mixer("loops", "--loops", "mine", cwd=tmp_path)
    assert done.returncode == 1
    assert 'the file of the loop "gone", gone.wav, is not there' in done.stderr
    assert "  here " in done.stdout
    assert "  gone " not in done.stdout


def test_folders_that_are_none_are_told(tmp_path):
    (tmp_path / "empty").mkdir()
    done = mixer("loops", "--loops", "empty", "--loops", "nowhere", cwd=tmp_path)
    assert done.returncode == 1
    assert 'the folder "empty" has no list of its loops' in done.stderr
    assert 'type "mixer measure", the folder\'s name and "--write"' in done.stderr
    assert 'there is no folder "nowhere"' in done.stderr


def test_the_facts_stand_in_line_whatever_the_letters(tmp_path):
    loop_folder(tmp_path / "mine", Made("雨の音"), Made("rain"))
    lines = mixer("loops", "--loops", "mine", cwd=tmp_path).stdout.splitlines()
    at = {columns(line[: line.index("96 beats")]) for line in lines if line.startswith(("  雨の音", "  rain "))}
    assert len(at) == 1


def test_long_names_have_room_too(tmp_path):
    loop_folder(tmp_path / "mine", Made("rain on a roof of tin"), Made("rain"))
    lines = mixer("loops", "rain", "--loops", "mine", cwd=tmp_path).stdout.splitlines()
    assert len({line.index("96 beats") for line in lines if "96 beats" in line and "rain" in line}) == 1
