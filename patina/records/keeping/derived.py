"""What is worked out from other records and kept, and the proof that it still follows from them.

| kept | follows from | proved in |
|---|---|---|
| words a record is found by, and their index | its own fields | `found_words`, `word_index`, `middles` |
| a recipe's name as names are compared | its name | `folded_names` |
| list columns, hash and number of a revision | its document | `check.py` |
| which substances a revision uses | its document | `substances_used` |
| what is left of a lot, of a batch | movements, uses | `check.py` |
| until when a batch may be used | the time it was mixed and its solution | `batches` |
| what was asked to be weighed | strength and volume of the solution | `asked_otherwise` (a note: a person may ask so) |
| age of a batch at a strip check, its potency | time mixed and time checked | `strip_checks` |
| which reading is the newest | times of the readings | `check.py` |
| numbers and spread of a zone's readings | the readings | `zones` |
| expanded uncertainty of a reading | its two parts | `doubts` |
| shares of the tones of a reading | they make one whole | `tones` |
| difference shown at a viewing | both colours and the formula | `viewings` |
| difference of a concession | agreed colour and the piece's readings | `concessions` |
| numbers of passes, what was used at the torch | the events before | `passes` |
| area of the zones of a work | the piece's area | `areas` (a note: a person may work on a part) |
| hash of a seal, numbers of amendments | the rows that were signed | `seals` |
| hash and size of a photograph | its bytes | `check.py` |
| hash of each change, end of the log | the changes | `check.py` |
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import timedelta
from itertools import groupby
from typing import TYPE_CHECKING, Any

from sqlalchemy import exc, func, select
from sqlalchemy.orm import Session

from patina.errors import PatinaError
from patina.records.finding.naming import is_marked, marked, names_of, words_of
from patina.records.finding.record_words import kinds_with_words, own_words
from patina.records.finding.searching import grams_of
from patina.records.recipes.recipes import fold_name
from patina.records.tables.base import Edited, searchable
from patina.records.tables.first import GramRow, RecipeTable, RevisionSubstance, RevisionTable, WordRow
from patina.records.tables.recipe_json import recipe_from
from patina.records.tables.safety import BatchMarkTable
from patina.records.tables.shelf import BatchTable, BatchWeighed, LotTable
from patina.records.tables.work import StripCheckTable, WorkTable

if TYPE_CHECKING:
    from patina.chemistry.substances import Catalogue

# what hours and shares may be off by the rounding of a double
TINY = 1e-6
# a moment is kept twice, some milliseconds apart
A_MINUTE_H = 1 / 60


# -- the words a record is found by ----------------------------------------------------------------


def found_words(session: Session) -> Iterator[str]:
    """Every record can be found by its own words."""
    for kind in kinds_with_words():
        for row in session.scalars(select(kind).order_by(kind.id).execution_options(yield_per=500)):
            try:
                missing = words_of(searchable(*own_words(session, row))) - words_of(row.search_text)
            except exc.InvalidRequestError:  # it points at a row that is gone, which is said elsewhere
                continue
            # a pot and a work are named by their recipe as it was called then
            if missing and not (isinstance(row, BatchTable | WorkTable) and _renamed(session, row, missing)):
                yield f"{row.public_id} is not found by its own words: {', '.join(sorted(missing)[:3])} stands nowhere."
            session.expunge(row)


def _renamed(session: Session, row: BatchTable | WorkTable, missing: set[str]) -> bool:
    recipe_id = session.get_one(RevisionTable, row.revision_id).recipe_id
    names = session.scalars(select(RevisionTable.document).where(RevisionTable.recipe_id == recipe_id))
    called = [str(document["name"]) for document in names]
    return missing <= words_of(" ".join(called)) and any(words_of(n) <= words_of(row.search_text) for n in called)


def word_index(session: Session) -> Iterator[str]:
    """The index of words holds the words of each record's text and no others."""
    for mapper in RecipeTable.registry.mappers:
        kind = mapper.class_
        if not issubclass(kind, Edited):
            continue
        words = select(WordRow.record_id, WordRow.word).where(WordRow.letter == kind.LETTER).order_by(WordRow.record_id)
        rows = session.execute(words.execution_options(yield_per=5000))
        indexed = groupby(rows, key=lambda r: r[0])
        texts = select(kind.id, kind.search_text).order_by(kind.id).execution_options(yield_per=1000)
        names = names_of(session, kind)
        at = next(indexed, None)
        for id, text in session.execute(texts):
            while at is not None and at[0] < id:
                yield f"The index of words holds words of {kind.LETTER}{at[0]}, which is not there."
                at = _next(at, indexed)
            found: set[str] = set()
            if at is not None and at[0] == id:
                found = {word for _, word in at[1]}
                at = next(indexed, None)
            if found != words_of(text) | marked(names.get(id, "")):
                yield f"The index of words does not hold the words of {kind.LETTER}{id}."
        if at is not None:
            yield f"The index of words holds words of {kind.LETTER}{at[0]}, which is not there."


