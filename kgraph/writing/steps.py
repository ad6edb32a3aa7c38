"""The reasoning of a record, a herb or a quality one step at a time, each with one plain sentence."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from typing import NamedTuple

from kgraph.claims import Ontology
from kgraph.graphs.picture import LAYER_NAMES, Picture
from kgraph.reasoning.answer import Answer
from kgraph.reasoning.network import TEST
from kgraph.writing.plain import SAFETY_WORDS, STATE_WORDS, before_after, listing, some, speaks

SHOWN = 3


class Step(NamedTuple):
    """What one step adds to the picture (numbers of nodes and links), what it lights, and what is said."""

    title: str
    text: str
    show: tuple[int, ...]
    links: tuple[int, ...]
    light: tuple[int, ...]


class _Book:
    """Steps in the making: each adds nodes, and the links between them and what stood there before."""

    def __init__(self, picture: Picture) -> None:
        self.picture = picture
        self.numbers = {node.id: i for i, node in enumerate(picture.nodes)}
        self.standing: set[int] = set()
        self.steps: list[Step] = []

    def add(self, title: str, text: str, nodes: Iterable[str], relations: Collection[str] = ()) -> None:
        """A step; `relations` are the links it draws, between its nodes and those already there."""
        new = {self.numbers[id] for id in nodes if id in self.numbers}
        self.standing |= new
        links = [
            i for i, link in enumerate(self.picture.links)
            if link.relation in relations and {link.source, link.target} <= self.standing and (link.source in new or link.target in new)
        ]
        touched = new | {end for i in links for end in (self.picture.links[i].source, self.picture.links[i].target)}
        self.steps.append(Step(title, text, tuple(sorted(new)), tuple(links), tuple(sorted(touched))))

    def of_layer(self, kind: str) -> list[str]:
        return [node.id for node in self.picture.nodes if node.kind == kind]

    def carriers(self) -> list[str]:
        """Classes that carry a caution and do not stand there yet: a caution without its reason would be left hanging."""
        nodes = self.picture.nodes
        found = [link.source for link in self.picture.links if link.relation == "warns_of" and link.source not in self.standing and nodes[link.source].kind == "class"]
        return [nodes[i].id for i in dict.fromkeys(found)]

    def labels(self, ids: Iterable[str]) -> list[str]:
        return [self.picture.nodes[self.numbers[id]].label for id in ids if id in self.numbers]


def of_record(answer: Answer, picture: Picture, ontology: Ontology) -> tuple[Step, ...]:
    """Finding, families it suggests, what an absent finding takes away, action, uses, cautions, what tasting cannot show."""
    book = _Book(picture)
    there = [c for c in answer.understood.cells if c.state in ("strong", "moderate", "weak")]
    absent = [c for c in answer.understood.cells if c.state in ("absent", "disputed")]
    said = [f"{c.label} ({STATE_WORDS[c.state]})" for c in there]
    book.add("What was noticed", f"Noticed: {listing(said)}." if said else "Nothing was noticed of what was looked for.", [f"quality/{c.quality}" for c in there])
    for family in answer.risen("families")[:SHOWN]:
        classes = list(dict.fromkeys(p.cls for p in family.paths if p.probability >= 0.02))[:6] or [p.cls for p in family.paths[:1]]
        # a test says something for a family too, though it is not drawn
        findings = list(dict.fromkeys(p.quality for p in family.paths if p.probability >= 0.02))
        names = [ontology.label("test", f.removeprefix(TEST)) if f.startswith(TEST) else ontology.label("quality", f) for f in findings]
        why = f"{listing(names).capitalize()} may come from {family.label}" if names else f"{family.label} are likelier now"
        book.add(family.label.capitalize(), f"{why}: {before_after(family.prior, family.posterior)}. The findings {speaks(family.word, family.weight_db).replace('speaks', 'speak')} it.",
                 [f"family/{family.id}", *(f"class/{c}" for c in classes)], ("evokes", "in_family"))
    lost = list(dict.fromkeys(f"{ontology.label('quality', a.quality)} was {'not mentioned' if a.state == 'unnoticed' else 'not there'}, which speaks against {c.label}"
                              for c in answer.risen("families")[:SHOWN] for a in c.against if not a.quality.startswith(TEST)))
    fallen = [f"{c.label} ({before_after(c.prior, c.posterior)})" for c in sorted((c for c in answer.families if c.standing == "fallen"), key=lambda c: c.posterior - c.prior)[:SHOWN]]
    text = f"{'; '.join(lost[:3])}. " if lost else ""
    text = text[:1].upper() + text[1:]
    text += f"Less likely now: {listing(fallen)}." if fallen else ""
    if text or absent:
        book.add("What speaks against", text or f"Not there: {listing(c.label for c in absent)}. That takes hardly anything away from these families.",
                 [f"quality/{c.quality}" for c in absent], ("evokes",))
    for action in answer.risen("actions")[:SHOWN]:
        classes = list(dict.fromkeys(p.cls for p in action.paths if p.probability >= 0.02))[:4] or [p.cls for p in action.paths[:1]]
        book.add(action.label.capitalize(), f"{listing(ontology.label('class', c) for c in classes).capitalize() or 'What is in the cup'} belong with {action.label}, by practice: {before_after(action.prior, action.posterior)}. That is no promise that it works.",
                 [f"action/{action.id}", *(f"class/{c}" for c in classes)], ("acts_as",))
    uses = book.of_layer("use")
    if uses:
        book.add("Uses on record", f"Under these actions stand uses such as {some(book.labels(uses), 4)}. They say nothing about this sample.", uses, ("used_for",))
    avoid = [h.label for h in answer.cautions if h.severity == "avoid"]
    care = [h.label for h in answer.cautions if h.severity == "care"]
    text = (f"To avoid: {listing(dict.fromkeys(avoid))}. " if avoid else "") + (f"With care: {some(list(dict.fromkeys(care)), 6)}." if care else "")
    book.add("What to mind", text or "This tasting raises no caution of its own. Those of the label stand.", [*book.of_layer("caution"), *book.carriers()], ("warns_of",))
    book.add("What tasting cannot show", cannot_show(answer), ())
    return tuple(book.steps)


def cannot_show(answer: Answer) -> str:
    """One sentence on the poisons that no finding lifts."""
    silent = [h.label for h in answer.cannot_show if not h.by]
    doubles = [h.label for h in answer.cannot_show if h.by]
    parts = [f"Poisons with nothing to taste: {some(silent, 4)}."] if silent else []
    parts += [f"Poisons that taste like harmless herbs: {some(doubles, 4)}."] if doubles else []
    return " ".join([*parts, "No taste rules them out."])


def of_herb(ontology: Ontology, herb: str, picture: Picture, hidden: str, doubles: Sequence[str]) -> tuple[Step, ...]:
    """A herb from its description to its cautions."""
    book = _Book(picture)
    thing = ontology.herbs[herb]
    book.add(thing.label.capitalize(), f"{thing.name}, {thing.part}: {SAFETY_WORDS[thing.taste_safety]}. {thing.taste_reason or thing.taste_limit}".strip(), [f"herb/{herb}"])
    described = [f"quality/{c.object}" for c in ontology.said_of("described_as", herb)]
    if described:
        words = list(dict.fromkeys(f"{ontology.label('quality', c.object)}{f' ({STATE_WORDS.get(c.word, c.word)})' if c.word else ''}" for c in ontology.said_of("described_as", herb)))
        book.add("What the senses meet", f"It is described as {some(words, 8)}.", described, ("described_as", "word_for", "kind_of"))
    classes = [f"class/{c.object}" for c in ontology.said_of("contains", herb)]
    if classes:
        book.add("What it holds", f"On record in it: {some(list(dict.fromkeys(book.labels(classes))), 8)}.", [*classes, *book.of_layer("family")], ("contains", "in_family"))
        book.add("What gives what", "These constituents are known to give the qualities that the senses met, as often as the lines are wide.", [*classes, *described], ("evokes",))
    actions = book.of_layer("action")
    if actions:
        book.add("What it belongs with", f"By practice: {some(book.labels(actions), 8)}. That is no promise that it works.", actions, ("acts_as",))
    uses = book.of_layer("use")
    if uses:
        book.add("Uses on record", f"Uses such as {some(book.labels(uses), 5)}, with the status that their sources give.", uses, ("used_for",))
    avoid = list(dict.fromkeys(ontology.label("caution", c.object) for c in ontology.said_of("warns_of", herb) if c.word == "avoid"))
    book.add("What to mind", (f"To avoid: {listing(avoid)}." if avoid else "No source here says avoid.") + " The lesser cautions stand in the picture.", book.of_layer("caution"), ("warns_of",))
    if doubles:
        book.add("What it is mistaken for", f"{some(list(doubles), 6)}: told apart by looking, papers or the bench, as its note says.", ())
    book.add("What tasting cannot show", hidden, ())
    return tuple(book.steps)


def of_quality(ontology: Ontology, quality: str, picture: Picture, hidden: str) -> tuple[Step, ...]:
    """A quality, what gives it, and what that leads to."""
    book = _Book(picture)
    thing = ontology.qualities[quality]
    book.add(thing.label.capitalize(), thing.definition or f"A quality of {thing.sense}.", book.of_layer("quality"), ("word_for", "kind_of"))
    classes = book.of_layer("class")
    book.add("What gives it", f"On record: {some(book.labels(classes), 6) or 'nothing'}.", [*classes, *book.of_layer("family")], ("evokes", "in_family"))
    book.add("What that belongs with", f"By practice: {some(book.labels(book.of_layer('action')), 6) or 'no action'}. That is no promise that it works.", book.of_layer("action"), ("acts_as",))
    if book.of_layer("use"):
        book.add("Uses on record", f"Uses such as {some(book.labels(book.of_layer('use')), 5)}. One finding alone points to none of them.", book.of_layer("use"), ("used_for",))
    book.add("What to mind", f"Carried by what may give it: {some(book.labels(book.of_layer('caution')), 6) or 'no caution'}.", book.of_layer("caution"), ("warns_of",))
    book.add("What tasting cannot show", hidden, ())
    return tuple(book.steps)


def of_all(picture: Picture, hidden: str) -> tuple[Step, ...]:
    """The layers, one after another."""
    book = _Book(picture)
    texts = {
        "quality": "What the senses report of a weak infusion.", "family": "Families of constituents that a taster can tell apart.", "class": "The constituent classes in them, and what each gives to the senses.",
        "action": "What practice calls a herb that holds them. No promise that it works.", "use": "What such herbs are on record for.", "caution": "What to mind with each class, whatever the herb.",
    }
    relations = {"quality": ("word_for", "kind_of"), "class": ("evokes", "in_family"), "family": ("evokes",), "action": ("acts_as",), "use": ("used_for",), "caution": ("warns_of",)}
    for layer in picture.layers:
        kind = next(n.kind for n in picture.nodes if n.layer == layer)
        book.add(LAYER_NAMES[layer].capitalize(), texts.get(kind, ""), book.of_layer(kind), relations.get(kind, ()))
    book.add("What tasting cannot show", hidden, ())
    return tuple(book.steps)
