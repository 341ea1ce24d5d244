"""Waste drums by keys, and the same by command."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from screens_driver import Running

from patina.bench.pots import waste
from patina.bench.studio import Studio
from patina.cli import main
from tui.dialogs.choose import Choose
from tui.dialogs.form import Form
from tui.dialogs.message import Notes, Trouble


async def test_a_drum_is_filled_refused_and_fetched(studio: Studio, running: Callable[..., Running]) -> None:
    """d on the Shelf: something goes in, what must never join it is refused with nothing written, it is fetched."""
    async with running((80, 24)) as person:
        await person.press("5")
        await person.until(lambda: getattr(person.app.screen, "WHERE", "") == "shelf")
        await person.press("d")
        await person.until(lambda: isinstance(person.app.screen, Choose))
        await person.press("enter")
        await person.until(lambda: isinstance(person.app.screen, Form))
        await person.fill(drum="acid waste", what="old bath", amount="2 L", substances="ferric nitrate")
        await person.press("ctrl+s")
        await person.until(lambda: isinstance(person.app.screen, Notes))
        await person.until_words("old bath, 2000 mL")
        await person.press("escape", "d")
        await person.until(lambda: isinstance(person.app.screen, Choose))
        await person.press("enter")
        await person.until(lambda: isinstance(person.app.screen, Form))
        await person.fill(drum="Acid waste", what="left over", amount="1 L", substances="liver of sulphur")
        await person.press("ctrl+s")
        await person.until_words("must not go into 'acid waste'")
        await person.press("escape")
        assert [d.volume_ml for d in waste.list_drums(studio)] == [2000.0]
        if isinstance(person.app.screen, Trouble):
            await person.press("escape")
        await person.press("escape")
        await person.until(lambda: getattr(person.app.screen, "WHERE", "") == "shelf")
        await person.press("d")
        await person.until_words("acid waste: 2.00 L")
        await person.press("down", "enter")
        await person.until_words("It was fetched")
        await person.press("down", "enter")
        await person.until(lambda: isinstance(person.app.screen, Form))
        await person.press("ctrl+s")
        await person.until_words("not said who fetched it")
        await person.fill(note="carrier, paper 12")
        await person.press("ctrl+s")
        await person.until(lambda: getattr(person.app.screen, "WHERE", "") == "shelf")
    (drum,) = waste.list_drums(studio)
    assert drum.contents == () and "paper 12" in drum.fetched[0]


def _run(where: Path, capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as left:
        main(["--studio", str(where), *words])
    out, err = capsys.readouterr()
    return int(left.value.code or 0), out, err


def test_the_same_by_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`patina waste`: list, into, fetched; an amount without unit and an empty drum are told."""
    where = tmp_path / "studio"
    assert "No drum is on record" in _run(where, capsys, "waste", "list")[1]
    into = ("waste", "into", "acid waste", "--what", "old bath", "--substance", "ferric nitrate", "--amount")
    assert "has no unit" in _run(where, capsys, *into, "2")[2]
    code, out, _ = _run(where, capsys, *into, "2 L", "--json")
    assert (code, json.loads(out)["volume_ml"]) == (0, 2000.0)
    assert any("hydrogen sulphide" in words for words in json.loads(out)["never_with"])
    assert "empty" in _run(where, capsys, "waste", "fetched", "acid waste", "carrier, paper 12")[1]
    code, _, err = _run(where, capsys, "waste", "fetched", "acid waste", "carrier, paper 12")
    assert code == 2 and "Nothing stands in a drum" in err
    (drum,) = json.loads(_run(where, capsys, "waste", "list", "--json")[1])["drums"]
    assert drum["contents"] == [] and "paper 12" in drum["fetched"][0]
