"""When the last whole backup was made, and whether another is due."""

from __future__ import annotations

import contextlib
import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

from patina.bench.studio import Studio
from patina.errors import BadQuantity
from patina.sheets.upkeep import BackupDue

LAST_BACKUP = "last_backup"
BACKUP_DAYS = "backup_days"


def remember_backup(studio: Studio, file: Path) -> None:
    """Keep when and where a whole backup was made: beside a studio in a folder, within one on a server.

    Not within the database of a folder, so that two backups of one studio are the same to the last byte.
    """
    said = json.dumps({"at": datetime.now(UTC).isoformat(), "file": str(file.absolute())})
    if studio.store.folder is None:
        studio.set_setting(LAST_BACKUP, said)
        return
    with contextlib.suppress(OSError):  # the backup is made; only the reminder would come too early
        (studio.store.folder / f"{LAST_BACKUP}.json").write_text(said, encoding="utf-8")


def change_backup_days(studio: Studio, days: int) -> None:
    """Ask for a backup every so many days; 0 for none. Raises BadQuantity."""
    if not 0 <= days <= 3650:
        raise BadQuantity(f"A backup every {days} days cannot be asked for.", "Give 1 to 3650 days, or 0 for none.")
    studio.set_setting(BACKUP_DAYS, str(days) if days else "")


def backup_due(studio: Studio, *, now: datetime | None = None) -> BackupDue:
    """Whether the last whole backup is older than the studio's setting allows. now: UTC, None for this moment."""
    kept = studio.setting(BACKUP_DAYS)
    days = int(kept) if kept.isdecimal() else 0
    at, file = _last_backup(studio)
    when = f"The last whole backup is of {at:%Y-%m-%d %H:%M} UTC ({file})." if at else "No whole backup is known."
    if not days:
        said = f"{when} Nobody asked to be reminded."
        return BackupDue(False, 0, at, f"{said} To be reminded: patina setting backup-days 7.", said, file)
    due = at is None or (now or datetime.now(UTC)) - at > timedelta(days=days)
    said = f"{when} One is wanted every {days} days."
    return BackupDue(due, days, at, f"{said} Make one: patina backup FILE." if due else said, said, file)


def _last_backup(studio: Studio) -> tuple[datetime | None, str]:
    try:
        if studio.store.folder is None:
            said = json.loads(studio.setting(LAST_BACKUP) or "{}")
        else:
            said = json.loads((studio.store.folder / f"{LAST_BACKUP}.json").read_text(encoding="utf-8"))
        return datetime.fromisoformat(said["at"]), str(said["file"])
    except (OSError, ValueError, KeyError, TypeError):
        return None, ""
