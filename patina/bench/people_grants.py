"""The roles of a studio on a database server, told to the server itself."""

from __future__ import annotations

from patina.bench.people import list_people
from patina.bench.studio import Studio
from patina.errors import Refused
from patina.records.studio import grants as access_grants


def grants(studio: Studio) -> tuple[str, ...]:
    """What a PostgreSQL server is told so that it enforces the roles itself, in order. May be said again."""
    return access_grants.statements(list_people(studio))


def grant(studio: Studio) -> tuple[str, ...]:
    """Tell the server; returns what was said. Needs the login that owns the database and may create roles.

    Every person with a login gets one without a password where there is none yet. Raises Refused.
    """
    if not access_grants.is_server(studio.store):
        raise Refused(
            "This studio is in a folder: whoever may read the folder may read all of it.",
            "Roles are enforced by the database where the studio is on a PostgreSQL server.",
        )
    studio.require("change person")
    people = list_people(studio)
    if not people:
        raise Refused("Nobody is registered, so there is nothing to grant.", "Register people: patina people add.")
    return access_grants.apply(studio.store, people)
