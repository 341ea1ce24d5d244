"""What the invented studio shows of a record that is closed: a short treatment, whole by what is asked of a report,
signed off and amended since."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from patina.bench import sealing
from patina.bench.readings import tiles
from patina.bench.studio import Studio
from patina.bench.treating import treat
from patina.demo.treatment import ASSISTANT, CLERK, CONSERVATOR, OWNER

NAME = "Rinsed after the storm"
STATEMENT = "Read through with the log beside it; complete and right to the best of my knowledge."
ADDED = "The left weep hole was stopped up at this visit already; the record does not name it."
WHY = "seen when the photographs were gone through for the next treatment"
_CLOCK = re.compile(rb"\d{4}:\d\d:\d\d \d\d:\d\d:\d\d")


def add_signed_record(studio: Studio, cast: str, today: date | None = None) -> str:
    """Add it to a demo studio, for the cast of the larger treatment and before it; the id of the treatment."""
    day = (today or datetime.now(UTC).date()) - timedelta(days=800)
    on = day.isoformat()
    id = treat.begin_treatment(studio, _head(cast, on), by=CONSERVATOR).id

    def write(kind: str, **fields: str) -> str:
        return treat.write_part(studio, id, kind, fields, by=CONSERVATOR).id

    for name, role, of in (
        (CONSERVATOR, "conservator", "Hollowmere Yard (invented)"),
        (ASSISTANT, "assistant", "Hollowmere Yard (invented)"),
        (CLERK, "for the owner", OWNER),
    ):
        write("person", name=name, role=role, affiliation=of)
    letter = {"who": CLERK, "capacity": "owner's curator", "in_writing": "letter of the town, file 16/2"}
    early = (day - timedelta(days=3)).isoformat()
    write("authority", what="authority", dated=early, scope="rinsing; nothing else", **letter)
    _examination(write, on)
    write(
        "proposal",
        aim="salt and sand of the storm off before they dry in",
        steps="rinse from above; dry with cloths",
        alternatives="leave it to the rain: none was foretold for two weeks",
        retreatability="nothing is put on",
        risks="water into open joints",
        reference_appearance="as found; no change of colour is meant",
        hours_low="2",
        hours_high="4",
        drafted_by=CONSERVATOR,
        drafted_on=early,
    )
    write("signature", of="proposal", version="1", who=CLERK, capacity=letter["capacity"], how="by hand", dated=early)
    write("authority", what="consent", dated=early, proposal="1", scope="all of it", **letter)
    _work(write, on)
    for photograph, role in zip(_photographs(studio, cast, day), ("before", "during", "after"), strict=True):
        write(
            "image", photograph=photograph, role=role, view="front", light="diffuse", by=ASSISTANT, on=on,
            in_frame="id; scale; chart; date", position="tripod 1.9 m, lens height 1.4 m, 85 mm",
        )  # fmt: skip
    write("care", trigger="months", task="look whether more of the lacquer lifts", every_months="36", from_day=on)
    later = (day + timedelta(days=170)).isoformat()
    write("care-visit", item=treat.treatment_sheet(studio, id).record.care[0].id, on=later, by=CLERK,
          done="looked at: green powder in the middle field; a treatment was asked for")  # fmt: skip
    for to, what in ((OWNER, "report"), ("Hollowmere Yard (invented)", "report and photographs")):
        write("copy", to=to, what=what, form="paper", on=(day + timedelta(days=2)).isoformat(), receipt="signed")
    sealing.seal(studio, id, STATEMENT, by=CONSERVATOR)
    sealing.amend(studio, id, ADDED, WHY, by=CONSERVATOR)
    return id


def _head(cast: str, on: str) -> dict[str, str]:
    return {
        "cast": cast,
        "name": NAME,
        "accession": "SG 1968.3",
        "measurements": "H 480, W 1080, D 65 mm",
        "marks": "OFS 68, lower right; no foundry mark found",
        "made_when": "cast 1968",
        "site": "sea wall, facing south-west, 12 m from high water",
        "legal_status": "public collection, not listed",
        "purpose": "take the salt and sand of the storm off",
        "documenter": CONSERVATOR,
        "started_on": on,
        "finished_on": on,
        "state_after": "as before, without sand; water runs off the old lacquer in patches",
        "result": "aim met",
        "limits": "nothing was put on; chloride under the lacquer was not looked for",
        "recommendations": "look at it every three years; no cleaning with acids or salt",
        "health_and_waste": "gloves; the rinse water ran into the sea it came from",
    }


def _examination(write: Callable[..., str], on: str) -> None:
    shared = {"method": "naked eye; loupe 10x", "circumstances": "dry, 12 °C, 70 % RH, overcast", "on": on}
    shared |= {"sort": "observation", "by": CONSERVATOR}
    seen = [
        write("statement", topic=topic, text=text, place=place, **shared)
        for topic, text, place in (
            ("surface", "sand and dried salt in the hollows", "lower half"),
            ("coating", "lacquer in islands, yellowed", "all over"),
            ("earlier treatment", "town file: lacquered 1994, product not named", "back"),
            ("associated parts", "four fixing bolts; no plinth", "back"),
        )
    ]
    write("statement", sort="interpretation", topic="salts", text="spray of the storm of two days before",
          rests_on=seen[0], by=CONSERVATOR, on=on)  # fmt: skip


def _work(write: Callable[..., str], on: str) -> None:
    air = {"air_c": "12 °C", "humidity_pct": "70", "metal_c": "11 °C", "proposal": "1", "on": on, "by": ASSISTANT}
    rinsed = write("action", did="rinsed and dried", tool="watering can; cotton cloths", hours="2.5",
                   agent="rain water", result="sand and salt off", **air)  # fmt: skip
    write("material", way="added", name="rain water", action=rinsed, substance="", composition="rain water of the yard",
          batch_number="butt 2", quantity="40 L", left_words="none: dried off")  # fmt: skip
    write("material", way="removed", name="sand and salt", action=rinsed, composition="not analysed",
          zone="lower half", kept="not kept")  # fmt: skip


def _photographs(studio: Studio, cast: str, day: date) -> list[str]:
    import swatches

    kept = []
    with tempfile.TemporaryDirectory() as folder:
        for state, picture, hour in (
            ("before the rinse", "relief-after.jpg", 9),
            ("during the rinse", "relief-after.jpg", 11),
            ("after the rinse", "relief-after.jpg", 15),
        ):
            path = Path(folder) / f"tide-gate-{state.replace(' ', '-')}.jpg"
            # the invented camera's clock shows the hour
            shows = f"{day:%Y:%m:%d} {hour:02}:00:00".encode()
            path.write_bytes(_CLOCK.sub(shows, swatches.photograph(picture).read_bytes()))
            kept.append(tiles.add_photograph(studio, cast, path, state=state, by=ASSISTANT).sha256)
    return kept
