"""Alternatives that take over what stands at the top of the file, or in another alternative."""

from __future__ import annotations

from dataclasses import replace

from finsolar.scenario.names import NO_SYSTEM
from finsolar.scenario.nodes import Node
from finsolar.scenario.problems import Problem, ScenarioError, near, shown

MOST_ALTERNATIVES = 50

_LINES = ("costs", "upkeep", "rebates")
_OF_A_SYSTEM = frozenset({*_LINES, "own_hours"})  # not taken over by an alternative that builds none
_TO_AN_OWNER = frozenset({"lease", "per_kwh"})  # ways to pay for a system that others own; the same holds of them
INHERITED = (
    "system",
    "purchase",
    *_LINES,
    "payment",
    "own_hours",
    "own_hour_worth",
    "dates",
    "installer",
    "tariff",
    "generator",
)
"""Fields that stand at the top for all alternatives, or in one alternative for itself."""

BY_ITEM = frozenset(_LINES)
"""Lists that merge by the ``item`` of their entries when they are inherited."""

RIVALS = (
    ({"arrays"}, {"production"}),
    ({"round_trip"}, {"charge_efficiency", "discharge_efficiency"}),
)
"""Fields that say the same thing in different ways: who states one way does not inherit the others."""

SERVANTS = {"time_shift": ("operation", "time shift")}
"""Blocks that serve one word of another field; who states another word there does not inherit them."""

OWN_WORDS = frozenset({"like", "without"})
"""Fields that inheritance uses up; they are no part of an alternative."""

_SHARED_ONLY = frozenset(INHERITED) - {"tariff", "generator"}  # the top keeps these two: they price staying


def with_later(tariff: Node) -> Node:
    """The tariff with each of its later changes complete: what one does not say it has from the one before."""
    later = tariff.get("later")
    if later is None or not isinstance(later.value, list):
        return tariff
    before = replace(tariff, value={name: node for name, node in tariff.fields.items() if name != "later"})
    changes = []
    for entry in later.entries:
        if isinstance(entry.value, dict) and "tariff" not in entry.fields:
            own = {name: node for name, node in entry.fields.items() if name != "from_year"}
            before = replace(merged(before, replace(entry, value=own)), line=entry.line, path=entry.path)
            when = {name: node for name, node in entry.fields.items() if name == "from_year"}
            entry = replace(entry, value={**when, "tariff": with_later(before)})
        changes.append(entry)
    return replace(tariff, value={**tariff.fields, "later": replace(later, value=changes)})


def _with_later_tariffs(block: Node) -> Node:
    tariff = block.get("tariff")
    if tariff is None:
        return block
    return replace(block, value={**block.fields, "tariff": with_later(tariff)})


def resolved(root: Node, file: str, problems: list[Problem]) -> tuple[Node, set[int]]:
    """The tree with every alternative complete, and the places of those that could not inherit.

    Fields meant only for alternatives are taken from the top.
    """
    orphans: set[int] = set()
    shared = {name: node for name, node in root.fields.items() if name in INHERITED}
    top = {name: node for name, node in root.fields.items() if name not in _SHARED_ONLY}
    listed = root.get("alternatives")
    if listed is None:
        alone = Node({"name": Node("Go ahead", root.line, "alternatives.name"), **shared}, root.line, "")
        top["alternatives"] = Node([alone], root.line, "alternatives")
    elif isinstance(listed.value, list):
        if len(listed.entries) > MOST_ALTERNATIVES:
            what = f"has {len(listed.entries)} entries"
            mend = f"keep at most {MOST_ALTERNATIVES} in a file"
            raise ScenarioError([*problems, Problem(file, listed.line, listed.path, what, mend, "too_long")])
        family = _Family(listed.entries, shared, file, problems)
        top["alternatives"] = replace(listed, value=[family.whole(i) for i in range(len(listed.entries))])
        orphans = family.orphans
    whole = top["alternatives"]
    if isinstance(whole.value, list):
        top["alternatives"] = replace(whole, value=[_with_later_tariffs(entry) for entry in whole.entries])
    return _with_later_tariffs(replace(root, value=top)), orphans


