"""The page in headless Chromium: offline, no errors, every control changes what it says."""

from __future__ import annotations

import base64
import json
import shutil
from dataclasses import replace
from io import BytesIO
from itertools import product
from pathlib import Path

import numpy as np
import pytest
import rink_analyses as rink
from PIL import Image

from analyzer import analyze, open_route, read_job
from analyzer.units import UnitSystem, ft, lbf, lbf_per_ft, show_force, show_length, show_pressure
from viewer.page import write_page
from viewer.palette import share_colors
from viewer.wording import of_limit

pytestmark = pytest.mark.browser

EXAMPLES = Path(__file__).resolve().parents[2] / "example_paths"
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
DRIVER = shutil.which("chromedriver")
FLAGS = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--no-first-run", "--hide-scrollbars",
    "--window-size=1400,1000",
)  # fmt: skip
HOSTILE = '</script><script>document.title="broken"</script><img src=x onerror=alert(1)>&"\'<!--'


def start(folder, *more):
    if CHROMIUM is None or DRIVER is None:
        pytest.skip("no chromium and chromedriver found: apt install chromium chromium-driver")
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM
    for flag in (*FLAGS, f"--user-data-dir={folder}", *more):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    return webdriver.Chrome(options=options, service=Service(DRIVER))


@pytest.fixture(scope="module")
def driver(tmp_path_factory):
    made = start(tmp_path_factory.mktemp("browser"), "--enable-unsafe-swiftshader")
    # whatever a page asks of the net fails and is logged
    made.execute_cdp_cmd("Network.enable", {})
    yield made
    made.quit()


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("pages")


def example(name):
    path = EXAMPLES / name
    job = read_job(path.with_suffix(".toml"))
    route = open_route(path, job)
    return analyze(route.runs, job, route.findings)


@pytest.fixture(scope="module")
def feeder():
    return example("overhead_feeder.dxf")


@pytest.fixture(scope="module")
def feeder_file(folder, feeder):
    file = folder / "feeder.html"
    write_page(feeder, file)
    return file


def sized(driver, width, height):
    driver.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 700},
    )


def opened(driver, file, size=(1400, 1000)):
    sized(driver, *size)
    driver.get("about:blank")
    driver.get_log("browser"), driver.get_log("performance")
    driver.get(file.as_uri())
    wait(driver, "return document.documentElement.dataset.ready === 'yes'")
    return driver


@pytest.fixture(scope="module")
def loaded(driver, feeder_file):
    return opened(driver, feeder_file)


@pytest.fixture
def page(loaded, feeder_file):
    """The feeder's page as it opens: loaded once, set back before each test."""
    if loaded.current_url != feeder_file.as_uri():
        opened(loaded, feeder_file)
    sized(loaded, 1400, 1000)
    loaded.execute_script("document.getElementById('over').style.visibility = ''")
    for box in loaded.find_elements("css selector", 'input[name="box"]'):
        if not box.is_selected():
            loaded.execute_script("arguments[0].click()", box)
    for group, key in (("way", "better"), ("quantity", "tension"), ("friction", "expected")):
        chosen(loaded, group, key)
    walked(loaded, 1.0)
    click(loaded, '[data-view="best"]')
    drawn(loaded)
    return loaded


def drawn(driver):
    """Wait until the pictures have followed what was chosen."""
    wait(driver, "return document.documentElement.dataset.drawn === 'yes'")


def wait(driver, script):
    from selenium.webdriver.support.ui import WebDriverWait

    WebDriverWait(driver, 20).until(lambda found: found.execute_script(script))


def text(driver, selector):
    script = "return document.querySelector(arguments[0]).textContent"
    return driver.execute_script(script, selector)


def click(driver, selector):
    driver.execute_script("document.querySelector(arguments[0]).click()", selector)


def chosen(driver, group, key):
    click(driver, f'input[name="{group}"][value="{key}"]')


def rows(driver):
    script = """
        return Array.from(document.querySelectorAll('#legs tbody tr')).map(function (row) {
          var found = {};
          row.querySelectorAll('td').forEach(function (cell) {
            var figure = cell.querySelector('.figure');
            found[cell.dataset.key || 'tension'] = figure ? figure.textContent : cell.textContent;
          });
          return found;
        })"""
    return driver.execute_script(script)


def walked(driver, part):
    driver.execute_script(
        "var s = document.getElementById('head'); s.value = arguments[0];"
        "s.dispatchEvent(new Event('input'))",
        round(part * 1000),
    )


def errors(driver):
    return [entry for entry in driver.get_log("browser") if entry["level"] == "SEVERE"]


