"""The editions of the 24-patch chart, as they are spoken of."""

from __future__ import annotations

EDITION_WORDS = {
    "before-2014": "edition before November 2014",
    "after-2014": "edition from November 2014 on",
    "unknown": "edition not known",
    "own values": "by its own values",
}


def edition_words(edition: str) -> str:
    """An edition as the reader takes it, in words.

    >>> edition_words("after-2014"), edition_words("own values")
    ('edition from November 2014 on', 'by its own values')
    """
    return EDITION_WORDS.get(edition, edition)


def instrument_words(instrument: str) -> str:
    """The instrument of a reading, with the chart's edition in words.

    >>> instrument_words("camera, 24-patch chart (before-2014), a straight line in each channel")
    'camera, 24-patch chart (edition before November 2014), a straight line in each channel'
    """
    for edition, words in EDITION_WORDS.items():
        instrument = instrument.replace(f"24-patch chart ({edition})", f"24-patch chart ({words})")
    return instrument
