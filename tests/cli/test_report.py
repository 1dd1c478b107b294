"""The calculation sheet: what stands on it, in every form, whatever the scenario calls things."""

from __future__ import annotations

import json
import math
import re
import shutil
import subprocess
from collections.abc import Iterator
from datetime import UTC, datetime
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from slipmargin.cli.page.blocks import Factor, NoticeList, Picture, Table, Verdict, Words
from slipmargin.cli.page.cells import verdict
from slipmargin.cli.page.equations import linear, mathml
from slipmargin.cli.page.markdown import markdown
from slipmargin.cli.page.notices import words_of
from slipmargin.cli.page.slider import NO_LIMIT, between
from slipmargin.cli.questions.check import Outcome, evaluate, factors_table
from slipmargin.cli.questions.review import review
from slipmargin.cli.questions.verdicts import check_sentence
from slipmargin.cli.scenario.read import load
from slipmargin.cli.sheet import write_report
from slipmargin.cli.sheet.checks import all_notices, inputs_table, working_section
from slipmargin.cli.sheet.content import sheet_of
from slipmargin.cli.sheet.laboratory import interpretations_section
from slipmargin.cli.sheet.review import review_section
from slipmargin.cli.sheet.slider import slider_of
from slipmargin.cli.words import CAUTION
from slipmargin.stability.check import factors_alone
from slipmargin.stability.factor_text import factor_text
from slipmargin.stability.uncertainty.replaced import with_soil_strength
from slipmargin.stability.working import result_steps
from slipmargin.strength import InputError, Severity
from slipmargin.strength.envelope.working import fit_steps

ROOT = Path(__file__).resolve().parents[2]
NOON = datetime(2026, 5, 4, 12, 0, tzinfo=UTC)
LATER = datetime(2026, 5, 4, 12, 1, tzinfo=UTC)
FORMS = (".html", ".pdf", ".md")
SECTIONS = (
    "Review",
    "Laboratory data and fit",
    "Checks",
    "Interpretations",
    "Sensitivities",
    "Notices",
    "What was not checked",
    "Provenance",
)

BAD = (
    "<script>window.taken = 1</script> \"quoted\" 'twice' &amp; | `code` *_[x](javascript:a) $x^2$"
    " {{ 7 * 7 }} \\ 😀🏔 שלום עולם مرحبا \u202eabc \u0007"
)
LONG = "W" * 300


def quoted(text: str) -> str:
    """A basic string of TOML."""
    return json.dumps(text, ensure_ascii=False)


@pytest.fixture(scope="module")
def site() -> Outcome:
    return evaluate(load(ROOT / "scenarios" / "fennel-rise" / "cut-and-wall.toml"))


@pytest.fixture(scope="module")
def sheets(site: Outcome, tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    folder = tmp_path_factory.mktemp("sheets")
    for form in FORMS:
        write_report(site, folder / f"sheet{form}", force=False, now=NOON)
    return {form: (folder / f"sheet{form}").read_bytes() for form in FORMS}


@pytest.fixture(scope="module")
def words(sheets: dict[str, bytes]) -> str:
    return sheets[".md"].decode()


def test_no_part_of_the_sheet_is_missing(words: str) -> None:
    assert "Not on this sheet" not in words


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("hostile")
    readings = "\n".join(
        f'"<b>{i}</b>|",{x},{y}'
        for i, (x, y) in enumerate([(25, 20.3), (50, 35.2), (100, 65.8), (150, 94.9)])
    )
    header = "test,normal_stress [kPa],shear_stress [kPa]\n"
    (folder / "r.csv").write_text(header + readings, encoding="utf-8")
    path = folder / "hostile.toml"
    path.write_text(
        f"""
title = {quoted(BAD + LONG)}
[soils.{quoted(BAD)}]
description = {quoted(BAD + LONG)}
unit_weight = "18 kN/m^3"
[soils.{quoted(BAD)}.strength]
readings = "r.csv"
[soils.{quoted(LONG)}]
description = {quoted(BAD)}
unit_weight = "18 kN/m^3"
strength = {{ cohesion = "3 kPa", friction_angle = "31 deg" }}
[[checks]]
kind = "infinite_slope"
label = {quoted(BAD)}
soil = {quoted(BAD)}
slope_angle = "28 deg"
depth = "1.8 m"
target = 1.5
[[checks]]
kind = "infinite_slope"
label = {quoted(LONG)}
soil = {quoted(LONG)}
slope_angle = "42 deg"
depth = "4 m"
[[sweeps]]
vary = {quoted("soils." + LONG + ".friction_angle")}
from = "24 deg"
to = "36 deg"
steps = 5
""",
        encoding="utf-8",
    )
    return path


class Page(HTMLParser):
    """Elements of a page with their attributes and texts, in order."""

    VOID = frozenset({"meta", "link", "input", "br", "hr", "img"})

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.texts: dict[str, list[str]] = {}
        self.open: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)
            self.texts.setdefault(tag, []).append("")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        for tag in set(self.open):
            self.texts[tag][-1] += data

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attrs for name, attrs in self.elements if name == tag]


