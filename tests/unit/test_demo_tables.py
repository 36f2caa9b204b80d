"""The demo kit through its tables: what is recognised against the records that it was made from."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from bagtrail.trade import designations
from demo import tables as demo
from demo.records import make_records
from demo.tarn6.kit import tarn_6
from tests.tables import Table, Taken

Line = tuple[str | None, str | None, int, str, str | None]


@pytest.fixture(scope="module")
def records() -> dict[str, dict[str, dict[str, Any]]]:
    """Fields of the kit's records, by type and id."""
    made: dict[str, dict[str, dict[str, Any]]] = {}
    for record in make_records(tarn_6())["records"]:
        made.setdefault(record["type"], {})[record["id"]] = record["set"]
    return made


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    return {path.name: path for path in demo.main(tmp_path_factory.mktemp("tables"))}


def _take(files: dict[str, Path], name: str, **more: Any) -> Taken:
    return Table(files[name].parent).take(files[name].read_bytes(), name, **more)


def _spelled(text: str | None) -> str | None:
    """The trade's normal spelling, which tests of its own hold against the standards."""
    read = designations.read(text) if text else None
    return read.normal if read and not read.asks else text


def _true_lines(records: dict[str, dict[str, dict[str, Any]]]) -> Counter[Line]:
    bags, steps, parts = records["bag"], records["step"], records["part"]
    return Counter(
        (
            bags[line["bag"]]["number"] if "bag" in line else None,
            steps[line["step"]]["number"] if "step" in line else None,
            line["quantity"],
            parts[line["part"]]["number"],
            _spelled(parts[line["part"]].get("designation")),
        )
        for line in records["part_line"].values()
    )


def _found_lines(taken: Taken) -> Counter[Line]:
    return Counter(
        (
            line.get("bag"), line.get("step"), line["quantity"], line["number"],
            _spelled(line.get("designation")),
        )
        for one in taken.of("part_line")
        if not one["asks"]
        for line in [one["values"]]
    )  # fmt: skip


def _hold(found: Counter[Line], true: Counter[Line], named: set[str]) -> None:
    """95 % of the lines are there with bag, step, quantity and designation; none is invented.

    A designation may stand where the kit has none, if the name alone says it (an O-ring 10x2).
    """
    bare = Counter[Line]()
    for line, count in found.items():
        bare[line if line in true or line[3] not in named else (*line[:4], None)] += count
    assert not bare - true
    assert sum((bare & true).values()) >= 0.95 * sum(true.values())


@pytest.mark.parametrize("name", list(demo.SHAPES))
def test_part_lines_and_steps_of_every_shape(
    name: str, files: dict[str, Path], records: dict[str, dict[str, dict[str, Any]]]
) -> None:
    taken = _take(files, name)
    named = {part["number"] for part in records["part"].values() if "designation" not in part}
    _hold(_found_lines(taken), _true_lines(records), named)
    assert taken.unfit == []
    steps = {step["number"]: step for step in records["step"].values()}
    found = {step["number"]: step for step in taken.values("step")}
    assert set(found) <= set(steps)
    right = [
        number
        for number, step in found.items()
        if step["title"] == steps[number]["title"]
        and step["bags"] == [records["bag"][bag]["number"] for bag in steps[number]["bags"]]
        and step.get("minutes", steps[number]["minutes"]) == steps[number]["minutes"]
    ]
    assert len(right) >= 0.98 * len(steps)
    assert {bag["number"] for bag in taken.values("bag")} == {
        bag["number"] for bag in records["bag"].values()
    }


@pytest.mark.parametrize("name", ["tarn-6-parts.csv", "tarn-6-teile.csv"])
def test_sections_and_minutes(
    name: str, files: dict[str, Path], records: dict[str, dict[str, dict[str, Any]]]
) -> None:
    taken = _take(files, name)
    sections = {one["title"]: one for one in taken.values("section")}
    assert set(sections) == {one["title"] for one in records["section"].values()}
    for step in records["step"].values():
        (found,) = [one for one in taken.values("step") if one["number"] == step["number"]]
        assert found["minutes"] == step["minutes"]
        assert found["section"] == records["section"][step["section"]]["title"]


def test_names_and_materials(
    files: dict[str, Path], records: dict[str, dict[str, dict[str, Any]]]
) -> None:
    parts = {part["number"]: part for part in records["part"].values()}
    for line in _take(files, "tarn-6-parts.csv").values("part_line"):
        assert line["name"] == parts[line["number"]]["name"]
        assert line["material"] == parts[line["number"]]["material"]


def test_the_other_sheet_has_the_operations(
    files: dict[str, Path], records: dict[str, dict[str, dict[str, Any]]]
) -> None:
    assert _take(files, "tarn-6.xlsx").layout["sheets"] == ["Steps", "Parts"]
    taken = _take(files, "tarn-6.xlsx", change={"sheet": "Steps"})
    true = Counter(
        (records["step"][one["step"]]["number"], one["text"])
        for one in records["operation"].values()
    )
    assert Counter((one["step"], one["text"]) for one in taken.values("operation")) == true
    assert len(taken.of("step")) == len(records["step"])
    assert taken.of("part_line") == taken.unfit == []


def test_without_headings_nothing_is_taken_for_another_thing(
    files: dict[str, Path], records: dict[str, dict[str, dict[str, Any]]]
) -> None:
    """What stands in the columns gives some of them away; the rest is left to a person."""
    headings, _, rest = files["tarn-6-parts.csv"].read_bytes().partition(b"\r\n")
    taken = Table(files["tarn-6-parts.csv"].parent).take(rest)
    true = {"Step": "step.number", "Qty": "part.quantity", "Part no.": "part.number",
            "Designation": "part.designation", "Description": "part.name"}  # fmt: skip
    found = {
        heading: column["field"]
        for heading, column in zip(
            headings.decode().split(","), taken.layout["columns"], strict=True
        )
        if column["field"]
    }
    assert found == true
    assert len(taken.of("part_line")) == len(records["part_line"])
