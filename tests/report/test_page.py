"""The page as a file: one answer first, nothing from outside, nothing of the user's taken for markup."""

import re
from collections import Counter
from html.parser import HTMLParser

import jinja2
import pytest

from simstore.report.page.page import html_of
from simstore.report.page.templating import laying_out
from simstore.results.reading import read_result_folder


class Seen(HTMLParser):
    def __init__(self, text):
        super().__init__()
        self.tags = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def all(self, *tags):
        return [attrs for tag, attrs in self.tags if tag in tags]


@pytest.fixture(scope="module")
def seen(html):
    return Seen(html)


def test_names_from_the_scenario_are_never_markup(html, seen):
    assert "<script>alert" not in html
    assert "<img" not in html
    assert "<i>of</i>" not in html
    assert "&lt;script&gt;alert" in html
    assert len(seen.all("script")) == 1


def test_ids_are_unique(seen):
    ids = [attrs["id"] for _, attrs in seen.tags if "id" in attrs]

    assert [name for name, count in Counter(ids).items() if count > 1] == []
    assert len(ids) > 50


def test_every_link_within_the_page_leads_somewhere(seen):
    ids = {attrs["id"] for _, attrs in seen.tags if "id" in attrs}
    targets = {attrs["href"][1:] for attrs in seen.all("a") if attrs["href"].startswith("#")}

    assert targets
    assert targets <= ids
    assert all(attrs["href"].startswith("#") for attrs in seen.all("a"))


def test_nothing_is_asked_of_the_network(html, seen):
    # Names of markup languages are not addresses that anything asks for.
    rest = re.sub(r'xmlns(:\w+)?="[^"]*"', "", html)
    shown = re.sub(r"=HYPERLINK\(&#34;http://nowhere.invalid&#34;", "", rest)

    assert re.findall(r"https?://[^\s\"'<]+", shown) == []
    assert not any("src" in attrs for _, attrs in seen.tags)
    assert re.findall(r"url\((?!#)", html) == []
    assert "@import" not in html
    assert [attrs["href"] for attrs in seen.all("link")] == ["data:,"]


def test_there_is_one_first_heading_and_it_is_the_verdict(html, seen):
    assert len(seen.all("h1")) == 1
    heading = re.search(r"<h1[^>]*>(.*?)</h1>", html, re.DOTALL).group(1)
    assert re.match(r"The plan (holds|does not hold)|Too close to tell", heading)


def test_the_first_screen_answers_each_question(html):
    first = html[: html.index("<nav")]

    assert re.findall(r"<dt>([^<]*)</dt>", first) == ["To buy", "Hours and ovens", "Cost", "How sure"]
    assert "1\N{NO-BREAK SPACE}oven</strong>" in first
    assert "of 3 simulated years" in first


def test_every_table_has_a_caption_and_headings_with_a_scope(html, seen):
    tables = re.findall(r"<table.*?</table>", html, re.DOTALL)

    assert len(tables) > 10
    assert all("<caption" in table for table in tables)
    assert all(attrs.get("scope") in ("col", "row") for attrs in seen.all("th"))


def test_every_chart_is_labelled_and_has_its_data_as_a_table(html, seen):
    charts = seen.all("svg")
    figures = re.findall(r"<figure.*?</figure>", html, re.DOTALL)

    assert len(charts) == len(figures) >= 4
    assert all(attrs["role"] == "img" and len(attrs["aria-label"]) > 20 for attrs in charts)
    assert all("<details" in figure and "<table" in figure for figure in figures)


def test_each_plan_can_be_pointed_at_and_leads_to_its_row(html, seen):
    marks = [attrs for attrs in seen.all("a") if "mark" in attrs.get("class", "").split()]

    assert len(marks) == 4
    for mark in marks:
        assert re.search(rf'<tr id="{mark["href"][1:]}"', html)
        assert "a year" in mark["aria-label"]


def test_the_script_is_the_one_that_the_policy_names(html):
    import base64
    import hashlib

    script = re.search(r"<script>(.*?)</script>", html, re.DOTALL).group(1)
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()

    assert f"script-src 'sha256-{digest}'" in html
    assert "default-src 'none'" in html


def test_cautions_name_heat_dust_cobalt_and_defer_to_data_sheets(html):
    for words in (
        "Drying.",
        "Ovens left alone.",
        "Handling.",
        "cobalt dichloride",
        "H350i",
        "data sheet",
        "local rules",
    ):
        assert words in html


def test_what_is_not_modelled_is_said(html):
    assert "What is not modelled" in html
    assert "Corrosion itself." in html


def test_a_plan_that_was_not_simulated_is_refused_with_a_suggestion(results):
    with pytest.raises(Exception, match=r"no plan 'two_oven'; did you mean 'two_ovens'"):
        html_of(read_result_folder(results), plan="two_oven")


def test_a_template_that_lacks_a_value_is_an_error_and_not_a_gap():
    with pytest.raises(jinja2.UndefinedError):
        laying_out().from_string("{{ nowhere }}").render()


def test_the_same_results_give_the_same_page(results, html):
    assert html_of(read_result_folder(results), plan="two_ovens") == html
