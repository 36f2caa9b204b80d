"""Threads and designations against published values.

``threads.json`` and ``designations.json`` name the source of each row: ISO 261 and 262, ISO 1478,
ASME B1.1, the designations that ISO 4762, ISO 7380-1 and ISO 4032 print, and common practice.
"""

import json
from pathlib import Path

import pytest

from bagtrail.trade import designations, threads

THREADS = json.loads(Path(__file__).with_name("threads.json").read_text("utf-8"))
CASES = json.loads(Path(__file__).with_name("designations.json").read_text("utf-8"))
FIELDS = {
    "d": "d_mm", "pitch": "pitch_mm", "length": "length_mm", "inner": "inner_mm",
    "outer": "outer_mm", "width": "width_mm", "thickness": "width_mm",
}  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=[case["text"] for case in CASES])
def test_spelling_is_read_as_the_reference_says(case):
    read = designations.read(case["text"])
    assert read is not None
    for field, value in case["expect"].items():
        got = getattr(read, FIELDS.get(field, field))
        assert got == (pytest.approx(value, abs=1e-9) if isinstance(value, float) else value), field
    # What the reference calls ambiguous is asked, what it does not is certain.
    assert bool(read.asks) == (case["ambiguous"] is not None)
    assert (read.sure >= 0.8) == (case["ambiguous"] is None)


def test_metric_coarse_pitches():
    """Source: ISO 261/262, as each row of threads.json says."""
    for row in THREADS["metric"]:
        assert threads.coarse_pitch(float(row["d"])) == row["P"], row


def test_metric_fine_pitches():
    for row in THREADS["metric_fine"]:
        d, pitch = row["size"].removeprefix("M").split("x")
        assert threads.is_pitch(float(d), float(pitch))
        assert threads.coarse_pitch(float(d)) != float(pitch)


def test_old_sizes():
    """Source: a table of thread gauges, and old JIS sizes from memory."""
    for size in THREADS["obsolete_sizes"]["sizes"]:
        d, pitch = size.removeprefix("M").split("x")
        assert threads.is_pitch(float(d), float(pitch)), size


def test_unified_sizes():
    """Source: ASME B1.1, D = 0.060 in + 0.013 in * number."""
    for row in THREADS["unified"]:
        size, tpi = row["size"].rsplit("-", 1)
        assert int(tpi) in threads.UNIFIED[size]
        assert threads.unified_diameter(size) == pytest.approx(row["D_mm"], abs=1e-9)
        assert threads.MM_PER_INCH / int(tpi) == pytest.approx(row["P_mm"], abs=1e-9)


def test_tapping_screw_pitches():
    """Source: ISO 1478."""
    rows = {
        float(size.removeprefix("ST")): pitch for size, pitch in THREADS["tapping"]["rows"].items()
    }
    assert rows == threads.TAPPING
