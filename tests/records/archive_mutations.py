"""Spoilt bundles made from sound ones, the same for the same seed; with hashes that agree and without."""

from __future__ import annotations

import json
import random
import zipfile
from pathlib import Path
from typing import Any

from archive_files import Parts, with_hashes, written

VALUES: tuple[Any, ...] = (
    *(None, True, False, 0, 1, -1, 2**31, 2**63, 10**40, 0.5, -0.0, 1e308, "", "x", "=1+1", "'", "\0", "\ud800"),
    *("C1", "T999", "0" * 32, "f" * 64, "2026-02-30", "2026-02-28", "2026-02-28T00:00:00", "2026-02-28T00:00:00+00:00"),
    *([], [[]], {}, {"a": 1}, [["D1", 1, 2, 3]], [1, [2, [3, [4]]]], "x" * 5000, "NaN", [None], {"solutions": 1}),
)
SCRAPS = (
    b"",
    b"\0",
    b"\n",
    b"\r\n",
    b",",
    b'"',
    b"'",
    b"[",
    b"]",
    b"{",
    b"}",
    b"\xff",
    b"NaN",
    b"1e999",
    b"-",
    b"9" * 30,
)


def spoilt(chance: random.Random, parts: Parts, file: Path) -> Path:
    """A bundle with something done to it."""
    return chance.choice(WAYS)(chance, dict(parts), file)


def _bytes(chance: random.Random, parts: Parts, file: Path) -> Path:
    """Bytes of the file itself: as a disk or a wire spoils them."""
    written(file, parts)
    content = bytearray(file.read_bytes())
    for _ in range(chance.choice((1, 1, 2, 8, 64))):
        place = chance.randrange(len(content))
        way = chance.randrange(4)
        if way == 0:
            content[place] = chance.randrange(256)
        elif way == 1:
            content[place : place + chance.choice((1, 4, 100))] = b""
        elif way == 2:
            content[place:place] = chance.randbytes(chance.choice((1, 4, 100)))
        else:
            content = content[:place] or bytearray(b"P")
        if len(content) < 2:
            break
    file.write_bytes(content)
    return file


def _part(chance: random.Random, parts: Parts) -> str:
    wanted = chance.choice(("data/tables", "data/tables", "data/log", "data/bundle", "data/", ""))
    return chance.choice([n for n in sorted(parts) if n.startswith(wanted)])


def _scraps(chance: random.Random, parts: Parts, file: Path) -> Path:
    """Bytes of one part, hashes right or wrong."""
    name = _part(chance, parts)
    content = bytearray(parts[name])
    for _ in range(chance.choice((1, 1, 3))):
        place = chance.randrange(len(content) + 1)
        content[place : place + chance.choice((0, 1, 1, 20))] = chance.choice(SCRAPS)
    parts[name] = bytes(content)
    return written(file, with_hashes(parts) if chance.random() < 0.9 and name != "bag-info.txt" else parts)


def _rows(chance: random.Random, parts: Parts, file: Path) -> Path:
    """Values of rows, in JSON and (mostly) in CSV too, all hashes right: what only the contents can tell."""
    from patina.records.archive.cells import cells
    from patina.records.archive.shape import shapes
    from patina.records.tables.base import canonical

    names = [n for n in sorted(parts) if n.startswith("data/tables/") and n.endswith(".json")]
    for _ in range(chance.choice((1, 1, 1, 2, 4))):
        name = chance.choice(names)
        table = json.loads(parts[name])
        rows, shape = table["rows"], shapes()[table["table"]]
        way = chance.randrange(6)
        if way == 0 and len(rows) > 1:
            del rows[chance.randrange(len(rows))]
        elif way == 1 and rows:
            rows.append({**chance.choice(rows)})
        elif rows:
            row = chance.choice(rows)
            key = chance.choice(sorted(row))
            row[key] = chance.choice((*VALUES, *(r.get(key) for r in rows)))
            if way == 2:
                row["id"] = chance.choice((row["id"], 0, -1, 10**9, 2**31 - 1, 2**40))
                row["public_id"] = f"{shape.letter}{row['id']}"
        try:
            lines = [canonical(row) for row in rows]
            flat = (
                "\r\n".join([",".join(("public_id", *shape.keys))] + [_line(cells(row, shape)) for row in rows])
                + "\r\n"
            )
            encoded = flat.encode()
            parts[name] = (f'{{"table":"{shape.name}","rows":[\n' + ",\n".join(lines) + "\n]}\n").encode()
        except (ValueError, KeyError, TypeError, AttributeError):  # what cannot even be written is no bundle
            continue
        if chance.random() < 0.9:
            parts[name[:-4] + "csv"] = encoded
        document = json.loads(parts["data/bundle.json"])
        document["tables"][shape.name] = len(rows) if chance.random() < 0.95 else chance.randrange(10**6)
        parts["data/bundle.json"] = json.dumps(document).encode()
    return written(file, with_hashes(parts))


def _line(line: list[str]) -> str:
    return ",".join('"' + cell.replace('"', '""') + '"' for cell in line)


def _document(chance: random.Random, parts: Parts, file: Path) -> Path:
    """bundle.json, settings and the log."""
    name = chance.choice(
        [n for n in ("data/bundle.json", "data/settings.json", "data/log/entries.jsonl") if n in parts]
    )
    if name.endswith("jsonl"):
        lines = parts[name].decode().split("\n")
        place = chance.randrange(len(lines))
        lines[place : place + 1] = chance.choice(
            ([], [lines[0]], ["{}"], [lines[place].replace("1", "2")], ["[" * 3000])
        )
        parts[name] = "\n".join(lines).encode()
    else:
        document = json.loads(parts[name])
        here = document["log"] if name.endswith("bundle.json") and chance.random() < 0.3 else document
        key = chance.choice([*sorted(here), "more"])
        if chance.random() < 0.2:
            here.pop(key, None)
        else:
            here[key] = chance.choice(VALUES)
        parts[name] = json.dumps(document).encode()
    return written(file, with_hashes(parts))


def _names(chance: random.Random, parts: Parts, file: Path) -> Path:
    """Names of parts: escapes, doubles, other folders, missing and added parts."""
    name = chance.choice(sorted(parts))
    way = chance.randrange(4)
    new = chance.choice(
        ("../x", "/etc/x", "data/../../x", "data/tables/x.json", "data/photographs/" + "a" * 64 + ".png")
    )
    if way == 0:
        del parts[name]
    elif way == 1:
        parts[new] = parts.pop(name)
    elif way == 2:
        parts[new] = b"x"
    parts = with_hashes(parts) if chance.random() < 0.7 and "bag-info.txt" in parts and "bagit.txt" in parts else parts
    written(file, parts)
    if way == 3:
        with zipfile.ZipFile(file, "a") as archive:
            info = zipfile.ZipInfo(f"patina-C1/{name}")
            info.external_attr = chance.choice((0o120777, 0o060644, 0o100644, 0o040755)) << 16
            archive.writestr(info, chance.choice((b"", b"/etc/passwd", parts[name])))
    return file


WAYS = (_bytes, _scraps, _rows, _rows, _rows, _document, _names)
