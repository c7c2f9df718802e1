"""Sentences about how a text is set out: signs, spaces, dashes, brackets."""

from __future__ import annotations

from collections.abc import Sequence

from mixer.words.speech import advice, did_you_mean, mistake, sentences, series


def _also(lines: Sequence[int]) -> str:
    if not lines:
        return ""
    return f"The same is true of line{'s' if len(lines) > 1 else ''} {series(lines[:6])}."


@advice
def tab(lines: Sequence[int]) -> tuple[str, str]:
    return (
        "this line is moved in with the tab key; it was read as if spaces stood there.",
        sentences("Use the space bar instead: two spaces for each step to the right.", _also(lines)),
    )


@advice
def guessed_letters() -> tuple[str, str]:
    return (
        "some letters of this file had to be guessed. Look whether names and title are right.",
        "If they are not, save the file in your editor as UTF-8.",
    )


@advice
def odd_space(lines: Sequence[int]) -> tuple[str, str]:
    return (
        "a special kind of space stands at the start of this line; it was read as an ordinary one.",
        sentences("It often comes with text copied from a page. Delete it and use the space bar.", _also(lines)),
    )


@advice
def odd_space_in_line() -> tuple[str, str]:
    return (
        "a special kind of space stands after the colon; it was read as an ordinary one.",
        "Delete it and use the space bar.",
    )


@advice
def other_dash(sign: str) -> tuple[str, str]:
    return f'"{sign}" was read as a dash.', "Begin the line with the minus sign and a space."


@advice
def space_after_dash(line: str) -> tuple[str, str]:
    return "there is no space after the dash; it was read as if there were one.", f"Write: - {line}"


@advice
def other_colon(sign: str) -> tuple[str, str]:
    return f'"{sign}" was read as a colon.', 'Write ":" and a space after it.'


@advice
def space_after_colon(key: str, value: str) -> tuple[str, str]:
    return "there is no space after the colon; it was read as if there were one.", f"Write: {key}: {value}"


@advice
def no_colon(key: str, value: str) -> tuple[str, str]:
    return (
        f'there is no colon after "{key}"; it was read as if there were one.',
        f"Write: {key}: {value}".rstrip(),
    )


@advice
def no_colon_item(name: str) -> tuple[str, str]:
    return (
        f'there is no colon after "{name}", though lines that belong to it follow; it was read as if there were one.',
        f"Write: - {name}:",
    )


@advice
def joined_note(note: str) -> tuple[str, str]:
    return (
        f'"{note}" is left out: what comes after "#" is a note to yourself.',
        'For a note, put a space after the "#". If it belongs to the name, write the name without "#".',
    )


@advice
def two_in_one_line(key: str, other: str) -> tuple[str, str]:
    return (
        f'"{other}" stands in the middle of the {key}, so it was read as a part of it.',
        f'If it is meant for itself, give it a line of its own that begins with "{other}:".',
    )


@advice
def control_sign(key: str) -> tuple[str, str]:
    return (
        f"there is a sign in the {key} that cannot be shown; a space was read instead.",
        "Type the text again.",
    )


@advice
def open_quote_kept(mark: str) -> tuple[str, str]:
    return (
        f"a quote mark {mark} opens here and is never closed; it was kept as a part of the text.",
        "If it is not meant, take it away.",
    )


@advice
def quote_inside(text: str) -> tuple[str, str]:
    return (
        "there are more quote marks inside these; the outer ones were left out.",
        f"Free text needs no quote marks round it: {text}",
    )


@advice
def empty_value(key: str) -> tuple[str, str]:
    return (
        f'nothing stands after "{key}"; it was read as if the line were not there.',
        "Write something there, or take the line out.",
    )


@mistake
def no_plain_text(what: str) -> tuple[str, str]:
    return (
        f"this file is not plain text but {what}, so it could not be read.",
        "In your editor choose to save it as plain text, with a name that ends in .yaml.",
    )


