"""A made-up class: forty students who hand in songs for three weeks.

    python -m benchmarks.robustness.classes FOLDER [--seed 1] [--students 40] [--weeks 3]

Names and songs are invented by a seed: the same seed, the same bytes. Each student has a way of handing in (`WAYS`):
most songs are right, and among the others is all that happens on a shared drive and some of what is done on purpose.
What must come of a file is known (`Handed.state`), so that a run over the class can be judged.

Beside the class lies a folder that nobody may read (`HIDDEN` stands in its files), and recipes that try to.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import unicodedata
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

from tests.sounds import Made, loop_folder

HIDDEN = "the-key-is-under-the-third-flowerpot"
SCRIPT = "alert_of_a_stranger"
"""Stands in all that would run in a page; nothing of the program's own has that name."""
LOOPS = (
    *(Made("tin", bars=1, tempo_bpm="120"), Made("hum", kind="tone", role="harmony", bars=1, tempo_bpm="120")),
    *(Made("low", kind="tone", role="bass", bars=1, tempo_bpm="120", pitch_hz=82.0),),
    *(Made("rain", kind="noise", role="background", bars=1, tempo_bpm="120"),),
)
NAMES = (
    *("Mia", "Jonas", "Aylin", "Zoë", "Émile", "Søren", "Ngô Thị Hạnh", "Łukasz", "İpek", "Ana-María", "O'Hara"),
    *("Иван", "Ольга", "Δήμητρα", "مريم", "يوسف", "דנה", "さくら", "蓮", "陈静", "지우", "อรุณ", "अनन्या", "ქეთევან"),
    *("Mia", "MIA", "Zoë", "Mia B.", "J", "van der Meer", "Leo 2", "Al", "Null", "True", "No", "1984"),
)
FORMULAS = (
    *('=HYPERLINK("http://example.invalid","click")', "+1+1", "-2+3", "@SUM(A1:A9)", "\t=1+1", "＝1+1"),
    *("=cmd|' /C calc'!A0", "%0A=1", " =1+1", '"=1+1', "\n=1+1"),
)
MARKUP = (
    *(f"<script>{SCRIPT}()</script>", f'"><img src=x onerror={SCRIPT}()>', f"</script><script>{SCRIPT}()</script>"),
    *(f"<svg/onload={SCRIPT}()>", f"javascript:{SCRIPT}()", f"<!--<script>{SCRIPT}()//", f"]]><b>{SCRIPT}"),
    *(f"' onclick='{SCRIPT}()", f"&lt;script&gt;{SCRIPT}()", "${jndi:ldap}", "$title", "{{title}}", "%s%n", "\\u003cb"),
)
CONTROL = (
    *("\x1b[2J\x1b[31mred", "\x1b]0;title\x07", "\x9b31m", "over\rwritten", "back\x08\x08", "bell\x07", "nul\x00in"),
    *("\u202egnp.exe", "\u2066left\u2069", "\u200bzero\u200dwidth\ufeff", "line\u2028break\u0085", "\x7fdel", "\ufffe"),
)
LONG = ("a" * 400, "いろは" * 80, "e\u0301" * 200, "a\u0301\u0302\u0303" * 90)
BROKEN_SOUNDS = (
    *(b"", b"RIFF", b"this is a text\n", b"\0" * 4000, b"ID3\x04", b"RIFF\xff\xff\xff\xffWAVEfmt \x10\0\0\0"),
    b"RIFF\x40\0\0\0WAVEixml\xff\xff\xff\x7f{}",
)
ODD = (*MARKUP, *FORMULAS, *CONTROL, *LONG)
FILE_NAMES = (
    *("CON.yaml", "nul.yaml", "aux .yaml", "-rf.yaml", "--out.yaml", "$(touch x).yaml", "a;b&c|d.yaml", "..yaml"),
    *(
        "x" * 240 + ".yaml",
        "é" * 120 + ".yaml",
        "trailing. .yaml",
        "..\\..\\out.yaml",
        "new\nline.yaml",
        "\x1b[2J.yaml",
    ),
    *("%2e%2e%2f.yaml", "=1+1.yaml", "<b>.yaml", "\u202egnp.yaml", "a\u0301.yaml", "á.yaml", "ANNA.yaml", "anna.yaml"),
    os.fsdecode(b"caf\xe9.yaml"),  # as older systems wrote it
    *("level check.yaml", "listening session.yaml", "twin.yaml", "twin (draft).yaml", "twin (Draft).yaml"),
    *("song.yaml.yaml", "~.yaml", "C:evil.yaml", "name.YAML", "name.yml", "#.yaml", "'.yaml", '".yaml'),
)


