"""Wrong project files: every mistake at once, with place, range and mend."""

from __future__ import annotations

from pathlib import Path

import pytest

from fiddlehead.errors import ProjectFileError
from fiddlehead.project.check import Examination, examine
from fiddlehead.project.example import example_text
from fiddlehead.project.load import load_project

HARDNESS = '[material]\nlaw_from = "hardness"\nshore_a_hardness = 85.0\n'


def check(folder: Path, text: str) -> Examination:
    path = folder / "fiddlehead.toml"
    path.write_text(text, encoding="utf-8")
    return examine(path)


def only(found: Examination, kind: str = "mistake") -> dict[str, object]:
    (finding,) = found.of_kind(kind)
    return finding.fields()


@pytest.mark.parametrize(
    ("line", "field", "message", "remedy"),
    [
        ("[finger]\npitch = 9.0", "finger.pitch", "no such entry", "pitch_mm?"),
        ("[finger]\nwall_thicknes_mm = 1.0", "finger.wall_thicknes_mm", "no such", "wall_thickn"),
        ("[loads]\nworking_pressure_bar = 2", "loads.working_pressure_bar", "no such", "= 200."),
        ("[loads]\nworking_pressure_psi = 14.5", "loads.working_pressure_psi", "no", "99.974"),
        ("[loads]\nworking_pressure_kpa = 2e5", "loads.working_pressure_kpa", "range", "200000 Pa"),
        ("[finger]\nbellows_count = 0", "finger.bellows_count", "out of range", "3 to 13"),
        ("[finger]\nbellows_count = 6.0", "finger.bellows_count", "a whole number", ""),
        ("[finger]\nbellows_count = true", "finger.bellows_count", "a whole number", ""),
        ("[finger]\npitch_mm = -1.0", "finger.pitch_mm", "out of range", "4 to 25"),
        ("[finger]\npitch_mm = 0", "finger.pitch_mm", "out of range", "4 to 25"),
        ("[finger]\npitch_mm = nan", "finger.pitch_mm", "not a finite number", ""),
        ("[finger]\npitch_mm = inf", "finger.pitch_mm", "not a finite number", ""),
        ('[finger]\npitch_mm = "11"', "finger.pitch_mm", "quotation marks", "Leave"),
        ('[finger]\npitch_mm = "wide"', "finger.pitch_mm", "text where a number", ""),
        ("[finger]\npitch_mm = [1.0]", "finger.pitch_mm", "must be a number", ""),
        ("[finger]\nflank_angle_deg = 1.2", "finger.flank_angle_deg", "out of", "1.2 rad"),
        ('[mesh]\npreset = "fein"', "mesh.preset", "not one of the choices", '"fine"'),
        ("[mesh]\nrows_wall = 0", "mesh.rows_wall", "out of range", ""),
        ("[fingers]\npitch_mm = 1.0", "fingers", "no such section", "[finger]"),
        ("[finger.pad]\ndepth_mm = 1.0", "finger.pad", "no such entry", ""),
        ("[[finger]]\npitch_mm = 11.0", "finger", "must be a section", "[finger]"),
        ("[tests.bend]\nangle = 1", "tests.bend.angle", "no such entry", "bending_angle"),
        ("[tests.block]\npreset_angles_deg = []", "tests.block.preset_angles_deg", "empty", ""),
        ("[project]\nname = ''", "project.name", "must not be empty", ""),
        ("[pad]\ncell_depth_mm = 0", "pad.cell_depth_mm", "out of range", ""),
        ("[print]\nline_width_mm = 0", "print.line_width_mm", "out of range", ""),
    ],
)
def test_one_mistake(tmp_path: Path, line: str, field: str, message: str, remedy: str) -> None:
    told = only(check(tmp_path, HARDNESS + line))
    assert told["field"] == field
    assert message in str(told["message"])
    assert remedy in str(told["remedy"])
    assert told["file"] == "fiddlehead.toml"
    assert told["line"] == (4 if field in ("fingers", "finger") else 5) or "finger.pad" in field
    assert told["found"] or "empty" in message


def test_an_entry_before_the_first_section(tmp_path: Path) -> None:
    told = only(check(tmp_path, "pitch_mm = 9.0\n" + HARDNESS))
    assert told["line"] == 1
    assert told["remedy"] == "pitch_mm belongs below [finger]."


