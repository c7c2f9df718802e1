"""A song that is wanted and what came of it: plain data that goes through a pipe and into a file beside the songs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from mixer.classroom.room import SHARE_BYTES
from mixer.record import record
from mixer.words.problem import Problem
from mixer.words.say import printable, say

if TYPE_CHECKING:
    from mixer.song.songfile import SongFormat

State = Literal["song", "draft", "earlier", "none"]


@record
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
    earlier : weeks in which it was made before, the oldest first: what each is called, and the song or recipe
    room_bytes : how much memory it may take
    """

    recipe: Path
    name: str
    out: Path
    song_format: SongFormat = "wav"
    loops: tuple[Path, ...] = ()
    brief: Path | None = None
    earlier: tuple[tuple[str, Path], ...] = ()
    room_bytes: int = SHARE_BYTES

    def as_data(self) -> dict[str, Any]:
        """Give it for a pipe."""
        data = asdict(self)
        paths: dict[str, Any] = {"recipe": str(self.recipe), "out": str(self.out)}
        paths["loops"] = [str(each) for each in self.loops]
        paths["earlier"] = [[called, str(path)] for called, path in self.earlier]
        return {**data, **paths, "brief": None if self.brief is None else str(self.brief)}

    @classmethod
    def from_data(cls, data: dict[str, Any]) -> Task:
        """Take it from a pipe."""
        paths: dict[str, Any] = {"recipe": Path(data["recipe"]), "out": Path(data["out"])}
        paths["earlier"] = tuple((called, Path(path)) for called, path in data.get("earlier", ()))
        paths |= {"brief": Path(data["brief"])} if data.get("brief") else {}
        return cls(**{**data, **paths, "loops": tuple(map(Path, data["loops"]))})


@record
class Done:
    """What came of a song.

    Parameters
    ----------
    name : as asked for
    state : a song, a draft of it, the song of an earlier version in place of one that cannot be made, or none
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
    asks_bytes : how much memory it would take, where that was more than it was given; else 0
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
    asks_bytes: int = 0
    fresh: bool = True

    @classmethod
    def from_data(cls, data: dict[str, Any]) -> Done:
        """Take it from a pipe or a file."""
        return cls(**{**data, "hear": tuple(data["hear"])})


def first_told(problems: Iterable[Problem]) -> str:
    """Give the first of some problems in one line; empty where there is none."""
    first = next(iter(problems), None)
    if first is None:
        return ""
    where = f"line {first.place.line}: " if first.place.text else ""
    return printable(f"{where}{say(first).message}")
