"""Test patches, consent, care and completeness, on the invented treatment of the demo studio."""

from __future__ import annotations

import json
import re
from dataclasses import fields, is_dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patina.bench.studio import open_studio
from patina.bench.treating import treat
from patina.conservation.care import add_months, care_status, set_off
from patina.conservation.completeness import PURPOSES, TESTS, asks, completeness
from patina.conservation.consent import consent_flags, report_sha256, still_signed
from patina.conservation.kinds import KINDS, Kind
from patina.conservation.patches import lowest_effective
from patina.conservation.reading_words import read_part, show_part
from patina.conservation.record import Kept, Record, plain
from patina.conservation.saying import sayings
from patina.conservation.values import CareEnd, CareItem, CareVisit, Patch
from patina.conservation.vocabulary import find_term, not_covered, scales, scopes, terms, triggers
from patina.demo.treatment import add_treatment_record
from patina.errors import Incomplete, NotFound, Refused
from patina.sources import bibliography

NOW = datetime(2026, 3, 14, tzinfo=UTC)
TODAY = date(2026, 11, 25)


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Record:
    """The record of the invented treatment."""
    folder = tmp_path_factory.mktemp("treated") / "studio"
    with open_studio(folder) as studio:
        return treat.treatment_sheet(studio, add_treatment_record(studio, TODAY), TODAY).record


# -- test patches ----------------------------------------------------------------------------------


def _patch(n: int, strength: float, dwell: float, effect: str = "enough", harm: str = "none", **more: object) -> Kept:
    value = Patch("back", str(more.pop("agent", "solvent")), strength, "% v/v", dwell, effect=effect, harm=harm, **more)  # type: ignore[arg-type]
    return Kept(f"CX{n}", value, NOW, "")


def test_the_lowest_effective_is_the_weakest_and_shortest_that_was_enough() -> None:
    """Harm and too little effect rule a patch out; of the rest the least wins."""
    found = lowest_effective(
        [
            _patch(1, 5, 1, "too little"),
            _patch(2, 10, 1),
            _patch(3, 10, 5),
            _patch(4, 20, 1, harm="slight"),
            _patch(5, 50, 1, "too much", "unacceptable"),
        ]
    )
    assert found.choice == "CX2"
    assert "10 % v/v for 1 min" in found.words


def test_weaker_against_shorter_is_left_to_the_conservator() -> None:
    """Where strength trades against dwell there is no single lowest, and both are named."""
    found = lowest_effective([_patch(1, 10, 5), _patch(2, 50, 1)])
    assert (found.choice, found.agents[0].patches) == (None, ("CX1", "CX2"))


def test_the_milder_agent_goes_first() -> None:
    """A milder agent that is enough is chosen before a weaker use of a harsher one."""
    found = lowest_effective(
        [_patch(1, 1, 1, agent="acetone", mildness=2), _patch(2, 100, 10, agent="water", mildness=1)]
    )
    assert found.choice == "CX2"
    tied = lowest_effective([_patch(1, 1, 1, agent="acetone"), _patch(2, 100, 10, agent="water")])
    assert tied.choice is None, "nobody said which is the milder"


def test_a_stronger_patch_that_did_less_is_named() -> None:
    """Results that contradict each other are told, not smoothed over."""
    found = lowest_effective([_patch(1, 10, 1), _patch(2, 20, 2, "too little")])
    assert "CX2" in found.contradictions[0]


def test_a_patch_without_its_result_decides_nothing() -> None:
    """Unknown is not "enough" and not "harmless"."""
    assert lowest_effective([_patch(1, 10, 1, effect=""), _patch(2, 10, 1, harm="")]).choice is None


# -- consent ---------------------------------------------------------------------------------------


def test_the_invented_treatment_has_nothing_open(made: Record) -> None:
    """Authority, consent to the version that was worked by, consent to the deviation: all there, in time."""
    assert consent_flags(made) == ()


def _without(parts: tuple[Kept, ...], **said: object) -> tuple[Kept, ...]:
    return tuple(p for p in parts if any(getattr(p.value, k) != v for k, v in said.items()))


def test_a_deviation_without_its_consent_is_flagged(made: Record) -> None:
    """A departure from the plan that needs new consent is named until there is one."""
    deviating = next(a for a in made.actions if a.value.deviation)
    bare = replace(made, authorities=_without(made.authorities, deviation=deviating.id))
    (flag,) = consent_flags(bare)
    assert (flag.part, "needs new consent" in flag.words) == (deviating.id, True)
    silent = replace(made, actions=(replace(deviating, value=replace(deviating.value, consent="")),))
    assert any("not said whether" in f.words for f in consent_flags(silent))


