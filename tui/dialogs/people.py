"""Who works here, whose eyes a recipe is for."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from patina.bench import people
from tui.dialogs.choose import Choose
from tui.dialogs.form import Field, Form
from tui.dialogs.message import Notes
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.sheets import PersonRow, RecipeSheet
    from tui.screens.base import Base

_ROLES = tuple(row.role for row in people.list_roles())
_NEW, _ME, _ALL = "+", "me", "roles"


def show_people(app: Any) -> None:
    """Everybody who is registered; choose one to change, or add one, or say who is at this machine."""
    rows, me = people.list_people(app.studio), people.who_am_i(app.studio)
    options = [(_ME, f"At this machine: {me.said}"), (_NEW, "Register somebody"), (_ALL, "What each role may do")]
    options += [(row.id, _line(row)) for row in rows]
    app.push_screen(Choose("Who works here", options), lambda id: None if id is None else _taken(app, id, rows))


def _line(row: PersonRow) -> str:
    left = "" if row.active else ", has left"
    login = f", login {row.login}" if row.login else ""
    return f"{row.name}: {row.role}{login}{left}"


def _taken(app: Any, id: str, rows: tuple[PersonRow, ...]) -> None:
    if id == _ALL:
        app.push_screen(Notes("What each role may do", roles_words()))
        return
    form = _me(app) if id == _ME else _new(app) if id == _NEW else _change(app, next(r for r in rows if r.id == id))
    app.push_screen(form, lambda done: None if done is None else show_people(app))


def _me(app: Any) -> Form:
    me = people.who_am_i(app.studio)
    names = tuple(row.name for row in people.list_people(app.studio) if row.active)
    field = Field("name", "Name", "empty: as the studio's setting says", me.name, names)
    return Form("Who works at this machine", [field], lambda values: people.work_here_as(app.studio, values["name"]))


def _new(app: Any) -> Form:
    first = not people.list_people(app.studio)
    fields = [
        Field("name", "Name", "first and last name"),
        Field("role", "Role", ", ".join(_ROLES), "head" if first else "", _ROLES),
        Field("login", "Login", "on the database server, where there is one"),
        Field("contact", "Contact", "where to reach them"),
    ]

    def keep(values: Mapping[str, str]) -> PersonRow:
        made = people.add_person(
            app.studio, values["name"], values["role"], login=values["login"], contact=values["contact"]
        )
        if first and app.studio.store.folder is not None:
            people.work_here_as(app.studio, made.name)
        return made

    return Form("Register the head of the studio first" if first else "Register somebody", fields, keep)


def _change(app: Any, row: PersonRow) -> Form:
    fields = [
        Field("role", "Role", ", ".join(_ROLES), row.role, _ROLES),
        Field("login", "Login", "on the database server", row.login),
        Field("contact", "Contact", "where to reach them", row.contact),
        Field("here", "Works here", "yes or no", "yes" if row.active else "no", ("yes", "no")),
        Field("note", "Note", "", row.note),
    ]

    def keep(values: Mapping[str, str]) -> PersonRow:
        return people.change_person(
            app.studio,
            row.id,
            role=values["role"],
            login=values["login"],
            contact=values["contact"],
            active=values["here"].strip().casefold() != "no",
            note=values["note"],
            version=row.version,
        )

    return Form(row.name, fields, keep)


def roles_words() -> Prose:
    """The roles and what each may do."""
    prose = Prose()
    for role in people.list_roles():
        prose.heading(f"{role.words} ({role.role})")
        prose.bullets(role.may or ("looks, and writes nothing",))
    return prose


def withhold_form(screen: Base, sheet: RecipeSheet) -> Form:
    """Withhold the quantities of a recipe, or show them again. The answer is what is then to be said."""
    from patina.bench import access

    standing = [r for r in access.list_withheld(screen.studio) if r.recipe_id == sheet.id]
    open_to = ", ".join(standing[-1].open_to) if standing else ""
    fields = [
        Field("held", "Withheld", "yes or no", "yes", ("yes", "no")),
        Field("open_to", "Open to", "roles or names, with commas; empty: head and patineur alone", open_to),
        Field("why", "Why", "it stays on record"),
    ]

    def keep(values: Mapping[str, str]) -> str:
        if values["held"].strip().casefold() == "no":
            name = access.open_again(screen.studio, sheet.id, why=values["why"])
            return f"The quantities of {name} are shown to everybody."
        row = access.withhold(
            screen.studio, sheet.id, why=values["why"], open_to=[w for w in values["open_to"].split(",") if w.strip()]
        )
        return f"The quantities of {row.recipe} are withheld; tiles, colours and safety notes stay visible."

    return Form(f"Whose eyes {sheet.recipe.name} is for", fields, keep)
