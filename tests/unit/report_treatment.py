"""A conservator's treatment written through the deeds, for the tests of its report; people and places are invented."""

from __future__ import annotations

from pathlib import Path

from patina.bench.pieces.casts import add_cast, add_piece
from patina.bench.readings.tiles import add_photograph, add_reading
from patina.bench.studio import Studio
from patina.bench.treating.treat import begin_treatment, write_part
from patina.entries import NewCast, NewPiece, NewReading

SWATCHES = Path(__file__).parents[2] / "swatches"
FIGURES = ((2, 12.9), (8, 24.0), (24, 36.5), (48, 44.0), (96, 49.6), (144, 51.2), (192, 51.9))


def treated(studio: Studio) -> str:
    """A treatment with something in every part; gives its id."""
    piece = add_piece(studio, NewPiece("Tide Walker", "Petra Ostling (invented)", 3, 1840.0))
    cast = add_cast(
        studio, NewCast(piece.id, "1/3", "C83600", 96_000.0, 5.0, 2.3, "Town of Exampleton", "harbour mole")
    )
    id = cast.row.id
    before = add_photograph(studio, id, SWATCHES / "relief-before.jpg", state="before").sha256
    after = add_photograph(studio, id, SWATCHES / "relief-after.jpg", state="after").sha256
    placard = add_photograph(studio, id, SWATCHES / "placard.jpg", state="during").sha256
    first = add_reading(studio, id, NewReading(34.0, -2.0, 9.0, area="left knee", uncertainty_de00=1.1))
    second = add_reading(studio, id, NewReading(29.5, -1.0, 8.0, area="left knee", uncertainty_de00=1.1))
    sheet = begin_treatment(
        studio,
        {
            "cast": id,
            "name": "cleaning and rewaxing 2026",
            "accession": "EX 1974.12",
            "measurements": "H 1840, W 620, D 540 mm",
            "marks": "signed on the base, left",
            "made_when": "cast 1968",
            "site": "mole of the harbour, 40 m from the sea",
            "purpose": "Stop active corrosion in the folds and renew the coating.",
            "alloy_known_by": "XRF, three spots",
            "documenter": "A. Invented",
            "started_on": "2026-03-02",
            "finished_on": "2026-03-20",
            "state_after": "Even dark green; wax closed; two small losses toned.",
            "result": "Active spots gone; colour within what was agreed.",
            "limits": "Wax comes off with white spirit; inhibitor cannot be seen on it.",
            "recommendations": "Wash with water twice a year; wax in spring.",
            "health_and_waste": "Gloves, goggles; rinse water to the drum for copper.",
        },
    )

    def write(kind: str, **fields: object) -> str:
        return write_part(studio, sheet.id, kind, {k: str(v) for k, v in fields.items()}).id

    write("person", name="A. Invented", role="conservator", affiliation="Quay Studio")
    write("person", name="B. Invented", role="assistant")
    write(
        "authority",
        what="authority",
        who="C. Invented",
        capacity="owner's curator",
        in_writing="letter",
        dated="2026-02-20",
    )
    seen = write(
        "statement",
        sort="observation",
        topic="corrosion",
        text="Pale green powder in folds, 2 to 4 mm spots.",
        place="drapery",
        method="loupe 10x",
        circumstances="dry, 55 % RH",
        by="A. Invented",
        on="2026-03-02",
    )
    write(
        "statement",
        sort="interpretation",
        topic="corrosion",
        text="Active chloride corrosion under the old lacquer.",
        rests_on=seen,
        by="A. Invented",
        on="2026-03-03",
    )
    one = write(
        "map",
        visit="before",
        view="front",
        photograph=before,
        outline="0.12,0.1 0.88,0.1 0.88,0.92 0.12,0.92",
        seen_on="2026-03-02",
        seen_by="A. Invented",
        circumstances="diffuse daylight",
    )
    two = write(
        "map",
        visit="after",
        view="front",
        photograph=after,
        outline="0.12,0.1 0.88,0.1 0.88,0.92 0.12,0.92",
        seen_on="2026-03-20",
        seen_by="A. Invented",
    )
    for at, pct in ((one, 0.36), (two, 0.22)):
        write(
            "zone",
            map=at,
            name="drapery",
            term="bronze_disease",
            polygons=f"0.2,0.2 {pct + 0.2:.2f},0.2 {pct + 0.15:.2f},0.55 0.22,0.5",
            extent="5 to 25",
            severity=3,
            activity="active",
            adhesion="powdering",
            bead="none",
        )
        write(
            "zone",
            map=at,
            name="right side",
            term="streaking",
            polygons="0.55,0.3 0.8,0.3 0.8,0.8 0.6,0.75",
            severity=1,
            activity="stable",
            bead="patchy",
            note="below the weep hole",
        )
    write(
        "proposal",
        aim="Remove lacquer and active corrosion, inhibit, wax.",
        steps="wash; remove lacquer; inhibit; wax",
        alternatives="leave and inspect yearly: spots would go on; strip to metal: patina is original",
        retreatability="wax is taken off with white spirit",
        risks="colour may deepen",
        hours_low="24",
        hours_high="36",
        visits=3,
        cost="EUR 2 400",
        drafted_by="A. Invented",
        drafted_on="2026-03-03",
    )
    write(
        "authority",
        what="consent",
        who="C. Invented",
        capacity="owner's curator",
        in_writing="signed proposal",
        dated="2026-03-04",
        proposal=1,
    )
    write(
        "signature",
        of="proposal",
        version=1,
        who="C. Invented",
        capacity="owner's curator",
        how="on paper",
        dated="2026-03-04",
    )
    write(
        "patch",
        place="back of base",
        agent="white spirit",
        strength=100,
        strength_unit="% v/v",
        dwell_min=2,
        tool="swab",
        area_cm2=4,
        effect="too little",
        harm="none",
        result="wax off, lacquer left",
        mildness=1,
        by="A. Invented",
        on="2026-03-05",
    )
    write(
        "patch",
        place="back of base",
        agent="acetone",
        strength=50,
        strength_unit="% v/v",
        dwell_min=1,
        tool="swab",
        area_cm2=4,
        effect="enough",
        harm="none",
        result="lacquer softened and lifted, patina untouched",
        mildness=2,
        map=one,
        spot="0.4,0.85",
        reading_before=first.id,
        reading_after=second.id,
        by="A. Invented",
        on="2026-03-05",
    )
    act = write(
        "action",
        on="2026-03-09",
        by="B. Invented",
        did="lacquer taken off",
        zone="whole",
        how="swabs, rolled once",
        agent="acetone 50 % v/v in ethanol",
        air_c="18 °C",
        humidity_pct=50,
        metal_c="19 °C",
        hours=6,
        proposal=1,
    )
    write(
        "action",
        on="2026-03-16",
        by="A. Invented",
        did="loss on the left knee toned",
        zone="left knee",
        hours=2,
        proposal=1,
        deviation="toned wax instead of clear",
        deviation_why="loss was bright",
        consent="not needed",
    )
    write(
        "material",
        way="added",
        name="Inhibitor",
        action=act,
        substance="95-14-7",
        cas="95-14-7",
        batch_number="B-2291",
        quantity="30 g",
        left_words="traces in the folds",
        supplier="Invented Supplies",
    )
    write("material", way="removed", name="old acrylic lacquer", action=act, quantity="12 g", kept="jar EX-7")
    write(
        "sample",
        what="pale green powder, 2 mg",
        place="fold at the knee",
        purpose="X-ray diffraction",
        label="EX-S1",
        kept="drawer 3",
        by="A. Invented",
        on="2026-03-02",
    )
    bath = write(
        "bath",
        name="arm fragment",
        measured="chloride mg/L",
        scheme="one bath followed",
        solution="deionised water",
        supply="0.4",
        object_g="1.2 kg",
    )
    for hours, value in FIGURES:
        write(
            "bath-reading",
            bath=bath,
            number=1,
            hours=hours,
            value=value,
            volume_ml="2 L",
            by="B. Invented",
            on="2026-03-10",
        )
    write(
        "layer",
        product="Microcrystalline wax",
        sort="cold wax",
        composition="microcrystalline wax 82 %; polyethylene wax 15 %",
        batch_number="W-77",
        coats=2,
        used_g="36 g",
        area_m2="2.3 m2",
        application="brush, buffed after 12 h",
        cure_h=12,
        air_c="18 °C",
        humidity_pct=50,
        metal_c="30 °C",
        by="A. Invented",
        on="2026-03-18",
    )
    frame = "id; scale; chart; date"
    for sha, role in ((before, "before"), (placard, "during"), (after, "after")):
        write(
            "image",
            photograph=sha,
            role=role,
            view="front",
            light="diffuse",
            position="tripod 2.4 m, 85 mm",
            in_frame=frame if role != "after" else "id; chart; date",
            by="B. Invented",
            on="2026-03-02",
        )
    write(
        "care",
        trigger="water_bead",
        task="wash and renew the wax",
        every_months=12,
        responsible="harbour office",
        from_day="2026-03-20",
    )
    write("copy", to="Town of Exampleton", what="report with photographs", form="paper", on="2026-03-21")
    return sheet.id