def test_consent_after_the_work_is_flagged(made: Record) -> None:
    """Agreeing to a version after work by it began is not consent beforehand."""
    late = tuple(
        replace(a, value=replace(a.value, dated=date(2026, 1, 1))) if a.value.proposal == 2 else a
        for a in made.authorities
    )
    words = [f.words for f in consent_flags(replace(made, authorities=late, signatures=()))]
    assert any("after work by it began" in w for w in words)


def test_consent_by_word_only_is_flagged(made: Record) -> None:
    """A consent that is not in writing stands on record as that."""
    spoken = tuple(replace(a, value=replace(a.value, in_writing="")) for a in made.authorities)
    assert sum("not in writing" in f.words for f in consent_flags(replace(made, authorities=spoken))) == 3


def test_a_signature_holds_for_what_was_signed_only(made: Record) -> None:
    """When a signed version says something else, the signature no longer stands."""
    (signature,) = made.signatures
    assert still_signed(made, signature)
    other = tuple(replace(p, value=replace(p.value, cost="EUR 1")) for p in made.proposals)
    changed = replace(made, proposals=other)
    assert not still_signed(changed, signature)
    assert any(f.part == signature.id for f in consent_flags(changed))


# -- care ------------------------------------------------------------------------------------------


def test_months_stay_within_the_calendar() -> None:
    """A month after the last of January is the last of February; twelve months are a year, also a leap year."""
    assert add_months(date(2026, 1, 31), 1) == date(2026, 2, 28)
    assert add_months(date(2024, 2, 29), 12) == date(2025, 2, 28)


def test_care_is_due_by_months_by_reading_and_by_finding(made: Record) -> None:
    """Overdue by its months; at once where a finding met the trigger and nothing was done; else in time."""
    states = {s.trigger.key: s.state for s in care_status(made, TODAY)}
    assert states == {"water_bead": "act", "months": "overdue", "impedance": "in time", "coating_loss": "in time"}
    done = tuple(replace(v, value=replace(v.value, done="rewaxed")) for v in made.care_visits)
    later = {s.trigger.key: s.state for s in care_status(replace(made, care_visits=done), TODAY)}
    assert later["water_bead"] == "in time"


@pytest.mark.parametrize(
    ("trigger", "said", "met"),
    [
        ("impedance", {"value": 1.4}, True),
        ("impedance", {"value": 0.6}, False),
        ("delta_e", {"value": 3.1}, True),
        ("coating_loss", {"value": 4.0}, False),
        ("water_bead", {"finding": "Patchy"}, True),
        ("water_bead", {"finding": "yes"}, False),
        ("active_corrosion", {"finding": "suspect"}, True),
        ("months", {}, False),
    ],
)
def test_each_trigger_has_its_sense(trigger: str, said: dict[str, object], met: bool) -> None:
    """Fresh good wax stays below 1 nF/cm² by impedance [ENGLAND2016]; water that no longer beads asks for wax."""
    visit = CareVisit("CI1", date(2026, 1, 1), "x", **said)  # type: ignore[arg-type]
    assert bool(set_off(CareItem(trigger, "look"), visit)) is met


# -- completeness ----------------------------------------------------------------------------------


def test_every_ask_names_who_asks_for_it() -> None:
    """Each thing that is missed can be traced to a code, a standard or common practice, with its place."""
    for ask in asks():
        assert ask.purposes and set(ask.purposes) <= set(PURPOSES)
        assert ask.asked_by and ask.clause and ask.do
        for key in ask.asked_by:
            assert bibliography()[key].checked != "not checked" or key == "MEMORY"
        if ask.asked_by == ("PRACTICE",):
            assert "practice" in ask.clause
    assert {ask.test for ask in asks()} == set(TESTS), "no test without an ask, no ask without a test"


def test_the_invented_treatment_is_whole_but_for_two_things(made: Record) -> None:
    """As a proposal and a log nothing is missing; the report wants its signature and the second copy."""
    missing = {p: [m.ask.key for m in completeness(made, p).missing] for p in PURPOSES}
    assert missing == {"proposal": [], "log": [], "report": ["report_signed", "copies"]}


