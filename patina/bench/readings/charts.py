"""The studio's own charts: each by a name, with its edition or its own measured values, asked for once."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.bench.settings import chart_edition
from patina.colour.values import EDITIONS
from patina.errors import BadChart, BadQuantity, NotFound

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.sheets import PhotoReading

LONGEST_NAME = 60
# Words that `--chart` takes for something else.
TAKEN = ("auto", "none", "white-card", "step-card")


@dataclass(frozen=True, slots=True)
class OwnChart:
    """A chart of the studio. edition: as printed on its back. values: text of the file of its own
    measured values (CSV or CGATS), empty where the published ones of its edition hold."""

    name: str
    edition: str
    values: str = ""

    def as_json(self) -> dict[str, Any]:
        """Name, edition and whether it has values of its own."""
        return {"name": self.name, "edition": self.edition, "own_values": bool(self.values)}


def list_charts(studio: Studio) -> tuple[OwnChart, ...]:
    """The charts that the studio remembers, by name."""
    kept = studio.setting("charts")
    return tuple(OwnChart(**one) for one in json.loads(kept)) if kept else ()


def add_chart(studio: Studio, name: str, *, edition: str = "unknown", values: Path | None = None) -> OwnChart:
    """Remember a chart, or what is newly known of it.

    edition: one of EDITIONS. values: a CSV or CGATS file of its own measured values.
    Raises BadQuantity for its name or edition, BadChart for a file of values that cannot be used.
    """
    name = name.strip()
    if not name or len(name) > LONGEST_NAME or not name.isprintable() or name in TAKEN or "/" in name or "." in name:
        raise BadQuantity(
            f"'{name}' cannot be the name of a chart.",
            "Use a few letters and figures, such as 'pocket 1'.",
            field="chart",
        )
    if edition not in EDITIONS:
        raise BadQuantity(f"'{edition}' is no edition.", f"Use one of: {', '.join(EDITIONS)}.", field="edition")
    text = ""
    if values is not None:
        from patina.colour.chart_data import own_values

        try:
            own_values(values)
        except BadChart as trouble:
            trouble.field = "values"
            raise
        text = values.read_text(encoding="utf-8-sig")
    chart = OwnChart(name, edition, text)
    _keep(studio, [*(c for c in list_charts(studio) if c.name != name), chart])
    return chart


def drop_chart(studio: Studio, name: str) -> None:
    """Forget a chart. What was read with it stays as it was. Raises NotFound."""
    chart = chart_of(studio, name)
    _keep(studio, [c for c in list_charts(studio) if c != chart])


def chart_of(studio: Studio, name: str) -> OwnChart:
    """A chart by its name. Raises NotFound."""
    for chart in list_charts(studio):
        if chart.name == name.strip():
            return chart
    known = ", ".join(c.name for c in list_charts(studio)) or "none yet"
    raise NotFound(f"The studio has no chart '{name}'.", f"Its charts: {known}. Or give the path of a file of values.")


@contextmanager
def as_read(studio: Studio, chart: str, edition: str) -> Iterator[tuple[str, str]]:
    """What the reader takes for a chart that a person names: the chart's word or file, and its edition.

    chart: "auto", "none", a card, the path of a file, or the name of one of the studio's charts.
    """
    if chart in TAKEN or Path(chart).is_file():
        yield chart, chart_edition(studio, edition)
        return
    own = chart_of(studio, chart)
    if not own.values:
        yield "auto", own.edition if edition == "unknown" else edition
        return
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / ("values.txt" if "BEGIN_DATA" in own.values else "values.csv")
        file.write_text(own.values, encoding="utf-8")
        yield str(file), edition


def read_by(
    studio: Studio,
    photo: Path,
    *,
    chart: str,
    edition: str,
    corners: str | None = None,
    areas: Sequence[str] = (),
    card: str | None = None,
    chart_photograph: str | None = None,
    flat: Path | None = None,
) -> PhotoReading:
    """Read a photograph by one of the studio's charts, or by what ``reading.read`` takes; nothing is kept.
    chart_photograph: SHA-256 of another stored photograph, which shows the chart; corners are then in it. flat: a
    photograph of plain card in the same place and light."""
    from patina.bench.readings.reading import read
    from patina.bench.readings.tiles import photograph_path

    other = None if chart_photograph is None else photograph_path(studio, chart_photograph)
    with as_read(studio, chart, edition) as (named, known):
        return read(
            photo, chart=named, edition=known, corners=corners, areas=areas, card=card, chart_photo=other, flat=flat
        )


def _keep(studio: Studio, charts: list[OwnChart]) -> None:
    ordered = sorted(charts, key=lambda c: c.name)
    studio.set_setting("charts", json.dumps([asdict(c) for c in ordered], ensure_ascii=False))
