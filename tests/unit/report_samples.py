"""Sheets made by hand for the tests of what is printed; people and places are invented."""

from __future__ import annotations

from datetime import UTC, date, datetime

from patina.colour.values import Caution
from patina.safety.values import (
    CAUTION,
    ClassNote,
    Danger,
    Emission,
    Limit,
    SafetySheet,
    SolutionSafety,
    Undecided,
)
from patina.sheets import (
    BatchSheet,
    CastRow,
    CastSheet,
    Lab,
    LotRow,
    MasterSheet,
    MixedSolution,
    MixSheet,
    Part,
    ReadingRow,
    TileRow,
    TileSheet,
    TreatmentRow,
    WeighLine,
)

DAY = date(2026, 3, 14)
MIXED_AT = datetime(2026, 3, 14, 8, 15, tzinfo=UTC)


def note(code: str, h: str, text: str) -> ClassNote:
    return ClassNote(code, h, text, "made by hand for a test", "CLP_TEXTS")


def wash_safety(name: str = "sulphide wash") -> SolutionSafety:
    return SolutionSafety(
        name=name,
        signal_word="Danger",
        classes=(
            note("Skin Irrit. 2", "H315", "Causes skin irritation."),
            note("Eye Dam. 1", "H318", "Causes serious eye damage."),
            note("Aquatic Chronic 2", "H411", "Toxic to aquatic life with long lasting effects."),
        ),
        euh=("EUH031",),
        pictograms=("GHS05", "GHS09"),
        p_statements=("P264", "P273", "P280", "P302+P352", "P305+P351+P338", "P310", "P391", "P501"),
        undecided=(Undecided("Skin Corr. 1", "the pH of the bath: measure it"),),
        density_g_ml=1.01,
        density_note="density 1.01 g/mL, estimated",
        supplemental=(note("", "EUH031", "Contact with acids liberates toxic gas."),),
    )


def safety() -> SafetySheet:
    return SafetySheet(
        solutions=(wash_safety(), SolutionSafety("veil wash", None, (), (), (), (), (), 1.05, "")),
        dangers=(
            Danger(
                ("veil wash", "wax"),
                "Nitrate under hot wax takes fire.",
                "serious",
                "Rinse first.",
                "X",
                "on the metal",
            ),
            Danger(
                ("sulphide wash", "veil wash"),
                "Hydrogen sulphide.",
                "critical",
                "Rinse to no smell.",
                "X",
                "on the metal",
            ),
        ),
        emits=(
            Emission(
                "hydrogen sulphide",
                "sulphide wash",
                "on hot metal",
                (Limit("NIOSH REL", "C 10 ppm", "N"),),
                "Smell is no alarm.",
            ),
        ),
        ppe=("Splash goggles",),
        waste=("Sulphide rinse water: its own drum",),
        caution=CAUTION,
        place=("Fire watch for an hour", "P310: Call."),
    )


def weigh_line(
    substance: str, cas: str, asked: str, rounded: float, unit: str = "g", lot: str | None = None
) -> WeighLine:
    return WeighLine(substance, cas, asked, 5.0, rounded + 0.04, unit, rounded, -0.44, 4.978, "5 g/L of 1.768 L", lot)


def mix_sheet(name: str = "Green over brown") -> MixSheet:
    return MixSheet(
        recipe=name,
        recipe_id="R12",
        revision=3,
        finish="dark brown with a broken green veil",
        area_m2=2.3,
        texture=1.1,
        solutions=(
            MixedSolution(
                "sulphide wash",
                1767.75,
                "distilled water",
                "made up to",
                (weigh_line("liver of sulphur", "39365-88-3", "5 g/L", 8.8, lot="L3"),),
                ("Water into a wide jug.", "Stir the liver of sulphur in.", "Make up to the mark."),
                "2.3 m² × 1.1 × 40 mL/m² × 6 / 0.5, and reserve and dead volume",
                12.0,
            ),
            MixedSolution(
                "veil wash",
                950.0,
                "distilled water",
                "added to",
                (weigh_line("cupric nitrate trihydrate", "10031-43-3", "100 g/L", 95.0),),
                (),
                "",
                720.0,
            ),
        ),
        warnings=(Caution("two-lots", "Two lots are used.", None, "Make a strip of each."),),
        safety=safety(),
    )


