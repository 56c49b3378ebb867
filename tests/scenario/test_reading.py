"""Alternatives inherit from the top and from one another, and messages keep pointing at the right line."""

from pathlib import Path

import pytest
from scenario.house import FULL, HOUSE, house, line_of

import finsolar
from finsolar.scenario.numbers import settled
from finsolar.scenario.problems import Problem, ScenarioError, near, printable, shown
from finsolar.scenario.reading import from_text
from finsolar.scenario.schema import Borrowing, FileSun, Scenario, StationSun, SunHours


def items(scenario: Scenario, place: int) -> list[tuple[str, object]]:
    """Return the name and price of each cost line of an alternative."""
    return [(line.item, line.cost) for line in scenario.alternatives[place].costs]


def problems(text: str) -> tuple[Problem, ...]:
    """Return what is wrong with a text."""
    with pytest.raises(ScenarioError) as caught:
        from_text(text, "house.yaml")
    return caught.value.problems


def test_the_top_holds_for_every_alternative() -> None:
    """System, shares, upkeep, rebates and tariff reach each alternative; the top keeps the tariff."""
    scenario = from_text(HOUSE)

    assert [plan.name for plan in scenario.alternatives] == ["Own labour", "Contractor", "Contractor on a loan"]
    for plan in scenario.alternatives:
        assert plan.system.inverter.idle_watts == 40
        assert plan.purchase.sales_tax == 0.06
        assert [line.item for line in plan.upkeep] == ["Rinsing"]
        assert [rebate.amount for rebate in plan.rebates] == [300]
        assert plan.tariff is not None
        assert plan.tariff.energy[1].price == 0.12
    assert scenario.tariff is not None
    assert scenario.alternatives[0].own_hours == 90
    assert scenario.alternatives[1].own_hours == 0


def test_an_item_of_the_same_name_replaces_in_place_and_a_new_one_is_added_at_the_end() -> None:
    """The order of the file is kept, and nothing else changes."""
    scenario = from_text(HOUSE)

    assert [item for item, _ in items(scenario, 0)] == ["Modules", "Rails", "Cable"]
    assert items(scenario, 1) == [("Modules", None), ("Rails", 1500), ("Cable", 500), ("Installation", 6000)]


def test_a_replaced_item_is_replaced_whole() -> None:
    """A line of costs is one statement: the price for each of the old one does not linger."""
    scenario = from_text(house(more="    costs: [{item: Modules, category: modules, cost: 1}]\n"))

    line = scenario.alternatives[2].costs[0]
    assert (line.cost, line.each, line.quantity) == (1, None, None)


def test_like_takes_over_all_but_name_and_note() -> None:
    """The heir has its parent's lines and adds its own payment; words about the parent stay with it."""
    scenario = from_text(HOUSE)
    parent, heir = scenario.alternatives[1:]

    assert items(scenario, 2) == items(scenario, 1)
    assert isinstance(heir.payment, Borrowing)
    assert parent.payment == "cash"
    assert parent.note == "A firm does it all."
    assert heir.note is None


def test_like_may_name_an_alternative_further_down_and_an_heir() -> None:
    """Descent is followed however long, in whatever order the file stands."""
    scenario = from_text(
        house(
            "  - name: Own labour\n",
            "  - {name: Grandchild, like: Child}\n  - {name: Child, like: Own labour, own_hours: 40}\n"
            "  - name: Own labour\n",
        )
    )

    assert [plan.own_hours for plan in scenario.alternatives] == [40, 40, 90, 0, 0]


def test_without_leaves_inherited_items_out_of_every_list() -> None:
    """Costs, upkeep and rebates alike; an heir's heir inherits the gap."""
    scenario = from_text(
        house(
            more="  - {name: Bare, like: Contractor, without: [Cable, Rinsing, Town rebate]}\n"
            "  - {name: Barer, like: Bare, without: [Rails]}\n"
        )
    )
    bare = scenario.alternatives[3]

    assert [line.item for line in bare.costs] == ["Modules", "Rails", "Installation"]
    assert (bare.upkeep, bare.rebates) == ([], [])
    assert [line.item for line in scenario.alternatives[4].costs] == ["Modules", "Installation"]


