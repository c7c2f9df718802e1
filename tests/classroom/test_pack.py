"""What goes to the next teacher is whole and usable, and holds no student's work."""

from __future__ import annotations

from tests.cli.program import mixer
from tests.sounds import Made, loop_folder


def test_loops_and_shared_texts_go_and_student_work_stays(tmp_path):
    ours = loop_folder(tmp_path / "ours", Made("ticks"), Made("hum", kind="tone", role="bass"))
    for work in ("mara.yaml", "mara.wav", "recording.wav"):
        (ours / work).write_bytes(b"a lullaby of Mara's")
    (tmp_path / "my brief.yaml").write_text("brief: Ours\ngoal: Try.\n", encoding="utf-8")
    done = mixer("pack", "my brief.yaml", "--loops", "ours", "--out", "next", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    there = {str(path.relative_to(tmp_path / "next")) for path in (tmp_path / "next").rglob("*") if path.is_file()}
    assert {path for path in there if path.startswith("loops")} == {
        f"loops/ours/{name}" for name in ("loops.yaml", "ticks.wav", "hum.wav")
    }
    assert {"more/my brief.yaml", "READ ME FIRST.txt", "rubrics/listening.yaml"} <= there
    assert any(path.startswith("starters/") for path in there)
    assert not any(
        b"a lullaby of Mara's" in path.read_bytes() for path in (tmp_path / "next").rglob("*") if path.is_file()
    )
    assert "ask your school" in done.stdout
    text = "tempo: 96\nlayers:\n  box: ticks\nsections:\n  - verse, 2 bars: box\n"
    (tmp_path / "song.yaml").write_text(text, encoding="utf-8")
    assert mixer("render", "song.yaml", "--loops", "next/loops/ours", cwd=tmp_path).returncode == 0


def test_nothing_is_packed_over_anything(tmp_path):
    (tmp_path / "next").mkdir()
    (tmp_path / "next" / "mine.txt").write_text("mine", encoding="utf-8")
    done = mixer("pack", "--out", "next", cwd=tmp_path)
    assert done.returncode == 2
    assert [path.name for path in (tmp_path / "next").iterdir()] == ["mine.txt"]


def test_what_is_not_there_is_told(tmp_path):
    assert mixer("pack", "none.yaml", "--out", "next", cwd=tmp_path).returncode == 2
    done = mixer("pack", "--loops", "nowhere", "--out", "other", cwd=tmp_path)
    assert (done.returncode, 'there is no folder "nowhere"' in done.stderr) == (1, True)


def test_what_a_student_made_stays_here_even_if_it_is_named(tmp_path):
    recipe = "tempo: 96\nlayers:\n  box: tin-roof\nsections:\n  - verse, 2 bars: box\n"
    (tmp_path / "starter.yaml").write_text(recipe, encoding="utf-8")
    (tmp_path / "mara.yaml").write_text(f"by: Mara\n{recipe}", encoding="utf-8")
    (tmp_path / "song.ogg").write_bytes(b"OggS")
    done = mixer("pack", "starter.yaml", "mara.yaml", "song.ogg", "--out", "next", cwd=tmp_path)
    assert done.returncode == 1
    assert '"mara.yaml" says that it is by Mara' in done.stderr
    assert '"song.ogg" can be no brief, rubric or starter' in done.stderr
    assert [path.name for path in (tmp_path / "next" / "more").iterdir()] == ["starter.yaml"]


def test_what_begins_a_line_with_by_is_no_students_work(tmp_path):
    (tmp_path / "lesson.md").write_text(
        "# Harbour\n\nBy the end of the lesson everybody has a song.\n", encoding="utf-8"
    )
    done = mixer("pack", "lesson.md", "--out", "next", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert [path.name for path in (tmp_path / "next" / "more").iterdir()] == ["lesson.md"]


def test_it_is_not_put_in_place_of_a_file(tmp_path):
    (tmp_path / "next").write_text("mine", encoding="utf-8")
    done = mixer("pack", "--out", "next", cwd=tmp_path)
    assert done.returncode == 2
    assert "Delete" not in done.stderr
    assert (tmp_path / "next").read_text(encoding="utf-8") == "mine"
