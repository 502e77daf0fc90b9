"""The page in a real browser: silent, self-contained, readable at once, usable by keyboard, and whole on paper."""

import base64
import json
import re
import subprocess
from contextlib import contextmanager

import pytest
from outside_tools import missing, page_checker, program

pytestmark = pytest.mark.browser

FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-quic",
    "--no-first-run", "--disable-component-update", "--disable-sync", "--hide-scrollbars",
)  # fmt: skip
SCREENS = [(1280, 800), (390, 844)]
PAPERS = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}


@contextmanager
def browser(profile, *, scripts=True, dark=False):
    try:
        from selenium import webdriver
        from selenium.webdriver.chrome.service import Service
    except ImportError:
        missing("selenium (pip install simstore[dev])")
    options = webdriver.ChromeOptions()
    for flag in (*FLAGS, f"--user-data-dir={profile}"):
        options.add_argument(flag)
    options.binary_location = program("chromium", "chromium-browser", "google-chrome")
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    if not scripts:
        options.add_experimental_option("prefs", {"profile.managed_default_content_settings.javascript": 2})
    driver = webdriver.Chrome(options=options, service=Service(program("chromedriver")))
    try:
        driver.set_page_load_timeout(180)
        driver.set_script_timeout(180)
        if dark:
            features = [{"name": "prefers-color-scheme", "value": "dark"}]
            driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})
        yield driver
    finally:
        driver.quit()


def sized(driver, width, height):
    driver.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 600},
    )


@pytest.fixture(scope="module")
def driver(tmp_path_factory, page):
    with browser(tmp_path_factory.mktemp("profile")) as opened:
        opened.get(page.as_uri())
        yield opened


@pytest.fixture(autouse=True)
def _wide(request):
    if "driver" in request.fixturenames:
        sized(request.getfixturevalue("driver"), 1280, 800)


def test_the_page_asks_the_network_for_nothing_and_says_nothing_on_the_console(tmp_path, page):
    with browser(tmp_path) as driver:
        driver.get("about:blank")
        driver.get_log("performance")  # what the browser's own first page did
        driver.get(page.as_uri())
        events = [json.loads(entry["message"])["message"] for entry in driver.get_log("performance")]
        asked = [
            event["params"]["request"]["url"] for event in events if event["method"] == "Network.requestWillBeSent"
        ]
        console = driver.get_log("browser")

    assert [url for url in asked if url.startswith("file:")] == [page.as_uri()]
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []
    assert console == []


@pytest.mark.parametrize(("width", "height"), SCREENS)
def test_the_first_screen_holds_verdict_purchases_work_cost_and_sureness(driver, width, height):
    sized(driver, width, height)
    wanted = [
        "h1",
        "#metals tbody tr:last-child",
        *(f".answer dl div:nth-child({place}) strong" for place in (1, 2, 3, 4)),
    ]
    bottoms = {
        name: driver.execute_script("return document.querySelector(arguments[0]).getBoundingClientRect().bottom", name)
        for name in wanted
    }

    assert {name: bottom for name, bottom in bottoms.items() if not 0 < bottom <= height} == {}


@pytest.mark.parametrize(("width", "height"), SCREENS)
def test_the_page_is_never_wider_than_the_screen(driver, width, height):
    sized(driver, width, height)

    assert driver.execute_script("return document.documentElement.scrollWidth") <= width


def test_no_id_stands_twice_in_the_page_as_the_browser_sees_it(driver):
    ids = driver.execute_script("return [...document.querySelectorAll('[id]')].map(e => e.id)")

    assert len(ids) == len(set(ids)) > 50


@pytest.mark.parametrize(("width", "height", "dark"), [(1280, 800, False), (390, 844, True)])
def test_the_accessibility_checker_finds_nothing_serious(tmp_path, page, width, height, dark):
    checker = page_checker()
    with browser(tmp_path, dark=dark) as driver:
        sized(driver, width, height)
        driver.get(page.as_uri())
        driver.execute_script("document.querySelectorAll('details').forEach(d => { d.open = true; })")
        # The page's own policy refuses foreign scripts, so the checker is handed to the browser from outside.
        driver.execute_cdp_cmd("Runtime.evaluate", {"expression": checker})
        found = driver.execute_async_script("const done = arguments[0]; axe.run().then(done)")

    bad = [
        f"{one['id']} ({one['impact']}): {one['nodes'][0]['html'][:120]}"
        for one in found["violations"]
        if one["impact"] in ("serious", "critical")
    ]
    assert found["passes"]
    assert bad == []


def test_without_scripts_every_answer_and_table_is_there(tmp_path, page, html):
    with browser(tmp_path, scripts=False) as driver:
        driver.get(page.as_uri())
        source = driver.page_source
        text = driver.find_element("css selector", "main").text
        heading = driver.find_element("css selector", "h1")
        buttons = driver.find_elements("css selector", "thead button")

        assert heading.is_displayed()
        assert buttons == []  # the script has not run
        assert "Every plan that was simulated" in text
        assert source.count("<table") == html.count("<table")


def test_a_table_can_be_sorted_by_keyboard_and_tells_its_order(driver):
    from selenium.webdriver.common.keys import Keys

    driver.get(driver.current_url)
    button = driver.find_element("css selector", "#plans thead th:nth-last-child(4) button")

    def costs():
        cells = driver.find_elements("css selector", "#plans tbody td:nth-last-child(4)")
        return [float(cell.get_attribute("data-key")) for cell in cells]

    button.send_keys(Keys.ENTER)
    up = costs()
    button.send_keys(Keys.ENTER)

    assert up == sorted(up)
    assert costs() == sorted(up, reverse=True)
    head = driver.find_element("css selector", "#plans thead th:nth-last-child(4)")
    assert head.get_attribute("aria-sort") == "descending"


