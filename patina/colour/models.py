"""Ways from a camera's linear light to colour, each fitted for many sets of patches at once.

A model is three stages: a tone curve through the greys (or none), a linear map with ridge towards
grey balance, and a smooth correction of what is left (or none). Fitting all leave-out sets in one
go is what makes choosing by nested leave-one-out affordable.
Source: [FINLAYSON2015] [RASMUSSEN2006]
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from patina.colour.chart_data import GREYS
from patina.colour.encode import lab_of

Array = np.ndarray[Any, np.dtype[Any]]

DARKEST = 1e-5  # linear light below which a logarithm says nothing
SLOPES = (0.5, 2.5)  # what a tone curve may do beyond the greys, log against log


@dataclass(frozen=True, eq=False)
class Task:
    """What is to be learnt. seen: linear light of the 24 patches in the file's RGB, shape (24, 3).
    wanted: the same for the reference. lab: the reference, shape (24, 3). to_xyz: file RGB to XYZ,
    shape (3, 3). sets: which patches each fit may use, shape (fits, 24), bool.
    """

    seen: Array
    wanted: Array
    lab: Array
    to_xyz: Array
    sets: Array


def curves(task: Task) -> Callable[[Array], Array]:
    """Monotone curve per channel through the greys, log against log, for every set.

    Returns a function from light, shape (fits, n, 3), to light of the same shape.
    """
    greys = np.array(GREYS)
    use = task.sets[:, greys]
    kinds, which = np.unique(use, axis=0, return_inverse=True)
    knots = [[_knots(task, greys[kind], channel) for channel in range(3)] for kind in kinds]

    def apply(light: Array) -> Array:
        logs = np.log(np.maximum(light, DARKEST))
        result = np.empty_like(logs)
        for number in range(len(kinds)):
            rows = which.reshape(-1) == number
            for channel in range(3):
                result[rows, :, channel] = _follow(*knots[number][channel], logs[rows, :, channel])
        return np.exp(result)

    return apply


def tone_curve(seen: Array, wanted: Array) -> Callable[[Array], Array]:
    """Monotone curve per channel through some steps, log against log. seen, wanted: linear light of the
    steps, shape (n, 3). Returns a function from light, shape (m, 3), to light of the same shape.
    """
    steps = np.arange(len(seen))
    task = Task(seen, wanted, wanted, np.eye(3), np.ones((1, len(seen)), dtype=bool))
    knots = [_knots(task, steps, channel) for channel in range(3)]

    def apply(light: Array) -> Array:
        logs = np.log(np.maximum(light, DARKEST))
        return np.exp(np.stack([_follow(*knots[c], logs[..., c]) for c in range(3)], axis=-1))

    return apply


def _knots(task: Task, greys: Array, channel: int) -> tuple[Array, Array, Array]:
    """Points of a channel's curve and the slope at each, log against log."""
    x = np.log(np.maximum(task.seen[greys, channel], DARKEST))
    y = np.log(np.maximum(task.wanted[greys, channel], DARKEST))
    order = np.argsort(x)
    x, y = x[order], np.maximum.accumulate(y[order])
    x = x + 1e-6 * np.arange(len(x))
    if len(x) == 1:
        return x, y, np.ones(1)
    steps = np.diff(x)
    rises = np.clip(np.diff(y) / np.maximum(steps, 1e-4), 0.0, 6.0)
    slopes = np.concatenate([rises[:1], np.zeros(len(x) - 2), rises[-1:]])
    if len(x) > 2:  # harmonic means keep the curve monotone (Fritsch, Carlson 1980)
        w1, w2 = 2 * steps[1:] + steps[:-1], steps[1:] + 2 * steps[:-1]
        low = np.maximum(rises, 1e-9)
        slopes[1:-1] = (w1 + w2) / (w1 / low[:-1] + w2 / low[1:])
    return x, y, slopes


def _follow(x: Array, y: Array, slopes: Array, at: Array) -> Array:
    """Cubic pieces between the knots, straight lines beyond them."""
    if len(x) == 1:
        return at - x[0] + y[0]
    inside = np.clip(at, x[0], x[-1])
    i = np.clip(np.searchsorted(x, inside) - 1, 0, len(x) - 2)
    h = x[i + 1] - x[i]
    t = (inside - x[i]) / h
    u = 1.0 - t
    value = (1 + 2 * t) * u * u * y[i] + t * t * (3 - 2 * t) * y[i + 1]
    value += h * t * u * (u * slopes[i] - t * slopes[i + 1])
    below = np.minimum(at - x[0], 0.0) * np.clip(slopes[0], *SLOPES)
    above = np.maximum(at - x[-1], 0.0) * np.clip(slopes[-1], *SLOPES)
    return value + below + above


def linear_terms(light: Array) -> Array:
    """Red, green, blue as they are."""
    return light


def root_terms(light: Array) -> Array:
    """Root-polynomial of degree 2: shape (..., 6). Keeps to exposure. Source: [FINLAYSON2015]"""
    held = np.maximum(light, 0.0)
    r, g, b = held[..., 0], held[..., 1], held[..., 2]
    return np.stack([light[..., 0], light[..., 1], light[..., 2], np.sqrt(r * g), np.sqrt(g * b), np.sqrt(r * b)], -1)


