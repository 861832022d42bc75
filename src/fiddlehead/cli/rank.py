"""``fiddlehead rank``: what the designs of a study say together."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fiddlehead.cli.codes import CANCELLED, OK
from fiddlehead.cli.options import json_option, project_argument, results_option
from fiddlehead.cli.outcome import plain
from fiddlehead.cli.output import Voice
from fiddlehead.cli.session import prepare

if TYPE_CHECKING:
    from fiddlehead.project.load import Project
    from fiddlehead.study.definition import Study
    from fiddlehead.study.store import Store
    from fiddlehead.study.understand import Understanding


@click.command()
@project_argument
@results_option
@click.option(
    "--compare", type=int, multiple=True, metavar="NUMBER",
    help="Put this design side by side with the project's own; may be repeated.",
)  # fmt: skip
@click.option(
    "--from", "start", type=int, default=None, metavar="NUMBER",
    help="Look for the smallest change to this design, instead of the project's own.",
)  # fmt: skip
@json_option
def rank(
    project: Path, results: Path | None, compare: tuple[int, ...], start: int | None, machine: bool
) -> int:
    """Rank the designs of a study and show why they are good.

    PROJECT is the project file or its folder; nothing is simulated. Goals and limits may have
    changed since `explore`. Writes Pareto front, parallel coordinates, scatter matrix, main
    effects, Sobol indices, designs side by side, and tables as Parquet and CSV to study/ in the
    results folder; tells the smallest change that meets all limits.
    """
    voice = Voice(machine)
    run, folder = prepare(project, results, None, voice, "rank")

    from fiddlehead.project.study import study_of
    from fiddlehead.study.definition import store_path
    from fiddlehead.study.store import Store

    study = study_of(run.project, run.card)
    with Store(store_path(folder), write=False) as store:
        return tell_study(
            voice, "rank", run.project, study, store, folder, compared=compare, start=start
        )


def tell_study(
    voice: Voice,
    command: str,
    project: Project,
    study: Study,
    store: Store,
    results: Path,
    *,
    compared: Sequence[int] = (),
    start: int | None = None,
    code: int = OK,
) -> int:
    """Write and tell a study; returns the exit code.

    Raises
    ------
    FiddleheadError : no design yet, a number that does not exist, a folder that cannot be written
    """
    from fiddlehead.report.study import write_study
    from fiddlehead.study.explore import row_of
    from fiddlehead.study.understand import understand

    found = understand(study, store, None if start is None else row_of(study, store, start))
    written = write_study(results, project, study, found, compared)
    if code == CANCELLED:
        voice.say()
        voice.paragraph("Stopped; what was found is kept. The same command goes on from here.")
    _tell_best(voice, study, found)
    _tell_errors(voice, found)
    _tell_change(voice, found)
    for remark in found.remarks:
        voice.paragraph(f"Mind: {remark}")
    voice.files(written.pictures, [written.folder / "ranking.csv"])
    voice.caution()
    voice.document(
        command,
        code,
        project=project.name,
        input_hash_sha256=project.input_hash,
        study=study.name,
        designs=len(found.frame),
        best=[_design(study, found, k) for k in found.best],
        change=None if found.change is None else plain(found.change.row),
        warnings=list(found.remarks),
        folder=str(written.folder),
        files=[str(file) for file in written.files],
    )
    return code


def _design(study: Study, found: Understanding, place: int) -> dict[str, Any]:
    """One design with its numbers, on both meshes where there are both."""
    row = found.frame.iloc[place]
    names = [n for n in found.frame.columns if n in study.space.names or n in study.quantities]
    names += [n for n in found.frame.columns if n.startswith("full_")]
    told = {name: plain(row[name]) for name in names}
    told = {n: v for n, v in told.items() if v == v}
    return {"number": int(row["number"]), "front": int(row["front"]), **told}


def _tell_best(voice: Voice, study: Study, found: Understanding) -> None:
    from fiddlehead.report.figures.study.labels import label, written

    voice.say()
    kept = int((found.frame["front"] > 0).sum())
    first = int((found.frame["front"] == 1).sum())
    voice.paragraph(
        f"{len(found.frame)} designs; {kept} keep all limits, {first} of them on the front."
    )
    if not found.best:
        return
    names = [*study.space.names, *(q for q in study.goals.quantities if q not in study.space.names)]
    voice.say("Best first (full: on the project's own mesh):")
    for place in found.best:
        row = found.frame.iloc[place]
        parts = []
        for name in names:
            text = f"{label(name).split(' (')[0]} {written(name, row[name])}"
            full = row.get(f"full_{name}", float("nan"))
            parts.append(text + (f" (full {written(name, full)})" if full == full else ""))
        voice.paragraph(f"design {int(row['number'])}: " + ", ".join(parts), indent="  ")


def _tell_errors(voice: Voice, found: Understanding) -> None:
    from fiddlehead.report.figures.study.labels import split_unit, written

    if found.surrogate is None:
        return
    for name, checked in found.surrogate.checked.items():
        voice.paragraph(
            f"Without simulation {split_unit(name)[0]} is foretold to "
            f"{written(name, checked.typical_error)} (typical error, each design left out in turn)."
        )


def _tell_change(voice: Voice, found: Understanding) -> None:
    from fiddlehead.report.figures.study.labels import split_unit, written

    if found.change is None:
        return
    if not found.change.moved:
        voice.paragraph("The design it starts from is foretold to meet all limits as it is.")
        return
    moves = ", ".join(
        f"{split_unit(name)[0]} {written(name, old)} to {written(name, new)}"
        for name, (old, new) in found.change.moved.items()
    )
    voice.paragraph(f"Smallest change foretold to meet all limits: {moves}.")
