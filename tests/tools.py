"""Programs that judge from outside: a missing one skips its test, except where changes are taken, where it fails."""

from __future__ import annotations

import os
import shutil

import pytest


def needs_tool(name: str) -> str:
    """The path of a program; without it the test is skipped, or failed where the variable CI is set."""
    path = shutil.which(name)
    if path is None and "CI" in os.environ:
        pytest.fail(f"{name} is not installed, and here it must be")
    if path is None:
        pytest.skip(f"{name} is not installed on this machine")
    return path
