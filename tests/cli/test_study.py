"""``explore``, ``rank``, ``optimise`` and ``tolerance``, as somebody types them."""

from __future__ import annotations

import csv

import pandas as pd
import pytest

from fiddlehead.cli.codes import CANNOT_WRITE, OK, WRONG_INPUT
from tests.cli.command import SMALL, Shell

STUDY = """
[study]
name = "small"
designs = 8
best = 0
smallest = ["mass_g"]

[study.ranges]
wall_thickness_mm = [1.0, 1.4]
working_pressure_kpa = [60.0, 100.0]

[study.at_least]
tip_angle_deg = 4.0
"""


def test_a_project_without_a_study_is_told_what_to_write(shell: Shell) -> None:
    shell.write(SMALL)
    said = shell("explore")
    assert said.code == WRONG_INPUT
    assert "nothing varies in this study" in said.err
    said = shell("rank")
    assert said.code in (WRONG_INPUT, CANNOT_WRITE)


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        ("[study.ranges]\nwall_thicknes_mm = [1.0, 1.4]", "this cannot vary"),
        ("[study.ranges]\nwall_thickness_mm = [1.4, 1.0]", "bounds must rise"),
        ("[study.ranges]\npad_rib_count = [1.0, 4.0]", "need a [pad]"),
        ("[study.choices]\nbellows_count = [3]", "two or more different values"),
        ("[study.steps]\nwall_thickness_mm = 3", "steps without a range"),
        ("[study.at_least]\ncharm = 1.0", "no trial finds this quantity"),
        ("[study]\ntrials = ['wiggle']", "no such trial"),
        ("[study]\nlargest = []\nsmallest = []", "nothing is wanted"),
        ("[study.scatter]\nmood = 1.0", "no such scatter"),
        ("[study]\nsampling = 'dice'", "not one of the choices"),
    ],
)
def test_mistakes_in_a_study(shell: Shell, entry: str, told: str) -> None:
    ranges = (
        "" if "[study.ranges]" in entry else "\n[study.ranges]\nbase_thickness_mm = [1.0, 2.0]\n"
    )
    shell.write(SMALL + "\n" + entry + ranges)
    said = shell("check")
    assert said.code == WRONG_INPUT
    assert told in " ".join((said.out + said.err).split())
    assert "study" in said.out + said.err


@pytest.mark.slow
def test_a_study_from_the_command_line(shell: Shell) -> None:
    shell.write(SMALL + STUDY)
    said = shell("explore", "--json")
    assert said.code == OK, said.err
    assert "8 of 8 designs" in said.err
    document = said.document
    assert document["designs"] == 8
    best = document["best"][0]
    assert best["tip_angle_deg"] >= 4.0
    folder = shell.folder / "results/study"
    frame = pd.read_parquet(folder / "ranking.parquet")
    rows = list(csv.DictReader((folder / "ranking.csv").read_text().splitlines()))
    assert len(frame) == len(rows) == 8
    assert float(rows[0]["mass_g"]) == pytest.approx(frame["mass_g"][0], rel=1e-8)
    names = ["front", "best", "parallel", "matrix", "effects", "foretold"]
    assert all((folder / f"{name}.png").stat().st_size > 10_000 for name in names)

    number = str(best["number"])
    said = shell("rank", "--compare", number, "--from", number)
    assert said.code == OK
    assert "meet all limits as it is" in " ".join(said.out.split())

    said = shell("optimise", "--designs", "8", "--population", "4", "--json")
    assert said.code == OK, said.err
    assert said.document["simulations"]["evolution"] <= 8
    assert said.document["hypervolume"]["evolution"] > 0.0
    assert (shell.folder / "results/optimise/search.png").stat().st_size > 10_000

    said = shell("tolerance", "--design", number, "--json")
    assert said.code == OK, said.err
    assert said.document["by"] == "adjoint"
    (limit,) = said.document["limits"]
    assert 0.0 <= limit["chance_percent"] <= 100.0
    assert limit["worst_simulated"] == pytest.approx(limit["worst_by_model"], rel=0.05)
    assert "value from memory" in " ".join(said.err.split())
    assert (shell.folder / "results/tolerance/odds.png").stat().st_size > 10_000

    said = shell("report")
    assert said.code == OK, said.err
    page = (shell.folder / "results/report/report.html").read_text(encoding="utf-8")
    for heading in ("Study of designs", "Search for better designs", "Printing scatter"):
        assert f">{heading}<" in page
    assert "8 designs; best: design" in page

    shell.write((SMALL + STUDY).replace("height_mm = 12.0", "height_mm = 12.5", 1))
    said = shell("explore")
    assert said.code == CANNOT_WRITE
    assert "finger.height_mm was 12.0, is 12.5" in said.err
