"""Every message that the source can show, read off it.

``python -m patina.language.templates de`` adds new messages to the PO files of a language and marks
those that are gone as obsolete; a person then translates what is empty.
"""

from __future__ import annotations

import ast
import csv
import re
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
HERE = Path(__file__).parent
# PO file -> the rooms whose messages stand in it
FILES = {
    "screens": ("tui",),
    "words": (
        "patina/sheets",
        "patina/errors.py",
        "patina/units.py",
        "patina/recipe_file.py",
        "patina/handbook/__init__.py",
        "patina/commands",
    ),
    "deeds": ("patina/bench", "patina/records"),
    "facts": ("patina/chemistry", "patina/safety", "patina/surface", "patina/matching", "patina/colour"),
    "papers": ("patina/reports", "patina/conservation"),
    "data": ("patina/data",),
    "commands": ("patina/cli.py", "patina/commands"),
}
# Files of facts whose columns are shown as they stand. Forms take a word in either language; commands as it is here.
_COLUMNS = {
    "advice.csv": ("text",),
    "area_causes.csv": ("text",),
    "care_triggers.csv": ("name", "note"),
    "circumstances.csv": ("words",),
    "column_words.csv": ("label",),
    "condition_scales.csv": ("meaning",),
    "condition_terms.csv": ("name", "note"),
    "difference_words.csv": ("words",),
    "documentation_asks.csv": ("wanted", "clause", "do"),
    "emissivity.csv": ("state",),
    "field_words.csv": ("words",),
    "flammable_in_water.csv": ("why",),
    "gases.csv": ("gas", "filter", "note"),
    "hazard_statements.csv": ("text",),
    "label_elements_new_classes.csv": ("text",),
    "mixing_never.csv": ("text",),
    "mixing_order.csv": ("text",),
    "old_measures.csv": ("assumption",),
    "ph_matters.csv": ("why",),
    "pictogram_names.csv": ("name", "shows"),
    "precautionary_statements.csv": ("text",),
    "reactions.csv": ("consequence", "instead"),
    "release.csv": ("why",),
    "roles.csv": ("words",),
    "runs_rules.csv": ("text",),
    "standards_scope.csv": ("covers", "instead"),
    "substance_gases.csv": ("when",),
    "substances.csv": ("name",),
    "texture_factors.csv": ("surface",),
    "unit_questions.csv": ("remedy",),
}
_NO_MESSAGES = {ROOT / "patina" / "records" / "tables" / "own_columns.py"}  # names of columns
_KINDS = ROOT / "patina" / "conservation" / "values.py"
# Calls whose texts are shown even where they are one word.
_SAYS = {
    "_a", "row", "Field", "field", "Button", "Static", "Label", "Option", "heading", "fact", "title", "text", "caution",
    "said", "notify", "_tell", "times", "Content", "ink", "Choice", "shown", "words", "Shelfful", "Column", "Heading",
}  # fmt: skip
_SHOWN_NAMES = {
    "HEADING",
    "YES",
    "NO",
    "TITLE",
    "_LIGHTNESS",
    "_HUES",
    "_ISH",
    "FIELDS",
    "LEVELS",
    "CAPTIONS",
    "LABELS",
    "_SAID",
}
# Calls whose second text is a style, and names of arguments that are never words.
_STYLED = {"ink", "words", "styled", "text"}
_SETTINGS = {"classes", "id", "style", "variant", "group", "shown", "key", "metavar", "type", "help"}
_UNIT = r"(?:m[23²³]?|[mc]m|k?g|m?L|°[CF]|degC|h|s|min|px|ppm|K|%|k?g/m?L|mL/m[2²]|L/m2|m3/[sh]|g/mol|bytes?)"
# What the library of the command line says by itself.
_OF_CLICK = (
    "Usage:", "Options", "Commands", "Positional arguments", "Show this message and exit.",
    "Show the version and exit.",
    "required", "default: {0}", "No such option '{0}'.", "No such command '{0}'.", "Missing command.",
    "Did you mean '{0}'?", "(Did you mean one of: {0}?).", "Missing argument '{0}'.", "Missing option '{0}'.",
    "Choose from:", "Invalid value for '{0}': {1}", "'{0}' is not one of {1}.", "'{0}' is not a valid {1}.",
    "{0} is not in the range {1}.", "File '{0}' does not exist.", "Directory '{0}' does not exist.",
    "Path '{0}' does not exist.", "File '{0}' is a directory.", "Directory '{0}' is a file.",
    "File '{0}' is not readable.", "Directory '{0}' is not readable.", "Path '{0}' is not readable.",
    "Got unexpected extra argument ({0}).", "Got unexpected extra arguments ({0}).",
    "Option '{0}' requires an argument.", "Option '{0}' requires {1} arguments.", "Option '{0}' does not take a value.",
    "Argument '{0}' takes {1} values.", "integer", "integer range", "float", "float range",
)  # fmt: skip
# Words that come out of records and data files and stand on the screens as they are.
_FROM_RECORDS = {
    "tui": (
        "Danger", "Warning", "waxed", "unwaxed", "lacquered", "wet", "warm", "instrument", "photograph", "expired",
        "released", "draft", "withdrawn", "agreed", "open", "ended", "cast", "tile", "piece", "recipe", "pot", "lot",
        "reading", "treatment", "master", "substance", "received", "taken", "as written", "today", "none",
        "cold", "hot", "Wear", "Waste", "prepare", "heat", "apply", "dwell", "rinse", "neutralise", "dry", "scrub",
        "lacquer", "buff", "read", "torch", "cold brush", "spray", "stipple", "immersion", "fume", "oven", "whole",
        "Space", "Arrows", "reference", "sample", "lighter", "darker", "redder", "greener", "yellower", "bluer",
        "duller", "stronger", "more vivid", "identification", "authority", "examination", "condition", "proposal",
        "tests", "log", "salts", "protection", "images", "care", "report", "unnamed", "middle", "spread",
        "Methods", "asked {0}",
    )
}  # fmt: skip
# Files that speak to a database server alone.
_TO_A_SERVER = {ROOT / "patina" / "records" / "access" / "views.py"}
_NOT_WORDS = re.compile(
    r"^[^A-Za-zÀ-ÿ]*$|^[#$.&\\]|^%[YmdH]|^[a-z_]+\(|[{;]\s*[\w-]+:\s[^;{}]*[;}]|^SELECT|^(?![A-Z][a-z]+/[a-z]+$)[\w./-]+/[\w./-]+$|\b(?:SELECT|WHERE)\b"
    r"|^(?:CREATE|GRANT|REVOKE|DROP|ALTER) (?:[A-Z]|\{)|^CREATE SCHEMA"  # told to a database server
    r"|^bold\b|\[@click=|'unsafe-inline'|^\[?\\|\\f[BIR]|\(\?:|\]\+"
    rf"|^(?:\d[\d.,]*|\{{0\}}) ?{_UNIT}$"
    r"|^(?=.*[a-z][A-Z])[A-Z]\w+(?: [A-Z]\w+)*$"  # names of classes in a row
)


