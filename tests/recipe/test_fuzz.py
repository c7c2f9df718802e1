"""Right recipes in any spelling are read as they were meant; wrong ones are told about, and nothing breaks."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from mixer.loops.library import open_library
from mixer.recipe.reader import read
from mixer.song.outline import outline
from mixer.song.plan import plan
from mixer.text.source import decode
from mixer.words.say import all_in_full
from tests.recipe.cases import FOLDER, KNOWN_LOOPS, read_case
from tests.recipe.drawing import songs
from tests.recipe.drawn import LEVELS, PANS, PITCHES, TEMPOS
from tests.recipe.meaning import meaning
from tests.recipe.written import dressed, long, short

# The same examples on every run where changes are taken; new ones each time elsewhere.
STEADY = settings(
    derandomize="CI" in os.environ,
    deadline=None,
    max_examples=150,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
RIGHT = [decode(path.read_bytes())[0] for path in sorted((FOLDER / "right").glob("*.yaml"))]
WRONG = [decode(read_case(path).raw)[0] for path in sorted((FOLDER / "mistakes").glob("*.md"))]


LIBRARY = open_library(None)


@STEADY
@given(song=songs(), how=st.integers(0, 63))
def test_a_right_recipe_is_read_as_it_was_meant(song, how):
    for text in (short(song), long(song), dressed(short(song), how), dressed(long(song), how)):
        result = read(text, LIBRARY.names())
        assert result.problems == (), all_in_full(result.problems)
        assert [_as_meant(section) for section in result.recipe.sections] == [
            (
                (each.name, each.bars, each.meant, each.fade_in, each.fade_out, each.continues),
                {
                    name: (sorted(h.bars), h.level_db, h.pan, h.fade_in, h.fade_out, h.from_the_top)
                    for name, h in each.heard.items()
                },
            )
            for each in meaning(song)
        ]
        assert_layers_and_top(song, result.recipe)


def _as_meant(section):
    return (
        (
            section.name,
            section.bars,
            section.meant,
            section.fade_in_bars,
            section.fade_out_bars,
            section.continues,
        ),
        {
            e.layer: (e.bars(section.bars), e.level_db, e.pan, e.fade_in_bars, e.fade_out_bars, e.from_the_top)
            for e in section.entries
        },
    )


def assert_layers_and_top(song, recipe):
    assert (recipe.title, float(recipe.tempo_bpm)) == (song.title, TEMPOS[song.tempo])
    for word in ("by", "about", "hear", "habits", "may be heard", "ending"):
        usual = {"may be heard": "class", "ending": "stop"}.get(word, "")
        assert getattr(recipe, word.replace(" ", "_")) == song.top.get(word, usual)
    assert str(recipe.meter) == song.top.get("time", "4/4")
    assert (recipe.key is not None) == ("key" in song.top)
    assert [layer.name for layer in recipe.layers] == list(song.layers)
    for layer, details in zip(recipe.layers, song.layers.values(), strict=True):
        assert layer.source.loop == details["loop"]
        assert layer.level_db == LEVELS[details.get("level", "0")]
        assert layer.pan == PANS[details.get("pan", "centre")]
        assert layer.pitch == PITCHES[details.get("pitch", "0")]
        assert (layer.role, layer.speed) == (details.get("role"), details.get("speed", "nearest"))


@STEADY
@given(song=songs())
def test_check_says_back_what_was_written(song):
    recipe = read(short(song), LIBRARY.names()).recipe
    back = outline(plan(recipe, LIBRARY))
    assert [
        (each.name, each.bars, each.meant, {e.layer: _bars_said(e.spans, each.bars) for e in each.entries})
        for each in back.sections
    ] == [
        (each.name, each.bars, each.meant, {name: sorted(heard.bars) for name, heard in each.heard.items()})
        for each in meaning(song)
    ]


def _bars_said(spans, bars):
    return [bar for first, last in spans or [(1, bars)] for bar in range(first, last + 1)]


@STEADY
@given(song=songs())
def test_both_spellings_are_one_recipe(song):
    one, other = read(short(song), KNOWN_LOOPS).recipe, read(long(song), KNOWN_LOOPS).recipe
    assert one == other


SIGNS = st.sampled_from(
    [*":-#\"'{}[],&*!|>%@`\t \n", "\u00a0", "\u3000", "\uff1a", "\u200b", "\x1b", "like ", "5-8", "a"]
)
EDITS = st.lists(
    st.tuples(st.sampled_from(["put", "take", "double", "drop", "swap", "move"]), st.integers(0, 10_000), SIGNS),
    min_size=1,
    max_size=6,
)


def edited(text: str, edits) -> str:
    for what, where, sign in edits:
        at = where % (len(text) + 1)
        lines = text.split("\n")
        line, other = where % len(lines), (where // 7) % len(lines)
        if what == "put":
            text = text[:at] + sign + text[at:]
        elif what == "take":
            text = text[:at] + text[at + 1 + where % 3 :]
        elif what == "double":
            text = "\n".join([*lines[: line + 1], *lines[line:]])
        elif what == "drop":
            text = "\n".join(lines[:line] + lines[line + 1 :])
        elif what == "swap":
            lines[line], lines[other] = lines[other], lines[line]
            text = "\n".join(lines)
        else:
            lines[line] = " " * (where % 7) + lines[line].lstrip()
            text = "\n".join(lines)
    return text


@STEADY
@given(text=st.sampled_from(RIGHT + WRONG), edits=EDITS)
def test_no_edit_breaks_the_reader_and_what_is_told_has_a_line(text, edits):
    written = edited(text, edits)
    result = read(written, LIBRARY.names())
    count = len(written.replace("\r\n", "\n").replace("\r", "\n").split("\n"))
    assert all(1 <= problem.place.line <= count for problem in result.problems)
    assert "\x1b" not in all_in_full(result.problems)
    if result.recipe is None:
        assert result.problems
    else:
        plan(result.recipe, LIBRARY)


@STEADY
@given(raw=st.binary(max_size=400))
def test_any_bytes_can_be_read(raw):
    result = read(decode(raw)[0], KNOWN_LOOPS)
    assert result.problems
    assert all_in_full(result.problems)


@STEADY
@given(text=st.text(max_size=200))
def test_any_text_can_be_read(text):
    assert read(text, KNOWN_LOOPS).problems
