"""The page as text: whole, self-contained, harmless, and with the study's figures in it."""

from __future__ import annotations

import copy
import json
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from conftest import ROOT, SCENARIOS, bare, demo_page, demo_study, plain_study

import finsolar
from finsolar.report.figures import bills_by_month
from finsolar.report.page import page
from finsolar.report.words import borrowing, changes_told
from finsolar.scenario.reading import from_text
from finsolar.uncertainty.other_numbers import with_other_numbers

EVIL = "</script><img src=x onerror=alert(1)><b>\"'&amp; \u202egnp.exe 🏠 =1+1"


def chart_data(text: str) -> dict[str, Any]:
    """The charts that a page holds."""
    found = re.search(r'<script type="application/json" id="chart-data">(.*?)</script>', text, re.S)
    assert found is not None
    data: dict[str, Any] = json.loads(found[1])
    return data


class Outline(HTMLParser):
    """Tags, ids and addresses of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.ids: list[str] = []
        self.addresses: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note what a tag brings in."""
        self.tags.append(tag)
        for name, value in attrs:
            if name == "id" and value:
                self.ids.append(value)
            if name in {"src", "href", "action", "data-src"} and value:
                self.addresses.append(value)


def outline(text: str) -> Outline:
    """Read a page."""
    parser = Outline()
    parser.feed(text)
    return parser


def test_the_page_fetches_nothing_and_points_only_into_itself(demo: Path) -> None:
    """No address leads away, every inner link has its target, every id is unique, size is under 3 MB."""
    text = demo_page(demo)
    found = outline(text)

    assert found.addresses and all(address.startswith("#") for address in found.addresses)
    assert {address[1:] for address in found.addresses} <= set(found.ids)
    assert len(found.ids) == len(set(found.ids))
    assert not {"img", "iframe", "link", "object", "embed", "base", "form"} & set(found.tags)
    assert len(text.encode()) < 3_000_000


def test_every_chart_is_a_figure_that_plotly_accepts_with_a_table_behind_it(demo: Path) -> None:
    """plotly.py's own validators look at each figure; the page has a place for each."""
    import plotly.graph_objects as go

    text = demo_page(demo)
    data = chart_data(text)

    assert {"running-totals", "cost-build-up", "bills-by-month", "energy-by-month", "rise-sweep"} <= set(data)
    for name, figure in data.items():
        go.Figure(data=figure["data"], layout=figure["layout"])
        assert text.count(f'data-chart="{name}"') == 1
        assert f'aria-describedby="{name}-alt"' in text
    assert text.count("The numbers behind this chart") == len(data)


def test_the_charts_hold_the_figures_of_the_study(juniper: dict[str, Any]) -> None:
    """The running totals drawn are those of the JSON, to the cent."""
    drawn = chart_data(page(juniper))["running-totals"]["data"]
    lines = [trace for trace in drawn if "fill" not in trace]

    for trace, plan in zip(lines, juniper["alternatives"], strict=True):
        assert trace["y"] == pytest.approx(plan["cash_flow"]["running_total"], abs=0.005)


def test_cost_bars_add_up_to_the_net_cost(demo: Path) -> None:
    """Nothing is left out of the build-up, nothing stands twice."""
    plain = plain_study(demo)
    drawn = chart_data(page(plain))["cost-build-up"]["data"]

    for i, plan in enumerate(plain["alternatives"]):
        assert sum(trace["x"][i] for trace in drawn) == pytest.approx(plan["costs"]["net"], abs=0.1)


def test_the_loan_chart_sets_payments_beside_what_comes_in_before_them(juniper: dict[str, Any]) -> None:
    """Its line is the net of the year without the lines of the loan."""
    data = chart_data(page(juniper))
    [(place, plan)] = [(i, p) for i, p in enumerate(juniper["alternatives"]) if p["loan"] is not None]
    payments, before = data[f"loan-{place}"]["data"]
    flow = plan["cash_flow"]

    loan = [flow["lines"][name] for name in ("loan received", "loan fee", "loan payments")]
    expected = [net - sum(line[year] for line in loan) for year, net in enumerate(flow["net"])]
    assert before["y"] == pytest.approx(expected[1:], abs=0.005)
    assert payments["x"] == list(range(1, 11))
    assert payments["y"] == pytest.approx([-paid for paid in flow["lines"]["loan payments"][1:11]], abs=0.005)
    assert not any(flow["lines"]["loan payments"][11:])


