"""Linked Art and Spectrum exports against the published models.

Sources: Linked Art, model documentation, conservation and physical characteristics (linked.art); CIDOC CRM 7.1, names
of classes and properties; Collections Trust, Spectrum 5.0, pages named in ``sources.csv``. JSON-LD 1.1 is expanded by
the library pyld, with the context kept beside the data.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from typing import Any

import pytest
from pyld import jsonld  # type: ignore[import-untyped]

from patina.bench.paper.archive_exports import export_linked_art, export_spectrum, linked_art_context, spectrum_units
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.studio import Studio, open_studio
from patina.bench.treating import treat
from patina.entries import NewCast, NewPiece, NewReading, NewTreatment
from patina.errors import NotFound

CRM = "http://www.cidoc-crm.org/cidoc-crm/"


@pytest.fixture(scope="module")
def museum(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Studio]:
    """A studio with a treated cast."""
    with open_studio(tmp_path_factory.mktemp("museum")) as studio:
        casts.add_piece(studio, NewPiece("Grey seal", "A maker", edition=9, height_mm=620))
        casts.add_cast(studio, NewCast("W1", "3/9", "C87300", mass_g=14200, owner="=Saltgate", place="Hall"))
        casts.add_treatment(studio, NewTreatment("C1", "patinated", done_by="Ida"))
        tiles.add_reading(studio, "C1", NewReading(30, 5, 6))
        treat.begin_treatment(
            studio, {"cast": "C1", "name": "cleaning", "purpose": "stop it", "started_on": "2026-03-01"}
        )
        seen = {
            "sort": "observation",
            "topic": "corrosion",
            "text": "pale green powder",
            "by": "Oda",
            "on": "2026-03-02",
        }
        treat.write_part(studio, "CT1", "statement", seen)
        done = {"on": "2026-03-03", "by": "Oda", "did": "rinsed", "agent": "deionised water", "tool": "brush"}
        action = treat.write_part(studio, "CT1", "action", done)
        treat.write_part(studio, "CT1", "material", {"way": "added", "name": "wax", "action": action.id})
        yield studio


def expanded(document: dict[str, Any]) -> list[dict[str, Any]]:
    """What pyld makes of it without a network."""

    def load(url: str, _options: object = None) -> dict[str, Any]:
        assert url == "https://linked.art/ns/v1/linked-art.json"
        return {
            "contentType": "application/ld+json",
            "contextUrl": None,
            "documentUrl": url,
            "document": linked_art_context(),
        }

    found: list[dict[str, Any]] = jsonld.expand(document, {"documentLoader": load})
    return found


def nodes(value: Any) -> Iterator[dict[str, Any]]:
    """Every node of an expanded document."""
    if isinstance(value, dict):
        yield value
        for inner in value.values():
            yield from nodes(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from nodes(inner)


def test_it_expands_to_the_reference_model(museum: Studio) -> None:
    """E22 was modified by E11, assessed by E14 that identified E3, measured by E16 that observed E54."""
    (thing,) = expanded(export_linked_art(museum, "C1"))
    assert thing["@type"] == [f"{CRM}E22_Human-Made_Object"]
    modified = thing[f"{CRM}P31i_was_modified_by"]
    assert {t for m in modified for t in m["@type"]} == {f"{CRM}E11_Modification"} and len(modified) == 2
    employed = [m[f"{CRM}P126_employed"] for m in modified if f"{CRM}P126_employed" in m]
    assert [len(materials) for materials in employed] == [2]
    (assessed,) = thing[f"{CRM}P34i_was_assessed_by"]
    assert assessed["@type"] == [f"{CRM}E14_Condition_Assessment"]
    assert assessed[f"{CRM}P35_has_identified"][0]["@type"] == [f"{CRM}E3_Condition_State"]
    (measured,) = thing[f"{CRM}P39i_was_measured_by"]
    assert measured["@type"] == [f"{CRM}E16_Measurement"]
    values = [d[f"{CRM}P90_has_value"][0]["@value"] for d in measured[f"{CRM}P40_observed_dimension"]]
    assert sorted(values) == [5, 6, 30]


def test_nothing_is_lost_by_expanding(museum: Studio) -> None:
    """Every key has a meaning in the context: expansion drops what has none, so as many texts come out as went in."""

    def texts(value: Any) -> list[str]:
        if isinstance(value, dict):
            return [t for k, v in value.items() if k not in ("@context", "type", "@type") for t in texts(v)]
        if isinstance(value, list):
            return [t for v in value for t in texts(v)]
        return [value] if isinstance(value, str) else []

    document = export_linked_art(museum, "C1")
    drop = lambda found: sorted(t for t in texts(found) if not t.startswith(("http://www.w3.org", "http://vocab")))  # noqa: E731
    assert drop(expanded(document)) == drop(document)


def test_the_published_example_expands_by_our_context() -> None:
    """The conservation activity of the Linked Art documentation means the same by the context kept here."""
    example = {
        "@context": "https://linked.art/ns/v1/linked-art.json",
        "id": "https://linked.art/example/object/nightwatch/26",
        "type": "HumanMadeObject",
        "_label": "The Night Watch",
        "modified_by": [
            {
                "type": "Modification",
                "_label": "Conservation of Night Watch",
                "technique": [{"id": "http://vocab.getty.edu/aat/300053027", "type": "Type", "_label": "Cleaning"}],
                "timespan": {
                    "type": "TimeSpan",
                    "begin_of_the_begin": "2020-01-01T00:00:00Z",
                    "end_of_the_end": "2021-12-31T23:59:59Z",
                },
            }
        ],
    }
    (thing,) = expanded(example)
    (change,) = thing[f"{CRM}P31i_was_modified_by"]
    assert change[f"{CRM}P32_used_general_technique"][0]["@id"] == "http://vocab.getty.edu/aat/300053027"
    span = change[f"{CRM}P4_has_time-span"][0]
    assert span[f"{CRM}P82a_begin_of_the_begin"][0]["@type"] == "http://www.w3.org/2001/XMLSchema#dateTime"


def test_addresses_are_those_of_the_records(museum: Studio) -> None:
    """Every record has one address, which is its uid, wherever it is taken to."""
    with_ids = [n for n in nodes(export_linked_art(museum, "C1")) if str(n.get("id", "")).startswith("urn:uuid:")]
    assert len(with_ids) >= 7
    assert all(len(n["id"]) == len("urn:uuid:") + 32 for n in with_ids)
    whole = export_linked_art(museum, "W1")
    assert whole["id"] == export_linked_art(museum, "CT1")["id"]


def test_spectrum_rows_name_published_groups(museum: Studio) -> None:
    """Groups named on the published pages hold what belongs there; no spreadsheet runs a cell. Source: [SPECTRUM5]"""
    rows = list(csv.DictReader(io.StringIO(export_spectrum(museum, "C1"), newline="")))
    by_group: dict[str, dict[str, str]] = {}
    for row in rows:
        by_group.setdefault(row["group"], {})[row["unit_of_information"]] = row["value"]
    assert by_group["Object identification information"]["Object number"] == "C1"
    check = by_group["Condition check/technical assessment information"]
    assert check["Condition check/assessment note"] == "observation: pale green powder"
    assert by_group["Conservation and treatment information"]["Conservation material"] == "deionised water"
    assert all(row["value"][:1] not in "=+-@" for row in rows)
    assert {row["source_of_name"] for row in rows} <= {u[2] for u in spectrum_units().values()}


def test_what_is_not_there_is_said(museum: Studio) -> None:
    """An id of nothing is refused."""
    for which in ("C9", "W9", "CT9"):
        with pytest.raises(NotFound):
            export_linked_art(museum, which)
