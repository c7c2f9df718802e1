"""Orders for a lesson: by name, by a number, from a text."""

from __future__ import annotations

from mixer.classroom.order import in_order, read_order, unknown
from mixer.classroom.tasks import Done

SONGS = [Done("c", "song", title="Ferry", by="Bo"), Done("a", "song", title="Tide", by="Ilse"), Done("b", "none")]


def test_lines_of_a_text_come_first_and_nobody_is_left_out(tmp_path):
    (tmp_path / "order.txt").write_text("# week 3\n1. ferry  # first\n\n2) nobody\nILSE\n", encoding="utf-8-sig")
    lines = read_order(tmp_path / "order.txt")
    assert lines == ["1. ferry", "2) nobody", "ILSE"]
    assert unknown(lines, SONGS) == ["2) nobody"]
    assert [done.name for done in in_order(SONGS, None, lines)] == ["c", "a", "b"]
    assert [done.name for done in in_order(SONGS, None)] == ["a", "b", "c"]


def test_a_number_at_the_start_may_belong_to_the_name():
    songs = [Done("1. one", "song"), Done("2", "song")]
    assert [done.name for done in in_order(songs, None, ["2", "1. one"])] == ["2", "1. one"]
