"""What stands on the pages that a class listens with."""

from __future__ import annotations

LISTEN = "Listening session"
TEACHER = "Listening session, for the teacher"
CARE = (
    "Start low. Play the level check and turn up only until it is comfortable; then leave it there. Headphones are too "
    "loud if a neighbour hears them, speakers if you must raise your voice at arm's length.",
    "The WHO-ITU standard for safe listening (H.870) gives children 75 dBA for 40 hours a week; this program cannot know "
    "the level at the ear. Take breaks. If ears ring: stop, and tell an adult. Local rules and professionals come first.",
)
LEVEL_CHECK = "Level check"
BEGIN = "Begin"
KEYS = (
    ("Space", "play and pause"),
    ("→", "the next song"),
    ("←", "the song before"),
)
PART_KEYS = (("W", "the whole song, or only its part"),)
TEACHER_KEYS = (("C", "a mark at the bar that is playing"),)
BEFORE = "Song before"
AFTER = "Next song"
WHOLE = "Whole song"
LARGER = "Larger"
ORDER_HEAD = "Order"
ORDER_TOLD = (
    "Move a song with its buttons, by dragging, or with Alt and the up and down arrows while its name has the focus. "
    "This computer keeps the order for both pages of this session."
)
ORDER = "Order by number"
REORDER = "Put in order"
ORDER_AS_GIVEN = "As it came"
ORDER_SAVE = "Save the order as a text"
WHERE = "Where it is"
DRAFT = "draft: something is still missing"
NONE = "no song yet"
CHART = "The form of the song"
TOLD = "worth a look"
BRIEF = "what it asks"
WHAT_HAPPENS = "What happens in the song"
SCRIPT = {
    "count": "{number} of {of}",
    "section": "{name}: bars {first} to {last}",
    "place": "bar {bar} of {bars}   {section}",
    "play": "Play",
    "pause": "Pause",
    "missing": "The song's file is not beside this page.",
    "up": "Earlier",
    "down": "Later",
    "moved": "{title} is number {number} of {of} now.",
}
ALL = "All songs"
ALL_HEADS = ("Song", "By", "State", "Length", "What was told", "Brief")
STATES = {"song": "song", "draft": "draft", "earlier": "earlier version", "none": "not made"}
COMMENTS = "Comments"
COMMENTS_TOLD = (
    "They stay in this browser until you erase them. Choose a file and they are also kept there while you type; "
    "mixer feedback FILE makes a sheet for each student from it."
)
MARK = "Mark this bar"
KEEP_IN_FILE = "Keep in a file"
SAVE = "Save to a file"
OPEN = "Open a file"
ERASE = "Erase all"
HEARD = "What the class heard"
HEARD_TOLD = "From the listening sheets: a line for each thing said of energy, mood and flow."
REMARKS = "About the whole song"
TEACHER_SCRIPT = {
    "bar": "bar {bar}, {section}",
    "mark": "What about bar {bar}",
    "take": "Take it away",
    "sure": "Erase all comments of this session from this browser?",
    "saved": "Saved to a file.",
    "kept": "Kept in this browser; not yet saved to a file.",
    "only": "This browser keeps nothing by itself. Save to a file before you leave.",
    "inFile": "Kept in {file}, and goes on being kept there.",
    "notInFile": "{file} cannot be written any more. Save to a file.",
    "other": "That is no file of comments.",
    "added": "Comments of {count} songs added.",
    "choose": "(not chosen)",
}


SHEET = "Listening sheet"
SHEET_NAME = "Name"
SHEET_SONG = "Song"
SHEET_TOLD = "Write words, not marks. What do you hear, and in which bars?"
SHEET_ASKS = (
    ("Energy", "Where is it full, where empty?"),
    ("Mood", "How does it feel?"),
    ("Flow", "How does one part lead to the next?"),
)


def numbered(number: int) -> str:
    """Give what a song is called that bears a number only."""
    return f"Song {number}"