def test_a_plan_shows_its_details_when_the_keyboard_reaches_it(driver):
    mark = driver.find_element("css selector", "a.mark")
    facts = mark.find_element("css selector", ".facts")
    hidden = facts.is_displayed()
    driver.execute_script("arguments[0].focus({focusVisible: true})", mark)

    assert not hidden
    assert facts.is_displayed()
    assert "exchanges a year" in facts.text


def test_marks_lie_on_their_plans(driver):
    # The chart draws today's plan as the only square; its mark must lie on it.
    driver.get(driver.current_url)
    places = driver.execute_script(
        "return [...document.querySelectorAll('a.mark')].map(e => {"
        " const m = e.getBoundingClientRect(), s = e.parentNode.querySelector('svg').getBoundingClientRect();"
        " return [m.x + m.width / 2 - s.x, m.y + m.height / 2 - s.y, s.width, s.height]; })"
    )

    assert len(places) == 4
    assert all(0 < x < width and 0 < y < height for x, y, width, height in places)


def test_on_a_narrow_screen_charts_stay_wide_enough_to_read_and_scroll_with_their_marks(driver):
    sized(driver, 390, 844)
    driver.get(driver.current_url)
    charts = driver.execute_script(
        "return [...document.querySelectorAll('.card')].map(e => [e.querySelector('svg').getBoundingClientRect().width,"
        " e.clientWidth, e.scrollWidth, e.tabIndex])"
    )
    away = """
        const mark = document.querySelector('a.mark'), card = mark.closest('.card');
        const place = () => mark.getBoundingClientRect().x - card.querySelector('svg').getBoundingClientRect().x;
        const before = place();
        card.scrollLeft = 200;
        return [card.scrollLeft, place() - before, document.documentElement.scrollWidth];
    """
    scrolled, moved, page_width = driver.execute_script(away)

    assert len(charts) >= 4
    assert all(svg >= 640 and shown <= 390 and inside >= 640 and by_key == 0 for svg, shown, inside, by_key in charts)
    assert scrolled == 200
    assert abs(moved) < 0.5
    assert page_width <= 390


def test_on_paper_no_note_is_larger_than_an_answer_and_nothing_is_said_of_keys(driver):
    driver.get(driver.current_url)
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        sizes = driver.execute_script(
            "const size = s => [...document.querySelectorAll(s)].map(e => parseFloat(getComputedStyle(e).fontSize));"
            "return [size('.answer dd strong'), size('.answer dd span, .answer .term, .store, .answer dt, caption')]"
        )
        keys = driver.find_elements("xpath", "//p[contains(., 'Tab key')]")
        shown = [each.is_displayed() for each in keys]
    finally:
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})

    assert max(sizes[1]) < min(sizes[0])
    assert shown == [False] * len(shown) != []
    assert all(each.is_displayed() for each in keys)


MARK = """
for (const [kind, selector] of [["row", "tr"], ["chart", ".card"]]) {
  document.querySelectorAll(selector).forEach((element, place) => {
    if (element.closest("details")) return;
    for (const end of ["top", "bottom"]) {
      const word = document.createElement("span");
      word.textContent = `${kind}${place}${end}`;
      word.style.cssText = "position:absolute;font:1px monospace;left:0;" + end + ":0";
      const holder = kind === "row" ? element.cells[0] : element;
      holder.style.position = "relative";
      holder.append(word);
    }
  });
}
"""


def ends_on_sheets(driver, folder, paper):
    """Print, and say on which sheets the top and the bottom of each chart and table row stand."""
    reader = program("pdftotext")
    driver.execute_script(MARK)
    width, height = PAPERS[paper]
    printed = driver.execute_cdp_cmd("Page.printToPDF", {"paperWidth": width, "paperHeight": height})
    (folder / "page.pdf").write_bytes(base64.b64decode(printed["data"]))
    text = subprocess.run([reader, folder / "page.pdf", "-"], capture_output=True, text=True, check=True).stdout
    ends = {}
    for number, sheet in enumerate(text.split("\f")):
        for kind, place, end in re.findall(r"(row|chart)(\d+)(top|bottom)", sheet):
            ends.setdefault((kind, place), {}).setdefault(end, set()).add(number)
    return ends


def broken(ends):
    """Charts and rows that do not stand on one sheet; the heading of a long table stands again on each."""
    return {key: sheets for key, sheets in ends.items() if sheets.get("top") != sheets.get("bottom")}


@pytest.mark.parametrize("paper", PAPERS)
def test_printing_breaks_no_chart_and_no_table_row(driver, tmp_path, paper):
    driver.get(driver.current_url)
    ends = ends_on_sheets(driver, tmp_path, paper)

    assert len([key for key in ends if key[0] == "chart"]) >= 4
    assert len([key for key in ends if key[0] == "row"]) > 100
    assert broken(ends) == {}


def test_a_row_that_does_break_is_seen(driver, tmp_path):
    driver.get(driver.current_url)
    driver.execute_script("document.querySelector('#plans tbody tr th').style.height = '60cm'")

    assert broken(ends_on_sheets(driver, tmp_path, "A4"))
