"""Searching: every word must begin a word of the record, in any order, in any case.

Each record's words stand in an index, so that finding takes as long in a large studio as in a small one.
A word that no word begins with is looked for in the middle of words, by the threes of signs in it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import isqrt
from typing import Any

from sqlalchemy import ColumnElement, and_, bindparam, delete, exists, false, func, insert, intersect, select, true
from sqlalchemy.orm import Session, aliased

from patina.records.access.rows import limits_of
from patina.records.finding.meeting import LAST, OTHER_WORDS, Beginning, Having, Just, meeting
from patina.records.finding.naming import LONGEST_WORD, NAMED, WHOLE, is_marked, marked, name_of, words_of
from patina.records.tables.base import Edited, level
from patina.records.tables.first import GramRow, WordRow
from patina.records.tables.ids import number_of

THREE = 3
# So many of anything are counted before a word counts as one that very many have.
COMMON = 5000
# So many records are looked at one by one whatever the size of the studio.
FEW = 250
# A page of more than this is read as one list.
LONGEST_PAGE = 500
# So many records that have every word are put in order by looking at each.
MOST_MET = 4000
# So many records are gone through in order before all that have the words are put together.
STEPS = 1500
# So many words with the same signs in them are looked up one by one.
MANY_WORDS = 200
_AT_ONCE = 500


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
        forget_words(session, record)
        rows += [
            {"word": word, "letter": record.LETTER, "record_id": record.id}
            for word in words_of(record.search_text) | marked(name_of(session, record))
        ]
    session.info[OTHER_WORDS] = True
    if rows:
        index_middles(session, {(row["letter"], row["word"]) for row in rows if not is_marked(row["word"])})
        session.execute(insert(WordRow), rows)


def index_names(session: Session, rows: Iterable[Edited]) -> None:
    """Let records whose words are in the index already be found by their names first."""
    named: list[dict[str, Any]] = []
    for row in rows:
        named += [{"word": w, "letter": row.LETTER, "record_id": row.id} for w in marked(name_of(session, row))]
    if named:
        session.execute(insert(WordRow), named)


def forget_words(session: Session, record: Edited) -> None:
    """Take all words of a record out of the index."""
    if session.get_bind().dialect.name == "postgresql" and limits_of(session) is not None:
        # of the words that are figures this login sees none, so it could not delete them
        session.execute(select(func.patina_open.forget_words(record.LETTER, record.id)))
        return
    mine = (WordRow.letter == record.LETTER) & (WordRow.record_id == record.id)
    # no word is ever held as an object, so the session need not look through all it holds for each
    session.execute(delete(WordRow).where(mine), execution_options={"synchronize_session": False})


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


@dataclass(frozen=True)
class Asked:
    """A search of one kind of record. words: the conditions on rows of the index that have each word, with how
    many there are (counted up to a limit). most: so many may have a word for these to be looked at one by one."""

    table: type[Edited]
    words: tuple[tuple[int, Having], ...]
    most: int

    @property
    def nothing(self) -> bool:
        """Whether no record has one of the words."""
        return any(many == 0 for many, _ in self.words)

    def condition(self) -> ColumnElement[bool]:
        """That a record holds every word, where all that do are wanted: those with the rarest are looked at, or
        where many have each, those that have all are put together."""
        rarest = min(self.words, key=lambda word: word[0])
        if rarest[0] <= self.most:
            first = select(WordRow.record_id).where(*rarest[1](WordRow))
            return and_(self.table.id.in_(first), *(_of_each(self.table, w[1]) for w in self.words if w is not rarest))
        each = [select(WordRow.record_id).where(*having(WordRow)) for _, having in self.words]
        return self.table.id.in_(intersect(*each) if len(each) > 1 else each[0])

    def one_by_one(self) -> ColumnElement[bool]:
        """The same, looked up for each record: for going through them until a page is full."""
        return and_(*(_of_each(self.table, having) for _, having in self.words))


def asked_for(
    session: Session, table: type[Edited], asked: str, *, anywhere: bool | None = None, page: int | None = None
) -> Asked:
    """What is sought by a text that is not empty. anywhere: False looks at the beginnings of words only, True in
    the middle of them as well; None looks in the middle for a word that no word begins with. page: how many
    records are wanted, None for all that are found."""
    most = _most(session, table, page)
    words: list[tuple[int, Having]] = []
    for word in dict.fromkeys(word[:LONGEST_WORD] for word in level(asked).split()):
        having, many = _having(session, table, word, anywhere, most)
        words.append((many, having))
        if many == 0:
            break
    return Asked(table, tuple(words), most)


def _most(session: Session, table: type[Edited], page: int | None) -> int:
    if page is None:
        return COMMON
    # looking at all that have a word and going through the records take the same time there
    return max(FEW, isqrt((session.scalar(select(func.max(table.id))) or 0) * page))


def with_words(session: Session, table: type[Edited], words: Iterable[tuple[str, bool]], page: int) -> Asked:
    """A search for rows of the index: each word as it stands there, and whether more may follow it."""
    most = _most(session, table, page)
    asked: list[tuple[int, Having]] = []
    for word, more in words:
        having = Beginning(table.LETTER, word) if more else Just(table.LETTER, word)
        asked.append((_how_many(session, having(WordRow), most), having))
        if asked[-1][0] == 0:
            break
    return Asked(table, tuple(asked), most)


def found_by(session: Session, table: type[Edited], asked: str) -> ColumnElement[bool]:
    """The condition that a record of the table holds every word of a text that is not empty."""
    found = asked_for(session, table, asked)
    return false() if found.nothing else found.condition()


def _having(session: Session, table: type[Edited], word: str, anywhere: bool | None, most: int) -> tuple[Having, int]:
    """The conditions on rows of the index that have a word; and how many there are, at most one more than most."""
    if not anywhere:
        begins = Beginning(table.LETTER, word)
        many = _how_many(session, begins(WordRow), most)
        if many or anywhere is False:
            return begins, many
    return _in_the_middle(session, table.LETTER, word, most)


def _how_many(session: Session, conditions: list[ColumnElement[bool]], most: int) -> int:
    some = select(WordRow.record_id).where(*conditions).limit(most + 1)
    return session.scalar(select(func.count()).select_from(some.subquery())) or 0


def _in_the_middle(session: Session, letter: str, word: str, most: int) -> tuple[Having, int]:
    """Of a word that stands anywhere in words: these words where they are few, else to be seen by each record."""
    where = _rarest(session, letter, word)
    within = select(GramRow.word).where(*where, GramRow.word.contains(word, autoescape=True)).distinct()
    words = session.scalars(within.limit(MANY_WORDS + 1)).all()
    if len(words) > MANY_WORDS:
        return lambda row: [
            row.letter == letter,
            row.word.contains(word, autoescape=True),
            *(~row.word.startswith(mark) for mark in (NAMED, WHOLE)),  # names stand there for another question
        ], most + 1
    having: Having = lambda row: [row.letter == letter, row.word.in_(words)]  # noqa: E731
    return having, _how_many(session, having(WordRow), most) if words else 0


def _rarest(session: Session, letter: str, word: str) -> list[ColumnElement[bool]]:
    """The conditions on the threes of signs by which the words are found that have a word in them."""
    if len(word) < THREE:  # every sign of a word stands first in one of its threes or in what ends it
        return [GramRow.letter == letter, GramRow.gram >= word, GramRow.gram < word + LAST]
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
    session: Session,
    table: type[Edited],
    asked: str,
    by: Any,
    *,
    backwards: bool = False,
    limit: int,
    offset: int = 0,
) -> list[int]:
    """Numbers of the records that hold every word of a text or bear it as their id: one page of them.

    by: the column in whose order they are shown. limit: how many are wanted; offset: how many come before the page.
    """
    found = asked_for(session, table, asked, page=limit + offset)
    number = number_of(asked, table.LETTER)
    return numbers(session, found, number, by, backwards=backwards, limit=limit, offset=offset)


def numbers(
    session: Session,
    found: Asked,
    number: int | None,
    by: Any,
    *,
    backwards: bool = False,
    limit: int,
    offset: int = 0,
) -> list[int]:
    """One page of what is found, and of the record of that number."""
    table = found.table
    some = first_numbers(session, found, by, backwards, limit + offset)
    if number is not None:  # put together afterwards: with "or" between them, all records would be gone through
        both = select(table.id).where(table.id.in_({*some, number}))
        some = list(session.scalars(both.order_by(by.desc() if backwards else by)))
    return some[offset : offset + limit]


def first_numbers(session: Session, found: Asked, by: Any, backwards: bool, wanted: int) -> list[int]:
    """The first so many of what is found. Where many records have each word, a page is nearly always full after
    the first records in order; where it is not (words that seldom meet, or stand late), all are put together."""
    if found.nothing:
        return []
    order = by.desc() if backwards else by
    ids = select(found.table.id).order_by(order).limit(wanted)
    if min(many for many, _ in found.words) > found.most:
        words = [having for _, having in found.words]
        met = meeting(session, words, most=MOST_MET, known_only=True)
        if met is not None:
            return _in_order(session, ids, found.table, met)
        end = session.scalar(select(by).order_by(order).limit(1).offset(STEPS))
        so_far = true() if end is None else by >= end if backwards else by <= end
        some = list(session.scalars(ids.where(so_far, found.one_by_one())))
        if len(some) == wanted or end is None:
            return some
        met = meeting(session, words, most=MOST_MET, known_only=False)
        if met is not None:
            return _in_order(session, ids, found.table, met)
    return list(session.scalars(ids.where(found.condition())))


def _in_order(session: Session, ids: Any, table: type[Edited], met: list[int]) -> list[int]:
    """The first of records whose numbers are known."""
    some: Any = bindparam("met", met, expanding=True, literal_execute=True)  # thousands of figures: no parameters
    return list(session.scalars(ids.where(table.id.in_(some)))) if met else []


def mended(session: Session, table: type[Edited], asked: str) -> str:
    """A text with each word that begins no word of the records changed into the one that comes closest; such a
    word is looked for among those that share signs with it."""
    from difflib import get_close_matches

    words: list[str] = []
    for word in dict.fromkeys(word[:LONGEST_WORD] for word in level(asked).split()):
        if not _how_many(session, Beginning(table.LETTER, word)(WordRow), 1):
            alike = select(GramRow.word).where(GramRow.letter == table.LETTER, GramRow.gram.in_(grams_of(word)))
            close = get_close_matches(word, session.scalars(alike.distinct().limit(COMMON)), n=1, cutoff=0.6)
            words += close or [word]
        else:
            words.append(word)
    return " ".join(words)