def middles(session: Session) -> Iterator[str]:
    """Every word is found from its middle: all the threes of signs in it are in the index."""
    counted = select(GramRow.letter, GramRow.word, func.count()).group_by(GramRow.letter, GramRow.word)
    kept = {(letter, word): n for letter, word, n in session.execute(counted.execution_options(yield_per=5000))}
    here = select(WordRow.letter, WordRow.word).distinct().execution_options(yield_per=5000)
    for letter, word in session.execute(here):
        if not is_marked(word) and kept.get((letter, word), 0) != len(grams_of(word)):
            yield f"The word '{word}' is not found from its middle."


def _next(at: Any, indexed: Any) -> Any:
    for _ in at[1]:
        pass
    return next(indexed, None)


def folded_names(session: Session) -> Iterator[str]:
    """A recipe's name as names are compared."""
    query = select(RecipeTable.id, RecipeTable.name, RecipeTable.name_folded)
    for id, name, folded in session.execute(query.execution_options(yield_per=1000)):
        if fold_name(name) != folded:
            yield f"The name of recipe R{id} is compared as '{folded[:60]}'."


def substances_used(session: Session) -> Iterator[str]:
    """Which substances each revision uses."""
    listed: dict[int, set[str]] = defaultdict(set)
    for revision_id, substance in session.execute(select(RevisionSubstance.revision_id, RevisionSubstance.substance)):
        listed[revision_id].add(substance)
    query = select(RevisionTable.id, RevisionTable.recipe_id, RevisionTable.number, RevisionTable.document)
    for id, recipe_id, number, document in session.execute(query.execution_options(yield_per=500)):
        used = {i["substance"] for s in document["solutions"] for i in s["ingredients"]}
        if listed.get(id, set()) != used:
            yield f"Revision {number} of recipe R{recipe_id} is listed under other substances than it uses."


# -- pots ------------------------------------------------------------------------------------------


def batches(session: Session) -> Iterator[str]:
    """Until when each batch may be used: as its recipe says, or sooner where a clock runs in it."""
    marked = session.execute(select(BatchMarkTable.batch_id, BatchMarkTable.discard_by))
    gone_by = {row.batch_id: row.discard_by for row in marked}
    query = select(BatchTable, RevisionTable.document).join(RevisionTable, RevisionTable.id == BatchTable.revision_id)
    for row, document in session.execute(query.execution_options(yield_per=500)):
        solution = next((s for s in document["solutions"] if s["name"] == row.solution), None)
        if solution is None:
            yield f"Batch {row.public_id} is of a solution '{row.solution}' that its recipe does not hold."
            continue
        hours = solution.get("use_within_h")
        until = None if hours is None else row.made_at + timedelta(hours=hours)
        ends = [end for end in (until, gone_by.get(row.id)) if end is not None]
        if min(ends, default=None) != row.use_until:
            yield f"Batch {row.public_id} may be used until another time than its recipe says."


def asked_otherwise(session: Session, known: Catalogue) -> Iterator[str]:
    """Pots for which something else was asked to be weighed than strength and volume come to: in the form and
    assay of the recipe, or of the lot it was weighed from."""
    query = (
        select(BatchTable, RevisionTable.document, BatchWeighed, LotTable.assay_pct)
        .join(RevisionTable, RevisionTable.id == BatchTable.revision_id)
        .join(BatchWeighed, BatchWeighed.batch_id == BatchTable.id)
        .outerjoin(LotTable, LotTable.id == BatchWeighed.lot_id)
        .order_by(BatchTable.id, BatchWeighed.place)
    )
    for batch, document, line, assay in session.execute(query.execution_options(yield_per=500)):
        wanted = _amounts(known, document, batch, line, assay)
        if wanted and all(abs(line.asked - w) > max(0.011, 0.01 * w) for w in wanted):
            yield (
                f"{line.asked:g} {line.unit} of {line.substance.replace('_', ' ')} were asked for batch "
                f"{batch.public_id}; its strength and volume come to {wanted[0]:.4g} {line.unit}."
            )


def _amounts(
    known: Catalogue, document: dict[str, Any], batch: BatchTable, line: BatchWeighed, assay: float | None
) -> list[float]:
    from patina.chemistry.weighing import weigh

    solution = next((s for s in recipe_from(document).solutions if s.name == batch.solution), None)
    found: list[float] = []
    for ingredient in solution.ingredients if solution is not None else ():
        if ingredient.substance != line.substance:
            continue
        for told in dict.fromkeys((assay, None)):
            try:
                weighed = weigh(known.get(line.substance), ingredient.strength, batch.volume_ml, have_assay_pct=told)
            except PatinaError:
                continue
            if weighed.unit == line.unit:
                found.append(weighed.amount)
    return found


def strip_checks(session: Session) -> Iterator[str]:
    """How old a batch was when a strip was held into it, from which its potency follows."""

    query = select(StripCheckTable, BatchTable.made_at).join(BatchTable, BatchTable.id == StripCheckTable.batch_id)
    for row, made_at in session.execute(query):
        age_h = (row.at - made_at).total_seconds() / 3600
        if abs(age_h - row.age_h) > A_MINUTE_H:
            yield f"Strip check {row.public_id} says {row.age_h:.2f} h; the batch was {age_h:.2f} h old."