def templates(paths: tuple[str, ...]) -> dict[str, str]:
    """Messages of files and folders, each with where it stands first."""
    found: dict[str, str] = {}
    if paths == FILES["data"]:
        return _of_data()
    if paths == FILES["commands"]:
        return _of_commands()
    for name in paths:
        found |= dict.fromkeys(_FROM_RECORDS.get(name, ()), f"{name}:1")
        path = ROOT / name
        files = sorted(path.rglob("*.py")) if path.is_dir() else [path]
        for file in (f for f in files if f not in _NO_MESSAGES):
            if file in _TO_A_SERVER:
                continue
            tree = ast.parse(file.read_text("utf-8"))
            for message, line in [*_messages(tree), *(_kinds(tree) if file == _KINDS else ())]:
                found.setdefault(message, f"{file.relative_to(ROOT)}:{line}")
    return found


def _kinds(tree: ast.Module) -> Iterator[tuple[str, int]]:
    """What each kind of part is: the first sentence that stands in its class; and the words its fields offer."""
    for node in tree.body:
        if isinstance(node, ast.ClassDef):
            yield (ast.get_docstring(node) or "").split(".")[0], node.lineno
        elif isinstance(node, ast.Assign):
            parts = (part for part in ast.walk(node.value) if isinstance(part, ast.Constant))
            for part in parts:
                if isinstance(part.value, str) and re.search(r"[a-z]{2}", part.value):
                    yield part.value, part.lineno


