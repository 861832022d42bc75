"""The page in a real browser: by mouse and by keyboard, light and dark, laptop and tablet.

Accessibility is judged by axe-core (WCAG 2.1, levels A and AA); every visit also fails on an error
in the console and on a request to any address but the workbench's.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from tests.web.browser import FLAGS, axe_source, chromium, serving, violations, visiting
from tests.web.made_up import cube_stl, made_up_project

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
PAGES = (
    "material", "finger", "pad", "bend", "press", "grasp", "explore", "print", "bench", "air",
    "report", "file",
)  # fmt: skip


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    path = chromium()
    with playwright.sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=path, args=FLAGS)
        yield running
        running.close()


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return made_up_project(tmp_path_factory.mktemp("page") / "small")


@pytest.fixture(scope="module")
def address(browser: Any, project: Path) -> Iterator[str]:
    with serving(project, project.parent / "server.log") as address:
        yield address


def expect(thing: Any) -> Any:
    """Wait for something to become true of a part of the page."""
    playwright.expect.set_options(timeout=20_000)
    return playwright.expect(thing)


def colours(picture: bytes) -> int:
    """How many different colours a picture holds."""
    image = Image.open(io.BytesIO(picture)).convert("RGB")
    return len(image.getcolors(1 << 24) or [])


@pytest.mark.slow
@pytest.mark.parametrize(("scheme", "width", "height"), [("light", 1366, 860), ("dark", 820, 1180)])
def test_every_page_is_accessible(
    browser: Any, address: str, scheme: str, width: int, height: int
) -> None:
    source = axe_source()
    size = {"width": width, "height": height}
    found = {}
    with visiting(browser, address, color_scheme=scheme, viewport=size) as page:
        assert page.locator("html").get_attribute("data-theme") == scheme
        for name in PAGES:
            page.evaluate("name => { location.hash = name; }", name)
            expect(page.locator("h2")).to_have_text(name.capitalize())
            if name in ("finger", "bend"):
                expect(page.locator("canvas").first).to_have_attribute("data-frame", any_number())
            if offences := violations(page, source):
                found[name] = offences
            wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
            assert wide <= 0, f"{name} is wider than the screen"
    assert found == {}


def any_number() -> re.Pattern[str]:
    """Some number, whichever."""
    return re.compile(r"\d+")


def test_a_mistake_is_told_at_its_field_and_the_file_stays(
    browser: Any, address: str, project: Path
) -> None:
    before = (project / "fiddlehead.toml").read_text()
    with visiting(browser, f"{address}/#finger") as page:
        wall = page.get_by_label("Wall thickness", exact=True)
        wall.fill("-1")
        alert = page.locator(".field", has=wall).get_by_role("alert")
        expect(alert).to_contain_text("out of range")
        expect(wall).to_have_attribute("aria-invalid", "true")
        wall.fill("six")
        expect(alert).to_contain_text("text where a number is needed")
        wall.press("Enter")
        assert (project / "fiddlehead.toml").read_text() == before
        page.get_by_role("button", name="Discard").click()
        expect(wall).to_have_value("1.2")


def test_drawing_and_space_follow_and_the_file_is_written_and_undone(
    browser: Any, address: str, project: Path
) -> None:
    path = project / "fiddlehead.toml"
    before = path.read_text()
    with visiting(browser, f"{address}/#finger") as page:
        canvas = page.locator("canvas")
        expect(canvas).to_have_attribute("data-frame", any_number())
        drawn = page.locator(".section svg")
        pitch = page.get_by_label("Pitch", exact=True)
        pitch.fill("9")
        expect(drawn).to_have_attribute("aria-label", containing("pitch 9"))
        assert path.read_text() == before, "typing is not writing"
        pitch.press("Enter")
        expect(page.get_by_role("button", name="Undo")).to_be_enabled()
        assert path.read_text() == before.replace("pitch_mm = 8.0", "pitch_mm = 9.0")
        assert colours(canvas.screenshot()) > 8
        path.write_text(path.read_text().replace("height_mm = 12.0", "height_mm = 14.0", 1))
        expect(page.get_by_label("Height", exact=True)).to_have_value("14")
        page.get_by_role("button", name="Undo").click()
        expect(page.get_by_label("Height", exact=True)).to_have_value("12")
        page.get_by_role("button", name="Undo").click()
        expect(pitch).to_have_value("8")
        assert path.read_text() == before


def containing(text: str) -> re.Pattern[str]:
    """A text with this in it."""
    return re.compile(re.escape(text))


def test_the_pressure_slider_moves_finger_and_plots_by_keyboard(browser: Any, address: str) -> None:
    with visiting(browser, f"{address}/#bend") as page:
        canvas = page.locator("canvas").first
        expect(canvas).to_have_attribute("data-step", "5")
        expect(page.locator(".plot svg").first).to_be_visible()
        slider = page.get_by_role("slider", name="Pressure").first
        bent = canvas.screenshot()
        assert colours(bent) > 200, "strain is shown in colours"
        for _ in range(5):
            slider.press("ArrowLeft")
        expect(canvas).to_have_attribute("data-step", "0")
        assert slider.get_attribute("aria-valuetext").startswith("0 kPa")
        assert canvas.screenshot() != bent
        canvas.focus()
        frame = canvas.get_attribute("data-frame")
        canvas.press("ArrowRight")
        expect(canvas).not_to_have_attribute("data-frame", frame)
        with page.expect_download() as waiting:
            page.get_by_role("button", name="Picture").click()
        saved = waiting.value.path().read_bytes()
        assert Image.open(io.BytesIO(saved)).size[0] > 400


def test_results_are_saved_and_compared_side_by_side(browser: Any, address: str) -> None:
    with visiting(browser, f"{address}/#bend") as page:
        page.get_by_label("Keep this as").fill("first")
        page.get_by_role("button", name="Keep", exact=True).click()
        choice = page.get_by_label("Compare with")
        expect(choice).to_be_visible()
        choice.select_option("kept/first/bend")
        expect(page.locator(".panes")).to_contain_text("first")
        page.get_by_text("Save files").click()
        with page.expect_download() as waiting:
            page.get_by_role("link", name="bend.csv").click()
        assert Path(waiting.value.path()).read_text().startswith("pressure_kpa,")


def test_a_design_of_a_study_is_seen_beside_the_own_and_taken_over(
    browser: Any, address: str, project: Path
) -> None:
    path = project / "fiddlehead.toml"
    before = path.read_text()
    with visiting(browser, f"{address}/#explore") as page:
        expect(page.locator(".plot svg").first).to_be_visible()
        page.get_by_role("button", name="9", exact=True).click()
        picked = page.get_by_role("region", name="The finger of design 9")
        expect(picked.locator("canvas")).to_have_attribute("data-loaded", re.compile(r"\d+ \d+"))
        expect(picked.locator(".panes")).to_contain_text("in the project")
        assert colours(picked.locator("canvas").screenshot()) > 8
        picked.get_by_role("button", name="Take design 9 into the project").click()
        expect(picked).to_contain_text("This is the project's own finger")
        written = path.read_text()
        assert "pitch_mm = 9.5" in written
        assert "working_pressure_kpa = 55.0" in written
        page.get_by_role("button", name="Undo").click()
        expect(picked.get_by_role("button", name="Take design 9")).to_be_visible()
        assert path.read_text() == before


def test_a_test_file_is_dropped_mapped_and_listed(
    browser: Any, address: str, project: Path
) -> None:
    with visiting(browser, f"{address}/#bench", expected="status of 422") as page:
        table = b"t;P1 [bar];tip angle [deg]\n0,0;0,1;1,5\n0,5;0,2;2,5\n"
        page.get_by_label("Choose a measured file").set_input_files(
            {"name": "run 1.csv", "mimeType": "text/csv", "buffer": table}
        )
        mapping = page.get_by_role("region", name="Columns of")
        expect(mapping.get_by_label("Column with pressure")).to_have_value("P1 [bar]")
        expect(mapping.get_by_label("Unit of pressure")).to_have_value("bar")
        mapping.get_by_label("Test", exact=True).select_option("bend")
        mapping.get_by_label("Angle definition").select_option("tip tangent")
        page.get_by_role("button", name="Add to the project").click()
        expect(page.locator(".listed").first).to_contain_text("bench/run 1.csv")
        written = (project / "fiddlehead.toml").read_text()
        assert 'files = ["bench/run 1.csv"]' in written
        assert 'pressure_unit = "bar"' in written
        page.get_by_role("button", name="Take bench/run 1.csv off").click()
        expect(page.locator(".listed")).to_have_count(0)
        page.get_by_label("Choose photos").set_input_files(
            {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": cube_stl()}
        )
        expect(page.get_by_role("alert")).to_contain_text("does not fit its ending")


def test_without_webgl_the_rest_works(browser: Any, address: str) -> None:
    blind = browser.browser_type.launch(
        executable_path=chromium(), args=[*FLAGS, "--disable-3d-apis"]
    )
    with visiting(blind, f"{address}/#bend", expected="WebGL") as page:
        expect(page.locator(".nogl").first).to_contain_text("WebGL is off")
        expect(page.locator(".plot svg").first).to_be_visible()
    blind.close()


@pytest.mark.slow
def test_the_whole_job_from_an_empty_folder_to_the_handover(browser: Any, tmp_path: Path) -> None:
    """Clicks only; the results are those the command line writes."""
    folder = tmp_path / "mine"
    with serving(folder, tmp_path / "server.log") as address, visiting(browser, address) as page:
        assert violations(page, axe_source()) == []
        page.get_by_role("button", name="Begin a project").click()
        go(page, "Material")
        run(page, "Fit the material", "fit")
        expect(page.get_by_role("region", name="Material card")).to_contain_text("MPa")
        go(page, "Finger")
        for label, value in (("Bellows count", "2"), ("Pressure steps", "2")):
            page.get_by_label(label, exact=True).fill(value)
            page.get_by_label(label, exact=True).press("Enter")
        go(page, "Bend")
        page.get_by_label("Mesh", exact=True).select_option("preview")
        page.get_by_role("button", name="Bend the finger").click()
        expect(page.locator("main [data-verb='bend'] .job")).to_be_visible()
        page.reload()  # the work goes on, and the page finds it again
        ended(page, "bend")
        expect(page.get_by_role("region", name="Free bending")).to_contain_text("Bending angle")
        expect(page.locator("canvas").first).to_have_attribute("data-step", "2")
        go(page, "Air")
        run(page, "Size the air supply", "air")
        expect(page.locator("main img").first).to_be_visible()
        go(page, "Report")
        run(page, "Write the handover sheet", "handover")
        run(page, "Write the report", "report")
        told = page.frame_locator("iframe[title='The report']")
        expect(told.get_by_role("heading", name="Bending").first).to_be_visible()
        with page.expect_download() as waiting:
            page.get_by_role("link", name="All results as one ZIP").click()
        assert waiting.value.path().stat().st_size > 10_000
    for name in (
        "material/card.toml",
        "bend/record.json",
        "air/air.html",
        "handover",
        "report/report.html",
    ):
        assert (folder / "results" / name).exists(), name


def go(page: Any, name: str) -> None:
    """Follow the stem to another step."""
    page.get_by_role("navigation").get_by_role("link", name=name).click()
    expect(page.locator("h2")).to_have_text(name)


def run(page: Any, label: str, verb: str) -> None:
    """Start work and wait for its end."""
    page.get_by_role("button", name=label, exact=True).click()
    ended(page, verb)


def ended(page: Any, verb: str) -> None:
    """Wait until a job is done."""
    job = page.locator(f"main [data-verb='{verb}'] .job")
    playwright.expect(job).to_have_attribute("data-state", "done", timeout=90_000)
