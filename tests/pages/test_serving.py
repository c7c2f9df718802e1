"""The page on the loopback address: three addresses, asked under our own name and by nobody else's page."""

from __future__ import annotations

import http.client
import socket
from contextlib import closing

import pytest

from mixer.pages.document import document
from mixer.pages.serving import LoopbackPage

PAGE = document("Low Tide", "<main>tide</main>", "", "", {}, served=True)


@pytest.fixture
def served():
    with closing(LoopbackPage(PAGE)) as page:
        yield page


def _asked(page, path, method="GET", **headers):
    given = {name.replace("_", "-"): value for name, value in headers.items()}
    with closing(http.client.HTTPConnection("127.0.0.1", page.port, timeout=10)) as line:
        line.putrequest(method, path, skip_host="Host" in given)
        for name, value in given.items():
            line.putheader(name, value)
        line.endheaders()
        answer = line.getresponse()
        return answer.status, answer.read(), dict(answer.getheaders())


def _path(page, rest=""):
    return page.address.partition(str(page.port))[2] + rest


def test_it_serves_page_song_and_state_and_says_when_they_are_others(served):
    status, content, headers = _asked(served, _path(served))
    assert (status, b"tide" in content, b'name="mixer-state" content="0 0"' in content) == (200, True, True)
    assert b"connect-src 'self'" in content
    assert not {name.lower() for name in headers} & {"access-control-allow-origin"}
    assert _asked(served, _path(served, "state"))[1] == b"0 0"
    served.show(PAGE.replace("tide", "ebb"), (b"RIFF", "audio/wav"))
    assert _asked(served, _path(served, "state"))[1] == b"1 1"
    served.show(PAGE)
    assert _asked(served, _path(served, "state"))[1] == b"2 1"
    served.show(PAGE, (b"RIFF", "audio/wav"))  # the same song
    assert _asked(served, _path(served, "state"))[1] == b"3 1"
    status, content, headers = _asked(served, _path(served, "song"))
    assert (status, content, headers["Content-Type"]) == (200, b"RIFF", "audio/wav")


@pytest.mark.parametrize(
    "headers",
    [
        {"Host": "evil.example"},
        {"Host": "127.0.0.1"},
        {"Host": "evil.example:{port}"},
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Sec_Fetch_Site": "cross-site"},
        {"Sec_Fetch_Site": "same-site"},
    ],
    ids=str,
)
def test_another_name_or_origin_is_refused(served, headers):
    given = {name: value.format(port=served.port) for name, value in headers.items()}
    status, content, answered = _asked(served, _path(served), **given)
    assert (status, content) == (403, b"")
    assert "Access-Control-Allow-Origin" not in answered


def test_our_own_name_and_origin_are_taken(served):
    for host in ("127.0.0.1", "localhost"):
        name = f"{host}:{served.port}"
        given = {"Host": name, "Origin": f"http://{name}", "Sec_Fetch_Site": "same-origin"}
        assert _asked(served, _path(served), **given)[0] == 200


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "OPTIONS", "HEAD", "TRACE", "CONNECT"])
def test_nothing_but_get_is_answered(served, method):
    assert _asked(served, _path(served), method)[0] == 501  # not implemented (RFC 9110, 15.6.2)


@pytest.mark.parametrize(
    "path",
    ["/", "/song", "{own}/../song", "{own}../../etc/passwd", "{own}%2e%2e/song.yaml", "{own}song?", "x{own}", "{own}x"],
)
def test_no_other_address_is_there(served, path):
    status, content, _ = _asked(served, path.format(own=_path(served)))
    assert (status, content) == (404, b"")


def test_only_the_loopback_address_listens(served):
    """127.0.0.2 is this machine too (RFC 1122, 3.2.1.3), so a server on all addresses would answer there."""
    with pytest.raises(OSError), socket.create_connection(("127.0.0.2", served.port), timeout=5):  # noqa: PT011 - each system has its own
        pass


def test_who_goes_away_in_the_middle_leaves_no_word(served, capfd):
    served.show(PAGE, (b"x" * 20_000_000, "audio/wav"))
    with socket.create_connection(("127.0.0.1", served.port), timeout=5) as line:
        line.sendall(f"GET {_path(served, 'song')} HTTP/1.0\r\nHost: 127.0.0.1:{served.port}\r\n\r\n".encode())
        line.recv(10)
    assert _asked(served, _path(served))[0] == 200
    assert capfd.readouterr() == ("", "")


def test_after_closing_nothing_listens():
    page = LoopbackPage(PAGE)
    page.close()
    with pytest.raises(ConnectionRefusedError):
        _asked(page, _path(page))
