"""Single entries changed; everything else in the file stays as it was."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fiddlehead.errors import ProjectFileError
from fiddlehead.project.check import examine_text
from fiddlehead.project.edit import Change, changed
from fiddlehead.project.example import example_text
from fiddlehead.project.fields import entries
from fiddlehead.project.schema import SECTIONS

EXAMPLE = example_text("edited")
GREENWARE = (Path(__file__).resolve().parents[2] / "examples/greenware/fiddlehead.toml").read_text(
    encoding="utf-8"
)


def lines_that_differ(before: str, after: str) -> tuple[list[str], list[str]]:
    """Lines only one of two texts has."""
    old, new = before.splitlines(), after.splitlines()
    return [line for line in old if line not in new], [line for line in new if line not in old]


def test_a_value_keeps_its_comment() -> None:
    after = changed(GREENWARE, [Change(("finger", "wall_thickness_mm"), 1.6)])
    gone, come = lines_that_differ(GREENWARE, after)
    assert gone == ["wall_thickness_mm = 1.2      # three lines of 0.4 mm"]
    assert come == ["wall_thickness_mm = 1.6      # three lines of 0.4 mm"]


def test_an_entry_that_is_shown_as_a_comment_takes_its_place() -> None:
    after = changed(EXAMPLE, [Change(("air", "supply_pressure_kpa"), 180.0)])
    assert lines_that_differ(EXAMPLE, after) == (
        ["# supply_pressure_kpa = 250.0"],
        ["supply_pressure_kpa = 180.0"],
    )


def test_a_missing_section_is_added_at_the_end() -> None:
    after = changed(GREENWARE, [Change(("printer", "flow_percent"), 104.0)])
    assert after == GREENWARE + "\n[printer]\nflow_percent = 104.0\n"


def test_members_of_a_list_of_tables_come_and_go() -> None:
    new = {"files": ["tensile/more.csv"], "mode": "uniaxial", "strain_column": "e"}
    more = changed(GREENWARE, [Change(("material", "tests", 2), new)])
    assert tomllib.loads(more)["material"]["tests"][2] == new
    assert more.index("more.csv") < more.index("[finger]")
    fewer = changed(more, [Change(("material", "tests", 2), None)])
    assert tomllib.loads(fewer) == tomllib.loads(GREENWARE)
    first = changed(EXAMPLE, [Change(("material", "tests", 0), new)])
    assert tomllib.loads(first)["material"]["tests"] == [new]


def test_a_pad_is_put_on_and_taken_off() -> None:
    on = changed(EXAMPLE, [Change(("pad",), {"rib_count": 4}), Change(("pad", "cells"), "solid")])
    assert tomllib.loads(on)["pad"] == {"rib_count": 4, "cells": "solid"}
    off = changed(on, [Change(("pad",), None)])
    assert tomllib.loads(off) == tomllib.loads(EXAMPLE)


def test_what_changes_nothing_leaves_every_byte() -> None:
    same = [Change(("finger", "pitch_mm"), 11.0), Change(("pad",), None)]
    assert changed(GREENWARE, same) == GREENWARE


@pytest.mark.parametrize(
    "change",
    [
        Change(("material", "tests", 7), {"files": ["a"]}),
        Change(("finger", "pitch_mm", "deep"), 1.0),
        Change(("material", "tests", "first"), {"files": ["a"]}),
    ],
)
def test_a_path_that_leads_nowhere_is_refused(change: Change) -> None:
    with pytest.raises(ProjectFileError):
        changed(GREENWARE, [change])


def test_a_file_that_is_no_toml_is_refused() -> None:
    with pytest.raises(ProjectFileError, match="not valid TOML"):
        changed("[finger\n", [Change(("finger", "pitch_mm"), 1.0)])


NUMBERS = [
    (section, entry.name)
    for section in ("finger", "loads", "air", "print", "printer", "base")
    for entry in entries(SECTIONS[section])
    if entry.kind == "a number"
]


@given(st.sampled_from([EXAMPLE, GREENWARE]), st.sampled_from(NUMBERS), st.floats(0.1, 90.0))
def test_any_number_is_what_was_asked_and_all_else_stays(
    text: str, path: tuple[str, str], value: float
) -> None:
    after = changed(text, [Change(path, value)])
    expected = tomllib.loads(text)
    expected.setdefault(path[0], {})[path[1]] = value
    assert tomllib.loads(after) == expected
    comments = [line for line in text.splitlines() if line.startswith("#")]
    kept = [line for line in after.splitlines() if line.startswith("#")]
    assert len(comments) - len(kept) in (0, 1)


def test_a_text_is_checked_like_a_file(tmp_path: Path) -> None:
    wrong = changed(EXAMPLE, [Change(("finger", "pitch_mm"), -2.0)])
    found = examine_text(wrong, tmp_path / "fiddlehead.toml").of_kind("mistake")
    assert [f.field for f in found] == ["finger.pitch_mm"]
