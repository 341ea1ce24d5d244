"""Weighing from the shelf: which lot gives how much, what is missing, what it costs, where colour may step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal
from functools import cache
from typing import TYPE_CHECKING

from patina.chemistry.density import as_sold_density_g_ml
from patina.chemistry.strength import Strength
from patina.chemistry.substances import Substance
from patina.chemistry.weighing import ROUNDING_LIMIT_PCT, Weighing, round_to_step
from patina.chemistry.whole_solution import weigh_all
from patina.colour.values import Caution
from patina.datafile import read_table, text
from patina.errors import CannotConvert
from patina.recipe import Solution
from patina.sheets import LotRow, MixSheet, Shortage, WeighLine

if TYPE_CHECKING:
    from patina.bench.studio import Studio

CENT = Decimal("0.01")
# What adding up decimal figures leaves over, in g or mL.
CRUMB = 1e-6

Asked = Sequence[tuple[Substance, Strength]]


@cache
def colouring_tags() -> dict[str, str]:
    """Tags of substances that give the colour, and why. Source: [PRACTICE]"""
    rows = read_table("colouring_tags.csv", {"tag": text, "why": text, "source": text})
    return {row["tag"]: row["why"] for row in rows}


@dataclass(frozen=True)
class _Offer:
    """A lot that may serve for an ingredient. whole: the ingredient weighed from this lot alone, in the lot's unit."""

    lot: LotRow
    whole: Weighing


@dataclass(frozen=True)
class _Part:
    """What one lot gives. amount: exact; rounded: to the step. share: of the ingredient, 0 to 1."""

    offer: _Offer
    amount: float
    rounded: float

    @property
    def share(self) -> float:
        return self.amount / self.offer.whole.amount


@dataclass(frozen=True)
class _Pot:
    """One solution to be weighed. volume_ml: of the pot; step_g, step_ml: of balance and cylinder."""

    solution: Solution
    asked: Asked
    solvent: Substance
    volume_ml: float
    step_g: float
    step_ml: float

    def step(self, unit: str) -> float:
        """The smallest step in "g" or "mL"."""
        return self.step_ml if unit == "mL" else self.step_g

    def weighed(self, at: int, form: tuple[Substance, float | None] | None) -> Weighing:
        """The ingredient at a place, all of it in one form and assay; None: as the recipe names it."""
        have = {} if form is None else {self.asked[at][0].key: form}
        weighings = weigh_all(
            self.asked,
            self.volume_ml,
            self.solution.volume_is,
            have,
            self.step_g,
            self.step_ml,
            solvent=self.solvent,
        )
        return weighings[at]

    def in_unit_of(self, lot: LotRow, whole: Weighing, form: Substance) -> Weighing:
        """The weighing in the unit that the lot is kept in: a liquid bought by weight is weighed.

        Raises CannotConvert for a powder kept in mL, or a liquid of unknown density.
        """
        if whole.unit == lot.unit:
            return whole
        if whole.unit == "g":
            raise CannotConvert(
                f"it is kept in {lot.unit}, and {whole.substance} is put on the balance.",
                "Keep the lot in grams on the shelf.",
            )
        density = as_sold_density_g_ml(form, lot.assay_pct if lot.assay_pct is not None else form.assay_pct)
        amount = whole.amount * density
        rounded = round_to_step(amount, self.step_g)
        words = f"{_sum(whole)}; the lot is kept by weight: × {density:.4f} g/mL = {amount:.6g} g"
        return replace(whole, amount=amount, unit="g", rounded=rounded, working=words)


