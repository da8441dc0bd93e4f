"""A trial's report: one file that needs nothing, says what the pages say, in its own order, and prints on few sheets."""

from __future__ import annotations

import csv
import hashlib
import html
import re
import shutil
import subprocess
from collections import Counter
from pathlib import Path
from urllib.parse import urlencode

import pytest
from proofyard.cli import main
from proofyard.records.listing import all_of
from proofyard.records.trial import Trial
from starlette.testclient import TestClient

from tests.conftest import House, copied, missing
from tests.pages.whole_forms import forms_on

ORDER = ["1. Answer", "2. Setting", "3. Every shot", "4. Charts", "5. Methods", "6. Left out, and why", "7. Annex"]


@pytest.fixture
def trials(demo_house: House) -> list[str]:
    with demo_house.storage.read() as session:
        return sorted(one.id for one in all_of(session, Trial))


@pytest.fixture
def looks(demo_house: House) -> TestClient:
    return demo_house.client("viewer")


def words(markup: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", re.sub(r"<style>.*?</style>", "", markup, flags=re.DOTALL))).split())


@pytest.mark.parametrize("nth", [0, 1, 2])
def test_the_file_fetches_nothing_and_no_id_stands_twice(looks: TestClient, trials: list[str], nth: int) -> None:
    got = looks.get(f"/trials/{trials[nth]}/report.html")
    assert got.status_code == 200 and "attachment" in got.headers["content-disposition"]
    page = got.text
    assert [one for one in re.findall(r'\b(?:src|href|action|data)="([^"]*)"', page) if not one.startswith(("#", "data:image/jpeg"))] == []
    assert not re.search(r"@import|url\(|<script|<link|<form|\bon\w+=|\bhx-", page)
    ids = Counter(re.findall(r'\bid="([^"]+)"', page))
    assert [one for one, times in ids.items() if times > 1] == []
    targets = re.findall(r'href="#([^"]+)"', page) + re.findall(r'aria-(?:labelledby|describedby)="([^"]+)"', page)
    assert [one for some in targets for one in some.split() if one not in ids] == []
    # A moment lies in an id that the book gives; none of them leaves.
    assert not re.search(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-", page)


def test_it_keeps_a_reports_order_and_says_what_the_pages_say(looks: TestClient, trials: list[str]) -> None:
    page = looks.get(f"/trials/{trials[2]}/report.html?photos=no").text
    assert re.findall(r"<h2[^>]*>(\d\. [^<]+)", page) == ORDER
    assert len(page.encode()) <= 400_000
    text, results = words(page), looks.get(f"/results?trial={trials[2]}").text
    finding = re.findall(r'<p class="results__finding">(.*?)</p>', results, re.DOTALL)
    counts = re.findall(r'class="count__link"[^>]*>([^<]+)<', results) + re.findall(r'class="results__count[^>]*>([^<]+)<', results)
    assert finding and len(counts) > 12
    assert [one for one in (*map(words, finding), *counts) if one not in text] == []
    said = words(re.search(r'id="trial-answer">(.*?)</p>', looks.get(f"/trials/{trials[2]}").text, re.DOTALL)[1])
    assert said in text


@pytest.mark.slow
def test_every_shot_stands_in_it_once_with_its_outcome_and_the_checksum_is_of_the_data_it_offers(
    looks: TestClient, trials: list[str]
) -> None:
    for trial in trials:
        page, data = looks.get(f"/trials/{trial}/report.html?photos=no").text, looks.get(f"/trials/{trial}/report.csv")
        rows = list(csv.DictReader(data.text.splitlines()))
        assert sorted(re.findall(r'<tr[^>]* id="shot-([^"]+)"', page)) == sorted(row["shot_label"] for row in rows)
        assert hashlib.sha256(data.content).hexdigest() in page
        left_out = sum(row["counted_by_default"] == "no" for row in rows)
        assert page.count('class="report__apart"') == left_out > 0


def test_other_trials_stay_out_of_it(looks: TestClient, demo_house: House, trials: list[str]) -> None:
    with demo_house.storage.read() as session:
        questions = {one.id: one.question for one in all_of(session, Trial)}
    page = words(looks.get(f"/trials/{trials[2]}/report.html").text)
    assert questions[trials[2]] in page and not any(questions[one] in page for one in trials[:2])


@pytest.mark.slow
def test_one_minute_is_read_aloud_in_one(looks: TestClient, trials: list[str]) -> None:
    for trial in trials:
        aloud = words(re.search(r'class="report__minute">(.*?)</blockquote>', looks.get(f"/trials/{trial}/report").text, re.DOTALL)[1])
        # About 150 words a minute (common practice of speakers, no source), and a fifth more for who reads fast.
        assert 60 < len(aloud.split()) <= 180, trial
        assert "They certify no armour" in aloud
        figures = re.findall(r"\d+(?:\.\d+)?", aloud)
        text = words(looks.get(f"/trials/{trial}/report.html?photos=no").text).replace(aloud, "")
        assert figures and [one for one in figures if one not in text] == []


def test_who_reads_inches_gets_them_in_the_file_too(demo_house: House, trials: list[str]) -> None:
    client = demo_house.client("viewer")
    client.cookies.set("units", "imperial")
    page = words(client.get(f"/trials/{trials[2]}/report.html?photos=no").text)
    assert "Place, in" in page and "Energy, ft·lbf" in page


def test_the_command_writes_the_same_file_and_never_over_another(
    demo_book_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder, to = copied(demo_book_file, tmp_path / "yard"), tmp_path / "report.html"
    assert main(["report", "--data", str(folder), "3", str(to)]) == 0
    assert "Is 1.6 mm plate enough" in capsys.readouterr().out
    page = to.read_text(encoding="utf-8")
    assert page.count("data:image/jpeg") == 2
    for asked, why in ((["3", str(to)], "exists already"), (["9", "x.html"], "no such trial"), (["plate", "x.html"], "Several trials")):
        assert main(["report", "--data", str(folder), *asked]) == 2
        assert why in capsys.readouterr().err
    assert to.read_text(encoding="utf-8") == page


@pytest.mark.slow
def test_the_demos_third_trial_prints_on_at_most_sixteen_sheets(demo_book_file: Path, tmp_path: Path) -> None:
    chromium = shutil.which("chromium-headless-shell") or shutil.which("chromium")
    if chromium is None:
        missing("Chromium is not installed")
    to, pdf = tmp_path / "report.html", tmp_path / "report.pdf"
    assert main(["report", "--data", str(copied(demo_book_file, tmp_path / "yard")), "3", str(to)]) == 0
    command = [chromium, "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer", f"--print-to-pdf={pdf}", to.as_uri()]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    sheets = len(re.findall(rb"/Type /Page\b", pdf.read_bytes()))
    assert 8 <= sheets <= 16


def told(client: TestClient, trial: str) -> list[tuple[str, str]]:
    """What to tell, and what is said of it, row by row as the page has it."""
    page = client.get(f"/trials/{trial}/report").text
    found = re.findall(r'<ul class="report__told">(.*?)</ul>', page, re.DOTALL)
    rows = [words(one).partition(": ") for some in found for one in re.findall(r"<li>(.*?)</li>", some, re.DOTALL)]
    return [(what, said) for what, _, said in rows]


def sent(client: TestClient, path: str, **typed: str) -> str:
    """The form at this path as it stands, with some boxes typed anew; where it leads."""
    form = next(one for one in forms_on(client.get(path).text) if one.action == path)
    kept = [(name, value) for name, value in form.sends() if name.replace("-", "_") not in typed]
    names = {name.replace("-", "_"): name for name in form.controls}
    body = kept + [(names[name], value) for name, value in typed.items()]
    answer = client.post(path, content=urlencode(body), headers={"Content-Type": "application/x-www-form-urlencoded"})
    assert answer.status_code == 303, words(answer.text)
    return answer.headers["location"]


def test_the_checklist_says_what_a_trial_lacks_and_each_row_leads_to_a_form_that_takes_it(demo_house: House, trials: list[str]) -> None:
    archer = demo_house.client("archer")
    page = archer.get(f"/trials/{trials[2]}/report").text
    every = told(archer, trials[2])
    rows = dict(every)
    assert len(every) > 45
    assert rows["Mass, weighed"].startswith("recorded of all") and rows["Place"] == "recorded"
    assert rows["Who answers for it"].startswith("not recorded")
    links = re.findall(r'<a href="([^"]+)">Enter it', page)
    assert len(links) == sum("not recorded" in said for _, said in every) > 5
    assert [href for href in links if archer.get(html.unescape(href)).status_code != 200] == []
    assert "Enter it" not in demo_house.client("viewer").get(f"/trials/{trials[2]}/report").text


def test_what_is_entered_is_no_longer_lacking_and_stands_in_the_file(demo_house: House, trials: list[str]) -> None:
    archer, trial = demo_house.client("archer"), trials[2]
    path = f"/trials/{trial}/report/fields"
    where = sent(archer, path, author="Wren", report_number="2026-03", licence="CC-BY-4.0", departures="none")
    assert where == f"/trials/{trial}/report"
    rows = dict(told(archer, trial))
    asked = ("Who answers for it", "A number of its own", "Licence", "Departures from the plan, or that there were none")
    assert [rows[one] for one in asked] == ["recorded"] * 4
    file = words(archer.get(f"/trials/{trial}/report.html?photos=no").text)
    assert "Report 2026-03. By Wren. CC BY 4.0" in file and "Departures from the plan none" in file


@pytest.mark.slow
def test_yaw_of_a_shot_is_told_in_the_table_the_file_of_shots_and_the_checklist(demo_house: House, trials: list[str]) -> None:
    archer, trial = demo_house.client("archer"), trials[2]
    table = re.compile(r'<tr[^>]* id="shot-A40">(.*?)</tr>', re.DOTALL)
    assert "Yaw, °" not in archer.get(f"/trials/{trial}/report.html?photos=no").text
    row = next(one for one in csv.DictReader(archer.get(f"/trials/{trial}/report.csv").text.splitlines()) if one["shot_label"] == "A40")
    assert row["yaw_rad"] == ""
    sent(archer, f"/shots/{row['shot_id']}/correct", reading_yaw="4°")
    after = archer.get(f"/trials/{trial}/report.html?photos=no").text
    found = table.search(after)
    assert "Yaw, °" in after and found and '<td class="tools-number">4</td>' in found[1]
    changed = next(one for one in csv.DictReader(archer.get(f"/trials/{trial}/report.csv").text.splitlines()) if one["shot_label"] == "A40")
    # 4 degrees are 0.0698132 rad.
    assert float(changed["yaw_rad"]) == pytest.approx(0.0698132, abs=1e-7)
    assert "A40" not in dict(told(archer, trial))["Yaw just before the hit"]