def test_what_is_left_out_may_be_stated_anew() -> None:
    """An item named in ``without`` and in ``costs`` is the new one, at the end."""
    scenario = from_text(
        house(more="  - {name: Anew, without: [Rails], costs: [{item: Rails, category: racking, cost: 1}]}\n")
    )

    assert items(scenario, 3) == [("Modules", None), ("Cable", 500), ("Rails", 1)]


def test_nested_blocks_merge_field_by_field_and_lists_replace() -> None:
    """A larger battery keeps the inverter; new arrays leave no old ones."""
    scenario = from_text(
        house(
            more="  - {name: Large, system: {battery: {kwh: 20}, arrays: [{kw: 9, tilt: 10, azimuth: 90}]}}\n"
            "  - {name: No battery, like: Large, system: {battery: none}}\n"
        )
    )
    large, bare = scenario.alternatives[3].system, scenario.alternatives[4].system

    assert large.battery != "none"
    assert (large.battery.kwh, large.battery.kw) == (20, 5)
    assert [array.kw for array in large.arrays] == [9]
    assert large.inverter.idle_watts == 40
    assert bare.battery == "none"
    assert bare.arrays == large.arrays


def test_one_alternative_may_have_another_tariff() -> None:
    """It keeps what it does not override; the price of staying is untouched."""
    scenario = from_text(house(more="  - {name: New rate, tariff: {energy: 0.2, monthly_charge: 5}}\n"))
    own = scenario.alternatives[3].tariff

    assert own is not None
    assert scenario.tariff is not None
    assert [(period.name, period.price) for period in own.energy] == [("all hours", 0.2)]
    assert own.monthly_charge == 5
    assert own.export.price == 0.04
    assert [period.price for period in scenario.tariff.energy] == [0.3, 0.12]


@pytest.mark.parametrize(
    ("field", "written", "central"),
    [
        ("rise", "{from: 2%, to: 4%}", 0.03),
        ("rise", "{mean: 2%, sd: 1%}", 0.02),
        ("monthly_charge", "{low: 1, likely: 2, high: 9}", 2),
    ],
)
def test_a_range_replaces_a_range_of_another_kind_whole(field: str, written: str, central: float) -> None:
    """Two kinds of range would not mix."""
    scenario = from_text(house(more=f"  - {{name: Other, tariff: {{{field}: {written}}}}}\n"))

    assert getattr(scenario.alternatives[3].tariff, field).central == pytest.approx(central)


def test_another_export_scheme_does_not_inherit_the_price_of_the_first() -> None:
    """Net metering in one alternative only, where the top bills exports at a price."""
    scenario = from_text(house(more="  - {name: Metered, tariff: {export: {scheme: net metering}}}\n"))
    own = scenario.alternatives[3].tariff

    assert own is not None
    assert (own.export.scheme, own.export.price) == ("net metering", None)


def test_a_record_of_production_drives_out_inherited_arrays_and_arrays_the_record() -> None:
    """Who states one way does not inherit the other; all else of the system stays."""
    _, recorded, back, *_ = from_text(FULL).alternatives

    assert (recorded.system.production, recorded.system.arrays) == ("inverter.csv", [])
    assert recorded.system.snow == back.system.snow != 0
    assert back.system.production is None
    assert [array.kw for array in back.system.arrays] == [1]
    assert back.system.losses == 0.12


