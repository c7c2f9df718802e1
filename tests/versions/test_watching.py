"""Recipes that are watched: every way of saving is seen, half-written files are waited for, nobody waits for long."""

from __future__ import annotations

import shutil
import time
from concurrent.futures import ThreadPoolExecutor

import pytest

from mixer.song.carried import read_carried
from mixer.song.make import Order, make
from mixer.song.opened import open_recipe
from mixer.versions import watching
from mixer.versions.watching import Watcher, recipes_below
from mixer.words.say import in_full
from tests.sounds import Made, loop_folder

TEXT = (
    "tempo: 100\nlayers:\n  box: ticks\n  hum: hum\nsections:\n  - verse, 2 bars: box\n  - chorus, 2 bars: box, hum\n"
)
OTHER = TEXT.replace("chorus, 2 bars: box, hum", "chorus, 2 bars: box, hum 2")


@pytest.fixture
def folder(tmp_path):
    loop_folder(tmp_path / "loops", Made("ticks", bars=2), Made("hum", "tone", role="bass", bars=2))
    (tmp_path / "song.yaml").write_text(TEXT, encoding="utf-8")
    return tmp_path


def _looked(watcher):
    """Two looks, as a file must be the same at both; then what was made."""
    watcher.look()
    watcher.look()
    return watcher.make_next()


def test_a_song_is_made_at_once_and_again_only_when_it_is_saved(folder):
    watcher = Watcher(folder / "song.yaml")
    assert _looked(watcher).made.report.song == folder / "song.wav"
    assert _looked(watcher) is None
    (folder / "song.yaml").write_text(TEXT, encoding="utf-8")  # another time, the same content
    assert _looked(watcher) is None
    (folder / "song.yaml").write_text(OTHER, encoding="utf-8")
    saved = _looked(watcher)
    assert [change.kind for change in saved.changes] == ["enters"]


def test_bytes_are_those_of_a_full_render(folder):
    watcher = Watcher(folder / "song.yaml")
    _looked(watcher)
    (folder / "song.yaml").write_text(OTHER, encoding="utf-8")
    _looked(watcher)
    make(open_recipe(folder / "song.yaml"), Order(folder / "apart" / "song"))
    assert (folder / "song.wav").read_bytes() == (folder / "apart" / "song.wav").read_bytes()


def test_a_file_renamed_into_place_is_seen(folder):
    watcher = Watcher(folder / "song.yaml")
    _looked(watcher)
    (folder / "song.yaml").rename(folder / "song.yaml~")
    assert _looked(watcher) is None
    (folder / "new.tmp").write_text(OTHER, encoding="utf-8")
    (folder / "new.tmp").replace(folder / "song.yaml")
    assert _looked(watcher).changes


def test_a_file_that_is_still_being_written_is_waited_for(folder):
    watcher = Watcher(folder / "song.yaml")
    _looked(watcher)
    for length in range(20, len(OTHER), 20):
        (folder / "song.yaml").write_text(OTHER[:length], encoding="utf-8")
        watcher.look()
        assert watcher.make_next() is None
    (folder / "song.yaml").write_text(OTHER, encoding="utf-8")
    assert _looked(watcher).changes


def test_the_last_good_song_stays_beside_the_draft(folder):
    watcher = Watcher(folder / "song.yaml")
    _looked(watcher)
    good = (folder / "song.wav").read_bytes()
    (folder / "song.yaml").write_text(TEXT.replace("box, hum", "box, drum"), encoding="utf-8")
    saved = _looked(watcher)
    assert saved.made.draft
    assert saved.made.report.song.name == "song (draft).wav"
    assert (folder / "song.wav").read_bytes() == good
    assert saved.last_good == folder / "song.wav"


def test_a_draft_goes_when_its_mistakes_are_mended(folder):
    (folder / "song.yaml").write_text(TEXT.replace("box, hum", "box, drum"), encoding="utf-8")
    watcher = Watcher(folder / "song.yaml")
    saved = _looked(watcher)
    assert (saved.made.report.song.name, saved.last_good) == ("song (draft).wav", None)
    (folder / "song.yaml").write_text(TEXT, encoding="utf-8")
    assert _looked(watcher).made.report.song.name == "song.wav"
    assert not list(folder.glob("*(draft)*"))


def test_a_song_that_the_program_fails_at_does_not_end_the_watch(folder, monkeypatch):
    shutil.copyfile(folder / "song.yaml", folder / "other.yaml")
    watcher = Watcher(folder)
    make_well = watching.make
    monkeypatch.setattr(
        watching,
        "make",
        lambda opened, *rest, **more: make_well(opened, *rest, **more) if "other" in opened.path.name else 1 / 0,
    )
    watcher.look()
    watcher.look()
    assert watcher.make_next().made.report.song.name == "other.wav"
    failed = watcher.make_next()
    assert (failed.made, failed.problem.kind) == (None, "program-failed")
    assert "ZeroDivisionError" in in_full(failed.problem)


def test_two_recipes_that_would_write_one_song_are_told(folder):
    shutil.copyfile(folder / "song.yaml", folder / "song.yml")
    watcher = Watcher(folder)
    watcher.look()
    watcher.look()
    assert watcher.make_next().made.report.song.name == "song.wav"
    told = in_full(watcher.make_next().problem)
    assert '"song.yml" and "song.yaml" would have songs of the same name' in told


