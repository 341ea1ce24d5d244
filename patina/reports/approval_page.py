"""The page a client approves by: one HTML file that asks nothing of the network and prints on one or two sheets."""

from __future__ import annotations

import base64
from collections.abc import Callable, Sequence
from datetime import date
from html import escape
from string import Template

from patina.language import reader, shown
from patina.reports.colour_words import ColourOf, Picture
from patina.sheets import Lab, Part, VerdictSheet
from patina.sheets.formulas import formula_words
from patina.sheets.matching import AgreedSheet, ApprovalRow, ZoneRow
from patina.sheets.verdicts import FindingRow

SCREEN_CAUTION = (
    "Screens and printers differ, and the light you sit in changes what you see. These blocks show what to expect; "
    "they are not the piece. Approve from the piece or its tile in your hand, under the agreed light."
)
NEAR_ONLY = "A screen can only come near one of these colours; the figures count."
HOW_SURE = (
    "± is how sure the measurement is (95 %). A piece is called inside or outside only where that does not change the "
    "answer."
)
_WORDS = {"pass": "inside what was agreed", "fail": "outside what was agreed", "cannot be told": "cannot be told yet"}
_SIGNS = {"pass": "✓", "fail": "✗", "cannot be told": "?"}
_PAGE = Template("""<!DOCTYPE html>
<html lang="$language">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>$title</title>
<style>
:root { color-scheme: light; }
body { font: 16px/1.45 Georgia, 'Times New Roman', serif; color: #1c1c1c; background: #fff;
  max-width: 46rem; margin: 2rem auto; padding: 0 1rem; }
h1 { font-size: 1.6rem; margin: 0; } h2 { font-size: 1.15rem; margin: 1.6rem 0 .4rem; }
.quiet { color: #555; } .caution { border-left: 4px solid #9a6700; padding: .4rem .8rem; background: #fff8e6; }
.verdict { font-size: 1.15rem; font-weight: bold; }
.pair { display: flex; height: 9rem; background: #777; padding: 1.2rem; }
.block { flex: 1; display: flex; align-items: flex-end; }
.block span { background: #fff; font-size: .8rem; padding: .1rem .4rem; margin: .3rem; }
.tones { display: flex; height: 1.6rem; margin: .15rem 0; }
table { border-collapse: collapse; width: 100%; margin: .5rem 0; }
th, td { text-align: left; padding: .25rem .5rem; border-bottom: 1px solid #ddd; vertical-align: top; }
td.n { font-variant-numeric: tabular-nums; white-space: nowrap; }
figure { margin: .8rem 0; } img { max-width: 100%; }
.sign { display: grid; grid-template-columns: 1fr 1fr; gap: 1.6rem 2rem; margin-top: 1rem; }
.line { border-bottom: 1px solid #333; height: 2.2rem; } .tick { margin-right: 1.4rem; white-space: nowrap; }
.block, .tones, .pair, .caution { -webkit-print-color-adjust: exact; print-color-adjust: exact; }
td.d { white-space: nowrap; } h2 { break-after: avoid; } tr, figure, .pair, .whole { break-inside: avoid; }
@page { margin: 14mm 16mm 16mm; @bottom-right { content: counter(page) " $of " counter(pages); font-size: 9pt; } }
@media print {
  html { font-size: 13px; } body { margin: 0; padding: 0; max-width: none; font-size: 10pt; line-height: 1.35; }
  h2 { margin-top: 1.1rem; } .pair { height: 6rem; padding: .8rem; } .line { height: 1.9rem; }
  img { max-height: 78mm; } p { margin: .45rem 0; }
}
</style>
</head>
<body>
$body
</body>
</html>
""")


def page(
    agreed: AgreedSheet,
    verdict: VerdictSheet,
    *,
    name: str,
    studio: str,
    made_on: date,
    colour_of: ColourOf,
    near_only: Callable[[Lab], bool],
    pictures: Sequence[Picture] = (),
    held: Sequence[ApprovalRow] = (),
) -> str:
    """The page as HTML.

    name: of the piece. studio: who made it, may be empty. colour_of: a screen's "#rrggbb" for a colour;
    near_only: whether a screen can only come near it. held: viewings held so far, newest first.
    """
    parts = [
        _head(agreed, name, studio, made_on),
        f'<p class="caution"><strong>{_say("Before you judge.")}</strong> {_say(SCREEN_CAUTION)}</p>',
        _colours(agreed, verdict, colour_of, near_only),
        _differences(verdict),
        _tones(verdict, colour_of),
        _pictures(pictures),
        _held(held),
        _signing(agreed, name),
    ]
    title = f"{name}: {agreed.master.name}"
    return _PAGE.substitute(
        language=reader().language, of=shown("of"), title=_say(title), body="\n".join(p for p in parts if p)
    )


