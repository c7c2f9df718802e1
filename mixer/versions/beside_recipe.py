"""What is written beside a watched recipe: the song's page and what there is to look at.

Nothing that a person made is written over: a page that is not ours, or notes of the same name, stay as they are.
"""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from mixer.pages.document import is_another
from mixer.store.whole import write_text
from mixer.words.english.page import MISTAKES_HEAD


def write_beside(recipe: Path, page: str, mistakes: str) -> list[Path]:
    """Write the page, and the mistakes as text; without mistakes that text is taken away.

    Parameters
    ----------
    recipe : the file beside which they stand
    page : markup; empty where there is no song, and what stands there stays
    mistakes : as on a terminal; empty where there are none

    Returns
    -------
    places at which somebody else's file stands, which were left alone

    Raises
    ------
    OSError
        If one cannot be written.
    """
    there, told = recipe.with_suffix(".html"), recipe.with_name(f"{recipe.stem} (mistakes).txt")
    in_the_way = []
    if page and is_another(there):
        in_the_way.append(there)
    elif page:
        write_text(there, page)
    ours = _is_ours(told)
    if mistakes and told.exists() and not ours:
        in_the_way.append(told)
    elif mistakes:
        write_text(told, f"{MISTAKES_HEAD}\n\n{mistakes}\n")
    elif ours:
        with suppress(FileNotFoundError):
            told.unlink()
    return in_the_way


def _is_ours(told: Path) -> bool:
    head = f"{MISTAKES_HEAD}\n".encode()
    try:
        with told.open("rb") as stream:
            return stream.read(len(head)) == head
    except OSError:
        return False
