"""What an archive is made of: names of members, spellings, bounds.  See server/ARCHIVE.md."""

from __future__ import annotations

import json
import re
from importlib import metadata
from typing import Any

FORMAT = "bagtrail-archive"
#: The version that this program writes, and the newest that it reads.
VERSION = 1
MEDIA_TYPE = "application/vnd.bagtrail.archive+zip"

MIMETYPE, ABOUT, README = "mimetype", "about.json", "README.txt"
CHANGES, RECORDS, DEVICES = "changes.jsonl", "records.jsonl", "devices.jsonl"
INTAKES = "intakes.jsonl"
CHECKSUMS = "checksums.sha256"
#: Every member but the pictures, in the order in which they are written; checksums come last.
MEMBERS = (MIMETYPE, README, ABOUT, CHANGES, RECORDS, DEVICES, INTAKES, CHECKSUMS)

EXTENSIONS = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp"}
PICTURE = re.compile(r"files/([0-9a-f]{64})\.(jpg|png|webp)")

#: Bytes of one line of JSON: a change sets at most 64 fields of 8 KiB, which JSON may spell in six
#: characters each.
LINE_MAX_BYTES = 4_000_000
ABOUT_MAX_BYTES = 1_000_000
#: Bytes of the ZIP's own directory, which readers hold in memory: some 400,000 members.
DIRECTORY_MAX_BYTES = 64_000_000
MEMBERS_MAX = 400_000
CHANGES_MAX = 5_000_000
#: Text of a history deflates to a tenth or so; what unpacks to this many times its size is none.
RATIO_MAX = 200
#: Members smaller than this may deflate as they like, in bytes.
RATIO_FROM_BYTES = 1_000_000

README_TEXT = """\
This is an archive of Bagtrail: a kit of a radio-controlled vehicle, or one person's build of it,
with its whole history and its pictures.  It is an ordinary ZIP file.  Text is UTF-8.

  about.json        what this is, who made it and when; "version" is that of this format
  records.jsonl     every record as it stood: one JSON object a line.  Begin here to read it
  changes.jsonl     the history: every change of every record, oldest first, one object a line
  devices.jsonl     the names of the devices that wrote the changes
  intakes.jsonl     what was last read from tables and manuals, by record
  files/            the pictures, named by what "blob" of a page or a photo says
  checksums.sha256  SHA-256 of every other member; check with: sha256sum -c checksums.sha256

A record says its "type" (kit, bag, part, part_line, step, note, photo ...), its "id" and its
"values".  A value that is the id of another record points at it.  "gone": it was deleted.
Lengths are in millimetres, moments in UTC.
"""


def program_version() -> str:
    """Version of this program."""
    try:
        return metadata.version("bagtrail")
    except metadata.PackageNotFoundError:
        return "unknown"


def line(value: Any) -> bytes:
    """A JSON object as one line of UTF-8."""
    try:
        return _readable(value).encode() + b"\n"
    except UnicodeEncodeError:
        # Half of a surrogate pair, in a field that only newer devices know.
        return _ascii(value).encode() + b"\n"


def parsed(text: bytes | str) -> Any:
    """The value that JSON text says.  Raises ValueError, also for what is no JSON to others."""
    try:
        return json.loads(text, parse_constant=_no_number)
    except RecursionError:
        raise ValueError("it is nested too deeply") from None


def _no_number(name: str) -> None:
    raise ValueError(f"{name} is no number of JSON")


_readable = json.JSONEncoder(separators=(",", ":"), ensure_ascii=False).encode
_ascii = json.JSONEncoder(separators=(",", ":")).encode
