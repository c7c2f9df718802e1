"""Rubrics of a teacher's own are read, and what is wrong with one is told."""

from __future__ import annotations

from mixer.classroom.rubric import read_rubric
from mixer.loops.library import shipped
from mixer.words.problem import Problems


def test_rubrics_are_read_and_what_is_wrong_is_told(tmp_path):
    (tmp_path / "mine.yaml").write_text("Energy: low, high\nForm:\n  - none\n  - some\nOdd: one\n", encoding="utf-8")
    problems = Problems()
    rubric = read_rubric(tmp_path / "mine.yaml", problems)
    assert rubric.criteria == (("Energy", ("low", "high")), ("Form", ("none", "some")))
    assert [(problem.kind, problem.place.line) for problem in problems] == [("rubric-levels", 5)]
    for text, kind in (("", "rubric-empty"), (None, "rubric-missing")):
        path = tmp_path / f"{kind}.yaml"
        if text is not None:
            path.write_text(text, encoding="utf-8")
        problems = Problems()
        assert read_rubric(path, problems).criteria == ()
        assert [problem.kind for problem in problems] == [kind]


def test_the_ready_rubric_can_be_read():
    problems = Problems()
    assert len(read_rubric(shipped("shared") / "rubrics" / "listening.yaml", problems).criteria) == 5
    assert not problems
