"""The libraries that make what is kept count in its key."""

from __future__ import annotations

from mixer.store import makers


def test_versions_of_libraries_are_found_also_where_no_installer_wrote_them_down(tmp_path, monkeypatch):
    assert all(makers._version(name) for name in makers.LIBRARIES)
    (tmp_path / "plainly.py").write_text("__version__ = '3.4'\n")
    monkeypatch.syspath_prepend(tmp_path)
    assert "3.4" in makers._version("plainly")
