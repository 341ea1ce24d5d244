"""A printed placard on the bench, for photographs that are filed by themselves."""

from __future__ import annotations

import hashlib

import cv2
import numpy as np

from patina.colour.placard import Placard, PlacardName, layout_of, placard_png
from swatches import spectra
from swatches.bench import Bench


def uid_of(record: str) -> str:
    """The uid that rendered placards carry for a record."""
    return hashlib.sha256(f"rendered {record}".encode()).hexdigest()[:32]


def lay_placard(bench: Bench, record: str) -> None:
    """Paint an A4 placard for the record at the scene's place: black toner on white paper.

    record: "T4", or "T4:" and the uid that the record has in a studio.
    """
    record, _, uid = record.partition(":")
    x, y = bench.scene.placard_mm
    layout = layout_of("a4")
    fields = (("Alloy", "C87300"), ("Recipe", "Quayside green"), ("Passes", ""), ("Date", ""))
    made = placard_png(Placard(PlacardName(record, uid or uid_of(record)), "Test tile", fields, "Invented studio"))
    grey = np.asarray(cv2.imdecode(np.frombuffer(made, np.uint8), cv2.IMREAD_GRAYSCALE))
    rows, columns = bench.box(x, y, layout.width_mm, layout.height_mm)
    size = (columns.stop - columns.start, rows.stop - rows.start)
    share = (cv2.resize(grey, size, interpolation=cv2.INTER_AREA) / np.float32(255))[..., None]
    paper = bench.response(spectra.surface((95.0, 0.6, -3.0)))
    toner = bench.response(spectra.surface((21.0, 0.5, 0.5)))
    bench.canvas[rows, columns] = share * paper + (1 - share) * toner
