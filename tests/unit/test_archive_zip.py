"""The ZIP writer against readers of others: Python's zipfile, and `unzip` where it is installed."""

from __future__ import annotations

import io
import shutil
import subprocess
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bagtrail.domain.archive.zipping import DEFLATED, Member, Zip, deflated, stored

WHEN = datetime(2026, 5, 4, 18, 30, 10, tzinfo=UTC)


def _written(content: dict[str, bytes], **bounds: int) -> bytes:
    file = Zip(WHEN, **bounds)
    out = bytearray()
    for at, (name, plain) in enumerate(content.items()):
        member, packed = stored(name, plain), plain
        if at % 2:
            packed = deflated(plain)
            member = Member(name, DEFLATED, member.crc, len(plain), len(packed))
        for chunk in file.add(member, [packed[:7], packed[7:]]):
            out += chunk
    for chunk in file.end():
        out += chunk
    return bytes(out)


@settings(max_examples=60, deadline=None)
@given(
    content=st.dictionaries(
        st.text(st.characters(codec="utf-8", exclude_characters="\0/\\"), min_size=1, max_size=20),
        st.binary(max_size=400),
        max_size=8,
    ),
    large=st.sampled_from([0xFFFFFFFF, 200, 1]),
    many=st.sampled_from([0xFFFF, 1]),
)
def test_what_is_written_is_read(content: dict[str, bytes], large: int, many: int) -> None:
    """Also where numbers go to the ZIP64 fields, which is from `large` and `many` on."""
    with zipfile.ZipFile(io.BytesIO(_written(content, large=large, many=many))) as file:
        assert file.testzip() is None
        assert {name: file.read(name) for name in file.namelist()} == content
        assert all(info.date_time == (2026, 5, 4, 18, 30, 10) for info in file.infolist())


def test_the_same_content_is_the_same_bytes() -> None:
    content = {"a": b"x" * 1000, "b": b"y" * 1000}
    assert _written(content) == _written(content)


def test_more_members_than_sixteen_bits_count() -> None:
    content = {f"{at:06d}": b"" for at in range(70_000)}
    with zipfile.ZipFile(io.BytesIO(_written(content))) as file:
        assert len(file.infolist()) == 70_000
        assert file.namelist()[-1] == "069999"


def test_sizes_stand_in_the_local_headers() -> None:
    """So that readers that only go forward can read stored members (.ZIP File Format Specification,
    4.4.4: bit 3 is not set)."""
    written = _written({"a": b"12345"})
    assert written[:4] == b"PK\x03\x04"
    assert int.from_bytes(written[6:8], "little") & 8 == 0
    assert int.from_bytes(written[22:26], "little") == 5


@pytest.mark.parametrize("large", [0xFFFFFFFF, 10])
def test_unzip_finds_nothing_wrong(tmp_path: Path, large: int) -> None:
    unzip = shutil.which("unzip")
    if unzip is None:
        pytest.skip("no unzip on this machine")
    file = tmp_path / "a.zip"
    file.write_bytes(_written({"a.txt": b"a" * 500, "b.txt": b"b" * 500, "ü": b"c"}, large=large))
    told = subprocess.run([unzip, "-t", file], capture_output=True, text=True)
    assert told.returncode == 0, told.stdout + told.stderr
    assert "No errors detected" in told.stdout


def test_a_member_that_is_shorter_than_it_says_is_not_passed_off_as_whole() -> None:
    file = Zip(WHEN)
    with pytest.raises(ValueError, match="not as long"):
        list(file.add(stored("a", b"12345"), [b"1234"]))