@pytest.fixture(scope="module")
def page(sheets: dict[str, bytes]) -> Page:
    return Page(sheets[".html"].decode())


def test_a_name_that_ends_otherwise_is_refused(site: Outcome, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"\.html, \.pdf or \.md"):
        write_report(site, tmp_path / "sheet.docx", force=True, now=NOON)


@pytest.mark.parametrize("form", FORMS)
def test_an_existing_file_is_refused_and_left_as_it_was(
    form: str, site: Outcome, tmp_path: Path
) -> None:
    path = tmp_path / f"sheet{form}"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="--force"):
        write_report(site, path, force=False, now=NOON)
    assert path.read_text(encoding="utf-8") == "mine"
    assert list(tmp_path.iterdir()) == [path]


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Outcome:
    path = tmp_path_factory.mktemp("small") / "small.toml"
    path.write_text(
        """
title = "Even slope"
[soils.till]
unit_weight = "19 kN/m^3"
strength = { cohesion = "0 kPa", friction_angle = "33 deg" }
[[checks]]
kind = "infinite_slope"
label = "slope"
soil = "till"
slope_angle = "24 deg"
depth = "2 m"
target = 1.4
""",
        encoding="utf-8",
    )
    return evaluate(load(path))


@pytest.mark.parametrize("form", FORMS)
def test_the_same_input_gives_the_same_bytes(form: str, small: Outcome, tmp_path: Path) -> None:
    paths = [tmp_path / f"{name}{form}" for name in ("one", "two")]
    for path in paths:
        write_report(small, path, force=False, now=NOON)
    assert paths[0].read_bytes() == paths[1].read_bytes()


@pytest.mark.parametrize("form", [".html", ".md"])
def test_nothing_but_the_date_line_differs_from_one_day_to_the_next(
    form: str, small: Outcome, tmp_path: Path
) -> None:
    lines = []
    for name, now in (("one", NOON), ("two", LATER)):
        write_report(small, tmp_path / f"{name}{form}", force=False, now=now)
        lines.append((tmp_path / f"{name}{form}").read_text(encoding="utf-8").splitlines())
    differing = [(a, b) for a, b in zip(*lines, strict=True) if a != b]
    assert len(differing) == 1
    assert "2026-05-04 12:00 UTC" in differing[0][0]


def test_the_sections_stand_in_the_order_a_reviewer_reads_them(page: Page) -> None:
    heads = [" ".join(text.split()) for text in page.texts["h2"]]
    titles = (*SECTIONS, "Appendix: working, step by step")
    assert heads == [f"{number} {title}" for number, title in enumerate(titles, start=1)]


def test_every_form_holds_every_factor_and_the_caution(
    site: Outcome, sheets: dict[str, bytes]
) -> None:
    texts = [" ".join(sheets[form].decode().split()) for form in (".md", ".html")]
    for check in site.checks:
        for factor in check.result.factors_of_safety.values():
            shown = factor_text(float(np.asarray(factor)))
            assert all(shown in text for text in texts)
    for text in texts:
        assert CAUTION in text
        for digest in site.scenario.digests.values():
            assert digest in text


