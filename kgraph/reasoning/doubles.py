"""What tasting cannot show: poisons that no finding lifts, and the harmless herb that each tastes like.

Worked out from the graph alone, so that a new ontology brings its own list.
"""

from __future__ import annotations

from functools import lru_cache

from kgraph.claims import Ontology
from kgraph.reasoning.answer import Hidden
from kgraph.reasoning.circumstances import Circumstances
from kgraph.reasoning.inference import evoked_share, other_cause
from kgraph.reasoning.network import TEST, Network
from kgraph.reasoning.weights import decibans, firm

#: A poison that some single strong finding lifts by at least this much is not hidden (a factor of ten in the odds).
LIFTED_DB = 10.0


def lift(ontology: Ontology, net: Network, class_id: str, percept: str) -> float:
    """Decibans by which a strong report of one percept alone raises a class."""
    there, not_there = ontology.tables.report("taster", "strong", percept)
    plain = ontology.tables.asks_plain("taster", "strong", percept)
    quiet = 1 - other_cause(net, Circumstances(), percept, plain=plain)
    for id in net.evokers(percept):
        if id != class_id:
            quiet *= 1 - evoked_share(net, id, percept, plain=plain)
    own = evoked_share(net, class_id, percept, plain=plain) / net.prior[class_id]
    quiet_given = quiet * (1 - own)

    def likelihood(quiet: float) -> float:
        return quiet * not_there + (1 - quiet) * there

    prior = net.prior[class_id]
    joint = prior * likelihood(quiet_given)
    posterior = joint / (joint + (1 - prior) * likelihood(quiet))
    return decibans(prior, posterior)


def _documented(ontology: Ontology, herb: str) -> frozenset[str]:
    """The percepts that a herb is documented to have."""
    return frozenset(
        ontology.percept(c.object)
        for c in ontology.said_of("described_as", herb)
        if c.word not in ("absent", "") and ontology.qualities[c.object].kind not in ("absence", "stop", "colour")
    )


def _double(ontology: Ontology, class_id: str) -> tuple[str, str, tuple[str, ...]]:
    """(poisonous herb with this class, harmless herb most like it in documented taste, what they share)."""
    poisons = [
        claim.subject for claim in ontology.pointing_at("contains", class_id)
        if claim.word in ("major", "minor") and ontology.herbs[claim.subject].taste_safety == "do-not-taste"
    ]
    best: tuple[float, int, str, str, tuple[str, ...]] = (0.0, 0, "", "", ())
    for poison in sorted(set(poisons)):
        mine = _documented(ontology, poison)
        if not mine:
            continue
        for herb in ontology.herbs.values():
            if herb.taste_safety != "ok":
                continue
            theirs = _documented(ontology, herb.id)
            shared = mine & theirs
            if shared:
                score = len(shared) / len(mine | theirs)
                if (score, len(shared)) > best[:2]:
                    best = (score, len(shared), poison, herb.id, tuple(sorted(shared)))
    return (best[2] or (sorted(poisons)[0] if poisons else ""), best[3], best[4])


def hidden_poisons(ontology: Ontology, net: Network) -> tuple[Hidden, ...]:
    """Poisons whose probability no single finding lifts by ten decibans, those with nothing to taste first."""
    return _hidden(_Key(ontology, net))


class _Key:
    """Hashable by fingerprint, so that one ontology is worked out once a process."""

    def __init__(self, ontology: Ontology, net: Network) -> None:
        self.ontology, self.net = ontology, net

    def __hash__(self) -> int:
        return hash(self.ontology.sha256)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Key) and other.ontology.sha256 == self.ontology.sha256 and other.net.arcs == self.net.arcs


@lru_cache(maxsize=8)
def _hidden(key: _Key) -> tuple[Hidden, ...]:
    ontology, net = key.ontology, key.net
    found: list[Hidden] = []
    for id, thing in ontology.classes.items():
        if not thing.poison:
            continue
        lifts = {p: lift(ontology, net, id, p) for p in net.arcs[id] if not p.startswith(TEST)}
        by = max(lifts, key=lambda p: (lifts[p], p), default="")
        best = lifts.get(by, 0.0)
        if best >= LIFTED_DB:
            continue
        poison, harmless, shared = _double(ontology, id)
        found.append(
            Hidden(id, thing.label, best, by, poison, ontology.label("herb", poison) if poison else "",
                   harmless, ontology.label("herb", harmless) if harmless else "", shared)
        )
    return tuple(sorted(found, key=lambda h: (firm(h.best_db), h.id)))
