"""Problems that a person or a client can meet, as RFC 9457 describes them.

The one error tree of the program: domain code raises these, one handler writes them.
"""

from __future__ import annotations

from typing import Any, ClassVar


class Problem(Exception):
    """Base of all.  ``detail`` says what, where and how to mend it; ``extra``: further members."""

    slug: ClassVar[str] = "problem"
    status: ClassVar[int] = 500
    title: ClassVar[str] = "Something went wrong"

    def __init__(self, detail: str, **extra: Any) -> None:
        super().__init__(detail)
        self.detail = detail
        self.extra = extra

    def body(self) -> dict[str, Any]:
        """The problem as the JSON object of RFC 9457, section 3."""
        return {
            "type": f"/api/problems/{self.slug}",
            "title": self.title,
            "status": self.status,
            "detail": self.detail,
            **self.extra,
        }


class Malformed(Problem):
    slug, status, title = "malformed", 400, "The request could not be read"


class NotPaired(Problem):
    slug, status, title = "not-paired", 401, "This device is not paired"


class NotAllowed(Problem):
    slug, status, title = "not-allowed", 403, "Not allowed"


class NotFound(Problem):
    slug, status, title = "not-found", 404, "Not found"


class AlreadyClaimed(Problem):
    slug, status, title = "already-claimed", 409, "This server already has an owner"


class OtherEpoch(Problem):
    slug, status, title = "other-epoch", 410, "The server was restored"


class BelowFloor(Problem):
    slug, status, title = "below-floor", 410, "This device was away for too long"


class CodeSpent(Problem):
    slug, status, title = "code-spent", 410, "This pairing code no longer works"


class ChangedElsewhere(Problem):
    slug, status, title = "changed-elsewhere", 412, "Changed elsewhere"


class TooLarge(Problem):
    slug, status, title = "too-large", 413, "Too large"


class NotAPicture(Problem):
    slug, status, title = "not-a-picture", 415, "Not a picture that can be kept"


class Invalid(Problem):
    slug, status, title = "invalid", 422, "Some of this is not right"


class Unreadable(Problem):
    slug, status, title = "unreadable", 422, "This file cannot be read"


class TooOld(Problem):
    slug, status, title = "too-old", 426, "This app is too old for the server"


class Busy(Problem):
    slug, status, title = "busy", 503, "The server is busy"


class IdReuse(Problem):
    slug, status, title = "id-reuse", 409, "Another change has this id"


class GroupIncomplete(Problem):
    slug, status, title = "group-incomplete", 409, "A part of this group is missing"


class GroupRefused(Problem):
    slug, status, title = "group-refused", 409, "Another change of this group was refused"


class RecordPurged(Problem):
    slug, status, title = "record-purged", 409, "This was deleted long ago"


class OtherWorkshop(Problem):
    slug, status, title = "other-workshop", 403, "This belongs to another workshop"


class NoArchive(Problem):
    slug, status, title = "no-archive", 422, "This file is no archive"


class ArchiveDamaged(Problem):
    slug, status, title = "archive-damaged", 422, "This archive is damaged"


class ArchiveNewer(Problem):
    slug, status, title = "archive-newer", 422, "This archive is newer than this program"


class NoRoom(Problem):
    slug, status, title = "no-room", 507, "The server's disk is full"