_EMPTIED = {
    "object_id": {"head": {"accession": ""}},
    "measurements": {"head": {"measurements": ""}, "object": {"height_mm": None}},
    "maker_title": {"object": {"maker": ""}},
    "marks": {"head": {"marks": ""}},
    "site": {"head": {"site": ""}, "object": {"place": ""}},
    "owner": {"head": {"owner": ""}, "object": {"owner": ""}},
    "purpose": {"head": {"purpose": ""}},
    "documenter": {"head": {"documenter": ""}},
    "state_after": {"head": {"state_after": ""}},
    "result": {"head": {"limits": ""}},
    "recommendations": {"head": {"recommendations": ""}},
    "reference": {"head": {"reference_appearance": ""}, "proposals": {"reference_appearance": ""}},
    "authority": {"authorities": ()},
    "examination": {"statements": ()},
    "apart": {"statements": {"rests_on": ()}},
    "methods": {"statements": {"method": ""}},
    "circumstances": {"statements": {"circumstances": ""}},
    "condition": {"zones": {"severity": None}},
    "earlier": {"statements": {"topic": "surface"}},
    "parts": {"statements": {"topic": "surface"}},
    "alternatives": {"proposals": {"alternatives": ()}},
    "proposal": {"proposals": ()},
    "retreatability": {"proposals": {"risks": ""}},
    "hours": {"proposals": {"hours_high": None}},
    "signed": {"signatures": ()},
    "tests": {"patches": {"harm": ""}},
    "log": {"actions": ()},
    "names": {"people": ()},
    "materials": {"materials": ()},
    "composition": {"layers": {"composition": (), "lot": None}},
    "lots": {"layers": {"lot": None}},
    "left": {"materials": {"left_g": None, "left_words": ""}},
    "deviations": {"actions": {"deviation_why": ""}},
    "consent": {"authorities": {"in_writing": ""}},
    "images_before": {"images": {"role": "after"}},
    "images_during": {"images": {"role": "after"}},
    "images_after": {"images": {"role": "before"}},
    "image_target": {"images": {"in_frame": ("id",)}},
    "protection": {"layers": {"humidity_pct": None}},
    "salts": {"bath_readings": ()},
    "care": {"care": ()},
    "samples": {"samples": {"kept": ""}},
    "report_signed": {},
    "copies": {"copies": ()},
    "dates": {"head": {"started_on": None}, "actions": ()},
    "scope": {"statements": {"method": "colour measured to EN 15886"}},
}


def _emptied(record: Record, changes: dict[str, object]) -> Record:
    for name, change in changes.items():
        now = getattr(record, name)
        if isinstance(change, dict) and is_dataclass(now):
            record = replace(record, **{name: replace(now, **change)})
        elif isinstance(change, dict):
            record = replace(record, **{name: tuple(replace(p, value=replace(p.value, **change)) for p in now)})
        else:
            record = replace(record, **{name: change})
    return record


@pytest.mark.parametrize("ask", asks(), ids=lambda a: a.key)
def test_each_thing_is_missed_when_it_is_taken_away(made: Record, ask: object) -> None:
    """Taking one thing out of a whole record makes exactly that ask, among others perhaps, come up."""
    emptied = _emptied(made, _EMPTIED[ask.key])  # type: ignore[attr-defined]
    for purpose in ask.purposes:  # type: ignore[attr-defined]
        assert ask in [m.ask for m in completeness(emptied, purpose).missing]  # type: ignore[comparison-overlap]


def test_a_purpose_that_is_none_is_refused(made: Record) -> None:
    """A record is complete for something, not in itself."""
    with pytest.raises(Refused, match="certificate"):
        completeness(made, "certificate")


# -- vocabulary ------------------------------------------------------------------------------------


def test_no_standard_is_claimed_for_what_it_does_not_cover(made: Record) -> None:
    """EN 15886 covers porous inorganic materials, and no template, word or sheet says "measured to" it.

    Source: [EN15886] (scope as catalogues give it)
    """
    scope = next(s for s in scopes() if s.key == "EN15886")
    assert "porous inorganic" in scope.covers and not scope.copper_alloys
    assert [s.key for s in not_covered("read to EN-15886, d:8")] == ["EN15886"]
    assert not not_covered("recorded after EN 16095")
    said = json.dumps(plain(made)) + json.dumps([plain(c) for p in PURPOSES for c in [completeness(made, p)]])
    assert not re.search(r"EN[ -]?15886", said)
    root = Path(treat.__file__).parents[1]
    code = [*root.rglob("*.typ"), *root.rglob("*.py"), *(root.parent / "tui").rglob("*.py")]
    for path in code:
        text = path.read_text("utf-8")
        assert not re.search(
            r"(measured|according|read|conform\w*) (to|with) EN[ -]?15886", text.replace(">>> ", "")
        ) or (
            path.name == "vocabulary.py"  # its doctest shows how such a claim is found out
        )


