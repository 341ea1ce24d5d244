"""From the patches of a chart to a correction, chosen and judged by leaving patches out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np

from patina.colour.chart_data import GREYS, PATCHES, ChartValues
from patina.colour.delta_e import de2000_pairs
from patina.colour.encode import lab_of, xyz_of
from patina.colour.models import (
    Task,
    colour_of,
    curves,
    gains,
    hue_rest,
    linear_terms,
    matrices,
    root_terms,
    smooth_rest,
)
from patina.errors import BadChart

Array = np.ndarray[Any, np.dtype[Any]]
Predict = Callable[[Array], Array]

MIN_PATCHES = 16
MIN_GREYS = 4
RIDGE_MATRIX = 0.02
RIDGE_ROOT = 0.005
RIDGE_HUE = 0.3
REACH = 40.0
NOISE = 0.1
WORTH_CHANGING = 0.95  # another method must do this much better than the usual one to replace it
NEAR = 20.0  # CIELAB distance over which the chart's own errors say something of an area's
COVERAGE = 1.61  # 95th percentile of a length in three directions over its root mean square


def _grey_balance(task: Task) -> Predict:
    gain = gains(task, np.broadcast_to(task.seen, (len(task.sets), PATCHES, 3)))
    return lambda light: colour_of(task, light * gain[:, None, :])


def _matrix(task: Task) -> Predict:
    maps = matrices(task, _all(task), linear_terms, RIDGE_MATRIX)
    return lambda light: colour_of(task, light @ maps)


def _root(task: Task) -> Predict:
    maps = matrices(task, _all(task), root_terms, RIDGE_ROOT)
    return lambda light: colour_of(task, root_terms(light) @ maps)


def _curve_root(task: Task) -> Predict:
    curve = curves(task)
    maps = matrices(task, curve(_all(task)), root_terms, RIDGE_ROOT)
    return lambda light: colour_of(task, root_terms(curve(light)) @ maps)


def _matrix_smooth(task: Task) -> Predict:
    first = _matrix(task)
    rest = smooth_rest(task, first(_all(task)), REACH, NOISE)
    return lambda light: rest(first(light))


def _curve_hue(task: Task) -> Predict:
    curve = curves(task)
    rest = hue_rest(task, colour_of(task, curve(_all(task))), RIDGE_HUE)
    return lambda light: rest(colour_of(task, curve(light)))


def _blend(task: Task) -> Predict:
    one, other = _matrix_smooth(task), _curve_hue(task)
    return lambda light: 0.5 * (one(light) + other(light))


def _all(task: Task) -> Array:
    return np.broadcast_to(task.seen, (len(task.sets), PATCHES, 3))


METHODS: dict[str, Callable[[Task], Predict]] = {
    "mean of 3×3 with smooth residual and grey-row curve with hue residual": _blend,
    "3×3 with smooth residual": _matrix_smooth,
    "grey-row curve with hue residual": _curve_hue,
    "grey curve, root-polynomial, ridge": _curve_root,
    "root-polynomial, ridge": _root,
    "3×3, ridge": _matrix,
    "grey balance": _grey_balance,
}


PLAIN = "3×3, ridge"


@dataclass(frozen=True, eq=False)
class Correction:
    """A fitted correction. method: a key of METHODS. loo_de00: honest error of each patch, NaN for
    one not used. misfit_de00: of each patch when all are used. residuals: CIELAB errors left out,
    shape (24, 3). by_method: mean leave-one-out error of every method.
    plain_misfit: mean error of the patches under a plain 3×3, which shows a wrong chart.
    """

    method: str
    loo_de00: Array
    misfit_de00: Array
    residuals: Array
    reference: Array
    by_method: dict[str, float]
    plain_misfit: float
    _predict: Predict

    def lab(self, light: Array) -> Array:
        """CIELAB (D50, 2 degrees) of linear light in the file's RGB, shape (n, 3) both."""
        return self._predict(light[None])[0]

    def xyz(self, light: Array) -> Array:
        """XYZ (D50, white Y = 1) of linear light, shape (n, 3) both."""
        return xyz_of(self.lab(light))

    def error_near(self, lab: Array) -> float:
        """Standard error (root mean square) in CIEDE2000 to expect at a colour: that of the chart's
        patches, the near ones counting most. lab: shape (3,).
        """
        used = np.isfinite(self.loo_de00)
        errors = self.loo_de00[used]
        distance = np.linalg.norm(self.reference[used] - lab, axis=1)
        weight = np.exp(-0.5 * (distance / NEAR) ** 2) + 0.05
        near = float(np.sqrt(np.sum(weight * errors**2) / weight.sum()))
        beyond = max(float(distance.min()) - 25.0, 0.0)
        return near * (1.0 + beyond / 25.0)


def left_out_errors(seen: Array, usable: Array, values: ChartValues, to_xyz: Array) -> Array:
    """Leave-one-out error of each patch under the usual method, CIEDE2000, NaN for one not usable.

    As ``fit_correction``, without choosing: quick, for deciding what to use. Raises BadChart likewise.
    """
    require_enough(usable)
    used = np.flatnonzero(usable)
    sets = np.array([_without(usable, int(patch)) for patch in used])
    wanted = xyz_of(values.lab) @ np.linalg.inv(to_xyz).T
    task = Task(seen, wanted, values.lab, to_xyz, sets)
    errors = _errors(_blend(task)(_all(task)), values.lab)
    found = np.full(PATCHES, np.nan)
    found[used] = errors[np.arange(len(used)), used]
    return found