class _Family:
    """Alternatives that inherit from the top and from one another."""

    def __init__(self, entries: list[Node], shared: dict[str, Node], file: str, problems: list[Problem]) -> None:
        self.entries, self.shared, self.file, self.problems = entries, shared, file, problems
        self.names: dict[str, int] = {}
        for i, entry in enumerate(entries):
            name = entry.get("name")
            if name is not None and isinstance(name.value, str):
                self.names.setdefault(name.value, i)
        self.done: dict[int, Node] = {}
        self.orphans: set[int] = set()

    def whole(self, i: int, heirs: tuple[int, ...] = ()) -> Node:
        """Alternative ``i`` with all it inherits; with what stands at the top where it is an orphan."""
        if i not in self.done:
            self.done[i] = self._whole(i, heirs)
        return self.done[i]

    def _whole(self, i: int, heirs: tuple[int, ...]) -> Node:
        entry = self.entries[i]
        if not isinstance(entry.value, dict):
            return entry
        base = Node(self.shared, entry.line, entry.path)
        like = entry.get("like")
        if like is not None:
            parent = self._ancestor(like, i, heirs)
            if parent is not None:
                base = self.whole(parent, (*heirs, i))
            if parent is None or parent in self.orphans:
                self.orphans.add(i)
        without = entry.get("without")
        if without is not None:
            base = self._less(base, without)
        own = {name: node for name, node in entry.fields.items() if name not in OWN_WORDS}
        spared = {"name", "note"}
        if "system" in own and own["system"].value == NO_SYSTEM:
            spared |= _OF_A_SYSTEM
            payment = base.get("payment")
            if payment is not None and isinstance(payment.value, dict) and _TO_AN_OWNER & set(payment.value):
                spared.add("payment")
        kept = {name: node for name, node in base.fields.items() if name not in spared}
        return merged(replace(base, value=kept), replace(entry, value=own), BY_ITEM)

    def _ancestor(self, like: Node, i: int, heirs: tuple[int, ...]) -> int | None:
        name = like.value
        if not isinstance(name, str) or name not in self.names:
            what = f"names {shown(name)}, and no alternative is called that"
            others = [n for n, place in self.names.items() if place != i]
            mend = near(name, others) if isinstance(name, str) else "write the name of an alternative"
            self._fault(like, what, mend, "unknown-like")
            return None
        parent = self.names[name]
        if parent == i or parent in heirs:
            what = f"goes round in a circle through {shown(name)}"
            self._fault(like, what, "let one of them stand by itself", "like-circle")
            return None
        return parent

    def _less(self, base: Node, without: Node) -> Node:
        """``base`` without the items that an alternative does not take over."""
        fields = dict(base.fields)
        lines = [line for field in BY_ITEM & set(fields) for line in fields[field].entries]
        known = {name for name in map(item_name, lines) if name is not None}
        if not isinstance(without.value, list):
            self._fault(without, "is not a list", "write [first item, second item]", "not-a-list")
        names: set[str | None] = set()
        for node in without.entries:
            if isinstance(node.value, str) and node.value in known:
                names.add(node.value)
            else:
                mend = near(node.value, known) if isinstance(node.value, str) else "write the name of an item"
                self._fault(node, f"names {shown(node.value)}, which is not inherited", mend, "unknown-item")
        for field in BY_ITEM & set(fields):
            kept = [line for line in fields[field].entries if item_name(line) not in names]
            if isinstance(fields[field].value, list):
                fields[field] = replace(fields[field], value=kept)
        return replace(base, value=fields)

    def _fault(self, node: Node, what: str, mend: str, code: str) -> None:
        # An empty `like:` was told when the file was read.
        if all((told.line, told.field) != (node.line, node.path) for told in self.problems):
            self.problems.append(Problem(self.file, node.line, node.path, what, mend, code))


def _named_kind(block: dict[str, Node]) -> bool:
    """Whether a block is one value of a kind that its fields name: a range, a path, a way of export."""
    return not {"low", "mean", "from", "characteristic", "path", "scheme"}.isdisjoint(block)


def merged(base: Node, over: Node, by_item: frozenset[str] = frozenset()) -> Node:
    """``over`` laid on ``base``: blocks merge field by field, anything else replaces.

    A range, a path of rises and an export scheme replace as a whole, since fields of two kinds do not mix, and so does
    a payment, which is one contract; of ``RIVALS`` those that ``over`` states drive out the others, and ``SERVANTS`` go
    with the word they served.
    Lists whose field name is in ``by_item`` merge by the ``item`` of their entries: an entry of the same
    name replaces the inherited one in its place, a new name is added at the end; an empty list takes nothing over.
    """
    if not isinstance(base.value, dict) or not isinstance(over.value, dict) or _named_kind(over.value):
        return over
    said = set(over.value)
    outdone = {
        name
        for ways in RIVALS
        for way in ways
        if way.isdisjoint(said) and not all(other.isdisjoint(said) for other in ways)
        for name in way
    }
    outdone |= {block for block, (name, word) in SERVANTS.items() if name in said and over.value[name].value != word}
    fields = {name: node for name, node in base.value.items() if name not in outdone}
    for name, node in over.value.items():
        old = fields.get(name)
        if old is None:
            fields[name] = node
        elif name == "payment":
            fields[name] = node  # a contract is signed as a whole: no term of another one slips into it
        elif name in by_item and isinstance(old.value, list) and isinstance(node.value, list):
            fields[name] = _merged_items(old, node) if node.value else node
        else:
            fields[name] = merged(old, node, by_item)
    return replace(over, value=fields)


def item_name(node: Node) -> str | None:
    """The ``item`` of a line of costs, as written; None where it has none."""
    field = node.get("item")
    return field.value if field is not None and isinstance(field.value, str) else None


def _merged_items(base: Node, over: Node) -> Node:
    entries = list(base.entries)
    places = {item_name(entry): i for i, entry in enumerate(entries)}
    for entry in over.entries:
        name = item_name(entry)
        # A name replaces once: a second line of that name in the same list stays, and is refused later.
        place = None if name is None else places.pop(name, None)
        if place is None:
            entries.append(entry)
        else:
            entries[place] = entry
    return replace(over, value=entries)