def test_the_terms_have_sources_and_their_numbers_add_up() -> None:
    """Every term names its source; a CAS number ends in its check figure; no thesaurus number is made up."""
    assert len(terms()) > 35
    for term in terms().values():
        assert term.source in bibliography()
        if term.cas:
            figures = term.cas.replace("-", "")
            assert sum(int(d) * n for n, d in enumerate(reversed(figures[:-1]), 1)) % 10 == int(figures[-1])
            assert term.id_source
        assert term.aat == "" or (re.fullmatch(r"300\d{6}", term.aat) and term.id_source)
    numbers = [t.aat for t in terms().values() if t.aat]
    assert len(numbers) == len(set(numbers)) >= 11
    assert find_term("Paratacamite or clinoatacamite").key == "clinoatacamite"
    with pytest.raises(NotFound, match="brochantite"):
        find_term("brochantit")


# As a list of the thesaurus' physical attributes of 2023-10-18 has them. Source: [AAT_COPY]
AAT_NUMBERS = {
    "accretion": "300255449",
    "blanching": "300252414",
    "bloom": "300186215",
    "bronze_disease": "300220720",
    "crack": "300209168",
    "crazing": "300054126",
    "efflorescence": "300214748",
    "patina": "300065245",
    "run_off_stain": "300379497",  # "stains", the next wider term
    "tarnish": "300219955",
    "verdigris": "300311415",
}


def test_the_thesaurus_numbers_are_those_that_were_seen() -> None:
    """Each number is that of a public copy of the thesaurus; terms without one there have none here."""
    assert {key: term.aat for key, term in terms().items() if term.aat} == AAT_NUMBERS


def test_the_scales_are_those_of_the_forms() -> None:
    """What a form offers is what the scale explains."""
    zone = sayings(next(k.type for k in KINDS if k.name == "zone"))
    for scale, field in (
        ("extent", "extent"),
        ("activity", "activity"),
        ("adhesion", "adhesion"),
        ("water bead", "bead"),
    ):
        assert tuple(s.value for s in scales() if s.scale == scale) == zone[field].choices
    assert [s.value for s in scales() if s.scale == "severity"] == ["0", "1", "2", "3", "4"]
    assert all(t.source in bibliography() for t in triggers().values())


def test_every_field_says_how_it_is_asked_for() -> None:
    """No field of a part is without a label, and ids say what they refer to."""
    for kind in KINDS:
        known = sayings(kind.type)
        assert set(known) == {f.name for f in fields(kind.type)}
        assert all(s.label for s in known.values())
        assert all(s.to for s in known.values() if s.how == "id")


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(KINDS), st.data())
def test_whatever_is_typed_is_read_or_refused_in_words(kind: Kind, data: st.DataObject) -> None:
    """Any text in any field is either a value, which shown is typed the same again, or a trouble of that field."""
    known = {name: s for name, s in sayings(kind.type).items() if s.how != "derived"}
    told = st.one_of(
        st.text(max_size=30), st.sampled_from(["1", "0,5", "12 g", "today", "C1", "nan", "1e999", "0,0 1,0 1,1"])
    )
    typed = {name: data.draw(st.one_of(told, st.sampled_from([*s.choices, s.hint, ""]))) for name, s in known.items()}
    try:
        part = read_part(kind.type, typed)
    except Incomplete as found:
        assert all(t.field in known and t.what and t.remedy for t in found.troubles)
        return
    assert read_part(kind.type, show_part(part)) == part


def test_a_point_of_the_schedule_is_ended_with_its_reason(made: Record) -> None:
    """What is ended is due no more, keeps its last day on record, and alters nothing that was signed."""
    day = date(2040, 1, 1)
    due = next(s for s in care_status(made, day) if s.state == "overdue")
    end = CareEnd(due.item.id, date(2026, 11, 1), "Tamsin", "a later treatment has a schedule of its own")
    kept = Kept("CN1", end, made.begun_at, "Tamsin")
    ended = replace(made, care_ends=(kept,))
    after = next(s for s in care_status(ended, day) if s.item.id == due.item.id)
    assert (after.state, after.due, after.next_on) == ("ended", False, due.next_on)
    assert after.why == "ended 2026-11-01 by Tamsin: a later treatment has a schedule of its own"
    assert care_status(ended, day)[-1] == after, "the least pressing stands last"
    assert report_sha256(ended) == report_sha256(made)
