"""Opening the studio: where it is, who works here, and the substances it knows."""

from __future__ import annotations

import os
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

from patina.bench.places import place_of
from patina.errors import BadQuantity, PatinaError, Refused
from patina.records.studio.opening import is_url, open_studio_store
from patina.records.studio.store import Store

if TYPE_CHECKING:
    from patina.chemistry.substances import Catalogue, Substance
    from patina.records.access.roles import Reader

WHO_ENVIRONMENT = "PATINA_AS"


class Studio:
    """An open studio. store: for the deeds alone. where: the folder or database URL, as shown."""

    def __init__(self, store: Store):
        self.store = store
        self.where = store.where
        self._catalogue: Catalogue | None = None

    def __enter__(self) -> Studio:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, trouble: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the database; the studio must be opened again to be used."""
        self.store.close()

    def forget(self) -> None:
        """Read the studio's own substances again when they are next asked for."""
        self._catalogue = None

    def catalogue(self) -> Catalogue:
        """The packaged substances and those added in this studio."""
        if self._catalogue is None:
            from patina.chemistry.substances import catalogue
            from patina.records.tables.substance_json import added_substances

            with self.store.view() as session:
                added = added_substances(session)
            known = catalogue()
            for substance in added:
                known = known.with_added(substance)
            self._catalogue = known
        return self._catalogue

    def add_substance(self, substance: Substance, *, by: str = "") -> None:
        """Add a substance to this studio's catalogue, or replace the one of that key."""
        from patina.records.studio.unit import unit
        from patina.records.tables.substance_json import put_substance

        if not substance.key.strip() or not substance.name.strip():
            raise BadQuantity("A substance needs a key and a name.", "Give both.", field="name")
        with unit(self.store, "add substance", by=self.who(by)) as work:
            put_substance(work.session, substance)
            work.commit()
        self._catalogue = None

    def setting(self, name: str) -> str:
        """A setting of the studio, such as "who"; empty where it was never set."""
        return self.settings(name)[name]

    def settings(self, *names: str) -> dict[str, str]:
        """Several settings at once, each empty where it was never set."""
        from patina.records.tables.substance_json import setting

        with self.store.view() as session:
            return {name: setting(session, name) for name in names}

    def set_setting(self, name: str, value: str) -> None:
        """Set a setting of the studio."""
        from patina.records.studio.unit import unit
        from patina.records.tables.substance_json import put_setting

        with unit(self.store, "setting") as work:
            put_setting(work.session, name, value)
            work.commit()

    def who(self, by: str = "") -> str:
        """Who stands beside what is put on record: the name given, else whoever is at work, else empty."""
        return by.strip()[:200] or self.me().name

    def me(self) -> Reader:
        """Who is at work here, as the records know it."""
        from patina.records.access.roles import session_reader

        with self.store.view() as session:
            return session_reader(session, self.store.identity)

    def require(self, deed: str) -> None:
        """Raises NotAllowed where whoever is at work may not do a deed that no transaction of its own asks about."""
        from patina.records.access.roles import require

        require(self.me(), deed)


def open_studio(where: str | Path | None = None, *, as_name: str | None = None) -> Studio:
    """Open a studio; it is made on first use.

    where: a folder or a database URL; None takes PATINA_STUDIO, then the platform's own data folder. as_name: who is
    at work; None takes PATINA_AS, then what this machine was told, then the studio's setting "who". On a database
    server the login decides. Raises StudioTrouble; Refused where as_name is somebody else than the login's person.
    """
    place = place_of(where)
    studio = Studio(open_studio_store(place if is_url(place) else Path(place)))
    try:
        _say_who(studio, as_name)
    except PatinaError:
        studio.close()
        raise
    return studio


def _say_who(studio: Studio, as_name: str | None) -> None:
    from patina.records.access.machine import name_on_this_machine

    identity = studio.store.identity
    said = (as_name or "").strip()[:200]
    if said:
        identity.name, identity.how = said, "as was said with --as"
    elif os.environ.get(WHO_ENVIRONMENT, "").strip():
        identity.name, identity.how = os.environ[WHO_ENVIRONMENT].strip()[:200], f"as {WHO_ENVIRONMENT} says"
    else:
        identity.name = name_on_this_machine(studio.where)
        identity.how = "as this machine was told" if identity.name else ""
    if said and studio.store.folder is None:
        me = studio.me()
        if me.people and me.proved and me.name.casefold() != said.casefold():
            whose = f"{me.name}'s" if me.name else "nobody's"
            raise Refused(
                f"The database was opened with a login that is {whose}, not {said}'s.",
                f"Leave --as out, or open the studio with the login of {said}.",
                field="as",
            )
