"""The report of a job: what it tells, what it refuses, and that it repeats."""

from __future__ import annotations

import json
import shutil
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from fiddlehead.errors import StoreError
from fiddlehead.project.load import load_project
from fiddlehead.report.calibrated import write_calibration
from fiddlehead.report.document import (
    Headline,
    Note,
    Picture,
    Section,
    Sheet,
    Table,
    html,
    pictures_of,
)
from fiddlehead.report.job.assemble import job_sheet
from fiddlehead.report.job.parts import Job, look_through
from fiddlehead.report.job.write import write_report
from fiddlehead.report.pdf import pdf
from tests.report.test_bench_pictures import made_up_calibration

DAY = "2026-11-25"
PARTS = (
    "At a glance",
    "The job",
    "Design",
    "Material card",
    "Mesh and convergence",
    "Bending",
    "Strain",
    "Blocked force",
    "Lateral stiffness",
    "Print sheet",
    "Air supply",
    "Measured on the bench",
    "Leaks",
    "Measurement over prediction",
    "Pressure label",
    "Provenance",
)


def job_of(folder: Path) -> Job:
    return look_through(load_project(folder), folder / "results", DAY)


@pytest.fixture
def own(finished_job: Path, tmp_path: Path) -> Path:
    """A copy to spoil."""
    return Path(shutil.copytree(finished_job, tmp_path / "own"))


def sections(sheet: Sheet) -> dict[str, Section]:
    return {section.heading: section for section in sheet.sections}


def notes(section: Section) -> str:
    return " ".join(block.text for block in section.blocks if isinstance(block, Note))


def test_every_part_that_is_there_is_told_in_the_order_of_the_job(finished_job: Path) -> None:
    sheet = job_sheet(job_of(finished_job))
    assert tuple(sections(sheet)) == PARTS
    (glance,) = sections(sheet)["At a glance"].blocks
    assert isinstance(glance, Headline)
    told = {what: value for value, what in glance.values}
    assert told["bending angle, tip tangent, predicted at 100 kPa"] == "90°"  # made up so
    assert told["blocked force of one finger, plate at 0°, predicted at 100 kPa"] == "2 N"
    assert told["leak class, worst of 1 measured fingers"] == "A"


def test_tables_are_rectangular_and_say_what_was_saved(finished_job: Path) -> None:
    sheet = job_sheet(job_of(finished_job))
    tables = [b for s in sheet.sections for b in s.blocks if isinstance(b, Table)]
    assert all(len(row) == len(table.header) for table in tables for row in table.rows)
    provenance = [row for t in sections(sheet)["Provenance"].blocks if isinstance(t, Table)
                  for row in t.rows]  # fmt: skip
    project = load_project(finished_job)
    assert ("all entries and test files", project.input_hash) in provenance
    assert any(row[0] == "bench: leak.csv" and len(row[1]) == 64 for row in provenance)
    assert ("printed base", "fiddlehead base", "", "not made") in provenance
    assert ("order of the leak experiment", "1") in provenance
    assert any(row[0] == "jax" for row in provenance)


def test_twice_the_same_day_gives_the_same_bytes(own: Path) -> None:
    first = write_report(job_of(own))
    files = {path.name: path.read_bytes() for path in first.written.files}
    second = write_report(job_of(own))
    assert {path.name: path.read_bytes() for path in second.written.files} == files
    assert set(files) == {"report.html", "report.pdf", "data.zip", "contents.json"}


def test_nothing_to_report_is_told(tmp_path: Path, finished_job: Path) -> None:
    project = load_project(finished_job)
    with pytest.raises(StoreError, match=r"no results to report yet.*fiddlehead fit"):
        look_through(project, tmp_path / "nothing", DAY)


def test_results_of_an_older_project_file_are_marked(own: Path) -> None:
    path = own / "fiddlehead.toml"
    text = path.read_text(encoding="utf-8").replace("pitch_mm = 8.0", "pitch_mm = 8.5")
    path.write_text(text, encoding="utf-8")
    job = job_of(own)
    assert job.found["bend"].state == "stale"
    assert job.found["compared"].state == "stale"
    assert job.found["material"].state == "current"  # the material section did not change
    sheet = job_sheet(job)
    first = sheet.sections[0]
    assert first.heading == "Mind before you read on"
    assert "Free bending: Made from an older project file" in notes(first)
    assert "Run fiddlehead bend again." in notes(first)
    assert "Bending" in sections(sheet)  # shown all the same


def test_changing_who_reports_makes_nothing_stale(own: Path) -> None:
    path = own / "fiddlehead.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("A. Potter", "B. Potter"))
    assert {found.state for found in job_of(own).found.values()} == {"current"}


def test_raw_files_that_changed_are_noticed(own: Path) -> None:
    with (own / "bench" / "leak.csv").open("a") as file:
        file.write("A,182,98.1\n")
    assert "leak.csv is not the file" in job_of(own).found["measured"].told


def test_a_comparison_older_than_its_measurements_is_noticed(own: Path) -> None:
    place = own / "results" / "compared" / "compared.json"
    kept = json.loads(place.read_text())
    place.write_text(json.dumps({**kept, "date": "2020-01-01T00:00:00+00:00"}))
    assert "Older than the measurements" in job_of(own).found["compared"].told


