"""Correction by a plain white or grey card, or by a row of neutral steps: grey and lightness only.

Such a card shows how much light there is, of what tint, and what the camera's tone curve does; it
shows nothing of how the camera sees colours. Source: [MEASURED77]
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from patina.colour.calibration import Calibration
from patina.colour.card_finding import find_card, given_card, steps_at
from patina.colour.card_values import CardValues, card_values
from patina.colour.correction import COVERAGE
from patina.colour.delta_e import de2000_pairs
from patina.colour.encode import lab_of
from patina.colour.flat import frame_field
from patina.colour.models import tone_curve
from patina.colour.patches import CLIPPED_SHARE, clip_slack
from patina.colour.photograph import Photo, open_photo
from patina.colour.values import Caution, ChartFinding, Point
from patina.errors import BadChart

Array = np.ndarray[Any, np.dtype[Any]]

# What a curve through six greys leaves on 24-patch charts in fair light [MEASURED77]: 4.0 on average in the
# median photograph, 4.6 over all; 95 % of patches lie between the 90th percentile (7.5) and the largest (9.4),
# and as much higher over all. Balance by one light card does worse than by six greys (4.6), since the tone
# curve stays: on the nine real photographs of tests/photographs 6.0 on average, 13.1 for 95 % of patches.
MEAN_DE00 = {"white-card": 6.0, "step-card": 4.6}
EXPANDED_DE00 = {"white-card": 14.0, "step-card": 10.0}
WHITER = 1.3  # of a perfect white, beyond what uneven light and brightened paper show
STRONG_CAST = 0.3  # of the mean of the channels
UNEVEN_STEP = 0.20  # spread of light inside a step, as a share, beyond what print and noise have
MIN_STEPS = 3
METHODS = {
    "white-card": "grey balance by a plain card",
    "step-card": "grey balance and tone curve by {count} neutral steps",
}


@dataclass(frozen=True, eq=False)
class CardFit:
    """A correction by greys alone. to_light: from seen to true linear light in the file's RGB, shape
    (n, 3) both. to_xyz: file RGB to XYZ, shape (3, 3). error_de00: standard error of any colour.
    """

    to_light: Callable[[Array], Array]
    to_xyz: Array
    error_de00: float

    def lab(self, light: Array) -> Array:
        """CIELAB (D50, 2 degrees) of linear light in the file's RGB, shape (n, 3) both."""
        return lab_of(np.maximum(self.to_light(light) @ self.to_xyz.T, 0.0))

    def error_near(self, lab: Array) -> float:
        """Standard error in CIEDE2000, the same for every colour: greys tell nothing of single ones."""
        return self.error_de00


def calibrate_card(
    photo: Photo, card: CardValues, corners: Sequence[Point] | None = None, flat_frame: Any = None
) -> Calibration:
    """Finds and measures the card and fits grey balance, and for steps the tone curve.

    corners: outer corners of the card, the first at its first step's outer end, the second at its
    last step's on the same long side. flat_frame: path of a photograph of plain card in the same light.
    Raises NoChart, BadChart, BadPhotograph.
    """
    found = find_card(photo, card) if corners is None else given_card(photo, card, corners)
    seen, rejected = _measured(photo, found, card)
    flat = None
    if flat_frame is not None:
        flat = frame_field(photo, open_photo(flat_frame), found)
        middles = steps_at(found, card.count, 0.2, 2).mean(axis=1)
        seen = seen / flat.at(middles)[:, None]
    used = np.ones(card.count, dtype=bool)
    used[[number - 1 for number, _ in rejected]] = False
    _require(card, used, rejected)
    wanted = card.xyz @ np.linalg.inv(photo.profile.matrix).T
    _refuse_disorder(seen[used], wanted[used])
    fit = CardFit(
        _to_light(card.kind, seen[used], wanted[used]), photo.profile.matrix, EXPANDED_DE00[card.kind] / COVERAGE
    )
    misfit = de2000_pairs(lab_of(card.xyz[used]), fit.lab(seen[used])) if card.kind == "step-card" else None
    (a, b, c, d) = ((float(x), float(y)) for x, y in found)
    finding = ChartFinding(
        found=True,
        corners=(a, b, c, d),
        edition="own values",
        method=METHODS[card.kind].format(count=int(used.sum())),
        misfit_de00=None if misfit is None else float(misfit.mean()),
        rejected=rejected,
        flat_field="none" if flat is None else "flat frame",
        kind=card.kind.replace("-", " "),
    )
    said = (*_cautions(card, rejected, by_hand=corners is not None), *_doubtful(photo, fit, seen[used], card.xyz[used]))
    return Calibration(finding, fit, flat, found, said, 0.0)


