"""From a record to an answer: the order of the work, and nothing that is not said elsewhere."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from kgraph.claims import Ontology
from kgraph.reasoning import blend, doubles, heed, herbs, next_look
from kgraph.reasoning.answer import (
    Against,
    Answer,
    Candidate,
    Circumstance,
    Path,
    Read,
    Sensitivity,
    Understood,
    Unexplained,
    UseLine,
)
from kgraph.reasoning.circumstances import Circumstances, circumstances_of
from kgraph.reasoning.evidence import Cell, cells_of
from kgraph.reasoning.inference import Inference
from kgraph.reasoning.network import TEST, Network, percept_label
from kgraph.reasoning.shelf import Shelf
from kgraph.reasoning.weights import decibans, firm, in_order, standing_of
from kgraph.tasting import Record

SHOWN = 3
_PARTED_DB = 1.0
_UNEXPLAINED = 0.5


@dataclass(slots=True)
class _Desk:
    """What the parts of the work share."""

    ontology: Ontology
    net: Network
    record: Record
    circumstances: Circumstances
    inference: Inference
    reported: list[Cell]
    denied: list[int]
    shelf: Callable[[], Shelf]


def ask(ontology: Ontology, net: Network, record: Record, *, sealed: bool = False, strengths: bool = False, draws: int = 0, shelf: Callable[[], Shelf] | None = None) -> Answer:
    """Reason from a tasting record.

    Args:
        ontology, net: what is known, and the network built from it.
        record: the tasting.
        sealed: hide the name that the label gives; its cautions are still counted.
        strengths: add everything that an independent program needs to work out every figure again.
        draws: how many times all figures are moved by their doubt, for how steady the order is; 0 for not at all.
        shelf: gives the herbs, compiled; many records share one.
    """
    circumstances = circumstances_of(ontology, record)
    cells = cells_of(ontology, net, record, circumstances)
    inference = Inference(net, circumstances, cells)
    desk = _Desk(
        ontology, net, record, circumstances, inference,
        [c for c in inference.cells if c.speaks_for], [i for i, c in enumerate(inference.cells) if c.log_ratio < 0],
        shelf or (lambda: Shelf(ontology, net)),
    )
    families, classes, actions = _candidates(desk)
    label, label_cautions = heed.label_of_sample(ontology, record.sample, sealed)
    top = [*[c for c in families if c.standing == "risen"][:SHOWN], *[c for c in actions if c.standing == "risen"][:SHOWN]]
    shown_classes = {path.cls for candidate in top for path in candidate.paths[:1]}
    emergencies = heed.emergencies_of(ontology, inference)
    understood = _understood(desk, sealed=sealed)
    why = why_looking_only(ontology, desk.shelf, inference, record, label.taste_safety)
    return Answer(
        ontology=ontology.identity,
        understood=understood,
        label=label,
        families=families,
        classes=classes,
        actions=actions,
        uses=_uses(ontology, [c for c in actions if c.standing == "risen"]),
        emergencies=emergencies,
        label_cautions=label_cautions,
        cautions=heed.heed_of_tasting(ontology, inference, shown_classes),
        conditions=_conditions(desk),
        unexplained=_unexplained(desk),
        cannot_show=doubles.hidden_poisons(ontology, net),
        next=next_look.rank_looks(ontology, inference, {c.id: c.posterior for c in families}, looking_only=bool(why)),
        only_looking=why,
        sensitivity=_sensitivity(desk, families, actions, draws),
        blend=blend.blend_of(desk.shelf(), circumstances, inference.cells, record.sample.herbs) if record.sample.herbs and not sealed else None,
        strengths=_strengths(desk) if strengths else {},
    )


# -- candidates ------------------------------------------------------------------------------------------------


def _candidates(desk: _Desk) -> tuple[tuple[Candidate, ...], tuple[Candidate, ...], tuple[Candidate, ...]]:
    ontology, net, inference = desk.ontology, desk.net, desk.inference
    families = ontology.families
    family_questions = {id: dict.fromkeys(members, 1.0) for id, members in families.items()}
    action_questions = {id: {c: arc.strength for c, arc in arcs.items()} for id, arcs in net.acts.items()}
    questions = [*family_questions.values(), *action_questions.values()]
    after = [float(p) for p in inference.posterior_any(questions)[0]]
    before = [inference.prior_any(q) for q in questions]
    herbs_total = len(ontology.herbs)

    classes = {}
    for id, thing in ontology.classes.items():
        paths = tuple(
            Path(q, id, "", p, net.arcs[id][q].claims if q in net.arcs[id] else _group_claims(net, id, q))
            for (c, q), p in inference.fired.items() if c == id and _is_reported(desk, q)
        )
        classes[id] = _candidate(desk, id, thing.label, net.prior[id], inference.posterior[id], _sorted(paths))
    family_list: list[Candidate] = []
    for i, (id, members) in enumerate(families.items()):
        paths = _sorted(tuple(path for m in members for path in classes[m].paths))
        candidate = _candidate(desk, id, ontology.family_label(id), before[i], after[i], paths)
        family_list.append(candidate._replace(members=members, parted=_parted(desk, members, classes)))
    action_list: list[Candidate] = []
    for i, (id, arcs) in enumerate(net.acts.items(), start=len(families)):
        paths = tuple(
            Path(path.quality, c, id, path.probability * arc.strength, (*path.claims, *arc.claims))
            for c, arc in arcs.items() for path in classes[c].paths
        )
        documented = len({claim.subject for claim in ontology.pointing_at("acts_as", id) if claim.subject in ontology.herbs})
        candidate = _candidate(desk, id, ontology.label("action", id), before[i], after[i], _sorted(paths))
        action_list.append(candidate._replace(documented=(documented, herbs_total)))
    ranked_families, ranked_actions = in_order(family_list), in_order(action_list)
    against = _against(desk, ranked_families, ranked_actions, family_questions, action_questions)
    return (
        tuple(c._replace(against=against.get(("family", c.id), ())) for c in ranked_families),
        in_order(list(classes.values())),
        tuple(c._replace(against=against.get(("action", c.id), ())) for c in ranked_actions),
    )


def _is_reported(desk: _Desk, percept: str) -> bool:
    return any(cell.percept == percept for cell in desk.reported)


def _group_claims(net: Network, class_id: str, group: str) -> tuple[str, ...]:
    return tuple(claim for kind in net.groups.get(group, ()) if kind in net.arcs[class_id] for claim in net.arcs[class_id][kind].claims)


def _sorted(paths: tuple[Path, ...]) -> tuple[Path, ...]:
    """What the senses say goes first: a test confirms, it does not teach why a herb feels as it does."""
    return tuple(sorted(paths, key=lambda p: (p.quality.startswith(TEST), -firm(p.probability), p.quality, p.cls, p.action)))


def _candidate(desk: _Desk, id: str, label: str, prior: float, posterior: float, paths: tuple[Path, ...]) -> Candidate:
    weight = decibans(prior, posterior)
    return Candidate(
        id, label, prior, posterior, weight, desk.ontology.tables.evidence_word(weight), standing_of(prior, posterior, weight), paths
    )


def _parted(desk: _Desk, members: Sequence[str], classes: Mapping[str, Candidate]) -> bool:
    """Does some finding part the classes of a family? Only then is their order worth showing."""
    weights = [classes[m].weight_db for m in members]
    return len(weights) > 1 and max(weights) - min(weights) >= _PARTED_DB


def _against(
    desk: _Desk, families: tuple[Candidate, ...], actions: tuple[Candidate, ...],
    family_questions: Mapping[str, Mapping[str, float]], action_questions: Mapping[str, Mapping[str, float]],
) -> dict[tuple[str, str], tuple[Against, ...]]:
    """Leave-one-out weights of what was absent or not mentioned, for the candidates that are shown."""
    chosen = [("family", c) for c in families if c.standing == "risen"][:SHOWN] + [("action", c) for c in actions if c.standing == "risen"][:SHOWN]
    if not chosen or not desk.denied:
        return {}
    questions = [dict((family_questions if kind == "family" else action_questions)[c.id]) for kind, c in chosen]
    table = desk.inference.posterior_any(questions, [[cell] for cell in desk.denied])
    found: dict[tuple[str, str], tuple[Against, ...]] = {}
    for column, (kind, candidate) in enumerate(chosen):
        rows = []
        for row, cell_number in enumerate(desk.denied, start=1):
            cell = desk.inference.cells[cell_number]
            without = decibans(candidate.prior, float(table[row, column]))
            weight = candidate.weight_db - without
            if weight < -0.05:
                rows.append(Against(cell.percept, "disputed" if cell.reporting else cell.state, weight))
        found[(kind, candidate.id)] = tuple(sorted(rows, key=lambda a: (firm(a.weight_db), a.quality)))
    return found


# -- what else is said -----------------------------------------------------------------------------------------


def _uses(ontology: Ontology, actions: Sequence[Candidate]) -> tuple[UseLine, ...]:
    return tuple(
        UseLine(action.id, claim.object, ontology.label("use", claim.object), claim.word, claim.text("detail"), (claim.id,))
        for action in actions for claim in ontology.said_of("used_for", action.id)
    )


def _sensitivity(desk: _Desk, families: Sequence[Candidate], actions: Sequence[Candidate], draws: int) -> Sensitivity | None:
    if not draws:
        return None
    from kgraph.reasoning.sensitivity import of_ask

    return of_ask(desk.ontology, desk.inference, families, actions, draws)


def _conditions(desk: _Desk) -> tuple[Circumstance, ...]:
    """Effects of the conditions that touch what was reported; a fake says how much of the finding it explains alone."""
    ontology, touched = desk.ontology, {c.percept for c in desk.inference.cells}
    found = []
    personal = [e for effects in desk.circumstances.personal.values() for e in effects]
    for effect in (*desk.circumstances.effects, *personal):
        if effect.relation == "draws":
            drawn = ontology.families.get(effect.target, (effect.target,))
            if not any((id, percept) in desk.inference.posed.strengths for id in drawn for percept in touched):
                continue
            label = ontology.label("class", effect.target) if effect.target in ontology.classes else ontology.family_label(effect.target)
        elif effect.target not in touched:
            continue
        else:
            label = percept_label(ontology, effect.target)
        explains = None
        if effect.relation == "fakes" and effect in desk.circumstances.effects and _is_reported(desk, effect.target):
            explains = desk.inference.faked_share(effect.target)
        found.append(
            Circumstance(effect.condition, ontology.label("condition", effect.condition), effect.relation, effect.target, label, effect.value, effect.claim, explains)
        )
    return tuple(found)


def _unexplained(desk: _Desk) -> tuple[Unexplained, ...]:
    # a group with kinds of its own in the record is accounted for through these
    passed_on = {bit.parent for bit in desk.inference.posed.bits}
    percepts = [cell.percept for i, cell in enumerate(desk.inference.cells) if cell.speaks_for and i not in passed_on]
    if not percepts:
        return ()
    shares = desk.inference.unaccounted(percepts)
    return tuple(
        Unexplained(p, percept_label(desk.ontology, p), share, desk.inference.faked_share(p) if desk.circumstances.faked.get(p) else 0.0)
        for p, share in zip(percepts, shares, strict=True) if share >= _UNEXPLAINED
    )


def why_looking_only(ontology: Ontology, shelf: Callable[[], Shelf], inference: Inference, record: Record, taste_safety: str) -> str:
    """Why only looking and safe tests may be offered next, in plain words; "" where tasting may go on."""
    if any(ontology.qualities[f.quality].kind == "stop" and f.strength > 0 for f in record.findings):
        return "a sign to stop was noticed"
    if heed.emergencies_of(ontology, inference):
        return "these findings fit a poison too"
    if not taste_safety:
        return "without a label nothing more is to be tasted"
    if taste_safety == "do-not-taste":
        return "this herb is never to be tasted"
    if near := herbs.poisons_near(ontology, shelf().fits(inference.circumstances, inference.cells)):
        return f"{ontology.label('herb', near[0])}, which is never to be tasted, fits these findings too"
    return ""


def _understood(desk: _Desk, *, sealed: bool) -> Understood:
    ontology, record = desk.ontology, desk.record
    cells = [
        Read(c.percept, percept_label(ontology, c.percept), c.state, c.named, c.tasters, c.reporting, c.there, c.not_there)
        for c in (*desk.inference.cells, *desk.inference.left_out)
    ]
    stops = dict.fromkeys(
        ontology.label("quality", f.quality) for f in record.findings if ontology.qualities[f.quality].kind == "stop" and f.strength > 0
    )
    by_state = {c.values[0]: c.label for c in ontology.conditions.values() if c.field == "state"}
    return Understood(
        file="" if sealed else record.file,  # people name files after herbs
        code=record.sample.code,
        tasted_on=record.tasted_on,
        form=record.preparation.form,
        tasters=tuple(record.tasters),
        said=record.said,
        cells=tuple(c for c in cells if c.state != "unnoticed"),
        silent=tuple(c for c in cells if c.state == "unnoticed"),
        tests=tuple((t.test, t.seen) for t in record.tests),
        stop_signs=tuple(stops),
        impressions=tuple((i.taster, i.text) for i in record.impressions),
        left_out=tuple(percept_label(ontology, c.percept) for c in desk.inference.left_out),
        swallowed=any(t.swallowed for t in record.tasters.values()),
        states=tuple(dict.fromkeys(by_state.get(state, state) for t in record.tasters.values() for state in t.state)),
    )


def _strengths(desk: _Desk) -> dict[str, Any]:
    """Every number behind the figures, by id."""
    net, inference = desk.net, desk.inference
    posed = inference.posed
    return {
        "priors": net.prior,
        "priors_major": net.major,
        "bits": [
            {
                "percept": cell.percept, "there": bit.there, "not_there": bit.not_there, "other_cause": bit.other,
                "group": inference.cells[bit.parent].percept if bit.parent >= 0 else None,
            }
            for cell, bit in zip(inference.cells, posed.bits, strict=True)
        ],
        "arcs": [{"class": c, "percept": p, "strength": s, "at_minor_level": posed.faint[(c, p)]} for (c, p), s in posed.strengths.items()],
        "acts_as": [{"class": c, "action": a, "strength": arc.strength} for a, arcs in net.acts.items() for c, arc in arcs.items()],
        "families": {id: list(members) for id, members in desk.ontology.families.items()},
        "carriers": [{"caution": k[0], "severity": k[1], "classes": sorted(v)} for k, v in sorted(net.carriers.items())],
    }
