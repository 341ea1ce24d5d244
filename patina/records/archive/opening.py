"""Opening a bundle that nobody vouches for: proved file by file, row by row, in bounded memory.

Source: [BAGIT]
"""

from __future__ import annotations

import csv
import hashlib
import io
import re
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from patina.errors import Damaged, PatinaError, Refused
from patina.records.archive import given
from patina.records.archive.cells import RECORD, from_cells, parsed, plain, value_of
from patina.records.archive.papers import FORMAT, FORMAT_VERSION
from patina.records.archive.shape import Column, Shape, shapes
from patina.records.archive.writing import BAGIT, photograph_name, table_start
from patina.records.keeping.zips import blocks, members, opened, reading
from patina.records.migrations.schemas import VERSIONS

WHAT = "archive bundle"
MOST_FILES = 200_000
LARGEST_TAG_BYTES = 64_000_000
LARGEST_LINE = 32_000_000
# texts of records shrink to a tenth or a twentieth; a part that grows much more was made to fill a memory
MOST_GROWTH, HARMLESS_BYTES = 400, 100_000_000
_HASH = "[0-9a-f]{64}"
_UID = re.compile("[0-9a-f]{32}")
_PARTS = re.compile(
    r"(?P<base>[A-Za-z0-9._-]{1,100})/(?P<name>bagit\.txt|bag-info\.txt|manifest-sha256\.txt|tagmanifest-sha256\.txt|"
    r"data/(README\.txt|bundle\.json|schema\.json|settings\.json|RIGHTS\.txt|tables/[a-z_]{1,60}\.(json|csv)|"
    rf"photographs/{_HASH}\.[a-z0-9]{{1,8}}|printed/[A-Za-z0-9._-]{{1,100}}\.pdf|recipes/[A-Za-z0-9._-]{{1,100}}\.toml|"
    r"log/(earlier/[0-9a-f]{32}/)?(chain\.csv|entries\.jsonl)))"
)
_LINE = re.compile(rf"({_HASH}) [ *](\S.*)")
TAGS = ("bagit.txt", "bag-info.txt", "manifest-sha256.txt")
Progress = Callable[[str], None]
Row = dict[str, Any]


def is_bundle(file: Path) -> bool:
    """Whether a file looks like a bundle rather than something else; nothing of it is proved."""
    try:
        with opened(file, WHAT, MOST_FILES) as archive:
            return any(name.endswith("/bagit.txt") for name in archive.namelist()[:50])
    except PatinaError:
        return False


