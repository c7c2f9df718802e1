"""What a person wrote in a catalog stays to the letter; what was measured is only put in."""

from __future__ import annotations

import difflib

import pytest
import yaml

from mixer.loops.catalog import read_catalog
from mixer.loops.writing import Entry, complete_files, extended
from mixer.words.problem import Problems

HEAD = "# Measured."
ENTRY = Entry(
    "tin roof.wav",
    {"file": "tin roof.wav", "tempo": "96", "bars": "4", "time": "4/4", "key": "none", "role": "drums"},
    {"tempo": "# guess, or 48"},
)


def put_in(before, after):
    """The lines that were added; fails if any was changed or taken out."""
    found = list(difflib.ndiff(before.splitlines(), after.splitlines()))
    assert [line for line in found if line.startswith("-")] == []
    return [line[2:] for line in found if line.startswith("+")]


def test_a_new_catalog_can_be_read(tmp_path):
    made = extended("", [ENTRY], HEAD)
    (tmp_path / "loops.yaml").write_text(made.text, encoding="utf-8")
    (tmp_path / "tin roof.wav").write_bytes(b"RIFF")
    problems = Problems()
    card = read_catalog(tmp_path, problems)["tin roof"]
    assert (card.tempo_bpm, card.bars, card.role, list(problems)) == (96, 4, "drums", [])
    assert yaml.safe_load(made.text)["tin roof"]["tempo"] == 96
    assert (made.new, made.filled) == (1, 0)


OWN = """\
# Our loops.   Do not sort!
Roof:      # the good one
    file:   tin roof.wav
    tempo: 95,5      # Mira counted this
    role: 'drums'

# gone since May
other: {file: other.wav, tempo: 80, bars: 2, role: bass}
"""


def test_a_card_of_ones_own_gets_only_what_it_lacks():
    made = extended(OWN, [ENTRY], HEAD)
    assert put_in(OWN, made.text) == ["    bars: 4", "    time: 4/4", "    key: none"]
    assert (made.new, made.filled) == (0, 1)
    assert yaml.safe_load(made.text)["Roof"]["bars"] == 4


def test_a_second_time_nothing_is_added():
    once = extended(OWN, [ENTRY], HEAD).text
    again = extended(once, [ENTRY], HEAD)
    assert (again.text, again.new, again.filled) == (once, 0, 0)


@pytest.mark.parametrize(
    "text",
    [OWN, OWN.rstrip("\n"), OWN.replace("\n", "\r\n"), "roof:\n  file: tin roof.wav", "# nothing yet\n", "\n\n"],
    ids=["own", "no last line end", "Windows", "short", "comment", "empty lines"],
)
def test_every_byte_that_was_there_is_there(text):
    new = Entry("a.wav", dict(ENTRY.values, file="a.wav"), {})
    made = extended(text, [ENTRY, new], HEAD)
    rest = made.text
    for line in text.splitlines(keepends=True):
        place = rest.find(line.rstrip("\r\n"))
        assert place >= 0
        rest = rest[place + len(line.rstrip("\r\n")) :]
    assert ("\r\n" in made.text) == ("\r\n" in text)
    assert "\n" not in made.text.replace("\r\n", "") or "\r\n" not in text


@pytest.mark.parametrize(
    "file", ["C#m 2.wav", "a: b.wav", "'quoted'.wav", "- dash.wav", "96.wav", "x #1.wav", "ночь.wav"]
)
def test_odd_file_names_come_back(tmp_path, file):
    made = extended("", [Entry(file, dict(ENTRY.values, file=file), {})], HEAD)
    (tmp_path / "loops.yaml").write_text(made.text, encoding="utf-8")
    (tmp_path / file).write_bytes(b"RIFF")
    problems = Problems()
    (card,) = read_catalog(tmp_path, problems).values()
    assert card.path.name == file
    assert list(problems) == []
    assert next(iter(yaml.safe_load(made.text).values()))["file"] == file


def test_two_files_of_one_name_get_two_names():
    entries = [Entry(f, dict(ENTRY.values, file=f), {}) for f in ("a.wav", "a.flac")]
    assert set(yaml.safe_load(extended("", entries, HEAD).text)) == {"a", "a v2"}


def test_a_card_is_complete_when_it_lacks_nothing():
    full = "roof:\n" + "".join(f"  {k}: {v}\n" for k, v in {**ENTRY.values, "downbeat": 0, "loudness": -17}.items())
    assert complete_files(full) == {"tin roof.wav"}
    assert complete_files(OWN) == set()
