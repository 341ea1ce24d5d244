"""A report as one HTML file: nothing is fetched from anywhere, it prints, and reads well without its styles."""

from __future__ import annotations

import base64
import re
from collections.abc import Callable
from functools import cache
from html import escape
from importlib.resources import files
from typing import Any

from patina.language import shown
from patina.reports import document as d
from patina.reports import figures
from patina.reports.pictograms import SHOWS, pictogram_path
from patina.reports.publish import notes_of, overlay_alt, overlay_svg, scale_bar
from patina.reports.typeset import qr_svg

POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
NO_READING = "no reading"
_HEX = re.compile(r"#[0-9a-fA-F]{6}")


def html_of(report: d.Document) -> str:
    """The whole page. Texts are escaped; pictures, drawings and styles lie within it."""
    title = f"{report.kind}: {report.title}"
    footer = report.footer or figures.day(report.made_on)
    style = _style().replace("$footer", _css(footer)).replace("$record", _css(report.record))
    return "\n".join(
        [
            "<!DOCTYPE html>",
            f'<html lang="{escape(report.language)}">',
            "<head>",
            '<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{escape(title)}</title>",
            f"<style>\n{style}</style>",
            "</head>",
            "<body>",
            _header(report),
            "<main>",
            *(_block(block) for block in report.blocks),
            "</main>",
            f"<footer><span>{escape(footer)}</span> <span>{escape(report.record)}</span></footer>",
            "</body>",
            "</html>",
            "",
        ]
    )


@cache
def _style() -> str:
    return files("patina").joinpath("reports", "templates", "document.css").read_text("utf-8")


def _css(words: str) -> str:
    """Words within a string of a style sheet; what could end it is written by its number."""
    return "".join(c if c.isalnum() or c in " .,:-_/·" else f"\\{ord(c):x} " for c in words)


def _header(report: d.Document) -> str:
    subtitle = f'<p class="large">{escape(report.subtitle)}</p>' if report.subtitle else ""
    qr = ""
    if report.qr:
        code = _image(qr_svg(*report.qr).encode("utf-8"), "svg+xml", shown("QR code of this record"))
        qr = f'<div class="record">{code} <p class="record">{escape(report.record)}</p></div>'
    head = (
        f'<header><div><p class="kind">{escape(report.kind)}</p><h1>{escape(report.title)}</h1>{subtitle}</div>'
        f"{qr}</header>"
    )
    big = " big" if report.large_facts else ""
    columns = len(report.facts) if report.large_facts else 4
    return head + (_facts_list(report.facts, columns, big) if report.facts else "")


def _facts_list(items: tuple[tuple[str, str], ...], columns: int, big: str = "") -> str:
    pairs = "".join(f"<div><dt>{escape(name)}</dt><dd>{escape(value)}</dd></div>" for name, value in items)
    return f'<dl class="facts{big}" style="--n:{max(1, min(columns, len(items)))}">{pairs}</dl>'


def _image(content: bytes, kind: str, alt: str, css: str = "") -> str:
    data = base64.b64encode(content).decode("ascii")
    of_class = f' class="{css}"' if css else ""
    return f'<img{of_class} alt="{escape(alt)}" src="data:image/{kind};base64,{data}">'


def _heading(b: d.Heading) -> str:
    return f"<h{b.level}>{escape(b.text)}</h{b.level}>"


def _paragraph(b: d.Paragraph) -> str:
    lead = f"<strong>{escape(b.lead)}</strong> " if b.lead else ""
    words = f"<strong>{escape(b.text)}</strong>" if b.strong else escape(b.text)
    of_class = "" if b.size == "normal" else f' class="{b.size}"'
    return f"<p{of_class}>{lead}{words}</p>"


def _caution(b: d.Caution) -> str:
    css = "caution-strong" if b.level == "caution" else b.level
    word = f'<span class="word">{escape(shown(b.level))}</span> ' if b.level in ("critical", "serious") else ""
    lead = f"<strong>{escape(b.lead)}</strong> " if b.lead else ""
    do = f" <strong>{escape(b.do)}</strong>" if b.do else ""
    return f'<div class="caution {css}" role="note">{word}{lead}{escape(b.text)}{do}</div>'