class Supply:
    """The shelf as one mix sees it: what its first pot takes is no longer there for its second.

    Expired and spent lots are left out. One lot that is enough is taken before several: of the form
    the recipe names, then of another hydrate or grade of the same salt; an opened one first, then
    the one that must be used soonest.
    """

    def __init__(self, studio: Studio):
        self._studio = studio
        self._known = studio.catalogue()
        self._free: dict[str, float] = {}
        self._short: dict[tuple[str, str], Shortage] = {}

    # -- one pot -------------------------------------------------------------------------------------

    def lines(
        self, solution: Solution, asked: Asked, solvent: Substance, volume_ml: float, step_g: float, step_ml: float
    ) -> tuple[tuple[WeighLine, ...], list[Caution]]:
        """What to weigh from which lot for one pot, and what to mind. volume_ml: of the pot.

        Raises what ``whole_solution.weigh_all`` raises.
        """
        lines: list[WeighLine] = []
        cautions: list[Caution] = []
        for at in range(len(asked)):
            pot = _Pot(solution, asked, solvent, volume_ml, step_g, step_ml)
            mine, said = self._ingredient(pot, at)
            lines += mine
            cautions += said
        return tuple(lines), [Caution(c.code, f"{solution.name}: {c.text}", c.size, c.do) for c in cautions]

    def _ingredient(self, pot: _Pot, at: int) -> tuple[list[WeighLine], list[Caution]]:
        substance = pot.asked[at][0]
        offers, cautions = self._offers(pot, at)
        parts, rest = self._split(offers, pot)
        for part in parts:
            self._free[part.offer.lot.id] -= part.rounded
        own = pot.weighed(at, None)
        needed = round_to_step(rest * own.amount, pot.step(own.unit)) if parts else own.rounded or own.amount
        short = rest > 0 and (needed > 0 or not parts)
        lines = [_line(part) for part in parts]
        if short:
            lines.append(_missing_line(own, rest, needed))
            cautions.append(self._told_short(pot, own, substance, rest, needed))
        shown = parts[0].offer.whole if parts else own
        cautions += [Caution(c.code, c.text) for c in shown.warnings if c.code != "rounding" or len(lines) == 1]
        cautions += _steps(substance, parts)
        achieved = sum(line.share_pct / 100 * (1 + line.error_pct / 100) for line in lines)
        return [replace(line, achieved_g_per_l=own.asked_g_per_l * achieved) for line in lines], cautions

    def _offers(self, pot: _Pot, at: int) -> tuple[list[_Offer], list[Caution]]:
        """Lots that may serve, in the order in which they would be taken."""
        from patina.bench.shelves.shelf import lots_of

        substance = pot.asked[at][0]
        found: list[_Offer] = []
        said: list[Caution] = []
        for lot in lots_of(self._studio, substance.key):
            if lot.state == "expired":
                said.append(
                    Caution(
                        "expired-lot",
                        f"lot {lot.id} of {lot.substance} is left out: its time was over on {lot.use_by}.",
                        None,
                        "Put it to waste, or correct its use-by date if it was tested and is still good.",
                    )
                )
                continue
            form = (self._known.get(lot.substance_key), lot.assay_pct)
            try:
                found.append(_Offer(lot, pot.in_unit_of(lot, pot.weighed(at, form), form[0])))
            except CannotConvert as trouble:
                said.append(Caution("lot-left-out", f"lot {lot.id} is left out: {trouble.what}", None, trouble.remedy))
                continue
            self._free.setdefault(lot.id, lot.left)
        return sorted(found, key=lambda offer: _turn(offer.lot, substance)), said

    def _split(self, offers: Sequence[_Offer], pot: _Pot) -> tuple[list[_Part], float]:
        """What each lot gives, and the share of the ingredient that is then still missing."""
        for offer in offers:
            alone = self._whole(offer, pot)
            if alone is not None:
                return [alone], 0.0
        parts: list[_Part] = []
        rest = 1.0
        for offer in offers:
            step = pot.step(offer.whole.unit)
            need, free = rest * offer.whole.amount, self._free[offer.lot.id]
            rounded = round_to_step(need, step)
            if rounded <= free + CRUMB:
                if rounded > 0:
                    parts.append(_Part(offer, need, rounded))
                return parts, 0.0 if parts else rest
            taken = _floor(free, step)
            if taken > 0:
                parts.append(_Part(offer, taken, taken))
                rest -= taken / offer.whole.amount
        return parts, max(rest, 0.0)

    def _whole(self, offer: _Offer, pot: _Pot) -> _Part | None:
        """The ingredient from one lot alone, where it holds enough (rounded down a step, if need be)."""
        whole, free = offer.whole, self._free[offer.lot.id]
        if whole.rounded <= free + CRUMB:
            return _Part(offer, whole.amount, whole.rounded)
        lower = _floor(free, pot.step(whole.unit))
        if whole.amount <= free + CRUMB and lower > whole.amount * (1 - ROUNDING_LIMIT_PCT / 100):
            return _Part(offer, whole.amount, lower)
        return None

    def _told_short(self, pot: _Pot, own: Weighing, substance: Substance, rest: float, needed: float) -> Caution:
        before = self._short.get((substance.key, own.unit))
        lacking = needed + (0.0 if before is None else before.missing)
        self._short[(substance.key, own.unit)] = Shortage(substance.name, substance.key, lacking, own.unit)
        there = f"what is there makes {pot.volume_ml * (1 - rest):.0f} mL" if rest < 1 else "none of it may be used"
        return Caution(
            "short-stock",
            f"{needed:g} {own.unit} of {substance.name} are missing on the shelf ({there}).",
            needed,
            "Get more before anything is weighed, or make less.",
        )

    # -- the whole mix -------------------------------------------------------------------------------

    def told(self, sheet: MixSheet) -> MixSheet:
        """The sheet with what the shelf lacks and what the mix costs."""
        sums: dict[str, Decimal] = {}
        unpriced: list[str] = []
        for line in (line for solution in sheet.solutions for line in solution.weigh):
            if line.price is None:
                unpriced.append(line.substance)
            else:
                sums[line.currency] = sums.get(line.currency, Decimal(0)) + line.price
        cost = tuple((currency, total.quantize(CENT, ROUND_HALF_UP)) for currency, total in sorted(sums.items()))
        first = ("short-stock", "colour-step")
        warnings = sorted(
            dict.fromkeys(sheet.warnings), key=lambda w: first.index(w.code) if w.code in first else len(first)
        )
        return replace(
            sheet,
            from_shelf=True,
            short=tuple(self._short.values()),
            cost=cost,
            unpriced=tuple(dict.fromkeys(unpriced)),
            warnings=tuple(warnings),
        )


