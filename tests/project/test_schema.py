"""The table of entries: complete, consistent with the classes it feeds, and round trips."""

from __future__ import annotations

import dataclasses
import tomllib
from pathlib import Path

import pytest
import tomlkit
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fiddlehead.finger.pad.parameters import PadParameters
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.finger.print_settings import PrintSettings
from fiddlehead.material.curves import CurveFile
from fiddlehead.mesh.settings import PRESETS, MeshSettings
from fiddlehead.project.check import examine
from fiddlehead.project.example import example_text, explanation, table_markdown
from fiddlehead.project.fields import Entry, entries
from fiddlehead.project.finger_section import FingerSection
from fiddlehead.project.load import load_project
from fiddlehead.project.material_section import MaterialSection, TestFiles
from fiddlehead.project.pad_section import PadSection
from fiddlehead.project.run_sections import LoadsSection, MeshSection, PrintSection
from fiddlehead.project.schema import ProjectFile, tables

ALL = [
    pytest.param(entry, id=f"{table}.{entry.name}")
    for table, model in tables()
    for entry in entries(model)
]


@pytest.mark.parametrize("entry", ALL)
def test_every_entry_explains_itself(entry: Entry) -> None:
    assert entry.says
    assert entry.says.endswith(".")
    assert "\n" not in entry.says
    assert entry.standing
    assert entry.allowed
    if entry.usual:
        low, high = entry.limits
        assert low is None or low <= entry.usual[0]
        assert high is None or high >= entry.usual[1]
        if isinstance(entry.default, int | float):
            assert entry.usual[0] <= entry.default <= entry.usual[1]


@pytest.mark.parametrize("entry", ALL)
def test_every_number_carries_its_unit(entry: Entry) -> None:
    unitless = {"bellows_count", "pressure_steps", "bulk_to_shear_ratio", "shore_a_hardness"}
    unitless |= {"rib_count", "cell_count", "cell_rows"}
    unitless |= {f.name for f in dataclasses.fields(MeshSettings)}
    unitless |= {"fingers", "critical_ratio", "reservoir_cycles", "seed", "resolution"}
    unitless |= {"price_per_kg", "least_pressure_lines", "least_pressure_layers"}
    unitless |= {"centre_points", "replicates", "blocks", "proof_factor"}
    unitless |= {"conditioning_cycles", "repeat", "wanted_margin", "trials", "designs", "best"}
    if "number" in entry.kind and entry.name not in unitless:
        assert entry.unit, "a number without a unit in its name"


def names(model: type) -> set[str]:
    return {entry.name for entry in entries(model)}


def test_sections_feed_their_classes_without_gaps() -> None:
    of_finger = {f.name for f in dataclasses.fields(FingerParameters)} - {"pad"}
    assert names(FingerSection) == of_finger
    assert names(PadSection) == {f.name for f in dataclasses.fields(PadParameters)}
    assert names(PrintSection) == {f.name for f in dataclasses.fields(PrintSettings)}
    assert names(MeshSection) - {"preset"} == {f.name for f in dataclasses.fields(MeshSettings)}
    of_file = {f.name for f in dataclasses.fields(CurveFile)}
    assert names(TestFiles) - {"files"} == of_file - {"path", "unusual_modulus_confirmed"}
    assert set(next(e for e in entries(MeshSection) if e.name == "preset").choices) == set(PRESETS)


def test_the_default_print_is_the_one_of_the_rules() -> None:
    assert PrintSettings(**PrintSection().model_dump()) == PrintSettings()


def test_example_is_complete_and_usable(tmp_path: Path) -> None:
    text = example_text("bowls")
    (tmp_path / "fiddlehead.toml").write_text(text, encoding="utf-8")
    found = examine(tmp_path)
    assert found.findings == ()
    project = load_project(tmp_path)
    assert project.name == "bowls"
    assert project.loads == LoadsSection()
    for _, model in tables():
        for entry in entries(model):
            assert entry.name in text
    assert all(len(line) <= 100 for line in text.splitlines())
    assert "screen" in text
    assert "ISO 4414" in text


def test_commented_sections_of_the_example_work_when_uncommented(tmp_path: Path) -> None:
    lines = example_text().splitlines()
    start = lines.index("# [pad]")
    lines[start] = "[pad]"
    of_pad = {entry.name for entry in entries(PadSection)}
    for i in range(start, len(lines)):
        bare = lines[i].removeprefix("# ")
        if bare.split(" = ")[0] in of_pad:
            lines[i] = bare
    (tmp_path / "fiddlehead.toml").write_text("\n".join(lines), encoding="utf-8")
    assert load_project(tmp_path).finger.pad == PadParameters(**PadSection().model_dump())


