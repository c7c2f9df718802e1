"""The house keeps its floors: no import runs upward, none in a circle, and nothing heavy is loaded before its time."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

import mixer
from mixer.loops.library import open_library
from tests.sounds import Made, loop_folder

ROOT = Path(mixer.__file__).parent
FLOORS = {
    "cli": 8,
    "classroom": 7,
    "versions": 6,
    "coach": 5,
    "song": 4,
    "material": 3,
    "recipe": 2,
    "loops": 2,
    "text": 1,
    "signal": 1,
    "music": 1,
    "store": 1,
    "pages": 1,
    "words": 0,
}


def test_every_room_has_its_floor():
    rooms = {path.name for path in ROOT.iterdir() if path.is_dir() and (path / "__init__.py").exists()}
    assert rooms <= FLOORS.keys()


@pytest.mark.parametrize("path", sorted(ROOT.rglob("*.py")), ids=lambda path: str(path.relative_to(ROOT)))
def test_no_import_runs_upward(path):
    inside = path.relative_to(ROOT).parts
    if len(inside) == 1:
        return  # the public face looks down on all
    for name in _imports(path):
        room = name.split(".")[1] if name.startswith("mixer.") else None
        if room in FLOORS and room != inside[0]:
            assert FLOORS[room] < FLOORS[inside[0]], f"{inside[0]} imports {name}"


def test_no_files_import_each_other_in_a_circle():
    """Wherever the import stands: one inside a function only hides a circle."""
    names = {
        path: ".".join(("mixer", *path.relative_to(ROOT).with_suffix("").parts)).removesuffix(".__init__")
        for path in ROOT.rglob("*.py")
        if path != ROOT / "__init__.py"  # the face, of which the version is asked
    }
    files = set(names.values())
    graph = {}
    for path, name in names.items():
        wanted = [(imported, imported.rpartition(".")[0]) for imported in _imports(path)]
        graph[name] = {next((each for each in either if each in files), None) for either in wanted} - {None}
    assert graph["mixer.song.make"] > {"mixer.song.opened", "mixer.song.doubts"}
    TopologicalSorter(graph).prepare()  # raises where there is one


def _imports(path):
    for node in ast.walk(ast.parse(path.read_bytes())):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports say where they go in full"
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def test_the_public_names_are_these():
    assert mixer.__all__ == ["RecipeError", "load_recipe", "plan", "render"]
    assert all(hasattr(mixer, name) for name in mixer.__all__)


HEAVY = ("numpy", "scipy", "soundfile", "soxr", "pyloudnorm", "pydub", "rich", "jinja2", "yaml", "pydantic", "PIL")


def _loaded(code: str) -> set[str]:
    script = f"import sys, json\n{code}\nprint(json.dumps(sorted({{m.split('.')[0] for m in sys.modules}})))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    return set(json.loads(done.stdout.splitlines()[-1]))


def test_nothing_heavy_is_loaded_with_the_commands():
    assert _loaded("import mixer.cli").isdisjoint(HEAVY)


def test_a_check_needs_no_sound(tmp_path):
    recipe = _recipe(tmp_path)
    code = (
        f"from mixer.cli.common import open_or_tell; from pathlib import Path; open_or_tell(Path({str(recipe)!r}), [])"
    )
    assert _loaded(code).isdisjoint(HEAVY)


def test_a_render_loads_what_it_needs_and_no_more(tmp_path):
    recipe = _recipe(tmp_path)
    code = (
        f"import sys\nsys.argv = ['mixer', 'render', {str(recipe)!r}, '--out', {str(tmp_path / 'song.wav')!r}]\n"
        "import mixer.cli\ntry:\n    mixer.cli.program(['render'])()\n"
        "except SystemExit as done:\n    assert not done.code"
    )
    loaded = _loaded(code)
    assert {"numpy", "soundfile"} <= loaded
    assert loaded.isdisjoint(set(HEAVY) - {"numpy", "soundfile", "soxr"})


def _recipe(folder: Path) -> Path:
    loop_folder(folder / "loops", Made("ticks"))
    recipe = folder / "song.yaml"
    recipe.write_text("tempo: 100\nlayers:\n  box: ticks\nsections:\n  - verse, 4 bars: box\n", encoding="utf-8")
    assert open_library(folder).find("ticks")
    return recipe