def _turn(lot: LotRow, asked: Substance) -> tuple[bool, bool, date, int]:
    """The order in which lots of a substance are taken."""
    return (lot.substance_key != asked.key, lot.state != "opened", lot.use_by or date.max, int(lot.id[1:]))


def _floor(amount: float, step: float) -> float:
    """The amount down to whole steps."""
    steps = (Decimal(repr(amount + CRUMB)) / Decimal(repr(step))).quantize(Decimal(1), rounding=ROUND_FLOOR)
    return float(steps * Decimal(repr(step)))


def _line(part: _Part) -> WeighLine:
    lot, whole = part.offer.lot, part.offer.whole
    error = 100 * (part.rounded - part.amount) / part.amount
    share = 100 * part.share
    of_all = "" if share > 100 - 1e-9 else f"; {share:.4g} % of it from {lot.id} = {part.amount:.6g} {whole.unit}"
    working = f"{_sum(whole)}{of_all}; rounded to {part.rounded:g} {whole.unit} ({error:+.2f} %)"
    return WeighLine(
        substance=whole.substance,
        cas=whole.cas,
        asked=whole.asked,
        asked_g_per_l=whole.asked_g_per_l,
        amount=part.amount,
        unit=whole.unit,
        rounded=part.rounded,
        error_pct=error,
        achieved_g_per_l=whole.asked_g_per_l,
        working=working,
        lot=lot.id,
        key=whole.key,
        share_pct=share,
        price=_price(lot, part.rounded),
        currency="" if lot.price is None else lot.currency,
        lot_words=_lot_words(lot),
    )


def _lot_words(lot: LotRow) -> str:
    """Assay, grade, supplier's number and place of a lot, as far as they are known."""
    number = f"no. {lot.lot_number}" if lot.lot_number else ""
    assay = "" if lot.assay_pct is None else f"{lot.assay_pct:g} %"
    return ", ".join(dict.fromkeys(word for word in (assay, lot.grade, number, lot.place) if word))


def _sum(whole: Weighing) -> str:
    """The sum without its last member, the rounding of the whole."""
    return whole.working.split("; rounded to ")[0]


def _price(lot: LotRow, amount: float) -> Decimal | None:
    """What that much of a lot cost; None where its price is not on record."""
    if lot.price is None or lot.amount <= 0:
        return None
    return lot.price * Decimal(repr(amount)) / Decimal(repr(lot.amount))


def _missing_line(own: Weighing, rest: float, needed: float) -> WeighLine:
    amount = rest * own.amount
    return WeighLine(
        substance=own.substance,
        cas=own.cas,
        asked=own.asked,
        asked_g_per_l=own.asked_g_per_l,
        amount=amount,
        unit=own.unit,
        rounded=needed,
        error_pct=100 * (needed - amount) / amount,
        achieved_g_per_l=own.asked_g_per_l,
        working=f"{_sum(own)}; {100 * rest:.4g} % of it are missing on the shelf = {amount:.6g} {own.unit}",
        key=own.key,
        share_pct=100 * rest,
        missing=True,
    )


def _steps(substance: Substance, parts: Sequence[_Part]) -> list[Caution]:
    """A word where an ingredient comes from several lots."""
    if len(parts) < 2:
        return []
    lots = " and ".join(part.offer.lot.id for part in parts)
    forms = list(dict.fromkeys(part.offer.lot.substance for part in parts))
    what = f"{substance.name} comes from {lots}" + (f" ({', '.join(forms)})" if len(forms) > 1 else "")
    why = [words for tag, words in colouring_tags().items() if tag in substance.tags]
    if not why:
        return [Caution("several-lots", f"{what}.", None, "Weigh them into the same pot.")]
    return [
        Caution(
            "colour-step",
            f"{what}: a step of colour may show ({why[0]}).",
            None,
            "Weigh them into one pot, mix it in one go, and make a witness tile from each lot before the piece.",
        )
    ]
