"""What each key word of a brief means: for the manual, the schema and whoever asks."""

from __future__ import annotations

BRIEF_MEANING = {
    "brief": "the brief's name, by which recipes find it; the file's name if left out",
    "goal": "what the song is to show, in a student's words",
    "longest": "the song lasts at most so long: `1:30`, `90 seconds`, `2 minutes`",
    "shortest": "... and at least so long",
    "tempo": "beats per minute: `80-120`, or one number",
    "key": "keys that the song may be in: `A minor`, `A minor, D major`; or `major` or `minor` for any such",
    "time": "time signatures that it may have: `3/4`",
    "layers": "below it roles with the layers heard in the whole song: `drums: 1` (at most), `bass: 1-2` (one or two), "
    "`voice: 0` (none), `all: 5` (together); roles not named are free. `layers: 4` alone means all together",
    "at once": "how many layers may be heard in the same bar: `3` (at most), `1-3` (never silent)",
    "loops": "the only loops that may be heard: `tin-roof, slow-tide`",
    "loops from": "the sets from which loops may come: `ferry town`",
    "sections": "how many sections there are: `3-6`, `3-` (at least), or one number",
    "must have": "sections that must be there and be heard, by the start of their names: `intro, outro`",
    "section bars": "how many bars a section may have: `4, 8` or `4-8`",
    "must use": "what must be heard somewhere: `level`, `pan`, `fade in`, `fade out`",
    "ending": "`last hit` or `stop`",
    "habits": "the style to compare with: `verse and chorus`, `dance`, `rounds and cycles` or `none`",
    "questions": "at most so many questions are asked about the song, 0 to 9",
    "find out": "things to look at and talk about, one on each line; no limits",
}
