"""What a lecture is about: the whole ontology, a herb, a quality or a record, put together for the page or the static picture."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from kgraph.claims import Ontology
from kgraph.graphs import picture as pictures
from kgraph.graphs.multigraph import node_id
from kgraph.reasoning import doubles, heed
from kgraph.reasoning.answer import Answer, Heed, Hidden
from kgraph.reasoning.board import board_of, cells_as_data
from kgraph.reasoning.explanation import resolve_herb, resolve_quality
from kgraph.reasoning.network import TEST, Network
from kgraph.writing import steps
from kgraph.writing.lecture import Caution, Lecture
from kgraph.writing.plain import SAFETY_WORDS, SEVERITY_WORDS, listing, some
from kgraph.yamlio import InputError, Place, did_you_mean, shorten

if TYPE_CHECKING:
    import networkx

    from kgraph.tasting import Record


class Subject(NamedTuple):
    """A herb or a quality, by id; both empty for everything."""

    herb: str = ""
    quality: str = ""


def subject_of(ontology: Ontology, what: str) -> Subject:
    """The herb or quality that is meant, by id or name. Raises :class:`InputError` with the nearest names."""
    if not what.strip():
        return Subject()
    for kind, resolve in (("quality", resolve_quality), ("herb", resolve_herb)):
        try:
            return Subject(**{kind: resolve(ontology, what)})
        except InputError:
            continue
    names = [*ontology.herbs, *(h.label for h in ontology.herbs.values()), *ontology.qualities, *(q.label for q in ontology.qualities.values())]
    raise InputError.single("unknown-subject", f"no herb, quality or record is called `{shorten(what)}`.", did_you_mean(what, names), Place("draw"))


def lecture_of(ontology: Ontology, net: Network, graph: networkx.MultiDiGraph, subject: Subject) -> Lecture:
    """The lecture on everything, a herb or a quality.

    Raises:
        InputError: nothing is said of it.
    """
    hidden = doubles.hidden_poisons(ontology, net)
    cannot = _cannot(hidden)
    board = board_of(ontology, net)
    if subject.herb:
        return _of_herb(ontology, graph, subject.herb, cannot, board)
    if subject.quality:
        found = pictures.picture(ontology, graph, pictures.around_quality(graph, subject.quality), f"Why {ontology.label('quality', subject.quality)}?")
        if not found.links:
            raise InputError.single("nothing-said", f"nothing on file gives `{subject.quality}`.", "Choose another quality.", Place("draw"))
        return Lecture(
            found, steps.of_quality(ontology, subject.quality, found, cannot[0]), "One quality: what gives it, what that belongs with, what to mind.", (),
            _class_cautions(ontology, found), cannot, board,
        )
    found = pictures.picture(ontology, graph, pictures.whole(graph), "From the taste of a herb to its use")
    if not found.links:
        raise InputError.single("nothing-said", "this ontology links nothing yet.", "Add statements, then draw it.", Place("draw"))
    return Lecture(
        found, steps.of_all(found, cannot[0]), f"{len(ontology.classes)} constituent classes, what they give to the senses and what they lead to; {len(ontology.herbs)} herbs to be lit.", (),
        _class_cautions(ontology, found), cannot, board, herbs=True,
    )


def _of_herb(ontology: Ontology, graph: networkx.MultiDiGraph, herb: str, cannot: tuple[str, ...], board: dict[str, object]) -> Lecture:
    thing = ontology.herbs[herb]
    found = pictures.picture(ontology, graph, pictures.with_uses(graph, pictures.around_herb(graph, herb)), f"{thing.label} ({thing.name}, {thing.part})")
    if len(found.nodes) < 2:
        raise InputError.single("nothing-said", f"nothing is said of `{herb}`.", "Add statements to its file, then draw it.", Place("draw"))
    label, heeds = heed.label_of(ontology, herb, sealed=False)
    stops = _stops(label.taste_safety, f"{thing.label} ({thing.name})", label.taste_note)
    mistaken = [f"{c.label}{' (never to be tasted)' if c.taste_safety == 'do-not-taste' else ''}" for c in label.confused_with]
    lines = [*_heeds(heeds), *(Caution(c.taste_safety == "do-not-taste", f"mistaken for {c.label}{' (never to be tasted)' if c.taste_safety == 'do-not-taste' else ''}: {c.how}") for c in label.confused_with)]
    return Lecture(
        found, steps.of_herb(ontology, herb, found, cannot[0], mistaken), f"{SAFETY_WORDS[thing.taste_safety][0].upper()}{SAFETY_WORDS[thing.taste_safety][1:]}.", stops,
        tuple(sorted(lines, key=lambda c: not c.avoid)), cannot, board, present=True,
    )


def lecture_of_record(ontology: Ontology, net: Network, graph: networkx.MultiDiGraph, record: Record, answer: Answer) -> Lecture:
    """The lecture on one tasting: findings, families, actions, cautions; the label does not enter it, but its warnings do."""
    from kgraph.reasoning.circumstances import circumstances_of
    from kgraph.reasoning.evidence import cells_of

    chosen = _of_answer(ontology, answer)
    chosen |= _uses_of(graph, chosen, answer)
    name = answer.understood.code or (record.file.rsplit("/", 1)[-1].removesuffix(".yaml") if record.file else "a tasting")
    found = pictures.picture(ontology, graph, {id for id in chosen if id in graph}, f"Tasting {name}: from finding to caution")
    circumstances = circumstances_of(ontology, record)
    board = board_of(ontology, net)
    conditions = [i for i, c in enumerate(board["conditions"]) if c["id"] in circumstances.active]
    label = answer.label
    stops = list(_stops(label.taste_safety, f"{label.label} ({label.name})", label.taste_note))
    if answer.understood.stop_signs:
        stops.append(f"STOP. {listing(answer.understood.stop_signs)}: taste no more, rinse the mouth, and call a poison centre or an emergency number now.")
    if answer.emergencies:
        stops.append(f"WARNING. These findings fit poisons too that are never to be tasted: {listing(e.label for e in answer.emergencies)}. Taste no more.")
    cannot = _cannot(answer.cannot_show)
    subtitle = f"Labelled {label.label}. " if label.label else "No label. "
    return Lecture(
        found, steps.of_record(answer, found, ontology), subtitle + "The label never enters the reasoning.", tuple(stops),
        tuple(sorted(dict.fromkeys((*_heeds(answer.label_cautions), *_heeds(answer.cautions))), key=lambda c: not c.avoid)), cannot, board, cells_as_data(board, cells_of(ontology, net, record, circumstances)), conditions, present=True,
    )


def _of_answer(ontology: Ontology, answer: Answer) -> set[str]:
    """The things that an answer speaks of first."""
    top = [*answer.risen("families")[: steps.SHOWN], *answer.risen("actions")[: steps.SHOWN]]
    chosen = {f"quality/{c.quality}" for c in answer.understood.cells if not c.quality.startswith(TEST)}
    chosen |= {f"quality/{name}" for c in answer.understood.cells for name in c.named}
    chosen |= {f"family/{c.id}" for c in answer.risen("families")[: steps.SHOWN]} | {f"action/{c.id}" for c in answer.risen("actions")[: steps.SHOWN]}
    chosen |= {f"class/{p.cls}" for c in top for p in [*c.paths[:1], *(p for p in c.paths if p.probability >= 0.02)]}
    chosen |= {f"class/{c.id}" for c in answer.risen("families")[: steps.SHOWN] if c.id in ontology.classes}
    chosen |= {f"caution/{h.id}" for h in answer.cautions if h.severity in ("avoid", "care")}
    # what carries an `avoid` stands in the picture, on a path or not
    return chosen | {f"class/{id}" for h in answer.cautions if h.severity == "avoid" for id in h.because[:2]}


def _uses_of(graph: networkx.MultiDiGraph, chosen: set[str], answer: Answer) -> set[str]:
    actions = {node_id("action", c.id) for c in answer.risen("actions")[: steps.SHOWN]}
    return pictures.with_uses(graph, {id for id in actions if id in graph}, 30)


def _stops(safety: str, name: str, note: str) -> tuple[str, ...]:
    if safety != "do-not-taste":
        return ()
    return (f"STOP. {name} is never to be tasted: {note}. If any was swallowed, call a poison centre now; rinse, do not wait for signs.",)


def _heeds(found: tuple[Heed, ...]) -> list[Caution]:
    """Every caution in one line each, gravest first."""
    lines = []
    for h in found:
        details = [d for d in (h.detail, f"({h.preparation})" if h.preparation != "any" else "", f"under {h.under_age:g} years" if h.under_age else "", f"at most {h.max_days:g} days" if h.max_days else "") if d]
        lines.append(Caution(h.severity == "avoid", f"{'' if h.severity == 'avoid' else SEVERITY_WORDS[h.severity] + ': '}{h.label}{': ' + '; '.join(details) if details else ''}"))
    return lines


def _class_cautions(ontology: Ontology, found: pictures.Picture) -> tuple[Caution, ...]:
    """What the drawn classes warn of with *avoid*: one line a caution."""
    carriers: dict[str, list[str]] = {}
    for node in found.nodes:
        if node.kind == "class":
            for claim in ontology.said_of("warns_of", node.id.removeprefix("class/")):
                if claim.word == "avoid":
                    carriers.setdefault(claim.object, []).append(node.label)
    return tuple(Caution(True, f"{ontology.label('caution', id)}: {listing(dict.fromkeys(labels))}") for id, labels in sorted(carriers.items()))


def _cannot(hidden: tuple[Hidden, ...]) -> tuple[str, ...]:
    """A short line first, then every poison that no finding lifts with the harmless herb it tastes like."""
    silent, masked = [h.label for h in hidden if not h.by], [h.label for h in hidden if h.by]
    first = " ".join(filter(None, (
        f"Poisons with nothing to taste: {some(silent, 4)}." if silent else "", f"Poisons that taste like harmless herbs: {some(masked, 4)}." if masked else "", "No taste rules them out.")))
    pairs = [f"{h.poison_label} shares {listing(h.shared)} with {h.harmless_label}" for h in hidden if h.poison and h.harmless and h.shared]
    rest = [f"All of them: {listing([*silent, *masked])}."] if hidden else []
    return (first, *rest, *([f"Doubles in taste: {'; '.join(pairs)}."] if pairs else []))