def test_all_mistakes_at_once_in_the_order_of_the_file(tmp_path: Path) -> None:
    text = example_text()
    for right, wrong in [
        ("bellows_count = 7", "bellows_count = 0"),
        ("pitch_mm = 11.0", "pitch = 11.0"),
        ("[print]", "[prnt]"),
        ("shore_a_hardness = 85.0", ""),
        ("working_pressure_kpa = 150.0", "working_pressure_kpa = nan"),
    ]:
        assert right in text
        text = text.replace(right, wrong)
    found = check(tmp_path, text)
    assert not found.usable
    fields = [finding.field for finding in found.of_kind("mistake")]
    assert fields == [
        "material.shore_a_hardness",
        "finger.bellows_count",
        "finger.pitch",
        "prnt",
        "loads.working_pressure_kpa",
    ]
    lines = [finding.line or 0 for finding in found.of_kind("mistake")]
    assert lines == sorted(lines)
    with pytest.raises(ProjectFileError, match="And 4 more: fiddlehead check tells all"):
        load_project(tmp_path)


@pytest.mark.parametrize(
    ("line", "field", "remedy"),
    [
        ("[loads]\nworking_pressure_kpa = 2", "loads.working_pressure_kpa", "2 bar, write 200."),
        ("[loads]\nworking_pressure_kpa = 0.2", "loads.working_pressure_kpa", "0.2 bar, write 20."),
        ("[print]\nline_width_mm = 0.0004", "print.line_width_mm", "0.0004 m, write 0.4."),
        ("[loads]\nstrain_limit_percent = 0.3", "loads.strain_limit_percent", "fraction 0.3"),
        ("[loads]\nworking_pressure_kpa = 380", "loads.working_pressure_kpa", "Keep it"),
    ],
)
def test_unlikely_values_are_asked_about(
    tmp_path: Path, line: str, field: str, remedy: str
) -> None:
    found = check(tmp_path, HARDNESS + line)
    assert found.usable
    told = only(found, "question")
    assert told["field"] == field
    assert remedy in str(told["remedy"])


def test_contradictions_of_sizes_get_lines(tmp_path: Path) -> None:
    found = check(tmp_path, HARDNESS + "[finger]\nwall_thickness_mm = 1.6\n")
    told = only(found)
    assert told["field"] == "finger.wall_thickness_mm"
    assert told["line"] == 5
    assert "thicker than the chamber" in str(told["message"])


def test_rig_of_the_blocked_force(tmp_path: Path) -> None:
    held = '[tests.block]\ntip_hold = "held"\npreset_angles_deg = [0.0, 20.0]\n'
    told = only(check(tmp_path, HARDNESS + held))
    assert (told["field"], told["line"]) == ("tests.block.preset_angles_deg", 6)
    told = only(check(tmp_path, HARDNESS + "[tests.block]\ncontact_length_mm = 80.0\n"))
    assert "past the root block" in str(told["message"])
    assert check(tmp_path, HARDNESS + "[tests.block]\ncontact_length_mm = 20.0\n").usable


def test_design_advice_names_its_standing(tmp_path: Path) -> None:
    found = check(tmp_path, HARDNESS + "[finger]\nwall_thickness_mm = 1.3\nvalley_gap_mm = 0.7\n")
    assert found.usable
    messages = {finding.field: finding for finding in found.of_kind("advice")}
    assert "whole number of lines" in messages["finger.wall_thickness_mm"].message
    assert "weld" in messages["finger.valley_gap_mm"].message
    assert all(finding.standing for finding in found.of_kind("advice"))
    assert messages["finger.wall_thickness_mm"].line == 5


