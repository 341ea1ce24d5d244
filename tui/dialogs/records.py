"""The forms that put something on record: fields here, reading and keeping in the deeds."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from patina.bench import forms
from patina.bench.finding.names import alloy_names, recipe_names
from patina.bench.form_drafts import FormDraft
from patina.bench.readings import tiles
from patina.entries import WARMTH, WAX_STATES
from patina.errors import BadQuantity, Refused
from patina.language import LANGUAGES, MEASURES, read_as, reader
from tui import format as show
from tui.dialogs import offered
from tui.dialogs.form import Field, Form

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.sheets import CastSheet, RecipeSheet, TileSheet

GEOMETRIES = ("unknown", "45:0", "d:8 SCI", "d:8 SCE")
WAX = tuple(w for w in WAX_STATES)
# what rarely changes from one record to the next, and is offered again
_LAST_READING = (
    "area",
    "illuminant",
    "observer",
    "geometry",
    "instrument",
    "n",
    "uncertainty",
    "wax_state",
    "warmth",
    "read_by",
)
_LAST_TILE = ("alloy", "preparation", "wall", "size", "made_by", "wax_state")


def split_lines(values: Mapping[str, str]) -> dict[str, str]:
    """Steps written one after another with ; between them, as lines."""
    taken = dict(values)
    if "as_done" in taken:
        taken["as_done"] = "\n".join(part.strip() for part in taken["as_done"].split(";"))
    return taken


def steps_as_written(sheet: RecipeSheet) -> str:
    """The steps of a recipe, to be corrected to what was really done."""
    words = []
    for step in sheet.recipe.steps:
        passes = f" {show.times(step.passes, 'pass', 'passes')}" if step.do == "apply" else ""
        words.append(f"{step.solution or step.do}{passes}: as written")
    return "; ".join(words)


def _tile_fields(studio: Studio, value: Mapping[str, str]) -> list[Field]:
    def field(key: str, label: str, hint: str = "", choices: tuple[str, ...] = ()) -> Field:
        return Field(key, label, hint, value.get(key, ""), choices)

    return [
        field("engraved", "Engraved", "what is stamped on its back: HM-13", _next_in_row(studio)),
        field("alloy", "Alloy", "C87300", alloy_names()),
        field("recipe", "Recipe", "name or id; empty if none", recipe_names(studio)),
        field("revision", "Revision", "empty: the newest"),
        field("preparation", "Preparation", "glass bead 100-170 mesh, 3 bar; degreased"),
        field("wall", "Wall", "5 mm"),
        field("size", "Size", "100 × 100 mm"),
        field("as_done", "As really done", "step; step; step"),
        field("made_on", "Made on", "2026-03-14 or today"),
        field("made_by", "Made by", "who held the brush"),
        field("wax_state", "Wax", "not stated", WAX),
        offered.offered("batch", "Pot", "B1, if it was mixed here", offered.pots(studio), value.get("batch", "")),
        field("note", "Note"),
    ]


def _next_in_row(studio: Studio) -> tuple[str, ...]:
    """The number after that of the newest tile, to be offered; nothing where its engraving has none."""
    newest = tiles.list_tiles(studio, limit=1)
    return tuple(filter(None, (next_engraved(row.engraved) for row in newest)))


def tile_form(studio: Studio, *, recipe: RecipeSheet | None = None, like: TileSheet | None = None) -> Form:
    """Start a tile, from a recipe or with everything as on another one. The answer is its sheet."""
    value = {"made_on": "today", "wax_state": "unwaxed", "made_by": studio.who()}
    if recipe is not None:
        value |= {
            "recipe": recipe.recipe.name,
            "revision": str(recipe.revision),
            "alloy": recipe.recipe.alloys[0] if recipe.recipe.alloys else "",
            "as_done": steps_as_written(recipe),
        }

    if like is not None:
        value = _as_typed(like) | {"engraved": next_engraved(like.row.engraved), "made_on": "today", "note": ""}

    def keep(values: Mapping[str, str]) -> TileSheet:
        return tiles.start_tile(studio, forms.tile_form(split_lines(values)))

    draft = None if recipe is not None or like is not None else FormDraft(studio, "tile")
    return Form("Start a test tile", _tile_fields(studio, value), keep, draft=draft, remember=_LAST_TILE)


def change_tile_form(studio: Studio, sheet: TileSheet) -> Form:
    """Correct a tile. The answer is its sheet."""
    row = sheet.row

    def keep(values: Mapping[str, str]) -> TileSheet:
        return tiles.change_tile(studio, row.id, forms.tile_form(split_lines(values)), sheet.version)

    return Form(f"Correct {row.id} {row.engraved}", _tile_fields(studio, _as_typed(sheet)), keep)


def next_engraved(engraved: str) -> str:
    """The next number of a row of tiles; empty where the engraving does not end in one.

    >>> next_engraved("HM-09"), next_engraved("HM-99"), next_engraved("left wing")
    ('HM-10', 'HM-100', '')
    """
    found = re.search(r"\d+$", engraved)
    if found is None:
        return ""
    return engraved[: found.start()] + str(int(found[0]) + 1).zfill(len(found[0]))


def _as_typed(sheet: TileSheet) -> dict[str, str]:
    """A tile as its form shows it."""
    row = sheet.row
    return {
        "engraved": row.engraved,
        "alloy": row.alloy,
        "recipe": row.recipe_id or "",
        "revision": "" if row.revision is None else str(row.revision),
        "preparation": sheet.preparation,
        "wall": "" if sheet.wall_mm is None else f"{sheet.wall_mm!r} mm",
        "size": sheet.size,
        "as_done": "; ".join(sheet.as_done),
        "made_on": "" if row.made_on is None else row.made_on.isoformat(),
        "made_by": sheet.made_by,
        "wax_state": row.wax_state,
        "batch": sheet.batch or "",
        "note": sheet.note,
    }


def reading_form(studio: Studio, target: str, name: str) -> Form:
    """Type in a reading of a tile or cast. The answer is its row."""
    fields = [
        Field("L", "L*", "27.4"),
        Field("a", "a*", "6.3"),
        Field("b", "b*", "9.2"),
        Field("area", "Where on it", "middle"),
        Field("illuminant", "Illuminant", "D50", "D50", ("D50", "D65")),
        Field("observer", "Observer", "2", "2", ("2", "10")),
        Field("geometry", "Geometry", "unknown", "unknown", GEOMETRIES),
        Field("instrument", "Instrument", "make and model"),
        Field("n", "Mean of", "1", "1"),
        Field("uncertainty", "± ΔE00 (95 %)", "empty: not known"),
        Field("wax_state", "Wax", "not stated", "not stated", WAX),
        Field("warmth", "Metal", "not stated", "cold", WARMTH),
        Field("read_by", "Read by", "", studio.who()),
        Field("note", "Note"),
    ]

    def keep(values: Mapping[str, str]) -> Any:
        return tiles.add_reading(studio, target, forms.reading_form(values))

    return Form(
        f"A reading of {name}", fields, keep, draft=FormDraft(studio, f"reading-{target}"), remember=_LAST_READING
    )


def master_form(studio: Studio, *, colour: str = "", name: str = "") -> Form:
    """Agree a finish. The answer is its sheet."""
    from patina.bench.matched.agreed import starting_limit
    from patina.bench.pieces import casts

    fields = [
        Field("name", "Name", "Heron: dark brown", name),
        Field("colour", "Colour", "id of a tile or reading, or L,a,b", colour),
        Field("limit", "Limit ΔE00", show.plain(starting_limit())),
        Field("limit_dL", "Limit ΔL*", "empty: not agreed apart"),
        Field("limit_dC", "Limit ΔC*", "empty: not agreed apart"),
        Field("limit_dH", "Limit ΔH*", "empty: not agreed apart"),
        Field("zone", "Zone", "whole", "whole"),
        Field("light", "Agreed under", "D65 booth, 1500 lx"),
        Field("geometry", "Geometry", "unknown", "unknown", GEOMETRIES),
        Field("agreed_by", "Agreed by", "who said yes"),
        Field("agreed_on", "Agreed on", "2026-03-14 or today", "today"),
        Field("holders", "Tiles held by", "studio and artist, one each"),
        Field("next_check", "Next check", "2027-03-14"),
        Field("note", "Note"),
    ]

    def keep(values: Mapping[str, str]) -> Any:
        from patina.bench.matched import matching_forms

        return casts.agree_master(studio, matching_forms.master_form(values, studio))

    return Form("Agree a finish", fields, keep, draft=FormDraft(studio, f"master-{colour}"))


def settings_form(studio: Studio) -> Form:
    """Who works here, what the studio is called, how it is read, and when a backup is asked for."""
    from patina.bench.settings import change_setting

    def keep(values: Mapping[str, str]) -> Mapping[str, str]:
        before = reader()
        try:
            read_as(values["language"], values["decimal"], values["measures"])
        except Refused as trouble:
            read_as(before.language, before.decimal, before.measures)
            trouble.field = "language"
            raise
        try:
            change_setting(studio, "backup-days", values["backup_days"])
        except BadQuantity as trouble:
            read_as(before.language, before.decimal, before.measures)
            trouble.field = "backup_days"
            raise
        for name, value in values.items():
            if name != "backup_days":
                studio.set_setting(name, value)
        return values

    fields = [
        Field("who", "Who works here", "stands beside what is put on record", studio.setting("who")),
        Field("studio_name", "Studio", "stands on labels and sheets", studio.setting("studio_name")),
        Field("language", "Language", "en or de", studio.setting("language"), tuple(LANGUAGES)),
        Field(
            "decimal",
            "Decimal mark",
            "point or comma; empty: as in the language",
            studio.setting("decimal"),
            (".", ","),
        ),
        Field("measures", "Measures", "metric, or US: °F and ounces in front", studio.setting("measures"), MEASURES),
        Field("backup_days", "Backup, days", "remind every so many days; empty: never", studio.setting("backup_days")),
    ]
    return Form("This studio", fields, keep, before=f"It lies in {studio.where}. K takes its photographs elsewhere.")


def nearest_form(studio: Studio, colour: str) -> Form:
    """Ask which colour is looked for. The answer: the tiles that come nearest."""

    def look(values: Mapping[str, str]) -> Any:
        from patina.bench.matched.matching import nearest
        from patina.errors import PatinaError, Refused

        if values["on_shelf"].casefold() not in ("", "yes", "no"):
            raise Refused(f"'{values['on_shelf']}' is neither yes nor no.", "Write yes or no.", field="on_shelf")

        try:
            return nearest(
                studio,
                values["colour"],
                alloy=values["alloy"] or None,
                method=values["method"] or None,
                on_shelf=values["on_shelf"].casefold() == "yes",
                avoid=[word for word in values["avoid"].split(";") if word.strip()],
            )
        except PatinaError as trouble:
            trouble.field = trouble.field or "colour"
            raise

    fields = [
        Field("colour", "Like which", "id of a record, or L,a,b", colour),
        Field("alloy", "Only on", "any alloy", "", alloy_names()),
        Field("method", "Only by", "any method", "", ("torch", "cold brush", "spray", "stipple", "immersion", "fume")),
        Field("on_shelf", "From the shelf", "yes: every chemical is there", "", ("no", "yes")),
        Field("avoid", "Without", "hazards to avoid: H350; Carc."),
    ]
    return Form("Find the tiles that are most like it", fields, look, yes="Find", slow="Looking for the nearest")


def piece_form(studio: Studio, before: str = "") -> Form:
    """Put a piece on record. The answer is its row. before: what is said above its fields."""
    from patina.bench.pieces import casts

    fields = [
        Field("title", "Title"),
        Field("maker", "Maker"),
        Field("edition", "Edition", "how many casts: 9"),
        Field("height", "Height", "450 mm"),
        Field("note", "Note"),
    ]

    def keep(values: Mapping[str, str]) -> Any:
        return casts.add_piece(studio, forms.piece_form(values))

    return Form("A piece", fields, keep, before=before, draft=FormDraft(studio, "piece"))


def _cast_fields(studio: Studio, value: Mapping[str, str]) -> list[Field]:
    from patina.bench.pieces import casts

    def field(key: str, label: str, hint: str = "", choices: tuple[str, ...] = ()) -> Field:
        return Field(key, label, hint, value.get(key, ""), choices)

    return [
        field("piece", "Piece", "title or id", tuple(row.title for row in casts.list_pieces(studio))),
        field("number", "Number", "3/9"),
        field("alloy", "Alloy", "C87300", alloy_names()),
        field("mass", "Weight", "96 kg"),
        field("wall", "Wall", "5 mm"),
        field("area", "Area", "1.8 m2"),
        field("owner", "Owner"),
        field("place", "Place"),
        field("master", "Agreed finish", "name or id", tuple(row.name for row in casts.list_masters(studio))),
        field("cast_on", "Cast on", "2026-03-14"),
        field("note", "Note"),
    ]


def change_cast_form(studio: Studio, sheet: CastSheet) -> Form:
    """Correct a cast. The answer is its sheet."""
    from patina.bench.pieces import casts

    row = sheet.row
    value = {
        "piece": row.piece_id,
        "number": row.number,
        "alloy": row.alloy,
        "mass": "" if sheet.mass_g is None else f"{sheet.mass_g!r} g",
        "wall": "" if sheet.wall_mm is None else f"{sheet.wall_mm!r} mm",
        "area": "" if sheet.area_m2 is None else f"{sheet.area_m2!r} m2",
        "owner": row.owner,
        "place": row.place,
        "master": row.master or "",
        "cast_on": "" if sheet.cast_on is None else sheet.cast_on.isoformat(),
        "note": sheet.note,
    }

    def keep(values: Mapping[str, str]) -> CastSheet:
        return casts.change_cast(studio, row.id, forms.cast_form(values), sheet.version)

    return Form(f"Correct {row.id} {row.piece} {row.number}", _cast_fields(studio, value), keep)


def cast_form(studio: Studio) -> Form:
    """Put a cast on record. The answer is its sheet."""
    from patina.bench.pieces import casts

    pieces = tuple(row.title for row in casts.list_pieces(studio))
    fields = _cast_fields(studio, {"piece": pieces[0]} if len(pieces) == 1 else {})
    draft = FormDraft(studio, "cast")
    return Form("A cast", fields, lambda values: casts.add_cast(studio, forms.cast_form(values)), draft=draft)


def treatment_form(studio: Studio, cast: str, name: str) -> Form:
    """Write down what was done to a cast. The answer is the cast's sheet."""
    from patina.bench.pieces import casts

    did = ("patinated", "cleaned", "waxed", "repaired", "stripped", "lacquered", "inspected")
    fields = [
        Field("did", "Done", "patinated", "", did),
        Field("zone", "Zone", "whole", "whole"),
        Field("recipe", "Recipe", "name or id; empty if none", "", recipe_names(studio)),
        Field("revision", "Revision", "empty: the newest"),
        offered.offered("batch", "Pot", "B1, if it was mixed here", offered.pots(studio)),
        Field("as_done", "As really done", "step; step; step"),
        Field("area", "Area", "1.8 m2"),
        Field("done_on", "Done on", "2026-03-14 or today", "today"),
        Field("done_by", "Done by", "", studio.who()),
        Field("note", "Note"),
    ]

    def keep(values: Mapping[str, str]) -> Any:
        return casts.add_treatment(studio, forms.treatment_form({**split_lines(values), "cast": cast}))

    return Form(f"What was done to {name}", fields, keep, draft=FormDraft(studio, f"treatment-{cast}"))
