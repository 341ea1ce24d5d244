"""The safety page by keys: reasons that unfold, strengths as typed, releases; exposure and substances by forms.

The limits of hydrochloric acid are those of CLP Annex VI: irritant from 10 %, corrosive (Skin Corr. 1B) from 25 %.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from screens_driver import Driver, Running
from textual.widgets import Collapsible

from patina.bench.pots import batches
from patina.bench.recipes import finishes, releases
from patina.bench.recipes.drafts import recipe_of_text
from patina.bench.safe import exposure
from patina.bench.shelves import shelf, substances
from patina.bench.studio import Studio
from patina.bench.torch import work, work_forms
from patina.entries import NewBatch, NewLot
from tui.screens.safety import SafetyPage

Start = Callable[..., Running]
ACID = """\
patina_recipe = 1
name = "Acid dip"
finish = "bright"
alloys = ["C87300"]
provenance = "own tiles"
[[solution]]
name = "dip"
solvent = "distilled water"
volume_is = "made up to"
[[solution.ingredient]]
substance = "hydrochloric acid"
strength = "5 % w/w"
[[step]]
do = "apply"
solution = "dip"
method = "cold brush"
coverage = "40 mL/m2"
"""
PAIR = ACID.replace("Acid dip", "Acid and sulphide").replace(
    "[[step]]",
    """[[solution]]
name = "wash"
solvent = "distilled water"
volume_is = "made up to"
[[solution.ingredient]]
substance = "liver of sulphur"
strength = "5 g/L"
[[step]]""",
    1,
)
LONG_S = 15.0  # a machine with much to do
REASON = "the acid is rinsed off before the wash is opened"


@pytest.fixture
def acid(studio: Studio) -> Studio:
    """The studio with an acid dip (R3) and an acid that must not meet a sulphide (R4)."""
    for text in (ACID, PAIR):
        finishes.save_recipe(studio, recipe_of_text(studio, text))
    return studio


async def page_of(person: Driver, id: str) -> SafetyPage:
    """Open the safety page of a recipe and wait for its notes."""
    person.app.open_record(id)
    await person.until(
        lambda: getattr(person.app.screen, "sheet", None) and person.app.screen.sheet[0].id == id, LONG_S
    )
    await person.press("s")
    await person.until(lambda: isinstance(person.app.screen, SafetyPage), LONG_S)
    page = person.app.screen
    assert isinstance(page, SafetyPage)
    await person.until(lambda: page.notes is not None and page.live is not None and page.focused is not None, LONG_S)
    return page


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_every_statement_unfolds_its_reason(running: Start, acid: Studio, size: tuple[int, int]) -> None:
    """Enter unfolds why one statement is made; v unfolds all and folds them again."""
    async with running(size) as person:
        page = await page_of(person, "R4")
        await person.until_text("DRAFT")
        folds = list(page.query(Collapsible))
        assert len(folds) > 5 and all(f.collapsed for f in folds)
        await person.press("enter")
        await person.until(lambda: not folds[0].collapsed)
        await person.press("down", "enter")
        await person.until(lambda: not folds[1].collapsed)
        await person.press("v")
        await person.until(lambda: not any(f.collapsed for f in page.query(Collapsible)))
        await person.press("v")
        await person.until(lambda: all(f.collapsed for f in page.query(Collapsible)))
        titles = " ".join(f.title for f in folds)
        assert "MUST NOT MEET" in titles and "hydrogen sulphide from" in titles


async def test_what_it_becomes_is_seen_while_typing(running: Start, acid: Studio) -> None:
    """5 % hydrochloric acid says where it turns; 9.9 % is not irritant yet, 10 % is, 25 % is corrosive."""
    async with running((120, 36)) as person:
        page = await page_of(person, "R3")
        turns = page.query_one("#safety-turns")
        assert "From 10 % w/w on" in turns.prose.plain and "From 25 % w/w on" in turns.prose.plain  # type: ignore[attr-defined]
        await person.press("t")
        await person.until(lambda: page.focused is page.query_one("#safety-typed"))
        for typed, codes, missing in (
            ("9.9 % w/w", "", "H315"),
            ("10 % w/w", "H315", "H314"),
            ("24.9 % w/w", "H315", "H314"),
            ("25 % w/w", "H314", "H315"),
        ):
            await person.press("end", "ctrl+u")
            await person.write(typed)
            await person.until(lambda typed=typed: page.live is not None and page.live.strength == typed)
            found = {c.h for c in page.live.safety.classes}  # type: ignore[union-attr]
            assert (not codes or codes in found) and missing not in found
            await person.until_text(f"{typed} is")


async def test_a_half_typed_strength_leaves_nothing_standing(running: Start, acid: Studio) -> None:
    """What cannot be read is said, and no class of another strength stays on the screen."""
    async with running((120, 36)) as person:
        page = await page_of(person, "R3")
        await person.press("t", "end", "ctrl+u")
        await person.write("5")
        await person.until(lambda: page.live is None and page.query_one("#safety-typed").has_class("-wrong"))
        assert "As it gets stronger" not in page.query_one("#safety-turns").prose.plain  # type: ignore[attr-defined]
        await person.press("escape")
        await person.until(lambda: page.focused is not page.query_one("#safety-typed"))
        await person.press("escape")
        await person.until(lambda: not isinstance(person.app.screen, SafetyPage))


async def test_a_recipe_is_released_with_its_answers(running: Start, acid: Studio) -> None:
    """The dialog asks one reason for each critical danger; without it the recipe stays a draft."""
    async with running((120, 36)) as person:
        page = await page_of(person, "R4")
        await person.press("r")
        await person.until(lambda: type(person.app.screen).__name__ == "ReleaseForm")
        form = person.app.screen
        await person.until_text("hydrogen sulphide")
        await person.press("ctrl+s")
        await person.until(lambda: "does not say why" in person.text())
        assert releases.release_state(acid, "R4").state == "draft"
        for key in form.told:  # type: ignore[attr-defined]
            await person.fill(**{key: REASON})
        await person.press("ctrl+s")
        await person.until(lambda: page.state is not None and page.state.released)
        await person.until_text("RELEASED")
        state = releases.release_state(acid, "R4")
        assert state.released and {a.by for d in state.dangers for a in d.answers} == {"Ansel Brook"}
        await person.press("r")
        await person.until(lambda: type(person.app.screen).__name__ == "Form")
        await person.fill(reason="a tile went green")
        await person.press("ctrl+s")
        await person.until(lambda: page.state is not None and page.state.state == "withdrawn")


async def test_the_recipe_sheet_says_that_it_is_a_draft(running: Start, acid: Studio) -> None:
    """The finish's own sheet shows the state, and what stands against a release."""
    async with running((120, 36)) as person:
        person.app.open_record("R4")
        await person.until(lambda: "Release" in person.sheet() and "DRAFT" in person.sheet())
        await person.until(lambda: "Not answered" in person.sheet())