@pytest.mark.parametrize(
    ("bills", "names"),
    [
        ([1.0, 1.0, 1.0], ["With the system"]),
        ([1.0, 2.0, 1.0], ["Own labour and Contractor on a ten-year loan", "Contractor"]),
        ([1.0, 2.0, 3.0], ["Own labour", "Contractor", "Contractor on a ten-year loan"]),
        ([2.0, 1.0, 1.0], ["Own labour", "Contractor and Contractor on a ten-year loan"]),
    ],
)
def test_alternatives_with_one_bill_share_its_bars(
    juniper: dict[str, Any], bills: list[float], names: list[str]
) -> None:
    """Wherever in the list they stand."""
    plain = copy.deepcopy(juniper)
    for plan, share in zip(plain["alternatives"], bills, strict=True):
        months = plan["bills"]["after"]["first_year_total_by_month"]
        plan["bills"]["after"]["first_year_total_by_month"] = [share * month for month in months]

    chart = bills_by_month(plain)

    assert chart.table.head == ["Month", "Stay as you are", *names]
    assert len(chart.data) == 1 + len(names)
    assert chart.data[0]["y"] == pytest.approx(juniper["stay"]["bill"]["first_year_total_by_month"], abs=0.005)


def test_the_yearly_table_foots(juniper: dict[str, Any]) -> None:
    """Cautions, sections and the year-by-year table are there, and the table has a row for each year."""
    text = page(juniper)

    for heading in (
        "The short answer", "What it costs", "Incentives, granted and refused", "What it saves", "Year by year",
        "What would change the answer", "Borrowing", "Assumptions and sources", "Cautions",
    ):  # fmt: skip
        assert f">{heading}</h2>" in text
    flow = re.search(r'aria-label="Cash flow of Own labour">.*?</table>', text, re.S)
    assert flow is not None
    assert flow[0].count('<th scope="row">') == 26 + 1
    assert "licensed electrician" in text and "tax adviser" in text


def test_the_bill_by_parts_adds_up_in_the_cents_that_are_printed(juniper: dict[str, Any]) -> None:
    """36.5 cents, twice, less 10.6: 0.37 + 0.37 - 0.11 is 0.63 as printed, while the unrounded parts make 0.624."""
    plain = copy.deepcopy(juniper)
    for bill in (plain["stay"]["bill"], *(plan["bills"]["after"] for plan in plain["alternatives"])):
        bill["by_year"] = {"fixed charge": [0.365], "energy": [0.0], "taxes": [0.365], "export credit": [-0.106]}
        bill["total_by_year"] = [0.624]
    table = re.search(r'aria-label="Bill by part, first year">.*?</table>', bare(page(plain)), re.S)
    assert table is not None
    rows = re.findall(r"<tr>.*?</tr>", table[0].replace("\N{WORD JOINER}", ""), re.S)[1:]
    amounts = [re.findall(r"<td>(.*?)</td>", row) for row in rows]
    assert [set(row) for row in amounts] == [{"$0.37"}, {"$0.00"}, {"$0.37"}, {"−$0.11"}, {"$0.63"}]
    assert all(len(row) == 1 + len(plain["alternatives"]) for row in amounts)


HERON = ROOT / "scenarios" / "heron-landing.yaml"
MILD = ["x" * 10_000, "{{ 7 * 7 }}{% raw %}", "$x^2$ <sub>1</sub>"]


@pytest.mark.parametrize(
    ("demo", "text"),
    [*((demo, EVIL) for demo in SCENARIOS), *((HERON, text) for text in MILD)],
    ids=[*(f"{demo.stem}-evil" for demo in SCENARIOS), "long", "template", "chart markup"],
)
def test_text_of_a_scenario_is_shown_and_never_obeyed(demo: Path, text: str) -> None:
    """Markup, script, template and chart markup in every free text stay text; the worst of it on every page."""
    source = demo.read_text()
    title = re.search(r"^title: (.*)$", source, re.M)
    assert title is not None
    quoted = json.dumps(text, ensure_ascii=False)
    source = source.replace(f"title: {title[1]}", f"title: {quoted}")
    source = re.sub(r"^note: .*$", lambda _: f"note: {quoted}", source, flags=re.M)
    source = re.sub(r"item: ([^,]+),", lambda m: f"item: {json.dumps(m[1] + text, ensure_ascii=False)},", source)
    source = re.sub(
        r"without: \[(.*)\]",
        lambda m: (
            "without: [" + ", ".join(json.dumps(name + text, ensure_ascii=False) for name in m[1].split(", ")) + "]"
        ),
        source,
    )
    source = re.sub(
        r"(  - name|    like): (.*)", lambda m: f"{m[1]}: {json.dumps(m[2] + text, ensure_ascii=False)}", source
    )
    # Names decide no hour.
    study = finsolar.study(from_text(source, folder=demo.parent), reuse=demo_study(demo))
    plain = with_other_numbers(study).to_json()

    shown = page(plain)

    assert plain["scenario"]["title"] == text
    tags = outline(shown).tags
    assert tags.count("script") == demo_page(demo).count("<script")
    assert not {"img", "sub", "b"} & set(tags)
    assert "49" not in re.findall(r"<h1><bdi>(.*?)</bdi>", shown, re.S)[0]
    for figure in chart_data(shown).values():
        for trace in figure["data"]:
            assert "<" not in str(trace["name"])
        for label in figure["layout"].get("yaxis", {}).get("ticktext", []):
            assert "<" not in label.replace("<br>", "")


