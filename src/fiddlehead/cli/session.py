"""What every computing verb does first: check the project, find a place, get the card, warm up."""

from __future__ import annotations

import os
import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fiddlehead.cli.codes import WRONG_INPUT
from fiddlehead.cli.output import Voice

if TYPE_CHECKING:
    from fiddlehead.material.card import MaterialCard
    from fiddlehead.project.load import Project
    from fiddlehead.report.results import Run


def checked_project(place: Path, voice: Voice, command: str) -> Project:
    """The project, or every mistake told and the command ended."""
    from fiddlehead.project.check import examine
    from fiddlehead.project.load import assemble

    found = examine(place)
    if not found.usable:
        mistakes = found.of_kind("mistake")
        voice.findings(mistakes)
        voice.say(f"{found.path}: nothing was computed and nothing changed.")
        voice.document(command, WRONG_INPUT, errors=[mistake.fields() for mistake in mistakes])
        raise click.exceptions.Exit(WRONG_INPUT)
    if found.findings:
        voice.say(
            f"{found.path}: {len(found.findings)} remarks on this design; "
            "`fiddlehead check` tells them."
        )
    return assemble(found)


def results_folder(project: Project, wished: Path | None) -> Path:
    """Where results go; made and tried out now, before anything is computed.

    Raises
    ------
    StoreError : it cannot be written
    """
    from fiddlehead.files import write_text

    folder = project.path.parent / "results" if wished is None else wished
    write_text(folder / ".try", "").unlink()
    return folder


def now() -> str:
    """Date and time of the run, ISO 8601 with the offset from UTC."""
    return datetime.now().astimezone().isoformat(timespec="seconds")


def keep_compiled_programs() -> None:
    """Let JAX keep what it compiled between runs, in the user's cache folder.

    Respects ``JAX_COMPILATION_CACHE_DIR``; without a writable cache folder nothing is kept.
    """
    if "JAX_COMPILATION_CACHE_DIR" in os.environ:
        return
    home = Path.home()
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA", home / "AppData" / "Local"))
    elif sys.platform == "darwin":
        base = home / "Library" / "Caches"
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME", home / ".cache"))
    folder = base / "fiddlehead" / "compiled"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return
    if os.access(folder, os.W_OK):
        os.environ["JAX_COMPILATION_CACHE_DIR"] = str(folder)
        os.environ.setdefault("JAX_PERSISTENT_CACHE_MIN_COMPILE_TIME_SECS", "0")


def one_thread_per_block() -> None:
    """Let the linear algebra under JAX use one thread, before anything loads it.

    Its blocks are too small to share: two threads gain nothing (0.32 s a Newton step of the demo
    finger against 0.34 s), and beside another busy program they wait for each other (3.5 s against
    0.7 s). Respects ``OPENBLAS_NUM_THREADS``.
    """
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def card_for(project: Project, results: Path, voice: Voice) -> MaterialCard:
    """The card of an earlier ``fit`` where it still holds, else a new one, written as by ``fit``.

    Raises
    ------
    FiddleheadError : as ``fit``
    """
    from fiddlehead.project.material import make_material
    from fiddlehead.report.results import saved_card, write_material

    card = saved_card(results, project)
    if card is None:
        if project.material.law_from == "tests":
            voice.say("Fitting the material first ...")
        material = make_material(project, now()[:10])
        written = write_material(results, project, material)
        card = material.card
        voice.say(f"Material card: {written.folder / 'card.toml'}")
    return card


def prepare(
    place: Path, wished: Path | None, mesh: str | None, voice: Voice, command: str
) -> tuple[Run, Path]:
    """Everything a trial needs: project, card and mesh settings, and where results go.

    Raises
    ------
    FiddleheadError : the project, its material or its results folder cannot be used
    """
    from fiddlehead.project.load import mesh_of_section
    from fiddlehead.report.results import Run

    project = checked_project(place, voice, command)
    results = results_folder(project, wished)
    keep_compiled_programs()
    card = card_for(project, results, voice)
    settings = mesh_of_section(project.sections.mesh, mesh)
    return Run(project=project, card=card, mesh=settings, date=now()), results
