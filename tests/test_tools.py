"""A missing program skips its test on someone's own machine, and fails it where changes are taken."""

import sys
from pathlib import Path

import pytest

from tests.tools import needs_tool

MISSING = "no-program-has-this-name"


def test_a_program_that_is_there_is_found(monkeypatch):
    monkeypatch.setenv("PATH", str(Path(sys.executable).parent))
    assert Path(needs_tool(Path(sys.executable).name)).parent == Path(sys.executable).parent


def test_a_missing_program_skips_with_its_reason(monkeypatch):
    monkeypatch.delenv("CI", raising=False)
    with pytest.raises(pytest.skip.Exception, match=f"{MISSING} is not installed"):
        needs_tool(MISSING)


def test_a_missing_program_fails_where_changes_are_taken(monkeypatch):
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match=f"{MISSING} is not installed"):
        needs_tool(MISSING)