def test_losses_of_each_way_drive_out_an_inherited_round_trip_and_it_them() -> None:
    """And a block of fade gives way to a bare share."""
    more = (
        "  - name: Apart\n"
        "    system: {battery: {charge_efficiency: 95%, discharge_efficiency: 94%, fade: {ten_years: 9%}}}\n"
        "  - {name: Together, like: Apart, system: {battery: {round_trip: 88%, fade: 1%}}}\n"
        "  - {name: Bigger, like: Apart, system: {battery: {kwh: 20}}}\n"
    )
    scenario = from_text(house("kw: 5}\npurchase", "kw: 5, round_trip: 91%}\npurchase", more))
    top, apart, together, bigger = (scenario.alternatives[i].system.battery for i in (0, 3, 4, 5))

    assert "none" not in {top, apart, together, bigger}
    for battery, losses in (
        (top, (0.91, None, None)),
        (apart, (0.9, 0.95, 0.94)),
        (together, (0.88, None, None)),
        (bigger, (0.9, 0.95, 0.94)),
    ):
        assert (battery.round_trip, battery.charge_efficiency, battery.discharge_efficiency) == losses
    assert (apart.fade.ten_years, together.fade, bigger.kwh) == (0.09, 0.01, 20)


def test_only_one_way_of_an_inherited_pair_may_be_said_anew() -> None:
    """The other efficiency is inherited with it."""
    pair = "kw: 5, charge_efficiency: 95%, discharge_efficiency: 94%}\npurchase"
    scenario = from_text(
        house("kw: 5}\npurchase", pair, "  - {name: Better, system: {battery: {charge_efficiency: 97%}}}\n")
    )
    battery = scenario.alternatives[3].system.battery

    assert battery != "none"
    assert (battery.charge_efficiency, battery.discharge_efficiency) == (0.97, 0.94)


def test_another_operation_does_not_inherit_the_time_shift() -> None:
    """Otherwise no alternative could leave it; one that keeps to it changes single fields of it."""
    more = (
        "  - {name: Keeps more, system: {operation: time shift, time_shift: {keep: 60%}}}\n"
        "  - {name: No battery, system: {battery: none, operation: self-consumption}}\n"
        "  - {name: Shifts again, like: No battery, system: {battery: {kwh: 5, kw: 5}, operation: time shift}}\n"
    )
    scenario = from_text(FULL + more)
    off_grid, keeps, bare, again = (plan.system for plan in scenario.alternatives[4:])

    assert (off_grid.operation, off_grid.time_shift) == ("off grid", None)
    assert keeps.time_shift is not None
    assert (keeps.time_shift.dear, keeps.time_shift.keep, keeps.time_shift.charge_to) == (["peak"], 0.6, 0.8)
    assert (bare.battery, bare.operation, bare.time_shift) == ("none", "self-consumption", None)
    assert (again.operation, again.time_shift) == ("time shift", None)


def test_a_time_shift_stated_beside_another_operation_is_still_refused() -> None:
    """It is not inherited but written, so it is told, once and in its place."""
    more = "  - {name: Muddled, system: {operation: backup only, time_shift: {keep: 60%}}}\n"

    assert [(p.field, p.code) for p in problems(FULL + more)] == [("alternatives[6].system", "time-shift")]


def test_without_alternatives_there_is_one_that_goes_ahead() -> None:
    """The shortest scenario states no alternatives."""
    alone = HOUSE[: HOUSE.index("alternatives:")]

    (plan,) = from_text(alone).alternatives

    assert plan.name == "Go ahead"
    assert [line.item for line in plan.costs] == ["Modules", "Rails", "Cable"]


def test_line_numbers_survive_inheritance() -> None:
    """A fault is told where it is written: at the top, in the parent, or in the heir."""
    text = house("cost: 500", "cost: -500").replace("cost: 1500", "cost: -1500").replace("rate: 7%", "rate: 7")

    found = problems(text)

    assert [(p.line, p.field, p.code) for p in found] == [
        (line_of(text, "item: Cable"), "costs[3].cost", "negative"),
        (line_of(text, "cost: -1500"), "alternatives[2].costs[1].cost", "negative"),
        (line_of(text, "rate: 7"), "alternatives[3].payment.loan.rate", "bare-rate"),
    ]


