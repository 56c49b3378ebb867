"""Rule files are complete, dated, sourced and sorted; a faulty one is refused with words that help."""

import re
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import fields
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any, get_args, get_origin

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

import finsolar.incentives
from finsolar.incentives.law import KINDS, Band, Dated, Ended, NotYet, Rule, Source, Term, Unknown, Value
from finsolar.incentives.rulebook import (
    RuleError,
    all_rules,
    check_links,
    find_rule,
    load_rules,
    parse_rule,
    rule_from,
)
from finsolar.incentives.ruleterms import TERMS
from finsolar.incentives.rulevalues import BANDED, LASTING, SORTS
from finsolar.scenario.outlay import Category

HERE = Path(__file__).parent
BROKEN = sorted((HERE / "broken").glob("*.yaml"))
RULES = Path(finsolar.incentives.__file__).parent / "rules"
FILES = sorted(RULES.rglob("*.yaml"))

LANTERN = (HERE / "lantern-county-battery-credit.yaml").read_text(encoding="utf-8")

FEDERAL = "us/residential-clean-energy-credit"

HEAD = "{title: Lantern, currency: USD, reference: County Code 20, checked_on: 2026-02-11, event: purchase}"
SAID = "because: The code says so., known: seen, reference: County Code 20.1"
LINES = f"[{{categories: [modules, labour], counted: true, {SAID}}}]"

# One small invented rule of each kind beside the tax credit: its parameters, terms and lines.
OF_KIND = {
    "tax deduction": (
        {"yearly_shares": "[40%, 20%, 20%, 20%]", "yearly_cap": "5000"},
        {"against": "state income tax", "lowered_by": "[price reductions, grants]", "lines": LINES},
    ),
    "upfront rebate": (
        {
            "per_kw": "[{up_to: 5, value: 400}, {up_to: no limit, value: 200}]",
            "fixed": "150",
            "cap_share_of_cost": "50%",
        },
        {"lowers_price": "true", "taxable": "yes", "arrives_in_year": "1", "first_come": "true", "lines": LINES},
    ),
    "performance payment": (
        {"per_mwh": "85", "term_years": "20", "yearly_step_down": "1%"},
        {"paid_on": "export", "to_year_end": "true", "taxable": "household decides"},
    ),
    "metered certificates": ({"kwh_each": "1000", "term_years": "no limit", "floor_price": "12"}, {"taxable": "no"}),
    "deemed certificates": (
        {
            "factor": "9.3",
            "weights": "[{up_to: 14, value: 100%}, {up_to: no limit, value: 0.6}]",
            "cap_size": "50",
            "fee_each": "1",
            "price_each": "38",
        },
        {"lowers_price": "false", "size": "battery kwh", "zones": "{1: 1.622, inland: 1.382}"},
    ),
    "sales tax relief": ({"rate_left": "0%"}, {"lines": LINES}),
    "property tax relief": ({"exempt_share": "100%", "term_years": "15"}, {"excludes": "[lantern/other]"}),
    "capacity payment": ({"per_kw": "225", "events": "60", "event_hours": "2.5", "term_years": "5"}, {}),
    "below-market loan": ({"rate": "0", "term_years": "10", "cap": "40000", "smallest": "5000", "fee": "2%"}, {}),
    "income tax exemption": ({"ceiling_kw": "no limit"}, {"exempts": "[payments]"}),
    "owner's credit": ({"share": "30%"}, {}),
}


def of_kind(kind: str, *, without: str = "") -> str:
    """Return the text of the small rule of a kind, one of its fields left out."""
    parameters, terms = OF_KIND[kind]
    text = HEAD.strip("{}").replace(", ", "\n") + f'\nkind: "{kind}"\nparameters:\n'
    for name, value in parameters.items():
        if name != without:
            text += f"  {name}: {{unit: as told, values: {{2024-01-01: {{value: {value}, {SAID}}}}}}}\n"
    for name, value in terms.items():
        if name != without:
            text += f"{name}: {value if name == 'lines' else f'{{value: {value}, {SAID}}}'}\n"
    return text


def named(path: Path) -> str:
    """Return the id of a rule file for the list of tests."""
    return path.relative_to(RULES).as_posix()


