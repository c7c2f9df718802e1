"""Sentences about sound files, catalogs, folders and recipes that are not there."""

from __future__ import annotations

from collections.abc import Sequence

from mixer.words.speech import advice, bars, did_you_mean, mistake, sentences, series


@mistake
def recipe_missing(name: str, near: Sequence[str], guess: str | None) -> tuple[str, str]:
    there = f"The recipes in that folder are {series(near[:8])}." if near else "There is no recipe in that folder."
    return f'there is no file called "{name}".', did_you_mean(guess) or there


@mistake
def recipe_unnamed(command: str, near: Sequence[str]) -> tuple[str, str]:
    if not near:
        return (
            "the name of a recipe is missing.",
            "There is none in this folder. To make a first one: mixer new my-song",
        )
    name = f'"{near[0]}"' if " " in near[0] else near[0]
    here = f"Here are {series(near[:8])}. " if len(near) > 1 else ""
    return "the name of a recipe is missing.", f"{here}Type: mixer {command} {name}"


@mistake
def recipe_folder(name: str, inside: Sequence[str]) -> tuple[str, str]:
    there = f"In that folder: {series(inside[:8])}." if inside else "There is no recipe in that folder."
    return f'"{name}" is a folder, and a recipe is a file.', there


@mistake
def recipe_odd(name: str) -> tuple[str, str]:
    return f'"{name}" is no plain text, so it can be no recipe.', "A recipe is a plain text that ends in .yaml."


@mistake
def recipe_document(name: str, what: str) -> tuple[str, str]:
    return (
        f'"{name}" is {what} and no plain text, so it can be no recipe.',
        "Another name does not change that. Copy the words of the recipe into a new file in a text editor, and save it "
        "with a name that ends in .yaml.",
    )


@mistake
def recipe_locked(name: str) -> tuple[str, str]:
    return f'"{name}" may not be read.', "Ask whoever looks after this computer for the right to read it."


@mistake
def recipe_long(name: str) -> tuple[str, str]:
    return f'"{name}" is far too long to be a recipe.', "See whether another file was meant."


@mistake
def no_catalog(folder: str) -> tuple[str, str]:
    return (
        f'the folder "{folder}" has no list of its loops (loops.yaml), so none of them can be used.',
        'To make one from the sounds in it, type "mixer measure", the folder\'s name and "--write"; then check it by ear.',
    )


@mistake
def no_folder(folder: str) -> tuple[str, str]:
    return f'there is no folder "{folder}" with loops.', "See whether its name is spelt as it is."


@mistake
def loops_outside() -> tuple[str, str]:
    return (
        'the folder "loops" beside this recipe leads to another place, so none of its loops were used.',
        'Copy the loops into a real folder "loops", or name their folder in the command after --loops.',
    )


@mistake
def catalog_outside(folder: str) -> tuple[str, str]:
    return (
        f'the list of loops (loops.yaml) in "{folder}" leads to another place, so none of its loops were used.',
        "Copy the list itself into the folder.",
    )


@mistake
def catalog_locked() -> tuple[str, str]:
    return (
        "this list of loops may not be read, so none of its loops were used.",
        "Ask whoever looks after this computer for the right to read it.",
    )


@mistake
def catalog_long(most: int) -> tuple[str, str]:
    return (
        f"this list of loops is larger than {most} kB, so none of its loops were used.",
        "See whether another text was pasted into it by accident.",
    )


@advice
def empty_catalog() -> tuple[str, str]:
    return "this list of loops is empty.", "The README shows what stands in one."


@advice
def card_empty(name: str) -> tuple[str, str]:
    return (
        f'nothing is said of the loop "{name}".',
        "It needs file, tempo, bars and role, on lines of their own.",
    )


@advice
def card_lacks(name: str, key: str) -> tuple[str, str]:
    return f'the loop "{name}" has no "{key}", so it cannot be used.', f"Add a line to its card: {key}:"


@advice
def card_value(name: str, key: str, value: str) -> tuple[str, str]:
    examples = {
        "tempo": "tempo: 96",
        "bars": "bars: 4",
        "time": "time: 4/4",
        "key": "key: A minor, or key: none",
        "role": "role: drums (or bass, harmony, melody, percussion, voice, background)",
        "downbeat": "downbeat: 0.25 (seconds)",
    }
    return (
        f'the {key} of the loop "{name}" cannot be "{value}", so the loop cannot be used.',
        f"Write, for example: {examples.get(key, key)}",
    )


