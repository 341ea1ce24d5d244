"""Images of a treatment: which pairs belong together, and what is said of them that speaks against comparing."""

from __future__ import annotations

from dataclasses import dataclass

from patina.conservation.record import Kept, Record
from patina.conservation.values import IN_FRAME, Image


@dataclass(frozen=True, slots=True)
class ImagePair:
    """Two images of one view, before and after. cautions: what the record itself says that differs; the
    photographs are compared apart (see ``compare_images``)."""

    view: str
    before: Kept[Image]
    after: Kept[Image]
    cautions: tuple[str, ...]


def image_pairs(record: Record) -> tuple[ImagePair, ...]:
    """For each view the last image before and the last image after treatment, in the order of the views."""
    pairs = []
    for view in dict.fromkeys(i.value.view.casefold() for i in record.images):
        of_view = [i for i in record.images if i.value.view.casefold() == view]
        before = [i for i in of_view if i.value.role == "before"]
        after = [i for i in of_view if i.value.role == "after"]
        if before and after:
            pairs.append(ImagePair(of_view[0].value.view, before[-1], after[-1], said_to_differ(before[-1], after[-1])))
    return tuple(pairs)


def said_to_differ(before: Kept[Image], after: Kept[Image]) -> tuple[str, ...]:
    """What the record says of two images that differs."""
    one, other = before.value, after.value
    cautions = []
    if one.light != other.light:
        cautions.append(f"The light is another: {one.light or 'not said'} and {other.light or 'not said'}.")
    if one.position.casefold() != other.position.casefold():
        cautions.append(f"The camera stood elsewhere: {one.position or 'not said'}; {other.position or 'not said'}.")
    for what in IN_FRAME:
        if (what in one.in_frame) != (what in other.in_frame):
            role = "after" if what in one.in_frame else "before"
            cautions.append(f"The image {role} treatment does not show: {what}.")
    return tuple(cautions)
