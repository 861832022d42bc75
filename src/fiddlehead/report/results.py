"""Results folders: everything one verb found, written whole or not at all.

    results/
    ├── material/  card.toml, fits.json, laws.png/svg, one CSV per tested mode
    ├── bend/      record.json, arrays.npz, bend.csv, bend.pvd + steps/, pictures
    ├── block/     pictures, and per preset angle a folder like that of bend
    └── lateral/   record.json, arrays.npz, lateral.csv, lateral.pvd + steps/, picture

A result that was cancelled goes to ``bend-cancelled`` and so on, so that it never takes the place
of a finished one.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fiddlehead.errors import FiddleheadError
from fiddlehead.files import write_folder, write_text
from fiddlehead.finger.parameters import FingerParameters
from fiddlehead.material.card import MaterialCard
from fiddlehead.material.card_file import read_card, write_card
from fiddlehead.material.catalogue import law_entry
from fiddlehead.mesh.settings import MeshSettings
from fiddlehead.project.load import Project
from fiddlehead.project.material import ProjectMaterial, material_hash
from fiddlehead.report.about import about_run, detail_line, versions
from fiddlehead.report.export.series import write_series
from fiddlehead.report.export.store import save_result
from fiddlehead.report.export.tables import (
    bend_columns,
    block_columns,
    lateral_columns,
    reduced_columns,
    write_table,
)
from fiddlehead.report.figures.curves import (
    CurvePicture,
    angle_picture,
    draw_curves,
    force_picture,
    strain_picture,
    tip_path_picture,
)
from fiddlehead.report.figures.lateral import draw_lateral, lateral_picture
from fiddlehead.report.figures.laws import draw_laws, laws_picture
from fiddlehead.report.figures.section import draw_section, section_picture, wall_note
from fiddlehead.report.figures.shapes import draw_shapes, shapes_picture
from fiddlehead.report.figures.style import save
from fiddlehead.trials.records import BendResult, BlockResult, LateralResult

CONTENTS = "contents.json"
"""Marks a folder as one of ours: what it holds and from which input."""
CANCELLED = "cancelled"


@dataclass(frozen=True)
class Run:
    """What a trial was run with.

    mesh : settings in use, which an option may have changed
    date : when it was run, ISO 8601
    """

    project: Project
    card: MaterialCard
    mesh: MeshSettings
    date: str


@dataclass(frozen=True)
class Written:
    """Where results went: the folder, and the files in it, pictures first."""

    folder: Path
    pictures: tuple[Path, ...]
    files: tuple[Path, ...]


def write_material(results: Path, project: Project, material: ProjectMaterial) -> Written:
    """Write card, fits, reduced curves and their picture.

    Raises
    ------
    StoreError : the folder cannot be written
    """
    card, found = material.card, material.found
    fits = found.fits if found else ()

    def fill(folder: Path) -> None:
        write_card(folder / "card.toml", card)
        picture = laws_picture(
            "Test data and laws" if found else "The law in four modes",
            f"{card.name}; {_origin(card)}",
            found.curves if found else (),
            material.responses,
            law_entry(card.law_name).title,
            [law_entry(f.law_name).title for f in fits if not f.stability.stable],
        )
        save(draw_laws(picture), folder, "laws")
        if found:
            write_text(folder / "fits.json", _json({"versions": versions(), **_fits(material)}))
            for curve in found.curves:
                write_table(folder / f"{curve.mode}.csv", reduced_columns(curve))

    return write_result(results / "material", fill, "material", material_hash(project), ("laws",))


def _origin(card: MaterialCard) -> str:
    if card.origin == "tests":
        return f"relative-stress fit to {100 * card.use_strain:.0f} % strain, {card.cycle} curve"
    return "constants typed by hand" if card.origin == "constants" else "from hardness alone"


def _fits(material: ProjectMaterial) -> dict[str, Any]:
    found = material.found
    assert found is not None
    return {
        "recommendation": dataclasses.asdict(found.recommendation),
        "use_strain": found.use_strain,
        "fits": [
            {
                **dataclasses.asdict(fit),
                "stable": fit.stability.stable,
                "source": law_entry(fit.law_name).source,
            }
            for fit in found.fits
        ],
    }


def write_bend(results: Path, run: Run, result: BendResult) -> Written:
    """Write one free bending.

    Raises
    ------
    StoreError : the folder cannot be written
    """
    heading, detail = _heading(run, "free bending"), detail_line(run.card, result.mesh)
    loads = run.project.loads

    def fill(folder: Path) -> None:
        _save_trial(folder, "bend", result, run)
        write_table(folder / "bend.csv", bend_columns(result))
        strain = strain_picture(
            result,
            heading,
            detail,
            limit_percent=loads.strain_limit_percent,
            limit_across_layers_percent=loads.strain_limit_across_layers_percent,
        )
        path = tip_path_picture(result, heading, detail)
        _draw_all(folder, (angle_picture(result, heading, detail), strain, path))
        save(draw_shapes(shapes_picture(result, heading, detail)), folder, "shapes")
        _draw_section(folder, run.project.finger, run.project.name)

    name = _place("bend", [result.history.outcome])
    pictures = ("angle_pressure", "shapes", "strain_pressure", "tip_path", "section")
    return write_result(results / name, fill, "bend", run.project.input_hash, pictures)


def write_block(results: Path, run: Run, found: Sequence[BlockResult]) -> Written:
    """Write blocked force, one folder per preset angle.

    Raises
    ------
    StoreError : the folder cannot be written
    """
    heading, detail = _heading(run, "blocked force"), detail_line(run.card, found[0].mesh)

    def fill(folder: Path) -> None:
        for result in found:
            inner = folder / f"preset_{result.preset_angle_deg:g}_deg"
            _save_trial(inner, "block", result, run)
            write_table(inner / "block.csv", block_columns(result))
            save(draw_shapes(shapes_picture(result, heading, detail)), inner, "shapes")
        _draw_all(folder, (force_picture(found, heading, detail),))

    name = _place("block", [result.history.outcome for result in found])
    return write_result(results / name, fill, "block", run.project.input_hash, ("force_pressure",))


def write_lateral(results: Path, run: Run, result: LateralResult) -> Written:
    """Write one lateral stiffness.

    Raises
    ------
    StoreError : the folder cannot be written
    """
    heading, detail = _heading(run, "lateral stiffness"), detail_line(run.card, result.mesh)

    def fill(folder: Path) -> None:
        _save_trial(folder, "lateral", result, run)
        write_table(folder / "lateral.csv", lateral_columns(result))
        picture = draw_lateral(lateral_picture(result, heading, detail))
        save(picture, folder, "lateral_stiffness")

    name = _place("lateral", [result.history.outcome])
    pictures = ("lateral_stiffness",)
    return write_result(results / name, fill, "lateral", run.project.input_hash, pictures)


def _heading(run: Run, what: str) -> str:
    return f"{run.project.name}: {what}"


def _save_trial(
    folder: Path, kind: str, result: BendResult | BlockResult | LateralResult, run: Run
) -> None:
    about = about_run(run.project, run.card, result.mesh, run.mesh, run.date)
    save_result(folder, kind, result, about)
    write_series(folder, kind, result)


def _draw_all(folder: Path, pictures: Sequence[CurvePicture]) -> None:
    for picture in pictures:
        save(draw_curves(picture), folder, picture.name)


def _draw_section(folder: Path, finger: FingerParameters, name: str) -> None:
    picture = section_picture(finger, f"{name}: section", wall_note(finger))
    save(draw_section(picture), folder, "section")


def _place(verb: str, outcomes: Sequence[str]) -> str:
    return f"{verb}-{CANCELLED}" if CANCELLED in outcomes else verb


def write_result(
    place: Path,
    fill: Callable[[Path], None],
    kind: str,
    input_hash: str | None = None,
    pictures: Sequence[str] | None = None,
) -> Written:
    """Put a folder with what ``fill`` writes and a list of its contents in the place of ``place``.

    Parameters
    ----------
    input_hash : of the project, where a later command must know whether the result still holds
    pictures : their names, the first to be shown first; all that were written when None

    Raises
    ------
    StoreError : the folder cannot be written
    """

    def fill_and_mark(folder: Path) -> None:
        fill(folder)
        files = sorted(str(f.relative_to(folder)) for f in folder.rglob("*") if f.is_file())
        known = {} if input_hash is None else {"input_hash_sha256": input_hash}
        contents = {"kind": kind, **known, "files": files}
        write_text(folder / CONTENTS, _json(contents))

    write_folder(place, fill_and_mark, ours=CONTENTS)
    drawn = sorted(place.glob("*.png"))
    return Written(
        folder=place,
        pictures=tuple(drawn if pictures is None else [place / f"{n}.png" for n in pictures]),
        files=tuple(sorted(f for f in place.rglob("*") if f.is_file())),
    )


def _json(content: Any) -> str:
    return json.dumps(content, indent=2, ensure_ascii=False, default=str) + "\n"


def saved_card(results: Path, project: Project) -> MaterialCard | None:
    """The card of an earlier ``fit``, if it was made from just this material section and data."""
    folder = results / "material"
    try:
        contents = json.loads((folder / CONTENTS).read_text(encoding="utf-8"))
        if contents.get("input_hash_sha256") != material_hash(project):
            return None
        return read_card(folder / "card.toml")
    except (OSError, ValueError, AttributeError, FiddleheadError):
        return None
