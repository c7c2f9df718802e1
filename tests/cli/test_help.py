"""Help fits a page of 90 columns, and a command that is called wrongly says how."""

from __future__ import annotations

import pytest

from tests.cli.program import mixer

COMMANDS = ["new", "loops", "measure", "fits", "check", "render", "try", "recipe", "cache", "schema"]


def test_every_command_has_a_line(tmp_path):
    words = mixer("--help", cwd=tmp_path).stdout
    assert [command for command in COMMANDS if f"\n  {command} " not in words] == []
    bare = mixer(cwd=tmp_path)
    assert (bare.stdout + bare.stderr).strip() == words.strip()


@pytest.mark.parametrize("command", COMMANDS)
def test_help_fits_the_page(tmp_path, command):
    done = mixer(command, "--help", cwd=tmp_path)
    assert done.returncode == 0
    assert max(map(len, done.stdout.splitlines())) <= 90


@pytest.mark.parametrize("arguments", [["chekc"], ["chart"], ["check", "--jsno", "x"], ["try"], ["loops", "--loops"]])
def test_a_wrong_call_has_its_own_code_and_no_trace(tmp_path, arguments):
    done = mixer(*arguments, cwd=tmp_path)
    assert done.returncode == 2
    assert "Error: " in done.stderr
    assert "Traceback" not in done.stderr