@cache
def read(path: Path) -> Rule:
    """Return the rule of one of our own files."""
    return parse_rule(path.read_text(encoding="utf-8"), named(path))


def said_of(text: str, name: str = "rule.yaml") -> list[str]:
    """Return the messages about a faulty rule."""
    with pytest.raises(RuleError) as error:
        parse_rule(text, name)
    return str(error.value).splitlines()


def plain(text: str) -> Any:
    """Return a YAML text as Python sees it: days are dates, whole numbers are ints, also among the names."""
    return YAML(typ="safe", pure=True).load(text)


# What is refused


@pytest.mark.parametrize("path", BROKEN, ids=lambda path: path.stem)
def test_a_broken_file_is_refused_with_its_place_and_the_mend(path: Path) -> None:
    """Each broken file, named for its fault, is told just what its first comments say: line, field, words."""
    text = path.read_text(encoding="utf-8")
    expected = [line.removeprefix("# ") for line in text.splitlines() if re.match(r"# \d+: ", line)]

    said = said_of(text, path.name)

    assert expected
    assert len(said) == len(expected), said
    for message, words in zip(said, expected, strict=True):
        assert message.startswith(f"{path.name}:{words}")
        assert "; " in message


def test_there_are_broken_files() -> None:
    """The test over all broken files has something to go over."""
    assert {"share_above_one", "cap_later_than_share", "credit_of_itself"} <= {path.stem for path in BROKEN}


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_asks_for_what_it_needs(kind: str) -> None:
    """A parameter or a term that a kind needs is asked for by name."""
    text = LANTERN if kind == "tax credit" else of_kind(kind)
    needed = [*KINDS[kind].needed, *(name for name, term in TERMS.items() if term.needed and kind in term.kinds)]

    for name in needed:
        short = re.sub(rf"(?m)^ *{name}: .*\n", "", text)
        assert short != text
        [message] = said_of(short)
        field = f"parameters.{name}" if name in SORTS else name
        assert f"{field}: is missing, and this kind of rule, '{kind}', needs it" in message
    leading = [name for name in KINDS[kind].leading if f"\n  {name}:" in text]
    assert leading


@pytest.mark.parametrize("kind", sorted(OF_KIND))
def test_a_kind_takes_no_term_of_others(kind: str) -> None:
    """Every term that is not of the kind is refused, whatever it says."""
    for name, term in TERMS.items():
        if kind not in term.kinds:
            [message] = said_of(of_kind(kind) + f"{name}: {{value: true, {SAID}}}\n")
            assert f"{name}: is no term of this kind of rule, '{kind}'" in message


@pytest.mark.parametrize("name", sorted(SORTS))
def test_only_a_few_amounts_may_be_zero_and_shares_stay_below_one(name: str) -> None:
    """Zero is an end in disguise, but for a tax rate, an interest rate or a fee; 101 % is a slip."""
    kind = next(kind for kind, sort in KINDS.items() if name in {*sort.leading, *sort.needed, *sort.allowed})

    def said(value: str) -> list[str]:
        faults = said_of(
            f'kind: "{kind}"\nparameters: {{{name}: {{unit: u, values: {{2024-01-01: {{value: {value}}}}}}}}}'
        )
        return [fault for fault in faults if f"parameters.{name}.values.2024-01-01.value: " in fault]

    assert bool(said("0")) == (name not in {"rate_left", "rate", "fee"})
    assert bool(said("101%"))
    assert bool(said("101")) == SORTS[name].share
    assert bool(said("no limit")) == (name not in LASTING and name != "ceiling_kw")


@pytest.mark.parametrize("kind", KINDS)
def test_only_some_amounts_change_with_size(kind: str) -> None:
    """Bands are read where a rule may have them, and refused anywhere else."""
    for name in (*KINDS[kind].leading, *KINDS[kind].needed, *KINDS[kind].allowed):
        bands = "{unit: u, values: {2024-01-01: {value: [{up_to: 1, value: 1}, {up_to: no limit, value: 1}]}}}"
        faults = said_of(f'kind: "{kind}"\nparameters: {{{name}: {bands}}}')
        refused = [fault for fault in faults if f"parameters.{name}.values.2024-01-01.value" in fault]
        assert bool(refused) == (name not in BANDED.get(kind, ()))


