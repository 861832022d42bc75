"""The ``report`` folder: one page, one PDF, one data package.

results/report/  report.html, report.pdf, data.zip
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from fiddlehead.files import write_bytes, write_text
from fiddlehead.report.document import Sheet, html
from fiddlehead.report.job.assemble import job_sheet
from fiddlehead.report.job.package import data_package
from fiddlehead.report.job.parts import Job
from fiddlehead.report.pdf import pdf
from fiddlehead.report.results import Written, write_result

PAGE, PAPER, PACKAGE = "report.html", "report.pdf", "data.zip"


@dataclass(frozen=True)
class Reported:
    """Where the report went, and what it says."""

    written: Written
    sheet: Sheet


def write_report(job: Job, *, package: bool = True) -> Reported:
    """Write the report of a job; the same results on the same day give the same bytes.

    Parameters
    ----------
    package : whether the data package is written too

    Raises
    ------
    StoreError : a picture is damaged, or the folder cannot be written
    """
    sheet = job_sheet(job)
    page = html(sheet, embed_from=job.results)
    paper = pdf(sheet, job.results, job.day)

    def fill(folder: Path) -> None:
        write_text(folder / PAGE, page)
        write_bytes(folder / PAPER, paper)
        if package:
            told = {PAGE: page.encode(), PAPER: paper}
            write_bytes(folder / PACKAGE, data_package(job, told))

    written = write_result(job.results / "report", fill, "report", job.project.input_hash, ())
    return Reported(written, sheet)