@advice
def card_limit(name: str, key: str, value: str) -> tuple[str, str]:
    example = "20 %" if key in ("slower up to", "faster up to") else "4 semitones"
    return (
        f'"{key}" of the loop "{name}" cannot be "{value}", so what is usual was taken instead.',
        f"Write, for example: {key}: {example}",
    )


@advice
def unknown_card_key(key: str, guess: str | None) -> tuple[str, str]:
    return f'there is no "{key}" on a loop\'s card; the line was left out.', did_you_mean(guess)


@advice
def loop_gone(name: str, file: str) -> tuple[str, str]:
    return (
        f'the file of the loop "{name}", {_short(file)}, is not there, so it cannot be used.',
        "Put the file beside its list, or take its card out.",
    )


@advice
def loop_no_file(name: str, file: str) -> tuple[str, str]:
    return (
        f'what the loop "{name}" names, {_short(file)}, is a folder or a pipe and no sound file, so it cannot be used.',
        'Name the sound file after "file:" on its card.',
    )


@advice
def loop_outside(name: str) -> tuple[str, str]:
    return (
        f'the file of the loop "{name}" lies outside its own folder, so it cannot be used.',
        "Copy the file into the folder of its list.",
    )


_LONGEST_NAME = 48


def _short(file: str) -> str:
    """A file's name, without its middle if it is very long."""
    return file if len(file) <= _LONGEST_NAME else f"{file[:30]}…{file[-15:]}"


def _left_out(name: str, file: str, why: str, *do: str) -> tuple[str, str]:
    return f'the loop "{name}" was left out: {_short(file)} {why}', sentences(*do)


_COPY_AGAIN = "Copy the file again from where it came from."
_SAVE_AGAIN = "Open it in the program it came from and save it again as WAV."
_CUT_FIRST = "A loop lasts a few seconds: cut it out of the recording and save that."


@mistake
def loop_silent(name: str, file: str) -> tuple[str, str]:
    why = "holds only silence where the loop should be."
    return _left_out(name, file, why, 'See whether "downbeat" on its card in loops.yaml is right.')


@mistake
def loop_long(name: str, file: str, most: int) -> tuple[str, str]:
    why = f"would have to last longer than {most} seconds by its card."
    return _left_out(name, file, why, 'See whether "tempo" and "bars" on its card in loops.yaml are right.')


@advice
def loop_short(name: str, file: str, bars_there: float, of: int) -> tuple[str, str]:
    return (
        f'the loop "{name}" falls silent before its end: {_short(file)} holds {bars_there:g} of the {bars(of)} on its card.',
        'If it should go on, see whether "bars" and "tempo" on its card in loops.yaml are right.',
    )


@advice
def sound_cut(name: str, file: str) -> tuple[str, str]:
    return f'the loop "{name}" breaks off: the end of {_short(file)} is missing. What is there is played.', _COPY_AGAIN


@mistake
def sound_no_file(name: str, file: str) -> tuple[str, str]:
    return _left_out(name, file, "is not there.", "Put the sound file there.")


@mistake
def sound_folder(name: str, file: str) -> tuple[str, str]:
    why = "is a folder, and a loop is a sound file."
    return _left_out(name, file, why, 'Name the sound file after "file:" on its card in loops.yaml.')


@mistake
def sound_odd(name: str, file: str) -> tuple[str, str]:
    return _left_out(name, file, "is a device or a pipe, not a file.", "Put a sound file there.")


@mistake
def sound_locked(name: str, file: str) -> tuple[str, str]:
    return _left_out(name, file, "may not be read.", "Ask whoever looks after this computer for the right to read it.")


@mistake
def sound_large(name: str, file: str, most: int) -> tuple[str, str]:
    return _left_out(name, file, f"is larger than {most} MB.", _CUT_FIRST)


@mistake
def sound_long(name: str, file: str, most: int) -> tuple[str, str]:
    return _left_out(name, file, f"lasts longer than {most} seconds.", _CUT_FIRST)


