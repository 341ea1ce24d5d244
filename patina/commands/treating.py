"""`patina treatment` and `patina care`: the conservator's record of a treatment, and the care that is due."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from patina.commands.common import Typed, common, say, table, the_studio
from patina.commands.help_words import Group
from patina.commands.treating_care import earlier_care
from patina.errors import BadQuantity
from patina.language import shown

if TYPE_CHECKING:
    from patina.sheets.treatment import TreatmentSheet


@click.group(cls=Group)
def treatment() -> None:
    """A conservator's treatment: from authority and examination to report and care."""


def typed(words: tuple[str, ...]) -> dict[str, str]:
    """FIELD=VALUE words as fields. Raises BadQuantity."""
    fields: dict[str, str] = {}
    for word in words:
        name, equals, value = word.partition("=")
        if not equals:
            raise BadQuantity(f"'{word}' is no FIELD=VALUE.", "Write it such as zone='left shoulder'.", field=name)
        if name.strip() in fields:
            raise BadQuantity(f"The field '{name}' is given twice.", "Give it once.", field=name)
        fields[name.strip()] = value
    return fields


@treatment.command("list")
@click.argument("search", nargs=-1)
@click.option("--cast", help="Only those of this cast.")
@common
def list_(search: tuple[str, ...], cast: str | None, studio: str | None, as_json: bool) -> None:
    """Treatments on record, newest first; with SEARCH those whose words hold it."""
    from patina.bench.treating.treat import list_treatments

    with the_studio(studio) as opened:
        rows = list_treatments(opened, " ".join(search), cast)
    items = [
        {
            "id": r.id,
            "name": r.name,
            "cast": r.cast,
            "title": r.title,
            "number": r.number,
            "owner": r.owner,
            "started_on": None if r.started_on is None else r.started_on.isoformat(),
            "finished_on": None if r.finished_on is None else r.finished_on.isoformat(),
        }
        for r in rows
    ]
    lines = [(r.id, r.name, f"{r.title} {r.number}".strip(), r.owner, str(r.finished_on or "open")) for r in rows]
    text = table(lines, ("id", "treatment", "object", "owner", "finished")) if rows else "No treatment is on record."
    say(as_json, {"items": items}, text)


@treatment.command()
@click.argument("kind", required=False)
@common
def fields(kind: str | None, studio: str | None, as_json: bool) -> None:
    """The kinds of part a treatment is made of, or the fields of one KIND (or of the head)."""
    from patina.bench.treating import treat

    if kind is None:
        rows = [(Typed(k.name), k.letters, k.within, (k.type.__doc__ or "").split(".")[0]) for k in treat.kinds()]
        document: Any = {"items": [{"kind": r[0], "letters": r[1], "within": r[2], "what": r[3]} for r in rows]}
        say(as_json, document, table(rows, ("kind", "id", "part of", "what it is")), as_it_is=True)
        return
    known = treat.fields_of_head() if kind == "head" else treat.fields_of(kind)
    items = [
        {"field": name, "label": s.label, "hint": s.hint, "needed": s.needed, "choices": list(s.choices)}
        for name, s in known.items()
    ]
    lines = [
        (Typed(n), s.label, "needed" if s.needed else "", Typed(", ".join(s.choices)) if s.choices else s.hint)
        for n, s in known.items()
    ]
    say(as_json, {"items": items}, table(lines, ("field", "label", "", "how it is written")), as_it_is=True)


@treatment.command()
@click.argument("cast")
@click.argument("name")
@click.argument("said", nargs=-1, metavar="FIELD=VALUE...")
@common
def begin(cast: str, name: str, said: tuple[str, ...], studio: str | None, as_json: bool) -> None:
    """Begin a treatment of CAST called NAME; `patina treatment fields head` lists the fields."""
    from patina.bench.treating.treat import begin_treatment

    with the_studio(studio) as opened:
        sheet = begin_treatment(opened, {**typed(said), "cast": cast, "name": name})
    say(as_json, sheet.as_json(), f"Begun: {sheet.id} {sheet.record.head.name}, {cast}.")


@treatment.command("set")
@click.argument("which", metavar="TREATMENT")
@click.argument("said", nargs=-1, required=True, metavar="FIELD=VALUE...")
@common
def set_(which: str, said: tuple[str, ...], studio: str | None, as_json: bool) -> None:
    """Change fields of the head of TREATMENT; the log keeps what they were."""
    from patina.bench.treating.treat import change_head

    with the_studio(studio) as opened:
        sheet = change_head(opened, which, typed(said))
    say(as_json, sheet.as_json(), "\n".join([_head_text(sheet), *_earlier(sheet)]))


