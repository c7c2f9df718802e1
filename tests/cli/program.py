"""Runs the program as a user runs it: as a process, in a folder, with words coming out."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path


def mixer(*arguments: object, cwd: Path, home: Path | None = None) -> subprocess.CompletedProcess[str]:
    """Run `mixer` with its arguments; nothing of the user's own home is read or written."""
    environment = {**os.environ, "HOME": str(home or cwd), "PYTHONUTF8": "1", "COLUMNS": "80"}
    command = [sys.executable, "-m", "mixer", *map(str, arguments)]
    return subprocess.run(command, cwd=cwd, env=environment, capture_output=True, text=True, check=False, timeout=120)
