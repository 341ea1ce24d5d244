"""`patina photographs`: where the photographs lie, and taking them to another folder or store."""

from __future__ import annotations

import sys

import click

from patina.commands.common import common, say, the_studio, times


@click.command()
@click.option("--move", "place", metavar="PLACE", help="A folder, or an address such as s3://bucket/prefix.")
@common
def photographs(place: str | None, studio: str | None, as_json: bool) -> None:
    """Say where the photographs lie, or copy them to PLACE, prove them there and keep them there.

    Credentials of a store come from its own environment variables (for S3 AWS_ACCESS_KEY_ID,
    AWS_SECRET_ACCESS_KEY and AWS_ENDPOINT_URL); they are neither kept nor shown.
    """
    from patina.bench.photo_places import move_photographs, where_photographs_are

    def tell(done: int, of: int, name: str) -> None:
        if not as_json and sys.stderr.isatty():
            sys.stderr.write(f"\r{done} of {of}  {name}")

    with the_studio(studio) as opened:
        if place is None:
            found = where_photographs_are(opened)
            say(as_json, found, f"{times(found['photographs'], 'photograph')} in {found['where']}.")
            return
        found = move_photographs(opened, place, tell)
    text = f"{times(found['photographs'], 'photograph')} now in {found['where']}, {found['copied']} copied and proved."
    say(as_json, found, f"{text}\nThose in {found['before']} were left there; delete them when patina check is clean.")
