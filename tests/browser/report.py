# SPDX-License-Identifier: GPL-3.0-or-later
"""The report in a headless Chromium: report.py PROGRAM SOURCE_ROOT, in the folder that run.sh made.

Nothing of a sound page may reach the console or the network, its tables carry the numbers of the
CSV files, its figures zoom and read out, it fits desk, phone and paper, and no name runs.
SHOTS=FOLDER keeps screenshots and the printed page for a look.
"""

import csv
import os
import re
import shutil
import subprocess
import sys

import chromium

PROGRAM, ROOT = sys.argv[1:3]
SHOTS = os.environ.get("SHOTS")
HOSTILE = "<script>window.hit=1;alert(1)</script>\"'&amp;, ; Größe 𝛍 <img src=x onerror=alert(1)> "
HOSTILE += "L" * (300 - len(HOSTILE))

TABLES = {
    "table-strategies": "summary.csv", "table-balance": "summary.csv", "table-checks": "summary.csv",
    "table-deepest": "handovers.csv", "table-handovers": "handovers.csv",
    "table-ledger": "ledger.csv", "table-comfort": "comfort.csv", "table-survey": "balance.csv",
    "table-missed": "assess.csv", "table-not-assessed": "assess.csv",
    "table-requirements": "assess.csv", "table-worst-faults": "faults.csv",
    "table-faults": "faults.csv", "table-descents": "descent.csv",
    "table-descent-ends": "descent.csv", "table-statistics": "sweep-statistics.csv",
}
WHOLE_TABLES = ("table-strategies", "table-handovers", "table-ledger", "table-survey",
                "table-requirements", "table-faults", "table-comfort")

READ_TABLES = """
[...document.querySelectorAll('table')].filter(t => t.querySelector('[data-column]')).map(t => ({
  id: t.id, caption: t.caption ? t.caption.textContent : '',
  columns: [...t.querySelectorAll('thead th')].map(h => [h.dataset.column, Number(h.dataset.factor || 1)]),
  rows: [...t.querySelectorAll('tbody tr')].map(r => [Number(r.dataset.row), [...r.children].map(c => c.textContent)]),
}))"""
READ_SHAPE = """({
  h1: document.querySelectorAll('h1').length,
  headings: [...document.querySelectorAll('h1,h2,h3,h4,h5,h6')].map(h => [Number(h.tagName[1]), h.id]),
  ids: [...document.querySelectorAll('[id]')].map(e => e.id),
  bareTables: [...document.querySelectorAll('table')].filter(t => !t.caption || !t.caption.textContent.trim()).length,
  bareHeads: document.querySelectorAll('th:not([scope])').length,
  figures: document.querySelectorAll('figure').length,
  mute: [...document.querySelectorAll('figure svg')].filter(s => s.getAttribute('role') !== 'img' || (s.getAttribute('aria-label') || '').length < 40).length,
  blank: [...document.querySelectorAll('figure svg')].filter(s => s.querySelectorAll('path').length < 12).length,
  deadLinks: [...document.querySelectorAll('a[href]')].filter(a => !document.getElementById(a.getAttribute('href').slice(1))).length,
  deadUses: [...document.querySelectorAll('use')].filter(u => !document.getElementById(u.getAttribute('href').slice(1))).length,
  bareButtons: [...document.querySelectorAll('button')].filter(b => !b.getAttribute('aria-label')).length,
  lang: document.documentElement.lang, title: document.title,
})"""
SECTIONS = ["verdict", "strategies", "figures", "handovers", "balance", "requirements", "descents", "faults",
            "ledger", "assumptions", "inputs", "cautions"]

problems = []
failures = 0


def check(is_right, what):
    if not is_right:
        problems.append(what)


def end(name):
    global failures
    print(f"[  FAILED  ] {name}" if problems else f"[       OK ] {name}", flush=True)
    for what in problems[:3]:
        print("  " + what[:400])
    failures += 1 if problems else 0
    problems.clear()


def run(*words):
    done = subprocess.run([PROGRAM, *words], stdin=subprocess.DEVNULL, capture_output=True, text=True)
    if done.returncode > 1:
        raise RuntimeError(f"{words[0]} gave {done.returncode}: {done.stderr}")


def shoot(browser, name):
    if SHOTS:
        browser.screenshot(os.path.join(SHOTS, name + ".png"))


