"""The order of what is found: names come before what stands in notes.

First the record of the id that was typed; then names that are the text, names that begin with it, names with all its
words, names with words that begin so; then all else that has the words.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any, TypeVar

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from patina.records.finding.meeting import LAST
from patina.records.finding.naming import LONGEST_WORD, NAMED, WHOLE, whole, words_of
from patina.records.finding.searching import Asked, asked_for, first_numbers, with_words
from patina.records.tables.base import Edited, level
from patina.records.tables.first import WordRow
from patina.records.tables.ids import number_of

T = TypeVar("T")
BY_ID, IS_IT, BEGINS, WORDS, BEGINNINGS, ELSE = range(6)


def rank(name: str, asked: str) -> int:
    """How well a name answers a text: lower is better.

    >>> [rank(name, "brown") for name in ("Brown", "Brown, thin", "Thin brown", "Brownish", "Thin brownish", "Green")]
    [1, 2, 3, 2, 4, 5]
    """
    typed, said = whole(asked), whole(name)
    if said == typed:
        return IS_IT
    if said.startswith(typed):
        return BEGINS
    words, wanted = words_of(name), _typed(asked)
    if wanted <= words:
        return WORDS
    return BEGINNINGS if all(any(word.startswith(w) for word in words) for w in wanted) else ELSE


def by_name(rows: Iterable[T], asked: str, name: Callable[[T], str], id: Callable[[T], str]) -> tuple[T, ...]:
    """Records that were found, those first whose name answers best; else they stay in their order."""
    if not asked.strip():
        return tuple(rows)
    typed = asked.strip().upper().replace(" ", "")
    return tuple(sorted(rows, key=lambda row: BY_ID if id(row) == typed else rank(name(row), asked)))


def ranked_page(
    session: Session,
    table: type[Edited],
    asked: str,
    by: Any,
    *,
    backwards: bool = False,
    limit: int,
    offset: int = 0,
    anywhere: bool | None = None,
) -> list[int]:
    """Numbers of the records that are found, best name first, else in the order of ``by``: one page of them.

    anywhere: as in ``searching.asked_for``.
    """
    wanted = limit + offset
    found: dict[int, None] = {}
    number = number_of(asked, table.LETTER)
    if number is not None and session.scalar(select(table.id).where(table.id == number)) is not None:
        found[number] = None
    for some in _by_stage(session, table, asked, by, backwards, wanted, anywhere):
        found |= dict.fromkeys(some)
        if len(found) >= wanted:
            break
    return list(found)[offset:wanted]


def _by_stage(
    session: Session, table: type[Edited], asked: str, by: Any, backwards: bool, wanted: int, anywhere: bool | None
) -> Iterator[list[int]]:
    """The first records of each step. Where fewer names have such words than are wanted, all of them are at hand and
    are put in order here; else each step is asked for by itself."""

    def first(stage: Asked) -> list[int]:
        return first_numbers(session, stage, by, backwards, wanted)

    words = sorted(_typed(asked))
    beginnings = with_words(session, table, [(NAMED + word, True) for word in words], wanted)
    called = first(beginnings)
    if len(called) < wanted:
        yield _ranked(session, table, called, asked)
    else:
        yield first(with_words(session, table, [(WHOLE + whole(asked), False)], wanted))
        yield first(with_words(session, table, [(WHOLE + whole(asked), True)], wanted))
        yield first(with_words(session, table, [(NAMED + word, False) for word in words], wanted))
        yield called
    yield first(asked_for(session, table, asked, anywhere=anywhere, page=wanted))


def _ranked(session: Session, table: type[Edited], numbers: list[int], asked: str) -> list[int]:
    """Records that are called by the words, best name first, by what the index holds of their names."""
    if len(numbers) < 2:
        return numbers
    name = WHOLE + whole(asked)
    exactly = [name, *(NAMED + word for word in _typed(asked))]
    wanted = (WordRow.letter == table.LETTER) & WordRow.record_id.in_(numbers)
    held = or_(WordRow.word.in_(exactly), (WordRow.word >= name) & (WordRow.word < name + LAST))
    has: dict[int, set[str]] = {number: set() for number in numbers}
    for number, word in session.execute(select(WordRow.record_id, WordRow.word).where(wanted, held)):
        has[number].add(word)

    def step(number: int) -> int:
        if name in has[number]:
            return IS_IT
        if any(word[:1] == WHOLE for word in has[number]):
            return BEGINS
        return WORDS if has[number].issuperset(exactly[1:]) else BEGINNINGS

    return sorted(numbers, key=step)


def _typed(asked: str) -> set[str]:
    return {word[:LONGEST_WORD] for word in level(asked).split()}