def fit_correction(seen: Array, usable: Array, values: ChartValues, to_xyz: Array) -> Correction:
    """Fits every method, chooses one, and says how wrong it is.

    seen: linear light of the patches in the file's RGB, shape (24, 3). usable: which of them may be
    believed, shape (24,), bool. to_xyz: the file's RGB to XYZ (D50), shape (3, 3). The method is the
    one with the least leave-one-out error, the usual one unless another is clearly better; the error
    that is stated comes from choosing anew without each patch (nested leave-one-out).
    Raises BadChart for fewer than MIN_PATCHES patches or MIN_GREYS greys.
    """
    require_enough(usable)
    used = np.flatnonzero(usable)
    sets, pairs = _leave_out_sets(usable, used)
    wanted = xyz_of(values.lab) @ np.linalg.inv(to_xyz).T
    task = Task(seen, wanted, values.lab, to_xyz, sets)
    # Two patches left out are predicted from the same fit: errors[m][f, p] for fit f at patch p.
    predicted = {name: make(task)(_all(task)) for name, make in METHODS.items()}
    errors = {name: _errors(lab, values.lab) for name, lab in predicted.items()}
    alone = {name: error[1 + np.arange(len(used)), used] for name, error in errors.items()}
    method = _choose({name: float(error.mean()) for name, error in alone.items()})
    loo, residuals = np.full(PATCHES, np.nan), np.full((PATCHES, 3), np.nan)
    for place, patch in enumerate(used):
        others = [(fit, other) for fit, other in pairs[int(patch)]]
        fits, at = np.array([f for f, _ in others]), np.array([o for _, o in others])
        chosen = _choose({name: float(error[fits, at].mean()) for name, error in errors.items()})
        loo[patch] = errors[chosen][1 + place, patch]
        residuals[patch] = predicted[chosen][1 + place, patch] - values.lab[patch]
    whole = Task(seen, wanted, values.lab, to_xyz, usable[None])
    return Correction(
        method=method,
        loo_de00=loo,
        misfit_de00=np.where(usable, errors[method][0], np.nan),
        residuals=residuals,
        reference=values.lab,
        by_method={name: float(error.mean()) for name, error in alone.items()},
        plain_misfit=float(errors[PLAIN][0, used].mean()),
        _predict=METHODS[method](whole),
    )


def colour_strength(seen: Array, usable: Array, values: ChartValues, to_xyz: Array) -> float:
    """Chroma of the coloured patches after grey balance alone, as a share of the reference's (median).

    Cameras' pictures lie near 1; a pale chart, or a pale picture, lies below.
    """
    wanted = xyz_of(values.lab) @ np.linalg.inv(to_xyz).T
    task = Task(seen, wanted, values.lab, to_xyz, usable[None])
    lab = _grey_balance(task)(_all(task))[0]
    reference = np.hypot(values.lab[:, 1], values.lab[:, 2])
    coloured = usable & (reference > 20.0)
    return float(np.median(np.hypot(lab[coloured, 1], lab[coloured, 2]) / reference[coloured]))


def require_enough(usable: Array) -> None:
    """Raises BadChart where too few patches are left to correct from."""
    greys = int(usable[list(GREYS)].sum())
    if usable.sum() < MIN_PATCHES or greys < MIN_GREYS:
        raise BadChart(
            f"Only {int(usable.sum())} of the 24 patches can be used, {greys} of them greys.",
            "Expose so that white is not burnt out and black not lost, uncover the chart, and keep glare off it.",
        )


def _leave_out_sets(usable: Array, used: Array) -> tuple[Array, dict[int, list[tuple[int, int]]]]:
    """Sets of patches: all, all but one, all but two; and for each patch the fits (number, other
    patch) that left it and one other out.
    """
    sets = [usable]
    sets.extend(_without(usable, int(patch)) for patch in used)
    pairs: dict[int, list[tuple[int, int]]] = {int(patch): [] for patch in used}
    for one, other in combinations((int(patch) for patch in used), 2):
        pairs[one].append((len(sets), other))
        pairs[other].append((len(sets), one))
        sets.append(_without(usable, one, other))
    return np.array(sets), pairs


def _without(usable: Array, *patches: int) -> Array:
    rest = usable.copy()
    rest[list(patches)] = False
    return rest


def _errors(lab: Array, reference: Array) -> Array:
    rows = np.broadcast_to(reference, lab.shape).reshape(-1, 3)
    return de2000_pairs(rows, lab.reshape(-1, 3)).reshape(lab.shape[:2])


def _choose(means: dict[str, float]) -> str:
    usual = next(iter(METHODS))
    best = min(means, key=lambda name: means[name])
    return best if means[best] < WORTH_CHANGING * means[usual] else usual


__all__ = ["METHODS", "Correction", "fit_correction", "lab_of", "require_enough"]