@dataclass(frozen=True)
class Handed:
    """A file that was handed in.

    Parameters
    ----------
    path : below the week's folder
    content : of the file
    state : what must come of it: a song, a draft, none, or `any` (what matters is that nothing breaks)
    """

    path: str
    content: bytes
    state: str = "song"


Way = Callable[[random.Random, str, int], Iterator[Handed]]


def song(rng: random.Random, title: str, by: str, **more: str) -> str:
    """A right recipe that sounds for some seconds."""
    layers = rng.sample([made.name for made in LOOPS], rng.randint(2, 4))
    lines = [f"title: {title}", f"by: {by}", f"tempo: {rng.choice((110, 120, 128))}"]
    lines += [f"{key.replace('_', ' ')}: {value}" for key, value in more.items()]
    lines += ["layers:", *(f"  {name} {number}: {name}" for number, name in enumerate(layers, 1)), "sections:"]
    names = [f"{name} {number}" for number, name in enumerate(layers, 1)]
    for section in rng.sample(["intro", "verse", "chorus", "bridge", "end"], rng.randint(2, 3)):
        lines.append(f"  - {section}, {rng.choice((1, 2))} bars: {', '.join(names[: rng.randint(1, len(names))])}")
    return "\n".join(lines) + "\n"


def quoted(text: str) -> str:
    """Anything as a YAML text in double quotes, signs that steer terminals as they are."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", " ") + '"'


def right(rng: random.Random, name: str, number: int) -> Iterator[Handed]:
    heard = rng.choice(("class", "school", "home", "home"))
    text = song(rng, f"Song of {name}", name, may_be_heard=heard)
    yield Handed(f"{number} {name}.yaml" if number % 2 else f"table {number}/song.yaml", text.encode())


def line_ends(rng: random.Random, name: str, number: int) -> Iterator[Handed]:
    text = song(rng, "From another machine", name)
    ways = (
        *(text.replace("\n", "\r\n").encode("utf-8-sig"), text.encode("utf-16"), text.replace("\n", "\r").encode()),
        *(text.rstrip("\n").encode(), text.replace("  ", "\t").encode()),
    )
    way = rng.randrange(len(ways))
    yield Handed(f"windows {number}.yaml", ways[way], "any" if way == 4 else "song")


def mistakes(rng: random.Random, name: str, number: int) -> Iterator[Handed]:
    text = song(rng, "Nearly", name)
    ways = (
        (text.replace("sections:", "sectoins:"), "any"),
        (text + "  - verse, 2 bars: somebody\n", "draft"),
        (text.replace("tempo: ", "tempo: fast "), "any"),
        (text.replace("sections:", "  lost: no-such-loop\nsections:") + "  - last, 1 bars: lost\n", "draft"),
        ("tempo: 120\nlayers:\n  a: no-such-loop\nsections:\n  - verse, 2 bars: a\n", "none"),
        ("Dear teacher, my song is on the other computer.\n", "any"),
        (text[: len(text) // 2], "any"),
    )
    content, state = rng.choice(ways)
    yield Handed(f"{number} nearly.yaml", content.encode(), state)


def nothing(rng: random.Random, _: str, number: int) -> Iterator[Handed]:
    content = rng.choice((b"", b"\n\n", b"\xef\xbb\xbf", b"\0" * 500, b"PK\x03\x04rest", b"\x89PNG\r\n", b"\xff" * 300))
    yield Handed(f"{number} empty.yaml", content, "none")


def several(rng: random.Random, name: str, number: int) -> Iterator[Handed]:
    for version in ("", " 2", " (3)")[: rng.randint(2, 3)]:
        yield Handed(f"versions {number}/song{version}.yaml", song(rng, f"Mine{version}", name).encode())


def texts(rng: random.Random, name: str, number: int) -> Iterator[Handed]:
    odd = rng.choice(ODD)
    text = song(rng, quoted(odd), quoted(rng.choice((name, odd))), about=quoted(odd))
    section = rng.choice((*MARKUP, *CONTROL)).replace("\n", " ")[:40]
    text = text.replace("- intro,", f"- {quoted(section)},").replace("- verse,", f"- {section},")
    yield Handed(f"texts {number}.yaml", text.encode("utf-8", "replace"), "any")


def file_names(rng: random.Random, name: str, number: int) -> Iterator[Handed]:
    for file in rng.sample(FILE_NAMES, 3):
        yield Handed(f"names {number}/{file}", song(rng, "Odd name", name).encode(), "any")


def odd_folders(_: random.Random, name: str, number: int) -> Iterator[Handed]:
    yield Handed(f"{name} {number}/song.yaml/readme.txt", b"This folder is called song.yaml.\n", "absent")


def own_loops(rng: random.Random, name: str, number: int) -> Iterator[Handed]:
    folder = f"own {number}"
    ways = ("mine.wav", "gone.wav", "../../../secret/secret.wav", "/etc/passwd", "link.wav", "pipe.wav", "/dev/zero")
    card = "mine:\n  file: {}\n  tempo: 120\n  bars: 1\n  time: 4/4\n  key: none\n  role: {}\n"
    text = song(rng, "With my own", name).replace("sections:", "  own: mine\nsections:") + "  - own, 1 bars: own\n"
    yield Handed(f"{folder}/song.yaml", text.encode(), "draft")
    yield Handed(f"{folder}/loops/loops.yaml", card.format(rng.choice(ways), "melody").encode(), "absent")
    yield Handed(f"{folder}/loops/mine.wav", rng.choice(BROKEN_SOUNDS), "absent")


def reaching_out(rng: random.Random, name: str, number: int) -> Iterator[Handed]:
    out = "../../../secret/secret"
    ways = (
        song(rng, "Reach", name, brief=f"{out}.txt"),
        song(rng, "Reach", name, brief=f"{out}.yaml"),
        song(rng, "Reach", name).replace("sections:", f"  own: {out}.wav\nsections:") + "  - own, 1 bars: own\n",
        song(rng, f"{out}", name),
        song(rng, "Reach", name, hear=f"{out}"),
        f"<<: !include {out}.yaml\n" + song(rng, "Reach", name),
        f"title: !!python/object/apply:os.system ['touch {SCRIPT}']\n" + song(rng, "Reach", name),
    )
    yield Handed(f"reach {number}/song.yaml", rng.choice(ways).encode(), "any")


def gigantic(rng: random.Random, name: str, number: int) -> Iterator[Handed]:
    layers = [made.name for made in LOOPS]
    many = [f"  {layer} {n}: {layer}" for n in range(60) for layer in layers]
    anchors = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
        f"{c}: &{c} [{f'*{b}, ' * 9}]\n" for b, c in ("ab", "bc", "cd")
    )
    ways = (
        (f"by: {name}\ntempo: 60\nlayers:\n  a: hum\nsections:\n  - verse, 999 bars: a\n", "any"),
        ("by: x\ntempo: 120\nlayers:\n" + "\n".join(many) + "\nsections:\n  - verse, 4 bars: everything\n", "any"),
        ("by: x\ntempo: 120\nlayers:\n  a: hum\nsections:\n" + "  - verse, 1 bars: a\n" * 3000, "any"),
        ("title: " + "x" * 900_000 + "\n", "none"),
        (anchors + song(rng, "Bomb", name), "any"),
        ("[" * 50_000, "none"),
        ("tempo: 1" + "0" * 4000 + "\n" + song(rng, "Number", name), "any"),
        ("a:\n" + "".join(f"{' ' * n}b:\n" for n in range(400)), "none"),
    )
    content, state = rng.choice(ways)
    yield Handed(f"{number} gigantic.yaml", content.encode(), state)


WAYS: tuple[Way, ...] = (
    *(right, right, line_ends, right, mistakes, right, texts, right, several, right, file_names, right, nothing),
    *(own_loops, right, reaching_out, texts, right, gigantic, odd_folders),
)


def every_text(step: int = 1) -> list[Handed]:
    """Songs in which every odd text is title, maker, note, section or what is meant; by steps of 1, all of them."""
    odd = [quoted(each) for each in ODD]
    found = []
    for number in range(0, len(odd), step):
        title, by, about, section, meant = (odd[(number + other) % len(odd)] for other in range(5))
        text = f"title: {title}\nby: {by}\nabout: {about}\nhear: {section}\nmay be heard: home\ntempo: 120\nlayers:\n"
        text += (
            f"  tin: tin\n  hum: hum\nsections:\n  - {section}, 1 bars: tin\n    meant: {meant}\n  - end, 1 bars: hum\n"
        )
        found.append(Handed(f"{number}.yaml", text.encode("utf-8", "replace"), "any"))
    return found


def every_name(step: int = 1) -> list[Handed]:
    """One song for each odd name of a file (or some of them), without a title, so that the name is the title."""
    text = "by: Mia\ntempo: 120\nlayers:\n  tin: tin\nsections:\n  - verse, 1 bars: tin\n"
    return [Handed(name, text.encode(), "any") for name in FILE_NAMES[::step]]


@dataclass(frozen=True)
class Class:
    """A class that was written down.

    Parameters
    ----------
    loops : the teacher's
    weeks : a folder of what was handed in for each week
    secret : a folder beside that nobody may read
    states : by the path of a recipe, what must come of it
    people : names of all students
    """

    loops: Path
    weeks: tuple[Path, ...]
    secret: Path
    states: dict[Path, str]
    people: tuple[str, ...]


def handed_in(seed: int, students: int, week: int) -> tuple[list[Handed], list[str]]:
    """What a class hands in one week, and the names of all students. A third changes nothing from week to week."""
    found, people = [], []
    for number in range(students):
        own = random.Random(f"{seed} {number}")
        name = NAMES[(number + seed) % len(NAMES)]
        people.append(name)
        version = max(each for each in range(week + 1) if not each or own.random() < 0.67)
        way = WAYS[(number + version * (number % 3 == 0)) % len(WAYS)]
        found += way(random.Random(f"{seed} {number} {version}"), name, number)
    return found, people


def write_class(folder: Path, *, seed: int = 1, students: int = 40, weeks: int = 3) -> Class:
    """Write a class down; what this system cannot hold (a name, a link) is left out."""
    loops = loop_folder(folder / "loops", *LOOPS)
    catalog = (loops / "loops.yaml").read_text(encoding="utf-8")
    (loops / "loops.yaml").write_text(catalog.replace("  role:", "  licence: CC0\n  role:"), encoding="utf-8")
    secret = folder / "secret"
    secret.mkdir(parents=True)
    for name in ("secret.txt", "secret.yaml", "loops.yaml"):
        (secret / name).write_text(f"tempo: 120\ntitle: {HIDDEN}\n", encoding="utf-8")
    loop_folder(secret / "sound", replace(LOOPS[0], name="secret", kind="tone", pitch_hz=1234.5))
    shutil.move(secret / "sound" / "secret.wav", secret / "secret.wav")
    states: dict[Path, str] = {}
    people: tuple[str, ...] = ()
    places = []
    for week in range(weeks):
        place = folder / f"week {week + 1}"
        place.mkdir()
        places.append(place)
        files, names = handed_in(seed, students, week)
        people = tuple(dict.fromkeys(names))
        for each in files:
            path = place / each.path
            with suppress(OSError, ValueError):
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(each.content)
                if each.state != "absent":
                    states[path] = each.state
            if path.name == "mine.wav":
                links(path.parent, secret)
    return Class(loops, tuple(places), secret, states, people)


def links(folder: Path, secret: Path) -> None:
    """Links that lead out and in a circle, and a pipe that never ends, where the system has them."""
    with suppress(OSError, NotImplementedError):
        (folder / "link.wav").symlink_to(secret / "secret.wav")
        (folder.parent / "linked.yaml").symlink_to(secret / "secret.yaml")
        (folder.parent / "circle").symlink_to(folder.parent)
    if hasattr(os, "mkfifo"):
        os.mkfifo(folder / "pipe.wav")


def spellings(name: str) -> set[str]:
    """A name as it may be stored."""
    return {unicodedata.normalize(form, name) for form in ("NFC", "NFD")}


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("folder", type=Path)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--students", type=int, default=40)
    options.add_argument("--weeks", type=int, default=3)
    chosen = options.parse_args()
    made = write_class(chosen.folder, seed=chosen.seed, students=chosen.students, weeks=chosen.weeks)
    print(f"{len(made.states)} recipes of {chosen.students} students in {len(made.weeks)} weeks: {chosen.folder}")


if __name__ == "__main__":
    main()
