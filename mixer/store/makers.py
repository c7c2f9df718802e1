"""What a kept result depends on beside what it was made of: the code that makes it and the libraries that it uses.

The source texts count, since a number to be raised by hand would be forgotten one day.
"""

from __future__ import annotations

import functools
import importlib
import importlib.util
import os
import shutil
from pathlib import Path

from mixer.store.content import key_of, sources_key

HOUSE = Path(__file__).parents[1]
LIBRARIES = ("numpy", "soundfile", "soxr")


@functools.cache
def makers_key(*rooms: str) -> str | None:
    """Tell apart all that makes a result; None if that cannot be told, and then nothing may be kept.

    Parameters
    ----------
    rooms : folders of this program with all the code that has to do with it, such as `signal`
    """
    try:
        return key_of(sources_key(HOUSE / room for room in rooms), _libraries())
    except (OSError, ValueError, ImportError):
        return None


@functools.cache
def _libraries() -> str:
    """Versions of the libraries, found without loading any; and which ffmpeg there is."""
    ffmpeg = shutil.which("ffmpeg")
    seen = Path(ffmpeg).stat() if ffmpeg else None
    decoder = (ffmpeg, seen.st_size, seen.st_mtime_ns) if seen else None
    return repr(([_version(name) for name in LIBRARIES], decoder))


def _version(library: str) -> str:
    """Give a library's version as its installer wrote it down, with the sound library that it brings."""
    spec = importlib.util.find_spec(library)
    home = Path(spec.origin or "").parent if spec else Path()
    home = home.parent if spec and spec.submodule_search_locations else home
    records = [name for name in _names_in(home) if name.startswith(f"{library}-") and name.endswith("-info")]
    brought = library != "soundfile" or (home / "_soundfile_data").is_dir()
    if len(records) == 1 and brought:
        return records[0]
    module = importlib.import_module(library)
    return f"{module.__version__} {getattr(module, '__libsndfile_version__', '')}"


@functools.cache
def _names_in(folder: Path) -> frozenset[str]:
    with os.scandir(folder) as found:
        return frozenset(each.name for each in found)
