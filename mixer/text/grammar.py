"""What the line reader must know of the language that it reads."""

from __future__ import annotations

from collections.abc import Mapping

from mixer.record import record


@record
class Grammar:
    """Key words of a language, each in the form that `mixer.text.names.same_word` gives.

    Parameters
    ----------
    keys : every key word, at any place
    top : the key words that stand at the edge; empty where any name may (a catalog)
    free : keys whose value is free text to the end of the line
    one_name : keys whose value is one name; in it, as in free text, a `#` joined to the next sign is no note
    blocks : keys that hold lines of their own
    named : blocks whose keys are names of the writer's own (`layers`, `play`), each with the key that may be left out
        where its value alone is said of a name (`loop`, `in bars`); empty where there is none
    """

    keys: frozenset[str]
    top: frozenset[str]
    free: frozenset[str]
    one_name: frozenset[str]
    blocks: frozenset[str]
    named: Mapping[str, str]

    @property
    def inner(self) -> frozenset[str]:
        """The key words that do not stand at the edge."""
        return self.keys - self.top
