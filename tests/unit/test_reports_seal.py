"""A record that was signed off says so on paper and as a page, with every amendment and the hash."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest
from report_treatment import treated

from patina.bench.paper.print_reports import treatment_report
from patina.bench.paper.printing import finish_record
from patina.bench.sealing import amend, seal
from patina.bench.studio import Studio, open_studio
from patina.bench.treating import treat
from patina.reports.document import Caution
from patina.reports.seal_words import seal_blocks
from patina.sheets.history import SealSheet

STATEMENT = "Read aloud to the owner in daylight."
ADDED = "The left foot was toned a second time."
WHY = "left out of the log by mistake"


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Studio, str, str]]:
    """A studio with a treatment and the cast it was done on."""
    with open_studio(tmp_path_factory.mktemp("sealed") / "studio") as studio:
        yield studio, treated(studio), "C1"


def words_of(paths: tuple[Path, ...]) -> str:
    """All that stands in a file, with its lines run together."""
    parts = []
    for path in paths:
        if path.suffix == ".pdf":
            parts += [page.extract_text() for page in pypdf.PdfReader(path).pages]
        else:
            parts.append(path.read_text(encoding="utf-8"))
    return " ".join(" ".join(parts).split())


@pytest.mark.parametrize("which", ["treatment", "cast"])
def test_the_seal_and_its_amendments_are_printed(job: tuple[Studio, str, str], tmp_path: Path, which: str) -> None:
    """Nothing of a seal on a record nobody signed; then who, when, the words, the hash, and what was added and why."""
    studio, treatment, cast = job
    id, write = (treatment, treatment_report) if which == "treatment" else (cast, finish_record)
    before = words_of(write(studio, id, tmp_path / "before.html"))
    assert "Signed off" not in before and "Amendments" not in before

    made = seal(studio, id, STATEMENT, by="Tamsin Orrelby")
    amend(studio, id, ADDED, WHY, by="Piet Hallgrove")
    for ending in ("pdf", "html"):
        after = words_of(write(studio, id, tmp_path / f"after.{ending}"))
        for expected in ("Signed off", "Tamsin Orrelby", STATEMENT, made.sha256, ADDED, WHY, "Piet Hallgrove"):
            assert expected in after, expected
        assert "Not what was signed" not in after


def test_a_record_that_is_not_what_was_signed_says_so() -> None:
    """Where a seal's content has another hash now, the paper warns beside the name under it."""
    signed = SealSheet("C1", "finish record", True, STATEMENT, "Tamsin Orrelby", None, "0" * 64, 3, sound=False)
    blocks = [inner for block in seal_blocks(signed) for inner in getattr(block, "blocks", (block,))]
    assert [b.lead for b in blocks if isinstance(b, Caution)] == ["Not what was signed."]
    sound = [
        inner for block in seal_blocks(replace(signed, sound=True)) for inner in getattr(block, "blocks", (block,))
    ]
    assert sound and not any(isinstance(b, Caution) for b in sound)


def test_what_was_signed_and_what_was_not_is_said_apart(tmp_path: Path) -> None:
    """Signing the record off is the author's name under the report, and none under a proposal: each thing that can be
    signed is named with who signed it, or with nobody and what stands in its place."""
    with open_studio(tmp_path / "studio") as studio:
        id = treated(studio)
        newest = max(p.number for p in treat.treatment_sheet(studio, id).record.proposals)
        said = {"aim": "the same, and the toning", "why": "toning was asked for", "drafted_by": "Tamsin Orrelby"}
        sheet = treat.write_part(studio, id, "proposal", said).sheet
        before = [s.line for s in sheet.signed]
        assert before[-2:] == [
            "report: signed by nobody",
            "record as a whole: signed by nobody; it is not signed off and may still be written in",
        ]
        assert f"proposal, version {newest + 1}: signed by nobody" in before
        assert any(m.ask.key == "report_signed" for m in sheet.complete_for("report").missing)
        seal(studio, id, STATEMENT, by="Tamsin Orrelby")
        sheet = treat.treatment_sheet(studio, id)
        assert not any(m.ask.key == "report_signed" for m in sheet.complete_for("report").missing)
        (missing,) = (m for m in sheet.complete_for("proposal").missing if m.ask.key == "signed")
        assert missing.detail == (
            f"Nobody signed version {newest + 1} of the proposal (Tamsin Orrelby signed the record off as a whole, "
            "which is no consent to a proposal)."
        )
        off = sheet.signed[-1]
        assert (off.what, off.who, off.words) == (
            "record as a whole",
            "Tamsin Orrelby",
            "signed off, and never edited since",
        )
        for ending in ("pdf", "html"):
            words = words_of(treatment_report(studio, id, tmp_path / f"said.{ending}"))
            table = words.partition("What was signed, and what was not")[2]
            for expected in (f"proposal, version {newest + 1}", "nobody", "record as a whole", "Tamsin Orrelby"):
                assert expected in table, (ending, expected)
            assert "not signed." not in words and "is not signed," not in words
