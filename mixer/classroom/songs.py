"""One recipe of a class made into its song, or found to be made already.

What came of it is plain data that goes through a pipe and into a file beside the songs. A song is made again only if
something that it depends on has changed: its recipe, the sound files and cards of its loops, the program, what is asked
for.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from mixer import __version__
from mixer.coach.brief import look
from mixer.coach.seen import Seen, see
from mixer.loops.permission import to_ask
from mixer.pages.engrave import engrave
from mixer.pages.form_text import form_as_text
from mixer.pages.svg import as_svg
from mixer.song.briefs import read_brief_file
from mixer.song.charted import chart_of
from mixer.song.credits import heard_cards
from mixer.song.make import Made, Order, make
from mixer.song.opened import NoRecipeError, Opened, open_bytes, open_recipe
from mixer.song.outline import outline
from mixer.song.plan import Plan
from mixer.song.songfile import SongFormat
from mixer.store.content import content_key, key_of
from mixer.store.versions import kept_versions
from mixer.store.whole import write_text
from mixer.text.names import same_name
from mixer.versions.changes import compare
from mixer.words.english.changes import sentence
from mixer.words.english.coach import to_try
from mixer.words.english.told import loop_credit, section_told
from mixer.words.problem import Problem
from mixer.words.say import all_in_full, say

if TYPE_CHECKING:
    from mixer.coach.energy import Energy

DETAILS = "details"
State = Literal["song", "draft", "none"]


@dataclass(frozen=True)
class Task:
    """A song that is wanted.

    Parameters
    ----------
    recipe : its file
    name : of the song, without an ending
    out : the folder for songs
    song_format : of the file
    loops : folders with loops that come before all others
    brief : the brief to look at it with, in place of the one that it names; None for its own
    """

    recipe: Path
    name: str
    out: Path
    song_format: SongFormat = "wav"
    loops: tuple[Path, ...] = ()
    brief: Path | None = None

    def as_data(self) -> dict[str, Any]:
        """Give it for a pipe."""
        data = asdict(self)
        paths = {"recipe": str(self.recipe), "out": str(self.out), "loops": [str(each) for each in self.loops]}
        return {**data, **paths, "brief": None if self.brief is None else str(self.brief)}

    @classmethod
    def from_data(cls, data: dict[str, Any]) -> Task:
        """Take it from a pipe."""
        paths = {"recipe": Path(data["recipe"]), "out": Path(data["out"])}
        paths |= {"brief": Path(data["brief"])} if data.get("brief") else {}
        return cls(**{**data, **paths, "loops": tuple(map(Path, data["loops"]))})


@dataclass(frozen=True)
class Done:
    """What came of a song.

    Parameters
    ----------
    name : as asked for
    state : a song, a draft of it, or none
    file : the song's file in the folder for songs; empty without one
    title, by : as the recipe says
    seconds : how long it lasts
    words : all there is to tell of the recipe, as the terminal shows it
    why : one line on why there is no whole song; empty where there is
    hear : what a class hears first: the section's name, its start and its length in seconds
    leaves : what must be known before it leaves the class: how far its maker lets it go (`class`, `school` or `home`),
        the loops of which nobody knows whether they may be taken home, and the credits as lines
    shown : what pages show of it: its sections, its chart, what happens in it, what it does of what a brief asks
        (`brief`, lines; `briefInAWord`, empty where none is named)
    key : tells what it was made of
    size_bytes : of the song's file
    fresh : whether it was made now, not before
    """

    name: str
    state: State
    file: str = ""
    title: str = ""
    by: str = ""
    seconds: float = 0.0
    words: str = ""
    why: str = ""
    hear: tuple[str, float, float] = ("", 0.0, 0.0)
    leaves: dict[str, Any] = field(default_factory=dict)
    shown: dict[str, Any] = field(default_factory=dict)
    key: str = ""
    size_bytes: int = 0
    fresh: bool = True

    @classmethod
    def from_data(cls, data: dict[str, Any]) -> Done:
        """Take it from a pipe or a file."""
        return cls(**{**data, "hear": tuple(data["hear"])})


def make_song(task: Task) -> Done:
    """Make a song, or find it made."""
    try:
        opened = open_recipe(task.recipe, task.loops)
    except NoRecipeError as error:
        return Done(task.name, "none", words=all_in_full([error.problem]), why=_first([error.problem]))
    if task.brief is not None:
        opened = replace(opened, brief=read_brief_file(task.brief))
    key = _key(task, opened)
    kept = read_done(task.out, task.name)
    if kept is not None and kept.key == key and _is_as_it_was(kept, task.out):
        return replace(kept, fresh=False)
    made = make(opened, Order(task.out / task.name, song_format=task.song_format))
    done = _done(task, opened, made, key)
    if made.written:  # what could not be written may be written the next time
        _drop_draft(task, done)
        write_text(_place(task.out, task.name), json.dumps(asdict(done), ensure_ascii=False, indent=1))
    return done


def read_done(out: Path, name: str) -> Done | None:
    """Read what is known of a song that was made before; None where nothing is, or something else stands there."""
    try:
        done = Done.from_data(json.loads(_place(out, name).read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError, KeyError, RecursionError):
        return None
    return done if done.name == name and _is_sound(done) else None


def _is_sound(done: Done) -> bool:
    """Whether what was read has the form that was written; it may come from a stranger's stick."""
    texts = (done.state, done.file, done.title, done.by, done.words, done.why, done.key)
    numbers = (done.seconds, done.size_bytes)
    named = all(isinstance(text, str) for text in texts) and Path(done.file).name == done.file
    counted = all(isinstance(number, int | float) for number in numbers) and len(done.hear) == 3
    return named and counted and isinstance(done.leaves, dict) and isinstance(done.shown, dict)


