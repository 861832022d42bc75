"""``fiddlehead air``."""

from __future__ import annotations

from fiddlehead.project.load import load_project
from fiddlehead.report.export.store import save_result
from tests.cli.command import SMALL, Shell
from tests.report.made_up import made_up_bend


def test_air_from_a_bend_result(shell: Shell) -> None:
    path = shell.write(SMALL, "fiddlehead.toml")
    entries = load_project(path).sections.model_dump(mode="json")
    about = {"project": {"entries": entries}}
    save_result(path.parent / "results/bend", "bend", made_up_bend(), about)
    said = shell("air", "--json")
    assert said.code == 0, said.err
    found = said.document
    assert found["vent_s"] > found["fill_s"] > 0
    assert found["warnings"] == []
    assert (path.parent / "results/air/air.html").exists()
    assert "ISO 4414" in said.err


def test_air_without_a_bend_result_says_what_to_do(shell: Shell) -> None:
    shell.write(SMALL, "fiddlehead.toml")
    said = shell("air")
    assert said.code == 4
    assert "fiddlehead bend" in said.err
    assert "Traceback" not in said.err
    rough = shell("air", "--rigid")
    assert rough.code == 0
    assert "rigid" in rough.out


def test_wrong_air_section_stops_before_anything_is_written(shell: Shell) -> None:
    path = shell.write(SMALL + "\n[air]\nsupply_pressure_kpa = 50.0\n", "fiddlehead.toml")
    said = shell("air", "--rigid")
    assert said.code == 2
    assert "weaker" in said.out
    assert not (path.parent / "results").exists()
