"""Salt extractions as plots: what is out against the root of time, and the law that fits best."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patina.bench.treating.treat_words import extraction_curve
from patina.sheets.treatment_words import extraction_lines
from tui.plots import Curve, Plot

if TYPE_CHECKING:
    from patina.sheets.treatment import TreatmentSheet


def of_extractions(sheet: TreatmentSheet) -> tuple[Plot, ...]:
    """One plot for each extraction that has readings."""
    names = {bath.id: bath.value.name for bath in sheet.record.baths}
    plots = []
    for found in sheet.extractions:
        if not found.points:
            continue
        curves = [Curve("read", tuple(p.root_h for p in found.points), tuple(p.total for p in found.points), "●")]
        line = extraction_curve(found)
        if line:
            curves.append(Curve(found.model, tuple(x for x, _ in line), tuple(y for _, y in line)))
        whole = () if found.all_out is None else ((found.all_out, "all that will come out"),)
        plots.append(
            Plot(
                f"{names[found.bath]}: salt that is out",
                "√ hours",
                found.unit,
                tuple(curves),
                " ".join(line.strip() for line in extraction_lines(found)),
                whole,
            )
        )
    return tuple(plots)