def _facts(b: d.Facts) -> str:
    return _facts_list(b.items, b.columns)


def _items(b: d.Items) -> str:
    tag = "ol" if b.kind == "numbered" else "ul"
    tick = "" if b.kind == "plain" else '<span class="tick"></span> '
    lines = "".join(f"<li>{tick}{escape(item)}</li>" for item in b.items)
    return f'<{tag} class="{"plain" if b.kind == "plain" else "ticks"}">{lines}</{tag}>'


def _table(b: d.Table) -> str:
    caption = f"<caption>{escape(b.caption)}</caption>" if b.caption else ""
    heads = "".join(
        f'<th scope="col" class="{c.align}"' + (f' aria-label="{escape(c.name)}"' if c.name else "") + ">"
        f"{escape(c.head or '')}</th>"
        for c in b.columns
    )
    rows = "".join(
        "<tr>"
        + "".join(f'<td class="{c.align}">{_cell(x)}</td>' for c, x in zip(b.columns, row, strict=True))
        + "</tr>"
        for row in b.rows
    )
    of_class = ' class="big"' if b.large else ""
    widths = "".join(f'<col style="width:{c.width}">' if c.width.endswith("mm") else "<col>" for c in b.columns)
    head = f"<colgroup>{widths}</colgroup><thead><tr>{heads}</tr></thead>"
    return f"<table{of_class}>{caption}{head}<tbody>{rows}</tbody></table>"


def _cell(c: d.Cell) -> str:
    parts = []
    if c.tick:
        parts.append('<span class="tick"></span>')
    if c.figure:
        parts.append(f'<span class="figure">{escape(c.figure)}</span>')
    if c.swatch is not None:
        parts.append(_colour(c.swatch or None, "chip"))
    parts += [_pictogram(code, "9mm") for code in c.pictograms]
    if c.strong or c.text:
        strong = f"<strong>{escape(c.strong)}</strong> " if c.strong else ""
        parts.append(f'<span class="line">{strong}{escape(c.text)}</span>')
    parts += [f'<span class="line small">{escape(line)}</span>' for line in c.small]
    if c.foot:
        parts.append(f'<span class="line small"><strong>{escape(c.foot)}</strong></span>')
    if c.blank_mm:
        parts.append(f'<span class="write" style="width:{c.blank_mm:g}mm"></span>')
    return " ".join(parts)


def _colour(hex: str | None, css: str) -> str:
    if hex is None or not _HEX.fullmatch(hex):
        return f'<span class="{css} none">{escape(shown(NO_READING))}</span>'
    return f'<span class="{css}" style="background:{hex}"></span>'


def _swatches(b: d.Swatches) -> str:
    return f'<div class="swatches">{"".join(_swatch(s) for s in b.items)}</div>'


def _swatch(s: d.Swatch) -> str:
    near = "" if s.exact else '<p class="small">A screen can only come near this colour.</p>'
    more = f"<p>{escape(s.more)}</p>" if s.more else ""
    tones = ""
    if s.tones:
        bar = "".join(
            f'<span style="flex:{max(t.share, 0.02):.3f};background:{t.hex}"></span>'
            for t in s.tones
            if _HEX.fullmatch(t.hex)
        )
        tones = f'<div class="tones">{bar}</div><p>{escape(", ".join(t.words for t in s.tones))}</p>'
    return (
        f'<div><div class="name">{escape(s.name)}</div>{_colour(s.hex, "block")}'
        f'<p class="figure">{escape(s.figures)}</p>{tones}{more}{near}</div>'
    )


def _photographs(b: d.Photographs) -> str:
    return f'<div class="photos" style="--n:{b.columns}">{"".join(_photo(p) for p in b.items)}</div>'