async def test_a_pot_says_what_it_must_not_meet(running: Start, acid: Studio) -> None:
    """An acid and a sulphide stand open: the sheet of each names the other, and that it is for tiles only."""
    batches.mix_batch(acid, NewBatch("R3", 1, "dip", 500.0))
    batches.mix_batch(acid, NewBatch("R1", 1, "sulphide wash", 500.0))
    async with running((120, 36)) as person:
        person.app.open_record("B1")
        await person.until(lambda: "MUST NOT MEET" in person.sheet())
        await person.until(lambda: "B2" in person.sheet() and "For test tiles only" in person.sheet())


async def test_a_lot_says_what_it_must_not_stand_beside(running: Start, acid: Studio) -> None:
    """Hydrochloric acid put into the cupboard of the liver of sulphur."""
    row = shelf.add_lot(acid, NewLot("hydrochloric acid", 500.0, "mL", place="dry cupboard"))
    async with running((120, 36)) as person:
        person.app.open_record(row.id)
        await person.until(lambda: "In the same place" in person.sheet() and "hydrochloric acid" in person.sheet())
        await person.until(lambda: "Keep apart" in person.sheet() or "MUST NOT MEET" in person.sheet())


async def test_an_exposure_is_logged_at_the_bench(running: Start, acid: Studio) -> None:
    """k on an open pot asks who, how long and with which mask; all that is wrong is said beside its field."""
    batches.mix_batch(acid, NewBatch("R1", 1, "sulphide wash", 500.0))
    async with running((120, 36)) as person:
        person.app.open_record("B1")
        await person.until(lambda: getattr(person.app.screen.sheet, "id", "") == "B1")
        await person.press("k")
        await person.until(lambda: type(person.app.screen).__name__ == "Form")
        await person.fill(minutes="soon")
        await person.press("ctrl+s")
        await person.until(lambda: person.app.screen.query_one("#field-minutes").has_class("-wrong"))
        await person.fill(minutes="45", flow="600 m3/h", respirator="half mask")
        await person.press("ctrl+s")
        await person.until(lambda: exposure.list_exposures(acid))
    (row,) = exposure.list_exposures(acid)
    assert (row.person, row.minutes, row.batch, row.flow_m3_h) == ("Ansel Brook", 45.0, "B1", 600.0)


