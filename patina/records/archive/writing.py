"""Writing a bundle: one new ZIP file that holds a BagIt bag. The same records give the same files.

Source: [BAGIT]
"""

from __future__ import annotations

import csv
import hashlib
import json
import os
import tempfile
import zipfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina import __version__
from patina.errors import Damaged, NotFound, Refused, StudioTrouble
from patina.records.archive.cells import RECORD, cells
from patina.records.archive.choice import Choice
from patina.records.archive.choosing import Held, choose
from patina.records.archive.given import write_log
from patina.records.archive.papers import bundle_document, kind_words, readme, schema
from patina.records.archive.shape import NOT_A_SETTING, Shape, letters, shapes
from patina.records.keeping.zips import add
from patina.records.photographs.files import sha256_of
from patina.records.studio.store import Store
from patina.records.tables.base import canonical
from patina.records.tables.first import SettingRow

Progress = Callable[[str], None]
# what else goes into the bag, by its path under data; made in a folder, from the rows that were chosen
Extras = Callable[[Choice, Path], Mapping[str, Path]]
# what is withheld from who is to have the bundle, None where nothing is
Reading = Callable[[Session], Held] | None
ENDINGS = {"jpeg": "jpg", "tiff": "tif"}
BAGIT = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"


@dataclass(frozen=True, slots=True)
class Written:
    """A bundle that was written. sha256: of the file. missing: photographs whose files were gone or damaged."""

    file: Path
    sha256: str
    size_bytes: int
    document: dict[str, Any]

    @property
    def missing(self) -> list[str]:
        """SHA-256 of photographs that could not be put in."""
        return list(self.document["missing"])


def write_bundle(
    store: Store,
    file: Path,
    target: str,
    *,
    held: Reading = None,
    for_owner: bool = False,
    studio: str = "",
    rights: str = "",
    extras: Extras | None = None,
    progress: Progress = lambda _: None,
) -> Written:
    """Write the records of a target (W1, C1, M1, R1, T1, CT1, empty for the whole studio) into one new file.

    held, for_owner: as ``choose`` takes them. studio, rights: who it comes from, who may do what with it. Raises
    NotFound, Refused where the file is there already, StudioTrouble where it cannot be written; then no half file
    is left.
    """
    if file.exists() or file.is_symlink():
        raise Refused(f"'{file}' is there already.", "Give the bundle a name of its own; nothing is written over.")
    with _writing(file), tempfile.TemporaryDirectory(prefix=".archive-", dir=file.absolute().parent) as name:
        folder = Path(name)
        with store.view_of_all() as session:
            _one_moment(session)
            progress("choosing the records")
            hides = None if held is None else held(session)
            choice = choose(session, target, held=hides, for_owner=for_owner)
            paths, document = _payload(session, store, choice, folder, extras, progress)
        _write(folder, paths, "README.txt", readme(document).encode())
        if rights.strip():
            _write(folder, paths, "RIGHTS.txt", (rights.strip() + "\n").encode())
        progress("packing")
        packed = folder / "packed"
        _pack(packed, paths, document, studio, rights)
        sha256, size = sha256_of(packed), packed.stat().st_size
        packed.replace(file)
    return Written(file, sha256, size, document)


@contextmanager
def _writing(file: Path) -> Iterator[None]:
    try:
        yield
    except OSError as trouble:
        raise StudioTrouble(
            f"'{file}' could not be written: {trouble.strerror or trouble}.",
            "Check the folder and the room on the disk; no half bundle was left.",
            title="The bundle was not made",
        ) from None


def _one_moment(session: Session) -> None:
    """Every question of the session sees the records as they are now, whatever others write meanwhile."""
    if session.get_bind().dialect.name == "postgresql":
        session.connection(execution_options={"isolation_level": "REPEATABLE READ"})


def _write(folder: Path, paths: dict[str, Path], name: str, content: bytes) -> None:
    path = folder / "files" / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    paths[f"data/{name}"] = path


def _payload(
    session: Session, store: Store, choice: Choice, folder: Path, extras: Extras | None, progress: Progress
) -> tuple[dict[str, Path], dict[str, Any]]:
    paths: dict[str, Path] = {}
    counts: dict[str, int] = {}
    photographs: list[tuple[str, str, int]] = []
    for shape in shapes().values():
        progress(f"table {shape.name}")
        count = _table(session, choice, shape, folder / "tables", photographs)
        if count:
            counts[shape.name] = count
            for ending in ("json", "csv"):
                paths[f"data/tables/{shape.name}.{ending}"] = folder / "tables" / f"{shape.name}.{ending}"
    progress("the log of changes")
    log = write_log(session, choice, folder / "log")
    for path in sorted(p for p in (folder / "log").rglob("*") if p.is_file()):
        paths[f"data/log/{path.relative_to(folder / 'log').as_posix()}"] = path
    missing = _photographs(store, photographs, paths, progress)
    about = _about(session, choice, counts) | {
        "photographs": len(photographs) - len(missing),
        "missing": missing,
        "log": log,
    }
    document = bundle_document(choice, about, counts)
    if choice.whole:
        found = session.execute(select(SettingRow.name, SettingRow.value).order_by(SettingRow.name))
        kept = {name: value for name, value in found if name not in NOT_A_SETTING}
        _write(folder, paths, "settings.json", _pretty(kept))
    _write(folder, paths, "bundle.json", _pretty(document))
    _write(folder, paths, "schema.json", _pretty(schema()))
    if extras is not None:
        progress("printing")
        made = folder / "extras"
        made.mkdir()
        paths |= {f"data/{name}": path for name, path in extras(choice, made).items()}
    return paths, document