def test_a_pdf_holds_the_same_words(
    sheets: dict[str, bytes], site: Outcome, tmp_path: Path
) -> None:
    tool = shutil.which("pdftotext")
    if tool is None:
        pytest.skip("pdftotext is not installed")
    path = tmp_path / "sheet.pdf"
    path.write_bytes(sheets[".pdf"])
    pages = _pages(tool, path)
    text = " ".join(" ".join(pages).split())
    assert site.scenario.title in text
    for title in SECTIONS:
        assert title in text
    for check in site.checks:
        assert check.entry.label in text
        for factor in check.result.factors_of_safety.values():
            assert factor_text(float(np.asarray(factor))) in text
    for number, words in enumerate(pages, start=1):
        assert f"{number} of {len(pages)}" in words
        assert "Preliminary quick check, not a design" in words


def _pages(tool: str, path: Path) -> list[str]:
    done = subprocess.run(
        [tool, "-layout", str(path), "-"], capture_output=True, check=True, timeout=60
    )
    return done.stdout.decode().split("\f")[:-1]


def test_headings_follow_one_another_without_a_gap(page: Page) -> None:
    levels = [int(tag[1]) for tag, _ in page.elements if re.fullmatch("h[1-6]", tag)]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_every_table_has_header_cells_with_a_scope(page: Page) -> None:
    assert len(page.all("table")) == len(page.all("caption")) > 10
    heads = page.all("th")
    assert {head["scope"] for head in heads} == {"col", "row", "rowgroup"}


def test_every_picture_tells_in_words_what_it_shows(page: Page) -> None:
    drawn = [svg for svg in page.all("svg") if svg.get("role") == "img"]
    hidden = [svg for svg in page.all("svg") if svg.get("aria-hidden") == "true"]
    assert len(drawn) + len(hidden) == len(page.all("svg"))
    assert len(drawn) == len(page.texts["title"]) - 1 >= 10
    assert all(len(words.strip()) > 40 for words in page.texts["title"][1:])


def test_names_in_the_page_are_its_own_and_lead_somewhere(
    page: Page, sheets: dict[str, bytes]
) -> None:
    names = [attrs["id"] for _, attrs in page.elements if "id" in attrs]
    assert len(names) == len(set(names))
    text = sheets[".html"].decode()
    led = set(re.findall(r'href="#([^"]+)"', text)) | set(re.findall(r"url\(#([^)]+)\)", text))
    assert led <= set(names)


def test_the_page_asks_for_nothing_outside_itself(page: Page) -> None:
    for _, attrs in page.elements:
        for name in ("src", "href", "xlink:href", "action", "data", "poster", "srcset"):
            assert (attrs.get(name) or "#").startswith(("#", "data:"))
    policy = next(m["content"] for m in page.all("meta") if "http-equiv" in m)
    assert policy is not None
    assert "default-src 'none'" in policy


def test_the_page_is_small(sheets: dict[str, bytes]) -> None:
    assert len(sheets[".html"]) < 3_000_000
    assert len(sheets[".pdf"]) < 3_000_000


def _luminance(colour: str) -> float:
    """Relative luminance. Source: WCAG 2.1, definition of relative luminance."""
    parts = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    linear_parts = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear_parts[0] + 0.7152 * linear_parts[1] + 0.0722 * linear_parts[2]


def _contrast(one: str, other: str) -> float:
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_by_the_formula_of_the_guideline_is_21_for_black_on_white() -> None:
    # WCAG 2.1, success criterion 1.4.3: contrast ratios range from 1 to 21
    assert _contrast("#000000", "#ffffff") == pytest.approx(21.0, abs=1e-9)


