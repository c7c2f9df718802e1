"""How loud each role is in the mix, before anyone turns it up or down.

Common practice, no source: tuned so that drums and voice lead, harmony lies under them, and small percussion
and background are felt more than heard.
"""

from __future__ import annotations

ROLE_LUFS = {
    "drums": -18.0,
    "voice": -18.0,
    "melody": -19.0,
    "bass": -20.0,
    "harmony": -21.0,
    "percussion": -25.0,
    "background": -27.0,
}
