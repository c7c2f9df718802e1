"""The README says what is so: its commands, its examples, its table."""

from __future__ import annotations

import re
from pathlib import Path

from mixer.cli.app import COMMANDS, program
from mixer.recipe.keywords import KEYWORDS
from mixer.words.manual import MEANING
from tests.cli.program import mixer

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_change_check_runs_the_readmes_own_test_command():
    commands = re.findall(r"^python3 -m venv .*$", README, re.MULTILINE)
    assert len(commands) == 2
    assert "mixer render recipes/" in commands[0]
    assert commands[1] in (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()


def test_the_first_song_is_ten_lines_and_says_what_the_readme_says(tmp_path):
    recipe = README.split("```yaml\n")[1].split("```")[0]
    assert len(recipe.splitlines()) == 10
    (tmp_path / "ten-lines.yaml").write_text(recipe, encoding="utf-8")
    assert recipe == (ROOT / "recipes" / "ten-lines.yaml").read_text(encoding="utf-8")
    done = mixer("render", "ten-lines.yaml", cwd=tmp_path)
    assert done.returncode == 0
    assert done.stdout in README
    checked = mixer("check", "ten-lines.yaml", cwd=tmp_path).stdout
    assert checked.split("\n", 2)[2].rstrip() in README


def test_the_table_of_key_words_is_the_programs_own():
    table = README.split("by a test -->\n")[1].split("\n<!--")[0]
    rows = (f"| `{each.word}` | {', '.join(each.where)} | {MEANING[each.word]} |" for each in KEYWORDS)
    assert table.splitlines() == ["| key | where | what it says |", "| --- | --- | --- |", *rows]


def test_the_card_in_the_readme_can_be_read(tmp_path):
    card = next(block for block in re.findall(r"```yaml\n(.*?)```", README, re.DOTALL) if "licence:" in block)
    (tmp_path / "loops.yaml").write_text(card, encoding="utf-8")
    (tmp_path / "paper-lantern.flac").write_bytes(b"fLaC")
    done = mixer("loops", "--loops", ".", "--json", cwd=tmp_path)
    assert done.returncode == 0
    assert '"maker": "Table 4"' in done.stdout


def test_every_command_and_option_in_the_readme_exists(tmp_path):
    commands = [command.name for command in program().registered_commands]
    assert commands == list(COMMANDS)
    assert set(re.findall(r"[`$] ?mixer ([a-z]+)", README)) <= set(commands)
    helps = " ".join(mixer(name, "--help", cwd=tmp_path).stdout for name in commands)
    for option in set(re.findall(r"`?(--[a-z]+)", README)):
        assert option in helps