async def test_a_substance_is_added_from_its_sheet(running: Start, acid: Studio) -> None:
    """a on the shelf asks the sections of the data sheet; tags that follow are offered when they are missing."""
    async with running((120, 36)) as person:
        await person.press("5")
        await person.until(lambda: person.app.current_mode == "shelf" and person.app.screen.record_list.rows)
        await person.press("a")
        await person.until(lambda: type(person.app.screen).__name__ == "Form")
        await person.fill(name="lunar prills", supplier="Marsh Lane", date="2025-02-03", basis="supplier")
        await person.fill(classes="Ox. Sol. 2 H272", formula="AgNO3", form="solid")
        await person.press("ctrl+s")
        await person.until(lambda: person.app.screen.query_one("#field-tags").has_class("-wrong"))
        said = str(person.app.screen.query_one("#trouble-tags").render())
        assert "nitrate; oxidiser; silver" in said
        await person.fill(tags="nitrate; oxidiser; silver")
        await person.press("ctrl+s")
        await person.until(lambda: "lunar_prills" in acid.catalogue().substances)


async def test_the_air_of_a_job(running: Start, acid: Studio) -> None:
    """a on the safety page asks for the room; a room without a unit is refused beside its field."""
    async with running((120, 36)) as person:
        await page_of(person, "R4")
        await person.press("a")
        await person.until(lambda: type(person.app.screen).__name__ == "Form")
        await person.fill(room="60", area="1.8 m2")
        await person.press("ctrl+s")
        await person.until(lambda: person.app.screen.query_one("#field-room").has_class("-wrong"))
        await person.fill(room="60 m3", changes="6", volume="500 mL")
        await person.press("ctrl+s")
        await person.until(lambda: type(person.app.screen).__name__ == "Notes")
        told = person.app.screen.prose.plain  # type: ignore[attr-defined]
        assert "360 m³/h" in told and "hydrogen chloride" in told and "smell is no alarm" in told
    assert acid.setting("air_room") == "60 m3"


async def test_a_measured_ph_decides(running: Start, acid: Studio) -> None:
    """At pH 1.5 the dip is corrosive whatever the sums say (CLP Annex I 3.2.3.1.2); pH 99 cannot be."""
    async with running((120, 36)) as person:
        page = await page_of(person, "R3")
        assert "H314" not in {c.h for c in page.notes.solutions[0].classes}  # type: ignore[union-attr]
        await person.press("k")
        await person.until(lambda: type(person.app.screen).__name__ == "Form")
        await person.fill(ph0="99")
        await person.press("ctrl+s")
        await person.until(lambda: "cannot be" in person.text())
        await person.fill(ph0="1.5")
        await person.press("ctrl+s")
        await person.until(lambda: "H314" in {c.h for c in page.notes.solutions[0].classes})  # type: ignore[union-attr]
        await person.until_text("pH 1.5 as measured")


async def test_old_data_are_checked_from_the_shelf(running: Start, acid: Studio) -> None:
    """c lists what asks to be checked; the supplier's sheet is written down with its date."""
    async with running((120, 36)) as person:
        await person.press("5")
        await person.until(lambda: person.app.current_mode == "shelf" and person.app.screen.record_list.rows)
        await person.press("c")
        await person.until(lambda: type(person.app.screen).__name__ == "Choose")
        await person.press("enter")
        await person.until(lambda: type(person.app.screen).__name__ == "Form")
        await person.fill(supplier="Marsh Lane", dated="2025-02-31")
        await person.press("ctrl+s")
        await person.until_text("is no date")
        await person.fill(dated="2025-02-03")
        await person.press("ctrl+s")
        await person.until(lambda: substances.substance_sheet(acid, "liver of sulphur").sheets)
    assert substances.substance_sheet(acid, "liver of sulphur").sheets[0].supplier == "Marsh Lane"


