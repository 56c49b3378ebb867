"""Whatever stands in a file, reading gives a scenario or says what is wrong; nothing else ever escapes."""

import os
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML
from scenario.house import FULL, HOUSE

from finsolar.scenario.assumed import assumptions
from finsolar.scenario.numbers import settled
from finsolar.scenario.problems import ScenarioError
from finsolar.scenario.reading import from_text
from finsolar.scenario.schema import Scenario
from finsolar.scenario.stated import statements

TREE: dict[str, Any] = YAML(typ="safe", pure=True).load(HOUSE)
TREES: list[dict[str, Any]] = [TREE, YAML(typ="safe", pure=True).load(FULL)]

ODD_WORDS = st.sampled_from(
    [
        *("", " ", "~", "null", "true", "no", "NaN", ".inf", "-.INF", "1e999", "0x" + "f" * 500, "9" * 400, "1,5%"),
        *("5", "5%", "-5%", "3 %", "%", "1_0", "2026-02-30", "2026-09-01", "2026-09-01T12:00:00Z", "12:30", "jun-sep"),
        *("x" * 5000, "🏡", "👩‍🔧", "\x1b[2J", "\x00", "\x7f", "\u202e", "\u2028", "\ud800", "\ufeff", "{words}", "%s"),
        *(
            "<<",
            "&a",
            "*a",
            "!!python/name:os.system",
            "- ",
            ": ",
            "# ",
            "'",
            '"',
            "a: b",
            "[",
            "{",
            "|",
            ">",
            "off grid",
        ),
        *(
            "none",
            "cash",
            "net metering",
            "Contractor",
            "Own labour",
            "Rails",
            "miami",
            "Europe/Berlin",
            "../US",
            "item",
        ),
    ]
)
ODD_SCALARS = (
    ODD_WORDS
    | st.text(max_size=20)
    | st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.dates()
    | st.datetimes()
    | st.sampled_from([0, 1, -1, 10**400, -(10**400), 1e308, 5e-324, 0.5, 2026])
)
ODD_NAMES = (
    st.text(max_size=8) | ODD_WORDS | st.sampled_from(["low", "likely", "high", "mean", "sd", "from", "to", "path"])
)
ODD_VALUES = st.recursive(
    ODD_SCALARS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(ODD_NAMES, inner, max_size=4),
    max_leaves=8,
)


