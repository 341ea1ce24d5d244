"""The handbook as one page that needs no network and no other file."""

from __future__ import annotations

import base64
import html
import re
from collections.abc import Callable

from patina.handbook import topics

_STYLE = """
:root { color-scheme: light dark; --ink: #2a2018; --paper: #fbf8f2; --line: #d6c6ad; --metal: #70430f; }
@media (prefers-color-scheme: dark) { :root { --ink: #e9dfd0; --paper: #15110d; --line: #5d4a34; --metal: #d39a58; } }
body { font: 1.05rem/1.55 "Source Sans 3", "Source Sans Pro", system-ui, sans-serif; color: var(--ink);
  background: var(--paper); max-width: 46rem; margin: 0 auto; padding: 2rem 1rem 6rem; }
h1 { font-size: 1.7rem; margin: 3.5rem 0 .6rem; border-bottom: 1px solid var(--line); }
h2 { font-size: 1.15rem; margin: 1.8rem 0 .3rem; color: var(--metal); }
pre, code, kbd { font-family: ui-monospace, "DejaVu Sans Mono", monospace; font-size: .92em; }
pre { border: 1px solid var(--line); border-radius: 4px; padding: .6rem .8rem; overflow-x: auto; }
kbd { border: 1px solid var(--line); border-bottom-width: 2px; border-radius: 4px; padding: 0 .3em; }
img { max-width: 100%; height: auto; } table { border-collapse: collapse; }
th, td { text-align: left; vertical-align: top; padding: .2rem .9rem .2rem 0; border-bottom: 1px solid var(--line); }
nav ol { columns: 2; } a { color: var(--metal); }
@media print { body { max-width: none; font-size: 10.5pt; } nav { break-after: page; } h1 { break-before: page; }
  pre, img, table { break-inside: avoid; } }
"""


def handbook_page(
    picture: Callable[[str], bytes],
    language: str = "en",
    *,
    heading: str = "patina: handbook",
    contents: str = "Topics",
) -> str:
    """Every topic as one HTML page.

    picture: gives the SVG of a picture by its file name, to be laid into the page. language: of the topics. heading,
    contents: what stands above the page, and what its list of topics is called, in that language.
    """
    from markdown_it import MarkdownIt

    markdown = MarkdownIt("commonmark", {"html": False}).enable("table")
    rows = "".join(f'<li><a href="#{t.name}">{html.escape(t.title)}</a></li>' for t in topics(language))
    parts = []
    for topic in topics(language):
        body = markdown.render(_with_keys(topic.text)).replace("<h1>", f'<h1 id="{topic.name}">', 1)
        parts.append(f"<section>{_keys(_inlaid(body, picture))}</section>")
    return (
        f'<!DOCTYPE html>\n<html lang="{language}"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; img-src data:; '
        "style-src 'unsafe-inline'\">"
        f"<title>{html.escape(heading)}</title><style>{_STYLE}</style></head><body>"
        f'<header><h1 style="break-before:auto">{html.escape(heading)}</h1></header>'
        f'<nav aria-label="{html.escape(contents)}"><ol>{rows}</ol></nav>'
        f"<main>{''.join(parts)}</main></body></html>\n"
    )


def _with_keys(text: str) -> str:
    """Keys in square brackets, marked so that they survive as keys."""
    return re.sub(r"(?<!!)\[([^\]\n]{1,14})\](?!\()", "\ue000\\1\ue001", text)


def _keys(body: str) -> str:
    return body.replace("\ue000", "<kbd>").replace("\ue001", "</kbd>")


def _inlaid(body: str, picture: Callable[[str], bytes]) -> str:
    def inlay(found: re.Match[str]) -> str:
        data = base64.b64encode(picture(found[1])).decode("ascii")
        return f'src="data:image/svg+xml;base64,{data}"'

    return re.sub(r'src="pictures/([\w.-]+)"', inlay, body)
