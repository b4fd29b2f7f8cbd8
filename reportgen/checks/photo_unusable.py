"""A photograph cannot be used.

Photographs are JPEG, PNG or WebP files inside the archive, named so, of 20 MB and 40 million pixels at most,
24 a record. What lies elsewhere, also through a link, is not opened; what is too large is not
decoded. The record is printed without such a picture.

Fix: put a copy of the picture into the archive, for example under photos/, scaled down if need be
Source: common practice, no source
Passes:
    brew_day: {date: 2026-03-14}
Fails:
    photos: [{file: ../elsewhere.jpg, caption: The mash}]
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.photos import MOST_PHOTOS, BadPhoto, meant, photograph

GROUP = Group.RECORD
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Remarks:
    """Open each photograph as the record does."""
    for number, photo in enumerate(batch.record.photos):
        if number >= MOST_PHOTOS:
            yield Remark(
                photo.file.position, f"{len(batch.record.photos)} photographs",
                f"{MOST_PHOTOS} or fewer", "keep the best of them",
            )
            return
        try:
            photograph(batch.archive.root, str(photo.file))
        except ModuleNotFoundError:
            # Where nothing is printed there is no library to open it with: its place and its size
            # have been looked at.
            continue
        except BadPhoto as why:
            name = meant(batch.archive.root, str(photo.file))
            yield Remark(
                photo.file.position, f"`{photo.file}` {why}",
                "a picture in the archive, named from the archive's folder",
                f"did you mean `{name}`?" if name and name != str(photo.file) else why.remedy,
            )