ODD = [
    None, "", [], {}, 0, -1, 10**30, float("nan"), float("inf"), True, "no limit", "ended", "unknown", "30%", "٣%",
    date(1, 1, 1), "9999-12-31", "2026-02-30", ["x"], [None], [{"up_to": 1, "value": 2}], {1: 2}, {None: 1}, b"x",
    "battery",
]  # fmt: skip

TEXTS = [LANTERN, *map(of_kind, OF_KIND)]


def places(data: Any) -> Iterator[tuple[Any, Any]]:
    """Yield every container of a tree with a key or place in it."""
    if isinstance(data, dict | list):
        for key in list(data) if isinstance(data, dict) else range(len(data)):
            yield data, key
            yield from places(data[key])


@given(which=st.sampled_from(TEXTS), where=st.integers(0, 10_000), odd=st.sampled_from(ODD), drop=st.booleans())
def test_whatever_stands_in_a_rule_the_answer_is_a_rule_or_its_faults(
    which: str, where: int, odd: Any, drop: bool
) -> None:
    """No value, wherever it is put, ends in anything but a rule or a list of faults, one for each field."""
    data = plain(which)
    spots = list(places(data))
    block, key = spots[where % len(spots)]
    if drop:
        del block[key]
    else:
        block[key] = deepcopy(odd)
    try:
        rule = rule_from(data, "lantern/rule", "rule.yaml", lambda path: len(path))
    except RuleError as error:
        told = [problem.field for problem in error.problems]
        assert told
        assert len(set(told)) == len(told)
    else:
        assert rule.leading.entries


# What is read


@pytest.mark.parametrize("kind", sorted(OF_KIND))
def test_a_rule_of_each_kind_is_read(kind: str) -> None:
    """Every parameter and term of a small rule arrives in its record."""
    parameters, terms = OF_KIND[kind]
    rule = parse_rule(of_kind(kind), "lantern/rule.yaml")

    assert (rule.id, rule.kind, rule.file) == ("lantern/rule", kind, "lantern/rule.yaml")
    assert (rule.event, rule.currency, rule.checked_on) == ("purchase", "USD", date(2026, 2, 11))
    assert set(rule.parameters) == set(parameters)
    assert rule.lead in KINDS[kind].leading
    assert {name for name in TERMS if getattr(rule, name) is not None} == set(terms) - {"lines"}
    assert [test.categories for test in rule.lines] == ([("modules", "labour")] if "lines" in terms else [])


def test_the_values_of_terms_and_amounts_are_read() -> None:
    """Spot checks of every sort of value, written out by hand."""
    inf = float("inf")
    day = date(2026, 1, 1)
    rules = {kind: parse_rule(of_kind(kind), "lantern/rule.yaml") for kind in OF_KIND}

    def value(kind: str, name: str) -> Any:
        return rules[kind].parameters[name].value_at(day).amount

    def term(kind: str, name: str) -> Any:
        return getattr(rules[kind], name).value

    assert value("tax deduction", "yearly_shares") == (0.4, 0.2, 0.2, 0.2)
    assert value("upfront rebate", "per_kw") == (Band(5, 400), Band(inf, 200))
    assert value("deemed certificates", "weights") == (Band(14, 1.0), Band(inf, 0.6))
    assert value("metered certificates", "term_years") == inf
    assert value("sales tax relief", "rate_left") == 0.0
    assert value("below-market loan", "rate") == 0.0
    assert value("below-market loan", "fee") == 0.02
    assert term("tax deduction", "lowered_by") == ("price reductions", "grants")
    assert term("deemed certificates", "zones") == {"1": 1.622, "inland": 1.382}
    assert term("deemed certificates", "lowers_price") is False
    assert term("upfront rebate", "arrives_in_year") == 1
    assert term("performance payment", "to_year_end") is True
    assert term("income tax exemption", "exempts") == ("payments",)
    assert term("property tax relief", "excludes") == ("lantern/other",)