def _pretty(document: Any) -> bytes:
    return (json.dumps(document, indent=1, sort_keys=True, ensure_ascii=False) + "\n").encode()


def _table(
    session: Session, choice: Choice, shape: Shape, folder: Path, photographs: list[tuple[str, str, int]]
) -> int:
    """Write the JSON and the CSV of a table; returns how many rows there are."""
    folder.mkdir(exist_ok=True)
    count = 0
    with (
        (folder / f"{shape.name}.json").open("w", encoding="utf-8", newline="\n") as out,
        (folder / f"{shape.name}.csv").open("w", encoding="utf-8", newline="") as flat,
    ):
        sheet = csv.writer(flat)
        sheet.writerow([RECORD, *shape.keys])
        out.write(table_start(shape.name))
        for row in choice.rows_of(session, shape):
            out.write(("," if count else "") + "\n" + canonical(row))
            sheet.writerow(cells(row, shape))
            count += 1
            if shape.name == "photograph":
                photographs.append((row["sha256"], row["format"], row["size_bytes"]))
        out.write("\n]}\n")
    return count


def table_start(name: str) -> str:
    """How the JSON file of a table begins; each row follows on a line of its own, and "]}" on the last."""
    return f'{{"table":"{name}","rows":['


def photograph_name(sha256: str, format: str) -> str:
    """Where a photograph lies in a bundle."""
    word = "".join(c for c in format.lower() if c.isascii() and c.isalnum())[:8]
    return f"data/photographs/{sha256}.{ENDINGS.get(word, word or 'bin')}"


def _photographs(
    store: Store, photographs: list[tuple[str, str, int]], paths: dict[str, Path], progress: Progress
) -> list[str]:
    missing = []
    for number, (sha256, format, size) in enumerate(photographs, 1):
        progress(f"photograph {number} of {len(photographs)}")
        try:
            if store.files.fault(sha256, size) is not None:
                missing.append(sha256)
            else:
                paths[photograph_name(sha256, format)] = store.files.existing(sha256)
        except (Damaged, NotFound):
            missing.append(sha256)
    return sorted(missing)


def _about(session: Session, choice: Choice, counts: dict[str, int]) -> dict[str, Any]:
    if choice.whole:
        return {"kind": "studio", "name": "", "uid": ""}
    table = letters()[choice.target.rstrip("0123456789")]
    row = choice.rows[table][int(choice.target.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))]
    name = row.get("title") or row.get("name") or row.get("engraved") or ""
    if table == "cast_piece":
        name = f"{choice.rows['piece'][row['piece_id']]['title']} {row['number']}".strip()
    return {"kind": table, "name": name, "uid": row["uid"]}


def bag_name(target: str) -> str:
    """The one folder in the file."""
    return f"patina-{target or 'studio'}"


def _pack(packed: Path, paths: dict[str, Path], document: dict[str, Any], studio: str, rights: str) -> None:
    base = bag_name(document["target"])
    total, lines = 0, []
    for name in sorted(paths):
        total += paths[name].stat().st_size
        lines.append(f"{sha256_of(paths[name])}  {name}\n")
    facts = {
        "Source-Organization": studio,
        "External-Identifier": document["uid"],
        "External-Description": f"{kind_words(document['kind'])} {document['target']} {document['name']}",
        "Bagging-Date": date.today().isoformat(),
        "Payload-Oxum": f"{total}.{len(paths)}",
        "Bag-Software-Agent": f"patina {__version__}",
        "Rights": rights,
    }
    info = "".join(f"{key}: {' '.join(value.split())}\n" for key, value in facts.items() if value.strip())
    tags = {"bagit.txt": BAGIT, "bag-info.txt": info, "manifest-sha256.txt": "".join(lines)}
    hashes = [f"{hashlib.sha256(content.encode()).hexdigest()}  {name}\n" for name, content in sorted(tags.items())]
    tags["tagmanifest-sha256.txt"] = "".join(hashes)
    with packed.open("wb") as out:
        with zipfile.ZipFile(out, "w", allowZip64=True) as archive:
            for name, content in tags.items():
                add(archive, f"{base}/{name}", content.encode(), packed=True)
            for name in sorted(paths):
                add(archive, f"{base}/{name}", paths[name], packed="/photographs/" not in name)
        out.flush()
        os.fsync(out.fileno())
