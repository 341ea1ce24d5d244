"""The condition map as a picture of its own, to be laid over the photograph, which is never touched.

SVG, as large as the photograph in pixels. Colour is never the only signal: zones carry numbers, the key names
them, active zones are hatched and suspect ones have a broken outline.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from patina.conservation.condition import MapShares
from patina.conservation.polygons import Polygon
from patina.conservation.record import Kept
from patina.conservation.values import ConditionMap, Patch, Zone
from patina.conservation.vocabulary import terms

# by group of term: colours that people with colour blindness tell apart. Source: [OKABE_ITO]
_COLOURS = {"corrosion": "#009e73", "coating": "#0072b2", "surface": "#e69f00", "structure": "#d55e00"}


def overlay_svg(
    map: Kept[ConditionMap],
    zones: Sequence[Kept[Zone]],
    shares: MapShares,
    size_px: tuple[int, int],
    *,
    patches: Sequence[Kept[Patch]] = (),
    photograph: str = "",
) -> str:
    """The map as SVG text. size_px: of the photograph. photograph: a data URL to lay beneath, empty for none."""
    width, height = size_px
    unit = max(width, height) / 100.0
    here = [z for z in zones if z.value.map == map.id]
    marks = [p for p in patches if p.value.map == map.id and p.value.spot is not None]
    key_lines = [_key_line(n, zone, shares) for n, zone in enumerate(here, 1)]
    key_lines += [f"{_letter(n)}  test patch {_patch_words(p)}" for n, p in enumerate(marks)]
    bottom = (len(key_lines) + 2) * 2.2 * unit
    title = f"{map.id} {map.value.view}, {map.value.visit}" + (f", {map.value.seen_on}" if map.value.seen_on else "")
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height + bottom:.0f}" role="img">',
        f"<title>{escape(title)}</title>",
        '<defs><pattern id="active" width="8" height="8" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate(45) scale({unit / 6:.3f})">'
        '<rect width="8" height="8" fill="#ffffff" fill-opacity="0.25"/>'
        '<line x1="0" y1="0" x2="0" y2="8" stroke="#000000" stroke-width="2"/></pattern></defs>',
    ]
    if photograph:
        parts.append(f'<image href="{photograph}" width="{width}" height="{height}"/>')
    for outline in map.value.outline:
        parts.append(_shape(outline, size_px, "none", "#ffffff", unit * 0.25, "4 3", unit))
    for n, zone in enumerate(here, 1):
        parts += _zone(n, zone, size_px, unit)
    for n, p in enumerate(marks):
        assert p.value.spot is not None
        x, y = p.value.spot[0] * width, p.value.spot[1] * height
        parts.append(
            f'<rect x="{x - unit:.1f}" y="{y - unit:.1f}" width="{2 * unit:.1f}" height="{2 * unit:.1f}" '
            f'fill="none" stroke="#cc79a7" stroke-width="{unit * 0.4:.1f}"/>'
        )
        parts.append(_label(_letter(n), x - 0.5 * unit, y + 0.6 * unit, unit * 0.8))
    parts.append(f'<rect x="0" y="{height}" width="{width}" height="{bottom:.0f}" fill="#ffffff"/>')
    style = f'font-family="sans-serif" font-size="{1.45 * unit:.1f}" fill="#000000"'
    for n, line in enumerate([title, *key_lines]):
        weight = ' font-weight="bold"' if n == 0 else ""
        parts.append(
            f'<text x="{unit:.1f}" y="{height + (n + 1) * 2.2 * unit:.1f}" {style}{weight}>{escape(line)}</text>'
        )
    return "\n".join([*parts, "</svg>"]) + "\n"


def _letter(n: int) -> str:
    """a to z, then a2 and so on."""
    return "abcdefghijklmnopqrstuvwxyz"[n % 26] + (str(n // 26 + 1) if n > 25 else "")


def _patch_words(patch: Kept[Patch]) -> str:
    said = patch.value
    size = [] if said.strength is None else [f"{said.strength:g} {said.strength_unit}".strip()]
    size += [] if said.dwell_min is None else [f"{said.dwell_min:g} min"]
    effect = [f"effect {said.effect}"] if said.effect else []
    harm = [f"harm {said.harm}"] if said.harm else []
    return ", ".join([f"{patch.id}: {said.agent}", *size, *effect, *harm])


def _key_line(n: int, zone: Kept[Zone], shares: MapShares) -> str:
    said = zone.value
    share = shares.zones.get(zone.id)
    size = "" if share is None or share.pct is None else f"{share.pct:.1f} % of the {shares.of}"
    words = [
        said.name,
        terms()[said.term].name if said.term in terms() else said.term,
        "" if said.severity is None else f"severity {said.severity}",
        said.activity,
        said.adhesion,
        f"water beads: {said.bead}" if said.bead else "",
        size or (f"extent {said.extent} %" if said.extent else ""),
    ]
    return f"{n}  " + ", ".join(word for word in words if word)


def _zone(n: int, zone: Kept[Zone], size_px: tuple[int, int], unit: float) -> list[str]:
    term = terms().get(zone.value.term)
    colour = _COLOURS.get(term.group if term else "", "#000000")
    dash = "2 2" if zone.value.activity == "suspect" else ""
    parts = []
    for polygon in zone.value.polygons:
        fill = f"{colour}" if zone.value.activity != "active" else "url(#active)"
        parts.append(_shape(polygon, size_px, fill, colour, unit * 0.35, dash, unit))
        x = sum(p[0] for p in polygon) / len(polygon) * size_px[0]
        y = sum(p[1] for p in polygon) / len(polygon) * size_px[1]
        parts.append(_label(str(n), x, y, unit))
    return parts


def _shape(
    polygon: Polygon, size_px: tuple[int, int], fill: str, stroke: str, wide: float, dash: str, unit: float
) -> str:
    points = " ".join(f"{x * size_px[0]:.1f},{y * size_px[1]:.1f}" for x, y in polygon)
    broken = f' stroke-dasharray="{" ".join(f"{float(d) * unit / 3:.1f}" for d in dash.split())}"' if dash else ""
    opacity = ' fill-opacity="0.3"' if fill.startswith("#") else ""
    return f'<polygon points="{points}" fill="{fill}"{opacity} stroke="{stroke}" stroke-width="{wide:.1f}"{broken}/>'


def _label(words: str, x: float, y: float, unit: float) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-family="sans-serif" font-size="{2 * unit:.1f}" font-weight="bold" '
        f'fill="#000000" stroke="#ffffff" stroke-width="{unit * 0.5:.1f}" paint-order="stroke">{escape(words)}</text>'
    )
