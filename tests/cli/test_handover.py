"""``fiddlehead handover``."""

from __future__ import annotations

import json

from tests.cli.command import SMALL, Shell


def test_handover_without_results(shell: Shell) -> None:
    path = shell.write(SMALL)
    said = shell("handover", "--date", "2026-11-25", "--json")
    assert said.code == 0, said.err
    assert said.document["proof_pressure_kpa"] == 150.0
    assert said.document["proof_tested"] == ""
    assert "rigid" in said.document["warnings"][0]
    shell("solid")
    modelled = json.loads((path.parent / "results/solid/solid.json").read_text())
    printed = json.loads((path.parent / "results/handover/handover.json").read_text())
    assert printed["finger_mass_g"] == modelled["finger"]["mass_g"]
    assert (path.parent / "results/handover/label.svg").exists()
    assert "not yet proof tested" in said.err


def test_the_day_of_the_proof_test(shell: Shell) -> None:
    shell.write(SMALL)
    said = shell("handover", "--proof-tested", "2026-12-01")
    assert said.code == 0
    assert "proof tested 2026-12-01" in said.out
    wrong = shell("handover", "--proof-tested", "yesterday")
    assert wrong.code == 2
    assert "2026-11-25" in wrong.err
