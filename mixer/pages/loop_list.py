"""The page of all loops: one card each, grouped by role, to hear and to choose by."""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from typing import Any

from mixer.pages.document import asset, document
from mixer.record import record
from mixer.words.english import listening
from mixer.words.english import loop_page as words


@record
class LoopShown:
    """A loop as the page shows it.

    Parameters
    ----------
    name, role : of its card
    lines : what is told of it
    picture : its rhythm as SVG
    sound : an encoded file in base64: the loop with a little of its end before it and of its start after it
    sound_type : its media type
    seconds : length of one repetition
    lead_seconds : what stands before it in the sound
    gain : what brings it to the common loudness
    gain_together : what brings it to its place beside a chorus; 0 where it cannot go with it
    """

    name: str
    role: str
    lines: tuple[str, ...]
    picture: str
    sound: str
    sound_type: str
    seconds: float
    lead_seconds: float
    gain: float
    gain_together: float


@record
class TogetherShown:
    """What loops can be heard together with: a section's name, its sound (see `LoopShown`), and its gain."""

    name: str
    sound: str
    seconds: float
    lead_seconds: float
    gain: float


def loop_list(shown: Sequence[LoopShown], played: str, level_check: str, together: TogetherShown | None = None) -> str:
    """Make the page.

    Parameters
    ----------
    shown : grouped by role already
    played : at which tempo and in which key they are heard
    level_check : a sound in base64 to set the level by, as loud as the loops
    together : what each can be heard together with, if there is something
    """
    data: Mapping[str, Any] = {
        "words": words.SCRIPT,
        "levelCheck": level_check,
        "loops": [
            {
                "name": loop.name,
                "sound": loop.sound,
                "seconds": loop.seconds,
                "lead": loop.lead_seconds,
                "gain": loop.gain,
                "gainTogether": loop.gain_together,
                "search": " ".join([loop.name, loop.role, *loop.lines]).casefold(),
            }
            for loop in shown
        ],
        "together": together
        and {
            "sound": together.sound,
            "seconds": together.seconds,
            "lead": together.lead_seconds,
            "gain": together.gain,
        },
    }
    return document(words.TITLE, _body(shown, played, together), asset("loops.css"), asset("loops.js"), data)


def _body(shown: Sequence[LoopShown], played: str, together: TogetherShown | None) -> str:
    line = f"<code>{_plain(words.LINE)}</code>"
    intro = "".join(f"<p>{_plain(text).replace('{line}', line)}</p>" for text in words.INTRO)
    label = words.together(together.name) if together else ""
    box = f'<label><input id="together" type="checkbox"> {_plain(label)}</label>' if together else ""
    care = "".join(f"<p>{_plain(text)}</p>" for text in listening.CARE)
    return (
        f"<header><h1>{words.TITLE}</h1>{intro}<p>{_plain(played)}</p>"
        f'<aside class="care">{care}</aside><p class="keys">{words.KEYS}</p></header>'
        f'<section class="bar" aria-label="{words.CONTROLS}">'
        f'<button id="check" type="button">{words.LEVEL_CHECK}</button>'
        f'<label>{words.LEVEL} <input id="level" type="range" min="0" max="100" value="30"></label>'
        f"{box}"
        f'<button id="stop" type="button">{words.STOP}</button>'
        f'<label>{words.SEARCH} <input id="search" type="search" placeholder="{words.SEARCH_HINT}"></label>'
        f'<p id="told" role="status" aria-live="polite"></p></section>'
        f"<main>{_groups(shown)}</main>"
    )


def _groups(shown: Sequence[LoopShown]) -> str:
    parts = []
    for role in dict.fromkeys(loop.role for loop in shown):
        cards = "".join(_card(n, loop) for n, loop in enumerate(shown) if loop.role == role)
        parts.append(f'<section class="role"><h2>{_plain(role)}</h2><ul class="loops">{cards}</ul></section>')
    return "".join(parts)


def _card(number: int, loop: LoopShown) -> str:
    name = _plain(loop.name)
    lines = "".join(f"<p>{_plain(line)}</p>" for line in loop.lines)
    return (
        f'<li class="loop" data-loop="{number}"><h3 dir="auto">{name}</h3>'
        f'<div class="do"><button class="play" type="button" aria-pressed="false" aria-label="{words.PLAY}: {name}">'
        f"{words.PLAY}</button>"
        f'<button class="copy" type="button" aria-label="{words.COPY}: {name}">{words.COPY}</button></div>'
        f'<div class="rhythm">{loop.picture}</div>{lines}</li>'
    )


def _plain(text: str) -> str:
    return html.escape(text, quote=True)
