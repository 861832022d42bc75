"""``fiddlehead new``: a commented project file."""

from __future__ import annotations

from pathlib import Path

import click

from fiddlehead.cli.output import Voice


@click.command()
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False), default=Path())
@click.option("--json", "machine", is_flag=True, help="One JSON document on standard output.")
def new(folder: Path, machine: bool) -> None:
    """Write a commented project file.

    It goes into FOLDER, which is made when missing (default: the current folder). Every entry
    stands there with its default, its range, where the default comes from and one line of
    explanation. An existing project file is never overwritten.
    """
    from fiddlehead.errors import ProjectFileError
    from fiddlehead.files import write_text
    from fiddlehead.project.example import example_text
    from fiddlehead.project.read import FILE_NAME

    path = folder / FILE_NAME
    if path.exists():
        raise ProjectFileError(
            "there is a project here already; it was left as it is",
            where=str(path),
            remedy="Name another folder: fiddlehead new FOLDER",
        )
    write_text(path, example_text(folder.resolve().name or "my gripper"))
    voice = Voice(machine)
    voice.say(f"Wrote {path}")
    voice.say("Change what is yours, then ask what is wrong or unwise in it:")
    voice.say(f"  fiddlehead check {folder}")
    voice.caution()
    voice.document("new", 0, project_file=str(path))
