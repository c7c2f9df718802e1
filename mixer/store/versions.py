"""Earlier versions of a text, kept beside what was made of it: numbered, not dated.

Small machines have no clock to trust, so the number is the order. Only texts are kept, and only so many.
"""

from __future__ import annotations

import re
from contextlib import suppress
from pathlib import Path

from mixer.store.whole import write_text

FOLDER = "versions"
MOST_KEPT = 50


def kept_versions(folder: Path, name: str) -> list[Path]:
    """Find the versions kept in a folder, the oldest first.

    Parameters
    ----------
    folder : where what was made of the text stands
    name : what it is called there
    """
    pattern = re.compile(rf"{re.escape(name)} (\d{{3,9}})\.yaml")
    place = folder / FOLDER
    numbered = [
        (int(found[1]), path)
        for path in (place.iterdir() if place.is_dir() else ())
        if (found := pattern.fullmatch(path.name))
    ]
    return [path for _, path in sorted(numbered)]


def keep_version(folder: Path, name: str, text: str) -> Path | None:
    """Keep a text as the newest version; None if it is the same as the newest one kept.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    versions = kept_versions(folder, name)
    if versions and versions[-1].read_bytes() == text.encode("utf-8"):
        return None
    number = int(versions[-1].stem.rpartition(" ")[2]) + 1 if versions else 1
    newest = folder / FOLDER / f"{name} {number:03}.yaml"
    write_text(newest, text)
    for old in versions[: max(0, len(versions) + 1 - MOST_KEPT)]:
        with suppress(OSError):
            old.unlink()
    return newest