def requests(driver):
    found = []
    for entry in driver.get_log("performance"):
        message = json.loads(entry["message"])["message"]
        if message["method"] in ("Network.requestWillBeSent", "Network.webSocketCreated"):
            params = message["params"]
            found.append(params.get("request", params)["url"])
    return [url for url in found if not url.startswith(("data:", "blob:", "about:", "chrome:"))]


def screen(driver):
    shot = driver.execute_cdp_cmd("Page.captureScreenshot", {"format": "png"})
    return np.asarray(Image.open(BytesIO(base64.b64decode(shot["data"]))).convert("RGB"))


def test_it_opens_from_disk_and_asks_for_nothing(page, feeder_file):
    drawn(page)
    for group, key in (("way", "reverse"), ("quantity", "share"), ("friction", "high")):
        chosen(page, group, key)
    for view in ("plan", "front", "side", "iso", "in", "out", "best"):
        click(page, f'[data-view="{view}"]')
    click(page, 'input[name="box"]')
    walked(page, 0.4)
    drawn(page)
    assert requests(page) == [feeder_file.as_uri()]
    assert errors(page) == []
    assert page.execute_script("return document.getElementById('no-gl').hidden")


def test_a_request_from_the_page_would_be_stopped_and_seen(page):
    page.execute_script("new Image().src = 'http://192.0.2.1/a.png'")
    wait(page, "return true")
    assert any("192.0.2.1" in entry["message"] for entry in errors(page))


@pytest.mark.parametrize("off", [(), ("Box A",), ("Box A", "Box B")])
def test_the_table_equals_a_fresh_analysis(page, feeder, off):
    names = [stop["name"] for stop in page.execute_script("return racewayPage.data.stops")][1:-1]
    for name in off:
        chosen(page, "box", names.index(name))
    run = feeder.runs[0].run
    fittings = tuple(
        replace(item, pull_point=False) if item.name in off else item for item in run.fittings
    )
    fresh = analyze([replace(run, fittings=fittings)], feeder.job).runs[0]
    for way, friction in product(("forward", "reverse", "better"), ("low", "expected", "high")):
        chosen(page, "way", way)
        chosen(page, "friction", friction)
        pulls = [leg.best if way == "better" else getattr(leg, way) for leg in fresh.legs]
        shown = rows(page)
        assert len(shown) == len(fresh.legs)
        for row, leg, pull in zip(shown, fresh.legs, pulls, strict=True):
            assert_row(row, leg, pull, friction, feeder.job.units)
        worst = max(getattr(pull, friction).max_tension_n for pull in pulls)
        assert show_force(worst, feeder.job.units) in text(page, "#headline")
        assert fresh.verdict.value in text(page, "#verdict")


def assert_row(row, leg, pull, friction, units):
    figures = getattr(pull, friction)
    assert row["name"] == leg.leg.name
    assert row["way"] == f"{pull.feed_at} → {pull.pull_at}"
    assert row["length"] == show_length(leg.leg.length_m, units)
    assert row["tension"] == show_force(figures.max_tension_n, units)
    assert row["exit"] == show_force(figures.exit_tension_n, units)
    assert row["sidewall"] == show_pressure(figures.max_sidewall_n_per_m, units)
    assert row["share"] == of_limit(pull.share_of_limit)


def tube(page):
    drawn(page)
    return page.execute_script("return document.getElementById('view').data[5].vertexcolor")


def test_each_quantity_has_its_own_legend_chart_and_colors(page):
    told, colors = set(), set()
    for key, title in (
        ("tension", "Pulling tension, lbf"),
        ("sidewall", "Sidewall pressure, lbf/ft"),
        ("share", "Share of limit, % of limit"),
        ("elevation", "Elevation, ft"),
        ("station", "Station, ft"),
    ):
        chosen(page, "quantity", key)
        # on this run tension comes nearest its limit everywhere, so the share has its colors
        if key != "share":
            colors.add(",".join(tube(page)))
        drawn(page)
        assert title in text(page, "#legend")
        told.add(text(page, "#chart-title"))
    assert len(colors) == 4
    assert len(told) == 3


def test_friction_and_direction_recolor_the_tube(page):
    before = tube(page)
    chosen(page, "friction", "high")
    high = tube(page)
    chosen(page, "way", "forward")
    assert before != high != tube(page)


def test_the_head_walks_in_step_with_the_chart(page, feeder):
    assert "All pulled" in text(page, "#head-words")
    chosen(page, "way", "forward")
    walked(page, 0.5)
    station = 0.5 * feeder.runs[0].run.centerline.length_m
    colors = tube(page)
    assert f"station {show_length(station, feeder.job.units)}" in text(page, "#head-words")
    profile = feeder.runs[0].legs[1].forward.profile
    value = float(np.interp(station, profile.station_m, profile.tension_n))
    tension = show_force(value, feeder.job.units)
    for place in ("#head-words", "#over .chip.worst", "#chart"):
        assert tension in text(page, place)
    assert text(page, "#over .chip.worst").startswith("Head")
    # a cell has two rings of 14 corners; what the head has not reached is gray
    gray = "rgb(213,218,224)"
    half = len(colors) // 2
    assert gray not in colors[: half - 28 * 15]
    assert colors[half + 28 * 15 :].count(gray) > 100