@dataclass
class Bag:
    """A bundle whose every file is what its manifest says. document: bundle.json."""

    file: Path
    archive: zipfile.ZipFile
    parts: dict[str, zipfile.ZipInfo]
    hashes: dict[str, str]
    document: dict[str, Any] = field(default_factory=dict)
    info: dict[str, str] = field(default_factory=dict)

    def blocks(self, name: str) -> Iterator[bytes]:
        """The bytes of a file, with its hash proved at the end. Raises Damaged."""
        digest = hashlib.sha256()
        for block in blocks(self.archive, self.parts[name]):
            digest.update(block)
            yield block
        if digest.hexdigest() != self.hashes[name]:
            raise Damaged(f"'{name}' is not what the manifest says.", "Use another bundle.")

    def content(self, name: str) -> bytes:
        """A short file whole."""
        if self.parts[name].file_size > LARGEST_TAG_BYTES:
            raise Refused(f"'{name}' is larger than any can be.", "Use another bundle.")
        return b"".join(self.blocks(name))

    def lines(self, name: str, *, ends: bool = False) -> Iterator[str]:
        """The lines of a text; ends: with their ends, as CSV needs them."""
        stream = io.TextIOWrapper(io.BufferedReader(_Stream(self.blocks(name))), "utf-8", newline="" if ends else "\n")
        try:
            while line := stream.readline(LARGEST_LINE + 1):
                if len(line) > LARGEST_LINE:
                    raise Refused(f"'{name}' has a line longer than any can be.", "Use another bundle.")
                yield line if ends else line.removesuffix("\n")
        except UnicodeDecodeError:
            raise Damaged(f"'{name}' is no text in UTF-8.", "Use another bundle.") from None

    @property
    def tables(self) -> list[Shape]:
        """The tables in it, each after those it points at."""
        return [shape for name, shape in shapes().items() if name in self.document["tables"]]

    def rows(self, shape: Shape) -> Iterator[Row]:
        """The rows of a table as JSON has them, in order of their numbers. Raises Damaged."""
        name = f"data/tables/{shape.name}.json"
        lines = self.lines(name)
        if next(lines, None) != table_start(shape.name):
            raise _otherwise(name)
        last = count = 0
        more = True
        for line in lines:
            if line == "]}":
                break
            if not more or not line:
                raise _otherwise(name)
            more = line.endswith(",")
            row = self._row(shape, line.removesuffix(","), last)
            last, count = row["id"], count + 1
            yield row
        else:
            raise _otherwise(name)
        if more or next(lines, None) is not None or count != self.document["tables"][shape.name]:
            raise _otherwise(name)

    def _row(self, shape: Shape, line: str, last: int) -> Row:
        try:
            row = parsed(line)
        except ValueError as trouble:
            raise Damaged(f"A row of {shape.name} cannot be read: {trouble}.", "Use another bundle.") from None
        if not isinstance(row, dict) or not isinstance(row.get("id"), int) or isinstance(row["id"], bool):
            raise Damaged(f"A row of {shape.name} has no number.", "Use another bundle.")
        where = f"{shape.letter}{row['id']}"
        if row["id"] <= last or row.get(RECORD) != where or not _UID.fullmatch(str(row.get("uid"))):
            raise Damaged(f"A row of {shape.name} has a wrong number, id or uid: {where}.", "Use another bundle.")
        self._fill(shape, row, where)
        return row

    def _fill(self, shape: Shape, row: Row, where: str) -> None:
        """Columns that an older program did not have yet get what they begin with."""
        unknown = row.keys() - {RECORD, *shape.keys}
        if unknown:
            raise Refused(
                f"{where} has a column '{min(unknown)[:60]}' that this program does not know.", "Use a newer one."
            )
        for column in shape.columns:
            if column.key not in row:
                if self.document["schema"] == VERSIONS[-1] or not (column.nullable or column.has_default):
                    raise Damaged(f"{where} lacks the column '{column.key}'.", "Use another bundle.")
                row[column.key] = column.default if column.has_default else None

    def values(self, shape: Shape, row: Row) -> Row:
        """A row as the database takes it. Raises Damaged."""
        return {c.key: value_of(row[c.key], c, row[RECORD]) for c in shape.columns}

    def plain(self, shape: Shape, row: Row) -> Row:
        """A row as the database will give it back: one way of writing each value. Raises Damaged."""
        values = self.values(shape, row)
        return {RECORD: row[RECORD], **{c.key: plain(values[c.key], c) for c in shape.columns}}

    def log(self, folder: str = "data/log") -> Iterator[tuple[int, str, given.Entry | None]]:
        """The chain of a log, with the changes that stand in full. Raises Damaged."""
        chain = given.read_chain(line.removesuffix("\r") for line in self.lines(f"{folder}/chain.csv"))
        yield from given.proved(chain, self.lines(f"{folder}/entries.jsonl"))

    def photograph(self, row: Row) -> str | None:
        """Where the file of a photograph lies; None where the bundle says that it was missing. Raises Damaged."""
        name = photograph_name(row["sha256"], row["format"])
        if name in self.parts:
            if self.hashes[name] != row["sha256"] or self.parts[name].file_size != row["size_bytes"]:
                raise Damaged(f"The file of photograph {row[RECORD]} is another one.", "Use another bundle.")
            return name
        if row["sha256"] in self.document["missing"]:
            return None
        raise Damaged(f"The file of photograph {row[RECORD]} is not in the bundle.", "Use another bundle.")


class _Stream(io.RawIOBase):
    """Blocks of bytes as a file."""

    def __init__(self, source: Iterator[bytes]):
        self._source, self._left = source, b""

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: Any) -> int:
        while not self._left:
            block = next(self._source, None)
            if block is None:
                return 0
            self._left = block
        size = min(len(buffer), len(self._left))
        buffer[:size], self._left = self._left[:size], self._left[size:]
        return size


def _otherwise(name: str) -> Damaged:
    return Damaged(f"'{name}' is not laid out as this program does it.", "Use the bundle as it was given.")


