"""The page in a browser: nothing asked of the network, the sliders true, the print whole."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from slipmargin.cli.handbook.content import handbook as made_handbook
from slipmargin.cli.questions.check import Outcome, evaluate
from slipmargin.cli.scenario.read import load
from slipmargin.cli.sheet import write_report, write_sheet
from slipmargin.stability.check import factors_alone
from slipmargin.stability.uncertainty.replaced import with_soil_strength

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

ROOT = Path(__file__).resolve().parents[2]
NOON = datetime(2026, 5, 4, 12, 0, tzinfo=UTC)
CHROMIUM = shutil.which("chromium")
OPTIONS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
DESKTOP = {"width": 1280, "height": 900}
PHONE = {"width": 360, "height": 740}

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed")


@pytest.fixture(scope="module")
def site() -> Outcome:
    return evaluate(load(ROOT / "scenarios" / "fennel-rise" / "cut-and-wall.toml"))


@pytest.fixture(scope="module")
def sheet(site: Outcome, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("sheet") / "sheet.html"
    write_report(site, path, force=False, now=NOON)
    return path


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("hostile")
    bad = "<img src=x onerror='window.taken=1'><script>window.taken=1</script>"
    bad += '"&{{7*7}} 😀 שלום \u202e'
    label = json.dumps(bad + "W" * 300, ensure_ascii=False)
    (folder / "hostile.toml").write_text(
        f"""
