"""Commands: arguments in, calls down, words and exit codes out. Nothing is computed here.

Each command is one file in this folder. What takes long to load (sound, numbers) is loaded when a command needs
it, so that `mixer --help` is there at once on a small machine.
"""

from __future__ import annotations

import gc
import os
import sys
from typing import NoReturn

# One thread is faster for the small matrices of the meter than many; it must be said before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# What is loaded stays, and looking through it again and again for rubbish takes an eighth of a render's start.
gc.set_threshold(50_000, 20, 20)

from mixer.cli.app import COMMANDS, program  # noqa: E402 - what is said above must be said before

__all__ = ["main", "program"]


def main() -> None:
    """Run the program."""
    asked = sys.argv[1:2]
    try:
        program(asked if asked and asked[0] in COMMANDS else COMMANDS)()
    except SystemExit as end:
        _end_at_once(end.code)


def _end_at_once(code: object) -> NoReturn:
    """End without taking down, piece by piece, what the system takes away at once; that takes a render 25 ms."""
    try:
        sys.stdout.flush()
        sys.stderr.flush()
    except OSError:  # whoever read us has gone
        code = code or 1
    os._exit(code if isinstance(code, int) else 0 if code is None else 1)