@pytest.mark.parametrize(
    ("path", "part", "name"),
    [
        ("weather", "weather:", "weather"),
        ("weather.sun_hours", "sun_hours:", "weather.sun_hours"),
        ("household.load.appliances.1.hours", "item: Pump", "household.load.appliances[2].hours"),
        ("alternatives.0.system.battery.warranty.years", "warranty:", "system.battery.warranty.years"),
        ("alternatives.1.system.production", "name: Recorded,", "alternatives[2].system.production"),
        ("alternatives.1.system.snow", "snow:", "system.snow"),
        ("alternatives.2.system.losses", "name: Recorded no more", "alternatives[3].system.losses"),
        ("alternatives.2.system.snow.11", "snow:", "system.snow[12]"),
        (
            "alternatives.3.system.battery.charge_efficiency",
            "name: Apart",
            "alternatives[4].system.battery.charge_efficiency",
        ),
        ("alternatives.4.upkeep.1.below", "below:", "upkeep[2].below"),
        ("stay.costs.0.cost", "stay:", "stay.costs[1].cost"),
    ],
)
def test_a_fault_found_later_is_told_at_the_line_of_the_field(path: str, part: str, name: str) -> None:
    """Where it is written: in the alternative, in its parent, or at the top; settling ranges forgets nothing."""
    for scenario in (from_text(FULL, "yard.yaml"), settled(from_text(FULL, "yard.yaml"))):
        (found,) = scenario.origin.refusal(path, "is odd", "mend it", "odd").problems

        assert found == Problem("yard.yaml", line_of(FULL, part), name, "is odd", "mend it", "odd")


def test_a_record_in_a_parent_is_told_in_the_parent() -> None:
    """The heir has the record from there."""
    text = FULL.replace("  - {name: Apart,", "  - {name: Heir, like: Recorded, own_hours: 4}\n  - {name: Apart,")

    (found,) = from_text(text).origin.refusal("alternatives.3.system.production", "is odd", "mend it", "odd").problems

    assert (found.line, found.field) == (line_of(text, "name: Recorded,"), "alternatives[2].system.production")


def test_a_fault_of_a_field_that_is_nowhere_is_told_without_a_line() -> None:
    """A default has no line, and the message says so by naming none."""
    error = from_text(HOUSE, "yard.yaml").origin.refusal("system.snow", "is odd", "mend it", "odd")

    assert str(error) == "yard.yaml: system.snow: is odd; mend it"


def test_files_are_looked_for_beside_the_scenario(tmp_path: Path) -> None:
    """Wherever one stands when reading it; a text without a file looks in the current folder."""
    path = tmp_path / "house.yaml"
    path.write_text(HOUSE)

    assert finsolar.read(path).origin.beside("meter.csv") == tmp_path / "meter.csv"
    assert finsolar.read(path).origin.beside("/else/where.csv") == Path("/else/where.csv")
    assert finsolar.read(path).origin.file == str(path)
    assert from_text(HOUSE).origin.beside("meter.csv") == Path("meter.csv")
    assert from_text(HOUSE, folder=tmp_path).origin.beside("meter.csv") == tmp_path / "meter.csv"


@pytest.mark.parametrize(
    ("written", "kind"),
    [
        ("greensboro", str),
        ("{station: greensboro}", StationSun),
        ("{file: valley.epw}", FileSun),
        ("{sun_hours: [2, 3, 4, 5, 6, 6, 6, 5, 4, 3, 2, 2]}", SunHours),
    ],
)
def test_weather_is_a_name_or_one_of_three_blocks(written: str, kind: type) -> None:
    """Told apart by their fields; read again from what they hold, they stay what they are."""
    scenario = from_text(house("weather: greensboro", f"weather: {written}"))

    assert type(scenario.weather) is kind
    assert Scenario.model_validate(scenario.model_copy().__dict__).weather == scenario.weather
    assert getattr(scenario.weather, "brightness", 1.0) == 1.0


def test_line_numbers_count_comments_and_empty_lines() -> None:
    """The number is the one that an editor shows."""
    text = "# a comment\n\n\n" + house("weather: greensboro", "# station\n\nweather: nowhere")

    (found,) = problems(text)

    assert found.line == line_of(text, "nowhere")


