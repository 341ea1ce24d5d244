"""The placard: a printed sheet that lets a photograph say which tile it shows and where to look.

Four fiducials stand at the corners, a QR code names the record, one window is for the colour chart
and one for the tile, and a scale in millimetres lets a person check that the printer did not
shrink the sheet. Everything is laid out in millimetres from the sheet's upper left corner.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from pathlib import Path

from patina.errors import BadPhotograph, NotFound, Refused

Box = tuple[float, float, float, float]

FIDUCIAL_MM = 20.0
CODE_WORD = "PATINA"
CODE_VERSION = "1"
_RECORD = re.compile(r"[A-Z]{1,3}[1-9][0-9]{0,8}")
_UID = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True, slots=True)
class PlacardLayout:
    """Where things stand on one size of sheet, in mm; boxes are (x, y, width, height).

    fiducials: upper left corners of the four markers, in the order of ``markers``: upper left,
    upper right, lower right, lower left. markers: their numbers in OpenCV's dictionary
    DICT_4X4_50; each size of sheet has its own four, so that the markers tell the size. The low
    numbers are left to other people's sheets, which begin with them; none of ours looks like
    another of ours in a mirror.
    """

    paper: str
    width_mm: float
    height_mm: float
    markers: tuple[int, int, int, int]
    chart: Box
    tile: Box
    code: Box
    fields: Box
    scale: tuple[float, float, float]

    @property
    def fiducials(self) -> tuple[tuple[float, float], ...]:
        """Upper left corner of each marker."""
        right, low = self.width_mm - 10.0 - FIDUCIAL_MM, self.height_mm - 10.0 - FIDUCIAL_MM
        return ((10.0, 10.0), (right, 10.0), (right, low), (10.0, low))


LAYOUTS: dict[str, PlacardLayout] = {
    "a4": PlacardLayout(
        paper="a4",
        width_mm=297.0,
        height_mm=210.0,
        markers=(22, 27, 29, 31),
        chart=(12.0, 38.0, 134.0, 94.0),
        tile=(152.0, 38.0, 133.0, 132.0),
        code=(40.0, 140.0, 36.0, 36.0),
        fields=(82.0, 138.0, 64.0, 40.0),
        scale=(98.5, 196.0, 100.0),
    ),
    "letter": PlacardLayout(
        paper="letter",
        width_mm=279.4,
        height_mm=215.9,
        markers=(33, 36, 39, 41),
        chart=(12.0, 38.0, 128.0, 94.0),
        tile=(146.0, 38.0, 121.4, 136.0),
        code=(40.0, 140.0, 36.0, 36.0),
        fields=(80.0, 138.0, 60.0, 40.0),
        scale=(89.7, 201.0, 100.0),
    ),
    "a3": PlacardLayout(
        paper="a3",
        width_mm=420.0,
        height_mm=297.0,
        markers=(43, 44, 46, 49),
        chart=(10.0, 38.0, 292.0, 220.0),
        tile=(307.0, 38.0, 103.0, 220.0),
        code=(36.0, 261.0, 26.0, 26.0),
        fields=(70.0, 262.0, 150.0, 28.0),
        scale=(240.0, 283.0, 100.0),
    ),
}


@dataclass(frozen=True, slots=True)
class PlacardName:
    """What the code on a placard says: the record's short name ("T12") and its lasting uid (32 hex digits)."""

    record: str
    uid: str
    paper: str = "a4"

    def __post_init__(self) -> None:
        if not _RECORD.fullmatch(self.record):
            raise Refused(
                f"“{self.record}” is not the name of a record.", "Use a name such as T12 for a tile or C3 for a cast."
            )
        if not _UID.fullmatch(self.uid):
            raise Refused(f"“{self.uid}” is not a record's uid.", "Print the placard again from the record itself.")
        layout_of(self.paper)

    def code(self) -> str:
        """The text in the QR code.

        >>> PlacardName("T12", "0" * 32).code()
        'PATINA:1:A4:T12:00000000000000000000000000000000'
        """
        return ":".join((CODE_WORD, CODE_VERSION, self.paper.upper(), self.record, self.uid.upper()))


