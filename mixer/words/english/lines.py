"""Sentences about how a text is set out: signs, spaces, dashes, brackets."""

from __future__ import annotations

from collections.abc import Sequence

from mixer.words.mend import (
    Edit,
    after,
    at_end,
    dashed,
    further_in,
    indented,
    instead,
    new_line,
    plain_indent,
    spaced,
    then_space,
)
from mixer.words.speech import Mended, advice, mistake, sentences, series


def _first(line: str) -> str:
    return line.split(",", maxsplit=1)[0].split(":", maxsplit=1)[0]


def _also(lines: Sequence[int]) -> str:
    if not lines:
        return ""
    return f"The same is true of line{'s' if len(lines) > 1 else ''} {series(lines[:6])}."


@advice
def tab(lines: Sequence[int]) -> Mended:
    return (
        "this line is moved in with the tab key; it was read as if spaces stood there.",
        sentences("Take that away and use the space bar: two spaces for each step to the right.", _also(lines)),
        plain_indent(),
    )


@advice
def guessed_letters() -> tuple[str, str]:
    return (
        "some letters of this file had to be guessed. Look whether names and title are right.",
        "If they are not, save the file in your editor as UTF-8.",
    )


@advice
def odd_space(lines: Sequence[int]) -> Mended:
    return (
        "a special kind of space stands at the start of this line; it was read as an ordinary one.",
        sentences("It often comes with text copied from a page. Delete it and use the space bar.", _also(lines)),
        plain_indent(),
    )


@advice
def odd_space_in_line(tab: bool) -> Mended:  # noqa: FBT001 - a fact, given by name
    what = "a space made with the tab key" if tab else "a special kind of space"
    return (
        f"{what} stands after the colon; it was read as an ordinary one.",
        "Delete it and use the space bar.",
        instead(" "),
    )


@advice
def other_dash(sign: str, lines: Sequence[int] = ()) -> Mended:
    return (
        f'"{sign}" was read as a dash.',
        sentences("The dash is the minus sign, with a space after it.", _also(lines)),
        then_space("-"),
    )


@advice
def space_after_dash(line: str, lines: Sequence[int] = ()) -> Mended:
    return (
        f'there is no space between the dash and "{_first(line)}"; it was read as if there were one.',
        _also(lines),
        instead("- "),
    )


@advice
def other_colon(sign: str) -> Mended:
    return f'"{sign}" was read as a colon.', "", spaced(": ")


@advice
def space_after_colon(key: str, lines: Sequence[int] = ()) -> Mended:
    return (
        f'there is no space after the colon of "{key}"; it was read as if there were one.',
        _also(lines),
        instead(": "),
    )


@advice
def no_colon(key: str) -> Mended:
    return f'there is no colon after "{key}"; it was read as if there were one.', "", after(":")


@advice
def no_colon_item(name: str) -> Mended:
    return (
        f'there is no colon after "{name}", and lines that belong to it follow; it was read as if there were one.',
        "",
        after(":"),
    )


@advice
def short_and_long(name: str, key: str, spaces: int) -> Mended:
    return (
        f'more about "{name}" stands below, so what stands beside it needs a line of its own; it was read as if it had one.',
        "",
        new_line(f"{' ' * spaces}{key}: "),
    )


@advice
def joined_note(note: str) -> Mended:
    return (
        f'"{note}" was left out: what comes after "#" is a note to yourself.',
        'If it belongs to the name, write the name without "#". If it is a note, put a space after "#".',
        instead(f"# {note[1:]}"),
    )


@advice
def two_in_one_line(key: str, other: str) -> Mended:
    return (
        f'"{other}:" stands in the middle of the {key}, so it was read as a part of it.',
        f'If it is meant for itself, it needs a line of its own: press Enter in front of "{other}".',
        new_line(""),
    )


@advice
def control_sign(key: str) -> tuple[str, str]:
    return (
        f"there is a sign in the {key} that cannot be shown; a space was read instead.",
        "It often comes with copied text. Delete the line and type it again yourself.",
    )


@advice
def open_quote_kept(mark: str) -> tuple[str, str]:
    return (
        f"a quote mark {mark} opens here and is never closed; it was kept as a part of the text.",
        "If that is how it should look, there is nothing to do. If not, take it away.",
    )


