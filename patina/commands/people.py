"""`patina people`, `patina withhold` and `patina drafts`: who works here, whose eyes a recipe is for, two at once."""

from __future__ import annotations

from pathlib import Path

import click

from patina.commands.common import common, say, table, the_studio
from patina.commands.help_words import Group

_ROLES = click.Choice(["head", "patineur", "assistant", "conservator", "client"])


@click.group(cls=Group)
def people() -> None:
    """Who works in the studio and as what. Where nobody is registered, one person may do everything."""


@people.command("list")
@common
def people_list(studio: str | None, as_json: bool) -> None:
    """Everybody who is registered."""
    from patina.bench.people import list_people, who_am_i

    with the_studio(studio) as opened:
        found, me = list_people(opened), who_am_i(opened)
    rows = [(p.id, p.name, p.role, p.login, p.contact, "" if p.active else "has left") for p in found]
    text = table(rows, ("id", "name", "role", "login", "contact", "")) if rows else ""
    document = {"people": [p.as_json() for p in found], "me": me.as_json()}
    say(as_json, document, f"{text}\n{me.said}".strip())


@people.command("add")
@click.argument("name")
@click.option("--role", type=_ROLES, required=True)
@click.option("--login", default="", help="Their login on the database server.")
@click.option("--contact", default="", help="Where to reach them.")
@click.option("--note", default="")
@common
def people_add(name: str, role: str, login: str, contact: str, note: str, studio: str | None, as_json: bool) -> None:
    """Register NAME. The first must be the head of the studio; from then on roles count."""
    from patina.bench.people import add_person, list_people, work_here_as

    with the_studio(studio) as opened:
        first = not list_people(opened)
        made = add_person(opened, name, role, login=login, contact=contact, note=note)
        here = first and opened.store.folder is not None
        if here:  # or the one who registers would be nobody to the program from now on
            work_here_as(opened, made.name)
        also = " At this machine you are that person from now on." if here else _again(opened.store.folder is None)
    say(as_json, made.as_json(), f"{made.id}: {made.name}, {made.role}.{also}")


@people.command("change")
@click.argument("person")
@click.option("--role", type=_ROLES)
@click.option("--login", help="Their login on the database server.")
@click.option("--contact", help="Where to reach them.")
@click.option("--note")
@click.option("--left/--back", "left", default=None, help="Has left the studio, or is back.")
@common
def people_change(
    person: str,
    role: str | None,
    login: str | None,
    contact: str | None,
    note: str | None,
    left: bool | None,
    studio: str | None,
    as_json: bool,
) -> None:
    """Change what is written of PERSON (a name or id). Nobody is removed: what they did stays on record."""
    from patina.bench.people import change_person

    active = None if left is None else not left
    with the_studio(studio) as opened:
        made = change_person(opened, person, role=role, login=login, contact=contact, note=note, active=active)
        also = _again(opened.store.folder is None)
    left_now = "" if made.active else ", has left"
    say(as_json, made.as_json(), f"{made.id}: {made.name}, {made.role}{left_now}.{also}")


def _again(server: bool) -> str:
    return " Tell the database too: patina people grant-sql --run." if server else ""


@people.command("me")
@click.argument("name", required=False)
@common
def people_me(name: str | None, studio: str | None, as_json: bool) -> None:
    """Who is at work here; with NAME: from now on that person works at this machine ("" forgets it)."""
    from patina.bench.people import who_am_i, work_here_as

    with the_studio(studio) as opened:
        me = who_am_i(opened) if name is None else work_here_as(opened, name)
    say(as_json, me.as_json(), f"{me.said} ({me.how})" if me.how else me.said)


@people.command("roles")
@common
def people_roles(studio: str | None, as_json: bool) -> None:
    """The roles, and which deed each may do."""
    from patina.bench.people import list_roles

    found = list_roles()
    text = "\n\n".join(
        f"{r.role} ({r.words})\n  " + "\n  ".join(r.may or ("looks, and writes nothing",)) for r in found
    )
    say(as_json, {"roles": [r.as_json() for r in found]}, text)


@people.command("grant-sql")
@click.option("--run", is_flag=True, help="Do it now, instead of printing what would be done.")
@common
def people_grant(run: bool, studio: str | None, as_json: bool) -> None:
    """What a database server is told so that it enforces the roles itself; may be done again at any time."""
    from patina.bench.people_grants import grant, grants

    with the_studio(studio) as opened:
        statements = grant(opened) if run else grants(opened)
    text = ";\n".join(statements) + ";" if not run else f"Done: {len(statements)} statements. Roles are enforced there."
    say(as_json, {"statements": list(statements), "done": run}, text)