def test_every_ink_of_the_page_is_legible(sheets: dict[str, bytes]) -> None:
    # WCAG 2.1, success criterion 1.4.3 (AA): at least 4.5 to 1
    inks = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", sheets[".html"].decode()))
    assert {"ink", "deep", "rust", "moss", "grey", "paper", "warm", "wash"} <= set(inks)
    for ink in ("ink", "deep", "rust", "moss", "grey"):
        assert _contrast(inks[ink], inks["paper"]) >= 4.5
    for ink in ("ink", "rust", "grey"):
        assert _contrast(inks[ink], inks["warm"]) >= 4.5
        assert _contrast(inks[ink], inks["wash"]) >= 4.5


def test_a_verdict_is_never_kinder_than_the_factor() -> None:
    assert verdict(0.9999, 0.9).text == "below 1"
    assert verdict(1.4999, 1.5).text == "misses"
    assert verdict(1.5, 1.5).text == "meets"
    assert verdict(math.inf, 1.5).tone == "good"
    assert verdict(math.nan, 1.5).tone == "open"
    assert verdict(1.2, None).tone == "open"


def test_a_rotation_has_a_verdict_of_its_own_and_its_working(site: Outcome) -> None:
    planar = next(c for c in site.checks if "rotation" in c.result.parts)
    factor = float(planar.result.factors_of_safety["rotation"])
    rows = [row for row in factors_table(site.checks).rows if row[2] == "rotation"]
    assert [(row[0], row[3]) for row in rows] == [(planar.entry.label, Factor(factor, 1.5))]
    leaf = next(one for one in working_section(site, ()).leaves if one.title == planar.entry.label)
    assert Words("Working of rotation:", "strong") in leaf.blocks


def test_a_rotation_is_held_to_the_target_of_its_plane_under_every_reading(site: Outcome) -> None:
    found = [
        row[column]
        for block in interpretations_section(site).blocks
        if isinstance(block, Table)
        for column, head in enumerate(block.headers)
        if head.endswith(": rotation")
        for row in block.rows
    ]
    assert len(found) >= 5
    assert {cell.target for cell in found if isinstance(cell, Factor)} == {1.5}


def test_the_first_page_is_the_review(site: Outcome) -> None:
    section = review_section(site, all_notices(site))
    (table,) = [block for block in section.blocks if isinstance(block, Table)]
    found = review(site.scenario).checks
    states = [one for check in found for one in check.states]
    assert len(table.rows) == len(states)
    for row, one in zip(table.rows, states, strict=True):
        assert row[0] == one.state
        assert row[1] == factor_text(one.judged.used)
        met = one.judged.meets(one.judged.used)
        hangs = "open" if met else "bad"
        tone = {"holds": "good", "hangs_on_the_reading": hangs, "misses": "bad"}
        assert isinstance(row[-1], Verdict)
        assert row[-1].tone == tone[str(one.verdict)]
        assert ("misses" in row[-1].text) == (not met)
    assert [text for _, text in table.above] == [check_sentence(check) for check in found]
    (notices,) = [block for block in section.blocks if isinstance(block, NoticeList)]
    assert 0 < len(notices.notices) <= 5
    assert sum(isinstance(block, Picture) for block in section.blocks) == 1


def test_the_demo_prints_on_ten_pages_and_the_working_is_asked_for(
    sheets: dict[str, bytes], site: Outcome, tmp_path: Path
) -> None:
    assert len(re.findall(rb"/Type /Page\b", sheets[".pdf"])) <= 10
    assert "Appendix: working" not in sheets[".md"].decode()
    assert "Appendix: working" in sheets[".html"].decode()
    write_report(site, tmp_path / "sheet.md", force=False, now=NOON, working=True)
    assert "Appendix: working" in (tmp_path / "sheet.md").read_text(encoding="utf-8")


