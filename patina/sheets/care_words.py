"""Care in words: where a point of a schedule stands, which treatment it stems from, and why it is handed on."""

from __future__ import annotations

from patina.sheets.treatment import CareRow, CareStatus, TreatmentSheet


def care_words(status: CareStatus) -> str:
    """Where one point of the schedule stands: its parts with dots between, so that each is read by itself."""
    state = {"act": "ACT NOW", "overdue": f"OVERDUE by {status.days} days", "soon": "soon", "in time": "in time"}
    what = f"{status.item.id} · {status.trigger.name} · {status.item.value.task}"
    if status.state == "ended":
        return f"{what} · {status.why}"
    return f"{what} · {state[status.state]} ({status.next_on}) · {status.why}"


def care_row_words(row: CareRow) -> str:
    """A point of care in a list of several treatments: the object, where the point stands, and what it stems from."""
    thing = f"{row.title} {row.number}".strip()
    return f"{thing} · {care_words(row.status)} · {stems_from(row)}"


def care_of_words(row: CareRow) -> str:
    """A point of care and the treatment it is of, in a few words."""
    point = f"{row.status.item.id} · {row.status.trigger.name} · {row.status.item.value.task}"
    return f"{point} · {row.treatment} {row.name}"


def stems_from(row: CareRow) -> str:
    """Which treatment a point of care stems from, and which came later."""
    if not row.later:
        return f"From {row.treatment} {row.name}."
    id, name = row.later[-1]
    return f"From {row.treatment} {row.name}; {id} {name} came later."


def reason_taken_over(row: CareRow, sheet: TreatmentSheet) -> str:
    """Why a point is taken over, where nobody says more."""
    return f"taken over from {row.treatment} {row.name} by {sheet.id} {sheet.record.head.name}"


def reason_ended(row: CareRow, sheet: TreatmentSheet) -> str:
    """Why a point is ended, where nobody says more."""
    return f"{sheet.id} {sheet.record.head.name} came after {row.treatment} {row.name}"


def earlier_care_words(sheet: TreatmentSheet) -> str:
    """How much care of earlier treatments still reminds; empty where none does."""
    if not sheet.earlier_care:
        return ""
    of = dict.fromkeys(f"{row.treatment} {row.name}" for row in sheet.earlier_care)
    points = ", ".join(row.status.item.id for row in sheet.earlier_care)
    return f"Care of earlier treatments still reminds: {points} of {', '.join(of)}."