def light_weights(task: Task) -> Array:
    """Weight of each patch in each fit, so that errors count about as they do in CIELAB: (fits, 24)."""
    size = 1.0 / np.maximum(task.wanted[:, 1], 0.003) ** (2.0 / 3.0)
    return task.sets * size


def gains(task: Task, light: Array) -> Array:
    """Grey balance of every fit, shape (fits, 3), from the greys it may use (all patches if none)."""
    weight = light_weights(task) ** 2
    greys = np.zeros(24, dtype=bool)
    greys[list(GREYS)] = True
    some: Array = np.any(task.sets & greys, axis=1)
    weight = np.where(some[:, None], weight * greys, weight)
    above = np.einsum("fp,fpc->fc", weight, light * task.wanted)
    return above / np.maximum(np.einsum("fp,fpc->fc", weight, light**2), 1e-12)


def matrices(task: Task, light: Array, terms: Callable[[Array], Array], ridge: float) -> Array:
    """Maps of every fit, shape (fits, terms, 3), drawn towards grey balance by ``ridge``.

    light: shape (fits, 24, 3). ridge: share of the mean strength of the terms.
    """
    features = terms(light)
    count = features.shape[2]
    start = np.zeros((len(light), count, 3))
    start[:, (0, 1, 2), (0, 1, 2)] = gains(task, light)
    weighted = features * light_weights(task)[..., None]
    square = np.einsum("fpi,fpj->fij", weighted, weighted)
    strength = np.einsum("fii->f", square) / count
    square += ridge * strength[:, None, None] * np.eye(count)
    rest = (task.wanted - features @ start) * light_weights(task)[..., None]
    return start + np.linalg.solve(square, np.einsum("fpi,fpc->fic", weighted, rest))


def colour_of(task: Task, light: Array) -> Array:
    """CIELAB of corrected light in the file's RGB; light below nothing counts as none."""
    return lab_of(np.maximum(light @ task.to_xyz.T, 0.0))


def chroma_weights(task: Task) -> Array:
    """How little a difference in CIELAB shows at each patch's chroma, shape (24,), 1 for greys."""
    return 1.0 + 0.045 * np.hypot(task.lab[:, 1], task.lab[:, 2])


def smooth_rest(task: Task, lab: Array, reach: float, noise: float) -> Callable[[Array], Array]:
    """What is left of the error as a smooth field over CIELAB (Gaussian process).

    lab: what the earlier stages give for the patches, shape (fits, 24, 3). reach: distance in
    CIELAB over which an error carries. noise: share of the error that is not believed. Returns a
    function that corrects colours of shape (fits, n, 3). Source: [RASMUSSEN2006]
    """
    scale = chroma_weights(task)
    doubt = noise * scale**2 / np.mean(scale) ** 2
    kernel = _kernel(lab, lab, reach)
    doubt_of = np.where(task.sets, doubt, 1e9)
    kernel[:, np.arange(24), np.arange(24)] += doubt_of
    strength = np.linalg.solve(kernel, np.where(task.sets[..., None], task.lab - lab, 0.0))

    def apply(colours: Array) -> Array:
        return colours + _kernel(colours, lab, reach) @ strength

    return apply


def _kernel(first: Array, second: Array, reach: float) -> Array:
    square = (first**2).sum(-1)[:, :, None] + (second**2).sum(-1)[:, None, :]
    square -= 2.0 * first @ np.swapaxes(second, 1, 2)
    return np.exp(np.maximum(square, 0.0) / (-2.0 * reach**2))


def hue_rest(task: Task, lab: Array, ridge: float) -> Callable[[Array], Array]:
    """What is left of the error as stretch and turn of a*, b*, depending on hue, chroma and L*.

    Greys stay as they are: the tone curve before has put them right. lab: shape (fits, 24, 3).
    Returns a function that corrects colours of shape (fits, n, 3).
    """
    size = np.sqrt(np.mean(_hue_terms(task.lab) ** 2, axis=0))
    features = _hue_terms(lab) / size
    weight = (task.sets / chroma_weights(task))[..., None]
    weighted = features * weight
    square = np.einsum("fpi,fpj->fij", weighted, weighted)
    strength = np.einsum("fii->f", square) / features.shape[2]
    square += ridge * strength[:, None, None] * np.eye(features.shape[2])
    solved = np.linalg.solve(square, np.einsum("fpi,fpc->fic", weighted, (task.lab - lab) * weight))

    def apply(colours: Array) -> Array:
        return colours + (_hue_terms(colours) / size) @ solved

    return apply


def _hue_terms(lab: Array) -> Array:
    L, a, b = lab[..., 0], lab[..., 1], lab[..., 2]
    chroma = np.hypot(a, b)
    lightness = (L - 50.0) / 50.0
    fold = chroma + 1.0
    return np.stack(
        [
            a,
            b,
            a * lightness,
            b * lightness,
            chroma,
            (a * a - b * b) / fold,
            2 * a * b / fold,
            a * chroma / 50.0,
            b * chroma / 50.0,
        ],
        axis=-1,
    )