def _of_data() -> dict[str, str]:
    """Texts of the files of facts; named gaps of theirs become numbered ones."""
    found: dict[str, str] = {}
    for name, columns in _COLUMNS.items():
        lines = (ROOT / "patina" / "data" / name).read_text("utf-8").splitlines()
        for row in csv.DictReader(line for line in lines if not line.startswith("#")):
            for column in columns:
                gaps: dict[str, str] = {}
                words = re.sub(
                    r"\{[a-z]+\}",
                    lambda gap, gaps=gaps: gaps.setdefault(gap[0], f"{{{len(gaps)}}}"),
                    row.get(column) or "",
                )
                parts = words.split("; ") if column == "clause" else ()  # on paper each stands in a line of its own
                for said in (words.strip(), *parts):
                    if re.search(r"[A-Za-z]{2,}", said):
                        found.setdefault(said, f"patina/data/{name}:1")
    return found


def _of_commands() -> dict[str, str]:
    """Texts of ``--help``: what each command, option and argument is for, and what the library says by itself."""
    cli, folder = (ROOT / name for name in FILES["commands"])
    found: dict[str, str] = {}
    for file in [cli, *sorted(folder.glob("*.py"))]:
        tree = ast.parse(file.read_text("utf-8"))
        where = str(file.relative_to(ROOT))
        found |= {words: f"{where}:{line}" for words, line in _help_texts(tree) if words not in found}
        if file == cli:
            found |= {words: f"{where}:{line}" for words, line in _messages(tree) if words not in found}
    return found | dict.fromkeys(_OF_CLICK, "the library of the command line:1")


