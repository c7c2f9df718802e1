"""What a change did: told of the sections in which it did it, the other way round from the other side."""

from __future__ import annotations

import pytest

from mixer.coach.energy import energy
from mixer.song.opened import open_recipe
from mixer.song.render import prepare
from mixer.versions.change import Both
from mixer.versions.changes import compare
from mixer.versions.effect import Effect, effects
from tests.sounds import Made, loop_folder

TEXT = """tempo: 96
layers:
  hum: hum
  box: ticks
sections:
  - verse, 2 bars: hum
  - chorus, 2 bars: hum
  - verse 2, 2 bars: hum, box
"""


@pytest.fixture
def sides(tmp_path):
    """Plan and energy without clicks in the chorus, and with them."""
    loop_folder(tmp_path / "loops", Made("hum", "tone", role="bass"), Made("ticks"))
    found = []
    for name, text in (("old", TEXT), ("new", TEXT.replace("chorus, 2 bars: hum", "chorus, 2 bars: hum, box"))):
        (tmp_path / f"{name}.yaml").write_text(text, encoding="utf-8")
        plan = open_recipe(tmp_path / f"{name}.yaml").plan
        found.append((plan, energy(plan, prepare(plan)[0])))
    return found


def test_a_section_with_more_in_it_is_fuller_and_busier(sides):
    (old, old_energy), (new, new_energy) = sides
    assert effects(compare(old, new), Both(old_energy, new_energy)) == [Effect("chorus", 3, 1, 1)]
    assert effects(compare(new, old), Both(new_energy, old_energy)) == [Effect("chorus", 3, -1, -1)]
    assert effects(compare(old, old), Both(old_energy, old_energy)) == []