def test_line_ends_of_another_system_change_no_number() -> None:
    """A file saved with carriage returns is read alike."""
    text = house("weather: greensboro", "weather: nowhere")

    (found,) = problems(text.replace("\n", "\r\n"))

    assert found.line == line_of(text, "nowhere")


def test_a_fault_that_all_inherit_is_told_once() -> None:
    """Three alternatives share the top's faulty system and line."""
    found = problems(house("idle_watts: 40", "idle_watt: 40").replace("sales_tax: 6%", "sales_tax: 6"))

    assert [(p.field, p.code) for p in found] == [
        ("system.inverter.idle_watt", "unknown-field"),
        ("purchase.sales_tax", "bare-rate"),
    ]


def test_all_faults_are_told_in_one_pass_in_the_order_of_lines() -> None:
    """Faults of reading, of inheritance and of values come together."""
    text = (
        house("title: Gravel Yard", "title:")
        .replace("weather: greensboro", "weather: greensbro")
        .replace("like: Contractor", "like: Contracter")
        .replace("own_hours: 90", "own_hours: lots")
        .replace("latitude: 36.1", "latitude: 99")
    )

    found = problems(text)

    assert [p.code for p in found] == ["empty", "out-of-range", "unknown-station", "not-a-number", "unknown-like"]
    assert [p.line for p in found] == sorted(p.line for p in found)


def test_a_fault_of_an_orphan_is_told_beside_its_lost_parent_but_nothing_that_only_follows() -> None:
    """Its costs would have come from the parent, so they are not called missing."""
    text = HOUSE[: HOUSE.index("costs:")] + (
        "alternatives:\n"
        "  - {name: First, costs: [{item: All, category: other, cost: 1}]}\n"
        "  - {name: Second, like: Fist, own_hours: -1}\n"
        "  - {name: Third, like: Second}\n"
    )

    assert [(p.field, p.code) for p in problems(text)] == [
        ("alternatives[2].like", "unknown-like"),
        ("alternatives[2].own_hours", "negative"),
    ]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("household:", "houshold:", "did you mean 'household'?"),
        ("own_hours: 90", "own_hour: 90", "did you mean 'own_hours'?"),
        ("like: Contractor", "Like: Contractor", "did you mean 'like'"),
        ("kwh: 10", "KWH: 10, kwh: 10", "did you mean 'kwh'"),
        ("idle_watts: 40", "idle: 40", "known here: efficiency, idle_watts, kw"),
        ("weather: greensboro", "weather: {station: miami, stations: 2}", "did you mean 'station'?"),
        ("weather: greensboro", "weather: {file: f.epw, file_kind: epw}", "did you mean 'kind' or 'file'?"),
        ("weather: greensboro", "weather: {file: f.epw, sed: 3}", "known here: brightness, file, kind"),
        ("weather: greensboro", "weather: {sun_hours: [1], sed: 3}", "did you mean 'seed'?"),
        ("battery: {kwh: 10,", "battery: {fade: {ten_year: 20%}, kwh: 10,", "did you mean 'ten_years'?"),
        ("  inverter: {kw: 5,", "  losses: [{name: Dust, share: 3%}]\n  inverter: {kw: 5,", "known here: item, share"),
        ("years: 10}", "years: 10, fe: 3%}", "did you mean 'fee'"),
    ],
)
def test_an_unknown_field_leads_to_the_nearest_name(old: str, new: str, words: str) -> None:
    """Or to all names, where none is near."""
    found = problems(house(old, new))

    assert any(p.code == "unknown-field" and words in p.mend for p in found)


def test_an_unknown_field_in_a_nested_block_of_an_alternative_is_told_there() -> None:
    """The names offered are those of that block, not of the top."""
    text = house(more="  - name: Wrong\n    system:\n      inverter:\n        kw: 4\n        watts: 3\n")

    (found,) = problems(text)

    assert (found.field, found.line) == ("alternatives[4].system.inverter.watts", line_of(text, "watts: 3"))
    assert found.mend in {"did you mean 'idle_watts'?", "known here: efficiency, idle_watts, kw"}