@click.command()
@click.argument("recipe")
@click.option("--why", required=True, help="The reason; it stays on record.")
@click.option("--revision", type=int, help="That revision alone.")
@click.option("--open-to", multiple=True, help="A role or a person who may see them all the same.")
@click.option("--end", is_flag=True, help="Show its quantities to everybody again.")
@common
def withhold(
    recipe: str,
    why: str,
    revision: int | None,
    open_to: tuple[str, ...],
    end: bool,
    studio: str | None,
    as_json: bool,
) -> None:
    """Withhold the quantities of RECIPE from all whose role does not see them.

    Its tiles, colours, limits, care and safety notes stay visible to everybody.
    """
    from patina.bench.access import open_again
    from patina.bench.access import withhold as withhold_deed

    with the_studio(studio) as opened:
        if end:
            name = open_again(opened, recipe, why=why, revision=revision)
            say(as_json, {"recipe": name, "withheld": False}, f"The quantities of {name} are shown to everybody.")
            return
        row = withhold_deed(opened, recipe, why=why, revision=revision, open_to=open_to)
    also = f", open to {', '.join(row.open_to)}" if row.open_to else ""
    say(as_json, {**row.as_json(), "withheld": True}, f"The quantities of {row.recipe} are withheld{also}.")


@click.command()
@common
def withheld(studio: str | None, as_json: bool) -> None:
    """The recipes whose quantities are withheld from some."""
    from patina.bench.access import list_withheld

    with the_studio(studio) as opened:
        found = list_withheld(opened)
    rows = [(r.recipe_id, r.recipe, str(r.revision or "all"), ", ".join(r.open_to), r.why, r.by) for r in found]
    text = table(rows, ("id", "recipe", "revision", "open to", "why", "by")) if rows else "No recipe is withheld."
    say(as_json, {"withheld": [r.as_json() for r in found]}, text)


@click.group(cls=Group)
def drafts() -> None:
    """Recipe texts that met another's revision, and how they are settled."""


@drafts.command("list")
@common
def drafts_list(studio: str | None, as_json: bool) -> None:
    """The texts that wait."""
    from patina.bench.recipes.conflicts import list_drafts

    with the_studio(studio) as opened:
        found = list_drafts(opened)
    rows = [(d.id, d.recipe, str(d.based_on), str(d.met), d.by, d.reason) for d in found]
    text = table(rows, ("id", "recipe", "began at", "met", "by", "reason")) if rows else "No text waits."
    say(as_json, {"drafts": [d.as_json() for d in found]}, text)


@drafts.command("show")
@click.argument("draft")
@click.option("--file", type=click.Path(path_type=Path, dir_okay=False), help="Write my text into a recipe file.")
@common
def drafts_show(draft: str, file: Path | None, studio: str | None, as_json: bool) -> None:
    """DRAFT beside the recipe as it stands now and as both began, field by field."""
    from patina.bench.recipes.conflicts import conflict_sheet
    from patina.bench.recipes.drafts import text_of_recipe
    from patina.bench.saving import write_whole

    with the_studio(studio) as opened:
        sheet = conflict_sheet(opened, draft)
        if file is not None:
            write_whole(file, text_of_recipe(opened, sheet.mine).encode("utf-8"))
    lines = [
        f"{sheet.recipe}: {sheet.by or 'somebody'} made revision {sheet.met} ({sheet.reason}) while this text was "
        f"written on {sheet.based_on}."
    ]
    for d in sheet.differences:
        lines.append(f"{'! ' if d.clash else '  '}{d.field}")
        lines += [f"      before: {d.before}", f"      mine:   {d.mine}", f"      theirs: {d.theirs}"]
    ways = "theirs, mine, merged" if sheet.merged is not None else "theirs or mine (both changed what is marked !)"
    lines.append(f"Settle it: patina drafts settle {sheet.draft} WAY, with WAY one of {ways}; or --file FILE.toml.")
    say(as_json, sheet.as_json(), "\n".join(lines))


@drafts.command("settle")
@click.argument("draft")
@click.argument("way", type=click.Choice(["theirs", "mine", "merged"]), required=False)
@click.option("--file", type=click.Path(path_type=Path, dir_okay=False), help="A text written out of both.")
@click.option("--why", default="", help="The reason of the new revision; else that of the text.")
@common
def drafts_settle(draft: str, way: str | None, file: Path | None, why: str, studio: str | None, as_json: bool) -> None:
    """Take theirs, put mine on top as a new revision, both changes merged, or a file written out of both."""
    from patina.bench.recipes.conflicts import settle_with_file
    from patina.errors import Refused

    if (way is None) == (file is None):
        raise Refused("It is not said how to settle it.", "Give theirs, mine or merged, or --file FILE.toml.")
    with the_studio(studio) as opened:
        sheet = settle_with_file(opened, draft, way or "", file, reason=why)
    document = {"draft": draft, "recipe": sheet.recipe.name, "recipe_id": sheet.id, "revision": sheet.revision}
    say(as_json, document, f"{sheet.recipe.name} stands at revision {sheet.revision}.")
