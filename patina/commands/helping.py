"""`patina help`: the handbook, the man page, and completion for the shell."""

from __future__ import annotations

from pathlib import Path

import click

from patina.commands.common import common, name_of_studio, say
from patina.errors import Refused
from patina.language import shown

SHELLS = ("bash", "zsh", "fish")
_HOW = "Read one with 'patina help TOPIC'; commands with 'patina COMMAND --help'."


@click.command("help")
@click.argument("words", nargs=-1, metavar="[TOPIC]")
@click.option("--html", "page", type=click.Path(path_type=Path, dir_okay=False), help="Write the handbook as one page.")
@click.option("--man", is_flag=True, help="Print the man page; save it as patina.1.")
@click.option("--completion", type=click.Choice(SHELLS), help="Print what makes the shell complete words of patina.")
@common
def help_(
    words: tuple[str, ...], page: Path | None, man: bool, completion: str | None, studio: str | None, as_json: bool
) -> None:
    """Read the handbook: its topics, or the TOPIC named."""
    if man:
        say(as_json, *_twice("man", _man()), as_it_is=True)
    elif completion:
        say(as_json, *_twice("completion", _completion(completion)), as_it_is=True)
    else:
        _handbook(words, page, studio, as_json)


def _handbook(words: tuple[str, ...], page: Path | None, studio: str | None, as_json: bool) -> None:
    from patina.bench.settings import read_as_named

    language = read_as_named(name_of_studio(studio)).language
    if page is not None:
        _write_page(page, language)
        say(as_json, {"file": str(page)}, f"The handbook is in {page}.")
        return
    language = "en" if as_json else language  # JSON is the same for every reader
    if words:
        from patina.handbook import plain, topic

        found = topic(" ".join(words), language)
        document = {"topic": found.name, "title": found.title, "text": found.text}
        say(as_json, document, plain(found.text), as_it_is=language != "en")
    else:
        _list_topics(as_json, language)


def _twice(name: str, text: str) -> tuple[dict[str, str], str]:
    return {name: text}, text


def _list_topics(as_json: bool, language: str) -> None:
    from patina.handbook import topics

    rows = [(t.name, t.title) for t in topics(language)]
    wide = max(len(name) for name, _ in [("topic", ""), *rows])
    # names are what is typed: they are the same in every language
    listed = [f"{name.ljust(wide)}  {title}" for name, title in [(shown("topic"), shown("about")), *rows]]
    text = "\n".join(listed) + "\n\n" + shown(_HOW)
    say(as_json, {"topics": [{"topic": name, "title": title} for name, title in rows]}, text, as_it_is=True)


def _man() -> str:
    from patina.commands.man_page import man_page

    return man_page(_root())


def _completion(shell: str) -> str:
    from click.shell_completion import get_completion_class

    kind = get_completion_class(shell)
    assert kind is not None
    return kind(_root(), {}, "patina", "_PATINA_COMPLETE").source()


def _root() -> click.Group:
    """The group of all commands, from which this one was called."""
    root = click.get_current_context().find_root().command
    assert isinstance(root, click.Group)
    return root


def _write_page(page: Path, language: str) -> None:
    from importlib.resources import files

    from patina.bench.saving import write_whole
    from patina.handbook.page import handbook_page

    if page.suffix.casefold() not in (".html", ".htm"):
        raise Refused(f"{page} is not named like a page.", "Give a file that ends in .html.")
    pictures = files("swatches").joinpath("screens")

    def picture(name: str) -> bytes:
        own = pictures.joinpath(language, name)
        return (own if own.is_file() else pictures.joinpath(name)).read_bytes()

    text = handbook_page(
        picture,
        language,
        heading=shown("patina: handbook"),
        contents=shown("Topics"),
    )
    write_whole(page, text.encode())
