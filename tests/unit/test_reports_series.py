"""The series report and its charts: what is drawn is what the sheets hold, the same bytes each time."""

from __future__ import annotations

import math
import re
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pypdf
import pytest
from report_samples import DAY

from patina.colour.lab import srgb_hex
from patina.colour.values import Lab
from patina.matching.series import individuals_chart
from patina.reports.figures_series import out_of_limits, series_charts
from patina.reports.figures_time import ageing_chart, potency_chart, salt_chart, torch_chart
from patina.reports.publish import publish
from patina.reports.series_report import series_document
from patina.sheets import PieceRow, StripSheet, WorkEvent, WorkRow, WorkSheet, WorkStep, ZoneRow
from patina.sheets.ageing import CourseRow
from patina.sheets.series import SeriesCast, SeriesSheet, SharedRow

# Individuals and moving range, viscosity of batches of aircraft primer paint: 15 batches.
# Source: D.C. Montgomery, Introduction to Statistical Quality Control, 6th edition, table 6.6 (from memory):
# mean 33.52, mean moving range 0.48, limits 34.80 and 32.24, upper limit of the ranges 1.57.
VISCOSITY = (33.75, 33.05, 34.00, 33.81, 33.46, 34.02, 33.68, 33.27, 33.49, 33.20, 33.62, 33.00, 33.54, 33.12, 33.84)
AT = datetime(2026, 3, 14, 8, 0, tzinfo=UTC)


def sheet(values: tuple[float, ...] = VISCOSITY) -> SeriesSheet:
    """A series whose L* are the values; a* and b* stand still but for one jump."""
    n = len(values)
    labels = tuple(f"{k}/{n}" for k in range(1, n + 1))
    others = tuple(7.0 if k < n - 1 else 9.5 for k in range(n))
    casts = tuple(
        SeriesCast(f"C{k + 1}", labels[k], DAY, Lab(v, 7.0, 9.0), 5, 0.8, 0.5 if k else None, "pass")
        for k, v in enumerate(values)
    )
    return SeriesSheet(
        piece=PieceRow("W1", "Heron", "Maker (invented)", n, n),
        order="number",
        state="waxed and cold",
        zone="whole",
        casts=(*casts, SeriesCast("C99", "AP", None, None, 0, None, None, "")),
        unnumbered=0,
        not_on_record=("16/15",),
        master="M1",
        centre=Lab(33.5, 7.0, 9.0),
        labels=labels,
        charts=(individuals_chart(values), individuals_chart(others, "a*"), individuals_chart(others, "b*")),
        alarms=(),
        changes=((3, "blast medium: bead → alumina"),),
        widest_de=1.9,
        widest_inside=True,
        intervals=(),
        variation=("L*: within 0.3, between 0.4",),
        shared=(SharedRow("2/15", "1/15", ("alloy",), ("hand: A → B",), ("air",), ("hand",), ""),),
        spread_from="this series alone",
        words=("No drift and no jump is told.",),
    )


def texts(svg: str) -> list[str]:
    """What is written in a drawing."""
    return [re.sub(r"<[^>]+>", "", t) for t in re.findall(r"<text[^>]*>(.*?)</text>", svg, re.DOTALL)]


def pdf_text(path: Path) -> str:
    return " ".join(" ".join(p.extract_text().replace("\u202f", " ").split()) for p in pypdf.PdfReader(path).pages)


def test_the_chart_says_the_limits_of_a_worked_example() -> None:
    """Centre, limits and range limit of the handbook's example stand on the chart, rounded to a decimal."""
    chart = series_charts(sheet())[0]
    written = texts(chart.svg)
    for words in ("centre 33.5", "upper 34.8", "lower 32.2", "upper 1.6"):
        assert words in written, words
    assert "provisional" not in chart.caption
    assert "15/15" in written and "L* of each cast" in written
    assert "changed before 4/15: blast medium" in chart.alt