def test_every_input_of_every_check_stands_on_the_sheet(tmp_path: Path) -> None:
    path = tmp_path / "ground.toml"
    path.write_text(
        'title = "Ground"\n[soils.bank]\nunit_weight = "18 kN/m^3"\n[soils.bank.strength]\n'
        'cohesion = "4 kPa"\nfriction_angle = "31 deg"\n[[checks]]\nkind = "rotational"\n'
        'soil = "bank"\nground_line = [[0, 0], [3.25, 4], [9, 4.5]]\nsurcharge = "7 kPa"\n'
    )
    (check,) = evaluate(load(path)).checks
    rows = {row[0]: row[2] for row in inputs_table(check.entry.check, "a").rows}
    assert rows["ground line, x and y"] == "(0, 0), (3.25, 4), (9, 4.5) m"
    assert rows["surcharge"] == "7 kPa"
    assert rows["soil"] == "bank"


@pytest.mark.parametrize("form", FORMS)
def test_no_name_in_a_scenario_can_break_a_sheet(form: str, hostile: Path, tmp_path: Path) -> None:
    path = tmp_path / f"sheet{form}"
    write_report(evaluate(load(hostile)), path, force=False, now=NOON)
    content = path.read_bytes()
    if form == ".html":
        _page_is_whole(content.decode())
    elif form == ".md":
        _markdown_is_whole(content.decode())
    else:
        assert content.startswith(b"%PDF-")
        assert content.rstrip().endswith(b"%%EOF")
        tool = shutil.which("pdftotext")
        if tool is not None:
            assert "<script>window.taken = 1</script>" in " ".join(_pages(tool, path))


def _page_is_whole(text: str) -> None:
    page = Page(text)
    assert page.open == []
    own = [script for script in page.all("script") if script.get("type") != "application/json"]
    assert len(own) == 1
    assert "taken" not in text.rsplit("<script>", maxsplit=1)[-1]
    for _, attrs in page.elements:
        assert not any(name.startswith("on") for name in attrs)
    title = page.texts["h1"][0]
    assert "<script>window.taken = 1</script>" in title
    assert LONG in title
    assert "{{ 7 * 7 }}" in title
    assert not set(text) & set("\u202a\u202b\u202c\u202d\u202e\u0000\u0007")
    for grid in re.findall(r'<script type="application/json" class="grid">(.*?)</script>', text):
        assert "window.taken" in json.loads(grid)["soil"] or LONG in json.loads(grid)["soil"]


def _markdown_is_whole(text: str) -> None:
    assert "<" not in text.replace("&lt;", "")
    assert not re.search(r"(?<!\\)\[x", text)
    tables = re.findall(r"(?:^\|.*\|$\n?)+", text, flags=re.MULTILINE)
    assert len(tables) > 8
    for table in tables:
        counts = {len(re.findall(r"(?<!\\)\|", line)) for line in table.splitlines()}
        assert len(counts) == 1


def _all_lines(site: Outcome) -> Iterator[str]:
    for soil in site.scenario.soils.values():
        assert soil.fit is not None
        yield from (f"{s.symbol} = {t}" for s in fit_steps(soil.fit) for t in (s.substituted,) if t)
    for check in site.checks:
        for step in result_steps(check.entry.check, check.result):
            if step.substituted:
                yield f"{step.symbol} = {step.equation}"
                yield f"{step.symbol} = {step.substituted}"


def test_a_typeset_line_holds_the_numbers_of_its_line_in_order(site: Outcome) -> None:
    count = 0
    for line in _all_lines(site):
        numbers = re.findall(r"(?<![\w.])\d+(?:\.\d+)?(?![\w.])", line.partition(" = ")[2])
        typeset = re.findall(r"<mn>([^<]+)</mn>", mathml(line).partition("<mo>=</mo>")[2])
        in_symbols = re.findall(r"_(\d+)", line.partition(" = ")[2])
        assert sorted(typeset) == sorted([*numbers, *in_symbols]), line
        count += 1
    assert count > 150


def test_functions_are_typeset_under_their_own_names() -> None:
    long_sum = " + ".join(f"{n}.12345^2" for n in range(1, 12))
    assert "√" in mathml(f"s = sqrt(({long_sum}) / (12 - 2))")
    assert "arc" not in mathml(f"s = sqrt(({long_sum}) / (12 - 2))")
    assert "<msqrt>" in mathml("s = sqrt(2)")
    assert "<mfrac>" in mathml("F = τ_f / τ")
    assert "arctan" in mathml("φ = atan(b)")
    for name in ("sin", "cos", "tan", "min", "max"):
        assert f">{name}<" in mathml(f"x = {name}(a, 2)" if name[0] == "m" else f"x = {name}(a)")