@mistake
def sound_empty(name: str, file: str) -> tuple[str, str]:
    return _left_out(name, file, "is empty.", "Copy or record it again.")


@mistake
def sound_silent(name: str, file: str) -> tuple[str, str]:
    return _left_out(name, file, "holds only silence.", "Record it again, or choose another loop.")


@mistake
def sound_unknown(name: str, file: str) -> tuple[str, str]:
    why = "is no sound file, or of a kind that cannot be read."
    return _left_out(name, file, why, "Open the sound in the program it came from and save it as WAV.")


@mistake
def sound_unreadable(name: str, file: str) -> tuple[str, str]:
    return _left_out(name, file, "is damaged or cut off.", _COPY_AGAIN, f"If that does not help: {_lower(_SAVE_AGAIN)}")


@mistake
def sound_needs_ffmpeg(name: str, file: str) -> tuple[str, str]:
    why = "is a recording of a phone or a browser, and ffmpeg, the program that reads those, is not on this computer."
    return _left_out(name, file, why, "Save the recording as WAV, or ask whoever looks after this computer for ffmpeg.")


@mistake
def sound_broken(name: str, file: str) -> tuple[str, str]:
    return _left_out(name, file, "holds values that are no numbers.", _SAVE_AGAIN)


@mistake
def sound_wild(name: str, file: str) -> tuple[str, str]:
    return _left_out(name, file, "holds values a thousand times louder than a file should.", _SAVE_AGAIN)


@mistake
def sound_rate(name: str, file: str, rate_hz: int) -> tuple[str, str]:
    why = f"says that it has a sample rate of {rate_hz} Hz, and only 8000 to 192000 can be used."
    return _left_out(name, file, why, _SAVE_AGAIN)


@mistake
def sound_channels(name: str, file: str, channels: int) -> tuple[str, str]:
    return _left_out(name, file, f"says that it has {channels} channels.", "Save it again as stereo.")


def _lower(sentence: str) -> str:
    return sentence[0].lower() + sentence[1:]


@mistake
def song_missing(name: str) -> tuple[str, str]:
    return f'there is no song called "{name}".', "See whether its name is spelt as it is."


@mistake
def song_no_sound(name: str) -> tuple[str, str]:
    return f'"{name}" is no WAV, FLAC, OGG or MP3 file, so it carries no recipe.', "Name a song that this program made."


@mistake
def song_carries_nothing(name: str) -> tuple[str, str]:
    return f'"{name}" carries no recipe.', "Only songs that this program made carry one, and some programs take it out."


@mistake
def no_encoder(song: str, file_format: str) -> tuple[str, str]:
    return (
        f'"{song}" could not be written: the sound library on this machine cannot make {file_format} files.',
        "Leave out --format to get a WAV file.",
    )


@mistake
def nothing_heard() -> tuple[str, str]:
    return (
        "nobody plays in any bar of this song.",
        "Write who plays after the colon of a section: - verse, 8 bars: drums",
    )


@mistake
def not_written(song: str, why: str) -> tuple[str, str]:
    because = f" ({why})" if why else ""
    return (
        f'"{song}" could not be written{because}. What stood there before is unchanged.',
        "See whether there is room on the disk and whether that folder may be written to.",
    )


@mistake
def pack_work(name: str, by: str) -> tuple[str, str]:
    return (
        f'"{name}" says that it is by {by}, so it was not packed: no student\'s work goes to the next teacher.',
        'If it is a starter of yours, take its line "by" out and pack again.',
    )


@mistake
def pack_other(name: str) -> tuple[str, str]:
    return (
        f'"{name}" can be no brief, rubric or starter, so it was not packed.',
        "These are texts that end in .yaml, .md or .txt. Loops are packed with their folder: --loops FOLDER",
    )


@mistake
def song_of_another(name: str, other: str) -> tuple[str, str]:
    return (
        f'"{name}" and "{other}" would have songs of the same name, so only that of "{other}" is made.',
        "Give one of the two another name.",
    )


@mistake
def program_failed(why: str) -> tuple[str, str]:
    return (
        f"the program failed at this song ({why}). What stood there before is unchanged, and the watch goes on.",
        "Change the line that was changed last, and show this message to whoever looks after the program.",
    )
