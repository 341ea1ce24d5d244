"""Photographs in a store reached by an address (fsspec): S3-compatible, a share, whatever a library opens.

Every photograph lies under the SHA-256 of its bytes. It is written in one go (or beside, and then
renamed), read back and compared before anything is put on record. What was read once lies in a cache
of this machine, and is proved against its hash each time it is used. Credentials come from the
environment as the library of the store documents it: never from the address, never kept, never shown.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
import time
from collections.abc import Iterator
from collections.abc import Set as AbstractSet
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from patina.errors import Damaged, StudioTrouble
from patina.records.photographs.files import CHANGED, MISSING, require_hash, sha256_of, source_file
from patina.records.photographs.troubles import not_there, opened, store_troubles, trouble_classes, unreachable

ATTEMPTS = 3
FIRST_WAIT_S = 0.2
CACHE_BYTES = 4 << 30
_BLOCK = 1 << 20
# Stores in which an object appears whole or not at all; elsewhere a file is written beside and renamed.
_WHOLE = frozenset({"s3", "s3a", "gs", "gcs", "abfs", "az", "oss", "memory"})


@dataclass
class PhotographStore:
    """The photographs at an address such as s3://bucket/prefix. cache: folder of this machine for what was read."""

    where: str
    cache: Path
    _system: Any = field(default=None, repr=False)
    _root: str = field(default="", repr=False)

    # -- taking in -------------------------------------------------------------------------------------

    def keep(self, source: Path) -> str:
        """Take a file in and return its hash. It was read back from the store before this returns.

        Raises NotFound where the source cannot be read, StudioTrouble where the store does not answer,
        refuses, or gives back other bytes than were written.
        """
        with source_file(source) as stream:
            return self.keep_bytes(iter(lambda: stream.read(_BLOCK), b""))

    def keep_bytes(self, content: Iterator[bytes]) -> str:
        """Store what the blocks add up to and return its hash."""
        aside, sha256 = self._aside(content)
        try:
            self._put(aside, sha256)
            self._into_cache(aside, sha256)
            return sha256
        finally:
            aside.unlink(missing_ok=True)

    def _aside(self, content: Iterator[bytes]) -> tuple[Path, str]:
        try:
            self.cache.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(prefix=".incoming-", dir=self.cache)
            digest = hashlib.sha256()
            with os.fdopen(handle, "wb") as out:
                for block in content:
                    digest.update(block)
                    out.write(block)
        except OSError as trouble:
            raise StudioTrouble(
                f"The cache of photographs in '{self.cache}' cannot be written: {trouble.strerror}.",
                "Make room on the disk of this machine and add the photograph again.",
                title="The photograph was not stored",
            ) from None
        return Path(name), digest.hexdigest()

    def _put(self, aside: Path, sha256: str) -> None:
        """Write and read back, a few times if need be. Raises StudioTrouble."""
        wait = FIRST_WAIT_S
        for attempt in range(1, ATTEMPTS + 1):
            try:
                if self._digest(sha256) == sha256:
                    return
                self._write(aside, sha256)
                if self._digest(sha256) == sha256:
                    return
            except trouble_classes() as trouble:
                if attempt == ATTEMPTS or isinstance(trouble, PermissionError):
                    raise unreachable(self.where, trouble, "The photograph was not stored") from None
            time.sleep(wait)
            wait *= 2
        raise StudioTrouble(
            f"The store of photographs '{self.where}' gave back other bytes than were written.",
            "Nothing was put on record. Look at the store, then add the photograph again.",
            title="The photograph was not stored",
        )

    def _write(self, aside: Path, sha256: str) -> None:
        system, place = self._opened(), self._place(sha256)
        if self.where.partition("://")[0] in _WHOLE:
            system.put_file(str(aside), place)
            return
        beside = f"{self._root}/.incoming-{os.urandom(8).hex()}"
        system.makedirs(place.rpartition("/")[0], exist_ok=True)
        try:
            system.put_file(str(aside), beside)
            system.mv(beside, place)
        finally:
            with suppress(*trouble_classes()):
                if system.exists(beside):
                    system.rm_file(beside)

    # -- reading ---------------------------------------------------------------------------------------

    def existing(self, sha256: str) -> Path:
        """The photograph in the cache, fetched there if need be. Raises Damaged where it is gone or another,
        StudioTrouble where the store does not answer."""
        place = self.cache / require_hash(sha256)[:2] / sha256
        if place.is_file() and sha256_of(place) == sha256:
            with suppress(OSError):
                os.utime(place)
            return place
        with store_troubles(self.where):
            try:
                found, aside = self._fetch(sha256)
            except FileNotFoundError:
                raise not_there(sha256, self.where) from None
        try:
            if found != sha256:
                raise Damaged(
                    f"The photograph {sha256[:12]}… in '{self.where}' is not what it was.",
                    "Restore it from a backup; patina check lists all that is damaged.",
                )
            return self._into_cache(aside, sha256)
        finally:
            aside.unlink(missing_ok=True)

    def _fetch(self, sha256: str) -> tuple[str, Path]:
        with self._opened().open(self._place(sha256), "rb") as stream:
            aside, found = self._aside(iter(lambda: stream.read(_BLOCK), b""))
        return found, aside

    def size(self, sha256: str) -> int | None:
        """Bytes of the stored photograph, None where it is missing. Raises StudioTrouble."""
        with store_troubles(self.where):
            try:
                return int(self._opened().info(self._place(sha256))["size"])
            except FileNotFoundError:
                return None

    def fault(self, sha256: str, size: int) -> str | None:
        """What is wrong with the stored photograph; it is read from the store, not from the cache."""
        with store_troubles(self.where):
            found = self._digest(sha256)
        return MISSING if found is None else None if found == sha256 else CHANGED

    def strays(self, known: AbstractSet[str]) -> Iterator[str]:
        """Names of files there that belong to none of the known photographs, or lie in a wrong place."""
        with store_troubles(self.where):
            system = self._opened()
            names = sorted(system.find(self._root)) if system.exists(self._root) else []
        for name in names:
            own = name.rpartition("/")[2]
            if own not in known or name.strip("/") != self._place(own).strip("/"):
                yield name.strip("/").removeprefix(self._root.strip("/")).strip("/")

    def _digest(self, sha256: str) -> str | None:
        """The hash of what lies there now, None where nothing does."""
        digest = hashlib.sha256()
        try:
            with self._opened().open(self._place(sha256), "rb") as stream:
                while block := stream.read(_BLOCK):
                    digest.update(block)
        except FileNotFoundError:
            return None
        return digest.hexdigest()

    # -- places ----------------------------------------------------------------------------------------

    def _opened(self) -> Any:
        if self._system is None:
            self._system, self._root = opened(self.where)
        return self._system

    def _place(self, sha256: str) -> str:
        self._opened()
        return f"{self._root}/{require_hash(sha256)[:2]}/{sha256}"

    def _into_cache(self, aside: Path, sha256: str) -> Path:
        place = self.cache / sha256[:2] / sha256
        place.parent.mkdir(exist_ok=True)
        aside.replace(place)
        self._keep_small(place)
        return place

    def _keep_small(self, newest: Path) -> None:
        """The cache stays below its bound; what was not looked at for longest goes first."""
        files: list[tuple[float, int, Path]] = []
        for path in self.cache.glob("??/*"):
            with suppress(OSError):
                stat = path.stat()
                files.append((stat.st_mtime, stat.st_size, path))
        total = sum(size for _, size, _ in files)
        for _, size, path in sorted(files):
            if total <= CACHE_BYTES:
                break
            if path != newest:
                path.unlink(missing_ok=True)
                total -= size


def cache_for(address: str) -> Path:
    """Where this machine keeps what it read from a store."""
    from platformdirs import user_cache_path

    own = hashlib.sha256(address.encode()).hexdigest()[:12]
    return user_cache_path("patina", appauthor=False) / "photographs" / own
