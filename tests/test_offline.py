"""The program needs no network: its commands do their work with every socket forbidden, and one module alone, which
serves a page on the loopback address, asks for any."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import mixer
from tests.sounds import Made, loop_folder

ROOT = Path(mixer.__file__).parent
SERVING = ROOT / "pages" / "serving.py"
NETWORK = {"socket", "ssl", "http", "urllib.request", "ftplib", "smtplib", "requests", "httpx", "aiohttp"}
FORBID = (
    "import socket\n"
    "def refused(*given, **more):\n"
    "    raise SystemExit('a socket was asked for')\n"
    "socket.socket = socket.create_connection = socket.getaddrinfo = refused\n"
    "import sys\n"
)
SONG = "title: Low Tide\nby: Mara\ntempo: 96\nlayers:\n  box: ticks\nsections:\n  - verse, 2 bars: box\n"


@pytest.fixture
def room(tmp_path):
    loop_folder(tmp_path / "loops", Made("ticks"))
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "song.yaml").write_text(SONG, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    "command",
    [
        "render in/song.yaml --loops loops --format mp3",
        "check in/song.yaml --loops loops",
        "batch in --out out --loops loops --excerpt 2s --jobs 1",
        "loops",
        "new mine",
        "schema",
    ],
)
def test_commands_work_with_sockets_forbidden(room, command):
    code = f"{FORBID}sys.argv = ['mixer', *{command.split()!r}]\nfrom mixer.cli import main\nmain()"
    done = subprocess.run([sys.executable, "-c", code], cwd=room, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr
    assert b"a socket was asked for" not in done.stderr


def test_a_socket_would_be_seen(room):
    code = f"{FORBID}socket.create_connection(('127.0.0.1', 9))"
    done = subprocess.run([sys.executable, "-c", code], cwd=room, capture_output=True, check=False)
    assert b"a socket was asked for" in done.stderr


@pytest.mark.parametrize("path", sorted(ROOT.rglob("*.py")), ids=lambda path: str(path.relative_to(ROOT)))
def test_no_module_asks_for_the_network(path):
    for node in ast.walk(ast.parse(path.read_bytes())):
        names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
        asked = NETWORK & {*names, *(name.split(".")[0] for name in names)}
        assert asked == ({"http"} if path == SERVING and asked else set()), path
