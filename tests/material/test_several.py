"""Several sources made at once: what comes of each is its own, and a second worker joins in."""

from __future__ import annotations

import threading
import time

import pytest

from mixer.material.several import make_all


def test_each_gets_what_was_made_of_it_or_what_was_raised():
    def make(number):
        if number == 3:
            raise ValueError("three")
        return number * 10

    made = make_all([1, 2, 3], make)
    assert (made[1], made[2]) == (10, 20)
    assert isinstance(made[3], ValueError)


def test_a_second_worker_joins_in(monkeypatch):
    monkeypatch.setattr("os.cpu_count", lambda: 2)
    meeting = threading.Barrier(2)
    told = []
    # Two must be at work at once, or nobody passes the barrier.
    made = make_all([1, 2, 3, 4], lambda number: meeting.wait(20) + number, lambda number, _: told.append(number))
    assert set(made) == {1, 2, 3, 4}
    assert set(told) < {1, 2, 3, 4}


def test_it_is_told_how_many_are_made_and_that_never_falls(monkeypatch):
    monkeypatch.setattr("os.cpu_count", lambda: 1)
    told = []
    make_all([1, 2, 3], lambda number: number, lambda _, made: told.append(made))
    assert told == [0, 1, 2]


def test_on_one_processor_nobody_joins_in(monkeypatch):
    monkeypatch.setattr("os.cpu_count", lambda: 1)
    workers = set()
    make_all(range(20), lambda _: workers.add(threading.get_ident()))
    assert workers == {threading.get_ident()}


def test_ctrl_c_ends_it_when_what_was_begun_is_done(monkeypatch):
    monkeypatch.setattr("os.cpu_count", lambda: 2)
    begun = []

    def make(number):
        begun.append(number)
        if threading.current_thread() is threading.main_thread():
            time.sleep(0.1)  # the other worker has begun by now
            raise KeyboardInterrupt
        time.sleep(0.2)

    with pytest.raises(KeyboardInterrupt):
        make_all(range(9), make)
    assert len(begun) == 2
