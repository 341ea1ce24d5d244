"""Signing off a record, and adding to what was signed."""

from __future__ import annotations

from patina.bench.studio import Studio
from patina.errors import Incomplete, PatinaError, Refused
from patina.sheets.history import SealSheet

LONGEST = 4000
STATEMENT = "Read through; complete and right to the best of my knowledge."


def seal_of(studio: Studio, which: str, *, revision: int | None = None) -> SealSheet:
    """How a record was signed off and what was added since; ``sealed`` is False where nobody signed.

    which: id of a recipe (of which one revision is meant), agreed finish, cast or treatment record; any
    other record may have amendments. Raises NotFound.
    """
    from patina.records.history import signing
    from patina.records.history.past_words import kind_words

    with studio.store.view() as session:
        try:
            kind, row = signing.named(session, which, revision)
            word = kind.word
        except Refused:
            row = signing.record_of(session, which)
            word = kind_words(row.__tablename__)
        return signing.seal_sheet(session, row, word)


def seal(
    studio: Studio, which: str, statement: str = STATEMENT, *, revision: int | None = None, by: str = ""
) -> SealSheet:
    """Sign a record off: who, when, with which words, and the hash of its content. It is never edited again.

    which: id of a recipe (its latest revision unless said), agreed finish, cast (its finish record as it stands)
    or treatment record. Raises Incomplete without a statement or a name, NotFound, Refused where it is signed.
    """
    from patina.records.history import signing
    from patina.records.studio.unit import unit

    who = studio.who(by)
    _complete(("statement", statement, "What is signed"), ("by", who, "Who signs"))
    with unit(studio.store, "seal record", by=who, why=statement.strip()) as work:
        kind, row = signing.named(work.session, which, revision)
        signing.add_seal(work.session, kind, row, statement=statement.strip(), by=work.by)
        sheet = signing.seal_sheet(work.session, row, kind.word)
        work.commit()
    return sheet


def amend(studio: Studio, which: str, words: str, why: str, *, revision: int | None = None, by: str = "") -> SealSheet:
    """Add words to a record that is never edited again, with the reason. It stays as it was and shows them.

    Raises Incomplete, NotFound; Refused for a record that is not signed off and may be edited.
    """
    from patina.records.history import signing
    from patina.records.history.past_words import kind_words
    from patina.records.history.undo import frozen_kinds
    from patina.records.log.seals import seal_row
    from patina.records.studio.unit import unit

    who = studio.who(by)
    _complete(("words", words, "What is added"), ("why", why, "Why it is added"), ("by", who, "Who adds it"))
    with unit(studio.store, "amend record", by=who, why=why.strip()) as work:
        try:
            kind, row = signing.named(work.session, which, revision)
            word = kind.word
        except Refused:
            row = signing.record_of(work.session, which)
            word = kind_words(row.__tablename__)
        fixed = row.__tablename__ in frozen_kinds(work.session)
        if seal_row(work.session, row) is None and not fixed:
            raise Refused(
                f"{row.public_id} is not signed off.", "Edit it; the log keeps what it was. Or sign it off first."
            )
        signing.add_amendment(work.session, row, words=words.strip(), why=why.strip(), by=work.by)
        sheet = signing.seal_sheet(work.session, row, word)
        work.commit()
    return sheet


def _complete(*fields: tuple[str, str, str]) -> None:
    troubles: list[PatinaError] = []
    for field, text, what in fields:
        if not text.strip():
            troubles.append(Refused(f"{what} is not said.", "Say it in a few words.", field=field))
        elif len(text) > LONGEST:
            troubles.append(Refused(f"{what} is too long.", f"Write up to {LONGEST} characters.", field=field))
    if troubles:
        raise Incomplete(troubles)
