"""Broken input made from sound input: texts, tables, pictures and archives, the same for the same seed."""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import random
import warnings
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from patina.cli import main
from patina.datafile import data_path

RECIPES = tuple(p.read_text(encoding="utf-8") for p in sorted(data_path("recipes").glob("*.toml")))

# What stands in recipe files, and what should never stand there.
BITS = (
    *('"', "\\", "[", "[[", "]]", "=", "\n", "#", "\x01", "é", "½", "\u2028", "\ufeff", "\x85", "𐀀", "{}", "[]", '""'),
    *("nan", "inf", "-1", "0", "1e999", "1e-300", "0x10", "1_000", "true", "1979-05-27", "1000", '"100 %"', '"0 %"'),
    *("1:20", "5 %", "1,234 g/L", "5 g/L", "0,5 g/L", "99 % w/w", "100 % w/w", "60 mol/L", "5000 g/L", "1e-9 g/L"),
    *("1 part in 1", "100 parts to 1", "1 part to 20 by weight", "500 % w/v", "100 % v/v", "2 oz/gal", "1 oz/US gal"),
    *("cupric nitrate trihydrate", "liver of sulphur", "nitric acid", "isopropanol", "water", "7732-18-5"),
)
QUANTITIES = (
    *("1.8 m2", "1,8 m²", "2 L", "96 kg", "5 mm", "3/16 in", "12 h", "25 %", "40 mL/m2", "80 degC", "5 g/L", "1:20"),
    *(
        "2 oz/US gal",
        "5 % w/w",
        "1 part in 20",
        "1 + 19",
        "0.5 mol/L",
        "2 gal",
        "1,234 g",
        "1 234,5 g",
        "½ lb",
        "1e3 g",
    ),
)
PAIRS = b"L1,a1,b1,L2,a2,b2\n50,2.6772,-79.7751,50,0,-82.7485\n50,3.1571,-77.2803,50,0,-82.7485\n"
READINGS = (
    b"tile,L,a,b,area,n,sd_L,sd_a,sd_b,illuminant,observer,uncertainty_de00,read_at,wax_state\n"
    b"T1,50.1,2,-3,front,3,0.1,0.1,0.1,D50,2,0.6,2026-03-14T09:30,waxed\nT2,40,1,5,back,1,,,,D65,10,,,\n"
)
SCRAPS = (b'"', b",", b"\n", b"nan", b"1e999", b";", b"\r", b"\0", b"-", b"1_0", b"\xff", b"\xef\xbb\xbf", b" ")


def broken_recipe(chance: random.Random) -> str:
    """A recipe file with one to eight things done to it."""
    text = chance.choice(RECIPES)
    for _ in range(chance.choice((1, 1, 1, 2, 3, 8))):
        text = chance.choice(_TEXT_WAYS)(chance, text or "x")
    return text


def _insert(chance: random.Random, text: str) -> str:
    start = chance.randrange(len(text))
    return text[:start] + chance.choice(BITS) + text[min(len(text), start + chance.choice((0, 1, 3, 10, 80))) :]


def _letter(chance: random.Random, text: str) -> str:
    start = chance.randrange(len(text))
    return text[:start] + chr(chance.choice((chance.randrange(128), chance.randrange(0x2100)))) + text[start + 1 :]


def _cut(chance: random.Random, text: str) -> str:
    start = chance.randrange(len(text))
    return text[:start] + text[start + chance.choice((1, 10, 200, len(text))) :]


def _line(chance: random.Random, text: str) -> str:
    lines = text.split("\n")
    where = chance.randrange(len(lines))
    if chance.random() < 0.5:
        del lines[where]
    else:
        lines.insert(chance.randrange(len(lines) + 1), lines[where])
    return "\n".join(lines)


def _value(chance: random.Random, text: str) -> str:
    lines = text.split("\n")
    keyed = [n for n, line in enumerate(lines) if "=" in line]
    if keyed:
        n, bit = chance.choice(keyed), chance.choice(BITS)
        lines[n] = lines[n].split("=")[0] + "= " + (bit if chance.random() < 0.3 else f'"{bit.replace(chr(34), "")}"')
    return "\n".join(lines)


def _graft(chance: random.Random, text: str) -> str:
    lines, other = text.split("\n"), chance.choice(RECIPES).split("\n")
    start = chance.randrange(len(other))
    where = chance.randrange(len(lines))
    lines[where:where] = other[start : start + chance.randrange(1, 8)]
    return "\n".join(lines)


_TEXT_WAYS = (_insert, _letter, _cut, _line, _value, _value, _value, _graft)


