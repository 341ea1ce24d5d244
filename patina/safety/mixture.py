"""The hazard classes of a solution as mixed, by the rules of UN GHS and CLP Annex I, or by the US HCS.

Every class says which ingredient, which limit and which table. Where the density is an estimate the mixture is
classified at both ends of its error; a class that holds at one end only is left open. So is one that hangs on a pH
or a multiplying factor that nobody has given.

Source: [CLP_ANNEX_I] [GHS_REV11] [HCS_APP_A]
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from patina.chemistry.substances import Substance
from patina.errors import BadQuantity
from patina.safety.acute import acute
from patina.safety.aquatic import aquatic
from patina.safety.cutoffs import cut_off_classes, stot_se3
from patina.safety.ph import ph_open
from patina.safety.physical import physical
from patina.safety.rules import REGIMES, Finding, Findings, Open, Share
from patina.safety.skin_eye import eye, skin
from patina.safety.supplemental import supplemental

ORDER = (
    "oxidising",
    "flammable",
    "metals",
    "acute oral",
    "acute dermal",
    "acute inhalation",
    "aspiration",
    "skin",
    "eye",
    "Resp. Sens.",
    "Skin Sens.",
    "Muta.",
    "Carc.",
    "Repr.",
    "Lact.",
    "STOT SE",
    "STOT SE 3 H335",
    "STOT SE 3 H336",
    "STOT RE",
    "aquatic acute",
    "aquatic chronic",
)
ABSENT = 99


@dataclass(frozen=True, slots=True)
class Component:
    """One ingredient: pct_ww of the named substance (of its active part, where it is sold dissolved), and how far
    that share may be off because the density is an estimate."""

    substance: Substance
    pct_ww: float
    error_pct_ww: float = 0.0


@dataclass(frozen=True, slots=True)
class MixtureClass:
    """What the rules found. found: classes; covered: classes that a stronger one includes; euh: supplemental
    statements; open: classes that need a measurement; notes: sentences on what is not a class."""

    found: tuple[Finding, ...]
    covered: tuple[Finding, ...]
    euh: tuple[Finding, ...]
    open: tuple[Open, ...]
    notes: tuple[str, ...]
    regime: str

    @property
    def codes(self) -> tuple[tuple[str, str], ...]:
        """Class and statement of each class found, in the order of the label."""
        return tuple((f.code, f.h) for f in self.found)


@dataclass(frozen=True, slots=True)
class Result:
    """The mixture at one density."""

    findings: Findings
    euh: tuple[Finding, ...]

    def rank(self, family: str) -> int:
        """How severe a family's class is; ABSENT where there is none."""
        return min((f.rank for f in self.findings.found if f.family == family), default=ABSENT)


def classify(
    components: Sequence[Component],
    *,
    ph: float | None = None,
    viscosity_mm2_s: float | None = None,
    flash_point_c: float | None = None,
    regime: str = "CLP",
) -> MixtureClass:
    """Classes of a mixture. What the components do not add up to in 100 % is taken as water.

    ph: as measured. viscosity: kinematic, at 40 °C. flash_point_c: closed cup. regime: "CLP" or "HCS".
    Raises BadQuantity for a share that is negative or a sum above 100 %, and for a pH outside -2 to 16.
    """
    if regime not in REGIMES:
        raise BadQuantity(f"'{regime}' is no set of rules.", f"Choose one of {', '.join(REGIMES)}.")
    _check(components, ph)
    ends = (0.0, -1.0, 1.0) if any(c.error_pct_ww for c in components) else (0.0,)
    results = []
    for end in ends:
        shares = _together(components, end)
        results.append(_at(shares, ph, viscosity_mm2_s, flash_point_c, regime))
    return _merge(results, regime)


