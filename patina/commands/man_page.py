"""The man page, made from the commands themselves."""

from __future__ import annotations

from collections.abc import Iterator

import click

from patina import __version__


def man_page(root: click.Group) -> str:
    """The whole command line as a man page (troff, man macros), section 1."""
    context = click.Context(root, info_name="patina")
    lines = [
        f'.TH PATINA 1 "" "patina {__version__}" "User commands"',
        ".SH NAME",
        r"patina \- recipes, test tiles, measured colour and safety notes for people who colour bronze",
        ".SH SYNOPSIS",
        r".B patina",
        r"[\-\-studio \fIWHERE\fR] [\fICOMMAND\fR ...]",
        ".SH DESCRIPTION",
        _text(root.help or ""),
        ".SH OPTIONS",
        *_options(root, context),
        ".SH COMMANDS",
    ]
    for name, command, inner in _commands(root, context):
        lines += [f".SS {_text(name)}", ".B " + _text(f"{name} {' '.join(command.collect_usage_pieces(inner))}")]
        lines += [".PP", _text(" ".join((command.help or "").split())), *_options(command, inner)]
    lines += [
        ".SH EXIT STATUS",
        "0 done; 2 a trouble that has a name, told on standard error; 1 a defect of the program.",
        ".SH ENVIRONMENT",
        ".TP\n.B PATINA_STUDIO\nThe studio where none is named: a folder or a database URL.",
        ".TP\n.B PATINA_PHOTOGRAPHS\nWhere photographs lie, if not in the studio's folder.",
        ".TP\n.B PATINA_LANGUAGE\nen or de: the language of screens, answers, the handbook and "
        r"\-\-help; else the studio's setting. This page is in English in every language.",
        ".SH SEE ALSO",
        r"\fBpatina help\fR, the handbook.",
    ]
    return "\n".join(lines) + "\n"


def _commands(group: click.Group, context: click.Context) -> Iterator[tuple[str, click.Command, click.Context]]:
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        inner = click.Context(command, info_name=name, parent=context)
        if isinstance(command, click.Group):
            for sub, under, deeper in _commands(command, inner):
                yield f"{name} {sub}", under, deeper
        else:
            yield name, command, inner


def _options(command: click.Command, context: click.Context) -> list[str]:
    rows = []
    for parameter in command.get_params(context):
        record = parameter.get_help_record(context)
        if record is not None and record[1] and record[0] not in ("--json", "-h, --help"):
            rows.append(f".TP\n.B {_text(record[0])}\n{_text(record[1])}")
    return rows


def _text(words: str) -> str:
    safe = words.replace("\\", r"\e").replace("-", r"\-")
    return "\n".join(rf"\&{line}" if line[:1] in (".", "'") else line for line in safe.splitlines())