@treatment.command()
@click.argument("which", metavar="TREATMENT")
@click.argument("kind")
@click.argument("said", nargs=-1, required=True, metavar="FIELD=VALUE...")
@click.option("--by", default="", help="Who writes it, where it is not who works here.")
@common
def write(which: str, kind: str, said: tuple[str, ...], by: str, studio: str | None, as_json: bool) -> None:
    """Write a part of TREATMENT: a statement, zone, patch, action and so on (`patina treatment fields`).

    photograph=FILE puts the file with the cast first."""
    from patina.bench.treating.treat import kinds, write_part
    from patina.bench.treating.treat_photographs import with_photograph
    from patina.sheets.treatment_words import part_line

    with the_studio(studio) as opened:
        fields_said = with_photograph(opened, which, kind, typed(said), by=by)
        written = write_part(opened, which, kind, fields_said, by=by)
    chosen = next(k for k in kinds() if k.name == kind)
    part = next(p for p in written.sheet.record.parts(chosen) if p.id == written.id)
    say(as_json, {"id": written.id, "treatment": written.sheet.as_json()}, f"{written.id}: {part_line(kind, part)}")


@treatment.command()
@click.argument("part")
@click.argument("said", nargs=-1, required=True, metavar="FIELD=VALUE...")
@click.option("--reason", required=True, help="Why it is corrected.")
@common
def correct(part: str, said: tuple[str, ...], reason: str, studio: str | None, as_json: bool) -> None:
    """Write PART anew with other fields; what it was stays on record."""
    from patina.bench.treating.treat import correct_part

    with the_studio(studio) as opened:
        written = correct_part(opened, part, typed(said), reason)
    document = {"id": written.id, "treatment": written.sheet.as_json()}
    say(as_json, document, f"{written.id} stands in place of {part.upper()}.")


@treatment.command("take-back")
@click.argument("part")
@click.option("--reason", required=True, help="Why it is taken back.")
@common
def take_back(part: str, reason: str, studio: str | None, as_json: bool) -> None:
    """Take PART back; it stays on record as taken back."""
    from patina.bench.treating.treat import withdraw_part

    with the_studio(studio) as opened:
        sheet = withdraw_part(opened, part, reason)
    say(as_json, sheet.as_json(), f"{part.upper()} is taken back.")


@treatment.command()
@click.argument("which", metavar="TREATMENT")
@common
def show(which: str, studio: str | None, as_json: bool) -> None:
    """Everything that is on record of TREATMENT, and what was worked out from it."""
    from patina.bench.treating.treat import treatment_sheet

    with the_studio(studio) as opened:
        sheet = treatment_sheet(opened, which)
    say(as_json, sheet.as_json(), treatment_text(sheet))


@treatment.command()
@click.argument("which", metavar="TREATMENT")
@click.option("--for", "purpose", type=click.Choice(["proposal", "log", "report"]), help="Only for this purpose.")
@common
def complete(which: str, purpose: str | None, studio: str | None, as_json: bool) -> None:
    """What TREATMENT lacks as a proposal, a log and a report, and which code or standard asks for it."""
    from patina.bench.treating.treat import treatment_sheet
    from patina.sheets.missing_words import completeness_lines

    with the_studio(studio) as opened:
        sheet = treatment_sheet(opened, which)
    wanted = [c for c in sheet.completeness if purpose in (None, c.purpose)]
    document = [c for c in sheet.as_json()["completeness"] if purpose in (None, c["purpose"])]
    lines = [line for c in wanted for line in completeness_lines(c, sheet.id)]
    told = [line if line.strip().startswith("patina ") else shown(line) for line in lines]  # what is typed stays
    say(as_json, {"items": document}, "\n".join(told), as_it_is=True)


@treatment.command()
@click.argument("one", metavar="MAP")
@click.argument("other", metavar="LATER-MAP", required=False)
@click.option("--to", type=click.Path(path_type=Path, dir_okay=False), help="Write the overlay picture (SVG) here.")
@click.option("--with-photograph", is_flag=True, help="Lay a small copy of the photograph beneath the overlay.")
@click.option("--lay-over", is_flag=True, help="Find how the two photographs lie on each other first.")
@common
def zones(
    one: str,
    other: str | None,
    to: Path | None,
    with_photograph: bool,
    lay_over: bool,
    studio: str | None,
    as_json: bool,
) -> None:
    """Areas of a condition MAP; with LATER-MAP what changed; with --to its overlay picture."""
    from patina.bench.treating import treat_maps
    from patina.sheets.treatment_words import map_change_lines, part_line, share_words, term_name

    document: dict[str, Any] = {}
    lines: list[str] = []
    with the_studio(studio) as opened:
        sheet, kept = treat_maps.sheet_with_map(opened, one)
        shares = next(m for m in sheet.maps if m.map == kept.id)
        if other is None:
            document["areas"] = next(m for m in sheet.as_json()["map_shares"] if m["map"] == kept.id)
            for zone in (z for z in sheet.record.zones if z.value.map == kept.id):
                lines.append(f"{zone.id} {part_line('zone', zone)}: {share_words(shares.zones[zone.id], shares.of)}")
            lines += [f"{term_name(term)}: {share_words(s, shares.of)}" for term, s in shares.terms.items()]
        else:
            change = treat_maps.change_of_maps(opened, one, other, lay_over=lay_over)
            document["change"] = treat_maps.as_json(change)
            lines += map_change_lines(change)
        if to is not None:
            document["file"] = str(treat_maps.write_overlay(opened, one, to, with_photograph=with_photograph))
            lines.append(f"Written to {to}.")
    say(as_json, document, "\n".join(lines) or "Nothing is drawn on it.")


