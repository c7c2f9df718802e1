"""`mixer fits --all`: a set of loops proved before the lesson."""

from __future__ import annotations

import signal
import textwrap
import time
from collections.abc import Iterable, Iterator
from itertools import takewhile
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from mixer.cli.common import CALLED_WRONGLY, Progress
from mixer.cli.fit_reasons import WIDTH, Listening, reasons
from mixer.words.english import fits as fits_words
from mixer.words.english import proof as words
from mixer.words.say import printable

if TYPE_CHECKING:
    from mixer.coach.proof import Bench, Pair, Proved
    from mixer.loops.card import Card
    from mixer.material.fit import Frame
    from mixer.recipe.brief import Brief
    from mixer.song.briefs import BriefFile

FIRST = 5
"""After so many songs it is said how long the others will take."""


def prove(folder: Path | None, loop_folders: list[Path], brief_file: BriefFile | None, count: int, out: Path) -> None:
    """Judge all pairs, make songs by chance, tell what was found and write what is to be heard."""
    from mixer.coach.by_chance import usual_frame  # noqa: PLC0415 - help comes without it
    from mixer.coach.proof import Bench, pairs  # noqa: PLC0415 - loads numpy
    from mixer.store.whole import write_text  # noqa: PLC0415 - the same

    brief = brief_file.brief if brief_file else None
    cards = _cards(folder, loop_folders)
    if not cards:
        typer.echo(words.NONE_THERE, err=True)
        raise typer.Exit(CALLED_WRONGLY)
    frame, listening = usual_frame(cards, brief), Listening()
    _say(words.heading(len(cards), float(frame.tempo_bpm), str(frame.key or ""), brief.name if brief else ""))
    judged = pairs(cards, frame, listening)
    listening.done()
    _say("\n".join(_pairs_told(judged)))
    try:
        write_text(out / words.PAIRS, "\n".join(_all_reasons(judged)) + "\n")
        _say(words.all_pairs_in(str(out / words.PAIRS)))
        if count:
            bench = Bench(listening)
            _tell_of_songs(bench, _songs(bench, cards, frame, brief, count), out / words.WORST)
    except BrokenPipeError:
        raise
    except OSError as error:
        typer.echo(words.unwritten(printable(str(out)), error.strerror or ""), err=True)
        raise typer.Exit(CALLED_WRONGLY) from error
    typer.echo(f"\n{words.ENDING}")


def _say(text: str) -> None:
    typer.echo(printable(text))


def _tell_of_songs(bench: Bench, proved: Proved, place: Path) -> None:
    """Tell what came of songs by chance, and write their worst moments, those in which nothing sounds left out."""
    from mixer.coach.proof import write_moments  # noqa: PLC0415 - loads numpy

    _say("\n" + "\n".join(words.came_of(proved.made, proved.outside, proved.unusable, proved.troubled)))
    moments = [(words.moment(m.kind, m.song, m.bar, m.who, m.chords, m.bars), m) for m in proved.worst]
    heard = [(name, moment) for name, moment in moments if moment.kind != "silent"]
    if heard:
        write_moments(place, bench, heard)
        _say("\n".join(words.worst([name for name, _ in heard], str(place))))


def _cards(folder: Path | None, loop_folders: list[Path]) -> list[Card]:
    """All loops of a folder; of all that are known where none is named."""
    from mixer.loops.library import open_library  # noqa: PLC0415 - help comes without it

    library = open_library(Path.cwd(), [*([folder] if folder else []), *loop_folders])
    cards = {card.path: card for card in library.cards.values()}.values()
    return [card for card in cards if folder is None or folder.resolve() in card.path.resolve().parents]


def _pairs_told(judged: list[Pair]) -> Iterator[str]:
    """Give the pairs under headings; those of which the same is to be said stand together."""
    if not judged:
        yield words.ONE_ROLE
        return
    counted = [pair for pair in judged if not pair.fits.wrong_time]
    pitched = [pair for pair in counted if not pair.fits.pitchless]
    groups = {
        words.TOGETHER: [pair for pair in pitched if pair.agreeing],
        words.CLOSE: [pair for pair in pitched if not pair.clashing and not pair.agreeing and pair.fits.bars],
        words.UNKNOWN: [pair for pair in pitched if not pair.fits.bars],
        words.APART: [pair for pair in pitched if pair.clashing],
    }
    for heading, group in groups.items():
        if group:
            yield f"\n{heading}"
            yield from _grouped(group, in_words=heading in (words.CLOSE, words.APART))
    names = {card.name for pair in judged for card in (pair.one, pair.fits.card)}
    in_time = {card.name for pair in counted for card in (pair.one, pair.fits.card)}
    with_pitch = {card.name for pair in pitched for card in (pair.one, pair.fits.card)}
    for heading, left in ((words.NO_PITCH, in_time - with_pitch), (words.OTHER_TIME, names - in_time)):
        if left:
            yield f"\n{heading}"
            yield from _folded(", ".join(sorted(left)))
    if far := _suffering(counted):
        yield f"\n{words.FAR}"
        for told in far:
            yield from _folded(told)
    yield ""


def _suffering(counted: list[Pair]) -> list[str]:
    """Say which loops are stretched or moved further than they bear."""
    from mixer.coach.fits import Fits  # noqa: PLC0415 - loads numpy

    fitted = [fit for pair in counted for fit in (pair.fits.fit, *(one.fit for one in pair.there.placed)) if fit]
    far = {fit.card.name: fit.card for fit in fitted if Fits(fit.card, fit).suffers}
    told = []
    for name, card in sorted(far.items()):
        tempos = card.limits.tempos_bpm(card.tempo_bpm)
        semitones = card.limits.semitones() if card.key else None
        told.append(words.far(name, tempos and (float(tempos[0]), float(tempos[1])), semitones))
    return told


def _grouped(group: list[Pair], *, in_words: bool) -> Iterator[str]:
    others: dict[tuple[str, str], list[str]] = {}
    for pair in group:
        told = fits_words.chords(pair.fits.bars) if in_words else ""
        others.setdefault((pair.one.name, told), []).append(pair.fits.card.name)
    for (one, told), names in others.items():
        yield from _folded(words.pair(one, names, told))


def _all_reasons(judged: Iterable[Pair]) -> Iterator[str]:
    for pair in judged:
        yield words.pair(pair.one.name, [pair.fits.card.name], fits_words.reasons(reasons(pair.fits, pair.there)))


def _folded(line: str) -> list[str]:
    return textwrap.wrap(line, WIDTH, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False)


def _songs(bench: Bench, cards: list[Card], frame: Frame, brief: Brief | None, count: int) -> Proved:
    from mixer.coach.by_chance import songs_by_chance  # noqa: PLC0415 - help comes without it

    progress, start = Progress(), time.monotonic()
    stopped = False

    def stop(*_signal: object) -> None:
        nonlocal stopped
        stopped = True
        signal.signal(signal.SIGINT, usual)

    def show(number: int) -> None:
        if number == FIRST + 1 and count > 2 * FIRST:
            progress.clear()
            typer.echo(words.how_long(count, (time.monotonic() - start) / FIRST * (count - FIRST)))
        progress(words.making(number, count), (number - 1) / count)

    usual = signal.signal(signal.SIGINT, stop)  # what was found until then is told and can be heard
    try:
        songs = songs_by_chance(cards, frame, brief, count)
        return bench.prove(takewhile(lambda _: not stopped, songs), show)
    finally:
        signal.signal(signal.SIGINT, usual)
        progress.clear()