@contextmanager
def open_bag(file: Path, progress: Progress = lambda _: None) -> Iterator[Bag]:
    """Open a bundle and prove every file of it by its hash.

    Raises Refused for what is no bundle of this program, Damaged for one that is not what it says,
    StudioTrouble where it cannot be read.
    """
    with opened(file, WHAT, MOST_FILES) as archive:
        found = members(archive, lambda name: _PARTS.fullmatch(name) is not None, WHAT)
        bases = {name.partition("/")[0] for name in found}
        if len(bases) != 1:
            raise Refused(f"The file is no {WHAT}: it holds {len(bases)} folders where one is.", "Use another file.")
        parts = {name.partition("/")[2]: info for name, info in found.items()}
        _require_harmless(parts)
        bag = Bag(file, archive, parts, {})
        _read_tags(bag)
        for number, name in enumerate(sorted(n for n in parts if n.startswith("data/")), 1):
            if number % 20 == 1:
                progress(f"proving file {number} of {len(bag.hashes)}")
            for _ in bag.blocks(name):
                pass
        _read_document(bag)
        with reading(file, WHAT):
            yield bag


def _require_harmless(parts: dict[str, zipfile.ZipInfo]) -> None:
    for name in (*TAGS, "tagmanifest-sha256.txt", "data/bundle.json", "data/log/chain.csv", "data/log/entries.jsonl"):
        if name not in parts:
            raise Refused(f"The file is no {WHAT} of this program: it has no {name}.", "Use another file.")
    size = sum(info.file_size for info in parts.values())
    packed = sum(info.compress_size for info in parts.values())
    if size > HARMLESS_BYTES and size > packed * MOST_GROWTH:
        raise Refused(
            f"The file would grow from {packed / 1e6:.1f} MB to {size / 1e6:.0f} MB, as no {WHAT} does.",
            "Do not use it.",
        )


def _read_tags(bag: Bag) -> None:
    """bagit.txt, the two manifests and bag-info.txt; every file in a manifest, and no other."""
    tags = _manifest(_short(bag, "tagmanifest-sha256.txt"))
    if set(tags) != set(TAGS):
        raise Damaged("The tag manifest of the bag does not name the files it should.", "Use another bundle.")
    bag.hashes |= tags
    if bag.content("bagit.txt").decode("utf-8", "replace").replace("\r\n", "\n") != BAGIT:
        raise Refused("The bag is of another version of BagIt or another encoding.", "Use another bundle.")
    bag.hashes = _manifest(bag.content("manifest-sha256.txt")) | bag.hashes
    missing = {n for n in bag.parts if n.startswith("data/")} ^ {n for n in bag.hashes if n not in TAGS}
    if missing:
        raise Damaged(
            f"The bag holds other files than its manifest says, such as {min(missing)[:80]!r}.", "Use another bundle."
        )
    for line in bag.content("bag-info.txt").decode("utf-8", "replace").splitlines():
        name, _, value = line.partition(":")
        bag.info[name.strip()] = value.strip()
    size = sum(info.file_size for name, info in bag.parts.items() if name.startswith("data/"))
    count = sum(1 for name in bag.parts if name.startswith("data/"))
    if bag.info.get("Payload-Oxum", f"{size}.{count}") != f"{size}.{count}":
        raise Damaged("The bag holds other amounts of bytes and files than it says.", "Use another bundle.")


def _short(bag: Bag, name: str) -> bytes:
    if bag.parts[name].file_size > LARGEST_TAG_BYTES:
        raise Refused(f"'{name}' is larger than any can be.", "Use another bundle.")
    return b"".join(blocks(bag.archive, bag.parts[name]))


def _manifest(content: bytes) -> dict[str, str]:
    found: dict[str, str] = {}
    for line in content.decode("utf-8", "replace").splitlines():
        parts = _LINE.fullmatch(line)
        if parts is None or parts[2] in found:
            raise Damaged("A manifest of the bag cannot be read.", "Use another bundle.")
        found[parts[2]] = parts[1]
    return found