@pytest.mark.parametrize(("written", "meant"), [("true", "yes"), ("false", "no"), ("elective", "elective")])
def test_a_refund_is_read_in_three_words(written: str, meant: str) -> None:
    """True, false, or the household's choice, which may cost a share."""
    text = LANTERN.replace("refundable: {value: false,", f"refundable: {{value: {written},")
    rule = parse_rule(text, "lantern.yaml")
    chosen = parse_rule(LANTERN.replace("{value: false,", "{value: elective, haircut: 30%,"), "lantern.yaml")

    assert (rule.refundable and rule.refundable.value, rule.haircut) == (meant, 0.0)
    assert (chosen.refundable and chosen.refundable.value, chosen.haircut) == ("elective", 0.3)


def test_a_credit_of_another_credit_has_no_lines() -> None:
    """Its basis is the other credit; a yearly cap says what becomes of the rest."""
    text = re.sub(r"(?s)lowered_by:.*(?=conditions:)", f"credit_of: {{value: {FEDERAL}, {SAID}}}\n", LANTERN)
    text = text.replace("  cap:", "  yearly_cap:") + f"over_yearly_cap: {{value: carried, {SAID}}}\n"
    rule = parse_rule(text, "lantern.yaml")

    assert rule.credit_of is not None
    assert rule.credit_of.value == FEDERAL
    assert rule.over_yearly_cap is not None
    assert rule.over_yearly_cap.value == "carried"
    assert rule.lines == ()


def test_conditions_with_numbers_and_days_are_read() -> None:
    """Both limits, both days, and notes."""
    condition = "needs: income, at_least: 0, at_most: 90000, since: 2025-01-01, until: 2026-12-31"
    text = LANTERN.replace("needs: lives there", condition) + "notes: [The county may ask for a bill., Keep it.]\n"
    rule = parse_rule(text, "lantern.yaml")
    [read_back] = rule.conditions

    assert (read_back.needs, read_back.at_least, read_back.at_most) == ("income", 0, 90000)
    assert (read_back.since, read_back.until) == (date(2025, 1, 1), date(2026, 12, 31))
    assert rule.notes == ("The county may ask for a bill.", "Keep it.")
    assert {date(2025, 1, 1), date(2027, 1, 1)} <= set(rule.changes())


def test_percent_number_and_no_limit_are_read() -> None:
    """`22.5%` is 0.225, a plain number stays, and `no limit` is infinity."""
    limited = parse_rule(LANTERN, "lantern.yaml").parameters
    free = parse_rule(LANTERN.replace("{value: 900,", "{value: no limit,"), "lantern.yaml").parameters
    bare = parse_rule(LANTERN.replace("{value: 20%", "{value: 0.2"), "lantern.yaml").parameters

    assert limited["share"].value_at(date(2026, 6, 30)).amount == 0.2
    assert limited["share"].value_at(date(2026, 7, 1)).amount == 0.225
    assert bare["share"] == limited["share"]
    assert limited["cap"].value_at(date(2026, 1, 1)).amount == 900
    assert free["cap"].value_at(date(2026, 1, 1)).amount == float("inf")


def test_every_day_has_its_answer() -> None:
    """Before the first value, between two, unknown, in force again, and ended."""
    unknown = f"2027-01-01: {{value: unknown, {SAID}}}\n      2027-06-01: {{value: 10%, {SAID}}}\n      2028-01-01"
    rule = parse_rule(LANTERN.replace("2028-01-01", unknown), "lantern.yaml")
    share = rule.parameters["share"]

    assert share.at(date(2023, 12, 31)) == NotYet(date(2024, 1, 1))
    assert share.value_at(date(2025, 6, 1)).amount == 0.2
    assert isinstance(share.at(date(2027, 1, 1)), Unknown)
    assert isinstance(share.at(date(2027, 5, 31)), Unknown)
    assert share.value_at(date(2027, 6, 1)).amount == 0.1
    assert isinstance(share.at(date(2028, 1, 1)), Ended)
    assert rule.value("share", date(2027, 1, 1)) is None
    with pytest.raises(LookupError, match="2027-01-01"):
        share.value_at(date(2027, 1, 1))


def test_what_is_known_may_begin_after_the_law_does() -> None:
    """A schedule whose first years are not known here begins with `unknown`, not with a day too late."""
    rule = parse_rule(LANTERN.replace("{value: 20%", "{because: Not looked up., value: unknown"), "lantern.yaml")

    assert isinstance(rule.leading.at(date(2024, 1, 1)), Unknown)