def test_parentheses_stay_where_the_order_of_work_needs_them() -> None:
    assert linear("a * (b - c)^2 / (d + e)") == "a · (b − c)² / (d + e)"
    # subtraction of a sum, and a product of sums
    for line in ("a - (b + c)", "(a + b) * (c - d)", "(-2)^2", "a * (-2)"):
        assert mathml(line).count("fence") >= 2
    for line in ("a + b - c", "a * b / c", "a / (b + c)"):
        assert "fence" not in mathml(line)


def test_the_grid_of_a_slider_holds_the_programs_own_factors(site: Outcome) -> None:
    for name in site.scenario.soils:
        found = slider_of(site, name)
        assert found is not None
        data, _ = found
        assert len(data.rows) >= 3
        i, j = data.cohesion.size // 3, 2 * data.friction_angle.size // 3
        for row in data.rows:
            check = _check(site, row.label)
            moved = with_soil_strength(
                check, name, float(data.cohesion[i]), float(data.friction_angle[j])
            )
            factor = float(np.asarray(factors_alone(moved)[row.state]))
            # five digits are kept, and a search may stop a little beside another
            assert row.grid[i, j] == pytest.approx(factor, rel=6e-5)


def _check(site: Outcome, label: str) -> Any:
    for one in site.checks:
        if one.entry.label == label:
            return one.entry.check
    raise AssertionError(label)