def _photo(p: d.Photo) -> str:
    image = _image(p.content, "png" if p.suffix == ".png" else "jpeg", p.alt or p.caption)
    over = overlay_svg(p)
    if over:
        image = (
            f'<div class="on">{image}{_image(over.encode("utf-8"), "svg+xml", overlay_alt(p.outlines), "over")}</div>'
        )
    bar, scale = scale_bar(p), ""
    if bar is not None:
        words = escape(shown(f"scale: {figures.plain(bar[0], 0)}{figures.THIN}mm"))
        drawn = f'<span class="bar" style="width:{100 * bar[1]:.2f}%"></span>'
        scale = f'<div class="scale">{drawn} {words}</div>'
    notes = notes_of(p)
    small = f' <span class="small">{escape(notes)}</span>' if notes else ""
    return f"<figure>{image}{scale}<figcaption><strong>{escape(p.caption)}</strong>{small}</figcaption></figure>"


def _chart(b: d.Chart) -> str:
    image = _image(b.svg.encode("utf-8"), "svg+xml", b.alt)
    return f'<figure class="chart">{image}<figcaption>{escape(b.caption)}</figcaption></figure>'


def _band(b: d.Band) -> str:
    return f'<div class="band"><h2>{escape(b.text)}</h2> <span>{escape(b.right)}</span></div>'


def _pictogram(code: str, side: str) -> str:
    if code not in SHOWS:
        return escape(code)
    image = _image(pictogram_path(code).read_bytes(), "svg+xml", f"{code}: {SHOWS[code]}", "picto")
    return image.replace("<img ", f'<img style="--s:{side}" ', 1)


def _marks(b: d.Marks) -> str:
    drawn = "".join(_pictogram(code, f"{b.side_mm * 1.3:.0f}mm") for code in b.pictograms)
    signal = f'<span class="signal">{escape(b.signal)}</span>' if b.signal else ""
    text = f"<p>{escape(b.text)}</p>" if b.text else ""
    strong = f"<p><strong>{escape(b.strong)}</strong></p>" if b.strong else ""
    if b.name:
        drawn = f"<div>{drawn}</div>" if drawn else ""
        return f'<div class="marks">{drawn}<div><h3>{escape(b.name)}</h3> {signal}{text}{strong}</div></div>'
    return f'<div class="marks spread"><div>{text}{strong}</div><div>{drawn} {signal}</div></div>'


def _blanks(b: d.Blanks) -> str:
    lines = "".join(
        f'<span>{escape(w)} <span class="write" style="width:{mm:g}mm"></span></span> ' for w, mm in b.fields
    )
    return f'<div class="blanks">{lines}</div>'


def _signatures(b: d.Signatures) -> str:
    lines = "".join(
        f'<div><div class="written">{escape(", ".join(w for w in (name, on) if w))}</div>'
        f'<div class="small">{escape(role)}</div></div>'
        for role, name, on in b.lines
    )
    return f'<div class="signatures">{lines}</div>'


def _group(b: d.Group) -> str:
    return f'<div class="keep">{"".join(_block(x) for x in b.blocks)}</div>'


def _beside(b: d.Beside) -> str:
    shares = " ".join(f"{s:g}fr" for s in (b.shares or (1.0,) * len(b.columns)))
    columns = "".join(f"<div>{''.join(_block(x) for x in column)}</div>" for column in b.columns)
    return f'<div class="beside" style="grid-template-columns:{shares}">{columns}</div>'


def _page_break(_: d.PageBreak) -> str:
    return '<hr class="new-page">'


_WRITERS: dict[type, Callable[[Any], str]] = {
    d.Heading: _heading,
    d.Paragraph: _paragraph,
    d.Caution: _caution,
    d.Facts: _facts,
    d.Items: _items,
    d.Table: _table,
    d.Swatches: _swatches,
    d.Photographs: _photographs,
    d.Chart: _chart,
    d.Band: _band,
    d.Marks: _marks,
    d.Blanks: _blanks,
    d.Signatures: _signatures,
    d.Group: _group,
    d.Beside: _beside,
    d.PageBreak: _page_break,
}


def _block(block: d.Block) -> str:
    return _WRITERS[type(block)](block)
