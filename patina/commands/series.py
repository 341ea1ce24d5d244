"""`patina series`: an edition cast by cast."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from patina.commands.common import common, say, table, the_studio
from patina.commands.matching import triple
from patina.sheets.named import named

if TYPE_CHECKING:
    from patina.sheets.series import SeriesSheet


@click.command()
@click.argument("piece")
@click.option("--order", type=click.Choice(["number", "date"]), default="number", show_default=True)
@click.option("--zone", default="", help="An agreed zone; else the first.")
@click.option("--master", default="", help="An agreed finish; else the one that most casts name.")
@common
def series(piece: str, order: str, zone: str, master: str, studio: str | None, as_json: bool) -> None:
    """The casts of PIECE (its title or id) against the agreed finish and each other, with charts and alarms."""
    from patina.bench.matched.series import series as deed

    with the_studio(studio) as opened:
        sheet = deed(opened, piece, order=order, zone=zone, master=master)
    say(as_json, series_json(sheet), "" if as_json else series_text(sheet))


def series_json(sheet: SeriesSheet) -> dict[str, Any]:
    """A series as JSON has it."""
    return {
        "piece": sheet.piece.title,
        "edition": sheet.piece.edition,
        "order": sheet.order,
        "state": sheet.state,
        "zone": sheet.zone,
        "master": sheet.master,
        "casts": [
            {
                "id": c.id,
                "number": c.label,
                "cast_on": None if c.cast_on is None else c.cast_on.isoformat(),
                "lab": None if c.lab is None else triple(c.lab),
                "readings": c.n,
                "delta_e": c.delta_e,
                "to_before_delta_e": c.to_before,
                "verdict": c.verdict or None,
                "changed": list(c.changed),
            }
            for c in sheet.casts
        ],
        "not_on_record": list(sheet.not_on_record),
        "charts": [
            {
                "of": c.name,
                "values": list(c.values),
                "centre": c.centre,
                "lower": c.lower,
                "upper": c.upper,
                "moving_ranges": list(c.ranges),
                "mean_range": c.mean_range,
                "range_upper": c.range_upper,
                "ranges_out": list(c.ranges_out),
                "marks": [{"cast": sheet.labels[m.index], "rule": m.rule, "text": m.text} for m in c.marks],
                "provisional": c.provisional,
            }
            for c in sheet.charts
        ],
        "alarms": [
            {"kind": a.kind, "cast": sheet.labels[a.index], "p": a.p, "per_cast": list(a.per_cast), "words": a.words}
            for a in sheet.alarms
        ],
        "changes": [{"cast": sheet.labels[i], "what": what} for i, what in sheet.changes],
        "widest_de": sheet.widest_de,
        "intervals": [
            {"of": name, "low": i.low, "high": i.high, "factor": i.factor, "proves": i.proves, "words": i.words}
            for name, i in zip(("L*", "a*", "b*"), sheet.intervals, strict=False)
        ],
        "variation": list(sheet.variation),
        "shared": [
            {
                "cast": s.cast,
                "before": s.before,
                "same": list(s.same),
                "different": list(s.different),
                "not_written_down": list(s.blank),
                "tiles_first": list(s.tiles),
            }
            for s in sheet.shared
        ],
        "words": list(sheet.words),
    }


def series_text(sheet: SeriesSheet) -> str:
    """A series for a person, with its charts."""
    from tui.charts import series_charts

    rows = [
        (
            c.label,
            c.id,
            "" if c.lab is None else f"{c.lab.L:.1f} {c.lab.a:.1f} {c.lab.b:.1f}",
            "" if c.delta_e is None else f"{c.delta_e:.1f}",
            "" if c.to_before is None else f"{c.to_before:.1f}",
            c.verdict or ("not read" if c.lab is None else ""),
            "; ".join(c.changed),
        )
        for c in sheet.casts
    ]
    against = f", against {named(sheet.master, sheet.master_name)}" if sheet.master else ""
    head = f"{sheet.piece.title}: {sheet.zone}, {sheet.state}{against}"
    lines = [head, table(rows, ("cast", "id", "L* a* b*", "ΔE", "to the one before", "verdict", "changed")), ""]
    lines += series_charts(sheet)
    lines += [f"before {sheet.labels[i]}: {what}" for i, what in sheet.changes]
    lines += list(sheet.words) + [i.words for i in sheet.intervals] + list(sheet.variation)
    if sheet.not_on_record:
        lines.append(f"Not on record: {', '.join(sheet.not_on_record)}.")
    if sheet.shared:
        lines.append(sheet.shared[-1].words)
    return "\n".join(line.rstrip() for line in lines)