def layout_of(paper: str) -> PlacardLayout:
    """The layout of that size of sheet ("a4", "letter" or "a3"). Raises NotFound for others."""
    found = LAYOUTS.get(paper.strip().lower())
    if found is None:
        raise NotFound(f"There is no placard of size “{paper}”.", f"Choose one of {', '.join(LAYOUTS)}.", field="paper")
    return found


def name_in_code(text: str) -> PlacardName:
    """What a QR code says. Raises BadPhotograph where it is not a placard's, or of a later version.

    >>> name_in_code("PATINA:1:A4:T12:" + "0" * 32).record
    'T12'
    """
    parts = text.strip().split(":")
    if len(parts) != 5 or parts[0] != CODE_WORD:
        raise BadPhotograph(
            "The QR code in the photograph is not a placard's.", "Use a placard printed by this program."
        )
    if parts[1] != CODE_VERSION:
        raise BadPhotograph(
            f"The placard has a code of version {parts[1]}, this program reads version {CODE_VERSION}.",
            "Print the placard again, or read the photograph with the newer program.",
        )
    return PlacardName(record=parts[3], uid=parts[4].lower(), paper=parts[2].lower())


@dataclass(frozen=True, slots=True)
class Placard:
    """A placard to print. heading: the tile's or piece's own name. fields: label and value; an empty
    value leaves a line to write on (at most six are printed). studio: whose it is, printed small.
    """

    name: PlacardName
    heading: str
    fields: tuple[tuple[str, str], ...] = ()
    studio: str = ""


def marker_cells(number: int) -> tuple[str, ...]:
    """The six rows of a fiducial with its black border, "1" for black. number: 0 to 49."""
    import cv2

    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    picture = cv2.aruco.generateImageMarker(dictionary, number, 6)
    return tuple("".join("1" if cell == 0 else "0" for cell in row) for row in picture)


def code_cells(text: str) -> tuple[str, ...]:
    """Rows of the QR code without its quiet zone, "1" for black; about a quarter of it may be spoiled."""
    import segno

    made = segno.make(text, error="q", micro=False, boost_error=False)
    return tuple("".join("1" if cell else "0" for cell in row) for row in made.matrix)


def _facts(placard: Placard) -> str:
    layout = layout_of(placard.name.paper)
    boxes = {key: list(getattr(layout, key)) for key in ("chart", "tile", "code", "fields", "scale")}
    return json.dumps(
        {
            **boxes,
            "width": layout.width_mm,
            "height": layout.height_mm,
            "fiducials": [
                {"x": x, "y": y, "side": FIDUCIAL_MM, "rows": marker_cells(number)}
                for (x, y), number in zip(layout.fiducials, layout.markers, strict=True)
            ],
            "qr": code_cells(placard.name.code()),
            "record": placard.name.record,
            "uid": placard.name.uid,
            "heading": placard.heading,
            "studio": placard.studio,
            "lines": [list(pair) for pair in placard.fields[:6]],
        }
    )


_TEMPLATE = Path(__file__).with_name("placard.typ")


def placard_pdf(placard: Placard) -> bytes:
    """The placard as a PDF of one sheet, to be printed at 100 % ("actual size")."""
    import typst

    inputs = {"facts": _facts(placard)}
    return typst.compile(_TEMPLATE, format="pdf", sys_inputs=inputs, ignore_system_fonts=True, timestamp=0)


def placard_png(placard: Placard, dots_per_mm: float = 8.0) -> bytes:
    """The placard as a PNG picture, ``dots_per_mm`` pixels to the millimetre."""
    import typst

    inputs = {"facts": _facts(placard)}
    return typst.compile(_TEMPLATE, format="png", sys_inputs=inputs, ignore_system_fonts=True, ppi=25.4 * dots_per_mm)
