"""``fiddlehead demo``: the whole path on the shipped example."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import click

from fiddlehead.cli.air import air
from fiddlehead.cli.base import base
from fiddlehead.cli.bend import bend
from fiddlehead.cli.block import block
from fiddlehead.cli.check import check
from fiddlehead.cli.codes import OK
from fiddlehead.cli.compare import compare
from fiddlehead.cli.experiment import analyse, plan
from fiddlehead.cli.explore import explore
from fiddlehead.cli.fit import fit
from fiddlehead.cli.handover import handover
from fiddlehead.cli.measure import measure
from fiddlehead.cli.output import Voice
from fiddlehead.cli.press import press
from fiddlehead.cli.printcheck import printcheck
from fiddlehead.cli.protocol import protocol
from fiddlehead.cli.report import report
from fiddlehead.cli.sheet import sheet
from fiddlehead.cli.solid import solid

EXAMPLE = "greenware"
NAMES = {plan: "experiment plan", analyse: "experiment analyse"}
"""Verbs of two words."""
SMALL_STUDY = {
    "results": None, "designs": 10, "best": 0, "unsure": None, "anew": False, "processes": None,
    "scheduler": None, "batch": None,
}  # fmt: skip
"""A handful of the study's designs; all of them: fiddlehead explore --processes 2."""


@click.command()
@click.argument(
    "folder", type=click.Path(path_type=Path, file_okay=False), default=Path("greenware-demo")
)
@click.option(
    "--mesh",
    type=click.Choice(["preview", "standard", "fine"]),
    default=None,
    help="How finely the finger is divided; preview is quickest.",
)
@click.pass_context
def demo(context: click.Context, folder: Path, mesh: str | None) -> int:
    """Run the whole path on an invented example.

    That is fit, check, bend, block, press (the bowl, without friction, on the preview mesh), a
    small study, the files for the printer, a leak experiment, the air supply, protocol, measure,
    compare, handover and report. Material, tests, measurements and studio are invented. FOLDER
    (default: greenware-demo) gets a copy of the example project; an existing copy is used as it
    stands, with whatever you changed in it.
    """
    copy_example(folder)
    voice = Voice()
    worst = OK
    for verb, options in (
        (fit, {"results": None}),
        (check, {"strict": False}),
        (bend, {"results": None, "pressure_kpa": None, "mesh": mesh}),
        (block, {"results": None, "pressure_kpa": None, "mesh": mesh}),
        (
            press,
            {
                "results": None,
                "pressure_kpa": None,
                "mesh": "preview",
                "names": ("bowl",),
                "smooth": True,
            },
        ),
        (explore, SMALL_STUDY),
        (solid, {"results": None}),
        (
            printcheck,
            {"results": None, "orientation": None, "part": None, "strict": False},
        ),
        (sheet, {"results": None, "quick": True}),
        (base, {"results": None, "quick": True}),
        (plan, {"results": None}),
        (
            analyse,
            {"results": None, "sheet": folder / "coupons/result_sheet.csv", "stiffest": None},
        ),
        (air, {"results": None, "rigid": False}),
        (protocol, {"results": None, "only": ""}),
        (measure, {"results": None, "strict": False}),
        (compare, {"results": None, "quick": False, "strict": False}),
        (handover, {"results": None, "proof_tested": "", "date": ""}),
        (report, {"results": None, "date": "", "no_package": False, "strict": False}),
    ):
        voice.say(f"\n--- fiddlehead {NAMES.get(verb, verb.name)} {folder} " + "-" * 40)
        worst = max(worst, context.invoke(verb, project=folder, machine=False, **options))
    voice.say(f"\nEverything in one document: {folder / 'results' / 'report' / 'report.html'}")
    voice.say("\nPictures:")
    for picture in sorted((folder / "results").rglob("*.png")):
        voice.say(f"  {picture}")
    voice.say(f"\nNext, a minute more: fiddlehead calibrate {folder} --mesh preview")
    return worst


def copy_example(folder: Path) -> None:
    """Put the example project into ``folder`` unless one is there.

    Raises
    ------
    StoreError : the folder cannot be written, or the package came without its example
    """
    from fiddlehead.files import write_bytes
    from fiddlehead.project.read import FILE_NAME

    if (folder / FILE_NAME).exists():
        return
    example = example_folder()
    for path in sorted(example.rglob("*")):
        if path.is_file() and path.suffix in (".toml", ".csv", ".tsv", ".xlsx", ".jpg"):
            write_bytes(folder / path.relative_to(example), path.read_bytes())


def example_folder() -> Path:
    """The example inside the installed package, or in the source tree it runs from.

    Raises
    ------
    StoreError : neither is there
    """
    from fiddlehead.errors import StoreError

    package = Path(str(files("fiddlehead")))
    for place in (package / "examples", package.parents[1] / "examples"):
        if (place / EXAMPLE / "fiddlehead.toml").is_file():
            return place / EXAMPLE
    raise StoreError(
        "this installation came without its example",
        where=str(package / "examples"),
        remedy="Install fiddlehead again.",
    )
