"""Several sources made at once, by two workers.

Sound is read, decoded, measured and stretched by code that lets others run meanwhile, so two processors halve the wait.
"""

from __future__ import annotations

import os
import threading
from collections import deque
from collections.abc import Callable, Iterable

from mixer.material.fit import Fit, Material


def make_all(
    fits: Iterable[Fit], make: Callable[[Fit], Material], tell: Callable[[Fit, int], None] = lambda _fit, _made: None
) -> dict[Fit, Material | Exception]:
    """Make several sources.

    Parameters
    ----------
    fits : what is wanted
    make : makes one of them; may be called by two threads at once
    tell : told, by this thread, of each that it begins to make, and how many are made

    Returns
    -------
    what was made, or what was raised
    """
    waiting, made = deque(fits), dict[Fit, Material | Exception]()
    over = threading.Event()

    # From the end: most recipes begin with the beat, and what is struck is made in a fifth of the time of a held tune,
    # so that what takes longest is not begun last.
    def work(tell: Callable[[Fit, int], None]) -> None:
        while not over.is_set():
            try:
                fit = waiting.pop()
            except IndexError:
                return
            tell(fit, len(made))
            try:
                made[fit] = make(fit)
            except Exception as error:  # noqa: BLE001 - whoever asked for it decides what to do
                made[fit] = error

    helper = threading.Thread(target=work, args=[lambda _fit, _made: None], daemon=True)
    if len(waiting) > 1 and (os.cpu_count() or 1) > 1:
        helper.start()
    try:
        work(tell)
    finally:
        over.set()  # what the helper has begun it finishes, and begins no more
        if helper.ident is not None:
            helper.join()
    return made