def test_points_are_drawn_at_their_values() -> None:
    """The markers' heights in the drawing are a straight line of the values: read back from the SVG, their spread and
    order are those of the example."""
    chart = series_charts(sheet())[0]
    space = "{http://www.w3.org/2000/svg}"
    axes = next(g for g in ElementTree.fromstring(chart.svg).iter(f"{space}g") if g.get("id") == "axes_1")
    lines = [g for g in axes.findall(f"{space}g") if str(g.get("id")).startswith("line2d_")]
    heights = [float(use.get("y", "nan")) for line in lines for use in line.iter(f"{space}use")]
    heights = heights[1 : 1 + len(VISCOSITY)]  # the first is the mark of what changed
    # the drawing's y grows downward: highest value, smallest y
    assert heights.index(min(heights)) == VISCOSITY.index(max(VISCOSITY))
    line = [(v, h) for v, h in zip(VISCOSITY, heights, strict=True)]
    slope = (line[5][1] - line[1][1]) / (line[5][0] - line[1][0])
    for value, height in line:
        assert height == pytest.approx(line[0][1] + slope * (value - line[0][0]), abs=0.01)


def test_what_lies_beyond_the_limits_has_another_shape() -> None:
    """The shape of a marker tells it, not its colour: a cast beyond the limits is a filled square."""
    odd = (*VISCOSITY[:14], 40.0)
    one = series_charts(sheet(odd))[0]
    assert out_of_limits(sheet(odd).charts[0]) == (14,)
    assert set(re.findall(r"(?:fill|stroke): (#[0-9a-f]{6})", one.svg)) <= {"#000000", "#ffffff"}
    assert "40" in one.alt


def test_few_casts_are_called_provisional() -> None:
    """Below eight casts the limits are said to be provisional."""
    assert "provisional" in series_charts(sheet(VISCOSITY[:4]))[0].caption


def test_the_report_holds_register_charts_and_changes(tmp_path: Path) -> None:
    """Every cast with colour and figures, the casts not read, numbers not on record, what changed, what is shared."""
    document = series_document(sheet(), made_on=DAY, colour_of=srgb_hex, studio="Quay")
    publish(document, tmp_path / "series.pdf")
    text = pdf_text(tmp_path / "series.pdf")
    for expected in (
        "Heron",
        "L* 33.8 a* 7.0 b* 9.0",
        "not read in this state",
        "16/15",
        "blast medium: bead → alumina",
        "hand: A → B",
        "tiles first for hand",
        "✓ pass",
        "ΔE 1.9, inside the limit",
        "centre 33.5",
        "the figures count",
    ):
        assert expected in text, expected


def test_two_casts_have_no_chart_when_none_was_made(tmp_path: Path) -> None:
    """A series that was hardly read is printed without charts, and says what it knows."""
    bare = replace(sheet(), charts=(), labels=(), changes=(), shared=(), widest_de=None, widest_inside=None)
    publish(series_document(bare, made_on=DAY, colour_of=srgb_hex), tmp_path / "bare.pdf")
    assert "Charts by cast order" not in pdf_text(tmp_path / "bare.pdf")


def course() -> CourseRow:
    return CourseRow("outdoors", 3, 12, 400.0, (4.0, -1.0, -2.0), 80.0, 50.0, 120.0, "outdoors: lighter")


def strips() -> StripSheet:
    checks = ((0.5, 12.0, 20.0, AT, "A"), (4.0, 20.0, 20.0, AT, "A"), (8.0, 41.0, None, AT, "B"))
    curve = tuple((h, 11.0 * 2 ** (h / 4.2)) for h in (0.0, 4.0, 8.0, 12.0))
    return StripSheet("B7", checks, 9.0, "strengthen", "strips take twice as long as fresh", 4.2, 1.1, curve)


