"""Materials that this program used last, in memory: thirty songs of a class share a few loops.

Only what the cache on the disk may keep comes in here, under the same keys; so a song is the same with it and without.
"""

from __future__ import annotations

import threading

from mixer.material.fit import Material

MOST_BYTES = 40_000_000
"""A dozen loops of four bars. One song's materials are in memory anyway."""


class Lately:
    """Materials by their keys, those used longest ago out first.

    Parameters
    ----------
    most_bytes : of sound, at most
    """

    def __init__(self, most_bytes: int = MOST_BYTES) -> None:
        self._most_bytes = most_bytes
        self._materials: dict[str, Material] = {}
        self._lock = threading.Lock()

    def get(self, key: str) -> Material | None:
        """Give a material, which then counts as used last; None if it is not there."""
        with self._lock:
            found = self._materials.pop(key, None)
            if found is not None:
                self._materials[key] = found
            return found

    def keep(self, key: str, material: Material) -> None:
        """Keep a material, unless it is larger than all that may be kept; nobody may change its sound from now on."""
        material.samples.flags.writeable = False
        with self._lock:
            self._materials.pop(key, None)
            self._materials[key] = material
            size_bytes = sum(each.samples.nbytes for each in self._materials.values())
            while size_bytes > self._most_bytes:
                oldest = next(iter(self._materials))
                size_bytes -= self._materials.pop(oldest).samples.nbytes

    def forget(self) -> None:
        """Keep nothing of what was kept."""
        with self._lock:
            self._materials.clear()
