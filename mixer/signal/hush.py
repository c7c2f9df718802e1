"""Quiet for libraries that write to the terminal by themselves, as libsndfile's MP3 decoder does of damaged files.

What a student reads is a sentence of ours or nothing.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress

_ERRORS = 2


@contextmanager
def hushed() -> Iterator[None]:
    """Nothing reaches the stream for errors meanwhile, not even from C; where there is no such stream, none does."""
    with suppress(OSError, ValueError, AttributeError):
        sys.stderr.flush()
    try:
        kept = os.dup(_ERRORS)
    except OSError:
        yield
        return
    nothing = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nothing, _ERRORS)
        yield
    finally:
        os.dup2(kept, _ERRORS)
        os.close(nothing)
        os.close(kept)
