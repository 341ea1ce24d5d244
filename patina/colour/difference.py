"""How far two colours are apart, in figures and in words.

colormath's matrix functions stand behind the older formulas; CIEDE2000, which is asked for over
whole racks and pictures, has its own numpy form in ``delta_e``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from patina.colour.values import Lab
from patina.errors import BadQuantity, NotComparable

FORMULAS = ("de2000", "de94", "cmc", "de76")

# Smallest difference in one direction worth a word: about a third of what half of all observers
# see side by side (0.8 CIEDE2000). Source: [PARAVINA2015]
WORD_THRESHOLD = 0.3


@dataclass(frozen=True, slots=True)
class Difference:
    """Sample minus reference.

    delta_e: by ``formula``, 0 or more. dL, da, db: differences in CIELAB; dC in chroma; dH in hue
    (signed: positive turns from red towards yellow). words: what a person would say of the sample.
    """

    formula: str
    delta_e: float
    dL: float
    da: float
    db: float
    dC: float
    dH: float
    words: str

    def as_json(self) -> dict[str, Any]:
        """The document that ``patina compare --json`` prints."""
        return {
            "formula": self.formula,
            "delta_e": self.delta_e,
            "dL": self.dL,
            "da": self.da,
            "db": self.db,
            "dC": self.dC,
            "dH": self.dH,
            "words": self.words,
        }


def compare(reference: Lab, sample: Lab, formula: str = "de2000") -> Difference:
    """The difference of a sample from a reference.

    formula: one of FORMULAS. CIE94 (graphic arts) and CMC (2:1) are not symmetric: the first colour
    is the standard. Differences by different formulas must not be compared with each other.
    Raises NotComparable for different illuminants or observers, BadQuantity for an unknown formula
    or a value that is no number.
    Source: [SHARMA2005] [CIE94] [CMC] [CIELAB]

    >>> compare(Lab(50, 2.6772, -79.7751), Lab(50, 0, -82.7485)).delta_e.__round__(4)
    2.0425
    """
    require_comparable(reference, sample)
    delta_e = float(delta_e_many([reference.as_list()], [sample.as_list()], formula)[0])
    dL, da, db = sample.L - reference.L, sample.a - reference.a, sample.b - reference.b
    dC = sample.chroma - reference.chroma
    size = max(da * da + db * db - dC * dC, 0.0) ** 0.5
    turn = reference.a * sample.b - reference.b * sample.a
    dH = -size if turn < 0 else size
    return Difference(formula, delta_e, dL, da, db, dC, dH, in_words(dL, da, db, dC))


def require_comparable(first: Lab, second: Lab) -> None:
    """Raises NotComparable where illuminant or observer of two colours differ."""
    if (first.illuminant, first.observer) != (second.illuminant, second.observer):
        raise NotComparable(
            f"One colour is stated for {first.illuminant}, {first.observer}°, the other for {second.illuminant}, "
            f"{second.observer}°: the same surface would seem to differ by up to 5 CIEDE2000 and more.",
            "Adapt one of them first, and say so in the record, or read both under the same terms.",
        )


def in_words(dL: float, da: float, db: float, dC: float) -> str:
    """What a person would say of the sample, the largest difference first.

    dL, da, db, dC: sample minus reference in CIELAB units.

    >>> in_words(-3.0, 1.2, 0.1, -0.8)
    'darker, redder, duller'
    """
    said = [
        (abs(dL), "lighter" if dL > 0 else "darker"),
        (abs(da), "redder" if da > 0 else "greener"),
        (abs(db), "yellower" if db > 0 else "bluer"),
        (abs(dC), "stronger" if dC > 0 else "duller"),
    ]
    worth = [(size, word) for size, word in said if size >= WORD_THRESHOLD]
    if not worth:
        return "no difference worth a word"
    largest = max(size for size, _ in worth)
    return ", ".join(word for size, word in sorted(worth, key=lambda pair: -pair[0]) if size >= 0.1 * largest)


def delta_e_many(reference: Any, sample: Any, formula: str = "de2000") -> Any:
    """Differences row by row.

    reference, sample: array-likes of shape (n, 3) in L* a* b* of one illuminant and observer (not
    checked here). Returns a float array of shape (n,). Raises BadQuantity for other shapes, values
    that are no numbers, and unknown formulas. Source: [SHARMA2005] [CIE94] [CMC] [CIELAB]
    """
    import numpy as np

    first, second = np.asarray(reference, dtype=np.float64), np.asarray(sample, dtype=np.float64)
    _require_rows(first, second, formula)
    if formula == "de2000":
        from patina.colour.delta_e import de2000_pairs

        return de2000_pairs(first, second)
    if formula == "de76":
        apart = second - first
        return np.sqrt(np.einsum("ij,ij->i", apart, apart))
    if len(first) > 64:
        return _de94(first, second) if formula == "de94" else _cmc(first, second)
    from colormath import color_diff_matrix

    one = color_diff_matrix.delta_e_cie1994 if formula == "de94" else color_diff_matrix.delta_e_cmc
    return np.array([one(a, b[None, :])[0] for a, b in zip(first, second, strict=True)], dtype=np.float64)


def _require_rows(first: Any, second: Any, formula: str) -> None:
    import numpy as np

    if formula not in FORMULAS:
        raise BadQuantity(f"'{formula}' is not a difference formula known here.", f"Use one of {', '.join(FORMULAS)}.")
    if first.ndim != 2 or first.shape != second.shape or first.shape[1] != 3:
        raise BadQuantity("Colours must come as pairs of L*, a*, b*.", "Give the same number of triples on both sides.")
    if not (np.isfinite(first).all() and np.isfinite(second).all()):
        raise BadQuantity("A colour value is not a finite number.", "Correct that value.")


def _de94(first: Any, second: Any) -> Any:
    """CIE94 for graphic arts over rows: kL = kC = kH = 1, K1 = 0.045, K2 = 0.015."""
    import numpy as np

    C1, C2 = np.hypot(first[:, 1], first[:, 2]), np.hypot(second[:, 1], second[:, 2])
    square = (second - first) ** 2
    hue = np.maximum(square[:, 1] + square[:, 2] - (C2 - C1) ** 2, 0.0)
    chroma = (C2 - C1) / (1.0 + 0.045 * C1)
    return np.sqrt(square[:, 0] + chroma**2 + hue / (1.0 + 0.015 * C1) ** 2)


def _cmc(first: Any, second: Any) -> Any:
    """CMC(2:1) over rows."""
    import numpy as np

    L1, C1 = first[:, 0], np.hypot(first[:, 1], first[:, 2])
    C2 = np.hypot(second[:, 1], second[:, 2])
    hue = np.degrees(np.arctan2(first[:, 2], first[:, 1])) % 360.0
    blue = (hue >= 164.0) & (hue <= 345.0)
    t = np.where(
        blue,
        0.56 + np.abs(0.2 * np.cos(np.radians(hue + 168.0))),
        0.36 + np.abs(0.4 * np.cos(np.radians(hue + 35.0))),
    )
    fourth = C1**4
    f = np.sqrt(fourth / (fourth + 1900.0))
    sl = np.where(L1 < 16.0, 0.511, 0.040975 * L1 / (1.0 + 0.01765 * L1))
    sc = 0.0638 * C1 / (1.0 + 0.0131 * C1) + 0.638
    sh = sc * (f * t + 1.0 - f)
    square = (second - first) ** 2
    hue_square = np.maximum(square[:, 1] + square[:, 2] - (C2 - C1) ** 2, 0.0)
    return np.sqrt(square[:, 0] / (2.0 * sl) ** 2 + ((C2 - C1) / sc) ** 2 + hue_square / sh**2)
