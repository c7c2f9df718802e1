"""Sheets of what people said, and the table of levels: whole, harmless, and nothing but people's words."""

from __future__ import annotations

import csv
import io
import json
import unicodedata

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from mixer.classroom.comments import Comments, NoCommentsError, Said, read_comments
from mixer.classroom.feedback import Sheet, as_markdown, as_page, sheets, write_table
from mixer.classroom.songs import DETAILS
from mixer.classroom.tasks import Done
from tests.cli.program import mixer

HOSTILE = '<script>alert(1)</script> & "quotes" =HYPERLINK("x") # head'


def saved(folder, name="comments.json", **songs):
    (folder / name).write_text(json.dumps({"mixer comments": 1, "session": "x", "songs": songs}), encoding="utf-8")
    return folder / name


SONG = {
    "title": "Low Tide",
    "by": "Mara",
    "marks": [{"bar": 9, "section": "chorus", "words": "opens up"}, {"bar": 2, "section": "", "words": "so calm"}],
    "heard": "water",
    "remark": "Calm.\nBold.",
    "rubric": {"Energy": "changes"},
}


@pytest.fixture
def room(tmp_path):
    (tmp_path / "songs" / DETAILS).mkdir(parents=True)
    sections = [{"name": "verse", "meant": "the ferry leaves"}, {"name": "verse", "meant": "the ferry leaves"}]
    facts = {
        "name": "a",
        "state": "draft",
        "file": "a.wav",
        "title": "Low Tide",
        "by": "Mara",
        "why": "line 3: no loop",
    }
    details = {**facts, "shown": {"about": "a ferry", "sections": sections}, "hear": ["", 0, 0]}
    (tmp_path / "songs" / DETAILS / "a.json").write_text(json.dumps(details), encoding="utf-8")
    return tmp_path


def test_a_sheet_for_each_song_and_one_table(room):
    saved(room, a=SONG)
    done = mixer("feedback", "comments.json", "--songs", "songs", "--out", "sheets", cwd=room)
    assert done.returncode == 0, done.stderr
    assert {path.name for path in (room / "sheets").iterdir()} == {"a.html", "a.md", "levels.csv", "all sheets.html"}
    text = (room / "sheets" / "a.md").read_text(encoding="utf-8")
    wanted = [
        "a ferry",
        "verse: the ferry leaves",
        "water",
        "Bar 2: so calm",
        "Bar 9 (chorus): opens up",
        "Calm",
        "Bold",
    ]
    places = [text.replace("\\", "").index(each) for each in [*wanted, "Energy: changes", "line 3", "a.wav"]]
    assert places == sorted(places)
    assert text.count("the ferry leaves") == 1
    table = list(csv.reader(io.StringIO((room / "sheets" / "levels.csv").read_text(encoding="utf-8-sig"))))
    assert table == [["song", "by", "Energy"], ["Low Tide", "Mara", "changes"]]


def test_what_two_teachers_said_stands_together(tmp_path):
    one = saved(tmp_path, "one.json", a=SONG, b=SONG)
    other = {**SONG, "remark": "Bright.", "rubric": {"Energy": "stays", "Form": "parts"}, "marks": SONG["marks"][:1]}
    comments = read_comments([one, saved(tmp_path, "other.json", a=other)])["a"]
    assert [mark.bar for mark in comments.marks] == [2, 9]
    assert comments.remark == "Calm.\nBold.\nBright."
    assert comments.levels == {"Energy": "changes / stays", "Form": "parts"}


@pytest.mark.parametrize(
    "content", ["", "[]", "{}", '{"mixer comments": 1}', '{"mixer comments": 2, "songs": {}}', "[" * 9999]
)
def test_other_files_are_refused(tmp_path, content):
    (tmp_path / "x.json").write_text(content, encoding="utf-8")
    with pytest.raises(NoCommentsError):
        read_comments([tmp_path / "x.json"])
    assert mixer("feedback", "x.json", cwd=tmp_path).returncode == 2
    assert "no file of comments" in mixer("feedback", "x.json", cwd=tmp_path).stderr


def test_a_file_that_is_not_there_is_told(tmp_path):
    done = mixer("feedback", "none.json", cwd=tmp_path)
    assert (done.returncode, "cannot be read" in done.stderr) == (2, True)


