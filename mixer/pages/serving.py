"""A page for the browser of this machine alone, which takes what is new by itself.

Only the loopback address is listened on (127.0.0.1, RFC 6890), never a network. A site that somebody opens in the same
browser could ask for that address too, under its own name (DNS rebinding) or from within its own page; so the Host
header must be ours, and a request that comes from another origin (Origin, RFC 6454; Sec-Fetch-Site, W3C Fetch Metadata)
is refused. The key in the address keeps out others who work on the same machine. There are three addresses, which name
no files: the page, its song, and a short text that is another one whenever there is something new.
"""

from __future__ import annotations

import secrets
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from socketserver import TCPServer
from threading import Thread

from mixer.pages.document import GENERATOR
from mixer.record import record

HOST = "127.0.0.1"
SILENT_SECONDS = 10.0
"""After which a connection that asks nothing is closed."""
_KEY_SIGNS = "abcdefghjkmnpqrstuvwxyz23456789"  # none that look alike
_HEADERS = (
    ("Cache-Control", "no-store"),
    ("X-Content-Type-Options", "nosniff"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
    ("Content-Security-Policy", "frame-ancestors 'none'"),
)
_Answer = tuple[bytes, str]


@record
class Shown:
    """What is shown at one time.

    Parameters
    ----------
    page : markup, made by `document` with `served`
    song : a file's content; empty where there is none
    song_type : its media type
    page_number, song_number : others whenever page or song are others
    """

    page: str
    song: bytes = b""
    song_type: str = ""
    page_number: int = 0
    song_number: int = 0

    @property
    def state(self) -> str:
        """The page's and the song's number."""
        return f"{self.page_number} {self.song_number}"

    def answers(self) -> dict[str, _Answer]:
        """Give content and media type by what stands after the key in the address."""
        known = f'{GENERATOR}<meta name="mixer-state" content="{self.state}">'
        return {
            "": (self.page.replace(GENERATOR, known, 1).encode(), "text/html; charset=utf-8"),
            "song": (self.song, self.song_type or "application/octet-stream"),
            "state": (self.state.encode(), "text/plain; charset=utf-8"),
        }


class LoopbackPage:
    """A page that is served until it is closed.

    Parameters
    ----------
    page : what is shown first

    Raises
    ------
    OSError
        If this machine lets no port be opened.
    """

    def __init__(self, page: str) -> None:
        self._shown = Shown(page)
        self._key = "".join(secrets.choice(_KEY_SIGNS) for _ in range(8))
        self._server = _Server((HOST, 0), _handler(self))
        Thread(target=self._server.serve_forever, daemon=True).start()

    @property
    def port(self) -> int:
        """The port, one that was free."""
        return int(self._server.server_address[1])

    @property
    def address(self) -> str:
        """What is to be opened in a browser."""
        return f"http://{HOST}:{self.port}/{self._key}/"

    def show(self, page: str, song: tuple[bytes, str] | None = None) -> None:
        """Show something new; a song as content and media type, or the one that is there."""
        before = self._shown
        there = (before.song, before.song_type)
        content, song_type = now = song or there
        number = before.song_number + (now != there)
        self._shown = Shown(page, content, song_type, before.page_number + 1, number)

    def answer(self, path: str) -> _Answer | None:
        """Give what there is at a path; None for nothing."""
        before, found, rest = path.partition(f"/{self._key}/")
        return None if before or not found else self._shown.answers().get(rest)

    def close(self) -> None:
        """Stop serving."""
        self._server.shutdown()
        self._server.server_close()


class _Server(ThreadingHTTPServer):
    daemon_threads = True

    def server_bind(self) -> None:
        """Bind without asking any name server what this machine is called, as the library would."""
        TCPServer.server_bind(self)
        self.server_name, self.server_port = HOST, int(self.server_address[1])

    def handle_error(self, request: object, client_address: object) -> None:
        """Say nothing where a browser goes away in the middle."""


def _handler(shown: LoopbackPage) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        timeout = SILENT_SECONDS
        server_version, sys_version = "mixer", ""

        def do_GET(self) -> None:
            if not self._ours():
                self._send(HTTPStatus.FORBIDDEN)
                return
            found = shown.answer(self.path)
            if found is None:
                self._send(HTTPStatus.NOT_FOUND)
            else:
                self._send(HTTPStatus.OK, *found)

        def _ours(self) -> bool:
            """Whether it is asked under our own name, by our own page or by somebody who typed the address."""
            hosts = {f"{name}:{shown.port}" for name in (HOST, "localhost")}
            origins = {f"http://{host}" for host in hosts}
            return (
                self.headers.get("Host") in hosts
                and self.headers.get("Origin", next(iter(origins))) in origins
                and self.headers.get("Sec-Fetch-Site", "none") in ("none", "same-origin")
            )

        def _send(self, status: HTTPStatus, content: bytes = b"", media_type: str = "text/plain") -> None:
            self.send_response(status)
            for name, value in (*_HEADERS, ("Content-Type", media_type), ("Content-Length", str(len(content)))):
                self.send_header(name, value)
            self.end_headers()
            self.wfile.write(content)

        def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - so called by the library
            """Say nothing."""

    return Handler
