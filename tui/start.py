"""A quick start and quick keys: when memory is looked through, and how soon a key is heard while a thread works.

Nearly all that is made until the first screen lives as long as the program. Looking through it again and again for
what could be thrown away takes a tenth of the start, and pauses of a tenth of a second between keys later on.
"""

from __future__ import annotations

import gc
import sys

# So many more objects have to be there before the young ones are looked through, and so often that is done before
# older ones are: each look is over in a few milliseconds.
YOUNG, MIDDLE, OLD = 10_000, 8, 50
# A thread that reads a list must let go after so long when a key waits; a key asks for its turn a dozen times.
TURN_S = 0.001


def begin() -> None:
    """Before anything is loaded: nothing is looked through until the screens can be used."""
    gc.disable()


def settle() -> None:
    """The screens can be used: what is there stays and is left alone from now on; what comes later is looked
    through, rarely enough not to be felt. Nothing happens where no start was begun, or it is over."""
    if gc.isenabled():
        return
    gc.freeze()
    gc.set_threshold(YOUNG, MIDDLE, OLD)
    gc.enable()
    sys.setswitchinterval(TURN_S)
