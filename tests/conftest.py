"""Before numpy is imported: one thread for its matrix library, as the command itself has it.

On a busy machine with two cores the threads wait for each other, and small products take up to twenty times as long.
And no test reads or fills the cache of whoever runs it: each has its own, also in the programs that it starts.
"""

import os
import shutil
import sys

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ["MIXER_CACHE"] = "off"  # until each test has its own

import pytest


@pytest.fixture(scope="session")
def _caches(tmp_path_factory):
    return tmp_path_factory.mktemp("caches")


@pytest.fixture(autouse=True)
def cache_folder(_caches, monkeypatch):
    """The test's own cache; made by the program when it keeps something, and gone after the test."""
    folder = _caches / "cache"
    monkeypatch.setenv("MIXER_CACHE", str(folder))
    yield folder
    shutil.rmtree(folder, ignore_errors=True)
    if "mixer.material.kept" in sys.modules:
        sys.modules["mixer.material.kept"].LATELY.forget()
