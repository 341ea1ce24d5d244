"""A bundle of a treatment is understood by somebody who never saw the program: its words, scales, columns, sources."""

from __future__ import annotations

import io
from pathlib import Path

import pypdf
import pytest
from archive_files import parts_of

from patina.bench.paper import archive
from patina.bench.pieces import casts
from patina.bench.studio import Studio
from patina.bench.treating import treat
from patina.conservation.vocabulary import scales, terms, triggers
from patina.entries import NewCast, NewPiece
from patina.records.archive.papers import meaning_of
from patina.records.archive.shape import shapes

pytestmark = pytest.mark.one_engine("sqlite", why="what is looked at is the file, not the database it came from")
# columns whose name says all that there is to say
PLAIN = {
    "aim",
    "coats",
    "dated",
    "drafted_on",
    "finished_on",
    "name",
    "passes",
    "result",
    "seen_on",
    "supplier",
    "visits",
}


def test_terms_scales_triggers_and_sources_lie_in_the_bag(studio: Studio, tmp_path: Path) -> None:
    """One sheet explains every term, step and trigger, and gives the codes and standards in full."""
    piece = casts.add_piece(studio, NewPiece("Gate", "Somebody"))
    casts.add_cast(studio, NewCast(piece.id, "1/2"))
    treat.begin_treatment(studio, {"cast": "C1", "name": "cleaning"})
    sheet = archive.archive(studio, "CT1", tmp_path / "b.zip")
    assert sheet.not_printed == ()
    parts = parts_of(tmp_path / "b.zip")
    assert parts["data/README.txt"].decode().startswith("ARCHIVE BUNDLE OF conservator's treatment CT1, cleaning")
    assert b"words-and-sources.pdf" in parts["data/README.txt"]
    pages = pypdf.PdfReader(io.BytesIO(parts["data/printed/words-and-sources.pdf"])).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    for words in (*(t.name for t in terms().values()), *(t.name for t in triggers().values())):
        assert words in text, words
    for step in scales():
        assert step.meaning.split(",")[0] in text, step.meaning
    for words in ("American Institute for Conservation", "Code of Ethics (2003)", "Written from memory", "AAT 300"):
        assert words in text, words


def test_what_people_write_of_a_treatment_is_explained_column_by_column() -> None:
    """No column of a conservator's record is explained by a repetition of its own name, but those that are plain."""
    for shape in shapes().values():
        if not shape.name.startswith("conservation"):
            continue
        for column in shape.columns:
            said = meaning_of(shape, column).removesuffix("; empty: not known")
            if column.to is None and column.key not in PLAIN:
                assert said != column.key.replace("_", " "), f"{shape.name}.{column.key}: {said}"