def test_what_is_kept_of_many_songs_is_bounded(folder, monkeypatch):
    monkeypatch.setattr(watching, "KEPT_BYTES", 1)
    for number in range(3):
        shutil.copyfile(folder / "song.yaml", folder / f"other {number}.yaml")
    watcher = Watcher(folder)
    watcher.look()
    watcher.look()
    while watcher.make_next() is not None:
        assert len(watcher._kept._songs) == 1


def test_a_loop_that_is_replaced_is_heard(folder):
    watcher = Watcher(folder / "song.yaml")
    _looked(watcher)
    before = (folder / "song.wav").read_bytes()
    loop_folder(folder / "more", Made("ticks", "noise", bars=2))
    shutil.copyfile(folder / "more" / "ticks.wav", folder / "loops" / "ticks.wav")
    assert _looked(watcher) is not None
    assert (folder / "song.wav").read_bytes() != before


def test_what_is_no_recipe_is_told_and_not_made(folder):
    watcher = Watcher(folder / "song.yaml")
    (folder / "song.yaml").write_bytes(b"RIFF")
    saved = _looked(watcher)
    assert saved.made is None
    assert saved.problem.kind == "recipe-odd"
    (folder / "song.yaml").unlink()
    assert _looked(watcher) is None


def test_thirty_who_save_at_once_are_served_in_turn(folder):
    for number in range(30):
        home = folder / f"table {number:02}"
        home.mkdir()
        (home / "song.yaml").write_text(TEXT.replace("ticks", "nothing-here").replace("hum", "box"), encoding="utf-8")
    (folder / "song.yaml").unlink()
    watcher = Watcher(folder)
    watcher.look()
    watcher.look()
    first = [watcher.make_next().path for _ in range(10)]
    (folder / "table 00" / "song.yaml").write_text("tempo: 90\n", encoding="utf-8")
    watcher.look()
    watcher.look()
    rest = []
    while (saved := watcher.make_next()) is not None:
        rest.append(saved.path)
    assert len(set(first + rest[:20])) == 30
    assert [path.parent.name for path in rest[20:]] == ["table 00"]


def test_below_a_folder_only_recipes_are_watched(folder):
    for name in ("loops/loops.yaml", "versions/song 001.yaml", ".hidden/x.yaml", "a/b/deep.yml", "a/notes.txt"):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        if not (folder / name).exists():
            (folder / name).write_text(TEXT, encoding="utf-8")
    assert recipes_below(folder) == [folder / "a" / "b" / "deep.yml", folder / "song.yaml"]


def test_nothing_is_written_but_beside_the_recipe(folder):
    home = folder / "a"
    home.mkdir()
    shutil.move(folder / "song.yaml", home / "song.yaml")
    shutil.move(folder / "loops", home / "loops")
    before = {path for path in folder.rglob("*") if home not in path.parents}
    assert _looked(Watcher(folder, (), "ogg")).made.report.song == home / "song.ogg"
    assert {path for path in folder.rglob("*") if home not in path.parents} == before


def _in_place(path, text):
    path.write_text(text, encoding="utf-8")


def _renamed_into_place(path, text):
    (path.parent / "song.yaml.new").write_text(text, encoding="utf-8")
    (path.parent / "song.yaml.new").replace(path)


def _in_two_halves(path, text):
    with path.open("w", encoding="utf-8") as stream:
        stream.write(text[: len(text) // 2])
        stream.flush()
        time.sleep(0.01)
        stream.write(text[len(text) // 2 :])


def _away_and_back(path, text):
    path.rename(path.with_suffix(".bak"))
    time.sleep(0.01)
    path.write_text(text, encoding="utf-8")


def test_a_class_of_thirty_that_writes_all_the_time_has_its_last_songs(folder):
    ways = (_in_place, _renamed_into_place, _in_two_halves, _away_and_back)
    text = "tempo: 180\nlayers:\n  box: ticks\nsections:\n  - verse, 1 bar: box\n# table {}, save {}\n"
    (folder / "song.yaml").unlink()
    homes = [folder / f"table {number:02}" for number in range(30)]
    for number, home in enumerate(homes):
        home.mkdir()
        (home / "song.yaml").write_text(text.format(number, 0), encoding="utf-8")

    def write(number):
        for count in (1, 2):
            ways[(number + count) % 4](homes[number] / "song.yaml", text.format(number, count))
            time.sleep(0.02 * (number % 7))

    watcher = Watcher(folder, [folder / "loops"])
    with ThreadPoolExecutor(30) as writers:
        at_work = [writers.submit(write, number) for number in range(30)]
        while watcher.look() or not all(each.done() for each in at_work):
            watcher.make_next()
    while watcher.make_next() is not None:
        pass
    for number, home in enumerate(homes):
        assert read_carried(home / "song.wav").recipe.endswith(f"# table {number}, save 2\n")
        made = {path.name for path in home.iterdir()} - {"song.yaml.new", "song.bak", "versions"}
        assert made == {"song.yaml", "song.wav", "song (credits).txt"}
