"""A sheet for each student: what was meant, what was heard and said, how to hear it again. And a table for the teacher.

All of it is people's words. The table has the levels that people chose, and no column is computed from sound.
"""

from __future__ import annotations

import csv
import html
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from string import Template
from typing import Any

from mixer.classroom.comments import Comments
from mixer.classroom.songs import DETAILS, read_done
from mixer.classroom.tasks import Done
from mixer.pages.document import asset
from mixer.record import record
from mixer.store.names import distinct_places, safe_name
from mixer.store.whole import write_text
from mixer.words.english import sheet as said
from mixer.words.english.because import WORD as BECAUSE
from mixer.words.english.changes import NO_CHANGE

TABLE = "levels.csv"
TOGETHER = "all sheets.html"


@record
class Sheet:
    """What stands on one student's sheet: headings with lines of plain text."""

    name: str
    title: str
    by: str
    parts: tuple[tuple[str, tuple[str, ...]], ...]


def known_songs(folder: Path) -> list[Done]:
    """Find what is known of the songs in a folder, in the order of their names."""
    places = sorted((folder / DETAILS).glob("*.json")) if (folder / DETAILS).is_dir() else []
    return [done for place in places if (done := read_done(folder, place.stem)) is not None]


def sheets(songs: Iterable[Done], comments: Mapping[str, Comments]) -> list[Sheet]:
    """Give a sheet for each song that is known or was commented on."""
    known = {done.name: done for done in songs}
    names = sorted({*known, *comments})
    return [_sheet(name, known.get(name), comments.get(name, Comments())) for name in names]


def _sheet(name: str, done: Done | None, comments: Comments) -> Sheet:
    title = (done.title if done else "") or comments.title or name
    by = (done.by if done else "") or comments.by
    marks = [said.at_bar(mark.bar, mark.section, mark.words) for mark in comments.marks if mark.words]
    parts = [
        (said.MEANT, _meant(done)),
        *_changed(done),
        (said.HEARD, comments.heard.splitlines()),
        (said.MARKS, marks),
        (said.REMARK, comments.remark.splitlines()),
        (said.LEVELS, [f"{criterion}: {level}" for criterion, level in comments.levels.items()]),
        (said.QUESTION, _question(done, comments)),
        (said.MISSING, [done.why] if done and done.state != "song" and done.why else []),
        (said.HOW_TO_HEAR, [said.how_to_hear(done.file), said.CARE] if done and done.file else []),
    ]
    return Sheet(name, title, by, tuple((head, tuple(lines)) for head, lines in parts if lines))


def _meant(done: Done | None) -> list[str]:
    if done is None:
        return []
    sections = done.shown.get("sections", [])
    lines = dict.fromkeys(f"{each['name']}: {each['meant']}" for each in sections if each.get("meant"))
    return [line for line in (done.shown.get("about", ""), *lines) if line]


def _changed(done: Done | None) -> list[tuple[str, list[str]]]:
    """What changed since last time, and room to say why where no reason is known."""
    steps = _steps(done)
    if not steps:
        return []
    week, lines = steps[0]
    told = any(BECAUSE in line for line in lines) or lines == [NO_CHANGE]
    return [(said.changed(week), lines if told else [*lines, said.WHY])]


def _steps(done: Done | None) -> list[tuple[str, list[str]]]:
    """What is known of what changed, the newest first; it may come from a stranger's stick."""
    found = done.shown.get("since") if done else None
    steps = [each for each in found if isinstance(each, dict)] if isinstance(found, list) else []
    return [(str(each.get("week", "")), [str(line) for line in each.get("lines") or ()]) for each in steps]


def _question(done: Done | None, comments: Comments) -> list[str]:
    """One question, and how to hear what it asks: the first that is about what was said or changed, or the first."""
    asked = done.shown.get("questions", []) if done else []
    if not asked:
        return []
    text, command = max(asked, key=lambda each: _fits(each, done, comments))[:2]
    return [text, said.to_hear(command)]