def broken_words(chance: random.Random) -> str:
    """A quantity as somebody might write it, and worse."""
    words = chance.choice(QUANTITIES)
    for _ in range(chance.choice((0, 1, 1, 2, 4))):
        start = chance.randrange(len(words) + 1)
        scrap = chance.choice((*BITS, *QUANTITIES, "/", ".", ",", " ", "−", "e", "9" * 30, "µ", "°", "%", "\t", "٣"))
        words = words[:start] + scrap + words[start + chance.choice((0, 0, 1, 3)) :]
    return words


def broken_bytes(chance: random.Random, content: bytes) -> bytes:
    """Bytes with some changed, cut or put in, sometimes cut short."""
    out = bytearray(content)
    for _ in range(chance.choice((1, 1, 1, 2, 5, 20))):
        where = chance.randrange(max(1, min(len(out), chance.choice((40, 400, len(out) or 1)))))
        way = chance.random()
        if way < 0.6 and out:
            out[where % len(out)] = chance.randrange(256)
        elif way < 0.8:
            del out[where : where + chance.choice((1, 4, 100))]
        else:
            out[where:where] = chance.choice(SCRAPS)
    return bytes(out if chance.random() < 0.8 else out[: chance.randrange(len(out) + 1)])


def pictures() -> Iterator[tuple[str, bytes]]:
    """Small pictures in the formats and modes that come from cameras, scanners and mistaken exports."""
    from PIL import Image

    plain = Image.linear_gradient("L").resize((200, 150)).convert("RGB")
    kept = {"JPEG": ("RGB", "L", "CMYK"), "PNG": ("RGB", "RGBA", "P", "1", "I;16"), "TIFF": ("RGB", "LAB", "CMYK", "F")}
    for form, modes in kept.items():
        for mode in modes:
            stream = io.BytesIO()
            (Image.new("I;16", (200, 150)) if mode == "I;16" else plain.convert(mode)).save(stream, form)
            yield f"{mode.replace(';', '')}.{form.lower()}", stream.getvalue()
    for turned in (0, 6, 9, 65535):
        exif, stream = Image.Exif(), io.BytesIO()
        exif[0x112] = turned
        plain.save(stream, "JPEG", exif=exif, icc_profile=b"\x00\x01no profile" * 20)
        yield f"turned{turned}.jpg", stream.getvalue()


def repacked(backup: bytes, chance: random.Random) -> bytes:
    """A backup as somebody hostile would write it: other parts, other hashes, other claims."""
    with zipfile.ZipFile(io.BytesIO(backup)) as source:
        manifest, database = json.loads(source.read("manifest.json")), source.read("studio.db")
    if chance.random() < 0.5:
        database = broken_bytes(chance, database)
    manifest["files"]["studio.db"] = {"size": len(database), "sha256": hashlib.sha256(database).hexdigest()}
    claim = chance.choice(("files", "missing", "changes", "chain", "version", "format", "size", "sha256", "", "", ""))
    value: object = chance.choice((None, -1, 10**30, "x", [], {}, ["x"], {"studio.db": {}}, 1.5, True))
    if claim in ("size", "sha256"):
        manifest["files"]["studio.db"][claim] = value
    elif claim:
        manifest[claim] = value
    names = ("../out.txt", "/tmp-out.txt", "photographs/../../out", "studio.db", "photographs/aa/" + "a" * 64, "a\\b")
    out = io.BytesIO()
    with warnings.catch_warnings(), zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        target.writestr("manifest.json", json.dumps(manifest))
        target.writestr("studio.db", database)
        if chance.random() < 0.5:
            warnings.simplefilter("ignore", UserWarning)  # a name that is there twice is meant
            info = zipfile.ZipInfo(chance.choice(names))
            info.external_attr = chance.choice((0o100644, 0o120777, 0o010644, 0o040755)) << 16
            target.writestr(info, b"elsewhere")
    return out.getvalue()


@dataclass(frozen=True)
class Ended:
    """How a command ended: exit code, the document on standard output, the trouble on standard error."""

    code: int
    document: Any
    trouble: dict[str, str] | None


def run(*words: str | Path) -> Ended:
    """One command with --json, held to what every command promises.

    Exit 0 with one document and nothing else, or exit 2 with title, what and remedy and no document.
    """
    out, err = io.StringIO(), io.StringIO()
    code: object = 0
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            main([*(str(w) for w in words), "--json"])
        except SystemExit as leaving:
            code = leaving.code or 0
    told = f"{[str(w)[:200] for w in words]}: exit {code}, {out.getvalue()[:200]!r}, {err.getvalue()[-500:]!r}"
    assert code in (0, 2), told
    if code == 0:
        return Ended(0, json.loads(out.getvalue(), parse_constant=_no_number), None)
    assert out.getvalue() == "", told
    trouble = json.loads(err.getvalue())
    assert set(trouble) == {"title", "what", "remedy"}, told
    assert all(isinstance(v, str) and v.strip() for v in trouble.values()), told
    return Ended(2, None, trouble)


def _no_number(word: str) -> float:
    raise AssertionError(f"{word} is no JSON")
