"""Earlier versions: numbered, bounded, and no twin of the newest."""

from mixer.store.versions import MOST_KEPT, keep_version, kept_versions


def test_they_are_numbered_in_order(tmp_path):
    for text in ("a", "b", "b", "a"):
        keep_version(tmp_path, "song", text)
    assert [path.name for path in kept_versions(tmp_path, "song")] == [
        "song 001.yaml",
        "song 002.yaml",
        "song 003.yaml",
    ]
    assert [path.read_text() for path in kept_versions(tmp_path, "song")] == ["a", "b", "a"]


def test_only_so_many_are_kept_and_numbers_go_on(tmp_path):
    for number in range(MOST_KEPT + 3):
        keep_version(tmp_path, "song", str(number))
    kept = kept_versions(tmp_path, "song")
    assert len(kept) == MOST_KEPT
    assert kept[-1].name == f"song {MOST_KEPT + 3:03}.yaml"
    assert kept[0].read_text() == "3"


def test_songs_with_names_alike_do_not_meet(tmp_path):
    keep_version(tmp_path, "song", "one")
    keep_version(tmp_path, "song 2", "two")
    keep_version(tmp_path, "so.ng", "three")
    assert [path.read_text() for path in kept_versions(tmp_path, "song")] == ["one"]
    assert [path.read_text() for path in kept_versions(tmp_path, "so.ng")] == ["three"]
