"""Each kind of deed on a full disk and in a studio that may only be read: a sentence, and nothing half-saved."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event

from patina.bench import upkeep
from patina.bench.studio import Studio, open_studio
from patina.errors import StudioTrouble

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))

from kill_deeds import DEEDS, head, make_studio

# what writes no record; files that do not fit have tests of their own
ELSEWHERE = {"backup", "archive"}
KINDS = [kind for kind in DEEDS if kind not in ELSEWHERE]


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A studio with one of each, closed."""
    folder = tmp_path_factory.mktemp("room") / "studio"
    make_studio(folder)
    return folder


@pytest.fixture
def kept(template: Path, tmp_path: Path) -> Iterator[Studio]:
    """A copy of it, open."""
    shutil.copytree(template, tmp_path / "studio")
    with open_studio(tmp_path / "studio") as studio:
        yield studio


def limited(studio: Studio, pragma: str) -> Any:
    """Let every new connection begin so; what was set is given back."""

    def connected(connection: Any, _record: Any) -> None:
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(pragma.format(pages=pages))

    studio.store.engine.dispose()
    event.listen(studio.store.engine, "connect", connected)
    return connected


def free(studio: Studio, connected: Any) -> None:
    """Room again."""
    event.remove(studio.store.engine, "connect", connected)
    studio.store.engine.dispose()


def test_the_disk_is_full(kept: Studio) -> None:
    """Every kind of deed is done until nothing fits any more: what was answered is there, the rest said so."""
    filled = limited(kept, "PRAGMA max_page_count={pages}")
    told = set()
    for number, kind in enumerate(KINDS):
        for again in range(25):
            before = head(kept)
            try:
                DEEDS[kind](kept, 10_000 * (number + 1) + again)
            except StudioTrouble as trouble:
                assert "full" in trouble.what, (kind, trouble.what)
                after = head(kept)
                # a kind of two deeds may have done its first; no deed is done by half
                assert after == before or kind in ("undo", "reading withdrawn", "signing off", "zone agreed"), kind
                told.add(kind)
                break
    assert told >= {"recipe saved", "revision", "tile", "reading", "undo", "signing off", "pot"}
    free(kept, filled)
    assert upkeep.check(kept).problems == ()
    DEEDS["recipe saved"](kept, 1)


def test_the_studio_may_only_be_read(kept: Studio) -> None:
    """Every kind of deed is refused in words, and the log stands where it stood."""
    before = head(kept)
    closed = limited(kept, "PRAGMA query_only=1")
    for number, kind in enumerate(KINDS):
        with pytest.raises(StudioTrouble, match="only be read"):
            DEEDS[kind](kept, 20_000 + number)
    free(kept, closed)
    assert head(kept) == before
    assert upkeep.check(kept).problems == ()
