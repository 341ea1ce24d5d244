"""Approval: a session on record with that day's figures, and a page that asks nothing of the network."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date, timedelta
from html.parser import HTMLParser
from pathlib import Path

import pytest
from click.testing import CliRunner

from patina.bench.matched import agreed
from patina.bench.paper import approving
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.studio import Studio, open_studio
from patina.cli import patina
from patina.entries import NewApproval, NewCast, NewHolding, NewMaster, NewPiece, NewReading, NewTile, NewZone
from patina.errors import Incomplete, NotFound, Refused


class Seen(HTMLParser):
    """Every tag with its attributes, and the text."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.words = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in ("meta", "br", "img"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words += data


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Studio]:
    """A cast beside its agreed finish; names hold what HTML would trip over."""
    with open_studio(tmp_path / "studio") as opened:
        opened.set_setting("studio_name", "Quay & Sons <bronze>")
        said = {"uncertainty_de00": 0.4, "wax_state": "waxed", "warmth": "cold", "n": 5, "sd": (0.3, 0.2, 0.2)}
        for name, L in (("M", 26.0), ("LIGHT", 28.0), ("DARK", 24.0)):
            tile = tiles.start_tile(opened, NewTile(name, "C87300")).row.id
            tiles.add_reading(opened, tile, NewReading(L, 7.0, 10.0, **said))  # type: ignore[arg-type]
        casts.agree_master(
            opened,
            NewMaster(
                "Brown <b>&",
                (26.0, 7.0, 10.0),
                2.0,
                uncertainty_de00=0.3,
                wax_state="waxed",
                warmth="cold",
                light="D65 booth",
            ),
        )
        agreed.agree_zone(opened, NewZone("M1", "whole", ("T1",), light="T2", dark="T3"))
        casts.add_piece(opened, NewPiece('Heron "turning"'))
        casts.add_cast(opened, NewCast("W1", number="1/9", master="M1"))
        tiles.add_reading(opened, "C1", NewReading(26.4, 7.2, 10.3, **said))  # type: ignore[arg-type]
        yield opened


def test_a_session_keeps_who_where_how_and_that_days_figures(studio: Studio) -> None:
    """What was on the table is kept; later readings do not alter it; a session is never edited."""
    entry = NewApproval(
        "C1",
        "Ida Thorne",
        "approved with remarks",
        "artist",
        "D65 booth",
        "foundry",
        "waxed",
        remarks="a shade warmer next time",
    )
    row = approving.record_approval(studio, entry)
    assert (row.id, row.master, row.answer, row.held_on) == ("P1", "M1", "approved with remarks", date.today())
    assert agreed.agreed_sheet(studio, "M1").approvals == (row,)
    with studio.store.view() as session:
        from patina.records.tables.matching import ApprovalTable

        kept = session.get_one(ApprovalTable, 1).shown
    assert kept["verdict"] == "pass" and kept["piece"][0] == pytest.approx(26.4)


def test_what_is_missing_or_cannot_be_is_said_at_once(studio: Studio) -> None:
    """All troubles of a session together, each with its field; nothing is kept."""
    tomorrow = date.today() + timedelta(days=2)
    with pytest.raises(Incomplete) as refused:
        approving.record_approval(
            studio, NewApproval("C1", "", "maybe", state="damp", seen="in a dream", held_on=tomorrow)
        )
    assert {t.field for t in refused.value.troubles} == {"who", "answer", "state", "seen", "held_on"}
    with pytest.raises(Incomplete):
        approving.record_approval(studio, NewApproval("C1", "Ida", "approved with remarks"))
    assert approving.approvals_of(studio, "C1") == ()


def test_a_piece_is_told_which_casts_can_be_named(studio: Studio) -> None:
    """A viewing is of a cast or tile: whoever names the piece, by id or title, is told its casts."""
    for named in ("W1", 'heron "turning"'):
        with pytest.raises(NotFound, match="W1 is a piece") as refused:
            approving.approvals_of(studio, named)
        assert "C1 1/9" in refused.value.remedy
    casts.add_piece(studio, NewPiece("Otter"))
    with pytest.raises(NotFound, match="W2 is a piece") as refused:
        approving.record_approval(studio, NewApproval("W2", "Ida", "approved"))
    assert "on record first" in refused.value.remedy
    with pytest.raises(NotFound, match="no tile 'W9'"):
        approving.approvals_of(studio, "W9")


def test_the_page_stands_alone_and_is_whole(studio: Studio, tmp_path: Path) -> None:
    """Well-formed, no script, no request, colours in CIELAB and sRGB, the caution, the figures, room to sign."""
    approving.record_approval(studio, NewApproval("C1", "Ida <script>", "show again", remarks="not yet"))
    path = approving.write_page(studio, "C1", tmp_path / "page.html")
    text = path.read_text("utf-8")
    seen = Seen()
    seen.feed(text)
    assert seen.open == []
    assert not {"script", "link", "iframe", "form", "object"} & {tag for tag, _ in seen.tags}
    for _, attrs in seen.tags:
        assert not any(k in ("src", "href") and not str(v).startswith("data:") for k, v in attrs.items())
        assert not any(k.startswith("on") for k in attrs)
    assert "http" not in text.replace("http-equiv", "") and "@import" not in text and "url(" not in text
    assert "default-src 'none'" in text
    assert "lab(26.40% 7.20 10.30)" in text and "lab(28.00% 7.00 10.00)" in text
    for words in (
        "Screens and printers differ",
        "Brown <b>&",
        'Heron "turning" 1/9',
        "Quay & Sons <bronze>",
        "Ida <script>",
        "signature",
        "inside what was agreed",
        "light limit",
    ):
        assert words in seen.words
    assert "@media print" in text


def test_without_an_agreed_finish_there_is_no_page(studio: Studio, tmp_path: Path) -> None:
    """A cast that names none is refused, with the way on."""
    casts.add_cast(studio, NewCast("W1", number="2/9"))
    with pytest.raises(Refused):
        approving.write_page(studio, "C2", tmp_path / "page.html")
    assert not (tmp_path / "page.html").exists()


def test_agree_and_approve_on_the_command_line(studio: Studio, tmp_path: Path) -> None:
    """Zones, holders, what is due, a session and a page, each as one JSON document."""
    run = CliRunner()

    def ask(*words: str) -> dict:  # type: ignore[type-arg]
        result = run.invoke(patina, ["--studio", studio.where, *words, "--json"])
        assert result.exit_code == 0, result.output
        return json.loads(result.output)  # type: ignore[no-any-return]

    assert ask("agree", "zone", "M1", "face", "T1")["zones"][1]["zone"] == "face"
    assert ask("agree", "hold", "T1", "the foundry", "--master", "M1", "--next-check", "2099-01-01")["due"] is False
    agreed.hold_tile(studio, NewHolding("T2", "the studio", "light limit", "M1", next_check=date(2020, 1, 1)))
    assert [h["tile"] for h in ask("agree", "due")["items"]] == ["T2"]
    assert ask("agree", "terms", "M1", "--aim", "as today")["aim"] == "as today"
    said = ask("approve", "C1", "--answer", "approved", "--who", "Ida", "--page", str(tmp_path / "p.html"))
    assert said["approval"]["answer"] == "approved" and Path(said["file"]).stat().st_size > 2000
    assert ask("approve", "C1")["items"][0]["who"] == "Ida"
    assert ask("agree", "show", "M1")["approvals"][0]["id"] == "P1"
