"""Sections on many designs: the study, the search for better ones, printing scatter."""

from __future__ import annotations

import csv

from fiddlehead.report.document import Block, Note, Section, Table
from fiddlehead.report.job.parts import Job

STUDY_PICTURES = (
    ("front", "Objectives of all designs, those nothing beats on a line."),
    ("best", "The project's own design beside the best."),
    ("effects", "What each variable does to each quantity, and its share of the variance."),
    ("parallel", "All designs, one line for each."),
)


def study(job: Job) -> Section | None:
    """What a study of many designs says."""
    if not job.has("study"):
        return None
    found = job.document("study", "record.json")
    named = ", ".join(f"design {number}" for number in found["best"]) or "none keeps all limits"
    said = f"{found['designs']} designs; best: {named}."
    errors = tuple(
        (name, f"{one['q2']:.2f}", f"{one['typical_error']:.3g}", f"{100 * one['band_held']:.0f} %")
        for name, one in found["surrogate"].items()
    )
    header = ("quantity", "Q²", "typical error", "inside the 95 % band")
    blocks: list[Block] = [said, *job.pictures("study", *STUDY_PICTURES)]
    if errors:
        title = "Prediction without simulation, each design left out in turn"
        blocks.append(Table(header, errors, title))
    return Section("Study of designs", (*blocks, *map(Note, found["remarks"])))


def search(job: Job) -> Section | None:
    """How good designs became with the number of simulations."""
    if not job.has("optimise"):
        return None
    found = job.document("optimise", "record.json")["searches"]
    rows = tuple(
        (by, str(one["simulations"][-1]), f"{one['hypervolume'][-1]:.4g}")
        for by, one in found.items()
        if one["simulations"]
    )
    shows = ("search", "Hypervolume of designs that keep all limits, over simulations.")
    header = ("search", "simulations", "hypervolume")
    return Section(
        "Search for better designs", (*job.pictures("optimise", shows), Table(header, rows))
    )


def printing_scatter(job: Job) -> Section | None:
    """The chance that a print keeps each limit."""
    if not job.has("tolerance"):
        return None
    with (job.results / "tolerance" / "odds.csv").open(encoding="utf-8", newline="") as file:
        lines = list(csv.DictReader(file))
    rows = tuple(
        (
            line["limit"],
            f"{float(line['chance_percent']):.0f} %",
            f"{line['chance_with_model_error_percent']} %",
            f"{float(line['worst_by_model']):.3g}",
            line["causes_that_matter"],
        )
        for line in lines
    )
    header = ("limit", "kept by", "with model error", "worst case", "causes that matter")
    shows = ("odds", "Chance that a print keeps each limit.")
    return Section(
        "Printing scatter", (*job.pictures("tolerance", shows), Table(header, rows, "Of prints"))
    )
