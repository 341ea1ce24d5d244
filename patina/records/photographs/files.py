"""Photographs as files: untouched, each under the SHA-256 of its bytes, written so that none is ever half there."""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
from collections.abc import Iterator
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Protocol

from patina.errors import Damaged, NotFound, StudioTrouble

_NAME = re.compile(r"[0-9a-f]{64}")
_BLOCK = 1 << 20
MISSING = "is missing"
CHANGED = "is not what it was: its bytes have changed"


class Photographs(Protocol):
    """Where a studio's photographs lie: a folder, or a store that is reached over the network."""

    @property
    def where(self) -> str:
        """The folder or the address, as shown."""

    def keep(self, source: Path) -> str:
        """Take a file in and return its hash; it is there, whole, before this returns."""

    def keep_bytes(self, content: Iterator[bytes]) -> str:
        """The same for blocks of bytes."""

    def existing(self, sha256: str) -> Path:
        """A file on this machine with the photograph's bytes. Raises Damaged where it is gone."""

    def size(self, sha256: str) -> int | None:
        """Bytes of the stored photograph, None where it is missing."""

    def fault(self, sha256: str, size: int) -> str | None:
        """What is wrong with the stored photograph, read through to its last byte; None for nothing."""

    def strays(self, known: AbstractSet[str]) -> Iterator[str]:
        """Names of files there that belong to none of the known photographs, or lie in a wrong place."""


def require_hash(sha256: str) -> str:
    """The hash, if it is one. Raises NotFound."""
    if not _NAME.fullmatch(sha256):
        raise NotFound(f"'{sha256}' is not the SHA-256 of a photograph.", "Give its 64 hexadecimal figures.")
    return sha256


@dataclass(frozen=True)
class PhotographFiles:
    """The folder of photographs: ``ab/abcdef…`` with the first two figures as sub-folder."""

    folder: Path

    def path(self, sha256: str) -> Path:
        """Where a photograph of that hash lies or would lie. Raises NotFound for what is no hash."""
        return self.folder / require_hash(sha256)[:2] / sha256

    @property
    def where(self) -> str:
        """The folder."""
        return str(self.folder)

    def keep(self, source: Path) -> str:
        """Copy a file in and return its hash. The bytes are on disk before this returns.

        Raises NotFound where the source cannot be read, StudioTrouble where the folder cannot be
        written or the disk is full; then nothing is left behind.
        """
        with source_file(source) as stream:
            try:
                return self._keep(iter(lambda: stream.read(_BLOCK), b""))
            except OSError as trouble:
                raise StudioTrouble(
                    f"The photograph could not be stored: {trouble.strerror}.",
                    "Make room on the disk, check that the studio folder may be written, and add it again.",
                    title="The photograph was not stored",
                ) from None

    def keep_bytes(self, content: Iterator[bytes]) -> str:
        """Store what the blocks add up to and return its hash. Raises OSError as the system says it."""
        return self._keep(content)

    def _keep(self, blocks: Iterator[bytes]) -> str:
        self.folder.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=".incoming-", dir=self.folder)
        aside = Path(name)
        try:
            digest = hashlib.sha256()
            with os.fdopen(handle, "wb") as out:
                for block in blocks:
                    digest.update(block)
                    out.write(block)
                out.flush()
                os.fsync(out.fileno())
            sha256 = digest.hexdigest()
            place = self.path(sha256)
            if place.exists() and place.stat().st_size == aside.stat().st_size:
                return sha256
            place.parent.mkdir(exist_ok=True)
            aside.chmod(0o444)  # nothing has a reason to write to it again
            aside.replace(place)
            _sync_folder(place.parent)
            _sync_folder(self.folder)
            return sha256
        finally:
            aside.unlink(missing_ok=True)

    def existing(self, sha256: str) -> Path:
        """The path of a photograph that must be there. Raises Damaged where its file is gone."""
        path = self.path(sha256)
        if not path.is_file():
            raise Damaged(
                f"The file of photograph {sha256[:12]}… is missing from the studio.",
                "Restore it from a backup; patina check lists all that is missing.",
            )
        return path

    def size(self, sha256: str) -> int | None:
        """Bytes of the stored photograph, None where it is missing."""
        path = self.path(sha256)
        return path.stat().st_size if path.is_file() else None

    def fault(self, sha256: str, size: int) -> str | None:
        """What is wrong with the stored photograph, read through to its last byte; None for nothing."""
        path = self.path(sha256)
        try:
            if path.is_symlink() or not path.is_file():
                return MISSING
            return None if path.stat().st_size == size and sha256_of(path) == sha256 else CHANGED
        except OSError as trouble:
            return f"cannot be read: {trouble.strerror}"

    def strays(self, known: AbstractSet[str]) -> Iterator[str]:
        """Names of files there that belong to none of the known photographs, or lie in a wrong place."""
        for path in self.all():
            if path.name not in known or path != self.path(path.name):
                yield str(path.relative_to(self.folder))

    def all(self) -> Iterator[Path]:
        """Every file under the folder, in order of name."""
        if self.folder.is_dir():
            yield from sorted(p for p in self.folder.rglob("*") if p.is_file() or p.is_symlink())


def source_file(source: Path) -> BinaryIO:
    """A photograph's file, open to be taken in. Raises NotFound where it cannot be read."""
    try:
        return source.open("rb")
    except OSError as trouble:
        raise NotFound(
            f"'{source.name}' cannot be read: {trouble.strerror}.", "Check the path and the file's permissions."
        ) from None


def sha256_of(path: Path) -> str:
    """SHA-256 of a file's bytes, in hexadecimal."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _sync_folder(folder: Path) -> None:
    """Make a new name in a folder survive a power cut, where the system lets a folder be synchronised."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def folder_for_url(url: str) -> Path:
    """Where photographs lie beside a database that is no folder and names no place: in the user's data folder."""
    from platformdirs import user_data_path

    return user_data_path("patina", appauthor=False) / "photographs" / hashlib.sha256(url.encode()).hexdigest()[:12]
