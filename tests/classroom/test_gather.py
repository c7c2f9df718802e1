"""Which files of a class's folders are taken for recipes, and which versions."""

from __future__ import annotations

import pytest

from mixer.classroom import gather as gather_module
from mixer.classroom.gather import gather

RECIPE = "title: Low Tide\nby: {by}\ntempo: 96\nlayers:\n  box: ticks\nsections:\n  - verse, 4 bars: box\n"


def write(folder, texts):
    for name, text in texts.items():
        place = folder / name
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text(text, encoding="utf-8")


def names(folder, **more):
    return [found.name for found in gather([folder], folder / "out", **more).recipes]


def test_recipes_are_found_wherever_they_lie_and_nothing_else(tmp_path):
    texts = {
        "song.yaml": RECIPE.format(by="Mara"),
        "tom/song.yaml": RECIPE.format(by="Tom"),
        "tom/deep/other.txt": RECIPE.format(by="Tom"),
        "tom/notes.txt": "Tempo is how fast it goes.\n",
        "tom/loops/loops.yaml": "ticks:\n  file: ticks.wav\n  tempo: 96\n",
        "versions/song.yaml": RECIPE.format(by="Mara"),
        "out/song.yaml": RECIPE.format(by="Mara"),
        "brief.yaml": "brief: First song\ngoal: Show it.\ntempo: 80-120\nlayers:\n  drums: 1\n",
        "empty.yaml": "",
        ".hidden.yaml": RECIPE,
    }
    write(tmp_path, texts)
    (tmp_path / "song folder.yaml").mkdir()
    assert names(tmp_path) == ["empty", "song", "tom - deep - other", "tom - song"]


def test_of_one_makers_versions_the_highest_counts(tmp_path):
    files = {"song.yaml": "mara", "song 2.yaml": "Mara", "song 10.yaml": "Mara"}
    write(tmp_path, {name: RECIPE.format(by=by) for name, by in files.items()})
    found = gather([tmp_path], tmp_path / "out")
    assert [each.name for each in found.recipes] == ["song 10"]
    assert {old.name for old, _ in found.older} == {"song 2.yaml", "song.yaml"}
    assert {newer.name for _, newer in found.older} == {"song 10.yaml"}
    assert names(tmp_path, all_versions=True) == ["song", "song 10", "song 2"]


def test_songs_of_different_makers_or_of_nobody_are_no_versions(tmp_path):
    write(tmp_path, {f"table {n}.yaml": RECIPE.format(by=f"Table {n}") for n in (1, 2)})
    write(tmp_path, {f"one {n}.yaml": RECIPE.format(by="") for n in (1, 2)})
    assert names(tmp_path) == ["one 1", "one 2", "table 1", "table 2"]


def test_several_songs_of_one_maker_are_all_made_and_named(tmp_path):
    write(tmp_path, {"a/song.yaml": RECIPE.format(by="Mara"), "b/song.yaml": RECIPE.format(by="MARA")})
    found = gather([tmp_path], tmp_path / "out")
    assert len(found.recipes) == 2
    ((by, paths),) = found.several
    assert (by, len(paths)) == ("Mara", 2)


def test_links_that_lead_out_are_not_followed(tmp_path):
    write(tmp_path, {"inside/song.yaml": RECIPE, "outside/secret.yaml": RECIPE})
    (tmp_path / "inside" / "linked.yaml").symlink_to(tmp_path / "outside" / "secret.yaml")
    (tmp_path / "inside" / "folder").symlink_to(tmp_path / "outside", target_is_directory=True)
    (tmp_path / "inside" / "round").symlink_to(tmp_path / "inside", target_is_directory=True)
    assert names(tmp_path / "inside") == ["song"]


def test_names_are_safe_and_distinct(tmp_path):
    write(tmp_path, dict.fromkeys(["con.yaml", "\u00e9t\u00e9.yaml", "e\u0301te\u0301.yaml"], RECIPE.format(by="")))
    assert len(set(names(tmp_path))) == 3
    assert "con" not in names(tmp_path)


@pytest.mark.parametrize("bound", ["MOST_RECIPES", "MOST_LOOKED_AT"])
def test_the_search_has_bounds(tmp_path, monkeypatch, bound):
    monkeypatch.setattr(gather_module, bound, 5)
    write(tmp_path, {f"n{number}.yaml": RECIPE.format(by=number) for number in range(9)})
    found = gather([tmp_path], tmp_path / "out")
    assert found.cut
    assert len(found.recipes) == 5


def test_a_song_is_not_called_what_stands_beside_the_songs(tmp_path):
    files = ("level check.yaml", "Listening Session.yaml", "tide.yaml", "tide (draft).yaml", "tide (Draft)..yaml")
    write(tmp_path, dict.fromkeys(files, RECIPE.format(by="Mara")))
    expected = {"level check (2)", "Listening Session (2)", "tide", "tide draft", "tide Draft (2)"}
    assert set(names(tmp_path, all_versions=True)) == expected


def test_links_that_lead_in_a_circle_are_gone_through_once(tmp_path):
    write(tmp_path, {"tom/song.yaml": RECIPE.format(by="Tom")})
    try:
        (tmp_path / "tom" / "again").symlink_to(tmp_path / "tom", target_is_directory=True)
        (tmp_path / "all").symlink_to(tmp_path, target_is_directory=True)
    except OSError:
        pytest.skip("this system makes no links for everyone")
    assert names(tmp_path) == ["tom - song"]
