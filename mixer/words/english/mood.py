"""How tempo, mode, register and density are often heard. No feeling is told as a fact, and none is the right one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from mixer.words.english.names import quoted
from mixer.words.speech import series

Size = Literal["low", "middle", "high"]

TITLE = "How this is often heard"
WHO = (
    "Many listeners who grew up with European and American music hear it so. Listeners who grew up with other music "
    "may hear it otherwise, and so may you."
)


def tempo(size: Size) -> str:
    """Say how a tempo is often heard."""
    return {
        "low": "A slow tempo: calm, or solemn, or heavy.",
        "middle": "A tempo like walking: steady, unhurried.",
        "high": "A quick tempo: lively, or urgent.",
    }[size]


def mode(name: str) -> str:
    """Say how a mode is often heard."""
    if name in ("minor", "aeolian"):
        return "A minor key: darker, more serious, more inward."
    if name in ("major", "ionian"):
        return "A major key: lighter, more open, more settled."
    return f"A {name} key: neither major nor minor to these listeners; old, or far away."


def register(size: Size) -> str:
    """Say how low and high sound is often heard."""
    return {
        "low": "Mostly low sounds: weighty, close to the ground.",
        "middle": "Low and high sounds together: wide.",
        "high": "Mostly high sounds: light, in the air.",
    }[size]


def density(size: Size) -> str:
    """Say how few and many notes are often heard."""
    return {
        "low": "Few notes: still, with much room.",
        "middle": "Neither few notes nor many: in between.",
        "high": "Many notes: busy, excited, or restless.",
    }[size]


def own(texts: Sequence[str]) -> str:
    """Set the maker's words beside it."""
    if not texts:
        return 'You wrote nothing of what you meant. "about" and "meant" are there for it.'
    return f"What you wrote: {series(map(quoted, texts))}. Where do they meet, and where not? You decide what it is meant to be."
