"""What rings on under the note that comes next: its tones go on there without a seam.

A note that is cut free brings with it what rang under it in the loop. In the result that is older or younger than what
rings before it, and stands at another phase. Where all of it changes within 5 ms, it knocks, and a chord that is struck
softly is no longer clear beside that. So the tones in which the old piece ends ring on under the beginning of the new
one, as old as they are there, those that rang there in the loop are taken out, and both give way together, slowly.
Where a piece does not end in tones (`ringing`) nothing is done.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixer.signal.ringing import Tones

Samples = NDArray[np.float32]

# They give way over so long. Longer, and what is damped by the new note would be heard with it.
SECONDS = 0.04
# What was damped just before is not there: of it less than so much is left.
LEAST_THERE = 0.6
# Where they are younger they are no more times louder: what is told from a short end is not known for long before it.
MOST_TIMES = 2.0
# What is so many times fainter than the new note (in power) is not heard beside it.
UNHEARD_TIMES = 30.0


def is_heard(old: Samples, new: Samples, rate_hz: int) -> bool:
    """Whether what rings at the end of the old piece is heard beside the beginning of the new one, both in the loop."""
    count = round(SECONDS * rate_hz)
    return _power(old[-count:]) * UNHEARD_TIMES > _power(new[:count])


def ring_under(new: Samples, lead: int, tones: Tones, since: Samples, older: int, rate_hz: int) -> None:
    """Let tones ring on under a new piece, in place of what rang there in the loop, if it did.

    Parameters
    ----------
    new : float32 array, shape (frames, channels), the new piece in the result; changed
    lead : so many of its frames come before it begins
    tones : what rang in the loop until a little before the new piece began
    since : float32 array, shape (frames, channels): what was heard there from their frame 0 until it began
    older : by how many frames they are older in the result; younger if negative
    rate_hz : int > 0
    """
    count = min(lead + round(SECONDS * rate_hz), len(new))
    if count <= lead or not _is_there(tones, since):
        return
    per_frame = tones.per_frame
    louder = np.minimum(np.exp(older * per_frame.real), MOST_TIMES)
    changed = louder * np.exp(1j * older * per_frame.imag) - 1
    change = Tones(per_frame, tones.sizes * changed).sound(len(since) - lead, count)
    at = np.maximum(np.arange(count) - lead + 0.5, 0) / (count - lead)
    new[:count] += change * np.square(np.cos(np.pi / 2 * at)).astype(np.float32)[:, None]


def _is_there(tones: Tones, since: Samples) -> bool:
    rang = tones.sound(0, len(since))
    return float((rang * since).sum()) > LEAST_THERE * float(np.square(rang).sum())


def _power(samples: Samples) -> float:
    return float(np.square(samples).sum())
