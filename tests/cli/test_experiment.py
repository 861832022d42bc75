"""``fiddlehead experiment``."""

from __future__ import annotations

from pathlib import Path

from tests.cli.command import SMALL, Shell

FILLED = Path(__file__).resolve().parents[2] / "examples/greenware/coupons/result_sheet.csv"


def test_plan_then_analyse(shell: Shell) -> None:
    path = shell.write(SMALL + "\n[experiment]\ncentre_points = 3\nseed = 9\n")
    said = shell("experiment", "plan", "--json")
    assert said.code == 0, said.err
    assert said.document["coupons"] == 35
    assert said.document["resolution"] == 4
    folder = path.parent / "results/experiment-plan"
    assert (folder / "coupon.3mf").exists()
    read = shell("experiment", "analyse", str(FILLED), "--json")
    assert read.code == 0, read.err
    assert read.document["recommended"]["flow_percent"] == "115"
    low = read.document["leak_cm3_per_min"]
    assert low[1] < low[0] < low[2]
    assert "screen" in said.err
    assert "Airtightness experiment" in shell.reported()


def test_people_are_told(shell: Shell) -> None:
    shell.write(SMALL)
    said = shell("experiment", "analyse", str(FILLED))
    assert said.code == 0
    for piece in ("Recommended settings:", "no effect seen", "Chance that a coupon holds"):
        assert piece in said.out


def test_a_blank_sheet_is_told_apart(shell: Shell) -> None:
    path = shell.write(SMALL)
    assert shell("experiment", "plan").code == 0
    blank = path.parent / "results/experiment-plan/result_sheet.csv"
    said = shell("experiment", "analyse", str(blank))
    assert said.code == 2
    assert "too few coupons" in said.err
    missing = shell("experiment", "analyse", "nowhere.csv")
    assert missing.code == 2
    assert "cannot be read" in missing.err


def test_too_soft_a_wish(shell: Shell) -> None:
    shell.write(SMALL)
    said = shell("experiment", "analyse", str(FILLED), "--stiffest", "0.1")
    assert said.code == 2
    assert "as soft as that" in said.err