def test_the_bound_of_a_slider_holds_at_places_between_the_nodes(site: Outcome) -> None:
    data, _ = slider_of(site, "bank") or pytest.fail("the bank has checks")
    rng = np.random.default_rng(5)
    for row in data.rows:
        shown = between(row.grid)
        for _ in range(4):
            i = int(rng.integers(2 * data.cohesion.size - 1))
            j = int(rng.integers(2 * data.friction_angle.size - 1))
            c = float(np.interp(i / 2, np.arange(data.cohesion.size), data.cohesion))
            phi = float(np.interp(j / 2, np.arange(data.friction_angle.size), data.friction_angle))
            moved = with_soil_strength(_check(site, row.label), "bank", c, phi)
            factor = float(np.asarray(factors_alone(moved)[row.state]))
            slack = row.bounds[min(i // 2, row.bounds.size - 1)] + 6e-5
            assert shown[i, j] == pytest.approx(factor, rel=slack)


def test_interpolation_is_exact_for_what_is_linear_and_silent_beside_a_gap() -> None:
    a, b = np.meshgrid([0.0, 1.0, 2.0], [3.0, 4.0], indexing="ij")
    fine_a, fine_b = np.meshgrid([0.0, 0.5, 1.0, 1.5, 2.0], [3.0, 3.5, 4.0], indexing="ij")
    assert_allclose(between(a * b + 2.0), fine_a * fine_b + 2.0, rtol=1e-14)
    grid = np.array([[1.0, 2.0], [np.nan, 4.0], [NO_LIMIT, 5.0]])
    shown = between(grid)
    assert np.isnan(shown[1, 0])
    assert np.isnan(shown[4, 1])
    assert shown[0, 1] == 1.5


def test_a_rotation_beside_a_plane_is_on_the_slider_too(site: Outcome) -> None:
    data, drawn = slider_of(site, "bank") or pytest.fail("the bank has checks")
    assert any(row.state == "rotation" for row in data.rows)
    assert {one.entry.label for one in drawn.checks} <= {row.label for row in data.rows}


def test_a_soil_that_no_factor_hangs_on_has_no_slider(tmp_path: Path) -> None:
    path = tmp_path / "thrust.toml"
    path.write_text(
        """
title = "Thrust alone"
[soils.fill]
unit_weight = "18 kN/m^3"
strength = { cohesion = "0 kPa", friction_angle = "34 deg" }
[[checks]]
kind = "earth_pressure"
label = "wall"
soil = "fill"
height = "3 m"
theory = "rankine"
side = "active"
""",
        encoding="utf-8",
    )
    outcome = evaluate(load(path))
    assert slider_of(outcome, "fill") is None
    for form in FORMS:
        write_report(outcome, tmp_path / f"sheet{form}", force=False, now=NOON)
    text = (tmp_path / "sheet.md").read_text(encoding="utf-8")
    assert "thrust" in text
    assert "No check with a factor of safety was run." in text


def test_the_slope_of_a_factor_is_that_of_its_closed_form(small: Outcome) -> None:
    # F = tan φ′ / tan β of a dry slope without cohesion: d ln F / d ln φ′ = 2 φ′ / sin 2φ′,
    # d ln F / d ln β = -2 β / sin 2β, and no weight in it
    text = markdown(sheet_of(small, NOON))
    row = r"^\| ([^|]+?) \|(?: [^|]* \|){6} ([+-]\d\.\d\d) \|"
    rows = dict(re.findall(row, text, re.MULTILINE))
    for name, angle, sign in (("φ′ of till", 33.0, 1), ("slope angle", 24.0, -1)):
        x = math.radians(angle)
        assert float(rows[name]) == pytest.approx(sign * 2.0 * x / math.sin(2.0 * x), abs=0.006)
    assert not any("unit weight" in name for name in rows)


def test_provenance_names_every_file_version_and_seed(site: Outcome, words: str) -> None:
    text = words.split("## 8 ")[1]
    assert len(site.scenario.digests) == 3
    for name, digest in site.scenario.digests.items():
        assert name.replace("_", "\\_") in text
        assert digest in text
    assert "Made with slipmargin 0." in text
    assert f"seed {site.scenario.top.reliability.seed}" in text


def test_every_notice_stands_under_its_weight(site: Outcome, words: str) -> None:
    text = words.partition("## 6 ")[2].partition("## 7 ")[0].replace("\\", "")
    heavy, _, light = text.partition("Good to know")
    for check in site.checks:
        for notice in check.notices:
            text = light if notice.severity == Severity.INFO else heavy
            assert words_of(notice) in text
            assert check.entry.label in text.partition(words_of(notice))[2]


def test_what_was_not_run_is_said(small: Outcome) -> None:
    text = markdown(sheet_of(small, NOON, working=False)).split("## 7 ")[1]
    for kind in ("Planar wedge", "Rotational", "Earth pressure", "Retaining wall"):
        assert f"{kind}: not run." in text
    assert "Infinite slope: not run." not in text


def test_a_sheet_is_signed_with_what_the_scenario_gives_and_left_blank_elsewhere(
    tmp_path: Path,
) -> None:
    text = (
        'title = "Ridge"\n[sheet]\nproject = "Fennel Rise"\nchecked_by = "B. Lark"\n'
        '[soils.bank]\nunit_weight = "18 kN/m^3"\n[soils.bank.strength]\ncohesion = "4 kPa"\n'
        'friction_angle = "31 deg"\n[[checks]]\nkind = "infinite_slope"\nsoil = "bank"\n'
        'slope_angle = "28 deg"\ndepth = "1.8 m"\n'
    )
    path = tmp_path / "ridge.toml"
    path.write_text(text)
    sheet = sheet_of(evaluate(load(path)), NOON)
    assert dict(sheet.signed) == {
        "Project": "Fennel Rise",
        "Job number": "",
        "Revision": "",
        "Made by": "",
        "Checked by": "B. Lark",
        "Date": "2026-05-04 12:00 UTC",
    }
    assert "Checked by: B. Lark" in markdown(sheet)
    assert "Made by: ....." in markdown(sheet)
    path.write_text(text.replace('"B. Lark"', "7"))
    with pytest.raises(InputError, match=r"sheet\.checked_by"):
        load(path)