def _say(words: str) -> str:
    """Words as the reader reads them, as HTML."""
    return escape(shown(words))


def _row_of_heads(*heads: str) -> str:
    """The beginning of a table."""
    return f"<table><tr>{''.join(f'<th>{_say(head)}</th>' for head in heads)}</tr>"


def _head(agreed: AgreedSheet, name: str, studio: str, made_on: date) -> str:
    m = agreed.master
    said = [
        f"agreed finish {m.id}, {m.name}",
        f"agreed by {m.agreed_by}" if m.agreed_by else "",
        f"agreed on {m.agreed_on:%Y-%m-%d}" if m.agreed_on else "",
        f"to look {agreed.aim.removeprefix('as ')}" if agreed.aim == "as today" else "",
    ]
    rows = [studio, ", ".join(shown(w) for w in said if w), f"page of {made_on:%Y-%m-%d}"]
    lines = "<br>".join(_say(r) for r in rows if r)
    return f'<h1>{_say(name)}</h1>\n<p class="quiet">{lines}</p>'


def _style(lab: Lab, colour_of: ColourOf) -> str:
    """The colour as sRGB for old browsers, and as CIELAB (D50, as CSS has it) for those that know their screen."""
    exact = f"lab({lab.L:.2f}% {lab.a:.2f} {lab.b:.2f})"
    return f"background:{colour_of(lab)};background:{exact}"


def _block(label: str, lab: Lab, colour_of: ColourOf) -> str:
    figures = _say(f"L* {lab.L:.1f} a* {lab.a:.1f} b* {lab.b:.1f}")
    text = f"{_say(label)}<br>{figures}"
    return f'<div class="block" style="{_style(lab, colour_of)}"><span>{text}</span></div>'


def _colours(agreed: AgreedSheet, verdict: VerdictSheet, colour_of: ColourOf, near_only: Callable[[Lab], bool]) -> str:
    one, two = verdict.comparison.reference_lab, verdict.comparison.sample_lab
    lines = [
        f"<section><h2>{_say('Side by side')}</h2>",
        f'<div class="pair">{_block("agreed", one, colour_of)}{_block("this piece", two, colour_of)}</div>',
    ]
    limits = [z for z in agreed.zones if z.light_limit or z.dark_limit]
    lines += [_limits(z, colour_of) for z in limits]
    if near_only(one) or near_only(two):
        lines.append(f'<p class="quiet">{_say(NEAR_ONLY)}</p>')
    m = agreed.master
    state = f"Colours are CIELAB, {one.illuminant}, {one.observer}°."
    agreed_on = f"It was agreed {m.wax_state} and {m.warmth}, under {m.light}."
    lines.append(f'<p class="quiet">{_say(state)} {_say(agreed_on)}</p></section>')
    return "\n".join(lines)


def _limits(zone: ZoneRow, colour_of: ColourOf) -> str:
    blocks = [
        _block(f"{zone.zone}: {word}", lab, colour_of)
        for word, lab in (("dark limit", zone.dark_limit), ("agreed", zone.lab), ("light limit", zone.light_limit))
        if lab is not None
    ]
    return f'<div class="pair" style="height:5rem">{"".join(blocks)}</div>'


def _differences(verdict: VerdictSheet) -> str:
    d = verdict.comparison.difference
    word = _WORDS[verdict.verdict]
    lines = [
        f"<section><h2>{_say('How far apart')}</h2>",
        f'<p class="verdict">{_SIGNS[verdict.verdict]} {_say(word)}</p>',
        f"<p>{_say(f'Beside the agreed colour the piece is {d.words}.')}</p>"
        if d.delta_e >= 0.5
        else f"<p>{_say('No difference to speak of.')}</p>",
        _row_of_heads("zone", "measure", "difference", "limit", ""),
    ]
    lines += [_finding(f) for f in verdict.findings]
    lines.append("</table>")
    if verdict.remedy:
        lines.append(f"<p>{_say(verdict.remedy)}</p>")
    lines += [f'<p class="quiet">{_say(c)}</p>' for c in verdict.cautions]
    lines.append(f'<p class="quiet">{_say(HOW_SURE)}</p></section>')
    return "\n".join(lines)