def batch_sheet() -> BatchSheet:
    return BatchSheet(
        id="B7",
        recipe_id="R12",
        recipe="Green over brown",
        revision=3,
        solution="sulphide wash",
        volume_ml=1768.0,
        left_ml=1768.0,
        made_at=MIXED_AT,
        made_by="A. Invented",
        use_until=datetime(2026, 3, 14, 20, 15, tzinfo=UTC),
        ph=9.8,
        temperature_c=19.0,
        water="distilled",
        weighed=(("liver of sulphur", 8.84, 8.8, "g", "L3"),),
        note="",
    )


def lot(id: str, substance: str, key: str, left: float, *, place: str = "", state: str = "", unit: str = "g") -> LotRow:
    return LotRow(
        id=id,
        substance=substance,
        substance_key=key,
        cas=None,
        supplier="",
        grade="",
        lot_number="",
        assay_pct=None,
        amount=500.0,
        left=left,
        unit=unit,
        opened_on=None,
        use_by=None,
        place=place,
        price=None,
        currency="",
        state=state,
        signal_word=None,
        note="",
        version=1,
    )


def reading(id: str, lab: Lab, doubt: float | None = 0.9, parts: tuple[Part, ...] = ()) -> ReadingRow:
    return ReadingRow(
        id=id,
        lab=lab,
        source="photograph",
        area="left flank",
        sd=None,
        n=1,
        uncertainty_de00=doubt,
        geometry="unknown",
        instrument="",
        wax_state="waxed",
        warmth="cold",
        read_at=MIXED_AT,
        read_by="A. Invented",
        photograph=None,
        note="",
        parts=parts,
    )


def cast_sheet() -> CastSheet:
    tones = (Part(Lab(24.0, 6.0, 8.0), 0.7), Part(Lab(45.0, -14.0, 6.0), 0.3))
    readings = (reading("D9", Lab(28.1, 6.2, 9.4), parts=tones), reading("D8", Lab(31.0, 6.0, 10.0), None))
    row = CastRow("C3", "Harbour Figure", "W1", "3/9", "C87300", "Town of Exampleton", "Quay", "M1", readings[0].lab, 1)
    done = TreatmentRow(
        "X1", "Patination", "whole", "R12", "Green over brown", 3, "B7", ("four passes",), 2.3, DAY, "A. Invented", ""
    )
    return CastSheet(row, 96_000.0, 5.0, 2.3, DAY, "", (done,), (), readings, 1)


def master_sheet() -> MasterSheet:
    return MasterSheet(
        id="M1",
        name="Harbour brown, as new",
        lab=Lab(28.5, 6.0, 9.0),
        formula="de2000",
        limit_de=2.0,
        limit_dL=None,
        limit_dC=None,
        limit_dH=None,
        uncertainty_de00=None,
        zone="whole",
        tile="T4",
        recipe_id="R12",
        recipe="Green over brown",
        light="D50 booth",
        geometry="45:0",
        wax_state="waxed",
        warmth="cold",
        agreed_by="J. Invented",
        agreed_on=DAY,
        holders="",
        next_check=None,
        note="",
    )


def tile_sheet() -> TileSheet:
    row = TileRow("T4", "HB-04", "C87300", "R12", "Green over brown", 3, DAY, "waxed", Lab(28.1, 6.2, 9.4))
    steps = ("Two cold coats", "Scrubbed back", "Six stipple passes at 80 to 92 °C")
    return TileSheet(
        row,
        "glass bead",
        5.0,
        "100 × 100 mm",
        steps,
        "A. Invented",
        "",
        "B7",
        (),
        (reading("D9", Lab(28.1, 6.2, 9.4)),),
        1,
    )
