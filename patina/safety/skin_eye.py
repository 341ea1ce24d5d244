"""Skin corrosion and irritation, serious eye damage and eye irritation of a mixture.

Specific limits stand in place of the generic ones: each ingredient counts as its share over its limit, and the
class is reached where these add to one. Where all limits are generic this is the sum of Table 3.2.3 or 3.3.3,
with corrosive ingredients weighted ten times in the irritant sums.

Source: [CLP_ANNEX_I] 3.2.3.3, 3.3.3.3; [HCS_APP_A] A.2.4, A.3.4
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from patina.safety.rules import (
    Finding,
    Findings,
    Share,
    classes_of,
    counted_pct,
    limit,
    lowest,
    reaches,
    show,
    specific,
)

SKIN_RANK = {"Skin Corr. 1": 0, "Skin Corr. 1A": 0, "Skin Corr. 1B": 1, "Skin Corr. 1C": 2, "Skin Irrit. 2": 3}
NOT_ADDITIVE = frozenset({"not additive"})


@dataclass(frozen=True, slots=True)
class Term:
    """One ingredient's part in a sum: its share over its limit (own: the limit is the ingredient's own)."""

    share: Share
    bound: float
    own: bool
    part: float
    word: str

    def text(self) -> str:
        """The part in words: "silver nitrate 2 % (limit 5 %)"."""
        kind = "specific limit" if self.own else "limit"
        return f"{self.share.substance.name} {show(self.share.pct)} %{self.word} ({kind} {self.bound:g} %)"


Bound = Callable[[Share], tuple[float, bool] | None]


def _terms(shares: Sequence[Share], bound_of: Bound, regime: str) -> list[Term]:
    terms = []
    for share in shares:
        bound = bound_of(share)
        if bound is None:
            continue
        value, own = bound
        pct, word = counted_pct(share, stated=own)
        if reaches(pct, min(limit("skin.relevant", regime).value, value)):
            terms.append(Term(share, value, own, pct / value, word))
    return terms


def _reached(terms: Sequence[Term]) -> bool:
    return bool(terms) and reaches(sum(t.part for t in terms), 1.0)


def _why(terms: Sequence[Term], table: str, says: str) -> str:
    total = sum(t.part for t in terms)
    added = f"; shares over limits add to {show(total)}" if len(terms) > 1 else ""
    where = "in place of " + table if all(t.own for t in terms) else table
    return f"{says}: {', '.join(t.text() for t in terms)}{added} ({where})"


def skin(shares: Sequence[Share], ph: float | None, regime: str) -> Findings:
    """The skin class of a mixture. ph: measured, None where it is not known."""
    result = Findings.none()
    corrosive = _terms(shares, lambda s: _corrosive_bound(s, "1C", regime), regime)
    table = limit("skin.corrosive_sum", regime)
    if _reached(corrosive):
        code, deciding = _sub_category(shares, corrosive, regime)
        why = _why(deciding, table.table, "corrosive")
        result.found.append(Finding("skin", SKIN_RANK[code], code, "H314", why, table.source))
        return result
    alone = _not_additive(shares, "skin", ph, regime)
    by_ph = _by_ph(ph, regime)
    if by_ph or alone:
        why, source = by_ph or alone or ("", "")
        result.found.append(Finding("skin", 0, "Skin Corr. 1", "H314", why, source))
        return result
    irritant = _terms(shares, lambda s: _irritant_bound(s, regime), regime)
    if _reached(irritant):
        table = limit("skin.irritant_sum", regime)
        why = _why(irritant, table.table, "irritant")
        result.found.append(Finding("skin", 3, "Skin Irrit. 2", "H315", why, table.source))
        return result
    weak = _not_additive_irritant(shares, "skin", regime)
    if weak:
        result.found.append(Finding("skin", 3, "Skin Irrit. 2", "H315", *weak))
    return result


def eye(shares: Sequence[Share], ph: float | None, regime: str) -> Findings:
    """The eye class of a mixture; an ingredient that is corrosive and eye-damaging counts once."""
    result = Findings.none()
    damaging = _terms(shares, lambda s: _damaging_bound(s, regime), regime)
    table = limit("eye.damaging_sum", regime)
    special = _by_ph(ph, regime) or _not_additive(shares, "eye", ph, regime)
    if _reached(damaging):
        why = _why(damaging, table.table, "eye-damaging")
        result.found.append(Finding("eye", 0, "Eye Dam. 1", "H318", why, table.source))
    elif special:
        result.found.append(Finding("eye", 0, "Eye Dam. 1", "H318", *special))
    if result.found:
        return result
    irritant = _terms(shares, lambda s: _eye_irritant_bound(s, regime), regime)
    weak = _not_additive_irritant(shares, "eye", regime)
    if _reached(irritant):
        table = limit("eye.irritant_sum", regime)
        why = _why(irritant, table.table, "eye irritant")
        result.found.append(Finding("eye", 1, "Eye Irrit. 2", "H319", why, table.source))
    elif weak:
        result.found.append(Finding("eye", 1, "Eye Irrit. 2", "H319", *weak))
    return result


def _corrosive_bound(share: Share, mildest: str, regime: str) -> tuple[float, bool] | None:
    """The limit from which an ingredient is corrosive, counting sub-categories up to ``mildest``."""
    if NOT_ADDITIVE & share.substance.tags:
        return None
    wanted = tuple(f"Skin Corr. 1{x}" for x in "ABC"[: "ABC".index(mildest[-1]) + 1])
    codes = classes_of(share.substance, "Skin Corr. 1")
    own = specific(share.substance, "Skin Corr. 1")
    if own:
        fitting = [x for x in own if x.class_code.startswith(wanted) or x.class_code == "Skin Corr. 1"]
        low = lowest(fitting)
        return None if low is None else (low, True)
    if not any(c.startswith(wanted) or c == "Skin Corr. 1" for c in codes):
        return None
    return limit("skin.corrosive_sum", regime).value, False


def _sub_category(shares: Sequence[Share], corrosive: Sequence[Term], regime: str) -> tuple[str, Sequence[Term]]:
    """1A, 1B or 1C where the running sum reaches it; plain 1 where an ingredient has no sub-category."""
    if any("Skin Corr. 1" in classes_of(t.share.substance, "Skin Corr. 1") for t in corrosive):
        return "Skin Corr. 1", corrosive
    for mildest in ("1A", "1B"):
        terms = _terms(shares, partial(_corrosive_bound, mildest=mildest, regime=regime), regime)
        if _reached(terms):
            return f"Skin Corr. {mildest}", terms
    return "Skin Corr. 1C", corrosive


def _irritant_bound(share: Share, regime: str) -> tuple[float, bool] | None:
    substance = share.substance
    if NOT_ADDITIVE & substance.tags:
        return None
    own = lowest(specific(substance, "Skin Irrit. 2"))
    if own is not None:
        return own, True
    corrosive = lowest(specific(substance, "Skin Corr. 1"))
    generic = limit("skin.corrosive_irritates", regime).value
    if corrosive is not None:
        return (corrosive, True) if corrosive < generic else (generic, False)
    if classes_of(substance, "Skin Corr. 1"):
        return generic, False
    if classes_of(substance, "Skin Irrit. 2"):
        return limit("skin.irritant_sum", regime).value, False
    return None


def _damaging_bound(share: Share, regime: str) -> tuple[float, bool] | None:
    """Where an ingredient damages the eye: its own limit, the top of its own irritant band, or the generic one."""
    substance = share.substance
    if NOT_ADDITIVE & substance.tags:
        return None
    own = lowest(specific(substance, "Eye Dam. 1"))
    if own is not None:
        return own, True
    if not classes_of(substance, "Skin Corr. 1", "Eye Dam. 1"):
        return None
    tops = [x.high_pct for x in specific(substance, "Eye Irrit. 2") if x.high_pct is not None]
    if tops:
        return max(tops), True
    generic = limit("eye.damaging_sum", regime).value
    corrosive = lowest(specific(substance, "Skin Corr. 1"))
    return (corrosive, True) if corrosive is not None and corrosive < generic else (generic, False)


def _eye_irritant_bound(share: Share, regime: str) -> tuple[float, bool] | None:
    substance = share.substance
    if NOT_ADDITIVE & substance.tags:
        return None
    own = lowest(specific(substance, "Eye Irrit. 2"))
    if own is not None:
        return own, True
    damaging = _damaging_bound(share, regime)
    generic = limit("eye.damaging_irritates", regime).value
    if damaging is not None:
        return damaging if damaging[0] < generic else (generic, False)
    if classes_of(substance, "Eye Irrit. 2"):
        return limit("eye.irritant_sum", regime).value, False
    return None


def _by_ph(ph: float | None, regime: str) -> tuple[str, str] | None:
    if ph is None:
        return None
    acid, base = limit("ph.acid", regime), limit("ph.base", regime)
    if ph <= acid.value or ph >= base.value:
        side = f"at or below {acid.value:g}" if ph <= acid.value else f"at or above {base.value:g}"
        return (f"pH {ph:g} is {side}, unless its acid or alkali reserve shows otherwise ({acid.table})", acid.source)
    return None


def _not_additive(shares: Sequence[Share], what: str, ph: float | None, regime: str) -> tuple[str, str] | None:
    """Corrosive ingredients that do not add up: one at 1 % is enough (surfactants, phenols, some salts)."""
    key = f"{what}.non_additive_{'corrosive' if what == 'skin' else 'damaging'}"
    stems = ("Skin Corr. 1",) if what == "skin" else ("Skin Corr. 1", "Eye Dam. 1")
    return _alone(shares, key, stems, regime)


def _not_additive_irritant(shares: Sequence[Share], what: str, regime: str) -> tuple[str, str] | None:
    stems = ("Skin Irrit. 2", "Skin Corr. 1") if what == "skin" else ("Eye Irrit. 2", "Eye Dam. 1", "Skin Corr. 1")
    return _alone(shares, f"{what}.non_additive_irritant", stems, regime)


def _alone(shares: Sequence[Share], key: str, stems: tuple[str, ...], regime: str) -> tuple[str, str] | None:
    bound = limit(key, regime)
    for share in shares:
        if (
            NOT_ADDITIVE & share.substance.tags
            and classes_of(share.substance, *stems)
            and reaches(share.pct, bound.value)
        ):
            name = f"{share.substance.name} {show(share.pct)} %"
            return f"{name} at or above {bound.value:g} %, not additive ({bound.table})", bound.source
    return None