def _finding(f: FindingRow) -> str:
    doubt = "± not known" if f.expanded is None else f"± {f.expanded:.1f}"
    limit = "not beyond the tile" if f.limit == 0 else f"{f.limit:g}"
    cells = (
        _say(f.zone),
        _say(f.of),
        _say(f"{_signed(f.value)} {doubt}"),
        _say(limit),
        _SIGNS[f.outcome] + " " + _say(_WORDS[f.outcome]),
    )
    one, two, three, four, five = cells
    return f'<tr><td>{one}</td><td>{two}</td><td class="n">{three}</td><td class="n">{four}</td><td>{five}</td></tr>'


def _signed(value: float) -> str:
    """With a sign, to one decimal; what rounds to nothing has none."""
    shown = f"{value:+.1f}".replace("-", "\N{MINUS SIGN}")
    return "0.0" if float(f"{value:.1f}") == 0 else shown


def _tones(verdict: VerdictSheet, colour_of: ColourOf) -> str:
    if not verdict.mottle:
        return ""
    lines = [f"<section><h2>{_say('Tones and their shares')}</h2>"]
    for m in verdict.mottle:
        lines += [f"<p>{_say(m.zone)}: {_say(m.words)}</p>"]
        lines += [
            _bar(word, tones, colour_of) for word, tones in (("agreed", m.agreed), ("this piece", m.sample)) if tones
        ]
    return "\n".join([*lines, "</section>"])


def _bar(word: str, tones: Sequence[Part], colour_of: ColourOf) -> str:
    cells = "".join(
        f'<div title="{100 * t.share:.0f} %" style="flex:{t.share:.3f};{_style(t.lab, colour_of)}"></div>'
        for t in tones
    )
    shares = ", ".join(f"{100 * t.share:.0f} %" for t in tones)
    return f'<div class="tones">{cells}</div><p class="quiet">{_say(word)}: {shares}</p>'


def _pictures(pictures: Sequence[Picture]) -> str:
    if not pictures:
        return ""
    lines = [f"<section><h2>{_say('Photographs')}</h2>"]
    for p in pictures:
        kind = "png" if p.suffix == ".png" else "jpeg"
        data = base64.b64encode(p.content).decode("ascii")
        caption = _say(p.caption)
        lines.append(
            f'<figure><img alt="{caption}" src="data:image/{kind};base64,{data}"><figcaption class="quiet">{caption}'
            "</figcaption></figure>"
        )
    return "\n".join([*lines, "</section>"])


def _held(held: Sequence[ApprovalRow]) -> str:
    if not held:
        return ""
    lines = [f"<section><h2>{_say('Seen so far')}</h2>", _row_of_heads("when", "who", "answer", "how")]
    for a in held:
        how = ", ".join(w for w in (a.seen, a.state, a.light, a.place) if w and w != "not stated")
        answer = _say(a.answer) + (f"<br>{_say(a.remarks)}" if a.remarks else "")
        lines.append(
            f'<tr><td class="d">{a.held_on:%Y-%m-%d}</td>'
            f"<td>{_say(a.who)} ({_say(a.role)})</td><td>{answer}</td>"
            f"<td>{_say(how)}</td></tr>"
        )
    return "\n".join([*lines, "</table></section>"])


def _signing(agreed: AgreedSheet, name: str) -> str:
    formula = formula_words(agreed.master.formula)
    ticks = "".join(
        f'<span class="tick">☐ {_say(word)}</span>'
        for word in ("approved", "approved with remarks", "not approved", "show again")
    )
    how = "".join(
        f'<span class="tick">☐ {_say(word)}</span>' for word in ("piece in hand", "tile in hand", "picture only")
    )
    fields = "".join(
        f'<div><div class="line"></div>{_say(word)}</div>'
        for word in ("name", "signature", "date and place", "light it was seen under")
    )
    return (
        f'<section class="whole"><h2>{_say("Your answer")}</h2>'
        f"<p>{_say(f'On {name}, against {agreed.master.id} {agreed.master.name}:')}</p><p>{ticks}</p>"
        f'<p>{_say("Seen:")} {how}</p><p>{_say("Remarks")}</p><div class="line"></div>'
        f'<div class="line"></div><div class="sign">{fields}</div>'
        f'<p class="quiet">{_say(f"Limit agreed: ΔE {agreed.master.limit_de:g} ({formula}).")}</p>'
        "</section>"
    )
