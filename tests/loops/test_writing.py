"""What a person wrote in a catalog stays to the letter; what was measured is only put in."""

from __future__ import annotations

import difflib

import pytest
import yaml

from mixer.loops.catalog import read_catalog
from mixer.loops.writing import Entry, UnclearCatalogError, complete_files, extended
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


ROOF = "roof:\n  file: tin roof.wav\n  tempo: 90  # Mira\n"
BLOCK = ROOF + "  maker: >\n    Mira and\n    Tom\n"
AS_TEACHERS_WRITE = {
    "with a mark in front": "\ufeff" + ROOF,
    "tabs": ROOF.replace("  ", "\t"),
    "tabs and Windows": ROOF.replace("  ", "\t").replace("\n", "\r\n"),
    "an old Mac": ROOF.replace("\n", "\r"),
    "spaces that do not break": ROOF.replace("  f", "\u00a0\u00a0f").replace("  t", "\u00a0\u00a0t"),
    "moved to the right": "".join(f"  {line}\n" for line in ROOF.splitlines()),
    "quotation marks": ROOF.replace("file", '"file"').replace("tin roof.wav", "'tin roof.wav'"),
    "capitals": ROOF.replace("file: tin roof.wav", "File: TIN ROOF.WAV"),
    "no space after the colon": ROOF.replace(": ", ":"),
    "an anchor": ROOF.replace("file: ", "file: &f "),
    "a text over several lines": BLOCK,
    "notes between": ROOF.replace("  tempo", "  # tempo: 3\n\n  tempo") + "  # after\n\nx:\n  file: x.wav\n",
    "signs that end a line elsewhere": ROOF.replace("  tempo", "  maker: a\u2028b\x0cc\n  tempo")
    + "x:\n  file: x.wav\n",
    "other letters": ROOF.replace("roof:", "ночь übung:"),
    "no value": ROOF + "  bars:\n  key:   # Tom asks\n",
}


@pytest.mark.parametrize("name", AS_TEACHERS_WRITE)
def test_what_a_teacher_wrote_stays_and_what_is_added_is_read(tmp_path, name):
    text = AS_TEACHERS_WRITE[name]
    new = Entry("new.wav", dict(ENTRY.values, file="new.wav"), {})
    made = extended(text, [ENTRY, new], HEAD)
    rest = iter(made.text)
    assert all(sign in rest for sign in text)  # each of its signs, in their order
    assert (made.new, made.filled, made.in_braces) == (1, 1, ())
    for file in ("tin roof.wav", "TIN ROOF.WAV", "x.wav", "new.wav", "&f tin roof.wav"):
        (tmp_path / file).write_bytes(b"RIFF")
    (tmp_path / "loops.yaml").write_bytes(made.text.encode("utf-8"))
    found = {card.path.name.lower()[-12:]: card for card in read_catalog(tmp_path, Problems()).values()}
    assert (found["tin roof.wav"].tempo_bpm, found["tin roof.wav"].bars) == (90, 4)
    assert (found["new.wav"].tempo_bpm, found["new.wav"].bars) == (96, 4)
    again = extended(made.text, [ENTRY, new], HEAD)
    assert (again.text, again.new, again.filled) == (made.text, 0, 0)


def test_values_are_put_after_keys_that_have_none():
    made = extended("roof:\n  file: tin roof.wav\n  bars:   # Tom asks\n  tempo:\n", [ENTRY], HEAD)
    assert "  bars: 4   # Tom asks\n  tempo: 96  # guess, or 48\n  time: 4/4\n" in made.text


def test_cards_in_braces_are_named_and_left():
    text = "roof: {file: tin roof.wav, tempo: 90}\nb: {file: b.wav,\n  tempo: 80}\n"
    made = extended(text, [ENTRY, Entry("b.wav", dict(ENTRY.values, file="b.wav"), {})], HEAD)
    assert (made.text, made.in_braces) == (text, ("roof", "b"))


def test_what_is_no_list_of_cards_is_not_added_to():
    with pytest.raises(UnclearCatalogError):
        extended("- file: tin roof.wav\n", [ENTRY], HEAD)


def test_two_files_of_one_name_get_two_names():
    entries = [Entry(f, dict(ENTRY.values, file=f), {}) for f in ("a.wav", "a.flac")]
    assert set(yaml.safe_load(extended("", entries, HEAD).text)) == {"a", "a v2"}


def test_a_card_is_complete_when_it_lacks_nothing():
    rest = {"downbeat": 0, "loudness": -17, "slower up to": "20 %", "faster up to": "25 %"}
    full = "roof:\n" + "".join(f"  {k}: {v}\n" for k, v in {**ENTRY.values, **rest}.items())
    assert complete_files(full) == {"tin roof.wav"}
    assert complete_files(full.replace("faster", "# faster")) == set()
    assert complete_files(OWN) == set()
