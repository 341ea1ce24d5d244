"""The side door: commands for scripts, spreadsheets and tests.

Each command lives in ``patina.commands`` and is imported when it is called, so that ``patina``
alone reaches the screens quickly. This module holds the one broad error door of the command line.
"""

from __future__ import annotations

import contextlib
import errno
import importlib
import io
import json
import logging
import os
import sys
import warnings
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

import click

from patina import __version__
from patina.commands.help_words import Context, Group, choose_language
from patina.errors import PatinaError
from patina.language import read_as, shown

COMMANDS = {
    "salvage": "patina.commands.upkeep:salvage",
    "amend": "patina.commands.history:amend",
    "seal": "patina.commands.history:seal",
    "people": "patina.commands.people:people",
    "withhold": "patina.commands.people:withhold",
    "withheld": "patina.commands.people:withheld",
    "drafts": "patina.commands.people:drafts",
    "owner": "patina.commands.owner:owner",
    "owner-care": "patina.commands.owner:owner_care",
    "give": "patina.commands.owner:give",
    "given": "patina.commands.owner:given",
    "back": "patina.commands.owner:back",
    "transfer-list": "patina.commands.owner:transfer_list",
    "withdraw": "patina.commands.history:withdraw",
    "undo": "patina.commands.history:undo",
    "history": "patina.commands.history:history",
    "agree": "patina.commands.agreeing:agree",
    "approve": "patina.commands.agreeing:approve",
    "air": "patina.commands.air:air",
    "archive": "patina.commands.archiving:archive",
    "area": "patina.commands.area:area",
    "backup": "patina.commands.upkeep:backup",
    "bill": "patina.commands.billing:bill",
    "care": "patina.commands.treating_care:care",
    "bring": "patina.commands.bringing:bring",
    "bring-photographs": "patina.commands.bringing:bring_photographs",
    "change": "patina.commands.colour:change",
    "chart": "patina.commands.setting:chart",
    "check": "patina.commands.upkeep:check",
    "compare": "patina.commands.colour:compare",
    "dangers": "patina.commands.air:dangers",
    "demo": "patina.commands.screens:demo",
    "export": "patina.commands.records:export",
    "exposure": "patina.commands.exposure:exposure",
    "help": "patina.commands.helping:help_",
    "import": "patina.commands.records:import_",
    "journal": "patina.commands.journal:journal",
    "judge": "patina.commands.matching:judge",
    "lines": "patina.commands.lines:lines",
    "list": "patina.commands.records:list_",
    "match": "patina.commands.colour:match",
    "mix": "patina.commands.mixing:mix",
    "note": "patina.commands.reproducing:note",
    "photographs": "patina.commands.photographs:photographs",
    "placard": "patina.commands.reading:placard",
    "predict": "patina.commands.predicting:predict",
    "print": "patina.commands.printing:print_",
    "read": "patina.commands.reading:read",
    "release": "patina.commands.release:release",
    "reconstruct": "patina.commands.reconstructing:reconstruct",
    "reproduce": "patina.commands.reproducing:reproduce",
    "reread": "patina.commands.rereading:reread",
    "restore": "patina.commands.upkeep:restore",
    "safety": "patina.commands.mixing:safety",
    "series": "patina.commands.series:series",
    "serve": "patina.commands.serving:serve",
    "setting": "patina.commands.setting:setting",
    "strength": "patina.commands.old:strength",
    "substance": "patina.commands.substances:substance",
    "thresholds": "patina.commands.air:thresholds",
    "treatment": "patina.commands.treating:treatment",
    "variation": "patina.commands.variation:variation",
    "waste": "patina.commands.waste:waste",
}