def test_a_house_without_load_and_names_that_shorten_alike_are_drawn(juniper: dict[str, Any]) -> None:
    """No division by a load of nothing, and a bar of its own for each alternative."""
    text = (ROOT / "scenarios" / "juniper-lane.yaml").read_text()
    text = re.sub(r"monthly_kwh: .*", "monthly_kwh: [0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]", text)
    long = "Installation by a licensed contractor, paid for at once by "
    text = text.replace("name: Own labour", f"name: '{long}cash'").replace(
        "name: Contractor on", f"name: '{long}loan' #"
    )
    plain = finsolar.study(from_text(text)).to_json()

    drawn = chart_data(page(plain))["cost-build-up"]["data"]

    assert all(len(set(trace["y"])) == len(plain["alternatives"]) for trace in drawn)


def test_a_battery_keeps_the_colour_of_its_alternative() -> None:
    """In every chart the same line for the same name; batteries that age alike share one and both names."""
    plain = copy.deepcopy(plain_study(ROOT / "scenarios" / "prairie-bend.yaml"))
    data = chart_data(page(plain))
    of_totals = {
        trace["name"]: trace["line"]["color"] for trace in data["running-totals"]["data"] if "fill" not in trace
    }
    batteries = data["battery-by-year"]["data"]

    assert {trace["name"]: trace["line"]["color"] for trace in batteries} == {
        name: colour for name, colour in of_totals.items() if name != "Without a battery"
    }
    first, second, *_ = plain["alternatives"]
    second["energy"]["battery_capacity"] = list(first["energy"]["battery_capacity"])
    names = [trace["name"] for trace in chart_data(page(plain))["battery-by-year"]["data"]]
    assert names == [f"{first['name']} and {second['name']}", "Kept full for outages"]


def test_the_spread_by_sunlight_has_its_section_and_the_bound_waits_to_be_asked_for() -> None:
    """Reached from the list at the top, as the others are."""
    text = demo_page(ROOT / "scenarios" / "prairie-bend.yaml")

    assert ">How sure is this</h2>" in text
    assert 'href="#sure"' in text.partition("</nav>")[0]
    assert "perfect foresight" not in text


def section_of_incentives(plain: dict[str, Any]) -> str:
    """The part of the page that tells what is granted and refused."""
    found = re.search(r'<section id="incentives".*?</section>', bare(page(plain)), re.S)
    assert found is not None
    return found[0]


def test_every_rule_stands_in_the_table_at_a_glance_and_refusals_are_told_in_short(juniper: dict[str, Any]) -> None:
    """A row a rule, an answer an alternative; what all are refused has no table of its own."""
    text = section_of_incentives(juniper)
    plans = juniper["alternatives"]

    glance = re.search(r'<table class="glance">.*?</table>', text, re.S)
    assert glance is not None
    for award in plans[0]["incentives"]:
        assert award["status"] == "refused"
    assert glance[0].count('<td class="refused">') == len(plans) * len(plans[0]["incentives"])
    assert ">Refused to all alternatives</h3>" in text
    assert "What each alternative is granted" not in text
    assert "ended on 31 December 2025" in text and 'data-chart="awards-by-day"' in text


def test_a_granted_a_taxed_and_a_merely_worthwhile_award_are_told_apart(juniper: dict[str, Any]) -> None:
    """Columns follow the kind: tax where there is some, and worth where it is no money."""
    plain = copy.deepcopy(juniper)
    blank = plain["alternatives"][0]["incentives"][0] | {"lines": [], "ledger": [], "basis": 0.0, "potential": 0.0}
    years = [0.0] * (plain["settings"]["years"] + 1)
    paid = blank | {
        "rule": "x/paid", "title": "Meadow payment", "kind": "performance payment", "status": "granted",
        "upfront": False, "amounts": [0.0, 50.0, 50.0, *years[3:]], "tax": [0.0, -11.0, -11.0, *years[3:]],
        "ledger": [{"step": "generation of year 1", "amount": 8123.0, "unit": "kWh"}],
    }  # fmt: skip
    loan = blank | {"rule": "x/loan", "title": "Heath loan", "kind": "below-market loan", "status": "granted",
                    "worth": 1234.0}  # fmt: skip
    for plan in plain["alternatives"]:
        plan["incentives"] = [blank, loan, paid]
        plan["costs"]["yearly_awards"] = 100.0

    text = section_of_incentives(plain)
    payment = text.partition(">Meadow payment</bdi></h3>")[2].partition("<h3>")[0]
    cheap = text.partition(">Heath loan</bdi></h3>")[2].partition("<h3>")[0]

    assert "Credit before the tax owed limits it" not in text
    assert ">Income tax on it</th>" in payment and "−\N{WORD JOINER}$22.00" in payment
    assert ">8,123 kWh</td>" in payment and ">years 1 and 2 (2027 to 2028)</td>" in payment
    assert ">Worth, not counted</th>" in cheap and "$1,234.00" in cheap and ">Received in all</th>" not in cheap
    assert "worth $1,234, not counted" in text and ">All that is paid year by year</th><td>$100</td>" in text