@given(
    starts=st.lists(st.dates(date(1900, 1, 1), date(2100, 12, 31)), min_size=1, max_size=6, unique=True),
    permille=st.integers(1, 1000),
    percent_sign=st.booleans(),
    quoted=st.booleans(),
)
def test_what_is_written_is_what_is_read(starts: list[date], permille: int, percent_sign: bool, quoted: bool) -> None:
    """Days and shares survive being written and read, with or without quotes and percent signs."""
    share = f"{permille / 10}%" if percent_sign else f"{permille / 1000}"
    mark = '"' if quoted else ""
    values = [f"      {mark}{day}{mark}: {{value: {share}, {SAID}}}\n" for day in sorted(starts)]
    text = of_kind("owner's credit", without="share") + "  share:\n    unit: u\n    values:\n" + "".join(values)

    found = parse_rule(text, "lantern.yaml").parameters["share"].entries

    assert [entry.start for entry in found] == sorted(starts)
    assert all(isinstance(entry, Value) and abs(entry.number - permille / 1000) < 1e-12 for entry in found)


def test_a_rule_within_a_scenario_is_checked_as_a_file_is() -> None:
    """The same words for the same faults, under the scenario's name and at its lines."""
    data = plain(LANTERN)
    data["id"] = "lantern/battery"
    rule = rule_from(data, "lantern/battery", "house.yaml", lambda _: 40)

    assert (rule.id, rule.file) == ("lantern/battery", "house.yaml")
    assert rule.parameters == parse_rule(LANTERN, "lantern.yaml").parameters

    data["lines"][1]["categories"] = ["rooof"]
    del data["conditions"][0]["known"]
    lines = {("conditions", 0, "known"): 43, ("lines", 1, "categories", 0): 44}
    with pytest.raises(RuleError) as error:
        rule_from(data, "lantern/battery", "house.yaml", lines.__getitem__)

    assert str(error.value).splitlines() == [
        "house.yaml:43: conditions[1].known: is missing; add `known:` to this block",
        "house.yaml:44: lines[2].categories[1]: is 'rooof'; did you mean 'roof'?",
    ]
    assert [problem.field for problem in error.value.problems] == ["conditions[1].known", "lines[2].categories[1]"]


@pytest.mark.parametrize("word", ["grants", "payments", "price reductions"])
def test_a_rule_is_not_called_like_a_word_of_rules(word: str) -> None:
    """Its name could not be told from the word."""
    with pytest.raises(RuleError, match=f"id: is '{word}'"):
        parse_rule(LANTERN, "lantern.yaml", word)


def test_every_parameter_has_a_sort_and_every_term_a_field() -> None:
    """Readers and records name the same things."""
    of_kinds = {name for kind in KINDS.values() for name in (*kind.leading, *kind.needed, *kind.allowed)}
    of_rules = {field.name for field in fields(Rule) if Term in map(get_origin, get_args(field.type))}

    assert set(SORTS) == of_kinds
    assert set(TERMS) == of_rules


# The rules that are shipped


def test_there_are_rule_files() -> None:
    """The tests over all rule files have something to go over."""
    assert f"{FEDERAL}.yaml" in map(named, FILES)


@pytest.mark.parametrize("path", FILES, ids=named)
def test_a_rule_is_found_under_the_place_it_belongs_to(path: Path) -> None:
    """A file in rules/us/ is a rule of the US, one in rules/us/nc/ a rule of North Carolina."""
    country, *region = path.relative_to(RULES).parent.parts
    rule = read(path)

    assert rule in load_rules(country.upper(), *region)
    assert rule == find_rule(named(path).removesuffix(".yaml"))
    assert rule.id == named(path).removesuffix(".yaml")


@pytest.mark.parametrize("path", FILES, ids=named)
def test_every_value_is_dated_sorted_and_sourced(path: Path) -> None:
    """Every value names its reference and how it is known, and starts after the one before it."""
    rule = read(path)

    for parameter in rule.parameters.values():
        starts = [entry.start for entry in parameter.entries]
        assert sorted(set(starts)) == starts
    sources = [entry.source for parameter in rule.parameters.values() for entry in parameter.entries]
    sources += [term.source for name in TERMS if (term := getattr(rule, name)) is not None]
    sources += [test.source for test in rule.lines] + [condition.source for condition in rule.conditions]
    assert {source.known for source in sources} <= {"seen", "memory"}
    assert all(len(source.reference) >= 5 for source in sources)


