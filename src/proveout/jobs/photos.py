"""Photos from the floor, kept under the digest of their bytes, once each."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import BinaryIO

from proveout.jobs.packets import HasPlans
from proveout.jobs.taking_in import not_written
from proveout.jobs.whole_files import write_whole
from proveout.model.batch_events import fingerprinted
from proveout.quantities.errors import BadInput, Unreadable

PHOTOS = "photos"
MB = 1024 * 1024
PHOTO_MOST_BYTES = 12 * MB
KINDS = {"jpg": "image/jpeg", "png": "image/png", "webp": "image/webp"}
JPEG_BEGIN, JPEG_END, PNG_BEGIN = b"\xff\xd8\xff", b"\xff\xd9", b"\x89PNG\r\n\x1a\n"


def keep_photo(home: HasPlans, content: BinaryIO) -> str:
    """Keep a photo below the plans; its digest. The same one given again is kept once.

    Raises:   Unreadable for what is no photo, is too large or cut short, and when the disk does not take it.
    """
    given = content.read(PHOTO_MOST_BYTES + 1)
    if len(given) > PHOTO_MOST_BYTES:
        raise Unreadable("The photo is too large", where="photo", value=f"more than {PHOTO_MOST_BYTES // MB} MB",
                         limit=f"{PHOTO_MOST_BYTES // MB} MB", do="take it with fewer pixels")  # fmt: skip
    ending = _kind_of(given)
    if not ending:
        raise Unreadable("This is no photo", where="photo", limit="JPEG, PNG or WebP, whole", do="take the photo again")
    digest = hashlib.sha256(given).hexdigest()
    folder = home.plans / PHOTOS
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / f"{digest}.{ending}"
        if not path.is_file():
            write_whole(path, given, is_lasting=True)
    except OSError as fault:
        raise not_written(fault, where="photo") from fault
    return digest


def photo_path(home: HasPlans, digest: str) -> tuple[Path, str]:
    """Where a photo lies, and its content type.

    Raises:   BadInput for no digest, or where there is no such photo.
    """
    fingerprinted(digest, where="photo")
    for ending, kind in KINDS.items():
        path = home.plans / PHOTOS / f"{digest}.{ending}"
        if path.is_file():
            return path, kind
    raise BadInput("There is no such photo", where="photo", value=digest)


def _kind_of(given: bytes) -> str:
    """The ending of a photo by its bytes, empty for anything else: a name says nothing."""
    if given.startswith(JPEG_BEGIN) and JPEG_END in given[-4096:]:
        return "jpg"
    if given.startswith(PNG_BEGIN) and b"IEND" in given[-64:]:
        return "png"
    if given[:4] == b"RIFF" and given[8:12] == b"WEBP" and int.from_bytes(given[4:8], "little") + 8 == len(given):
        return "webp"
    return ""