class _Commands(Group):
    """A group whose commands are imported when called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return sorted(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        place = COMMANDS.get(cmd_name)
        if place is None:
            return None
        module, attribute = place.split(":")
        command: click.Command = getattr(importlib.import_module(module), attribute)
        command.context_class = Context
        return command


@click.group(cls=_Commands, invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.option(
    "--studio",
    metavar="WHERE",
    help="The studio: a folder or a database URL (else PATINA_STUDIO, else the usual place).",
)
@click.option("--as", "as_name", metavar="NAME", help="Who is at work (else PATINA_AS, else as this machine knows).")
@click.version_option(__version__, prog_name="patina")
@click.pass_context
def patina(ctx: click.Context, studio: str | None, as_name: str | None) -> None:
    """Recipes, test tiles, measured colour and safety notes for people who colour bronze.

    Without a command it opens the screens on the studio.
    """
    ctx.ensure_object(dict).update({"studio": studio, "as": as_name})
    if ctx.invoked_subcommand is None:
        from patina.commands.screens import open_screens

        open_screens(studio)


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run the command line and leave with 0 (done), 2 (a trouble that has a name) or 1 (a defect)."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    as_json = "--json" in words
    _write_everything()
    read_as()
    if as_json:
        _keep_stderr_clean()
    if not sys.warnoptions:  # a library's notes to programmers are no part of the answer
        warnings.simplefilter("ignore")
    logging.getLogger().addHandler(logging.NullHandler())  # nor what it logs
    try:
        patina.main(args=words, prog_name="patina", standalone_mode=False, obj={"words": words})
        sys.stdout.flush()
    except PatinaError as trouble:
        _tell(words, trouble.title, trouble.what, trouble.remedy)
        sys.exit(2)
    except click.exceptions.Exit as leaving:
        sys.exit(leaving.exit_code)
    except click.ClickException as trouble:
        _tell(words, "The command was not understood", _sentence(trouble.format_message()), _usage(trouble))
        sys.exit(2)
    except (click.Abort, KeyboardInterrupt):
        _tell(
            words,
            "Stopped",
            "The command was stopped before it was done.",
            "Nothing half-done was kept; run it again.",
        )
        sys.exit(2)
    except BrokenPipeError:  # whoever read has seen enough
        _drop_output()
        sys.exit(0)
    except Exception as defect:  # noqa: BLE001  the one broad door of the command line
        named = _named(words, defect)
        if named is not None:
            _drop_output()
            _tell(words, *named)
            sys.exit(2)
        _tell(
            words,
            "A defect in the program",
            f"{type(defect).__name__}: {defect}.",
            "Please report it with the command you gave.",
        )
        sys.exit(1)
    sys.exit(0)


_OF_THE_SYSTEM = {
    *(errno.EACCES, errno.EPERM, errno.EROFS, errno.ENOSPC, errno.EIO),
    *(errno.ENAMETOOLONG, errno.ELOOP, errno.EMFILE, errno.ENFILE),
}


def _named(words: Sequence[str], defect: Exception) -> tuple[str, str, str] | None:
    """Title, what and remedy of a trouble that lies in the words or the system; None for a defect of the program."""
    if isinstance(defect, UnicodeEncodeError) and any("\udc80" <= c <= "\udcff" for word in words for c in word):
        return (
            "The command was not understood",
            "A word of it holds bytes that are not text.",
            "Write names in the terminal's own encoding; give a file a plain name.",
        )
    if isinstance(defect, MemoryError):
        return (
            "Not enough memory",
            "What was given does not fit into the memory of this computer.",
            "Give a smaller file, or close other programs.",
        )
    if isinstance(defect, OSError) and defect.filename is not None and defect.errno in _OF_THE_SYSTEM:
        return (
            "A file or folder cannot be used",
            f"'{str(defect.filename)[-80:]}': {defect.strerror}.",
            "Check the name, the permissions and the disk.",
        )
    if isinstance(defect, OSError) and defect.filename is None and defect.errno in (errno.ENOSPC, errno.EIO):
        return (
            "The answer could not be written",
            f"The output was not taken: {defect.strerror}.",
            "Make room, or send the output elsewhere; what the command did, it did.",
        )
    return None


def _drop_output() -> None:
    """Send what is still to be printed nowhere, so that leaving does not fail on it."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _write_everything() -> None:
    """Let a character that the terminal's encoding lacks come out as an escape, never as an error."""
    if sys.stdout is None:  # started with its output closed
        sys.stdout = Path(os.devnull).open("w", encoding="utf-8")  # noqa: SIM115  for as long as the program runs
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _keep_stderr_clean() -> None:
    """Let only this program write to standard error: image libraries print there past Python."""
    try:
        if sys.stderr.fileno() != 2:
            return
        ours, nowhere = os.dup(2), os.open(os.devnull, os.O_WRONLY)
    except (OSError, ValueError, AttributeError):  # no standard error, or a test's own
        return
    os.dup2(nowhere, 2)
    os.close(nowhere)
    sys.stderr = os.fdopen(ours, "w", encoding="utf-8", errors="backslashreplace", buffering=1)


def _sentence(message: str) -> str:
    return message if message.endswith((".", "?", "!")) else message + "."


def _usage(trouble: click.ClickException) -> str:
    ctx = getattr(trouble, "ctx", None)
    command = ctx.command_path if ctx is not None else "patina"
    return f"See '{command} --help'."


def _tell(words: Sequence[str], title: str, what: str, remedy: str) -> None:
    as_json = "--json" in words
    if not as_json:
        choose_language({"words": words})
    text = "\n  ".join(shown(part) for part in (title, what, remedy))
    print(json.dumps({"title": title, "what": what, "remedy": remedy}) if as_json else text, file=sys.stderr)


if __name__ == "__main__":
    main()