@pytest.mark.parametrize("path", FILES, ids=named)
def test_every_rule_begins_and_a_day_before_it_is_not_yet(path: Path) -> None:
    """The first day of a rule is no end; the day before is "not yet"; every later entry is found on its day."""
    for parameter in read(path).parameters.values():
        first = parameter.entries[0].start
        assert not isinstance(parameter.at(first), Ended | NotYet)
        assert parameter.at(first - timedelta(days=1)) == NotYet(first)
        for entry in parameter.entries:
            assert parameter.at(entry.start) == entry


@pytest.mark.parametrize("path", FILES, ids=named)
def test_every_rule_about_cost_speaks_of_every_category(path: Path) -> None:
    """A cost line of any category a scenario may use meets a stated verdict, and no verdict is unused."""
    told = sorted(category for test in read(path).lines for category in test.categories)

    assert told in ([], sorted(get_args(Category)))


@pytest.mark.parametrize("path", FILES, ids=named)
def test_a_rule_is_the_same_from_its_text_and_from_a_mapping(path: Path) -> None:
    """Days that YAML turns into dates, and names it turns into numbers, change nothing."""
    text = path.read_text(encoding="utf-8")

    assert rule_from(plain(text), named(path).removesuffix(".yaml"), named(path), lambda _: 1) == read(path)


def test_all_rules_are_those_of_all_files() -> None:
    """One rule a file, in order of their ids, and no name in them leads nowhere or in a circle."""
    rules = all_rules()

    assert [rule.id for rule in rules] == sorted(named(path).removesuffix(".yaml") for path in FILES)
    assert check_links(rules) == []


def test_a_rule_that_is_not_there_is_answered_with_the_nearest() -> None:
    """A slip of the pen is met with the id that was meant."""
    with pytest.raises(LookupError, match=f"no rule 'us/residential-clean-energy-credits'; did you mean '{FEDERAL}'"):
        find_rule("us/residential-clean-energy-credits")
    with pytest.raises(LookupError, match=r"no rule '\.\./law'"):
        find_rule("../law")


def test_the_federal_credit_ended_with_2025() -> None:
    """30 % on the last day of 2025; from the next day an end with the law that made it."""
    rule = find_rule(FEDERAL)
    share = rule.parameters["share"]
    ended = share.at(date(2026, 1, 1))

    assert share.value_at(date(2025, 12, 31)).amount == 0.30
    assert isinstance(ended, Ended)
    assert "Pub. L. 119-21 s. 70506" in ended.source.reference
    assert date(2025, 12, 31) == ended.eve
    assert date(2025, 12, 31) == share.last_day(share.value_at(date(2023, 6, 1)))
    assert share.last_day(ended) is None


def test_no_day_without_a_value_can_be_mistaken_for_a_number() -> None:
    """Asking for the value of a day out of force is an error that names the day."""
    rule = find_rule(FEDERAL)

    for day in (date(2005, 12, 31), date(2026, 1, 1)):
        with pytest.raises(LookupError, match=str(day)):
            rule.parameters["share"].value_at(day)


def test_a_region_has_the_rules_of_its_country_first() -> None:
    """The country's own rules, then the region's, each by id."""
    ids = [rule.id for rule in load_rules("us", "nc")]

    assert ids == [rule.id for rule in load_rules("US")]
    assert FEDERAL in ids
    assert all(rule_id.count("/") == 1 for rule_id in ids)


def test_a_place_without_rule_files_has_no_rules() -> None:
    """An unknown country is no error here: nothing is known of it."""
    assert load_rules("ZZ", "QQ") == []


@pytest.mark.parametrize("code", ["../us", "U S", "", "us/nc"])
def test_a_code_that_is_no_code_is_refused(code: str) -> None:
    """A country code cannot lead out of the rules folder."""
    with pytest.raises(ValueError, match="no country or region code"):
        load_rules(code)


