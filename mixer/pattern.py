"""Patterns that are made when they are first used: most are for what beginners may write, and few songs need them.

Making the patterns of a recipe's reader took as long as reading a recipe.
"""

from __future__ import annotations

import re
from typing import cast


def pattern(text: str, flags: int = 0) -> re.Pattern[str]:
    """Give what `re.compile` gives, as far as its methods go."""
    return cast("re.Pattern[str]", _Pattern(text, flags))


class _Pattern:
    def __init__(self, text: str, flags: int) -> None:
        self._asked = text, flags

    def __getattr__(self, name: str) -> object:
        """Make the pattern; a method that was asked for once is found without coming here."""
        found: object = getattr(re.compile(*self._asked), name)
        setattr(self, name, found)
        return found
