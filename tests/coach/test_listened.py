"""What was heard in a loop is known again, and only for the same sound counted in the same way."""

from __future__ import annotations

from dataclasses import replace

import pytest

from mixer.coach import listened
from mixer.coach.fits import listen
from mixer.coach.listened import listen_once
from mixer.loops.library import open_library
from tests.sounds import Made, loop_folder


@pytest.fixture
def counted(monkeypatch):
    calls = []
    monkeypatch.setattr(listened, "listen", lambda card: calls.append(card.bars) or listen(card))
    return calls


def test_a_loop_is_listened_to_once(tmp_path, counted):
    folder = loop_folder(tmp_path / "loops", Made("ticks"), Made("low", "tone", "bass", key="A minor", pitch_hz=65.4))
    library = open_library(tmp_path)
    for name in ("ticks", "low"):
        card = library.find(name)
        assert card.path.parent == folder
        assert listen_once(card) == listen_once(card) == listen(card)
    assert counted == [4, 4]
    listen_once(replace(library.find("ticks"), bars=2))
    assert counted == [4, 4, 2]


def test_what_cannot_be_heard_is_not_kept(tmp_path, counted):
    folder = loop_folder(tmp_path / "loops", Made("ticks"))
    card = open_library(tmp_path).find("ticks")
    (folder / "ticks.wav").write_bytes(b"nothing")
    assert (listen_once(card), listen_once(card)) == (None, None)
    (folder / "ticks.wav").unlink()
    assert listen_once(card) is None
    assert counted == [4, 4, 4]
