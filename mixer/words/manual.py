"""What each key word of a recipe means: for the manual, the schema and whoever asks."""

from __future__ import annotations

MEANING = {
    "title": "the song's name; free text to the end of the line",
    "by": "who made it; a first name or a table number is enough",
    "about": "what the song is meant to be; free text",
    "tempo": "beats per minute, 40 to 240, fractions allowed (`92.5`); in 6/8, 9/8 and 12/8 the beat is the dotted one",
    "key": "tonic and mode: `A minor`, `Am`, `Eb major`, `F# dorian`; left out, pitched loops keep their own",
    "time": "the time signature; `4/4` if left out",
    "brief": "the assignment whose limits the song keeps",
    "hear": "the section a class hears first; the fullest if left out",
    "habits": "a style to compare the song with: `verse and chorus`, `dance`, `rounds and cycles` or `none`",
    "may be heard": "by whom: `class` (if left out), `school` or `home`",
    "ending": "`last hit`: whoever sounds in the last bar plays the next downbeat once more, dying away over two beats; "
    "`stop` (if left out): the song ends at the bar line",
    "layers": "a name of your own for each sound, and what it is",
    "sections": "the song from start to end, in order",
    "loop": "a loop's name; `drums: tin-roof` says just this",
    "level": "softer or louder than usual: `-6`, `+3` (with a sign; -40 to +12), or `pp p mp mf f ff`; layer and entry add up",
    "pan": "`left 20`, `right 100` or `centre`; the entry's counts",
    "role": "drums, bass, harmony, melody, percussion, voice or background, where the loop's card says otherwise",
    "pitch": "semitones on top of what the key asks for (`+12`), or `as recorded`",
    "speed": "`half` or `double` time, or `as recorded`; if left out, whatever needs the least stretch",
    "name": "the section's name",
    "bars": "its length in bars, 1 to 64",
    "play": "who is heard, and in which of the section's bars; `everything`, or `nothing` for silence",
    "like": "an earlier section, as it turned out; what is written here is added or replaces",
    "without": "who is taken out, whole or in some bars",
    "meant": "what the section should feel like, in your own words",
    "continue": "layers that run on from the section before instead of beginning again",
    "fade in": "over so many bars at its start: `2 bars`",
    "fade out": "over so many bars at its end: `2 bars`",
    "in bars": "the bars in which it is heard, counted in the section: `5-8`, `4`, `5-` (to the end), `1-2, 5-6`",
    "from the top": "`yes`: the loop begins at its own first bar where it enters",
}