def test_a_click_on_the_chart_takes_the_head_there(page):
    from selenium.webdriver.common.action_chains import ActionChains

    chart = page.find_element("id", "chart")
    ActionChains(page).move_to_element_with_offset(chart, 0, 0).click().perform()
    drawn(page)
    assert "station" in text(page, "#head-words")


def test_the_pointer_reads_the_run(page, feeder):
    from selenium.webdriver.common.action_chains import ActionChains

    x, y = page.execute_script("return racewayPage.project(100)")
    page.execute_script("window.scrollTo(0, 0)")
    box = page.execute_script(
        "var b = document.getElementById('stage').getBoundingClientRect(); return [b.left, b.top]"
    )
    actions = ActionChains(page)
    actions.w3c_actions.pointer_action.move_to_location(round(box[0] + x), round(box[1] + y))
    actions.perform()
    wait(page, "return !document.getElementById('tip').hidden")
    told = text(page, "#tip")
    station = float(told.split("Station ")[1].split(" ft")[0])
    # one pixel is about a fifth of a foot here
    assert station == pytest.approx(100, abs=0.6)
    leg = feeder.runs[0].legs[1]
    tension = np.interp(ft(station), leg.forward.profile.station_m, leg.forward.profile.tension_n)
    shown = float(told.split("Tension ")[1].split(" lbf")[0])
    # the station told is rounded to 0.05 ft, the tension to 0.05 lbf
    assert lbf(shown) == pytest.approx(tension, abs=lbf(0.15))
    assert "Elevation" in told


def test_a_drag_turns_the_run_and_labels_never_overlap(page):
    from selenium.webdriver.common.action_chains import ActionChains

    before = page.execute_script("return racewayPage.project(100)")
    stage = page.find_element("id", "stage")
    for step in (160, -90):
        ActionChains(page).move_to_element(stage).click_and_hold().move_by_offset(
            step, 25
        ).release().perform()
        assert_labels_apart(page)
    assert page.execute_script("return racewayPage.project(100)") != before
    for view in ("plan", "front", "side", "iso"):
        click(page, f'[data-view="{view}"]')
        assert_labels_apart(page)


def assert_labels_apart(page):
    rects = page.execute_script(
        "return Array.from(document.querySelectorAll('#over .chip > rect:first-child')).map("
        "function (r) { return ['x', 'y', 'width', 'height'].map(function (name) {"
        "return Number(r.getAttribute(name)); }); })"
    )
    size = page.execute_script(
        "var s = document.getElementById('stage'); return [s.clientWidth, s.clientHeight]"
    )
    assert len(rects) >= 4
    for i, (x, y, w, h) in enumerate(rects):
        assert x >= 0 and y >= 0 and x + w <= size[0] and y + h <= size[1]
        for x2, y2, w2, h2 in rects[:i]:
            assert not (x < x2 + w2 and x2 < x + w and y < y2 + h2 and y2 < y + h)


def test_the_color_seen_is_the_color_of_the_map(page, feeder):
    chosen(page, "way", "forward")
    drawn(page)
    page.execute_script("document.getElementById('over').style.visibility = 'hidden'")
    box = page.execute_script(
        "var b = document.getElementById('stage').getBoundingClientRect(); return [b.left, b.top]"
    )
    pixels = screen(page)
    limit = min(
        s.limit for s in feeder.runs[0].legs[0].forward.shares if s.code.endswith("line-tension")
    )
    for station in (25.0, 80.0, 110.0, 160.0):
        leg = next(
            item
            for item in feeder.runs[0].legs
            if item.leg.start.station_m <= ft(station) <= item.leg.end.station_m
        )
        profile = leg.forward.profile
        share = np.interp(ft(station), profile.station_m, profile.tension_n) / limit
        x, y = page.execute_script("return racewayPage.project(arguments[0])", station)
        seen = pixels[round(box[1] + y), round(box[0] + x)].astype(float)
        # the gloss of the upper side may lift the middle of a tube of nine pixels a little
        assert np.abs(seen - share_colors([share])[0] * 255).max() < 30