def _fits(question: Sequence[Any], done: Done | None, comments: Comments) -> int:
    """2 where somebody said something at its bars, 1 where something changed in its sections, else 0."""
    first, last = question[2:4] if len(question) > 3 else (1, 0)
    if any(mark.words and first <= mark.bar <= last for mark in comments.marks):
        return 2
    sections = done.shown.get("sections", []) if done else []
    names = {each["name"] for each in sections if each["first"] <= last and first <= each["last"]}
    changed = " ".join(line for _, lines in _steps(done)[:1] for line in lines)
    return int(any(re.search(rf"(?<!\w){re.escape(name)}(?!\w)", changed) for name in names))


def write_sheets(all_of_them: Sequence[Sheet], out: Path) -> None:
    """Write each sheet as a page to print and as Markdown to send, and all as one page, each on paper of its own.

    Raises
    ------
    OSError
        If one cannot be written; what stood there stays.
    """
    taken = Path(TOGETHER).stem
    places = distinct_places([out / taken, *(out / safe_name(sheet.name) for sheet in all_of_them)])[1:]
    for sheet, place in zip(all_of_them, places, strict=True):
        write_text(place.with_name(f"{place.name}.html"), as_page([sheet]))
        write_text(place.with_name(f"{place.name}.md"), as_markdown(sheet))
    write_text(out / TOGETHER, as_page(all_of_them))


def as_page(all_of_them: Sequence[Sheet]) -> str:
    """Give sheets as one page to print."""
    title = all_of_them[0].title if len(all_of_them) == 1 else said.SHEETS
    return Template(asset("sheet.html")).substitute(
        title=html.escape(title), sheets="\n".join(_article(sheet) for sheet in all_of_them)
    )


def _article(sheet: Sheet) -> str:
    parts = []
    for head, lines in sheet.parts:
        told = "".join(f"<p>{html.escape(line)}</p>" for line in lines)
        parts.append(f"<section><h2>{html.escape(head)}</h2>{told}</section>")
    title, by, note = (html.escape(text) for text in (sheet.title, sheet.by, said.NOTE))
    return (
        f'<article>\n<h1>{title}</h1>\n<p class="by">{by}</p>\n{"".join(parts)}\n<p class="note">{note}</p>\n</article>'
    )


def as_markdown(sheet: Sheet) -> str:
    """Give a sheet as Markdown (CommonMark) in which nothing that people wrote is markup."""
    lines = [f"# {_plain(sheet.title)}", *([_plain(sheet.by)] if sheet.by else [])]
    for head, told in sheet.parts:
        lines += [f"## {head}", *(_plain(line) for line in told)]
    return "\n\n".join([*lines, said.NOTE, ""])


def _plain(text: str) -> str:
    """Escape what could be markup in a line of CommonMark 0.31 (2.4) or GitHub's, and no more: commands are copied."""
    line = re.sub(r"([\\`*\[\]<>&~|#]|(?<![^\W_])_|_(?![^\W_]))", r"\\\1", " ".join(text.split()))
    line = re.sub(r"://|(?<=www)\.", lambda sign: "\\" + sign[0], line, flags=re.IGNORECASE)
    return re.sub(r"^(\d{1,9}(?=[.)])|(?=[+=-]))(.)", r"\1\\\2", line)


def write_table(songs: Mapping[str, Comments], done: Iterable[Done], criteria: Sequence[str], place: Path) -> None:
    """Write the levels that people chose as a table (CSV, RFC 4180, UTF-8 with its mark for spreadsheets).

    Raises
    ------
    OSError
        If it cannot be written.
    """
    known = {each.name: each for each in done}
    more = [criterion for comments in songs.values() for criterion in comments.levels]
    columns = list(dict.fromkeys([*criteria, *more]))
    text = io.StringIO()
    table = csv.writer(text)
    table.writerow([_cell(head) for head in (*said.TABLE_HEADS, *columns)])
    for name in sorted({*known, *songs}):
        comments = songs.get(name, Comments())
        title = (known[name].title if name in known else "") or comments.title or name
        by = (known[name].by if name in known else "") or comments.by
        table.writerow([_cell(each) for each in (title, by, *(comments.levels.get(each, "") for each in columns))])
    write_text(place, "\ufeff" + text.getvalue())


def _cell(text: str) -> str:
    """Put a quote mark in front of what a spreadsheet would take for a formula (OWASP, "CSV Injection")."""
    line = " ".join(text.split())
    return f"'{line}" if line[:1] in ("=", "+", "-", "@") or (line[:1] in "\uff1d\uff0b\uff0d\uff20" and line) else line
