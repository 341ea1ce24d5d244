"""Judging a piece on record: every zone, all readings in the agreed state, limit tiles, tones, concessions."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from patina.bench.matched import agreed, matching
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.studio import Studio, open_studio
from patina.cli import patina
from patina.entries import NewCast, NewConcession, NewHolding, NewMaster, NewPiece, NewReading, NewTile, NewZone
from patina.errors import Incomplete, PatinaError, Refused

BROWN = (26.0, 7.0, 10.0)


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Studio]:
    """A master tile, an agreed finish with limits, two pieces."""
    with open_studio(tmp_path / "studio") as opened:
        for name in ("MASTER", "LIGHT", "DARK"):
            tiles.start_tile(opened, NewTile(name, "C87300", wax_state="waxed"))
        read(opened, "T1", BROWN)
        read(opened, "T2", (28.0, 7.0, 10.0))
        read(opened, "T3", (24.0, 7.0, 10.0))
        casts.agree_master(
            opened,
            NewMaster(
                "Gannet brown",
                BROWN,
                2.0,
                limit_dL=1.8,
                uncertainty_de00=0.3,
                tile="T1",
                wax_state="waxed",
                warmth="cold",
                geometry="d:8 SCI",
            ),
        )
        casts.add_piece(opened, NewPiece("Gannet", edition=9))
        for n in (1, 2):
            casts.add_cast(opened, NewCast("W1", number=f"{n}/9", alloy="C87300", master="M1"))
        yield opened


def read(studio: Studio, target: str, lab: tuple[float, float, float], **more: object) -> None:
    """Five spots by an instrument, waxed and cold unless said otherwise."""
    said = {
        "source": "instrument",
        "sd": (0.4, 0.3, 0.3),
        "n": 5,
        "uncertainty_de00": 0.5,
        "wax_state": "waxed",
        "warmth": "cold",
        "geometry": "d:8 SCI",
        "area": "back",
    } | more
    tiles.add_reading(studio, target, NewReading(*lab, **said))  # type: ignore[arg-type]


def test_all_readings_of_the_piece_count(studio: Studio) -> None:
    """Two readings of five spots each are judged as ten; the ids used are told; the difference is of their mean."""
    read(studio, "C1", (26.6, 7.0, 10.0))
    read(studio, "C1", (25.8, 7.2, 10.0))
    verdict = matching.judge(studio, "M1", "C1")
    assert (verdict.verdict, set(verdict.readings)) == ("pass", {"D4", "D5"})
    assert pytest.approx(26.2) == verdict.comparison.sample_lab.L
    assert "10 readings" in verdict.why
    assert [f.of for f in verdict.findings] == ["ΔE", "ΔL*"]
    assert verdict.chance is not None and verdict.chance > 0.97


def test_near_the_limit_it_cannot_be_told_and_more_readings_are_named(studio: Studio) -> None:
    """With the difference just inside and much scatter, how many readings would decide is said."""
    read(studio, "C1", (26.0, 8.1, 10.3), sd=(1.2, 1.2, 1.2), uncertainty_de00=0.3)
    verdict = matching.judge(studio, "M1", "C1")
    assert verdict.verdict == "cannot be told"
    assert verdict.more is not None and verdict.more > 5
    assert f"{verdict.more} readings" in verdict.remedy


def test_another_state_is_left_out_or_refused_a_verdict(studio: Studio) -> None:
    """Unwaxed readings never decide on a waxed finish; with none waxed it cannot be told, and what helps is said."""
    read(studio, "C1", (30.0, 6.0, 9.0), wax_state="unwaxed")
    verdict = matching.judge(studio, "M1", "C1")
    assert verdict.verdict == "cannot be told" and "predict" in verdict.remedy
    read(studio, "C1", BROWN)
    after = matching.judge(studio, "M1", "C1")
    assert (after.verdict, after.readings) == ("pass", ("D5",))
    assert any("left out" in c for c in after.cautions)


def test_a_reading_without_a_stated_uncertainty_never_passes(studio: Studio) -> None:
    """Unknown doubt of the instrument is not zero doubt."""
    read(studio, "C1", BROWN, uncertainty_de00=None)
    assert matching.judge(studio, "M1", "C1").verdict == "cannot be told"
    assert matching.judge(studio, "M1", "26,7,10").verdict == "cannot be told"


def test_a_two_tone_finish_of_the_same_mean_does_not_pass(studio: Studio) -> None:
    """A smooth brown and a two-tone one with equal means differ by their tones."""
    tones = ((20.0, 7.0, 10.0, 0.5), (32.0, 7.0, 10.0, 0.5))
    read(studio, "C1", BROWN, source="photograph", parts=tones, uncertainty_de00=0.5)
    verdict = matching.judge(studio, "M1", "C1")
    assert verdict.comparison.difference.delta_e == pytest.approx(0.0)
    assert verdict.verdict == "cannot be told" and verdict.mottle[0].distance > 2
    agreed.agree_zone(studio, NewZone("M1", "face", ("T1",)))
    read(studio, "T1", BROWN, source="photograph", parts=((26.0, 7.0, 10.0, 1.0),))
    casts.agree_master(
        studio, NewMaster("Even", BROWN, 2.0, uncertainty_de00=0.3, tile="T1", wax_state="waxed", warmth="cold")
    )
    assert matching.judge(studio, "M2", "C1").verdict == "fail"


def test_zones_are_judged_apart_and_a_zone_not_read_is_missing(studio: Studio) -> None:
    """Each agreed zone has its own colour and limit tiles; without one of them the piece does not pass."""
    agreed.agree_zone(studio, NewZone("M1", "face", ("T1",), light="T2", dark="T3"))
    agreed.agree_zone(studio, NewZone("M1", "whole", ("T1",)))
    sheet = agreed.agreed_sheet(studio, "M1")
    assert [(z.zone, z.n, z.light_tile) for z in sheet.zones] == [("face", 5, "T2"), ("whole", 5, None)]
    read(studio, "C1", BROWN, area="face")
    verdict = matching.judge(studio, "M1", "C1")
    assert (verdict.verdict, verdict.missing) == ("cannot be told", ("whole",))
    assert {f.of for f in verdict.findings} == {"ΔE", "ΔL*", "light limit", "dark limit"}
    read(studio, "C1", (33.0, 7.0, 10.0), area="whole")
    assert matching.judge(studio, "M1", "C1").verdict == "fail"


def test_the_error_of_camera_and_chart_does_not_go_away_with_more_areas(studio: Studio) -> None:
    """Of several areas read in photographs the correction's part stays as it is; the scatter of the areas is
    taken from themselves."""
    for L in (25.8, 26.1, 26.3, 25.9, 26.0, 26.2):
        read(studio, "C1", (L, 7.0, 10.0), source="photograph", n=1, uncertainty_de00=1.4, doubt_de00=(1.0, 0.9))
    delta_e = matching.judge(studio, "M1", "C1").findings[0]
    assert delta_e.expanded is not None and 0.9 < delta_e.expanded < 1.2


def test_a_zone_is_agreed_from_readings_in_the_agreed_state_with_limits_in_order(studio: Studio) -> None:
    """An unwaxed reading does not become part of a waxed finish; exchanged limit tiles are refused; nothing is kept."""
    read(studio, "T1", (30.0, 7.0, 10.0), wax_state="unwaxed")
    for entry in (NewZone("M1", "face", ("D4",)), NewZone("M1", "face", ("T1",), light="T3", dark="T2")):
        with pytest.raises(PatinaError):
            agreed.agree_zone(studio, entry)
    assert [z.zone for z in agreed.agreed_sheet(studio, "M1").zones] == ["whole"]


def test_a_concession_is_kept_and_moves_nothing(studio: Studio) -> None:
    """A conceded piece stays failed; the agreed colour and its limits stay what they were."""
    read(studio, "C2", (31.0, 7.0, 10.0))
    before = agreed.agreed_sheet(studio, "M1")
    with pytest.raises(Incomplete):
        agreed.concede(studio, NewConcession("M1", "C2", "", "the artist"))
    after = agreed.concede(studio, NewConcession("M1", "C2", "seen outdoors it passes", "the artist"))
    assert (after.master, after.zones) == (before.master, before.zones)
    assert after.concessions[0].piece == "C2" and after.concessions[0].difference > 3
    assert matching.judge(studio, "M1", "C2").verdict == "fail"
    read(studio, "C1", BROWN)
    with pytest.raises(Refused):
        agreed.concede(studio, NewConcession("M1", "C1", "no need", "the artist"))


def test_an_agreed_zone_or_term_never_moves(studio: Studio) -> None:
    """A zone agreed twice, or terms twice, are refused."""
    agreed.agree_zone(studio, NewZone("M1", "face", ("T1",)))
    agreed.agree_terms(studio, "M1", aim="as today", limit_mottle=3.0)
    for again in (
        lambda: agreed.agree_zone(studio, NewZone("M1", "Face", ("T2",))),
        lambda: agreed.agree_terms(studio, "M1"),
    ):
        with pytest.raises(Refused):
            again()
    assert agreed.agreed_sheet(studio, "M1").aim == "as today"


def test_who_holds_which_tile_and_what_is_due(studio: Studio) -> None:
    """The newest word on a tile counts; a check that has come is due, with what the tile did since."""
    agreed.hold_tile(studio, NewHolding("T1", "studio", master="M1", kept="dark", next_check=date(2026, 1, 1)))
    agreed.hold_tile(studio, NewHolding("T2", "studio", "light limit", "M1", next_check=date(2026, 1, 1)))
    agreed.hold_tile(studio, NewHolding("T2", "the foundry", "light limit", "M1", next_check=date(2100, 1, 1)))
    read(studio, "T1", (26.5, 7.0, 10.0))
    due = agreed.checks_due(studio, date(2026, 6, 1))
    assert [h.tile for h in due] == ["T1"]
    assert due[0].drift_de is not None and 0.3 < due[0].drift_de < 0.6
    held = {h.tile: h.holder for h in agreed.agreed_sheet(studio, "M1").holdings}
    assert held == {"T1": "studio", "T2": "the foundry"}


def test_only_readings_since_the_last_treatment_count(studio: Studio) -> None:
    """A piece that was patinated again is judged by what was read after it."""
    from patina.entries import NewTreatment

    read(studio, "C1", (40.0, 2.0, 2.0), read_at=_moment("2026-01-10T10:00:00+00:00"))
    casts.add_treatment(studio, NewTreatment("C1", "patinated", done_on=date(2026, 2, 1)))
    read(studio, "C1", BROWN, read_at=_moment("2026-02-02T10:00:00+00:00"))
    assert matching.judge(studio, "M1", "C1").readings == ("D5",)


def _moment(text: str) -> object:
    from datetime import datetime

    return datetime.fromisoformat(text)


def test_judge_on_the_command_line(studio: Studio) -> None:
    """One JSON document with the verdict, its findings and what would decide."""
    read(studio, "C1", BROWN)
    result = CliRunner().invoke(patina, ["--studio", studio.where, "judge", "M1", "C1", "--json"])
    said = json.loads(result.output)
    assert (said["verdict"], said["findings"][0]["of"], said["limit_de"]) == ("pass", "ΔE", 2.0)