def test_words_of_a_rule_are_shown_and_never_obeyed(juniper: dict[str, Any]) -> None:
    """A rule may come with the scenario, so its title, reasons and reference are text like any other."""
    plain = copy.deepcopy(juniper)
    for plan in plain["alternatives"]:
        for award in plan["incentives"]:
            award |= {"title": EVIL, "reasons": [EVIL], "reference": EVIL}
        for cliff in plan["slip"]["cliffs"]:
            cliff["title"] = EVIL

    shown = page(plain)

    assert plain["alternatives"][0]["slip"]["cliffs"]
    tags = outline(shown).tags
    assert tags.count("script") == page(juniper).count("<script")
    assert not {"img", "b"} & set(tags)
    for note in chart_data(shown)["awards-by-day"]["layout"]["annotations"]:
        assert "<" not in note["text"].replace("<br>", "")


def test_where_no_rule_or_no_change_is_known_words_say_so(juniper: dict[str, Any]) -> None:
    """No empty table, no empty chart."""
    plain = copy.deepcopy(juniper)
    for plan in plain["alternatives"]:
        plan["slip"] |= {"cliffs": [], "next": None}
    still = section_of_incentives(plain)
    assert "months later, no rule known here would give these alternatives more or less" in still
    assert "data-chart" not in still

    for plan in plain["alternatives"]:
        plan["incentives"] = []
    none = section_of_incentives(plain)
    assert "No rule of this place is known here" in none
    assert "<table" not in none and "What if the date slips?" not in none


def test_the_lenders_view_stands_under_borrowing(juniper: dict[str, Any]) -> None:
    """Sentence, table, coverage of each year with payments, twelve months, and what counts as there to pay from."""
    text = bare(page(juniper)).partition('<section id="borrowing"')[2].partition("</section>")[0]
    plan = next(plan for plan in juniper["alternatives"] if plan["loan"])

    assert borrowing.lender_sentence(plan, "USD") in text
    for name, figure in borrowing.lender_rows(plan, "USD"):
        assert f'<th scope="row">{name}</th><td>{figure}</td>' in text
    owed = text.partition("The loan by year")[2].partition("</table>")[0]
    assert owed.count('<th scope="row">') == 10
    years = text.partition("Debt service coverage by year")[2].partition("</table>")[0]
    assert [f"<td>{ratio:.2f}</td>" in years for ratio in plan["loan"]["coverage"]["by_year"][1:11]] == [True] * 10
    assert years.count('<th scope="row">') == 10
    months = text.partition("Payment against saving by month")[2].partition("</table>")[0]
    assert months.count('<th scope="row">') == 12
    assert "a tax credit counts in the year it arrives" in text
    assert "No answer: no end of a warranty is known." in text


def test_the_order_of_the_alternatives_and_its_reason_are_on_the_page(demo: Path) -> None:
    """With a row for each, a sentence for each two and each of their own hours, and the question of the quote."""
    from html import unescape

    from finsolar.report.words import compared

    plain = plain_study(demo)
    text = unescape(demo_page(demo))

    assert plain["comparison"]["ranking_reason"] in text
    for row in [*compared.ranking_rows(plain), *compared.pair_rows(plain)]:
        cells = "".join(f"<td>{cell}</td>" for cell in row[1:])
        assert f'<th scope="row"><bdi>{row[0]}</bdi></th>{cells}' in text
    level, pairs = compared.drawing_level(plain), compared.pair_sentences(plain)
    best = changes_told.best_of(plain)["name"]
    assert all(best in told for told in [*level.best, *pairs.best])
    assert not any(f"“{best}”" in told for told in [*level.others, *pairs.others])
    assert len(pairs.best) == len(plain["alternatives"]) - 1
    for told in [*compared.own_hours_sentences(plain), *level.best, *level.others, *pairs.best, *pairs.others]:
        assert f"<li>{told}</li>" in text
