"""Verbs that compute little: new, check, fit; help, codes, JSON and crashes."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

import pytest

import fiddlehead.project.check
from fiddlehead.cli.codes import EXIT_CODES
from fiddlehead.cli.demo import copy_example
from tests.cli.command import SMALL, Shell


def test_help_tells_verbs_and_exit_codes(shell: Shell) -> None:
    said = shell("--help")
    assert said.code == 0
    for verb in ("new", "check", "fit", "bend", "block", "demo"):
        assert f"\n  {verb} " in said.out
        assert shell(verb, "--help").code == 0
    for code, text in EXIT_CODES.items():
        assert f"{code}  {text}" in said.out


def test_help_is_quick_and_leaves_heavy_packages_alone() -> None:
    code = (
        "import sys\n"
        "from fiddlehead.cli.main import main\n"
        "assert main(['--help']) == 0\n"
        "heavy = {'jax', 'numpy', 'scipy', 'matplotlib', 'pydantic', 'meshio'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
    )
    began = time.perf_counter()
    subprocess.run([sys.executable, "-c", code], check=True, stdout=subprocess.DEVNULL)
    assert time.perf_counter() - began < 2.0  # 0.1 s alone; room for a busy machine


def test_new_then_check_then_new_again(shell: Shell) -> None:
    said = shell("new", "my-gripper")
    assert said.code == 0
    assert "fiddlehead check my-gripper" in said.out
    assert "ISO 4414" in said.out
    text = (shell.folder / "my-gripper/fiddlehead.toml").read_text(encoding="utf-8")
    assert 'name = "my-gripper"' in text
    said = shell("check", "my-gripper")
    assert said.code == 0
    assert "nothing to remark" in said.out
    again = shell("new", "my-gripper")
    assert again.code == 2
    assert "left as it is" in again.err
    assert (shell.folder / "my-gripper/fiddlehead.toml").read_text(encoding="utf-8") == text


def test_check_tells_everything_at_once(shell: Shell) -> None:
    shell.write(SMALL.replace("bellows_count = 2", "bellows_count = 0").replace("85.0", '"85"'))
    said = shell("check")
    assert said.code == 2
    assert "Mistake 1 of 2  fiddlehead.toml line 6, material.shore_a_hardness" in said.out
    assert "Mistake 2 of 2  fiddlehead.toml line 9, finger.bellows_count" in said.out
    assert "allowed  1 to 40" in said.out
    assert "mend     Leave the quotation marks out." in said.out


def test_check_as_json(shell: Shell) -> None:
    shell.write(SMALL.replace("100.0", "2.0"))
    said = shell("check", "--json")
    assert said.code == 0
    assert said.document["usable"] is True
    findings = {finding["field"]: finding for finding in said.document["findings"]}
    question = findings["loads.working_pressure_kpa"]
    assert question["kind"] == "question"
    assert question["remedy"] == "If you meant 2 bar, write 200."
    assert shell("check", "--json", "--strict").code == 1


BAD_CURVES = {
    "empty file": b"",
    "missing column": b"e,x\n0,0\n0.1,1\n0.2,2\n",
    "doubled column": b"e,s,s\n0,0,0\n0.1,1,1\n0.2,2,2\n",
    "text in numbers": b"e,s\n0,0\n0.1,much\n0.2,2\n",
    "not a number": b"e,s\n0,0\n0.1,NaN\n0.2,2\n",
    "not UTF-8": b"e,s\n0,0\n0.1,1\xe9\n0.2,2\n",
    "modulus a thousand times off": b"e,s\n0,0\n0.1,900\n0.2,1700\n0.3,2500\n",
}
TESTS = (
    '[material]\nlaw_from = "tests"\n[[material.tests]]\nfiles = ["pull.csv"]\n'
    'mode = "uniaxial"\nstrain_column = "e"\nstress_column = "s"\n'
)
BAD_PROJECTS = {
    "wall thicker than the chamber": SMALL.replace(
        "wall_thickness_mm = 1.2", "wall_thickness_mm = 4.0"
    ),
    "zero bellows": SMALL.replace("bellows_count = 2", "bellows_count = 0"),
    "negative size": SMALL.replace("pitch_mm = 8.0", "pitch_mm = -8.0"),
    "zero size": SMALL.replace("width_mm = 12.0", "width_mm = 0.0"),
    "nan": SMALL.replace("height_mm = 12.0", "height_mm = nan"),
    "thickness in metres": SMALL.replace("height_mm = 12.0", "height_mm = 0.012"),
    "pressure in pascal": SMALL.replace("kpa = 100.0", "kpa = 100000.0"),
    "empty file": "",
    "not TOML": SMALL + "[finger\n",
    "unknown entry": SMALL + "[print]\nspeed = 20\n",
    "constants in kPa": SMALL.replace(
        'law_from = "hardness"\nshore_a_hardness = 85.0',
        'law_from = "constants"\nlaw = "neo_hookean"\nconstants = { mu_mpa = 4000.0 }',
    ),
}


def kept(shell: Shell) -> Path:
    """A result of earlier, to see that it survives."""
    return shell.write("earlier work", "results/bend/contents.json")


@pytest.mark.parametrize("case", BAD_CURVES)
@pytest.mark.parametrize("verb", ["check", "fit", "bend", "block"])
def test_bad_test_files_stop_every_verb_before_anything_changes(
    shell: Shell, verb: str, case: str
) -> None:
    shell.write(TESTS)
    shell.write(BAD_CURVES[case], "pull.csv")
    earlier = kept(shell)
    said = shell(verb)
    assert said.code == 2
    assert "pull.csv" in said.out
    assert "material.tests[1].files" in said.out
    assert "mend" in said.out
    assert earlier.read_text() == "earlier work"


@pytest.mark.parametrize("case", BAD_PROJECTS)
@pytest.mark.parametrize("verb", ["check", "bend"])
def test_bad_projects_stop_before_anything_changes(shell: Shell, verb: str, case: str) -> None:
    shell.write(BAD_PROJECTS[case])
    earlier = kept(shell)
    said = shell(verb)
    assert said.code == 2
    assert "fiddlehead.toml" in said.out + said.err
    assert earlier.read_text() == "earlier work"
    assert sorted(p.name for p in shell.folder.iterdir()) == ["fiddlehead.toml", "results"]


def test_bad_input_as_json_is_one_document(shell: Shell) -> None:
    shell.write(BAD_PROJECTS["zero bellows"])
    said = shell("bend", "--json")
    (error,) = said.document["errors"]
    assert (said.code, said.document["exit_code"]) == (2, 2)
    assert error["field"] == "finger.bellows_count"
    shell.write(BAD_PROJECTS["not TOML"])
    said = shell("bend", "--json")
    assert said.document["errors"][0]["error"] == "ProjectFileError"
    assert said.document["command"] == "bend"


def test_no_project_is_told_in_one_line(shell: Shell) -> None:
    said = shell("bend", "nowhere")
    assert said.code == 2
    assert said.err.count("\n") == 1
    assert "fiddlehead new" in said.err


@pytest.mark.parametrize(
    "words",
    [("bned",), ("bend", "--pressure", "3"), ("bend", "--mesh", "finest"), ("new", "a", "b")],
)
def test_mistyped_commands(shell: Shell, words: tuple[str, ...]) -> None:
    said = shell(*words)
    assert said.code == 2
    assert "Usage" in said.err


@pytest.mark.parametrize("pressure", ["0", "-3", "nan", "1e9", "much"])
def test_pressures_that_make_no_sense(shell: Shell, pressure: str) -> None:
    shell.write(SMALL)
    assert shell("bend", "--pressure-kpa", pressure).code == 2
    assert not (shell.folder / "results").exists()


def test_unwritable_results_are_told_before_computing(shell: Shell) -> None:
    shell.write(SMALL)
    shell.write("a file, no folder", "taken")
    said = shell("bend", "--results", "taken/inside")
    assert said.code == 4
    assert "cannot write" in said.err
    assert (shell.folder / "taken").read_text() == "a file, no folder"


def test_the_unexpected_becomes_a_crash_file_and_one_line(
    shell: Shell, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaks(place: Path) -> None:
        raise ZeroDivisionError("deep inside")

    monkeypatch.setattr(fiddlehead.project.check, "examine", breaks)
    said = shell("check")
    assert said.code == 70
    assert said.err.count("\n") == 1
    (crash,) = shell.folder.glob("fiddlehead-crash-*.txt")
    text = crash.read_text(encoding="utf-8")
    assert "ZeroDivisionError: deep inside" in text
    assert "command: fiddlehead check" in text
    assert crash.name in said.err


def test_fit_from_hardness_writes_a_card_with_its_honest_error(shell: Shell) -> None:
    shell.write(SMALL)
    said = shell("fit", "--json")
    assert said.code == 0
    assert said.document["law"] == "neo_hookean"
    assert any("hardness alone" in warning for warning in said.document["warnings"])
    folder = shell.folder / "results/material"
    assert {"card.toml", "laws.png", "laws.svg", "contents.json"} <= {
        path.name for path in folder.iterdir()
    }


def test_fit_from_constants(shell: Shell) -> None:
    shell.write(
        '[material]\nlaw_from = "constants"\nlaw = "ogden_1"\nogden_convention = "2mu/alpha^2"\n'
        "constants = { mu1_mpa = 4.0, alpha1 = 2.0 }\n"
    )
    said = shell("fit", "--json")
    assert said.document["constants"] == {"mu1_mpa": 4.0, "alpha1": 2.0}
    assert said.document["youngs_modulus_mpa"] == pytest.approx(12.0)


def test_the_example_is_copied_once_and_your_changes_stay(shell: Shell) -> None:
    copy_example(Path("trial"))
    said = shell("check", "trial")
    assert said.code == 0
    assert "nothing to remark" in said.out
    project = shell.folder / "trial/fiddlehead.toml"
    mine = project.read_text(encoding="utf-8").replace("bellows_count = 7", "bellows_count = 6")
    project.write_text(mine, encoding="utf-8")
    copy_example(Path("trial"))
    assert project.read_text(encoding="utf-8") == mine
    assert "6 bellows" in shell("check", "trial").out


def test_a_missing_example_is_told(shell: Shell, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fiddlehead.cli.demo.EXAMPLE", "no-such-example")
    said = shell("demo", "here")
    assert said.code == 4
    assert "came without its example" in said.err
    assert not (shell.folder / "here").exists()