def _check(components: Iterable[Component], ph: float | None) -> None:
    total = 0.0
    for c in components:
        if not 0 <= c.pct_ww <= 100.000001 or c.error_pct_ww < 0:
            raise BadQuantity(
                f"{c.pct_ww:g} % of {c.substance.name} is no share of a mixture.", "Give a share from 0 to 100 % w/w."
            )
        total += c.pct_ww
    if total > 100.01:
        raise BadQuantity(f"The ingredients add up to {total:.4g} % w/w.", "Check the strengths and the density.")
    if ph is not None and not -2 <= ph <= 16:
        raise BadQuantity(f"A pH of {ph:g} cannot be.", "Give a measured pH between -2 and 16.")


def _together(components: Iterable[Component], end: float) -> tuple[Share, ...]:
    """One share per substance, whatever lots and order it comes in; end: -1, 0 or 1 times the error."""
    lots: dict[str, list[float]] = {}
    substances: dict[str, Substance] = {}
    for c in components:
        substances[c.substance.key] = c.substance
        lots.setdefault(c.substance.key, []).append(max(0.0, c.pct_ww + end * c.error_pct_ww))
    sums = {key: sum(sorted(parts)) for key, parts in lots.items()}
    ordered = sorted(sums, key=lambda key: (-round(sums[key], 9), key))
    return tuple(Share(substances[key], sums[key]) for key in ordered if sums[key] > 0)


def _at(
    shares: Sequence[Share], ph: float | None, viscosity: float | None, flash_point_c: float | None, regime: str
) -> Result:
    findings = Findings.none()
    findings.add(physical(shares, viscosity, flash_point_c, regime))
    findings.add(acute(shares, regime))
    findings.add(skin(shares, ph, regime))
    findings.add(eye(shares, ph, regime))
    findings.add(cut_off_classes(shares, regime))
    findings.add(stot_se3(shares, regime))
    findings.add(aquatic(shares, regime))
    if ph is None:
        findings.open += ph_open(shares, regime)
    for share in shares:
        if share.substance.hazard_basis == "unknown":
            needs = f"the hazard information of {share.substance.name} (section 2 of its safety data sheet)"
            findings.open.append(Open(f"unknown {share.substance.key}", -1, "all classes", needs))
    return Result(findings, tuple(supplemental(shares, findings.found, regime)))


def _merge(results: Sequence[Result], regime: str) -> MixtureClass:
    """What holds at every density is found; what holds at some only is open."""
    middle = results[0]
    families = sorted({f.family for r in results for f in r.findings.found}, key=_place)
    found: list[Finding] = []
    opened: list[Open] = []
    certain: dict[str, int] = {}
    for family in families:
        ranks = [r.rank(family) for r in results]
        certain[family] = max(ranks)
        if certain[family] < ABSENT:
            at = results[ranks.index(certain[family])]
            found += [f for f in at.findings.found if f.family == family and f.rank == certain[family]]
        if min(ranks) < certain[family]:
            at = results[ranks.index(min(ranks))]
            worse = next(f for f in at.findings.found if f.family == family and f.rank == min(ranks))
            needs = f"the measured density: at one end of its estimate it is this class, at the other not ({worse.why})"
            opened.append(Open(family, worse.rank, worse.code, needs))
    for result in results:
        for o in result.findings.open:
            settled = certain.get(o.family, ABSENT) <= o.rank and o.rank >= 0
            if not settled and not (o.family == "skin" and _corrosive(found)):
                opened.append(o)
    unique: dict[tuple[str, str], Open] = {}
    for o in opened:
        unique.setdefault((o.family, o.code + o.needs[:20]), o)
    covered = [f for f in found if f.family == "eye" and _corrosive(found)]
    euh = [e for e in middle.euh if all(e.code in {x.code for x in r.euh} for r in results)]
    return MixtureClass(
        tuple(f for f in found if f not in covered),
        tuple(covered),
        tuple(euh),
        tuple(sorted(unique.values(), key=lambda o: (_place(o.family), o.code, o.needs))),
        tuple(dict.fromkeys(middle.findings.notes)),
        regime,
    )


def _place(family: str) -> int:
    return ORDER.index(family) if family in ORDER else len(ORDER)


def _corrosive(found: Iterable[Finding]) -> bool:
    return any(f.family == "skin" and f.h == "H314" for f in found)