def test_explanation_tells_range_and_standing() -> None:
    (pitch,) = (entry for entry in entries(FingerSection) if entry.name == "pitch_mm")
    text = explanation(pitch)
    assert "above 0 to 100 mm" in text
    assert "usual 4 to 25" in text
    assert text.endswith("default: invented for the demo")


def test_handbook_table_has_every_entry() -> None:
    table = table_markdown()
    for name, model in tables():
        for entry in entries(model):
            if entry.kind != "a list" or f"{name}.{entry.name}" not in dict(tables()):
                assert f"`{entry.name}`" in table


def drawn(entry: Entry) -> st.SearchStrategy[object]:
    """Valid values of one entry."""
    if entry.choices:
        return st.sampled_from(entry.choices)
    low, high = entry.limits
    if entry.kind == "a whole number":
        return st.integers(int(low or 0), int(high or 100))
    if entry.kind == "a number":
        inner = (low or 0.0) + 1e-3, (high or 1e3) - 1e-3
        return st.floats(*inner)
    if entry.kind == "true or false":
        return st.booleans()
    return st.text(min_size=1)


def section(model: type) -> st.SearchStrategy[dict[str, object]]:
    known = {e.name: drawn(e) for e in entries(model) if e.kind not in ("a table", "a list")}
    return st.fixed_dictionaries({}, optional=known)


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    finger=section(FingerSection),
    loads=section(LoadsSection),
    printing=section(PrintSection),
    mesh=section(MeshSection),
    name=st.text(min_size=1),
    hardness=st.floats(20, 95),
    preset=st.lists(st.floats(0, 180), min_size=1, max_size=4),
)
def test_any_valid_file_comes_back_as_it_was_written(
    tmp_path: Path,
    finger: dict[str, object],
    loads: dict[str, object],
    printing: dict[str, object],
    mesh: dict[str, object],
    name: str,
    hardness: float,
    preset: list[float],
) -> None:
    content = {
        "project": {"name": name},
        "material": {"law_from": "hardness", "shore_a_hardness": hardness},
        "finger": finger,
        "loads": loads,
        "print": printing,
        "mesh": mesh,
        "tests": {"block": {"preset_angles_deg": preset}},
    }
    path = tmp_path / "fiddlehead.toml"
    path.write_bytes(tomlkit.dumps(content).encode())
    assert tomllib.loads(path.read_text(encoding="utf-8")) == content
    expected = ProjectFile.model_validate(content)
    found = examine(path)
    if found.usable:
        assert found.sections == expected
        dumped = expected.model_dump(exclude_none=True)
        path.write_bytes(tomlkit.dumps(dumped).encode())
        assert examine(path).sections == expected
    else:  # sizes that are right alone and wrong together are told, with their place
        assert all(f.field.startswith(("finger.", "mount.")) for f in found.of_kind("mistake"))
        assert all(f.line or "finger" not in content for f in found.of_kind("mistake") if finger)


def test_hash_follows_the_content_not_the_layout(tmp_path: Path) -> None:
    path = tmp_path / "fiddlehead.toml"
    material = '[material]\nlaw_from = "hardness"\nshore_a_hardness = 85.0\n'
    path.write_text(material, encoding="utf-8")
    first = load_project(path).input_hash
    path.write_text("# note\n[finger]\nbellows_count = 7\n" + material, encoding="utf-8")
    assert load_project(path).input_hash == first
    path.write_text("[finger]\nbellows_count = 6\n" + material, encoding="utf-8")
    assert load_project(path).input_hash != first


def test_pressures_are_equal_steps(tmp_path: Path) -> None:
    path = tmp_path / "fiddlehead.toml"
    path.write_text(
        '[material]\nlaw_from = "hardness"\nshore_a_hardness = 85.0\n'
        "[loads]\nworking_pressure_kpa = 100.0\npressure_steps = 4\n",
        encoding="utf-8",
    )
    project = load_project(path)
    assert project.pressures_mpa() == pytest.approx((0.025, 0.05, 0.075, 0.1), rel=1e-15)
    assert project.pressures_mpa(40.0) == pytest.approx((0.01, 0.02, 0.03, 0.04), rel=1e-15)
    assert isinstance(project.sections.material, MaterialSection)