@mistake
def prose() -> tuple[str, str]:
    return (
        "this is a text but no recipe: it has no tempo, no layers and no sections.",
        'A recipe has lines such as "tempo: 96". "mixer new my-song" makes a first one to change.',
    )


@mistake
def one_line() -> tuple[str, str]:
    return (
        "the whole recipe stands in one line, so it could not be read.",
        "Put title, tempo, layers and sections each on a line of its own, and every layer and section too.",
    )


@mistake
def second_recipe(key: str) -> tuple[str, str]:
    return (
        f'a second recipe seems to begin here, with another "{key}"; what stands from here on was left out.',
        "Keep one recipe in each file.",
    )


@advice
def drawn_line() -> tuple[str, str]:
    return (
        "this line of signs is not a part of the recipe; it was left out.",
        'Put "# " in front of it, or take it out.',
    )


@advice
def indent(words: str, spaces: int, dash: bool) -> tuple[str, str]:  # noqa: FBT001 - a fact, given by name
    what = "The dash" if dash else f'"{words}"'
    many = "no space" if spaces == 0 else "one space" if spaces == 1 else f"{spaces} spaces"
    return (
        f"{what[0].lower() if dash else what[0]}{what[1:]} does not stand straight below the lines it belongs to; "
        "it was read as if it did.",
        f"Put {many} in front of it.",
    )


@advice
def at_the_edge(block: str, lines: Sequence[int]) -> tuple[str, str]:
    return (
        f'this line does not stand further in than "{block}"; it was read as a part of it.',
        sentences(f'Put two more spaces in front of every line that belongs to "{block}".', _also(lines)),
    )


@advice
def inline_dash(text: str) -> tuple[str, str]:
    return (
        "a dash stands in the middle of this line; what follows it was read as the first of a list.",
        f"Write the names with commas between them, without a dash: {text}, ...",
    )


@advice
def other_quotes(mark: str) -> tuple[str, str]:
    return f"the marks {mark} round this were left out.", "No quote marks are needed."


@advice
def open_quote(mark: str) -> tuple[str, str]:
    return (
        f"a quote mark {mark} opens here and is never closed; it was left out.",
        "Take it away, or put another one at the end.",
    )


@advice
def open_bracket(opening: str, closing: str) -> tuple[str, str]:
    return (
        f'a bracket "{opening}" opens here and is never closed; it was read up to the end of the line.',
        f'Put "{closing}" at the end of the line, or write each detail on a line of its own, without brackets.',
    )


@mistake
def anchor(sign: str, text: str) -> tuple[str, str]:
    return (
        f'a value that starts with "{sign}" has no meaning in a recipe: "{text}" was left out.',
        f"Write it without that: {text.partition(' ')[2]}"
        if sign == "&" and " " in text
        else "Write out what is meant.",
    )


@mistake
def stray_item() -> tuple[str, str]:
    return (
        "a dash starts an item of a list, and there is no list here; the line was left out.",
        'A list of sections stands below "sections:". Other lines have no dash.',
    )


@mistake
def stray_key(key: str) -> tuple[str, str]:
    return (
        f'"{key}" stands in a list, but its line has no dash.',
        "Put a dash and a space in front of it if it starts a section.",
    )


@mistake
def no_key(text: str) -> tuple[str, str]:
    return (
        f'"{text}" stands alone: it could not be read and was left out.',
        'A line has a word, a colon and a value, such as "tempo: 96". To keep a note, put "# " in front of it.',
    )


@mistake
def no_keys() -> tuple[str, str]:
    return (
        "a recipe cannot begin with a list.",
        "Take the dashes in front of title, tempo, layers and sections away. Only the lines below sections have dashes.",
    )


@mistake
def too_deep() -> tuple[str, str]:
    return "this line stands too far in; it was left out.", "A recipe needs four steps to the right at most."


@mistake
def line_too_long(most: int) -> tuple[str, str]:
    return f"this line has more than {most} signs, so the recipe was not read.", "Make it shorter."


