"""A quick start: memory is not looked through while everything that stays is being loaded.

Nearly all that is made until the first screen lives as long as the program. Looking through it again and again for
what could be thrown away takes a tenth of the start, and pauses of a tenth of a second between keys later on.
"""

from __future__ import annotations

import gc

# So many more objects have to be there before the young ones are looked through; a long list makes as many.
YOUNG, MIDDLE, OLD = 20_000, 20, 20


def begin() -> None:
    """Before anything is loaded: nothing is looked through until the screens can be used."""
    gc.disable()


def settle() -> None:
    """The screens can be used: what is there stays and is left alone from now on; what comes later is looked
    through, rarely enough not to be felt."""
    gc.freeze()
    gc.set_threshold(YOUNG, MIDDLE, OLD)
    gc.enable()