def quiet(browser):
    check(not browser.events, f"the page is not quiet: {browser.events[:2]}")
    strangers = [url for url in browser.requests if not url.startswith(("file:///", "data:"))]
    check(not strangers and len([u for u in browser.requests if u.startswith("file:")]) == 1,
          f"something was fetched: {browser.requests[:3]}")


def rows_of(folder, name):
    with open(os.path.join(folder, name), newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def is_number(text):
    return re.fullmatch(r"[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?", text) is not None


def is_same(shown, text, factor):
    """Whether a cell shows the CSV's text: numbers to half a unit of their last digit."""
    if text == "":
        return shown == "–"
    if not is_number(text):
        return shown == text
    mantissa, _, power = shown.partition("e")
    places = len(mantissa.partition(".")[2])
    unit = 10.0 ** (int(power or 0) - places)
    if "." not in mantissa and "e" not in shown and len(mantissa.strip("-")) > 4:
        unit = max(unit, 10.0 ** (len(mantissa.strip("-")) - 5))  # five digits of a large number
    wanted = float(text) * factor
    return is_number(shown) and abs(float(shown) - wanted) <= 0.5 * unit * (1 + 1e-9) + 1e-12 * abs(wanted)


def compare(browser, folder):
    """Every cell of every table against its file; gives the numbers compared."""
    compared = 0
    seen = {}
    for table in browser.run(READ_TABLES):
        check(table["id"] in TABLES, f"no file known for {table['id']}")
        rows = rows_of(folder, TABLES.get(table["id"], "summary.csv"))
        seen[table["id"]] = len(table["rows"])
        check(len({number for number, _ in table["rows"]}) == len(table["rows"]), f"{table['id']}: a row twice")
        for number, cells in table["rows"]:
            for (column, factor), cell in zip(table["columns"], cells, strict=True):
                text = rows[number - 1][column]
                # the head of a row is shown as it is
                same = cell == text if column == table["columns"][0][0] else is_same(cell, text, factor)
                check(same, f"{table['id']} row {number} {column}: '{cell}' for '{text}'")
                compared += 1 if is_number(text) else 0
        if table["id"] in WHOLE_TABLES:
            check(len(table["rows"]) == len(rows), f"{table['id']} has {len(table['rows'])} of {len(rows)} rows")
    return compared, seen


def test_page(browser):
    browser.open("whole.html")
    quiet(browser)
    end("report_opens_without_console_error_or_request")

    shape = browser.run(READ_SHAPE)
    has_plots = shutil.which("gnuplot") is not None
    check([i for _, i in shape["headings"] if i in SECTIONS] == SECTIONS, f"sections are {shape['headings']}")
    check(shape["headings"][1][1] == "verdict", "the verdict is not first")
    levels = [level for level, _ in shape["headings"]]
    check(shape["h1"] == 1 and all(b <= a + 1 for a, b in zip(levels, levels[1:])), f"heading levels {levels}")
    check(len(set(shape["ids"])) == len(shape["ids"]), "an id stands twice")
    for what in ("bareTables", "bareHeads", "mute", "blank", "deadLinks", "deadUses", "bareButtons"):
        check(shape[what] == 0, f"{what}: {shape[what]}")
    check(shape["lang"] == "en" and "stop-100" in shape["title"], f"title {shape['title']}")
    drawn = sum(name.endswith(".svg") for name in os.listdir("whole/figures")) if has_plots else 0
    check(shape["figures"] == drawn, f"{shape['figures']} figures of {drawn} drawn")
    check(drawn >= 15 or not has_plots, f"only {drawn} figures drawn")
    end("report_has_every_section_and_names_for_screen_readers")

    compared, seen = compare(browser, "whole")
    check(compared > 500, f"only {compared} numbers compared")
    check(seen.get("table-strategies") == 2 and seen.get("table-faults", 0) >= 4, f"tables {seen}")
    browser.open("swept.html")
    quiet(browser)
    more, seen = compare(browser, "swept")
    check(more > 20 and seen.get("table-statistics", 0) > 0, f"only {more} numbers of the sweep")
    end("report_tables_carry_every_number_of_the_csv")


def test_widths(browser):
    for width, phone, name in ((1200, False, "desk"), (390, True, "phone"), (320, True, "small-phone")):
        browser.open("whole.html", width, 900, phone)
        browser.run("document.querySelectorAll('details').forEach(d => { d.open = true })")
        wide = browser.run("document.documentElement.scrollWidth")
        check(wide <= width, f"{name}: the page is {wide} wide on {width}")
        small = browser.run("Math.min(...[...document.querySelectorAll('p,li,td,caption,figcaption')]"
                            ".map(e => parseFloat(getComputedStyle(e).fontSize)))")
        check(small >= 12, f"{name}: text of {small} px")
        shoot(browser, name)
    quiet(browser)
    end("report_fits_desk_and_phone")

    browser.open("whole.html")
    browser.print_pdf("whole.pdf")
    if SHOTS:
        shutil.copy("whole.pdf", SHOTS)
    with open("whole.pdf", "rb") as file:
        pdf = file.read()
    pages = len(re.findall(rb"/Type\s*/Page\b", pdf))
    boxes = {tuple(round(float(x)) for x in box.split()[2:]) for box in re.findall(rb"/MediaBox\s*\[([^\]]*)\]", pdf)}
    check(pdf.startswith(b"%PDF-") and 2 <= pages <= 20, f"{pages} pages")
    check(boxes and all(abs(w - 595) <= 1 and abs(h - 842) <= 1 for w, h in boxes), f"no A4: {boxes}")
    end("report_prints_on_a4")


def test_figures(browser):
    if not shutil.which("gnuplot"):
        print("[  SKIPPED ] report_figures_zoom_and_read_out")
        return
    browser.open("whole.html")
    browser.run("window.it = [...document.querySelectorAll('figure')].find(f => f.textContent.includes('over time'));"
                "it.scrollIntoView(); window.plate = it.querySelector('.plate'); window.svg = it.querySelector('svg');")
    # where a tick of the axis of time stands on the screen, and of the axis of torque
    tick = browser.run("""(() => {
      const labels = [...svg.querySelectorAll('text')].filter(t => t.textContent.trim() === '2');
      const label = labels.find(t => t.parentNode.getAttribute('text-anchor') === 'middle');
      const upright = label.parentNode.previousElementSibling.getBoundingClientRect();
      const torque = [...svg.querySelectorAll('text')].find(t => t.textContent.trim() === '1000');
      const level = torque.parentNode.previousElementSibling.getBoundingClientRect();
      return [upright.x + upright.width / 2, level.y + level.height / 2];
    })()""")
    browser.point(*tick)
    said = browser.run("it.querySelector('output').textContent")
    read = re.search(r"time / s: ([-\d.]+), .*N m: ([-\d.]+)", said)
    check(read and abs(float(read[1]) - 2) < 0.02 and abs(float(read[2]) - 1000) < 12, f"read out '{said}' at 2 s, 1000 N m")
    whole = browser.run("svg.getAttribute('viewBox')")
    browser.run("it.querySelector('button').click()")
    near = browser.run("svg.viewBox.baseVal.width")
    check(near < float(whole.split()[2]) * 0.7, f"the button did not zoom: {near}")
    browser.run("plate.focus()")
    browser.press("+")
    check(browser.run("svg.viewBox.baseVal.width") < near * 0.7, "the key did not zoom")
    before = browser.run("it.querySelector('output').textContent")
    browser.press("ArrowRight")
    check(browser.run("it.querySelector('output').textContent") != before, "the arrow did not move the read-out")
    browser.press("0")
    check([float(x) for x in browser.run("svg.getAttribute('viewBox')").split()] == [float(x) for x in whole.split()],
          "0 does not show the whole")
    check(browser.run("getComputedStyle(plate).outlineStyle") != "none", "focus is not to be seen")
    quiet(browser)
    end("report_figures_zoom_and_read_out")


def hostile_folder():
    """Results whose case, car and strategies have names that a browser might take for more."""
    case = "hostile.cfg"
    text = HOSTILE.replace("\\", "\\\\").replace('"', '\\"')
    with open(case, "w", encoding="utf-8") as file:
        file.write(f'@include "{ROOT}/cases/vehicles/small-hatchback.cfg"\n'
                   f'cycle: {{ name = "{ROOT}/cases/manoeuvres/stop-100.csv"; }};\n'
                   'driver: { initial_speed_kmh = 43.7; };\n'
                   f'case: {{ name = "{text}"; }};\nvehicle: {{ name = "{text}"; }};\n')
    run("run", case, "--strategy", "series", "--strategy", "parallel", "--quiet", "--out", "hostile")
    for name in ("summary.csv", "handovers.csv", "ledger.csv", "waterfall.csv", "events.csv"):
        path = os.path.join("hostile", name)
        with open(path, newline="", encoding="utf-8") as file:
            rows = list(csv.reader(file))
        with open(path, "w", newline="", encoding="utf-8") as file:
            csv.writer(file, lineterminator="\n").writerows(
                [[HOSTILE if row[0] == "series" else row[0], *row[1:]] for row in rows])
    if shutil.which("gnuplot"):
        run("plot", "hostile", "--strategy", "parallel")


HOSTILE_SVG = """<?xml version="1.0"?><!DOCTYPE svg SYSTEM "http://example.invalid/svg.dtd">
<svg viewBox="0 0 90 54" xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" onload="alert(1)">
<script>window.hit = 2; alert(2)</script><style>@import url(http://example.invalid/a.css);</style>
<foreignObject><body xmlns="http://www.w3.org/1999/xhtml" onload="alert(3)"><script>alert(4)</script></body></foreignObject>
<g id="a" style="background:url(http://example.invalid/b)"><path d="M0,0 L9,9" fill="url(http://example.invalid/c)" onmouseover="alert(5)"/>
<image href="http://example.invalid/d.png" width="9" height="9"/><use xlink:href="http://example.invalid/e.svg#f"/>
<a xlink:href="javascript:alert(6)"><text>click</text></a><animate onbegin="alert(7)" attributeName="x" dur="1s"/>
<set attributeName="href" to="javascript:alert(8)"/><text>&lt;script&gt;alert(9)&lt;/script&gt; kept</text></g></svg>
"""


def test_hostile(browser):
    hostile_folder()
    run("report", "hostile", "-o", "hostile.html")
    browser.open("hostile.html", 390, 844, True)
    browser.run("new Promise(done => setTimeout(done, 300))")
    quiet(browser)
    check(browser.run("window.hit === undefined"), "a name ran")
    check(browser.run("document.querySelectorAll('script').length") == 1, "a script came in")
    check(browser.run("document.querySelectorAll('img').length") == 0, "an image came in")
    said = browser.run("[...document.querySelectorAll('dd')].map(d => d.textContent)")
    check(said.count(HOSTILE) == 2, f"case and car are not shown as they are: {said[:2]}")
    compare(browser, "hostile")
    heads = browser.run("[...document.querySelectorAll('#table-strategies tbody th')].map(h => h.textContent)")
    check(HOSTILE in heads, "the strategy is not shown as it is")
    wide = browser.run("document.documentElement.scrollWidth")
    check(wide <= 390, f"long names make the page {wide} wide")
    shoot(browser, "hostile")
    end("report_with_hostile_names_runs_nothing")

    os.makedirs("hostile/figures", exist_ok=True)
    for name in os.listdir("hostile/figures"):
        os.remove(os.path.join("hostile/figures", name))
    for name in ("energy", "brake-torque-parallel"):
        with open(f"hostile/figures/{name}.svg", "w", encoding="utf-8") as file:
            file.write(HOSTILE_SVG)
    run("report", "hostile", "-o", "svg.html")
    # without the page's policy, so that the list of what gets through is what is tested
    with open("svg.html", encoding="utf-8") as file:
        page = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", file.read())
    check("Content-Security-Policy" not in page, "the policy was not taken out")
    with open("svg.html", "w", encoding="utf-8") as file:
        file.write(page)
    browser.open("svg.html")
    browser.run("new Promise(done => setTimeout(done, 300))")
    quiet(browser)
    check(browser.run("window.hit === undefined"), "a script of a figure ran")
    check(browser.run("document.querySelectorAll('figure svg').length") == 2, "the figures are not there")
    check(browser.run("document.querySelectorAll('svg a, svg image[href], svg script, svg style, foreignObject, animate, set').length") == 0,
          "a figure brought in more than drawing")
    check("<script>alert(9)</script> kept" in browser.run("document.querySelector('figure').textContent"), "text is lost")
    end("report_with_hostile_figures_runs_nothing")


def main():
    browser = chromium.Browser()
    try:
        for test in (test_page, test_widths, test_figures, test_hostile):
            try:
                test(browser)
            except (RuntimeError, OSError, TypeError, KeyError, IndexError) as error:
                check(False, f"{type(error).__name__}: {error}")
                end(test.__name__ + "_comes_to_its_end")
    finally:
        browser.close()
    return 1 if failures else 0


sys.exit(main())
