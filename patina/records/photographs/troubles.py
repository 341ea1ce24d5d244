"""What a store of photographs says when it cannot be used, in words; and the opening of one."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from patina.errors import Damaged, StudioTrouble

TITLE = "The photographs cannot be reached"
STILL_WORKS = (
    "Recipes, tiles, casts, readings and the work go on; photographs already in this machine's cache are shown, "
    "the others and all that adds one must wait."
)
# Waiting for ever on a network that is gone would look like a program that hangs.
_S3 = {"config_kwargs": {"connect_timeout": 5, "read_timeout": 30, "retries": {"max_attempts": 1}}}


def opened(address: str) -> tuple[Any, str]:
    """The store's file system and the path in it. Raises StudioTrouble for an address that cannot be used."""
    protocol, _, rest = address.partition("://")
    if "@" in rest.partition("/")[0]:
        raise StudioTrouble(
            "The address of the photographs holds a name or password.",
            "Leave it out; the store's own environment variables hold credentials, for S3 AWS_ACCESS_KEY_ID and "
            "AWS_SECRET_ACCESS_KEY.",
            title=TITLE,
        )
    try:
        from fsspec.core import url_to_fs

        options: dict[str, Any] = {"use_listings_cache": False, "skip_instance_cache": True}
        if protocol in ("s3", "s3a"):
            options |= _S3
        system, path = url_to_fs(address, **options)
    except ImportError:
        raise StudioTrouble(
            f"Photographs at '{address}' need a library that is not installed.",
            "Install patina with its extra 'store', or the fsspec library of that kind of store.",
            title=TITLE,
        ) from None
    except ValueError as trouble:
        raise StudioTrouble(
            f"The address of the photographs '{address}' cannot be used: {trouble}.",
            "Write a folder, or for example s3://bucket/photographs.",
            title=TITLE,
        ) from None
    return system, str(path).rstrip("/")


def trouble_classes() -> tuple[type[BaseException], ...]:
    """The kinds of trouble that the store's libraries raise. Those not yet imported cannot have been raised."""
    found: list[type[BaseException]] = [OSError]
    for module, names in (("botocore.exceptions", ("BotoCoreError", "ClientError")), ("aiohttp", ("ClientError",))):
        if module.partition(".")[0] in sys.modules:
            loaded = importlib.import_module(module)
            found += [getattr(loaded, name) for name in names]
    return tuple(found)


@contextmanager
def store_troubles(where: str) -> Iterator[None]:
    """Turn what a store's library raises into a sentence. FileNotFoundError is the caller's to judge."""
    try:
        yield
    except FileNotFoundError:
        raise StudioTrouble(
            f"There is no bucket or folder '{where}'.", f"Make it, or correct its name. {STILL_WORKS}", title=TITLE
        ) from None
    except trouble_classes() as trouble:
        raise unreachable(where, trouble) from None


def unreachable(where: str, trouble: BaseException, title: str = TITLE) -> StudioTrouble:
    """The trouble in words, without what the library may have put of credentials into it."""
    name = type(trouble).__name__
    if isinstance(trouble, FileNotFoundError):
        why, remedy = "there is no such bucket or folder", "Make it, or correct its name."
    elif isinstance(trouble, PermissionError):
        why, remedy = "access is denied", "Check the rights of these credentials in the store."
    elif name in ("NoCredentialsError", "PartialCredentialsError", "TokenRetrievalError"):
        why, remedy = "no credentials were found", "Set AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY."
    else:
        why, remedy = f"it does not answer ({name})", "Check the network and the address of the store."
    return StudioTrouble(
        f"The store of photographs '{where}' cannot be used: {why}.", f"{remedy} {STILL_WORKS}", title=title
    )


def not_there(sha256: str, where: str) -> Damaged:
    """A photograph that should be in the store and is not."""
    return Damaged(
        f"The photograph {sha256[:12]}… is missing from '{where}'.",
        "Restore it from a backup; patina check lists all that is missing.",
    )
