"""What a song does of what a brief asks: the briefs that come with the program, and each limit kept and not kept."""

from __future__ import annotations

import re

import pytest

from mixer.coach.brief import _LOOKS, look
from mixer.coach.page import _brief
from mixer.loops.library import shipped
from mixer.recipe.brief import WORDS
from mixer.recipe.brief_reader import read_brief
from mixer.song.briefs import shipped_briefs
from mixer.song.opened import open_recipe
from mixer.words.brief_manual import BRIEF_MEANING
from tests.coach.brief_cases import KEPT, MISTAKES, NOT_KEPT, blocks_of, mistake_words, not_kept_words, read, seen
from tests.coach.songs import heard, laid_out, text_of


def test_there_is_a_path_and_each_brief_has_a_song_that_keeps_it():
    ours = shipped_briefs()
    assert len(ours) >= 10
    assert [each.path.stem for each in ours] == [path.stem for path in KEPT]
    assert {path.suffix for path in (shipped("shared") / "briefs").iterdir()} == {".yaml", ".md"}
    for each in ours:
        assert each.reading.problems == (), each.path.name
        assert each.brief is not None
        assert each.brief.goal, each.path.name
        assert each.brief.find_out, each.path.name


@pytest.mark.parametrize("path", KEPT, ids=lambda path: path.stem)
def test_a_song_of_demo_loops_keeps_it(path):
    opened = open_recipe(path)
    assert opened.problems == ()
    assert opened.brief is not None
    assert opened.brief.path.stem == path.stem
    found = look(opened.brief.brief, opened.plan)
    assert found.not_kept == ()
    assert found.kept


@pytest.mark.parametrize("path", NOT_KEPT, ids=lambda path: path.stem)
def test_what_is_not_kept_is_told_so(path):
    found = seen(path)
    assert found.not_kept
    assert not_kept_words(path) == blocks_of(path)[1]


def test_every_limit_has_a_song_that_breaks_it():
    broken = {limit.key.partition(", ")[0] for path in NOT_KEPT for limit in seen(path).not_kept}
    assert broken == _LOOKS.keys()


@pytest.mark.parametrize("path", MISTAKES, ids=lambda path: path.stem)
def test_slips_in_a_brief_are_told_and_the_rest_counts(path):
    assert mistake_words(path) == blocks_of(path)[1]
    lines = blocks_of(path)[0][0].splitlines()
    for problem in read(path).problems:
        assert problem.place.file == "brief.yaml"
        assert not problem.place.text or lines[problem.place.line - 1] == problem.place.text


def test_what_teachers_read_is_so():
    text = (shipped("shared") / "briefs" / "README.md").read_text(encoding="utf-8")
    rows = [f"| `{each.word}` | {BRIEF_MEANING[each.word]} |" for each in WORDS]
    table = text.split("held by a test -->\n")[1].split("\n<!--")[0]
    assert table.splitlines() == ["| key | what it says |", "| --- | --- |", *rows]
    assert re.findall(r"^\| `(\d\d-[a-z-]+)`", text, re.MULTILINE) == [each.path.stem for each in shipped_briefs()]
    reading = read_brief(text.split("```yaml\n")[1].split("```")[0])
    assert (reading.problems, reading.brief.name) == ((), "Only voices and rain")


def test_nothing_is_counted_and_nobody_is_marked():
    for path in [*NOT_KEPT, *KEPT]:
        found = seen(path) if path in NOT_KEPT else look(open_recipe(path).brief.brief, open_recipe(path).plan)
        told = "\n".join([*found.lines, *found.short_lines, found.in_a_word])
        assert not [sign for sign in ("%", "★", "✓", "✗", " of 14", "score", "points") if sign in told]


@pytest.mark.parametrize(
    ("sections", "question", "answer"),
    [
        # Common practice, no source: with drums and bass there is more energy than with a piano alone.
        (
            ("verse, 4 bars: piano", "chorus, 4 bars: drums, bass, piano"),
            "energy rises from verse to chorus",
            'more goes on in "chorus", bars 5 to 8, than in "verse", bars 1 to 4',
        ),
        (
            ("verse, 4 bars: drums, bass, piano", "chorus, 4 bars: piano"),
            "The energy rises from the verse to the chorus.",
            'less goes on in "chorus", bars 5 to 8, than in "verse", bars 1 to 4',
        ),
        (
            ("chorus, 4 bars: bass", "verse, 1 bar: piano", "chorus, 1 bar: piano"),
            "energy rises from verse to chorus",
            'about as much goes on in "chorus", bar 6, as in "verse", bar 5',
        ),
        (("verse, 4 bars: piano",), "energy falls from verse to end", 'no section\'s name begins with "end"'),
        (("verse, 4 bars: piano",), "energy is what?", ""),
    ],
)
def test_how_energy_goes_is_seen_and_told_with_its_bars(sections, question, answer):
    song = laid_out(text_of(*sections))
    brief = read_brief(f"find out:\n  - {question}").brief
    [found] = look(brief, song, heard(song)).find_out
    assert (found.question, found.answer) == (question, answer)


def test_on_a_page_it_is_harmless_and_a_list():
    brief = read_brief("brief: <script>alert(1)</script>\nsections: 3\nfind out:\n  - a <b> & c").brief
    page = _brief(look(brief, laid_out(text_of("verse <i>, 4 bars: piano"))).lines)
    assert "<script>" not in page
    assert "<li>a &lt;b&gt; &amp; c</li>" in page
    assert page.count("<ul>") == 2


def test_without_its_sound_a_song_only_gets_the_question():
    song = laid_out(text_of("verse, 4 bars: piano", "chorus, 4 bars: drums"))
    brief = read_brief("find out:\n  - energy rises from verse to chorus").brief
    assert look(brief, song).lines[-1] == "  - energy rises from verse to chorus"
    assert look(brief, None).lines[1] == "There is no song yet to look at."
