"""ZIP files: written so that the same content gives the same bytes, and read as if an enemy had written them."""

from __future__ import annotations

import stat
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from patina.errors import Damaged, Refused, StudioTrouble

_EPOCH = (1980, 1, 1, 0, 0, 0)  # the earliest a ZIP can say; a real time would make every file differ
_BLOCK = 1 << 20
_END, _END_64, _LOCATOR = b"PK\x05\x06", b"PK\x06\x06", b"PK\x06\x07"
LARGEST_NAME = 400
# what the standard library raises for a ZIP file that is broken, encrypted or packed in an unknown way
UNREADABLE = (zipfile.BadZipFile, zipfile.LargeZipFile, EOFError, zlib.error, NotImplementedError, RuntimeError)
# of numbers in the file that make no sense
_NONSENSE = (ValueError, OverflowError, UnicodeError)


def add(archive: zipfile.ZipFile, name: str, content: bytes | Path, *, packed: bool) -> None:
    """Add one file. packed: False for what is compressed already, such as photographs."""
    info = zipfile.ZipInfo(name, _EPOCH)
    info.external_attr = 0o100644 << 16
    info.create_system = 3
    info.compress_type = zipfile.ZIP_DEFLATED if packed else zipfile.ZIP_STORED
    if isinstance(content, bytes):
        archive.writestr(info, content)
        return
    info.file_size = content.stat().st_size
    with archive.open(info, "w", force_zip64=info.file_size > 1 << 31) as out, content.open("rb") as source:
        while block := source.read(_BLOCK):
            out.write(block)


@contextmanager
def reading(file: Path, what: str) -> Iterator[None]:
    """Say in words what goes wrong with a file. what: what it should be, such as "archive bundle"."""
    try:
        yield
    except UNREADABLE as trouble:
        said = str(trouble)[:100] or type(trouble).__name__
        raise Refused(f"'{file.name}' is no {what} that can be read: {said}.", "Use another file.") from trouble
    except FileNotFoundError:
        raise Refused(f"There is no file '{file}'.", "Check its name.") from None
    except IsADirectoryError:
        raise Refused(f"'{file}' is a folder.", "Name the file itself.") from None
    except OSError as trouble:
        raise StudioTrouble(
            f"'{file.name}' cannot be read: {trouble.strerror or trouble}.", "Check the file and the disk."
        ) from None


@contextmanager
def opened(file: Path, what: str, most: int) -> Iterator[zipfile.ZipFile]:
    """A ZIP file whose list of parts is short enough to be read. Raises Refused, StudioTrouble."""
    with reading(file, what), file.open("rb") as stream:
        _require_short_list(stream, what, most)
        try:
            archive = zipfile.ZipFile(stream)
        except _NONSENSE as trouble:
            raise Refused(f"'{file.name}' is no {what} that can be read: {trouble}.", "Use another file.") from None
        with archive:
            yield archive


def _require_short_list(stream: BinaryIO, what: str, most: int) -> None:
    """The list of parts is read whole by every reader, so its length is looked at first."""
    stream.seek(0, 2)
    size = stream.tell()
    stream.seek(max(0, size - 22))
    end = stream.read(22)
    if len(end) < 22 or end[:4] != _END:
        raise Refused(f"The file is no {what}: it does not end as one does.", "Use another file.")
    length, start = int.from_bytes(end[12:16], "little"), int.from_bytes(end[16:20], "little")
    stream.seek(max(0, size - 42))
    if stream.read(4) == _LOCATOR:
        stream.seek(size - 42 + 8)
        place = int.from_bytes(stream.read(8), "little")
        stream.seek(min(place, size))
        record = stream.read(56)
        if record[:4] != _END_64 or len(record) < 56:
            raise Refused(f"The file is no {what} that can be read: its list of parts is not there.", "Use another.")
        length, start = int.from_bytes(record[40:48], "little"), int.from_bytes(record[48:56], "little")
    if length > most * 200 or start + length > size:
        raise Refused(f"The file holds more parts than any {what}, or says so.", "Use another file.")
    stream.seek(start)
    if stream.read(length).count(b"PK\x01\x02") > most:
        raise Refused(f"The file holds more parts than any {what}.", "Use another file.")
    stream.seek(0)


def members(archive: zipfile.ZipFile, known: Callable[[str], bool], what: str) -> dict[str, zipfile.ZipInfo]:
    """The parts by name. known: whether a name is one that such a file has.

    Raises Refused for a part of another name, a link or device, one that is encrypted, a name twice, and
    parts that lie on top of each other.
    """
    found: dict[str, zipfile.ZipInfo] = {}
    for info in archive.infolist():
        if info.is_dir() and not info.file_size:
            continue  # other programs list folders as well
        mode = info.external_attr >> 16
        plain = stat.S_ISREG(mode) or stat.S_IFMT(mode) == 0
        if not plain or info.flag_bits & 1 or info.filename in found or not known(info.filename):
            raise Refused(
                f"The file holds a part that no {what} of this program has: {info.filename[:80]!r}.",
                "Do not use it unless you know where it comes from.",
            )
        found[info.filename] = info
    reached = 0
    for info in sorted(found.values(), key=lambda i: i.header_offset):
        if info.header_offset < reached:
            raise Refused("Parts of the file lie on top of each other.", "Do not use it.")
        reached = info.header_offset + info.compress_size
    return found


def blocks(archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> Iterator[bytes]:
    """The bytes of a part, no further than the size it states. Raises Damaged where it is of another size."""
    left = info.file_size
    try:
        with archive.open(info) as source:
            while block := source.read(min(_BLOCK, left + 1)):
                left -= len(block)
                if left < 0:
                    break
                yield block
    except _NONSENSE as trouble:
        raise Damaged(f"'{info.filename}' cannot be unpacked: {trouble}.", "Use another file.") from None
    if left:
        raise Damaged(f"'{info.filename}' is of another size than it says.", "Use another file.")