@mistake
def text_too_long(most: int) -> tuple[str, str]:
    return (
        f"this text is too long for a recipe, so it was not read. A recipe has at most {most} lines.",
        "See whether another text was pasted into it by accident.",
    )


@mistake
def key_twice(key: str) -> tuple[str, str]:
    return (
        f'"{key}" stands here a second time; only the first one counts.',
        "For several places write them in one line: in bars: 1-2, 5-6"
        if key.lower() == "in bars"
        else "Keep one of the two. If a new section starts here, it needs a dash and a name.",
    )


@mistake
def tempo_twice(key: str) -> tuple[str, str]:
    return f'"{key}" stands here a second time, and the song can have only one.', "Keep one of the two."


@mistake
def unknown_key(key: str, where: str, guess: str | None, known: Sequence[str]) -> tuple[str, str]:
    places = {
        "top": "in a recipe",
        "layer": "in a layer",
        "section": "in a section",
        "entry": "here",
    }
    told = _MEANT.get((where, key.lower())) or (did_you_mean(guess) if guess else "")
    return (
        f'there is no "{key}" {places[where]}; this line was left out.',
        sentences(told, "" if told else f"What can stand {places[where]}: {series(known)}."),
    )


_MEANT = {
    ("top", "bpm"): "Beats per minute are called tempo: tempo: 96",
    ("top", "speed"): "Beats per minute are called tempo: tempo: 96",
    ("top", "beat"): "Beats per minute are called tempo: tempo: 96",
    ("top", "beats"): "Beats per minute are called tempo: tempo: 96",
    ("top", "name"): "A song's name is its title: title: Harbour Lights",
    ("top", "song"): "A song's name is its title: title: Harbour Lights",
    ("top", "artist"): 'Who made it is written so: "by: Table 2".',
    ("top", "author"): 'Who made it is written so: "by: Table 2".',
    ("top", "scale"): "Write: key: A minor",
    ("top", "length"): "How long a song lasts follows from its bars and its tempo. Take the line out.",
    ("top", "meter"): "The time signature is called time: time: 3/4",
    ("top", "loops"): 'Sounds stand below "layers:".',
    ("top", "tracks"): 'Sounds stand below "layers:".',
    ("top", "instruments"): 'Sounds stand below "layers:".',
    ("top", "sounds"): 'Sounds stand below "layers:".',
    ("top", "parts"): 'The parts of the song stand below "sections:".',
    ("top", "volume"): "How loud a layer is, stands below that layer: level: -2",
    ("section", "tempo"): "The tempo stands once, at the top, for the whole song.",
    ("section", "key"): "The key stands once, at the top, for the whole song.",
    **{
        ("entry", word): "Say in which bars it is heard: in bars: 5-8"
        for word in ("start", "end", "from", "to", "begin", "stop", "bar")
    },
    ("top", "song parts"): 'The parts of the song stand below "sections:".',
    (
        "layer",
        "volume",
    ): "How loud it is, is its level: level: -2 is a little softer, level: +2 a little louder.",
    ("layer", "sound"): "Write: loop: and the name of a loop.",
    ("layer", "file"): "Write: loop: and the name of a loop.",
    (
        "entry",
        "volume",
    ): "How loud it is, is its level: level: -2 is a little softer, level: +2 a little louder.",
    ("entry", "bars"): "Write: in bars: 1-4",
    ("entry", "enter"): "Say in which bars it is heard: in bars: 5-8",
    ("entry", "exit"): "Say in which bars it is heard: in bars: 5-8",
    ("section", "repeat"): "To hear a section again, add a line where it comes again: a dash and its name.",
    ("section", "length"): "Write: bars: 8",
    ("section", "layers"): "Who is heard stands after play: play: piano, drums",
    ("section", "plays"): "Write: play: piano, drums",
    ("section", "with"): "Who is heard stands after play: play: piano, drums",
    ("section", "level"): "A level belongs to a layer, or to one layer below play.",
    ("section", "volume"): "A level belongs to a layer, or to one layer below play.",
}
