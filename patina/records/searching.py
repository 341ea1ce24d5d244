"""Searching: every word must begin a word of the record, in any order, in any case.

Each record's words stand in an index, so that finding takes as long in a large studio as in a small one.
A word that no word begins with is looked for in the middle of words, by the threes of signs in it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from math import isqrt
from typing import Any

from sqlalchemy import ColumnElement, False_, and_, delete, exists, false, func, insert, select
from sqlalchemy.orm import Session, aliased

from patina.records.base import Edited, level
from patina.records.ids import number_of
from patina.records.tables import GramRow, WordRow

LONGEST_WORD = 60
THREE = 3
# So many of anything are counted before a word counts as one that very many have.
COMMON = 5000
# So many records are looked at one by one whatever the size of the studio.
FEW = 250
# A page of more than this is read as one list.
LONGEST_PAGE = 500
# So many words with the same signs in them are looked up one by one.
MANY_WORDS = 200
_PARTS = re.compile(r"[^\w]+")
_LAST = "\U0010ffff"
_AT_ONCE = 500


Having = Callable[[Any], list[ColumnElement[bool]]]


def words_of(said: str) -> set[str]:
    """The words of a text, level in case: whole as written, and in parts where marks divide them.

    >>> sorted(words_of("Liver-of sulphur (K2S)"))
    ['(k2s)', 'k2s', 'liver', 'liver-of', 'of', 'sulfur']
    """
    found: set[str] = set()
    for word in level(said).split():
        found.add(word[:LONGEST_WORD])
        found |= {part[:LONGEST_WORD] for part in _PARTS.split(word) if part}
    return found


def grams_of(word: str) -> set[str]:
    """The threes of signs in a word, and the shorter ones that end it: so every one or two signs in a word
    begin one of them.

    >>> sorted(grams_of("moss"))
    ['mos', 'oss', 's', 'ss']
    """
    return {word[i : i + THREE] for i in range(len(word))}


def index_words(session: Session, changed: Iterable[Edited]) -> None:
    """Bring the index up to date for records whose text is new or changed."""
    rows: list[dict[str, Any]] = []
    for record in changed:
        mine = (WordRow.letter == record.LETTER) & (WordRow.record_id == record.id)
        # no word is ever held as an object, so the session need not look through all it holds for each
        session.execute(delete(WordRow).where(mine), execution_options={"synchronize_session": False})
        rows += [
            {"word": word, "letter": record.LETTER, "record_id": record.id} for word in words_of(record.search_text)
        ]
    if rows:
        index_middles(session, {(row["letter"], row["word"]) for row in rows})
        session.execute(insert(WordRow), rows)


def index_middles(session: Session, words: set[tuple[str, str]]) -> None:
    """Let words, each with the letter of its kind of record, be found by their middles. A word stays in this
    part of the index when the last record that had it is gone: it finds nothing then."""
    new: list[dict[str, str]] = []
    for letter in sorted({letter for letter, _ in words}):
        asked = sorted(word for of, word in words if of == letter)
        for first in range(0, len(asked), _AT_ONCE):
            some = asked[first : first + _AT_ONCE]
            begins = {word[:THREE] for word in some}  # a word that is there has its first three there
            here = (GramRow.letter == letter) & GramRow.gram.in_(begins) & GramRow.word.in_(some)
            known = set(session.scalars(select(GramRow.word).where(here)))
            new += [{"letter": letter, "gram": g, "word": w} for w in some if w not in known for g in grams_of(w)]
    if new:
        session.execute(_or_ignore(session), new)


def _or_ignore(session: Session) -> Any:
    if session.get_bind().dialect.name == "postgresql":
        from sqlalchemy.dialects.postgresql import insert as insert_there

        return insert_there(GramRow).on_conflict_do_nothing()
    return insert(GramRow).prefix_with("OR IGNORE")


def found_by(
    session: Session, table: type[Edited], asked: str, *, anywhere: bool | None = None, page: int | None = None
) -> ColumnElement[bool]:
    """The condition that a record of the table holds every word of a text that is not empty.

    anywhere: False looks at the beginnings of words only, True in the middle of them as well; None looks in
    the middle for a word that no word begins with. page: how many records are wanted in the order in which they
    are shown, None for all that are found. Where few records have one of the words, these are looked at; where
    many have each, the records are gone through in the order in which they are shown until the page is full.
    """
    most = _most(session, table, page)
    words: dict[str, Having] = {}
    rarest: tuple[int, str] | None = None
    for word in dict.fromkeys(word[:LONGEST_WORD] for word in level(asked).split()):
        having, many = _having(session, table, word, anywhere, most if rarest is None else min(most, rarest[0]))
        if many == 0:
            return false()
        if rarest is None or many < rarest[0]:
            rarest = many, word
        words[word] = having
    if rarest is None or rarest[0] > most:
        return and_(*(_of_each(table, having) for having in words.values()))
    first = words.pop(rarest[1])
    others = [_of_each(table, having) for having in words.values()]
    return and_(table.id.in_(select(WordRow.record_id).where(*first(WordRow))), *others)


def _most(session: Session, table: type[Edited], page: int | None) -> int:
    """How many records may have a word for it to be cheaper to look at all of these than to go through the
    records in order: both take the same time at the root of all times those wanted."""
    if page is None:
        return COMMON
    return max(FEW, isqrt((session.scalar(select(func.max(table.id))) or 0) * page))


def _having(session: Session, table: type[Edited], word: str, anywhere: bool | None, most: int) -> tuple[Having, int]:
    """The conditions on rows of the index that have a word; and how many there are, at most one more than most."""
    if not anywhere:
        begins = _beginning(table.LETTER, word)
        many = _how_many(session, begins(WordRow), most)
        if many or anywhere is False:
            return begins, many
    return _in_the_middle(session, table.LETTER, word, most)


def _how_many(session: Session, conditions: list[ColumnElement[bool]], most: int) -> int:
    some = select(WordRow.record_id).where(*conditions).limit(most + 1)
    return session.scalar(select(func.count()).select_from(some.subquery())) or 0


def _beginning(letter: str, word: str) -> Having:
    return lambda row: [row.letter == letter, row.word >= word, row.word < word + _LAST]


def _in_the_middle(session: Session, letter: str, word: str, most: int) -> tuple[Having, int]:
    """Of a word that stands anywhere in words: these words where they are few, else to be seen by each record."""
    where = _rarest(session, letter, word)
    within = select(GramRow.word).where(*where, GramRow.word.contains(word, autoescape=True)).distinct()
    words = session.scalars(within.limit(MANY_WORDS + 1)).all()
    if len(words) > MANY_WORDS:
        return lambda row: [row.letter == letter, row.word.contains(word, autoescape=True)], most + 1
    having: Having = lambda row: [row.letter == letter, row.word.in_(words)]  # noqa: E731
    return having, _how_many(session, having(WordRow), most) if words else 0


def _rarest(session: Session, letter: str, word: str) -> list[ColumnElement[bool]]:
    """The conditions on the threes of signs by which the words are found that have a word in them."""
    if len(word) < THREE:  # every sign of a word stands first in one of its threes or in what ends it
        return [GramRow.letter == letter, GramRow.gram >= word, GramRow.gram < word + _LAST]
    fewest: tuple[int, str] | None = None
    for gram in sorted({word[i : i + THREE] for i in range(len(word) - THREE + 1)}):
        some = select(GramRow.word).where(GramRow.letter == letter, GramRow.gram == gram)
        some = some.limit(COMMON if fewest is None else fewest[0])
        many = session.scalar(select(func.count()).select_from(some.subquery())) or 0
        if fewest is None or many < fewest[0]:
            fewest = many, gram
        if many <= MANY_WORDS:
            break
    assert fewest is not None
    return [GramRow.letter == letter, GramRow.gram == fewest[1]]


def _of_each(table: type[Edited], having: Having) -> ColumnElement[bool]:
    """Whether a record has a word, looked up by the record."""
    row = aliased(WordRow)
    return exists(select(row.record_id).where(row.record_id == table.id, *having(row)))


def page_of(
    session: Session, table: type[Edited], asked: str, order: Sequence[Any], *, limit: int, offset: int = 0
) -> list[int]:
    """Numbers of the records that hold every word of a text or bear it as their id: one page of them.

    order: how they are shown. limit: how many are wanted; offset: how many come before the page.
    """
    number = number_of(asked, table.LETTER)
    words = found_by(session, table, asked, page=limit + offset)
    return numbers(session, table, words, number, order, limit=limit, offset=offset)


def numbers(
    session: Session,
    table: type[Edited],
    words: ColumnElement[bool],
    number: int | None,
    order: Sequence[Any],
    *,
    limit: int,
    offset: int = 0,
) -> list[int]:
    """One page of those for which a condition holds, and of the one of that number."""
    ids = select(table.id)
    if number is None and isinstance(words, False_):
        return []
    if number is None:
        return list(session.scalars(ids.where(words).order_by(*order).limit(limit).offset(offset)))
    # put together afterwards: with "or" between them, a database would go through all records
    some = {*session.scalars(ids.where(words).order_by(*order).limit(limit + offset)), number}
    return list(session.scalars(ids.where(table.id.in_(some)).order_by(*order).limit(limit).offset(offset)))


def mended(session: Session, table: type[Edited], asked: str) -> str:
    """A text with each word that begins no word of the records changed into the one that comes closest; such a
    word is looked for among those that share signs with it."""
    from difflib import get_close_matches

    words: list[str] = []
    for word in dict.fromkeys(word[:LONGEST_WORD] for word in level(asked).split()):
        if not _how_many(session, _beginning(table.LETTER, word)(WordRow), 1):
            alike = select(GramRow.word).where(GramRow.letter == table.LETTER, GramRow.gram.in_(grams_of(word)))
            close = get_close_matches(word, session.scalars(alike.distinct().limit(COMMON)), n=1, cutoff=0.6)
            words += close or [word]
        else:
            words.append(word)
    return " ".join(words)