def _read_document(bag: Bag) -> None:
    try:
        document = parsed(bag.content("data/bundle.json"))
    except (ValueError, RecursionError):
        raise Damaged("bundle.json cannot be read.", "Use another bundle.") from None
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise Refused(f"The file is no {WHAT} of this program.", "Use another file.")
    if document.get("version") != FORMAT_VERSION or document.get("schema") not in VERSIONS:
        raise Refused(
            f"The bundle was written by a newer program (patina {str(document.get('program'))[:20]}, tables "
            f"{str(document.get('schema'))[:20]}; this one knows tables up to {VERSIONS[-1]}).",
            "Install the newer program; nothing was changed.",
        )
    if not _well_formed(document):
        raise Damaged("bundle.json is not well formed.", "Use another bundle.")
    unknown = set(document["tables"]) - set(shapes())
    if unknown:
        raise Refused(f"The bundle holds a table '{min(unknown)[:60]}' that this program lacks.", "Use a newer one.")
    named = {f"data/tables/{name}.{ending}" for name in document["tables"] for ending in ("json", "csv")}
    there = {name for name in bag.parts if name.startswith("data/tables/")}
    if named != there:
        raise Damaged("The bundle holds other tables than it says.", "Use another bundle.")
    bag.document = document


def _well_formed(document: dict[str, Any]) -> bool:
    log = document.get("log")
    texts = all(isinstance(document.get(k), str) for k in ("program", "target", "kind", "name", "uid", "made_for"))
    lists = all(isinstance(document.get(k), list) for k in ("missing", "left_out", "withheld"))
    tables = document.get("tables")
    if not texts or not lists or not isinstance(tables, dict) or not isinstance(log, dict):
        return False
    counts = [*tables.values(), log.get("n"), log.get("entries"), document.get("photographs")]
    if not all(type(n) is int and 0 <= n < 2**31 for n in counts) or not re.fullmatch(_HASH, str(log.get("sha256"))):
        return False
    if not all(isinstance(s, str) for s in (*document["missing"], *document["withheld"])):
        return False
    keys = ("table", "record", "column", "why")
    return all(isinstance(c, dict) and all(isinstance(c.get(k), str) for k in keys) for c in document["left_out"])


def prove_rows(bag: Bag, progress: Progress = lambda _: None) -> None:
    """Every row is of the sorts its table has, the CSV says the same as the JSON, and the log is one chain.

    Raises Damaged, Refused.
    """
    csv.field_size_limit(LARGEST_LINE)
    for shape in bag.tables:
        progress(f"table {shape.name}")
        _prove_table(bag, shape)
    progress("the log of changes")
    logs = {name.removesuffix("/chain.csv") for name in bag.parts if name.endswith("/chain.csv")}
    if logs != {name.removesuffix("/entries.jsonl") for name in bag.parts if name.endswith("/entries.jsonl")}:
        raise Damaged("A log in the bundle has no chain, or no entries.", "Use another bundle.")
    for folder in sorted(logs):
        last, full = (0, given.FIRST), 0
        for n, sha256, entry in bag.log(folder):
            last, full = (n, sha256), full + (entry is not None)
        said = bag.document["log"]
        if folder == "data/log" and (*last, full) != (said["n"], said["sha256"], said["entries"]):
            raise Damaged("The log in the bundle does not end where bundle.json says.", "Use another bundle.")


def _prove_table(bag: Bag, shape: Shape) -> None:
    flat = csv.reader(bag.lines(f"data/tables/{shape.name}.csv", ends=True), strict=True)
    try:
        header = next(flat, [])
        known: list[Column] = [c for c in shape.columns if c.key in header]
        if header != [RECORD, *(c.key for c in known)]:
            raise ValueError("other columns")
        part = Shape(shape.name, shape.kind, shape.letter, shape.edited, shape.words, tuple(known))
        for row in bag.rows(shape):
            bag.values(shape, row)
            line = next(flat, None)
            if line is None or from_cells(line, part) != {k: row[k] for k in (RECORD, *part.keys)}:
                raise ValueError(f"row {row[RECORD]} is another one")
        if next(flat, None) is not None:
            raise ValueError("more rows")
    except (ValueError, TypeError, KeyError, csv.Error) as trouble:
        raise Damaged(
            f"The CSV of table {shape.name} does not say what the JSON says: {str(trouble)[:80]}.",
            "Use another bundle.",
        ) from None