TESTS = '[material]\nlaw_from = "tests"\n'
ONE = '[[material.tests]]\nmode = "uniaxial"\nfiles = ["pull.csv"]\n'
COLUMNS = 'strain_column = "e"\nstress_column = "s"\n'


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (TESTS, "at least one test file"),
        (TESTS + ONE + COLUMNS, "cannot read this file"),
        (TESTS + ONE, "declare either strain_column or extension_column"),
        (TESTS + ONE + COLUMNS + "width_mm = -4.0\n", "out of range"),
        (TESTS + '[[material.tests]]\nmode = "uniaxial"\n' + COLUMNS, "this entry is missing"),
        (TESTS + ONE.replace("uniaxial", "uniaxal") + COLUMNS, "not one of the choices"),
        (TESTS + 'law = "yoeh"\n' + ONE + COLUMNS, "no law of this name"),
        ('[material]\nlaw_from = "hardness"\n', "needs it"),
        ('[material]\nlaw_from = "constants"\n', "a law that has a name"),
        ("[finger]\n", "this entry is missing: Where the law comes from"),
    ],
)
def test_material_mistakes(tmp_path: Path, text: str, message: str) -> None:
    found = check(tmp_path, text)
    assert any(message in finding.message for finding in found.of_kind("mistake"))


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "the file is empty"),
        (b"e,s\n", "no data"),
        (b"e;x\n0;0\n1;1\n2;2\n", "no column named 's'"),
        (b"e,s,s\n0,0,0\n1,1,1\n2,2,2\n", "more than once"),
        (b"e,s\n0,0\n0.1,abc\n0.2,2\n", "not a number"),
        (b"e,s\n0,0\n0.1,nan\n0.2,2\n", "not a number"),
        (b"e,s\n0,0\n0.1,1\xff\n0.2,2\n", "not UTF-8"),
        (b"e,s\n0,0\n0.1,1000\n0.2,2000\n", "are the units right?"),
    ],
)
def test_bad_test_files_are_told_at_the_entry(tmp_path: Path, data: bytes, message: str) -> None:
    (tmp_path / "pull.csv").write_bytes(data)
    told = only(check(tmp_path, TESTS + ONE + COLUMNS))
    assert message in str(told["message"])
    assert "pull.csv" in str(told["message"])
    assert (told["line"], told["field"]) == (5, "material.tests[1].files")


def test_constants_by_hand(tmp_path: Path) -> None:
    head = '[material]\nlaw_from = "constants"\nlaw = "yeoh"\n[material.constants]\n'
    assert check(tmp_path, head + "c10_mpa = 2\nc20_mpa = -0.1\nc30_mpa = 0.01\n").usable
    found = check(tmp_path, head + "c10_mpa = 2.0\nc2_mpa = -0.1\nc30_mpa = 0.01\n")
    missing, unknown = found.of_kind("mistake")
    assert (missing.field, unknown.field) == (
        "material.constants.c20_mpa",
        "material.constants.c2_mpa",
    )
    assert unknown.remedy == "Did you mean c20_mpa?"
    assert unknown.line == 6


def test_a_modulus_a_thousand_times_off_is_asked_about(tmp_path: Path) -> None:
    text = '[material]\nlaw_from = "constants"\nlaw = "neo_hookean"\n'
    text += "{}[material.constants]\nmu_mpa = 4000\n"
    told = only(check(tmp_path, text.format("")))
    assert "are the constants in MPa?" in str(told["message"])
    assert (told["line"], told["field"]) == (4, "material.constants")
    assert check(tmp_path, text.format("unusual_modulus_confirmed = true\n")).usable


def test_ogden_constants_need_their_convention(tmp_path: Path) -> None:
    text = '[material]\nlaw_from = "constants"\nlaw = "ogden_1"\n'
    text += "[material.constants]\nmu1_mpa = 2.0\nalpha1 = 2.0\n"
    told = only(check(tmp_path, text))
    assert told["field"] == "material.ogden_convention"


@pytest.mark.parametrize(
    ("data", "message", "where"),
    [
        (b"[finger\npitch_mm = 1\n", "cannot be read", "line 1"),
        (b"[finger]\npitch_mm = 1\npitch_mm = 2\n", "cannot be read", "line 3"),
        (b"[finger]\npitch_mm = \n", "cannot be read", "line 2"),
        (b"[finger]\npitch_mm = 1,5\n", "cannot be read", "line 2"),
        (b"# caf\xe9\n", "not UTF-8", "line 1"),
    ],
)
def test_unreadable_files_are_refused_with_the_line(
    tmp_path: Path, data: bytes, message: str, where: str
) -> None:
    (tmp_path / "fiddlehead.toml").write_bytes(data)
    with pytest.raises(ProjectFileError) as caught:
        examine(tmp_path)
    assert message in caught.value.message
    assert where in caught.value.where


def test_no_file_points_to_new(tmp_path: Path) -> None:
    with pytest.raises(ProjectFileError, match="fiddlehead new"):
        examine(tmp_path)


def test_an_empty_file_asks_for_the_material_only(tmp_path: Path) -> None:
    told = only(check(tmp_path, ""))
    assert told["field"] == "material.law_from"