@pytest.mark.parametrize("spoil", ["contents", "file", "arrays", "record"])
def test_a_broken_part_costs_only_itself(own: Path, spoil: str) -> None:
    bend = own / "results" / "bend"
    if spoil == "contents":
        (bend / "contents.json").write_text("{")
    elif spoil == "file":
        (bend / "shapes.svg").unlink()
    elif spoil == "arrays":
        (bend / "arrays.npz").write_bytes(b"nothing")
    else:
        (bend / "record.json").write_text('{"format": "fiddlehead result 1"}')
    sheet = job_sheet(job_of(own))
    told = " ".join(notes(section) for section in sheet.sections)
    assert "fiddlehead bend" in told or "damaged" in told
    assert "Blocked force" in sections(sheet)
    assert "Bending" not in sections(sheet)
    html(sheet, own / "results")


def test_cancelled_runs_are_named_and_left_out(own: Path) -> None:
    shutil.copytree(own / "results" / "bend", own / "results" / "bend-cancelled")
    assert "bend-cancelled" in notes(job_sheet(job_of(own)).sections[0])


def test_a_damaged_picture_stops_the_report_with_a_remedy(own: Path) -> None:
    (own / "results" / "bend" / "shapes.svg").write_text("<svg")
    with pytest.raises(StoreError, match="draws it again"):
        write_report(job_of(own))
    assert not (own / "results" / "report").exists()


def test_a_calibration_is_told(own: Path) -> None:
    project = load_project(own)
    write_calibration(own / "results", "small", made_up_calibration(), date="2099-01-01",
                      input_hash=project.input_hash, foretold={})  # fmt: skip
    job = job_of(own)
    assert job.found["calibrated"].state == "current"
    section = sections(job_sheet(job))["Calibration"]
    assert "Error on the pressures held out: 1.5 % of full scale, 12.0 % before." in section.blocks
    assert notes(section) == "mind this"


def test_results_without_a_section_of_their_own_are_shown_as_saved(own: Path) -> None:
    for name in ("odds", "held/bowl_80"):
        folder = own / "results" / name
        folder.mkdir(parents=True)
        (folder / "contents.json").write_text('{"kind": "tolerance", "files": ["odds.csv"]}')
        (folder / "odds.csv").write_text("limit,chance_percent\nstrain,97.25\n")
        (folder / "record.json").write_text('{"study": {"seed": 7}, "date": "2026-11-25"}')
        for kind in ("png", "svg"):
            shutil.copy(own / f"results/air/cycle.{kind}", folder / f"odds.{kind}")
    sheet = job_sheet(job_of(own))
    shown = sections(sheet)["Further results"].blocks
    assert [part.heading for part in shown if isinstance(part, Section)] == [
        "Held: bowl 80",
        "Odds",
    ]
    picture, table = shown[1].blocks  # type: ignore[union-attr]
    assert picture == Picture("odds/odds.svg", "Odds: odds.")
    assert table == Table(("limit", "chance, %"), (("strain", "97.25"),), "odds.csv")
    rows = [r for b in sections(sheet)["Provenance"].blocks if isinstance(b, Table) for r in b.rows]
    assert ("odds: study", "7") in rows
    assert ("odds", "fiddlehead tolerance", "2026-11-25", "current") in rows


class Reader(HTMLParser):
    """Headings, pictures, language and outside addresses of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.levels: list[int] = []
        self.alternatives: list[str] = []
        self.outside: list[str] = []
        self.language = ""
        self.ids: set[str] = set()
        self.targets: set[str] = set()
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        if tag[0] == "h" and tag[1:].isdigit():
            self.levels.append(int(tag[1:]))
        if tag == "img":
            self.alternatives.append(found.get("alt") or "")
        if tag == "html":
            self.language = found.get("lang") or ""
        self.ids |= {found["id"] or ""} if "id" in found else set()
        for name in ("src", "href"):
            address = found.get(name) or "#"
            if address.startswith("#"):
                self.targets |= {address[1:]} - {""}
            elif not address.startswith("data:"):
                self.outside.append(address)


def test_the_page_stands_alone_and_can_be_read_aloud(finished_job: Path) -> None:
    """Rules of WCAG 2.2 (W3C 2023): 1.1.1 alternatives, 1.3.1 headings, 3.1.1 language."""
    sheet = job_sheet(job_of(finished_job))
    page = Reader(html(sheet, finished_job / "results"))
    assert page.outside == []
    assert page.language == "en"
    assert page.levels[0] == 1
    assert page.levels.count(1) == 1
    steps = [b - a for a, b in zip(page.levels, page.levels[1:], strict=False)]
    assert max(steps) <= 1
    assert len(page.alternatives) == len(list(pictures_of(sheet))) > 10
    assert all(len(text) > 15 for text in page.alternatives)
    assert page.targets <= page.ids


def test_the_pdf_says_the_same_and_is_tagged(finished_job: Path) -> None:
    """Read with an independent library; tags and language as PDF/UA-1 (ISO 14289-1) asks."""
    job = job_of(finished_job)
    sheet = job_sheet(job)
    made = pdf(sheet, job.results, DAY)
    reader = PdfReader(BytesIO(made))
    catalogue = reader.trailer["/Root"]
    assert catalogue["/MarkInfo"]["/Marked"]
    assert catalogue["/Lang"] == "en"
    assert "pdfuaid" in catalogue["/Metadata"].get_object().get_data().decode()
    assert reader.metadata is not None
    assert reader.metadata.title == "small: report"
    text = "\n".join(page.extract_text() for page in reader.pages)
    for heading in (*PARTS, "Cautions"):
        assert heading in text
    assert load_project(finished_job).input_hash in text.replace("\u200b", "")
    assert "ISO 4414" in text
    outline = {entry.title for entry in reader.outline if not isinstance(entry, list)}
    assert set(PARTS) <= outline
    raster = sum(len(page.images) for page in reader.pages)
    assert raster < len(list(pictures_of(sheet))) / 2  # coloured shapes only; curves are lines