title = {label}
[soils.{label}]
description = {label}
unit_weight = "18 kN/m^3"
strength = {{ cohesion = "3 kPa", friction_angle = "31 deg" }}
[[checks]]
kind = "infinite_slope"
label = {label}
soil = {label}
slope_angle = "28 deg"
depth = "1.8 m"
target = 1.5
""",
        encoding="utf-8",
    )
    path = folder / "hostile.html"
    write_report(evaluate(load(folder / "hostile.toml")), path, force=False, now=NOON)
    return path


class Opened:
    """A page with what it said and what it asked for."""

    def __init__(self, page: Any, path: Path) -> None:
        self.page = page
        self.said: list[str] = []
        self.asked: list[str] = []
        page.on("console", lambda message: self.said.append(message.text))
        page.on("pageerror", lambda error: self.said.append(str(error)))
        page.on("dialog", lambda dialog: self.said.append(dialog.message))
        page.on("request", lambda request: self.asked.append(request.url))
        page.goto(path.as_uri())


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    with playwright.sync_playwright() as started:
        context = started.chromium.launch_persistent_context(
            str(tmp_path_factory.mktemp("profile")),
            executable_path=CHROMIUM,
            headless=True,
            args=OPTIONS,
            viewport=DESKTOP,
        )
        yield context
        context.close()


@pytest.fixture
def opened(browser: Any, sheet: Path) -> Iterator[Opened]:
    page = browser.new_page()
    yield Opened(page, sheet)
    page.close()


@pytest.mark.parametrize("size", [DESKTOP, PHONE], ids=["desktop", "phone"])
@pytest.mark.parametrize("which", ["sheet", "hostile"])
def test_the_page_says_nothing_asks_for_nothing_and_fits(
    which: str, size: dict[str, int], browser: Any, request: pytest.FixtureRequest
) -> None:
    path: Path = request.getfixturevalue(which)
    page = browser.new_page()
    page.set_viewport_size(size)
    opened = Opened(page, path)
    assert opened.said == []
    assert opened.asked == [path.as_uri()]
    assert page.evaluate("window.taken === undefined")
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    beyond = page.evaluate(
        """() => Array.from(document.querySelectorAll("h1, h2, h3, h4, p, li, figcaption, summary"))
        .filter(e => e.getBoundingClientRect().right > innerWidth + 1).length"""
    )
    assert beyond == 0
    page.close()


@pytest.fixture(scope="module")
def handbook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("handbook") / "handbook.html"
    write_sheet(lambda now: made_handbook(now, "infinite_slope"), path, force=False)
    return path


@pytest.mark.parametrize(
    ("size", "scheme", "media"),
    [(DESKTOP, "light", "screen"), (PHONE, "dark", "screen"), (DESKTOP, "light", "print")],
    ids=["desktop", "dark-phone", "print"],
)
@pytest.mark.parametrize(
    "which",
    ["hostile", *(pytest.param(one, marks=pytest.mark.slow) for one in ("sheet", "handbook"))],
)
def test_nobody_is_shut_out_of_the_page(
    which: str,
    size: dict[str, int],
    scheme: str,
    media: str,
    browser: Any,
    request: pytest.FixtureRequest,
) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe is missing")
    page = browser.new_page()
    page.set_viewport_size(size)
    page.emulate_media(media=media, color_scheme=scheme)
    page.goto(request.getfixturevalue(which).as_uri())
    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    found = axe.Axe().run(page).response
    page.close()
    assert len(found["passes"]) > 25
    assert [(one["id"], one["nodes"][0]["html"]) for one in found["violations"]] == []
    # what it cannot judge: signs of one letter, and a table whose first cell is empty
    unsure = {one["id"] for one in found["incomplete"]}
    assert unsure <= {"color-contrast", "th-has-data-cells"}


def test_a_working_is_folded_until_a_key_opens_it(opened: Opened) -> None:
    workings = opened.page.locator("details.working")
    assert workings.count() >= 5
    assert workings.evaluate_all("all => all.filter(one => one.open).length") == 0
    first = workings.first
    steps = first.locator("ol.steps > li").first
    assert not steps.is_visible()
    first.locator("summary").focus()
    for shown in (True, False):
        opened.page.keyboard.press("Enter")
        assert steps.is_visible() == shown


def _panel(opened: Opened, soil: str) -> Any:
    return opened.page.locator(".panel", has=opened.page.locator(f"h4:has-text('{soil}')")).first


def _set(panel: Any, name: str, value: float) -> float:
    """Move a slider as a hand would; where it came to stand."""
    slider = panel.locator(f"input.{name}")
    slider.evaluate(
        "(e, v) => { e.value = v; e.dispatchEvent(new Event('input', {bubbles: true})); }",
        str(value),
    )
    return float(slider.input_value())


def _rows(panel: Any) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = panel.locator("table.live tbody tr").evaluate_all(
        """rows => rows.map(r => ({
            label: r.cells[0].textContent, state: r.cells[1].textContent,
            shown: r.querySelector('.now').textContent,
            factor: Number(r.querySelector('.now').dataset.factor),
            verdict: r.querySelector('.judged').textContent,
            error: r.querySelector('.error').textContent}))"""
    )
    return rows


def _check(site: Outcome, label: str) -> Any:
    for one in site.checks:
        if one.entry.label == label:
            return one.entry.check
    raise AssertionError(label)


@pytest.mark.parametrize("soil", ["bank", "drainage_sand"])
def test_the_sliders_move_the_factors_to_within_the_bound_that_is_shown(
    soil: str, site: Outcome, opened: Opened
) -> None:
    panel = _panel(opened, soil)
    rng = np.random.default_rng(3)
    for _ in range(4):
        phi = _set(panel, "phi", float(rng.uniform(26.0, 38.0)))
        c = _set(panel, "c", float(rng.uniform(0.0, 10.0)))
        for row in _rows(panel):
            moved = with_soil_strength(_check(site, row["label"]), soil, c, phi)
            factor = float(np.asarray(factors_alone(moved)[row["state"]]))
            within = float(row["error"].removesuffix(" %")) / 100.0
            assert row["factor"] == pytest.approx(factor, rel=within + 1e-7)
            assert abs(float(row["shown"]) - row["factor"]) <= 0.0101
    assert opened.said == []


def test_a_verdict_of_the_sliders_is_never_kinder_than_the_program(
    site: Outcome, opened: Opened
) -> None:
    panel = _panel(opened, "bank")
    seen = set()
    for phi in np.linspace(24.0, 38.0, 8):
        for c in (0.0, 1.3, 4.9, 9.0):
            where = _set(panel, "c", c), _set(panel, "phi", float(phi))
            for row in _rows(panel):
                seen.add(row["verdict"])
                if row["verdict"] == "meets":
                    check = _check(site, row["label"])
                    moved = with_soil_strength(check, "bank", *where)
                    factor = float(np.asarray(factors_alone(moved)[row["state"]]))
                    target = next(
                        o.entry.target(row["state"])
                        for o in site.checks
                        if row["label"].startswith(o.entry.label)
                    )
                    assert factor >= target
    assert {"meets", "misses", "below 1"} <= seen


def test_a_key_moves_a_slider_and_the_button_brings_it_back(opened: Opened) -> None:
    panel = _panel(opened, "bank")
    before = _rows(panel)
    assert {row["error"] for row in before} == {"computed"}
    place = panel.page.locator("#map-1-marker").get_attribute("transform")
    slider = panel.locator("input.phi")
    slider.focus()
    start = float(slider.input_value())
    for _ in range(6):
        opened.page.keyboard.press("ArrowLeft")
    step = float(slider.get_attribute("step"))
    assert float(slider.input_value()) == pytest.approx(start - 6 * step, abs=1e-9)
    assert slider.get_attribute("aria-valuetext").endswith(" deg")
    after = _rows(panel)
    sliding = [(a, b) for a, b in zip(before, after, strict=True) if a["state"] == "sliding"]
    assert all(b["factor"] < a["factor"] for a, b in sliding)
    assert panel.page.locator("#map-1-marker").get_attribute("transform") != place
    opened.page.keyboard.press("Tab")
    opened.page.keyboard.press("Tab")
    opened.page.keyboard.press("Enter")
    assert _rows(panel) == before
    assert panel.page.locator("#map-1-marker").get_attribute("transform") == place


def test_the_marker_stands_where_the_strength_lies_on_the_map(opened: Opened) -> None:
    panel = _panel(opened, "bank")
    grid = json.loads(panel.locator("script.grid").text_content())
    marker = opened.page.locator("#map-1-marker")
    box = {
        k: float(marker.get_attribute(f"data-{k}")) for k in ("left", "bottom", "width", "height")
    }
    _set(panel, "phi", grid["friction_angle"][-1])
    _set(panel, "c", grid["cohesion"][0])
    found = re.findall(r"-?[\d.]+", marker.get_attribute("transform"))
    assert [float(x) for x in found] == pytest.approx(
        [box["left"] + box["width"], box["bottom"]], abs=0.02
    )


def test_each_slider_moves_its_soil_alone(opened: Opened) -> None:
    other = _panel(opened, "drainage_sand")
    before = _rows(other)
    _set(_panel(opened, "bank"), "phi", 25.0)
    assert _rows(other) == before


def test_a_print_cuts_no_table_and_repeats_its_head(
    opened: Opened, site: Outcome, tmp_path: Path
) -> None:
    page = opened.page
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 673, "height": 970})  # A4 less the margins, 178 mm at 96 dpi
    cut = page.evaluate(
        """() => Array.from(document.querySelectorAll("table, figure, .line, .value, h1, h2, h3"))
        .filter(e => e.getClientRects().length && e.getBoundingClientRect().right > innerWidth + 1)
        .map(e => e.textContent.slice(0, 60))"""
    )
    assert cut == []
    rules = page.evaluate(
        """() => [
          ...new Set(Array.from(document.querySelectorAll("tr")).map(
            e => getComputedStyle(e).breakInside)),
          ...new Set(Array.from(document.querySelectorAll("thead")).map(
            e => getComputedStyle(e).display)),
          ...new Set(Array.from(document.querySelectorAll("h2, h3")).map(
            e => getComputedStyle(e).breakAfter))]"""
    )
    assert rules == ["avoid", "table-header-group", "avoid"]
    path = tmp_path / "print.pdf"
    page.pdf(path=str(path), format="A4", prefer_css_page_size=True)
    tool = shutil.which("pdftotext")
    if tool is None:
        pytest.skip("pdftotext is not installed")
    done = subprocess.run([tool, "-layout", str(path), "-"], capture_output=True, check=True)
    pages = done.stdout.decode().split("\f")[:-1]
    assert 5 < len(pages) < 80
    for number, text in enumerate(pages, start=1):
        assert f"{number} of {len(pages)}" in text
        rows = [line for line in text.splitlines() if "misses" in line]
        if rows:
            assert "Verdict" in text
    for name, digest in site.scenario.digests.items():
        where = [n for n, text in enumerate(pages) if name in text and digest[:20] in text]
        assert len(where) == 1
