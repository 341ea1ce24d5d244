"""`patina reread`: the studio's photographs read again with today's reading function."""

from __future__ import annotations

import sys
from datetime import date, datetime
from typing import TYPE_CHECKING

import click

from patina.commands.common import common, say, table, the_studio, times

if TYPE_CHECKING:
    from patina.sheets import RereadRow, RereadSheet


@click.command()
@click.option("--since", type=click.DateTime(["%Y-%m-%d"]), help="Only photographs added on that day or later.")
@click.option("--keep", is_flag=True, help="Put readings that come out otherwise beside the old ones.")
@click.option("--withdraw", is_flag=True, help="With --keep: let the old readings count no more; they stay on record.")
@click.option("--cluster", metavar="ADDRESS", default="", help="A Dask scheduler, such as tcp://host:8786.")
@click.option("--workers", type=click.IntRange(1, 512), help="Processes on this machine (else one for each core).")
@click.option("--fresh", is_flag=True, help="Forget what an earlier run has read.")
@common
def reread(
    since: datetime | None,
    keep: bool,
    withdraw: bool,
    cluster: str,
    workers: int | None,
    fresh: bool,
    studio: str | None,
    as_json: bool,
) -> None:
    """Read every photograph again and say what comes out otherwise; nothing is written without --keep.

    Ctrl+C stops between two photographs; the next run goes on where this one was.
    """
    from patina.bench.readings.rereading import reread as deed

    halt = Halt()
    day: date | None = None if since is None else since.date()
    with the_studio(studio) as opened, halt:
        found = deed(
            opened,
            since=day,
            keep=keep,
            withdraw=withdraw,
            cluster=cluster,
            workers=workers,
            fresh=fresh,
            progress=None if as_json or not sys.stderr.isatty() else _tell,
            stop=lambda: halt.asked,
        )
    say(as_json, found.as_json(), _words(found))


def _tell(done: int, of: int, name: str) -> None:
    sys.stderr.write(f"\r{done} of {of}  {name}" + ("\n" if done == of else ""))


class Halt:
    """Ctrl+C asks to stop; pressed twice it ends the program as ever."""

    def __init__(self) -> None:
        self.asked = False

    def __enter__(self) -> Halt:
        import signal

        def ask(*_: object) -> None:
            if self.asked:
                raise KeyboardInterrupt
            self.asked = True

        self._before = signal.signal(signal.SIGINT, ask)
        return self

    def __exit__(self, *_: object) -> None:
        import signal

        signal.signal(signal.SIGINT, self._before)


def _words(found: RereadSheet) -> str:
    shown = [row for row in found.rows if row.outcome not in ("same", "nothing to read")]
    lines = [table([_cells(row) for row in shown], ("of", "area", "reading", "before", "after", "ΔE00", "what"))]
    if not shown:
        lines = ["Every reading comes out as it is on record."]
    compared = [row for row in found.rows if row.de00 is not None]
    lines.append(
        f"{times(found.done, 'photograph')} of {found.photographs} read, {found.before} of them by an earlier run; "
        f"{len(found.of('same'))} readings come out the same, {len(found.of('other'))} otherwise."
    )
    if compared and found.median_de00 is not None and found.largest_de00 is not None:
        beyond = sum(row.beyond_doubt for row in compared)
        lines.append(
            f"Median ΔE00 {found.median_de00:.2f}, largest {found.largest_de00:.2f}; {beyond} differ by more than "
            "both readings' doubt."
        )
    if found.kept:
        lines.append(f"{times(sum(1 for r in found.rows if r.kept), 'reading')} put on record beside the old.")
    else:
        lines.append("Nothing was written; --keep puts the new readings beside the old.")
    if found.stopped:
        lines.append(f"Stopped: {found.left} are left; the same command goes on there.")
    return "\n".join(lines)


def _cells(row: RereadRow) -> tuple[str, ...]:
    def lab(values: object) -> str:
        return "" if values is None else f"{values.L:.1f} {values.a:.1f} {values.b:.1f}"  # type: ignore[attr-defined]

    what = row.words or row.outcome
    if row.kept:
        what = f"{what} (kept as {row.kept})"
    mark = "!" if row.beyond_doubt else ""
    de = "" if row.de00 is None else f"{row.de00:.2f}{mark}"
    return (row.target, row.area, row.reading, lab(row.before), lab(row.after), de, what)