def test_rules_handed_out_are_not_shared() -> None:
    """Emptying one list of rules leaves the next one whole."""
    load_rules("US").clear()
    all_rules().clear()

    assert find_rule(FEDERAL) in load_rules("US")
    assert find_rule(FEDERAL) in all_rules()


# Rules that name one another


def credit(rule_id: str, *terms: str) -> Rule:
    """Return a tax credit with further terms, read from a file named for its id."""
    text = re.sub(r"(?m)^lowered_by:.*\n", "", LANTERN)
    text += "".join(f"{name}: {{value: {value}, {SAID}}}\n" for name, value in (term.split("=") for term in terms))
    if any(term.startswith("credit_of") for term in terms):
        text = re.sub(r"(?s)lines:.*(?=conditions:)", "", text)
    return parse_rule(text, f"{rule_id}.yaml")


def test_names_that_no_rule_has_are_told_with_the_nearest() -> None:
    """In each of the fields that name rules; the words beside them are no names."""
    rules = [
        credit("county/a", "lowered_by=[price reductions, grants, county/b, state/c]", "excludes=[county/bb]"),
        credit("county/b", "credit_of=state/d"),
        parse_rule(of_kind("income tax exemption"), "county/exemption.yaml"),
        parse_rule(of_kind("income tax exemption").replace("[payments]", "[county/z]"), "county/other.yaml"),
    ]

    assert [message.split("; ")[0] for message in check_links(rules)] == [
        "county/a.yaml: lowered_by: 'state/c' is no rule here",
        "county/a.yaml: excludes: 'county/bb' is no rule here",
        "county/b.yaml: credit_of: 'state/d' is no rule here",
        "county/other.yaml: exempts: 'county/z' is no rule here",
    ]
    assert "did you mean 'county/b'" in check_links(rules)[1]


def test_a_share_of_a_credit_needs_a_credit() -> None:
    """A rebate has no credit to take a share of."""
    rules = [credit("a", "credit_of=b"), parse_rule(of_kind("upfront rebate"), "b.yaml")]

    assert check_links(rules) == ["a.yaml: credit_of: 'b' is no tax credit; name one, or remove the term"]


def test_two_rules_of_one_id_are_told() -> None:
    """A rule of the household's own must not take the place of another one unseen."""
    rules = [credit("a"), parse_rule(LANTERN, "own-rules/a.yaml", "a")]

    assert check_links(rules) == ["a.yaml: id: 'a' is also that of own-rules/a.yaml; rename one of them"]


def test_circles_are_told_and_chains_are_not() -> None:
    """Each circle once, whether it goes by what lowers a basis or by a credit of a credit."""
    chain = [credit("a", "lowered_by=[b]"), credit("b", "credit_of=c"), credit("c"), credit("f", "excludes=[a]")]
    first = [credit("a", "lowered_by=[b]"), credit("b", "credit_of=c"), credit("c", "lowered_by=[grants, a]")]
    second = [credit("d", "lowered_by=[e]"), credit("e", "lowered_by=[d]"), credit("g", "lowered_by=[a, d]")]

    assert check_links(chain) == []
    [told] = check_links(first)
    assert told in {
        "a.yaml: lowered_by: leads round in a circle, a -> b -> c -> a; take one link out",
        "b.yaml: credit_of: leads round in a circle, b -> c -> a -> b; take one link out",
        "c.yaml: lowered_by: leads round in a circle, c -> a -> b -> c; take one link out",
    }
    assert len(check_links(first + second)) == 2


days = st.dates(min_value=date(1990, 1, 1), max_value=date(2060, 12, 31))


@given(starts=st.lists(days, min_size=1, max_size=8, unique=True), day=days)
def test_a_day_has_the_latest_value_begun_and_never_another(starts: list[date], day: date) -> None:
    """No value is used before it starts, or after a later one has started."""
    source = Source("County Code 12.4", "seen")
    entries = tuple(Value(start, float(index + 1), source) for index, start in enumerate(sorted(starts)))
    found = Dated("USD", entries).at(day)
    begun = [start for start in starts if start <= day]

    if not begun:
        assert found == NotYet(min(starts))
    else:
        assert isinstance(found, Value)
        assert max(begun) == found.start
