"""The fields of a safety data sheet as a person writes them, made into a substance; all that is wrong is said at once.

What nobody has said stays unknown. What contradicts itself is refused: classes with a basis that says there are
none, a class with a statement that is not its own, a limit that ends before it begins.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, TypeVar

from patina.bench.shelves.substance_values import (
    CLASS,
    cas_number,
    day,
    density_g_ml,
    emitted_gas,
    euh_code,
    hazard_class,
    m_factor,
    molar_mass_g_mol,
    percent,
    specific_limit,
    toxicity_estimate,
)
from patina.chemistry.substances import FORMS, Catalogue, HazardClass, Substance, plain
from patina.errors import BadQuantity, Incomplete, PatinaError, Refused, UnknownSubstance

V = TypeVar("V")
BASES = {
    "harmonised": "harmonised",
    "supplier": "self-classification",
    "none": "none known",
    "unknown": "unknown",
}
# key of the form -> where it stands in the file; the order of the form
PLACES = {
    "name": ("name",),
    "other_names": ("other_names",),
    "supplier": ("sheet", "supplier"),
    "product": ("sheet", "product"),
    "date": ("sheet", "date"),
    "cas": ("sheet", "cas"),
    "basis": ("hazards", "basis"),
    "classes": ("hazards", "classes"),
    "euh": ("hazards", "euh"),
    "limits": ("hazards", "limits"),
    "ate": ("hazards", "ate"),
    "m_acute": ("hazards", "m_acute"),
    "m_chronic": ("hazards", "m_chronic"),
    "formula": ("composition", "formula"),
    "molar_mass": ("composition", "molar_mass"),
    "hydrate_of": ("composition", "hydrate_of"),
    "assay": ("composition", "assay"),
    "form": ("properties", "form"),
    "density": ("properties", "density"),
    "solubility": ("properties", "solubility"),
    "tags": ("reactions", "tags"),
    "gives_off": ("reactions", "gives_off"),
    "note": ("note",),
}
LONGEST_NAME, LONGEST_TEXT = 120, 4000
NEEDED = ("name", "supplier", "date", "basis", "form", "tags")
_WORDS_FOR_ZERO = ("insoluble", "not soluble", "practically insoluble")


@dataclass(frozen=True, slots=True)
class NewSheet:
    """A substance with the data sheet it comes from. dated: the date on the sheet."""

    substance: Substance
    supplier: str
    product: str
    dated: date


def substance_form(fields: Mapping[str, str], known: Catalogue, today: date, *, replaces: str = "") -> NewSheet:
    """A substance from the fields of PLACES. Lists are parted by semicolons.

    replaces: key of a substance of the studio whose data are renewed. Raises Incomplete with every trouble, each
    with its field.
    """
    unknown = set(fields) - set(PLACES)
    assert not unknown, f"no such field: {', '.join(sorted(unknown))}"
    return _Reader(fields, known, today, replaces).sheet()


class _Reader:
    """Reads the fields and collects what is wrong."""

    def __init__(self, fields: Mapping[str, str], known: Catalogue, today: date, replaces: str):
        self.fields, self.known, self.today, self.replaces = fields, known, today, replaces
        self.troubles: list[PatinaError] = []
        self.source = ""

    def text(self, key: str) -> str:
        return " ".join(self.fields.get(key, "").split())

    def items(self, key: str) -> list[str]:
        return [item.strip() for item in self.text(key).split(";") if item.strip()]

    def trouble(self, key: str, what: str, remedy: str) -> None:
        self.troubles.append(BadQuantity(what, remedy, field=key))

    def read(self, key: str, reader: Callable[[str], V], text: str | None = None) -> V | None:
        """What a field says; None where it is empty or wrong."""
        written = self.text(key) if text is None else text
        if not written or written.casefold() == "unknown":
            return None
        try:
            return reader(written)
        except PatinaError as trouble:
            trouble.field = key
            self.troubles.append(trouble)
            return None

    def each(self, key: str, reader: Callable[[str], V]) -> tuple[V, ...]:
        """What every item of a list says."""
        return tuple(v for item in self.items(key) if (v := self.read(key, reader, item)) is not None)

    def sheet(self) -> NewSheet:
        for key in NEEDED:
            if not self.text(key):
                self.trouble(key, f"'{key.replace('_', ' ')}' is missing.", self._ask(key))
        self._can_be_kept()
        dated = self.read("date", lambda w: day(w, self.today)) or self.today
        self.source = f"data sheet of {self.text('supplier')}, {dated.isoformat()}"
        substance = self._substance()
        if self.troubles:
            raise Incomplete(self.troubles)
        return NewSheet(substance, self.text("supplier"), self.text("product"), dated)

    def _can_be_kept(self) -> None:
        for key in self.fields:
            written = self.text(key)
            longest = LONGEST_NAME if key in ("name", "supplier", "product") else LONGEST_TEXT
            if len(written) > longest:
                self.trouble(key, f"The text is longer than {longest} characters.", "Shorten it.")
            if not written.isprintable():
                self.trouble(key, "The text holds characters that cannot be shown.", "Type it anew.")

    def _ask(self, key: str) -> str:
        if key == "tags":
            return self._ask_tags()
        asked = {
            "basis": f"Write one of: {', '.join(BASES)}. 'unknown' is an answer; such a recipe is never released.",
            "form": f"Write one of: {', '.join(FORMS)}.",
            "date": "Write the date of the sheet's last revision, as 2026-03-14.",
        }
        return asked.get(key, "Fill it in as the data sheet says.")

    def _ask_tags(self) -> str:
        from patina.safety.tag_offers import offered_tags

        codes = [m["code"] for item in self.items("classes") if (m := CLASS.fullmatch(item))]
        offered = "; ".join(offered_tags(self.text("formula"), codes))
        follows = f"From formula and classes follow: {offered}. " if offered else "Nothing follows from its formula. "
        return (
            follows + "Say what it is to a reaction (acid, base, oxidiser, sulphide, flammable …), or 'none' if "
            "section 10 of the sheet names nothing."
        )

    def _substance(self) -> Substance:
        classes = self.each("classes", lambda w: hazard_class(w, self.source))
        basis = BASES.get(self.text("basis").casefold(), "")
        self._basis(basis, classes)
        name, key = self.text("name"), self._key()
        formula = self.text("formula").replace("·", ".")
        mass = self.read("molar_mass", molar_mass_g_mol)
        base, waters = self._hydrate(key, formula, mass)
        form = self.text("form").casefold()
        if form and form not in FORMS:
            self.trouble("form", f"'{form}' is not known here.", self._ask("form"))
        solubility, solubility_note = self._solubility()
        m_acute, m_chronic = self.read("m_acute", m_factor), self.read("m_chronic", m_factor)
        return Substance(
            key=key,
            name=name,
            other_names=self._names(),
            cas=self.read("cas", cas_number),
            formula=formula,
            molar_mass_g_mol=mass,
            base=base,
            waters=waters,
            base_units=1.0,
            form=form,
            density_g_ml=self.read("density", density_g_ml),
            assay_pct=self.read("assay", percent),
            active=formula or name,
            active_molar_mass_g_mol=mass,
            solubility_g_per_l=solubility,
            solubility_note=solubility_note,
            hazards=classes,
            hazard_basis=basis,
            limits=self.each("limits", lambda w: specific_limit(w, self.source)),
            ates=self.each("ate", lambda w: toxicity_estimate(w, self.source)),
            m_acute=m_acute,
            m_chronic=m_chronic,
            euh=self.each("euh", euh_code),
            gases=self.each("gives_off", lambda w: emitted_gas(w, self.source)),
            tags=self._tags(),
            source=self.source,
            notes=self.text("note"),
            m_source=self.source if m_acute or m_chronic else "",
            mixture=not formula,
        )

    def _basis(self, basis: str, classes: tuple[HazardClass, ...]) -> None:
        written = self.text("basis")
        if written and not basis:
            self.trouble("basis", f"'{written}' is not known here.", self._ask("basis"))
        more = any(self.items(key) for key in ("classes", "euh", "limits", "ate"))
        if basis in ("none known", "unknown") and more:
            self.trouble(
                "basis",
                f"The basis is '{written}', and hazards are written all the same.",
                "Write 'supplier' or 'harmonised', or take the hazards out.",
            )
        if basis in ("harmonised", "self-classification") and not classes and not self.items("classes"):
            self.trouble("classes", "No class is written.", "Write the classes of section 2, or the basis 'none'.")

    def _key(self) -> str:
        name = self.text("name")
        key = self.replaces or "_".join(re.findall(r"[a-z0-9]+", name.casefold()))
        if name and not key:
            self.trouble("name", f"'{name}' has no letter in it.", "Give the name of the product.")
        for said, field in [(name, "name"), *((n, "other_names") for n in self.items("other_names"))]:
            try:
                there = self.known.find(said) if said else None
            except UnknownSubstance:
                there = None
            if there is not None and there.key != self.replaces:
                self.troubles.append(
                    Refused(
                        f"'{said}' is already the name of {there.name}.",
                        "Give it a name of its own, such as the supplier's product name.",
                        field=field,
                    )
                )
        if not self.replaces and key in self.known.substances and not self.troubles:
            self.trouble("name", f"The catalogue has a '{key}' already.", "Give it another name.")
        return key

    def _names(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(n for n in self.items("other_names") if plain(n) != plain(self.text("name"))))

    def _hydrate(self, key: str, formula: str, mass: float | None) -> tuple[str, float]:
        water = re.search(r"\.(\d*(?:\.\d+)?)H2O$", formula)
        waters = float(water[1] or 1) if water else 0.0
        if not self.text("hydrate_of"):
            return key, waters
        other = self.read("hydrate_of", self.known.find)
        if other is not None and mass is None:
            self.trouble("molar_mass", "A hydrate needs its molar mass.", "Write it as 241.60 g/mol.")
        return (other.base or other.key, waters) if other is not None else (key, waters)

    def _solubility(self) -> tuple[float | None, str]:
        from patina.units import split_quantity

        written = self.text("solubility")
        if not written or written.casefold() == "unknown":
            return None, ""
        if written.casefold() in _WORDS_FOR_ZERO:
            return 0.0, written
        if written.casefold() == "miscible":
            return None, "miscible"

        def grams(text: str) -> float:
            figure, unit = split_quantity(text)
            if unit.replace(" ", "").casefold() != "g/l" or not 0 <= figure < 20_000:
                raise BadQuantity(f"'{text}' is no solubility.", "Write '500 g/L', 'miscible' or 'insoluble'.")
            return figure

        return self.read("solubility", grams), ""

    def _tags(self) -> frozenset[str]:
        from patina.safety.tag_offers import known_tags

        items = [] if self.text("tags").casefold() == "none" else self.items("tags")
        for item in items:
            if item.casefold() not in known_tags():
                from difflib import get_close_matches

                near = get_close_matches(item.casefold(), known_tags(), n=3, cutoff=0.6)
                hint = f"Did you mean {' or '.join(near)}?" if near else f"Known: {', '.join(sorted(known_tags()))}."
                self.trouble("tags", f"'{item}' is no reaction tag.", hint)
        return frozenset(item.casefold() for item in items)


def fields_of(substance: Substance, sheet: Any) -> dict[str, str]:
    """The fields as they would be written again, to be renewed. sheet: the newest that was read, or None."""
    bases = {value: key for key, value in BASES.items()}

    def listed(parts: list[str]) -> str:
        return "; ".join(parts)

    def quantity(value: float | None, unit: str) -> str:
        return "" if value is None else f"{value!r} {unit}"

    routes = {"gas_ppmV": ("gas", "ppm"), "vapour_mg_L": ("vapour", "mg/L"), "dust_mist_mg_L": ("dust", "mg/L")}
    soluble = "insoluble" if substance.solubility_g_per_l == 0 else quantity(substance.solubility_g_per_l, "g/L")
    return {
        "name": substance.name,
        "other_names": listed(list(substance.other_names)),
        "supplier": "" if sheet is None else sheet.supplier,
        "product": "" if sheet is None else sheet.product,
        "cas": substance.cas or "",
        "basis": bases.get(substance.hazard_basis, ""),
        "classes": listed([f"{h.code} {h.h}{'*' if h.minimum else ''}" for h in substance.hazards]),
        "euh": listed(list(substance.euh)),
        "limits": listed(
            [
                f"{'' if x.class_code == x.h else x.class_code + ' '}{x.h} from {x.low_pct!r} %"
                + ("" if x.high_pct is None else f" below {x.high_pct!r} %")
                for x in substance.limits
            ]
        ),
        "ate": listed(
            [
                f"{routes.get(a.route, (a.route, 'mg/kg'))[0]} {a.value!r} {routes.get(a.route, ('', 'mg/kg'))[1]}"
                for a in substance.ates
            ]
        ),
        "m_acute": "" if substance.m_acute is None else f"{substance.m_acute:g}",
        "m_chronic": "" if substance.m_chronic is None else f"{substance.m_chronic:g}",
        "formula": substance.formula,
        "molar_mass": quantity(substance.molar_mass_g_mol, "g/mol"),
        "assay": quantity(substance.assay_pct, "%"),
        "form": substance.form,
        "density": quantity(substance.density_g_ml, "g/mL"),
        "solubility": soluble or substance.solubility_note,
        "tags": listed(sorted(substance.tags)) or "none",
        "gives_off": listed([f"{g.gas}: {g.trigger}: {g.when}" for g in substance.gases]),
        "note": substance.notes,
    }
