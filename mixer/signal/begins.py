"""Where notes begin that are found late: each is asked in the ways that can tell of what came before it.

A low note may begin where a finger lands on a string that rings (`fingers`), or be heard before it is loud (`spoken`):
whichever is earlier. After what is held (an organ, a bow) no finger lands, but the last chord may grow dull (`dulled`);
not in a line, whose notes may be played apart. What the pieces are is told from where the notes are loud, and stays so.

A clear attack (`hits`) that lies on the beats of the loop (`lateness`) is where its note begins, whatever came before.
Where most notes come later after their beats than any instrument speaks, the finger counts that is on the beats.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixer.signal.dulled import dulled_before
from mixer.signal.fingers import fingers_land_before
from mixer.signal.hits import are_clear
from mixer.signal.lateness import MOST_SECONDS, are_on_beats, usually_late
from mixer.signal.pieces import HELD, RINGING
from mixer.signal.spoken import heard_before

Samples = NDArray[np.float32]
Frames = NDArray[np.int64]


def where_notes_begin(
    samples: Samples, rate_hz: int, onsets: Frames, kinds: list[int], *, in_line: bool = False
) -> tuple[Frames, list[int]]:
    """The onsets, moved to where their notes begin; and what the pieces between are.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels), circular
    rate_hz : int > 0
    onsets : int64 array, sorted
    kinds : what the pieces between them are, as `pieces.piece_kinds` tells
    in_line : whether there is a line in it (`notes`)
    """
    if len(onsets) == 0:
        return onsets, kinds
    after_held = np.array(kinds[-1:] + kinds[:-1]) == HELD
    clear = are_clear(samples, rate_hz, onsets)
    late, _ = usually_late(onsets, len(samples), rate_hz)
    too_late = late > MOST_SECONDS * rate_hz
    sure = clear & are_on_beats(onsets, len(samples), rate_hz)
    heard = heard_before(samples, rate_hz, onsets, ~sure)
    fingers = fingers_land_before(samples, rate_hz, onsets, ~after_held & (too_late | ~clear))
    fingers[clear & ~are_on_beats(onsets - np.maximum(fingers, heard), len(samples), rate_hz)] = 0
    dulled = dulled_before(samples, rate_hz, onsets, after_held & ~sure & (heard == 0) & (not in_line))
    earlier = np.maximum(fingers, heard) + dulled
    if not earlier.any():
        return onsets, kinds
    # A note that is let go is so many frames after its piece begins (or as many below none, if it rang until then).
    signs = [0 if kind in (RINGING, HELD) else kind // abs(kind) for kind in kinds]
    kinds = [kind + sign * more for kind, sign, more in zip(kinds, signs, earlier.tolist(), strict=True)]
    begins = (onsets - earlier) % len(samples)
    first = int(np.argmin(begins))  # one may have gone past the join
    return np.roll(begins, -first), kinds[first:] + kinds[:first]
