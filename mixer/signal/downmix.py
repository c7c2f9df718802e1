"""Recordings of several loudspeakers on two: nothing that could be heard is lost, a voice in the centre least of all.

Gains are those of ITU-R BS.775 for two-channel stereo: front as it is, centre and surrounds 3 dB down; the channel for
low effects is left out, as there. A single surround goes to both sides, at equal power. Files do not agree on the order
of channels: WAV and FLAC have one (RFC 9639, section 9.1.3), Vorbis and Opus another (Vorbis I, section 4.3.9;
RFC 7845, section 5.1.1.2).
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

Order = Literal["wave", "ogg"]
MOST_CHANNELS = 8
_ORDERS: dict[Order, dict[int, str]] = {
    "wave": {
        3: "L R C",
        4: "L R Ls Rs",
        5: "L R C Ls Rs",
        6: "L R C LFE Ls Rs",
        7: "L R C LFE S Ls Rs",
        8: "L R C LFE Ls Rs Ls Rs",
    },
    "ogg": {
        3: "L C R",
        4: "L R Ls Rs",
        5: "L C R Ls Rs",
        6: "L C R Ls Rs LFE",
        7: "L C R Ls Rs S LFE",
        8: "L C R Ls Rs Ls Rs LFE",
    },
}
_DOWN_3_DB = 0.5**0.5
_GAINS = {
    "L": (1.0, 0.0),
    "R": (0.0, 1.0),
    "C": (_DOWN_3_DB, _DOWN_3_DB),
    "Ls": (_DOWN_3_DB, 0.0),
    "Rs": (0.0, _DOWN_3_DB),
    "S": (0.5, 0.5),
    "LFE": (0.0, 0.0),
}


def to_stereo(samples: NDArray[np.float32], order: Order = "wave") -> NDArray[np.float32]:
    """Give a recording on two channels.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels), 1 to 8 channels
    order : in which the file's format has the channels of three loudspeakers and more

    Returns
    -------
    float32 array, shape (frames, 2); mono is put on both channels, stereo is given back as it is
    """
    channels = samples.shape[1]
    if channels == 1:
        return np.repeat(samples, 2, axis=1)
    if channels == 2:
        return samples
    mixed = np.zeros((len(samples), 2), np.float32)
    for number, speaker in enumerate(_ORDERS[order][channels].split()):
        for side, gain in enumerate(_GAINS[speaker]):
            mixed[:, side] += np.float32(gain) * samples[:, number]
    return mixed
