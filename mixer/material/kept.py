"""Material that was made once is kept, so that the next song with the same loop at the same tempo is there at once.

A cache may never change a result, so the key under which material is kept is made of everything that it depends on: the
sound file's content, its card, how it is fitted, the song's bars and rate, the source text of the code that makes it
(a number to be raised by hand would be forgotten one day), the libraries that it uses and what the processor can do.
What comes with a recipe, or is a voice, may be a child's recording: no copy of that is kept.
"""

from __future__ import annotations

import functools
import os
import stat
import struct
import sys
import threading
from collections.abc import Callable
from pathlib import Path

from mixer.loops.catalog import VOICE
from mixer.loops.limits import NOT_KNOWN
from mixer.material.fit import Fit, Frame, Material
from mixer.material.lately import Lately
from mixer.record import replace
from mixer.store.cache import Cache
from mixer.store.content import content_key_once, key_of
from mixer.store.makers import makers_key

LARGEST_BYTES = 200_000_000
_HEAD = struct.Struct("<dQ")  # loudness, upbeat
_ROOMS = ("material", "music", "signal")

_TOLD_ONCE = threading.Lock()  # the second of two workers waits for what the first finds out

LATELY = Lately()

Make = Callable[[Fit, Frame, int], Material]


def kept_or_made(cache: Cache, fit: Fit, frame: Frame, rate_hz: int, make: Make) -> Material:
    """Take material from the cache; where it is not there, make it and keep it.

    Parameters
    ----------
    cache : where it may be
    fit, frame, rate_hz : what is wanted
    make : makes it; what it raises is passed on
    """
    sound = _own_key(fit) if cache.usable and _may_be_kept(fit) else None
    with _TOLD_ONCE:
        code = _code_version() if sound is not None else None
    if sound is None or code is None:
        return make(fit, frame, rate_hz)
    key = key_of(sound, code, _asked_for(fit, frame, rate_hz))
    if (material := LATELY.get(key)) is not None:
        return material
    if (content := cache.read(key)) is not None:
        material = _unpacked(content, sound, key)
        LATELY.keep(key, material)
        return material
    material = make(fit, frame, rate_hz)
    # The file may have been changed while it was read; remarks name files, and are for people to act on.
    if material.content_key == sound and not material.remarks:
        cache.keep(key, _packed(material))
        material = replace(material, kept_as=key)
        LATELY.keep(key, material)
    return material


def _may_be_kept(fit: Fit) -> bool:
    return not fit.card.beside_recipe and VOICE not in (fit.role, fit.card.role)


def _own_key(fit: Fit) -> str | None:
    """Key of the sound file; None if it is none that would be decoded."""
    try:
        seen = fit.card.path.stat()
        if not stat.S_ISREG(seen.st_mode) or seen.st_size > LARGEST_BYTES:
            return None
        return content_key_once(fit.card.path)
    except (OSError, ValueError):
        return None


def _asked_for(fit: Fit, frame: Frame, rate_hz: int) -> str:
    """Tell apart what is asked for. What makes no difference to the sound is named here; all else counts.

    A role makes one for voices alone, and they are not kept.
    """
    card = replace(fit.card, name="", path=Path(), key=None, chords=(), role="", set="")
    card = replace(card, maker="", licence="", may_be=(), checked=frozenset(), limits=NOT_KNOWN)
    return repr((replace(fit, card=card, role=""), replace(frame, key=None), rate_hz))


def _packed(material: Material) -> tuple[bytes, memoryview]:
    import numpy as np  # noqa: PLC0415 - not needed to plan

    samples = np.ascontiguousarray(material.samples, np.float32)
    return _HEAD.pack(material.loudness_lufs, material.upbeat_frames), samples.view(np.uint8).data


def _unpacked(content: bytes, sound: str, key: str) -> Material:
    import numpy as np  # noqa: PLC0415 - not needed to plan

    samples = np.frombuffer(content, np.float32, offset=_HEAD.size).reshape(-1, 2)
    loudness_lufs, upbeat_frames = _HEAD.unpack_from(content)
    return Material(samples, loudness_lufs, sound, upbeat_frames=upbeat_frames, kept_as=key)


@functools.cache
def _code_version() -> str | None:
    """Tell apart everything that makes material; None if that cannot be told."""
    makers = makers_key(*_ROOMS)
    try:
        return makers and key_of(makers, _machine())
    except (OSError, ValueError):
        return None


def _machine() -> str:
    """What the arithmetic of a machine depends on: its processor's abilities and its mathematics library."""
    import numpy as np  # noqa: PLC0415 - not needed to plan

    abilities = np.show_config(mode="dicts")["SIMD Extensions"]
    names = getattr(os, "confstr_names", {})
    mathematics = os.confstr("CS_GNU_LIBC_VERSION") if "CS_GNU_LIBC_VERSION" in names else _system_version()
    return repr((sys.platform, sys.byteorder, abilities, mathematics))


def _system_version() -> str:
    import platform  # noqa: PLC0415 - rarely needed

    return platform.version()