@advice
def quote_inside(text: str) -> Mended:
    return (
        "there are quote marks inside quote marks; the outer ones were left out.",
        "No quote marks are needed round it.",
        instead(text),
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
        f"this file is {what}, and a recipe is plain text, so it could not be read.",
        'See whether another file was meant. "mixer new my-song" makes a first recipe to change.'
        if "program" in what
        else "Copy the words of the recipe into a new file in a text editor, and save it with a name that ends in .yaml.",
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
        "Press Enter in front of each word that has a colon after it, and in front of each dash. "
        "Put two spaces in front of each layer and of each dash.",
    )


@mistake
def second_recipe(key: str) -> tuple[str, str]:
    return (
        f'a second recipe begins here, with another "{key}"; all from this line on was left out.',
        "Keep one recipe in each file: move this one to a file of its own, or take it out.",
    )


@advice
def drawn_line() -> tuple[str, str]:
    return "this line of signs is no part of the recipe; it was left out.", "Take the line out."


@advice
def indent(words: str, spaces: int, dash: bool, lines: Sequence[int] = ()) -> Mended:  # noqa: FBT001 - a fact, given by name
    many = "no space" if spaces == 0 else "one space" if spaces == 1 else f"{spaces} spaces"
    what = "the dash" if dash else f'"{words}"'
    return (
        f"{what} does not stand straight below the lines it belongs to; it was read as if it did.",
        sentences(f"There should be {many} in front of it.", _also(lines)),
        indented(spaces),
    )


@advice
def at_the_edge(block: str, lines: Sequence[int]) -> Mended:
    return (
        f'this line belongs to "{block}" but does not stand further to the right than it; it was read as if it did.',
        sentences(f'Put two more spaces in front of every line that belongs to "{block}".', _also(lines)),
        further_in(2),
    )


@advice
def inline_dash(text: str) -> tuple[str, str]:
    return (
        "a dash stands in the middle of this line; what follows it was read as the first of a list.",
        f"Write all of the list in this line, with commas and without dashes: {text}, ...",
    )


@advice
def other_quotes(mark: str) -> Mended:
    return (
        f"the quote marks ({mark}) were left out.",
        "No quote marks are needed.",
        lambda place: instead(place.text[place.column : place.column + place.width - 2])(place),
    )


@advice
def open_quote(mark: str) -> Mended:
    return (
        f"a quote mark {mark} opens here and is never closed; it was left out.",
        "No quote marks are needed.",
        instead(""),
    )


@advice
def open_bracket(opening: str, closing: str) -> Mended:
    return (
        f'the bracket "{opening}" is opened here and never closed; it was read up to the end of the line.',
        f'Put "{closing}" at the end.',
        at_end(closing),
    )


@mistake
def anchor(sign: str, text: str, merge: bool) -> tuple[str, str] | Mended:  # noqa: FBT001 - a fact, given by name
    name, _, rest = text.partition(" ")
    message = f'"{name}" means nothing in a recipe, so it was left out.'
    if merge:
        return message, "Take the line out, and write here what you need of those lines."
    if sign == "&" and rest:
        return message, "", lambda place: Edit(place.column - 1, place.column - 1 + len(text), rest)
    return message, f'Write here once more what stands after "&{name[1:]}" further up.'


@mistake
def stray_item() -> tuple[str, str]:
    return (
        'a dash starts a section, and this line does not stand below "sections:"; it was left out.',
        "If it is a section, move it there. If not, take the dash away.",
    )


@mistake
def stray_key(key: str) -> Mended:
    return f'"{key}" stands among the sections, but its line has no dash.', "If a section starts here:", dashed()


@mistake
def no_key(text: str) -> tuple[str, str]:
    return (
        f'"{text}" stands alone; it could not be read and was left out.',
        'A line has a word, a colon and what it should be, such as "tempo: 96". To keep it as a note, put "# " in front of it.',
    )


@mistake
def no_keys() -> tuple[str, str]:
    return (
        "a recipe cannot begin with a list.",
        "Take the dashes in front of title, tempo, layers and sections away. Only the lines below sections have dashes. "
        "Put two spaces in front of each layer and each section.",
    )


@mistake
def too_deep() -> tuple[str, str]:
    return "this line stands too far to the right; it was left out.", "Take some spaces in front of it away."


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
def many_problems(more: int) -> tuple[str, str]:
    return (
        f"from here on there are {more} more things to tell, which are not shown.",
        "Is this the right file? If it is, mend what stands above and check again: many of the others may be gone too.",
    )
