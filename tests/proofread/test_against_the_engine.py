"""What is said of precedence, against the engine: small drawn books, and every car that their rules can tell apart."""

import random
from functools import cache
from itertools import product

import pytest
from planted import another, club, group, rule

from support import DAY, book, car, toml
from tarebook.judge.deciding import decide_kind
from tarebook.judge.facing import CarBeforeBook
from tarebook.judge.prepared import PreparedBook
from tarebook.judge.view import View
from tarebook.proofread.proofreading import blemishes

KINDS = ("interior", "interior.dash", "interior.seat", "interior.seat.rear", "body", "body.bonnet")
BRANCHES = (*KINDS, "everything")
CONDITIONS = (
    "{ p = true }",
    "{ p = false }",
    "{ q = true }",
    "{ p = true, q = true }",
    "{ any = [{ p = true }, { q = false }] }",
    "{ removed = 'interior.dash' }",
    "{ not = { removed = 'interior.dash' } }",
    "{ swapped = 'interior' }",
    "{ not = { swapped = 'interior' }, p = true }",
)
BOOKS = 120
PER_TEST = 10


def drawn_rule(draw, clause, holder, before):
    form = draw.choice(("allow", "ban"))
    kinds = " ".join(draw.sample(BRANCHES, draw.choice((1, 1, 2))))
    does = " ".join(draw.sample(("remove", "swap"), draw.choice((1, 1, 2))))
    rest = []
    if draw.random() < 0.6:
        rest.append(f"if = {draw.choice(CONDITIONS)}")
    if draw.random() < 0.25:
        rest.append(f"part = {{ weighs = {{ {draw.choice(('least', 'under'))} = '3 kg' }} }}")
    if rest and form == "allow" and draw.random() < 0.3:
        rest.append("only = true")
    if before and draw.random() < 0.25:
        rest.append(f"despite = ['{draw.choice(before)}']")
    if form == "allow" and draw.random() < 0.1:
        rest.append("ask = 'Is it neat?'")
    before.append(clause)
    return rule(form, clause, kinds, does, "\n".join(rest), holder=holder)


def drawn_rules(seed, without=None):
    """The text of a book, and how it is silent; `without` leaves the rule of a clause out."""
    draw = random.Random(seed)
    before = []
    silence = draw.choice(("forbids", "permits"))

    def several(chapter, most, holder="class"):
        found = [
            drawn_rule(draw, f"{chapter}.{number}", holder, before) for number in range(1, draw.randint(1, most) + 1)
        ]
        return "".join(each for each in found if f'clause = "{without}"' not in each)

    shared = group("shared", several(3, 3, "group"))
    safe = group("safe", several(4, 1, "group"), f"everywhere = true\nprevails = {toml(draw.random() < 0.5)}")
    own = several(2, 4)
    tour = another("tour", several(5, 2), 'like = "club"')
    return club(own, before=shared + safe, keys='uses = ["shared"]', after=tour), silence


@cache
def cars():
    """A car for each change and each answer to the conditions above."""
    found = []
    for kind, action in product((*KINDS, "glass"), ("remove", "swap")):
        for p, q, dash_off, console_swapped, heavy in product((False, True), repeat=5):
            mass = "4 kg" if heavy else "2 kg"
            parts = [{"id": "main", "kind": kind, "mass": mass, "origin": "factory"}]
            parts += [{"id": "dash", "kind": "interior.dash", "mass": "4 kg", "origin": "factory"}]
            parts += [{"id": "console", "kind": "interior.console", "mass": "4 kg", "origin": "factory"}]
            off, fit = [], []
            if action == "remove":
                off.append("main")
            else:
                new = {"id": "new", "kind": kind, "mass": mass, "origin": "aftermarket", "replaces": "main"}
                parts.append(new)
                fit.append("new")
            off += ["dash"] if dash_off else []
            if console_swapped:
                new = {"id": "new-console", "kind": "interior.console", "origin": "aftermarket", "replaces": "console"}
                parts.append({**new, "mass": "4 kg"})
                fit.append("new-console")
            job = {"id": "job", "title": "Job", "state": "done", "off": off, "fit": fit}
            found.append(car(f"part = {toml(parts)}\njob = {toml([job])}\n", p=p, q=q))
    return found


def decisions(rules):
    """By class, car, part and kind: the ruling, and the clauses that decided."""
    prepared = [PreparedBook(rules).prepare(class_id) for class_id in rules.class_ids]
    found = {}
    for number, each in enumerate(cars()):
        situation = CarBeforeBook(each, rules).situation("now", DAY)
        for of_class in prepared:
            view = View(situation, of_class.counts, {})
            for change in situation.changes:
                for kind in of_class.decided_kinds(change):
                    decision = decide_kind(change, kind, of_class, view)
                    key = (of_class.id, number, change.part, kind)
                    found[key] = (decision.ruling, {cited.clause for cited in decision.deciding})
    return found


def told(rules, what):
    return {blemish.clause for blemish in blemishes(rules) if blemish.what == what}


@pytest.mark.parametrize("first", range(0, BOOKS, PER_TEST))
def test_exactly_the_rules_that_never_decide_are_told(first):
    for seed in range(first, first + PER_TEST):
        text, silence = drawn_rules(seed)
        rules = book(text, silence=silence)
        written = {
            each.clause for holder in (*rules.file.group, *rules.file.class_) for each in (*holder.allow, *holder.ban)
        }
        decided = set().union(*(clauses for _, clauses in decisions(rules).values()))
        assert told(rules, "never-decides") == written - decided, seed


def test_the_drawn_books_have_rules_of_both_sorts():
    never = sum(
        len(told(book(text, silence=silence), "never-decides")) for text, silence in map(drawn_rules, range(BOOKS))
    )
    written = sum(drawn_rules(seed)[0].count("does =") for seed in range(BOOKS))
    assert 50 < never < written / 2


def test_an_allowance_that_does_nothing_may_be_left_out():
    tried = 0
    for seed in range(BOOKS):
        text, silence = drawn_rules(seed)
        rules = book(text, silence=silence)
        for clause in told(rules, "does-nothing"):
            if f"despite = ['{clause}']" in text:
                continue
            shorter = book(drawn_rules(seed, without=clause)[0], silence=silence)
            before, after = decisions(rules), decisions(shorter)
            assert all(after[key][0] == ruling for key, (ruling, _) in before.items() if key in after), (seed, clause)
            tried += 1
    assert tried >= 5