def test_numbers_are_written_as_everywhere_else(page):
    forces = [0.0, 0.04, 9.96, 99.94, 99.96, 156.4, 2275.3, 13788.2, 1234567.8]
    told = page.execute_script(
        "return arguments[0].map(function (v) { return racewayPage.shown(v, 'force'); })", forces
    )
    assert told == [show_force(lbf(value), UnitSystem.US) for value in forces]
    told = page.execute_script(
        "return arguments[0].map(function (v) { return racewayPage.shown(v, 'pressure'); })", forces
    )
    assert told == [show_pressure(lbf_per_ft(value), UnitSystem.US) for value in forces]
    told = page.execute_script(
        "return arguments[0].map(function (v) { return racewayPage.shown(v, 'length'); })", forces
    )
    assert told == [show_length(ft(value), UnitSystem.US) for value in forces]
    shares = [0, 0.0004, 0.0113, 0.0994, 0.0996, 0.346, 0.9949, 0.9951, 0.99999, 1.0, 1.0004]
    shares += [1.04, 1.5, 1.94, 1.96, 2.528, 34.5, 1.00000001]
    told = page.execute_script("return arguments[0].map(racewayPage.ofLimit)", shares)
    assert told == [of_limit(share) for share in shares]


def test_metric_numbers_are_written_as_everywhere_else(driver, folder, feeder):
    file = folder / "metric.html"
    job = replace(feeder.job, units=UnitSystem.METRIC)
    write_page(analyze([feeder.runs[0].run], job), file)
    opened(driver, file)
    forces = [0.0, 0.4, 12.6, 999.4, 999.6, 10123.0]
    told = driver.execute_script(
        "return arguments[0].map(function (v) { return racewayPage.shown(v, 'force'); })", forces
    )
    assert told == [show_force(value, UnitSystem.METRIC) for value in forces]
    assert "Pulling tension, kN" in text(driver, "#legend")
    assert errors(driver) == []


def test_text_from_drawings_stays_text(driver, folder):
    made = rink.analysis_of(
        ends=(HOSTILE, "Chiller 2"), boxes=((HOSTILE + "2", 60),), title=HOSTILE
    )
    file = folder / "hostile.html"
    write_page(analyze([made.runs[0].run], made.job), file)
    opened(driver, file)
    assert driver.title.startswith(HOSTILE[:20])
    assert HOSTILE in text(driver, "#legs")
    assert driver.execute_script("return document.querySelectorAll('img').length") == 0
    assert driver.execute_script("return document.scripts.length") == 3
    assert errors(driver) == []
    assert requests(driver) == [file.as_uri()]


def test_it_fits_a_phone(driver, feeder_file):
    opened(driver, feeder_file, (390, 844))
    assert driver.execute_script("return document.documentElement.scrollWidth") == 390
    assert_labels_apart(driver)
    small = driver.execute_script(
        "return Array.from(document.querySelectorAll('body *')).filter(function (e) {"
        "return e.children.length === 0 && e.textContent.trim() && e.getClientRects().length &&"
        "e.closest('script,style,noscript') === null && parseFloat(getComputedStyle(e).fontSize)"
        "< 12; }).map(function (e) { return e.textContent; })"
    )
    assert small == []
    click(driver, 'input[name="box"]')
    drawn(driver)
    assert "left out" in text(driver, "#over")


def test_paper_shows_the_run_and_leaves_the_controls_out(page):
    page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    page.execute_script("window.dispatchEvent(new Event('beforeprint'))")
    try:
        hidden = page.execute_script(
            "return ['controls', 'walk', 'views', 'view'].every(function (id) {"
            "return getComputedStyle(document.getElementById(id)).display === 'none'; })"
        )
        cells = page.execute_script("return document.querySelectorAll('#over .cell').length")
        wide = page.execute_script("return document.documentElement.scrollWidth")
    finally:
        page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
        page.execute_script("window.dispatchEvent(new Event('afterprint'))")
    assert hidden
    assert cells == len(page.execute_script("return racewayPage.data.edges")) - 1
    assert wide <= 1400
    assert page.execute_script("return document.querySelectorAll('#over .cell').length") == 0
    made = page.execute_cdp_cmd("Page.printToPDF", {"printBackground": True, "landscape": True})
    assert base64.b64decode(made["data"]).startswith(b"%PDF")


def test_without_webgl_it_says_so_and_draws_lines(tmp_path, feeder_file):
    driver = start(tmp_path / "plain", "--disable-3d-apis")
    try:
        opened(driver, feeder_file)
        assert "WebGL" in text(driver, "#no-gl")
        assert not driver.execute_script("return document.getElementById('no-gl').hidden")
        assert driver.execute_script("return document.querySelectorAll('#over .cell').length") > 400
        chosen(driver, "way", "reverse")
        walked(driver, 0.3)
        assert "station" in text(driver, "#head-words")
        assert errors(driver) == []
    finally:
        driver.quit()