def test_what_has_not_the_right_form_is_left_out(tmp_path):
    odd = {"title": 3, "marks": [{"bar": "1"}, {"bar": True}, {"bar": -1}, 7, {"bar": 3, "words": None}], "rubric": [1]}
    comments = read_comments([saved(tmp_path, a=odd, b=7, c={"marks": {}})])
    assert comments == {"a": Comments(marks=(Said(3, "", ""),)), "c": Comments()}


def test_words_of_strangers_are_text_on_every_sheet():
    sheet = sheets([Done("a", "song", title=HOSTILE, by=HOSTILE)], {"a": Comments(remark=HOSTILE)})[0]
    page = as_page([sheet])
    assert "<script" not in page
    assert page.count("&lt;script&gt;") == 4
    text = as_markdown(sheet)
    assert "<script>" not in text
    assert "\\# head" in text


def test_a_command_and_a_file_are_copied_from_markdown_as_they_are():
    text = as_markdown(Sheet("a", "t", "", (("Head", ('mixer try Mara_lied.yaml "verse: rain 7-8"',)),)))
    assert 'mixer try Mara_lied.yaml "verse: rain 7-8"' in text


@given(
    st.text(alphabet=st.one_of(st.sampled_from("\\\\`*_[]<>&~|#+-=!().:;1 ahwptsx/\"'"), st.characters()), max_size=60)
)
@example("1. one")
@example("1) one")
@example("--- x")
@example("==")
@example("a&amp;b <b> [x](y) ![z](y) `c` **d** __e__ ~~f~~ \\\\*")
@example("    four spaces")
@example("http://example.org www.example.org")
def test_in_markdown_nothing_that_people_wrote_is_markup(text):
    """Read by markdown-it-py, which keeps CommonMark 0.31: each line is one paragraph with the words as they are."""
    words = " ".join(text.split())
    if not words or any(unicodedata.category(sign) in ("Cc", "Cs") for sign in words):
        return
    page = as_markdown(Sheet("a", "t", "", (("Head", (text,)),)))
    tokens = MarkdownIt().enable(["table", "strikethrough"]).parse(page)
    paragraph = next(at for at, token in enumerate(tokens) if token.type == "paragraph_open")
    inline = tokens[paragraph + 1]
    assert {child.type for child in inline.children} <= {"text", "text_special"}
    assert "".join(child.content for child in inline.children) == words


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-1", "@x", "\t=1", "\uff1d1", " =1"])
def test_no_cell_is_a_formula(tmp_path, cell):
    write_table({"a": Comments(title=cell, levels={cell: cell})}, [], (), tmp_path / "t.csv")
    rows = list(csv.reader(io.StringIO((tmp_path / "t.csv").read_text(encoding="utf-8-sig"))))
    assert sum(cell.strip() in each for row in rows for each in row) == 3  # a criterion, the title, the level
    assert all(each[:1] not in "=+-@\uff1d\t " for row in rows for each in row if each)


def asked(comments=Comments(), since=()):  # noqa: B008 - it cannot be changed
    sections = [
        {"name": "verse", "first": 1, "last": 8, "meant": ""},
        {"name": "chorus", "first": 9, "last": 16, "meant": ""},
        {"name": "end", "first": 17, "last": 20, "meant": ""},
    ]
    questions = [["of the verse?", "try v", 1, 8], ["of the chorus?", "try c", 9, 16], ["of the end?", "try e", 17, 20]]
    shown = {"sections": sections, "questions": questions, "since": [{"week": "week 1", "lines": list(since)}]}
    (sheet,) = sheets([Done("a", "song", shown=shown)], {"a": comments})
    return dict(sheet.parts)["A question"]


def test_the_question_is_about_what_was_said_or_else_what_changed():
    said_of_the_end = Comments(marks=(Said(18, "end", "too sudden"), Said(2, "verse", "")))
    changed = ['chorus (from bar 9): "bass" enters 2 bars later, at bar 11']
    assert asked() == ("of the verse?", "To hear it: try v")
    assert asked(since=changed)[0] == "of the chorus?"
    assert asked(said_of_the_end, changed) == ("of the end?", "To hear it: try e")
    assert asked(since=["the bass is louder throughout"])[0] == "of the verse?"


def test_names_of_songs_do_not_lead_out_of_the_folder(tmp_path):
    saved(tmp_path, **{"../../evil": SONG, "/abs": SONG, "con": SONG, "CON": SONG})
    done = mixer("feedback", "comments.json", "--out", "sheets", cwd=tmp_path)
    assert done.returncode == 0
    assert len(list((tmp_path / "sheets").glob("*.md"))) == 4
    assert not list(tmp_path.parent.glob("evil*"))
