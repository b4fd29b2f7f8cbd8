"""Photographs of the record, as they are placed: inside the page, not beside it."""

from __future__ import annotations

import base64
from typing import NamedTuple

from reportgen.assessment.assess import Assessment
from reportgen.photos import MOST_PHOTOS, BadPhoto, photograph

JPEG = "data:image/jpeg;base64,"


class PhotoView(NamedTuple):
    """One photograph: the picture itself as an address, what it shows, its file."""

    source: str
    alternative: str
    caption: str
    file: str


def photo_views(assessment: Assessment) -> tuple[PhotoView, ...]:
    """Return the photographs that can be used; a check says what is wrong with the others."""
    views = []
    for photo in assessment.record.photos[:MOST_PHOTOS]:
        try:
            picture = photograph(assessment.archive.root, str(photo.file))
        except BadPhoto:
            continue
        source = JPEG + base64.b64encode(picture.data).decode("ascii")
        views.append(
            PhotoView(
                source, str(photo.alternative or photo.caption), str(photo.caption),
                str(photo.file),
            )
        )  # fmt: skip
    return tuple(views)
