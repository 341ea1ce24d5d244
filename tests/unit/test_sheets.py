"""The sheets are fetched by name, each from the module that holds it."""

from __future__ import annotations

import pytest

import patina.sheets as sheets


def test_every_name_that_is_promised_is_there() -> None:
    """Each name of the list leads to a value of that name, and no home names one that is not promised."""
    for name in sheets.__all__:
        assert getattr(sheets, name).__name__ == name
    homed = {name for names in sheets._HOMES.values() for name in names.split()}
    assert homed == set(sheets.__all__)


def test_a_name_that_is_not_there_is_an_error() -> None:
    """A slip in a name is not passed over."""
    with pytest.raises(AttributeError):
        _ = sheets.NoSuchSheet
