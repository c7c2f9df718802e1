"""What a layer's source must become: pure data, found without opening a sound file.

Each kind of source has a file in this folder with two functions: `fit` says how the source fills the song's
bars, `make` makes the sound. `mixer.material.kinds` chooses between them.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import TYPE_CHECKING

from mixer.loops.card import Card
from mixer.music.keys import Key
from mixer.music.meter import Meter
from mixer.record import record

if TYPE_CHECKING:  # a plan is made without loading numpy
    from mixer.signal.blocks import Samples


@record
class Frame:
    """The song into which a source is fitted.

    Parameters
    ----------
    tempo_bpm, meter : how its bars are counted
    key : None if it has none
    """

    tempo_bpm: Fraction
    meter: Meter
    key: Key | None

    @property
    def bar_seconds(self) -> Fraction:
        """Exact length of a bar."""
        return self.meter.bar_seconds(self.tempo_bpm)


@record
class Fit:
    """How a source fills the song's bars.

    Parameters
    ----------
    card : what is known of the sound
    role : its place in the mix
    bars : how many bars of the song one repetition takes
    semitones : how far it is transposed
    stretch : length in the song / length as recorded; 1 where it is played as it is
    """

    card: Card
    role: str
    bars: Fraction
    semitones: int
    stretch: Fraction


@record
class Remark:
    """Something to tell of a source that can be used all the same; `kind` and `facts` are a problem's."""

    kind: str
    facts: Mapping[str, object]


@record
class Material:
    """A source at the song's tempo, key and rate.

    Parameters
    ----------
    samples : float32 array, shape (frames, 2), circular, at least one frame
    loudness_lufs : of the sound as it is repeated, rounded to 0.01; -inf for silence
    content_key : of the sound file from which it was made; the same sound has the same key everywhere
    remarks : what to tell of it
    upbeat_frames : so much of its end is an upbeat, which is heard before it begins too
    kept_as : its key in the cache, which tells apart all that it depends on; empty where it is not kept
    """

    samples: Samples
    loudness_lufs: float
    content_key: str
    remarks: tuple[Remark, ...] = ()
    upbeat_frames: int = 0
    kept_as: str = ""
