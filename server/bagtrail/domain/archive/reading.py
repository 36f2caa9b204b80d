"""An archive on its way in: everything is looked at before anything is written."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any, cast

from ...wire.problems import ArchiveDamaged, ArchiveNewer, NoArchive
from . import content, form, members
from .content import Archive
from .members import BROKEN, MEND, Limits, damaged


@contextmanager
def opened(source: Path | IO[bytes], limits: Limits) -> Iterator[Archive]:
    """The archive in a file.

    Raises NoArchive, ArchiveNewer, ArchiveDamaged or TooLarge: what is wrong, where, and how to
    mend it.
    """
    try:
        members.check_directory(source)
        file = zipfile.ZipFile(source)
    except BROKEN:
        raise NoArchive(
            "It is no ZIP file, or the end of it is missing. If it was downloaded, it may have been"
            " cut off: fetch it again. Nothing was written."
        ) from None
    with file:
        try:
            yield _checked(file, limits)
        except zipfile.BadZipFile as why:
            raise ArchiveDamaged(f"{why}. {MEND}") from why
        except RecursionError:
            raise ArchiveDamaged(f"A line of it is nested too deeply. {MEND}") from None


def _checked(file: zipfile.ZipFile, limits: Limits) -> Archive:
    about = _about(file)
    members.check_members(file, limits)
    archive = _said(file, about)
    members.check_sums(file, limits)
    counts = about.get("counts")
    read = {
        "changes": content.read_history(archive),
        "records": len(archive.records),
        "devices": content.read_devices(archive),
        "intakes": content.read_intakes(archive),
        "files": len(archive.pictures),
    }
    if counts != read:
        damaged(form.ABOUT, f"its counts are {counts}, and the archive holds {read}")
    return archive


def _about(file: zipfile.ZipFile) -> dict[str, Any]:
    """What the archive says of itself; its version is one that can be read."""
    names = file.namelist()
    if names.count(form.ABOUT) != 1:
        raise NoArchive(
            f"It holds no {form.ABOUT}, so it is a ZIP file of something else. Choose a file that"
            " was made by Save as archive. Nothing was written."
        )
    about: Any = None
    try:
        with file.open(form.ABOUT) as member:
            about = form.parsed(member.read(form.ABOUT_MAX_BYTES + 1).decode())
    except BROKEN as why:
        damaged(form.ABOUT, f"it cannot be read ({why})")
    if not isinstance(about, dict) or about.get("format") != form.FORMAT:
        raise NoArchive(
            f"Its {form.ABOUT} does not say that it is a {form.FORMAT}. Choose a file that was made"
            " by Save as archive. Nothing was written."
        )
    version = about.get("version")
    if type(version) is not int or version < 1:
        damaged(form.ABOUT, "it does not say which version of the format this is")
    if version > form.VERSION:
        raise ArchiveNewer(
            f"It is written in version {version} of the format{_maker(about)}. This program,"
            f" Bagtrail {form.program_version()}, reads versions up to {form.VERSION}. Update this"
            " server, then bring the archive in again. Nothing was written."
        )
    return about


def _maker(about: Mapping[str, Any]) -> str:
    made_by = about.get("made_by")
    version = made_by.get("version") if isinstance(made_by, dict) else None
    return f", by Bagtrail {version[:40]}" if isinstance(version, str) else ""


def _said(file: zipfile.ZipFile, about: Mapping[str, Any]) -> Archive:
    workshop, kits, build = about.get("workshop"), about.get("kits"), about.get("build")
    what, name = about.get("what"), about.get("name")
    right = (
        isinstance(workshop, dict)
        and content.is_id(workshop.get("id"))
        and isinstance(kits, list)
        and len(set(map(str, kits))) == len(kits) <= 20
        and all(map(content.is_id, kits))
        and (content.is_id(build) if what == "build" else what == "kit" and build is None and kits)
        and isinstance(name, str)
    )
    if not right:
        damaged(form.ABOUT, "it does not say which kit or build of which workshop this is")
    shop = cast(dict[str, Any], workshop)
    names = {
        found[1]: info.filename
        for info in file.infolist()
        if (found := form.PICTURE.fullmatch(info.filename))
    }
    return Archive(
        file,
        cast(str, name)[:120],
        shop["id"],
        cast(list[str], kits),
        build,
        pictures=names,
    )