def work() -> WorkSheet:
    """A work of two zones with three temperatures, one outside its window, one taken back."""
    step = WorkStep(1, "apply", "wash", "torch", "brush", "", 3, (80.0, 95.0), 40.0, 80.0, (2, 1))

    def event(
        seq: int, kind: str, minutes: float, zone: str, true_c: float | None, cancelled: bool = False
    ) -> WorkEvent:
        at = AT + timedelta(minutes=minutes)
        return WorkEvent(
            f"E{seq}", seq, kind, at, "A", 1, zone, None, None, None, None, true_c, None, "", {}, cancelled
        )

    events = (
        event(1, "temperature", 3, "back", 88.0),
        event(2, "pass", 5, "back", None),
        event(3, "temperature", 12, "front", 101.0),
        event(4, "temperature", 14, "front", 300.0, cancelled=True),
        event(5, "temperature", 21, "back", 84.5),
    )
    row = WorkRow("J1", "C1", "Heron 1/9", "R1", "Brown", 2, "A", AT, None, 3)
    more: dict[str, Any] = {
        "seq": 5, "step": 1, "zone": "back", "tool": "", "place": "", "air_c": None, "air_rh_pct": None,
        "thermometer": {}, "texture": 1.0, "reserve": 0.25, "dead_ml": 0.0, "alloy": "C87300", "wall_mm": 5.0,
        "elapsed_s": 0.0, "clock_note": "", "pot": None, "note": "", "version": 1,
    }  # fmt: skip
    return WorkSheet(row, (ZoneRow("back", 1.0), ZoneRow("front", 1.0)), (step,), events, **more)


def test_ageing_is_drawn_by_its_course() -> None:
    """The chart ends where the oldest reading is, at the amounts of the course: 4 (1 - e^-5) = 3.97."""
    chart = ageing_chart(course(), "W1")
    assert f"L* {4 * (1 - math.exp(-5)):.0f}" in texts(chart.svg) or "L* 4" in texts(chart.svg)
    assert "Ageing, kept outdoors" in texts(chart.svg) and "63 %" in chart.caption


def test_strips_are_told_with_what_they_mean() -> None:
    """Every strip stands in the words of the chart; without strips there is none."""
    chart = potency_chart(strips())
    assert chart is not None
    assert "0.5 h 12 s, 4 h 20 s, 8 h 41 s" in chart.alt and chart.caption.startswith("strengthen")
    assert potency_chart(replace(strips(), checks=())) is None


def test_temperatures_outside_the_window_are_counted() -> None:
    """What was taken back is not drawn; one of three lies outside 80 to 95 °C."""
    chart = torch_chart(work())
    assert chart is not None
    assert "1 of 3 readings lie outside the window" in chart.caption
    assert "12 min front 101 °C" in chart.alt and "300" not in chart.alt
    assert torch_chart(replace(work(), events=())) is None


def test_salts_have_their_plateau_with_its_interval() -> None:
    """Plateau and interval stand in the words; without readings there is no chart."""
    chart = salt_chart("arm", (1.0, 2.0, 3.0), (10.0, 18.0, 21.0), plateau=23.0, low=22.0, high=26.0)
    assert chart is not None and "Plateau 23, 22 to 26 (95 %)" in chart.alt
    assert salt_chart("arm", (), ()) is None


def test_a_drawing_holds_no_date_and_names_no_address() -> None:
    """The same figures give the same bytes; apart from the names of its own language no address stands in it."""
    for make in (
        lambda: series_charts(sheet())[0].svg,
        lambda: ageing_chart(course(), "W1").svg,
        lambda: (potency_chart(strips()) or pytest.fail()).svg,
        lambda: (torch_chart(work()) or pytest.fail()).svg,
    ):
        svg = make()
        assert svg == make()
        assert set(re.findall(r"https?://[^\"\s]+", svg)) <= {
            "http://www.w3.org/2000/svg",
            "http://www.w3.org/1999/xlink",
        }
        assert not re.search(r"20\d\d-\d\d-\d\dT", svg) and svg.startswith("<svg")


def test_hostile_names_stay_names_in_a_drawing() -> None:
    """A zone, a piece or a cast called like markup is drawn letter by letter; dollars are no formula."""
    odd = replace(work(), events=tuple(replace(e, zone="<script>$x^2$&") for e in work().events))
    chart = torch_chart(odd)
    assert chart is not None
    assert "<script" not in chart.svg and any("$x^2$" in t.replace("&amp;", "&") for t in texts(chart.svg))


def test_charts_are_drawn_only_when_they_are_asked_for() -> None:
    """The reports are imported without the drawing library, which takes a second."""
    code = (
        "import patina.reports.series_report, patina.reports.figures_time, patina.bench.paper.printing, sys;"
        "print('matplotlib' in sys.modules, 'typst' in sys.modules)"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert out.split() == ["False", "False"]