@treatment.command()
@click.argument("which", metavar="TREATMENT")
@common
def images(which: str, studio: str | None, as_json: bool) -> None:
    """Hold the images before and after of TREATMENT against each other: may they be compared?"""
    from patina.bench.treating.treat_maps import compare_images

    with the_studio(studio) as opened:
        found = compare_images(opened, which)
    items = [
        {
            "view": c.view,
            "before": c.before,
            "after": c.after,
            "comparable": c.comparable,
            "words": c.words,
            "cautions": [w.as_json() for w in c.cautions],
        }
        for c in found
    ]
    lines = []
    for c in found:
        lines.append(f"{c.view}: {c.before} and {c.after}: {'comparable' if c.comparable else 'with care'}. {c.words}")
        lines += [f"  {w.text} {w.do}" for w in c.cautions]
    say(as_json, {"items": items}, "\n".join(lines) or "No view has an image before and one after.")


@treatment.command()
@click.argument("search", nargs=-1)
@common
def terms(search: tuple[str, ...], studio: str | None, as_json: bool) -> None:
    """The controlled condition terms, with their source, and the scales of the condition map."""
    from patina.bench.treating.treat_words import list_scales, list_terms

    found = list_terms(" ".join(search))
    rows = [(Typed(t.name), t.group, t.formula, t.cas, t.aat, t.note, t.source) for t in found]
    head = ("term", "group", "formula", "CAS", "AAT", "meaning", "source")
    text = table(rows, head) if rows else shown("No such term.")
    items = [
        {
            "key": t.key,
            "name": t.name,
            "group": t.group,
            "formula": t.formula,
            "cas": t.cas,
            "aat": t.aat,
            "note": t.note,
            "source": t.source,
        }
        for t in found
    ]
    scales = [{"scale": s.scale, "value": s.value, "meaning": s.meaning, "source": s.source} for s in list_scales()]
    if not search:
        steps = [(Typed(s.scale), Typed(s.value), s.meaning) for s in list_scales()]
        text += "\n\n" + table(steps, ("scale", "step", "meaning"))
    say(as_json, {"items": items, "scales": scales}, text, as_it_is=True)


def _earlier(sheet: TreatmentSheet) -> list[str]:
    """That care of earlier treatments still reminds though this one is finished, and what settles it."""
    from patina.sheets.care_words import earlier_care_words

    words = earlier_care_words(sheet)
    settle = f"patina treatment earlier-care {sheet.id} takes it over or ends it."
    return [f"{words} {settle}"] if words and sheet.record.head.finished_on is not None else []


def _head_text(sheet: TreatmentSheet) -> str:
    from patina.bench.treating.treat import fields_of_head, head_as_typed

    of = sheet.record.object
    lines = [
        f"{sheet.id} {of.title} {of.number}, {of.maker or 'maker not known'}; owner: {sheet.record.owner or 'not said'}"
    ]
    typed_head = head_as_typed(sheet)
    return "\n".join([*lines, *(f"  {s.label}: {typed_head[n]}" for n, s in fields_of_head().items() if typed_head[n])])


def treatment_text(sheet: TreatmentSheet) -> str:
    """A treatment for a person."""
    from patina.bench.treating.treat import kinds
    from patina.sheets.care_words import care_words
    from patina.sheets.treatment_words import found_lines, part_line

    lines = [_head_text(sheet)]
    for kind in kinds():
        parts = sheet.record.parts(kind)
        if not parts:
            continue
        lines.append(f"{kind.many.replace('_', ' ')}:")
        for part in parts:
            sort = f"{part.value.sort}: " if kind.name == "statement" else ""
            lines.append(f"  {part.id} {sort}{part_line(kind.name, part)}")
    lines += [f"  {part.id} {became}" for part, became in sheet.record.earlier]
    lines += found_lines(sheet)
    lines += [care_words(s) for s in sheet.care] + _earlier(sheet)
    for c in sheet.completeness:
        lines.append(f"As a {c.purpose}: {c.asked - len(c.missing)} of {c.asked} things that are asked for")
    return "\n".join(lines)


treatment.add_command(earlier_care)