def _is_as_it_was(kept: Done, out: Path) -> bool:
    """Whether a song's file is still what was written; its size tells a cut one."""
    try:
        return not kept.file or (out / kept.file).stat().st_size == kept.size_bytes
    except OSError:
        return False


def _place(out: Path, name: str) -> Path:
    return out / DETAILS / f"{name}.json"


def _key(task: Task, opened: Opened) -> str:
    loops = [repr(part.fit) for part in opened.plan.parts] if opened.plan else []
    sounds = [_content(part.fit.card.path) for part in opened.plan.parts] if opened.plan else []
    told = all_in_full(opened.problems)
    brief = repr(opened.brief and opened.brief.brief)
    return key_of(__version__, task.song_format, opened.path.name, opened.text, told, brief, *loops, *sounds)


def _content(path: Path) -> str:
    try:
        return content_key(path)
    except OSError:
        return ""


def _done(task: Task, opened: Opened, made: Made, key: str) -> Done:
    recipe = opened.recipe
    mistakes = made.mistakes
    done = Done(
        task.name,
        "none" if made.report is None else "draft" if made.draft else "song",
        title=(recipe.title if recipe else "") or opened.path.stem,
        by=recipe.by if recipe else "",
        words=all_in_full(made.problems),
        why=_first(mistakes),
        key=key,
    )
    if made.report is None or opened.plan is None:
        return done
    seen = see(opened, made.materials)
    assert seen is not None  # noqa: S101 - there is a song
    return replace(
        done,
        file=made.report.song.name,
        size_bytes=made.report.song.stat().st_size,
        seconds=made.report.seconds,
        hear=_hear(opened.plan, seen),
        leaves=_leaves(opened.plan),
        shown={**_shown(opened.plan, seen), **_brief(opened, seen.energy), "changed": _changed(task, opened.plan)},
    )


def _changed(task: Task, plan: Plan) -> list[str]:
    """What changed since the version of this song that was made before; nothing where there is none."""
    before = [path.read_bytes() for path in kept_versions(task.out, task.name)]
    others = [content for content in before if content.decode("utf-8", "replace") != plan.recipe.text]
    if not others:
        return []
    old = open_bytes(others[-1], task.recipe, task.recipe.parent, task.loops).plan
    return [] if old is None else [sentence(change) for change in compare(old, plan).changes]


def _leaves(plan: Plan) -> dict[str, Any]:
    return {
        "heard": plan.recipe.may_be_heard,
        "ask": to_ask(heard_cards(plan), "home"),
        "loops": [loop_credit(card.name, card.maker, card.licence) for card in heard_cards(plan)],
        "makers": sorted({card.maker for card in heard_cards(plan) if card.maker}),
    }


def _shown(plan: Plan, seen: Seen) -> dict[str, Any]:
    song = outline(plan)
    sections = [(each.letter, each.name, each.first_bar, each.bars) for each in song.sections]
    return {
        "bars": song.bars,
        "barSeconds": float(plan.frame.bar_seconds),
        "sections": [
            {
                "letter": each.letter,
                "name": each.name,
                "first": each.first_bar,
                "last": each.first_bar + each.bars - 1,
                "bars": each.bars,
                "start": each.start_seconds,
                "meant": each.meant,
            }
            for each in song.sections
        ],
        "chart": form_as_text(sections, [(layer.name, layer.heard) for layer in song.layers]),
        "words": [
            f"{section_told(each.name, each.bars, each.entries)}. {' '.join(words)}"
            for each, words in zip(song.sections, seen.section_words, strict=True)
        ],
        "standsOut": list(seen.stands_out),
        "questions": [[each.text, to_try(plan.recipe.file, each.try_text)] for each in seen.questions],
        "svg": as_svg(engrave(chart_of(plan, seen.energy_shape))[:1], song.title, places=True),
        "about": plan.recipe.about,
    }


def _brief(opened: Opened, energy: Energy) -> dict[str, Any]:
    """What a song does of what its brief asks."""
    if opened.brief is None or opened.brief.brief is None:
        return {"brief": [], "briefInAWord": ""}
    found = look(opened.brief.brief, opened.plan, energy)
    return {"brief": found.lines, "briefInAWord": found.in_a_word}


def _hear(plan: Plan, seen: Seen) -> tuple[str, float, float]:
    """The section that a class hears first: the one that its maker names, or else the fullest."""
    bars = seen.energy.bars
    named = [mark for mark in plan.marks if plan.recipe.hear and same_name(mark.name) == same_name(plan.recipe.hear)]

    def fullness(first_bar: int, length: int) -> float:
        return sum(bars[first_bar - 1 : first_bar - 1 + length]) / length

    mark = named[0] if named else max(plan.marks, key=lambda each: fullness(each.first_bar, each.bars))
    bar_seconds = float(plan.bar_frames / plan.rate_hz)
    return mark.name, mark.start_frame / plan.rate_hz, mark.bars * bar_seconds


def _first(problems: Iterable[Problem]) -> str:
    first = next(iter(problems), None)
    if first is None:
        return ""
    where = f"line {first.place.line}: " if first.place.text else ""
    return f"{where}{say(first).message}"


def _drop_draft(task: Task, done: Done) -> None:
    """Take the draft away where there is a whole song now. A song stays beside a draft of its next version."""
    if done.state == "song":
        for ending in (f".{task.song_format}", " (credits).txt"):
            (task.out / f"{task.name} (draft){ending}").unlink(missing_ok=True)