def places(value: Any, way: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Return the way to each value of a tree."""
    steps = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [way, *(place for step, child in steps for place in places(child, (*way, step)))]


PLACES = places(TREE)[1:]
PLACES_IN_TREES = [(tree, place) for tree in TREES for place in places(tree)[1:]]


def at(tree: Any, way: tuple[Any, ...]) -> Any:
    """Return the value at a place of a tree."""
    for step in way:
        tree = tree[step]
    return tree


def changed(value: Any, way: tuple[Any, ...], kind: str, new: Any, name: str) -> Any:
    """Return a tree with the value at one place dropped, doubled, renamed or exchanged."""
    if not way:
        return new
    step, *rest = way
    if rest:
        inner = changed(value[step], tuple(rest), kind, new, name)
        if isinstance(value, dict):
            return {**value, step: inner}
        return [inner if i == step else entry for i, entry in enumerate(value)]
    if isinstance(value, dict):
        if kind == "drop":
            return {key: entry for key, entry in value.items() if key != step}
        if kind == "rename":
            return {name if key == step else key: entry for key, entry in value.items()}
        return {**value, step: new, **({name: value[step]} if kind == "double" else {})}
    if kind == "drop":
        return [entry for i, entry in enumerate(value) if i != step]
    if kind == "double":
        return [*value, value[step]]
    return [new if i == step else entry for i, entry in enumerate(value)]


def written(value: Any) -> str:
    """Return a tree in YAML's flow style, as one line; text that YAML would read otherwise is escaped."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{written(str(key))}: {written(entry)}" for key, entry in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(written(entry) for entry in value) + "]"
    if isinstance(value, str):
        return '"' + "".join(c if c.isalnum() and c.isascii() else f"\\U{ord(c):08x}" for c in value) + '"'
    if value is None or isinstance(value, bool):
        return {None: "null", True: "true", False: "false"}[value]
    return str(value)


def check(text: str) -> Scenario | None:
    """Read a text: a scenario, or an error whose problems all have words that fit a terminal."""
    try:
        scenario = from_text(text, "fuzz.yaml")
    except ScenarioError as error:
        assert error.problems
        for problem in error.problems:
            assert problem.file == "fuzz.yaml"
            assert problem.line >= 1
            assert problem.what.strip()
            assert problem.mend.strip()
            assert problem.code.strip()
            message = str(problem)
            assert len(message) <= 1000
            assert "\n" not in message
            assert "\x1b" not in message
            message.encode("utf-8")
        return None
    assert settled(scenario).alternatives
    scenario.model_dump_json()
    for row in [*statements(scenario), *assumptions(scenario)]:
        assert row.field.strip()
        assert isinstance(row.value, str)
    return scenario


EXAMPLES = int(os.environ.get("FUZZ_EXAMPLES", "40"))
"""How many files each test makes; a longer hunt sets the variable higher."""

quickly = settings(deadline=None, max_examples=EXAMPLES, suppress_health_check=[HealthCheck.too_slow])


def test_the_tree_is_read_as_the_text_it_came_from() -> None:
    """What the mutations below begin with is valid."""
    read = [check(written(tree)) for tree in TREES]

    assert [scenario and scenario.title for scenario in read] == ["Gravel Yard", "Gravel Yard with everything"]
    assert [scenario and len(scenario.alternatives) for scenario in read] == [3, 5]
    assert len(PLACES) > 100
    assert len(PLACES_IN_TREES) > len(PLACES) + 150


@quickly
@given(st.sampled_from(PLACES_IN_TREES), ODD_VALUES)
def test_any_value_exchanged_for_an_odd_one(place: tuple[dict[str, Any], tuple[Any, ...]], odd: Any) -> None:
    """Each field meets values that belong nowhere near it."""
    tree, way = place
    check(written(changed(tree, way, "exchange", odd, "")))


@quickly
@given(
    st.sampled_from(TREES),
    st.lists(
        st.tuples(
            st.integers(0, 10_000), st.sampled_from(["drop", "double", "rename", "exchange"]), ODD_VALUES, ODD_NAMES
        ),
        min_size=2,
        max_size=6,
    ),
)
def test_several_changes_at_once(tree: dict[str, Any], changes: list[tuple[int, str, Any, str]]) -> None:
    """Fields dropped, doubled, renamed and exchanged in the same file."""
    for number, kind, odd, name in changes:
        ways = places(tree)[1:]
        if ways:
            tree = changed(tree, ways[number % len(ways)], kind, odd, name)
    check(written(tree))


@quickly
@given(st.sampled_from(PLACES_IN_TREES), st.sampled_from(PLACES_IN_TREES))
def test_values_of_the_files_in_each_other_s_place(
    one: tuple[dict[str, Any], tuple[Any, ...]], other: tuple[dict[str, Any], tuple[Any, ...]]
) -> None:
    """A valid value at the wrong place."""
    check(written(changed(*one, "exchange", at(*other), "")))


@quickly
@given(st.integers(0, len(HOUSE)), st.integers(0, 12), ODD_WORDS | st.text(max_size=6))
def test_the_text_itself_cut_and_pasted(place: int, length: int, odd: str) -> None:
    """Signs of YAML at places where they do not belong."""
    check(HOUSE[:place] + odd + HOUSE[place + length :])


@quickly
@given(st.text(alphabet=st.sampled_from("{}[],:?-#&*!|>'\"%@`~ \n\t\r\\aé0.<=/"), max_size=60))
def test_texts_made_of_signs_that_mean_something_to_yaml(text: str) -> None:
    """The reader of YAML itself meets every combination, also behind a valid beginning."""
    check(text)
    check(f"title: x\n{text}")