def test_a_loan_may_run_as_long_as_the_study() -> None:
    """Only a longer one would leave payments that nobody counts."""
    scenario = from_text(house("rate: 7%, years: 10", "rate: 7%, years: 20"))

    payment = scenario.alternatives[2].payment
    assert isinstance(payment, Borrowing)
    assert payment.loan.years == scenario.study.years


def test_words_are_set_on_one_line() -> None:
    """Names stand in tables, so line breaks and runs of spaces become single spaces."""
    scenario = from_text(house("note: A firm does it all.", "note: |\n      A firm\n      does   it."))

    assert scenario.alternatives[1].note == "A firm does it."


@pytest.mark.parametrize("title", ["Höfe am Bach", "赤い家", "بيت", "🏡 👩‍🔧", "نمی‌دانم", "“Quoted” – it’s"])
def test_words_of_any_script_are_read(title: str) -> None:
    """Only signs that steer a terminal are refused."""
    assert from_text(house("title: Gravel Yard", f"title: {title}")).title == title


def test_a_file_with_a_byte_order_mark_is_read(tmp_path: Path) -> None:
    """Some editors begin UTF-8 with a mark."""
    path = tmp_path / "marked.yaml"
    path.write_text(HOUSE, encoding="utf-8-sig")

    assert finsolar.read(path).title == "Gravel Yard"


def test_aliases_are_followed() -> None:
    """A value may be written once, marked and used again."""
    scenario = from_text(house("kw: 5, tilt", "kw: &size 5, tilt").replace("{kw: 5, idle", "{kw: *size, idle"))

    assert scenario.alternatives[0].system.inverter.kw == 5


def test_the_error_carries_sorted_problems_and_their_text() -> None:
    """Its text is one message a line."""
    late, early = Problem("f.yaml", 9, "a", "is x", "write y"), Problem("f.yaml", 2, "b.c", "is x", "write y", "odd")

    error = ScenarioError([late, early, late])

    assert error.problems == (early, late)
    assert str(error) == "f.yaml:2: b.c: is x; write y\nf.yaml:9: a: is x; write y"


def test_near_names_come_first_then_all_then_none() -> None:
    """The case of letters does not matter."""
    assert near("MODULES", ["modules", "roof"]) == "did you mean 'modules'?"
    assert near("tool", ["tools", "stool", "roof"]) == "did you mean 'tools' or 'stool'?"
    assert near("zzz", ["b", "a"]) == "known here: a, b"
    assert near("zzz", []) == "remove it"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("a\x1b[31mb", "'a\N{REPLACEMENT CHARACTER}[31mb'"),
        ("turned \u202ednuora", "'turned \N{REPLACEMENT CHARACTER}dnuora'"),
        ("one\ntwo", "'one\N{REPLACEMENT CHARACTER}two'"),
        ("x" * 50, "'" + "x" * 39 + "…'"),
        (True, "true"),
        (12.5, "12.5"),
        ({"a": 1}, "a block of fields"),
        ([1, 2], "a list"),
    ],
)
def test_values_are_shown_shortly_and_harmlessly(value: object, text: str) -> None:
    """What stands in a message can neither steer a terminal nor flood it."""
    assert shown(value) == text


def test_a_message_is_cut_before_it_floods_the_screen() -> None:
    """A thousand signs are enough."""
    assert len(printable("x" * 5000)) == 1000
    assert printable("x" * 1000) == "x" * 1000


def test_a_name_of_half_a_sign_is_a_fault_of_the_whole_scenario() -> None:
    """Half of a pair of code units is no text; no field can be named, and it is no traceback."""
    with pytest.raises(ScenarioError) as error:
        from_text('"\\ud800": 1\ntitle: A\n')
    assert str(error.value).startswith("scenario:1: ")
