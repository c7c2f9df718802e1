"""Sound files read and written straight through.

soundfile seeks after every piece to where it is already. In MP3 that is no small matter: the decoder begins anew there
and what comes first is missing or wrong, so sound read in pieces has a hole at the start of each. In the other formats
it only takes time.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import soundfile


def straight(file: soundfile.SoundFile) -> soundfile.SoundFile:
    """The same open file, which from now on can only be gone through from start to end."""
    file.seekable = lambda: False
    return file
