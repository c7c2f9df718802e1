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
    ("W", "the whole song, or only its part"),
)
TEACHER_KEYS = (("C", "a mark at the bar that is playing"),)
BEFORE = "Song before"
AFTER = "Next song"
WHOLE = "Whole song"
LARGER = "Larger"
ORDER = "Order by number"
REORDER = "Put in order"
WHERE = "Where it is"
DRAFT = "draft: something is still missing"
NONE = "no song yet"
CHART = "The form of the song"
TOLD = "words"
BRIEF = "what it asks"
WHAT_HAPPENS = "What happens in the song"
SCRIPT = {
    "count": "{number} of {of}",
    "section": "{name}: bars {first} to {last}",
    "place": "bar {bar} of {bars}   {section}",
    "play": "Play",
    "pause": "Pause",
    "missing": "The song's file is not beside this page.",
}
ALL = "All songs"
ALL_HEADS = ("Song", "By", "State", "Length", "What was told", "Brief")
STATES = {"song": "song", "draft": "draft", "earlier": "earlier version", "none": "not made"}
COMMENTS = "Comments"
COMMENTS_TOLD = (
    "They stay on this computer, in this browser, until you erase them. Save them to a file to keep them: "
    "mixer feedback FILE makes a sheet for each student from it."
)
MARK = "Mark this bar"
SAVE = "Save to a file"
OPEN = "Open a file"
ERASE = "Erase all"
HEARD = "What the class heard"
REMARKS = "About the whole song"
TEACHER_SCRIPT = {
    "bar": "bar {bar}, {section}",
    "mark": "What about bar {bar}",
    "take": "Take it away",
    "sure": "Erase all comments of this session from this browser?",
    "saved": "Saved to a file.",
    "kept": "Kept in this browser; not yet saved to a file.",
    "other": "That is no file of comments.",
    "added": "Comments of {count} songs added.",
    "choose": "(not chosen)",
}
