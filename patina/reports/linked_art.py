"""A cast and its treatments as Linked Art: JSON-LD after the CIDOC Conceptual Reference Model.

A cast is a HumanMadeObject (E22). What was done to it are Modifications (E11), what was observed of its state are
ConditionAssessments (E14) that identify ConditionStates (E3), readings are Measurements (E16) that observed
Dimensions (E54). What is not known is left out. Source: [LINKEDART] [CIDOC_CRM]
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from patina.sheets import CastSheet, ReadingRow, TreatmentRow
from patina.sheets.archive import Term
from patina.sheets.treatment import TreatmentSheet

CONTEXT = "https://linked.art/ns/v1/linked-art.json"
Node = dict[str, Any]
Terms = Mapping[str, Term]


def linked_art(
    cast: CastSheet,
    *,
    title: str,
    maker: str,
    height_mm: float | None,
    uids: Mapping[str, str],
    terms: Terms,
    treatments: Sequence[TreatmentSheet] = (),
    show_agents: bool = True,
) -> Node:
    """A cast with its production, owner, readings and treatments.

    uids: the uid of each record by its id; one that has none is named within the object's own address. terms: of the
    thesaurus, by key. show_agents: False leaves out what treatments were made with.
    """
    row = cast.row
    say = _Speaker(uids, row.id, terms)
    node: Node = {
        "@context": CONTEXT,
        **say.node("HumanMadeObject", row.id, f"{title} {row.number}".strip()),
        "classified_as": [say.term("artwork")],
        "identified_by": [{"type": "Name", "content": title}, {"type": "Identifier", "content": row.id}],
        "produced_by": _production(say, cast, maker),
        "dimension": _dimensions(say, cast, height_mm),
        "made_of": [{**say.term("bronze"), "_label": row.alloy}] if row.alloy else [],
        "member_of": [{**say.node("Set", row.piece_id, f"edition of {title}")}] if row.piece_id else [],
        "current_owner": [say.actor(row.owner)] if row.owner else [],
        "referred_to_by": [say.words("description", cast.note)] if cast.note else [],
        "modified_by": [_treatment(say, t) for t in cast.treatments],
        "measured_by": [_measurement(say, r) for r in cast.readings],
    }
    if row.number:
        node["identified_by"].append({"type": "Identifier", "content": row.number, "_label": "number in the edition"})
    if row.place:
        node["current_location"] = {"type": "Place", "_label": row.place}
    for sheet in treatments:
        _add_record(say, node, sheet, show_agents)
    return {key: value for key, value in node.items() if value not in ([], {}, None)}


class _Speaker:
    """Says things the same way throughout one object."""

    def __init__(self, uids: Mapping[str, str], home: str, terms: Terms):
        self._uids, self._home, self._terms = uids, home, terms

    def address(self, id: str) -> str:
        """The address of a record: its uid, or a place within its object."""
        if id in self._uids:
            return f"urn:uuid:{self._uids[id]}"
        return f"urn:uuid:{self._uids[self._home]}#{id}"

    def node(self, type: str, id: str, label: str) -> Node:
        """A thing with its address."""
        return {"id": self.address(id), "type": type, "_label": label}

    def term(self, key: str) -> Node:
        """A term of the thesaurus."""
        term = self._terms[key]
        return {"id": term.address, "type": term.kind, "_label": term.label}

    def actor(self, name: str) -> Node:
        """Somebody, whether person or group is not known."""
        return {"type": "Actor", "_label": name}

    def words(self, key: str, text: str) -> Node:
        """A statement in words."""
        return {"type": "LinguisticObject", "classified_as": [self.term(key)], "content": text}

    def free(self, text: str) -> Node:
        """A type that no thesaurus term is known for."""
        return {"type": "Type", "_label": text}


def _span(begin: date | datetime | None, end: date | datetime | None = None) -> Node | None:
    if begin is None:
        return None
    first, last = begin, end or begin
    return {
        "type": "TimeSpan",
        "begin_of_the_begin": _moment(first, "00:00:00"),
        "end_of_the_end": _moment(last, "23:59:59"),
    }


def _moment(value: date | datetime, time: str) -> str:
    return value.strftime("%Y-%m-%dT%H:%M:%SZ") if isinstance(value, datetime) else f"{value.isoformat()}T{time}Z"


def _set(node: Node, **more: Any) -> Node:
    return node | {key: value for key, value in more.items() if value not in (None, [], "")}


def _production(say: _Speaker, cast: CastSheet, maker: str) -> Node | None:
    if not maker and cast.cast_on is None:
        return None
    made = {"type": "Production", "_label": "making of the cast"}
    return _set(made, timespan=_span(cast.cast_on), carried_out_by=[say.actor(maker)] if maker else None)


def _dimensions(say: _Speaker, cast: CastSheet, height_mm: float | None) -> list[Node]:
    found = []
    for key, value, unit in (("height", height_mm, "mm"), ("weight", cast.mass_g, "g")):
        if value is not None:
            found.append(
                {"type": "Dimension", "classified_as": [say.term(key)], "value": value, "unit": say.term(unit)}
            )
    if cast.area_m2 is not None:
        square: Node = {"type": "MeasurementUnit", "_label": "square metre"}
        kind = {"type": "Type", "_label": "surface area"}
        found.append({"type": "Dimension", "classified_as": [kind], "value": cast.area_m2, "unit": square})
    return found


def _treatment(say: _Speaker, row: TreatmentRow) -> Node:
    words = [w for w in (f"zone {row.zone}" if row.zone else "", row.note) if w]
    return _set(
        say.node("Modification", row.id, row.did),
        timespan=_span(row.done_on),
        carried_out_by=[say.actor(row.done_by)] if row.done_by else None,
        technique=[say.free(row.did)],
        referred_to_by=[say.words("description", "; ".join(words))] if words else None,
    )


def _measurement(say: _Speaker, reading: ReadingRow) -> Node:
    lab, unit = reading.lab, {"type": "MeasurementUnit", "_label": "CIELAB coordinate"}
    circumstances = f"{lab.illuminant}, observer {lab.observer} degrees, geometry {reading.geometry}"
    observed = [
        {"type": "Dimension", "classified_as": [say.free(name)], "value": value, "unit": unit}
        for name, value in (("L*", lab.L), ("a*", lab.a), ("b*", lab.b))
    ]
    return _set(
        say.node("Measurement", reading.id, f"colour of {reading.area or 'the surface'}"),
        timespan=_span(reading.read_at),
        carried_out_by=[say.actor(reading.read_by)] if reading.read_by else None,
        referred_to_by=[say.words("description", circumstances)],
        observed_dimension=observed,
    )


def _add_record(say: _Speaker, node: Node, sheet: TreatmentSheet, show_agents: bool) -> None:
    """A conservator's treatment: the project, its actions as modifications, its observations as assessments."""
    record = sheet.record
    head = record.head
    whole = say.node("Activity", sheet.id, head.name)
    for kept in record.actions:
        done = kept.value
        agents = [{"type": "Material", "_label": done.agent}] if done.agent and show_agents else []
        agents += _materials(sheet, kept.id) if show_agents else []
        words = "; ".join(w for w in (f"zone {done.zone}" if done.zone else "", done.how, done.result) if w)
        made = _set(
            say.node("Modification", kept.id, done.did),
            timespan=_span(done.on),
            carried_out_by=[say.actor(done.by)] if done.by else None,
            technique=[say.free(done.did)],
            employed=agents,
            used_object_of_type=[say.free(done.tool)] if done.tool else None,
            referred_to_by=[say.words("description", words)] if words else None,
            part_of=[whole],
        )
        node.setdefault("modified_by", []).append(made)
    for statement in record.statements:
        seen = statement.value
        state = _set(
            {"type": "ConditionState", "_label": seen.text},
            classified_as=[say.free(seen.topic)],
        )
        words = "; ".join(w for w in (seen.sort, seen.place, seen.method, seen.circumstances) if w)
        assessed = _set(
            say.node("ConditionAssessment", statement.id, f"{seen.sort}: {seen.topic}"),
            timespan=_span(seen.on),
            carried_out_by=[say.actor(seen.by)] if seen.by else None,
            identified=[state],
            referred_to_by=[say.words("description", words)],
            part_of=[whole],
        )
        node.setdefault("assessed_by", []).append(assessed)
    purpose = [say.free(head.purpose)] if head.purpose else None
    project = _set(whole, timespan=_span(head.started_on, head.finished_on), general_purpose=purpose)
    for made in (*node.get("modified_by", ()), *node.get("assessed_by", ())):
        if made.get("part_of") == [whole]:
            made["part_of"] = [project]


def _materials(sheet: TreatmentSheet, action: str) -> list[Node]:
    found = []
    for kept in sheet.record.materials:
        if kept.value.action == action and kept.value.way == "added":
            label = f"{kept.value.name} (CAS {kept.value.cas})" if kept.value.cas else kept.value.name
            found.append({"type": "Material", "_label": label})
    return found
