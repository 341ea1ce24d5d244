"""The catalogue of substances: what each is, what it does to people, and what it is a hydrate of.

Values come from the ``substance*.csv`` files in ``patina/data``; each row there names its source.
Nothing here judges a mixture: that is `patina.safety`.

Source: each row's own
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from types import MappingProxyType

from patina.errors import NotFound, UnknownSubstance

FORMS = ("solid", "liquid", "solution", "gas", "paste")
HAZARD_BASES = ("harmonised", "self-classification", "none known", "unknown")


@dataclass(frozen=True, slots=True)
class HazardClass:
    """One hazard class of a substance as sold.

    code: such as "Acute Tox. 4". route: "oral", "dermal", "inhalation" or "". h: the statement,
    "H302". minimum: the published class is a minimum (printed with an asterisk). source: its key.
    note: how it was chosen where sources differ.
    """

    code: str
    route: str
    h: str
    minimum: bool
    source: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class SpecificLimit:
    """A concentration limit of this substance's own: class_code and h hold from low_pct (included)
    to high_pct (not included; None: no upper end), in % w/w of the active substance."""

    class_code: str
    h: str
    low_pct: float
    high_pct: float | None
    source: str


@dataclass(frozen=True, slots=True)
class AcuteToxicityEstimate:
    """route: "oral", "dermal" (mg/kg), "gas_ppmV", "vapour_mg_L" or "dust_mist_mg_L"."""

    route: str
    value: float
    source: str


@dataclass(frozen=True, slots=True)
class EmittedGas:
    """A gas, fume or mist the substance can give off.

    gas: its name. trigger: "standing", "heat", "acid", "base", "metal", "spray", "burning" or
    "hydrochloric acid". when: in words. above_c: surface temperature in °C from which, None where
    unknown or not a matter of heat.
    """

    gas: str
    trigger: str
    when: str
    source: str
    above_c: float | None = None


@dataclass(frozen=True, slots=True)
class Grade:
    """One strength in which a liquid is sold: assay_pct in % w/w of the active substance, density at 20 °C."""

    assay_pct: float
    density_g_ml: float
    source: str


@dataclass(frozen=True, slots=True)
class Substance:
    """One substance in one form (this hydrate, this grade).

    key: its name in files. base: key of the salt it is a hydrate of (itself where there is only
    one form). waters: water of crystallisation per formula. base_units: units of the base per
    formula. density_g_ml: as sold at 20 °C (liquids). assay_pct: % w/w of ``active`` as sold, None
    for solids of unstated grade. solubility_g_per_l: grams of this form in a litre of water near
    20 °C, 0 for insoluble, None where unknown or miscible (solubility_note says). hazard_basis:
    one of HAZARD_BASES; "unknown" is not "no hazard". m_acute, m_chronic: multiplying factors,
    None where none is published. limit_ion: what the limits count where that is not the substance
    ("lead", "chromate ion"), limit_factor: its mass share. source: key of the identity's source.
    """

    key: str
    name: str
    other_names: tuple[str, ...]
    cas: str | None
    formula: str
    molar_mass_g_mol: float | None
    base: str | None
    waters: float
    base_units: float
    form: str
    density_g_ml: float | None
    assay_pct: float | None
    active: str
    active_molar_mass_g_mol: float | None
    solubility_g_per_l: float | None
    solubility_note: str
    hazards: tuple[HazardClass, ...]
    hazard_basis: str
    limits: tuple[SpecificLimit, ...]
    ates: tuple[AcuteToxicityEstimate, ...]
    m_acute: float | None
    m_chronic: float | None
    euh: tuple[str, ...]
    gases: tuple[EmittedGas, ...]
    tags: frozenset[str]
    source: str
    notes: str = ""
    m_source: str = ""
    index_no: str = ""
    hazard_note: str = ""
    limit_ion: str = ""
    limit_factor: float = 1.0
    grades: tuple[Grade, ...] = ()
    solubility_source: str = ""
    cas_source: str = ""
    mixture: bool = False

    @property
    def is_liquid(self) -> bool:
        """Measured by volume as sold."""
        return self.form in ("liquid", "solution")


def plain(name: str) -> str:
    """A name with case, spaces, hyphens and the sulph/sulf, -aluminium/-aluminum spellings levelled.

    >>> plain("Liver of Sulfur") == plain("liver  of sulphur")
    True
    """
    low = name.casefold().replace("sulph", "sulf").replace("·", ".").replace("×", "x").replace("’", "'")
    low = re.sub(r"(?<=[\w\s])\(([ivx]+)\)", r" \1 ", low)
    return re.sub(r"[\s\-_,]+", "", low)


class Catalogue:
    """Substances by key, and found by any of their names. Never changed: `with_added` makes another."""

    def __init__(self, substances: Iterable[Substance]):
        by_key: dict[str, Substance] = {}
        index: dict[str, str] = {}
        for substance in substances:
            by_key[substance.key] = substance
            own = (substance.key, substance.name, substance.cas or "", *substance.other_names)
            for name in own:
                if name:
                    index.setdefault(plain(name), substance.key)
        for substance in by_key.values():  # formulas last: several forms may share one
            index.setdefault(plain(substance.formula), substance.key)
        self.substances: Mapping[str, Substance] = MappingProxyType(by_key)
        self._index = index

    def __len__(self) -> int:
        return len(self.substances)

    def names(self) -> frozenset[str]:
        """Every name and other name of a substance, in small letters."""
        named = (name for s in self.substances.values() for name in (s.name, *s.other_names))
        return frozenset(" ".join(name.casefold().split()) for name in named)

    def get(self, key: str) -> Substance:
        """The substance of that key. Raises NotFound."""
        try:
            return self.substances[key]
        except KeyError:
            raise NotFound(f"The catalogue has no key '{key}'.", "Look the substance up by its name.") from None

    def find(self, text: str, field: str | None = None) -> Substance:
        """The substance with that name, other name, CAS number, key or formula.

        Case, spaces, hyphens and sulph-/sulf- do not matter. Raises UnknownSubstance naming what
        comes close; a CAS number with a wrong check digit is said to be one.
        """
        wanted = text.strip()
        key = self._index.get(plain(wanted))
        if wanted and key is not None:
            return self.substances[key]
        near = self._near(wanted)
        remedy = (
            f"Did you mean {' or '.join(near)}?"
            if near
            else "Look in the catalogue, or add the substance with its data sheet."
        )
        if re.fullmatch(r"\d{2,7}-\d{2}-\d", wanted) and not cas_is_sound(wanted):
            remedy = "Its check digit is wrong: copy the CAS number again."
        raise UnknownSubstance(f"'{text}' is not in the catalogue.", remedy, near=near, field=field)

    def _near(self, text: str) -> tuple[str, ...]:
        close = get_close_matches(plain(text), self._index, n=6, cutoff=0.7)
        names = [self.substances[self._index[name]].name for name in close]
        names += [substance.name for substance in self.search(text)[:3]]
        return tuple(dict.fromkeys(names))[:4]

    def search(self, text: str) -> list[Substance]:
        """Substances one of whose names, formula or CAS number holds every word of ``text``."""
        asked = [plain(word) for word in text.split() if plain(word)]
        found = []
        for substance in self.substances.values():
            hay = "|".join(
                plain(n) for n in (substance.name, *substance.other_names, substance.formula, substance.cas or "-")
            )
            if asked and all(word in hay for word in asked):
                found.append(substance)
        return found

    def forms_of(self, base: str) -> tuple[Substance, ...]:
        """All forms (hydrates) of one base salt."""
        return tuple(s for s in self.substances.values() if s.base == base)

    def with_added(self, substance: Substance) -> Catalogue:
        """A catalogue with one more substance, or with that key replaced."""
        others = [s for s in self.substances.values() if s.key != substance.key]
        return Catalogue([replace(substance), *others])


def cas_is_sound(cas: str) -> bool:
    """Whether a CAS number's check digit is right: the sum of digit times place from the right, modulo 10.

    Source: [CAS]

    >>> cas_is_sound("7732-18-5"), cas_is_sound("7732-18-4")
    (True, False)
    """
    if not re.fullmatch(r"\d{2,7}-\d{2}-\d", cas):
        return False
    digits = cas.replace("-", "")
    total = sum(place * int(digit) for place, digit in enumerate(reversed(digits[:-1]), 1))
    return total % 10 == int(digits[-1])


def catalogue() -> Catalogue:
    """The packaged catalogue, read once."""
    from patina.chemistry.catalogue_files import packaged

    return packaged()