def _measured(photo: Photo, corners: Array, card: CardValues) -> tuple[Array, tuple[tuple[int, str], ...]]:
    """Mean linear light of the steps, shape (n, 3), and those that cannot be believed, with the reason."""
    points = np.rint(steps_at(corners, card.count, 0.22, 24)).astype(int)
    points = np.clip(points, 0, [photo.width - 1, photo.height - 1])
    low, high = points.min(axis=(0, 1)), points.max(axis=(0, 1)) + 1
    box = photo.codes(int(low[0]), int(low[1]), int(high[0]), int(high[1]))
    codes = box[points[..., 1] - low[1], points[..., 0] - low[0]]
    light = photo.linear(codes).astype(np.float64)
    level = np.maximum(light.mean(axis=(1, 2)), 1e-4)
    noise = light.std(axis=1).mean(axis=1) / level
    slack = clip_slack(photo)
    rejected = []
    for k in range(card.count):
        if np.mean((codes[k] >= photo.full_scale - slack).any(axis=1)) >= CLIPPED_SHARE:
            rejected.append((k + 1, "burnt out"))
        elif np.mean((codes[k] <= slack).any(axis=1)) >= CLIPPED_SHARE:
            rejected.append((k + 1, "lost in black"))
        elif noise[k] > max(UNEVEN_STEP, 4.0 * float(np.median(noise))):
            rejected.append((k + 1, "covered or uneven"))
    return light.mean(axis=1), tuple(rejected)


def _require(card: CardValues, used: Array, rejected: tuple[tuple[int, str], ...]) -> None:
    if card.kind == "white-card" and rejected:
        raise BadChart(
            f"The card cannot be used: it is {rejected[0][1]}.", "Expose so that it is not burnt out; keep it clean."
        )
    if card.kind == "step-card" and used.sum() < MIN_STEPS:
        raise BadChart(
            f"Only {int(used.sum())} of the {card.count} steps can be used.",
            "Expose so that the lightest step is not burnt out and the darkest not lost, and keep glare off the card.",
        )


def _refuse_disorder(seen: Array, wanted: Array) -> None:
    """Raises BadChart where the steps' light does not run as their reflectances do."""
    rises = np.diff(seen.mean(axis=1)) * np.diff(wanted.mean(axis=1))
    if np.any(rises <= 0):
        raise BadChart(
            "The steps' light does not run as their reflectances do.",
            "Give the first corner at the table's first step and the second at its last; keep glare off the card.",
        )


def _to_light(kind: str, seen: Array, wanted: Array) -> Callable[[Array], Array]:
    if kind == "step-card":
        return tone_curve(seen, wanted)
    gain = wanted[0] / np.maximum(seen[0], 1e-5)
    return lambda light: light * gain


def _doubtful(photo: Photo, fit: CardFit, seen: Array, xyz: Array) -> Iterator[Caution]:
    """Signs that what was measured is no such card: other things come out whiter than white, or it is coloured."""
    codes, _ = photo.reduced(400)
    light = fit.to_light(photo.map_light(codes).reshape(-1, 3).astype(np.float64)) @ fit.to_xyz[1]
    beyond = 100.0 * float(np.mean(light > WHITER))
    if beyond > 2.0:
        yield Caution(
            "card-too-dark",
            f"By this card {beyond:.0f} % of the picture would throw back more light than it gets: the card lies in "
            "shade, its corners are wrong, or it reflects less than was said.",
            beyond,
            "Check corners and reflectance; lay the card in the same light as the surface.",
        )
    lightest = seen[int(np.argmax(xyz[:, 1]))]
    cast = float(np.abs(lightest / lightest.mean() - 1.0).max())
    if cast > STRONG_CAST:
        yield Caution(
            "card-tinted",
            f"The card looks coloured in the file, by {100 * cast:.0f} %: the light is far from the camera's setting, "
            "or this is no neutral card.",
            cast,
            "Set the camera's white balance to the light; check the card's corners.",
        )


def _cautions(card: CardValues, rejected: tuple[tuple[int, str], ...], *, by_hand: bool) -> tuple[Caution, ...]:
    mean, most = MEAN_DE00[card.kind], EXPANDED_DE00[card.kind]
    what = "Grey balance" if card.kind == "white-card" else "Grey balance and a curve through greys"
    said = [
        Caution(
            "no-chart-colours",
            f"The card shows no colours: only grey and lightness are corrected. {what} leaves {mean:.1f} CIEDE2000 on "
            f"average, and up to {most:.0f} for single colours.",
            mean,
            "Lay a 24-patch chart beside the surface where colours are to be compared with other photographs.",
        )
    ]
    if not by_hand:
        taken = "The one even light rectangle" if card.kind == "white-card" else f"A row of {card.count} grey steps"
        said.append(
            Caution(
                "card-found",
                f"{taken} in the picture was taken for the card.",
                None,
                "Check its corners, or give them.",
            )
        )
    for reason, code in (("burnt out", "clipped"), ("lost in black", "crushed"), ("covered or uneven", "covered")):
        numbers = [number for number, why in rejected if why == reason]
        if numbers:
            said.append(
                Caution(
                    code,
                    f"Left out because {reason}: step {', '.join(map(str, numbers))}.",
                    float(len(numbers)),
                    "Expose less." if code == "clipped" else "Expose more." if code == "crushed" else "Clean the card.",
                )
            )
    return tuple(said)


__all__ = ["CardFit", "calibrate_card", "card_values"]