def _help_texts(tree: ast.Module) -> Iterator[tuple[str, int]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and any(_makes_a_command(d) for d in node.decorator_list):
            yield ast.get_docstring(node) or "", node.lineno
        if isinstance(node, ast.Call):
            for given in node.keywords:
                if given.arg == "help" and isinstance(given.value, ast.Constant) and isinstance(given.value.value, str):
                    yield given.value.value, node.lineno


def _makes_a_command(decorator: ast.expr) -> bool:
    return isinstance(decorator, ast.Call) and getattr(decorator.func, "attr", "") in ("command", "group")


def _messages(tree: ast.Module) -> Iterator[tuple[str, int]]:
    skipped = _docstrings(tree) | _inside_f_strings(tree) | _never_shown(tree)
    single = _single_words(tree)
    yield from _counted(tree)
    for node in ast.walk(tree):
        if id(node) in skipped:
            continue
        message = _message(node)
        if message and (" " in message.strip() or id(node) in single) and not _NOT_WORDS.search(message):
            yield message.strip(), getattr(node, "lineno", 0)


def _message(node: ast.AST) -> str:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        gaps = iter(range(10))
        parts = [str(v.value) if isinstance(v, ast.Constant) else f"{{{next(gaps, 9)}}}" for v in node.values]
        words = "".join(parts)
        return words if re.search(r"[A-Za-z]{2,}", re.sub(r"\{\d\}", "", words)) else ""
    return ""


def _docstrings(tree: ast.Module) -> set[int]:
    owners = (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)
    nodes = [n for n in ast.walk(tree) if isinstance(n, owners) and n.body]
    return {id(n.body[0].value) for n in nodes if isinstance(n.body[0], ast.Expr)}


def _inside_f_strings(tree: ast.Module) -> set[int]:
    """The literal pieces of f-strings, which belong to the whole; texts within their gaps stand alone."""
    return {id(v) for n in ast.walk(tree) if isinstance(n, ast.JoinedStr) for v in n.values} | {
        id(v.format_spec) for n in ast.walk(tree) if isinstance(n, ast.JoinedStr) for v in n.values
        if isinstance(v, ast.FormattedValue) and v.format_spec is not None
    }  # fmt: skip


def _never_shown(tree: ast.Module) -> set[int]:
    """Keys, styles, names and the like, by the place where they are given."""
    found: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            name = getattr(node.func, "attr", getattr(node.func, "id", ""))
            given = node.args[:3] if name in ("_a", "row") else node.args[1:2] if name in _STYLED else []
            given += [k.value for k in node.keywords if k.arg in _SETTINGS]
            found |= {id(a) for a in given} | (_counted_words(node) if name == "times" else set())
            if name == "AttributeError":  # told to programmers
                found |= {id(a) for a in node.args}
    return found


def _counted_words(call: ast.Call) -> set[int]:
    return {id(a) for a in call.args[1:]}


def _counted(tree: ast.Module) -> Iterator[tuple[str, int]]:
    """Counts with their noun: ``times(3, "pass", "passes")`` is shown as "3 passes"."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and getattr(node.func, "attr", getattr(node.func, "id", "")) == "times":
            nouns = [a.value for a in node.args[1:] if isinstance(a, ast.Constant) and isinstance(a.value, str)]
            if nouns and nouns[0]:
                many = nouns[1] if len(nouns) > 1 else nouns[0] + "s"
                yield f"{{0}} {nouns[0]}", node.lineno
                yield f"{{0}} {many}", node.lineno


def _single_words(tree: ast.Module) -> set[int]:
    """Texts of calls that show what they are given, and of names that are shown."""
    found: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            name = getattr(node.func, "attr", getattr(node.func, "id", ""))
            if name in _SAYS and not (name == "Column" and isinstance(node.func, ast.Attribute)):  # of a database
                given = (
                    node.args[3:5]
                    if name in ("_a", "row")
                    else node.args[1:3]
                    if name in ("Field", "field")
                    else node.args[:1]
                    if name == "Column"
                    else node.args
                )
                found |= {id(a) for a in given}
        if isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            if any(getattr(t, "id", "") in _SHOWN_NAMES for t in targets) and node.value is not None:
                found |= {id(part) for part in ast.walk(node.value)}
    return found


def bring_up_to_date(language: str) -> dict[str, tuple[int, int]]:
    """Add new messages to the PO files. Returns per file how many there are and how many are empty."""
    import polib

    counted = {}
    for name, paths in FILES.items():
        path = HERE / language / f"{name}.po"
        path.parent.mkdir(exist_ok=True)
        book = polib.pofile(str(path)) if path.exists() else polib.POFile(wrapwidth=0)
        book.metadata = {"Content-Type": "text/plain; charset=UTF-8", "Language": language}
        messages = templates(paths)
        known = {entry.msgid: entry for entry in book}
        for entry in book:
            entry.obsolete = entry.msgid not in messages
        for message, where in messages.items():
            if message not in known:
                book.append(polib.POEntry(msgid=message, comment=where.split(":")[0]))
        book.save(str(path))
        live = [e for e in book if not e.obsolete]
        counted[name] = (len(live), sum(not e.msgstr for e in live))
    return counted


if __name__ == "__main__":
    for file, (messages, empty) in bring_up_to_date(sys.argv[1]).items():
        sys.stdout.write(f"{file}.po: {messages} messages, {empty} without translation\n")