async def test_the_text_of_a_recipe_says_what_it_becomes(running: Start, acid: Studio) -> None:
    """Written at 5 % the dip has no class; at 12 % it is irritant and turns next at 25 %, said below the text."""
    async with running((120, 36)) as person:
        person.app.open_record("R3")
        await person.until(lambda: getattr(person.app.screen, "sheet", None) and person.app.screen.sheet[0].id == "R3")
        await person.press("e")
        await person.until_text("dip: NO SIGNAL WORD")
        text = person.app.screen.query_one("#recipe-text")
        text.load_text(text.text.replace("5 % w/w", "12 % w/w"))  # type: ignore[attr-defined]
        await person.until_text("dip: WARNING")
        said = person.app.screen.query_one("#recipe-said").prose.plain  # type: ignore[attr-defined]
        assert "H315" in said and "hydrochloric acid: From 25 % w/w on" in said


@pytest.mark.parametrize(("id", "key"), [("R4", "r"), ("L1", "a")])
async def test_forms_keep_their_buttons_on_a_small_terminal(running: Start, acid: Studio, id: str, key: str) -> None:
    """The releases and the data sheet fit 80 by 24 with the button that saves them."""
    async with running((80, 24)) as person:
        if id == "R4":
            await page_of(person, id)
        else:
            person.app.open_record(id)
            await person.until(lambda: "liver of sulphur" in person.sheet())
        await person.press(key)
        await person.until_text("(Ctrl+S)")


async def test_an_exposure_is_logged_from_the_work(running: Start, acid: Studio) -> None:
    """x at the torch knows who, the pot and the minutes; the mask is asked."""
    batches.mix_batch(acid, NewBatch("R1", 1, "sulphide wash", 600.0))
    form = {"target": "C1", "recipe": "R1", "batch": "B1", "zones": "front 0.5 m2"}
    sheet = work.start_work(acid, work_forms.work_form(form))
    work.move_to(acid, sheet.row.id, step=2)
    async with running((120, 36)) as person:
        await person.press("2")
        await person.until(lambda: person.app.screen.WHERE == "bench")
        await person.press("w")
        await person.until(lambda: type(person.app.screen).__name__ == "Choose")
        await person.press("enter")
        await person.until(lambda: type(person.app.screen).__name__ == "Torch")
        await person.press("x")
        await person.until(lambda: type(person.app.screen).__name__ == "Choose")
        choices = person.app.screen.query_one("#choices")
        at = [id for id, _ in person.app.screen.options].index("exposure")  # type: ignore[attr-defined]
        choices.highlighted = at  # type: ignore[attr-defined]
        await person.press("enter")
        await person.until(lambda: type(person.app.screen).__name__ == "Form")
        await person.fill(minutes="50", respirator="half mask")
        await person.press("ctrl+s")
        await person.until(lambda: exposure.list_exposures(acid))
    (row,) = exposure.list_exposures(acid)
    assert (row.person, row.batch, row.minutes, row.respirator) == ("Ansel Brook", "B1", 50.0, "half mask")
    assert "C1" in row.task


async def test_what_is_to_be_mixed_is_held_against_open_pots(running: Start, acid: Studio) -> None:
    """An acid dip stands open while the sulphide wash is worked out: said above what is weighed."""
    batches.mix_batch(acid, NewBatch("R3", 1, "dip", 500.0))
    async with running((120, 36)) as person:
        await person.press("2")
        await person.until(lambda: person.app.current_mode == "bench" and person.app.screen.record_list.rows)
        person.app.screen.show_record("R1")  # type: ignore[attr-defined]
        await person.until(lambda: getattr(person.app.screen.sheet, "id", "") == "R1", LONG_S)
        person.app.screen.set_focus(person.app.screen.query_one("#mix-volume"))
        await person.write("500 mL")
        await person.until(lambda: "Stands open on the bench already" in person.sheet(), LONG_S)
        sheet = person.sheet()
        assert "B1" in sheet and sheet.index("Stands open") < sheet.index("liver of sulphur", sheet.index("500 mL"))
