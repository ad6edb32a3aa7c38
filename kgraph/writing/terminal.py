"""The answer on a terminal: at most forty lines on the first screen, everything with `full`."""

from __future__ import annotations

from collections.abc import Sequence

from kgraph.claims import Ontology
from kgraph.reasoning.answer import Answer, Candidate, Heed, Hidden, Path
from kgraph.writing.citing import Citations, full, short
from kgraph.writing.plain import (
    BASIS_WORDS,
    SAFETY_WORDS,
    SEVERITY_WORDS,
    STATE_WORDS,
    STATUS_WORDS,
    about,
    before_after,
    chance,
    listing,
    some,
    speaks,
)
from kgraph.writing.screen import Screen

SHOWN = 3
FIRST_SCREEN = 40
#: How far the first screen may be tightened to fit: examples, then sources, then lesser cautions go; `avoid` never does.
_TIGHTEST, _KEEPS_PATHS = 7, 5
#: A poison that the findings lift this much, to at least this probability, is warned of on the first line.
_POISON_DB, _POISON_POSTERIOR = 5.0, 0.02


def render(answer: Answer, ontology: Ontology, *, full_answer: bool = False, numbers: bool = False, width: int = 88, bold: bool = False) -> str:
    """The answer as text.

    Args:
        full_answer: everything, with the full list of sources; else the first screen.
        numbers: add the figures (probabilities before and after, weights in decibans).
    """
    text = ""
    for tight in range(1 if full_answer else _TIGHTEST + 1):
        writer = _Writer(answer, ontology, Screen(width, bold), full_answer, numbers, tight)
        writer.write()
        text = writer.screen.text()
        # whole paths are given up only where the screen would be too long even without its warnings
        counted = len(writer.screen.lines) - (writer.screen.warning_lines if tight >= _KEEPS_PATHS else 0)
        if counted <= FIRST_SCREEN:
            break
    return text


class _Writer:
    def __init__(self, answer: Answer, ontology: Ontology, screen: Screen, full_answer: bool, numbers: bool, tight: int) -> None:
        self.answer = answer
        self.ontology = ontology
        self.screen = screen
        self.full = full_answer
        self.numbers = numbers
        self.tight = tight
        self.cites = Citations(ontology)

    def write(self) -> None:
        self._emergency()
        self._read()
        self._label()
        self._families()
        self._actions()
        self._against()
        self._odd()
        self._cautions()
        self._cannot_show()
        self._next()
        if self.full:
            self._unchanged()
            self._uses()
            self._conditions()
            self._impressions()
        self._sources()
        self.screen.item(self.answer.notice, 0, 0)

    # -- warnings first ----------------------------------------------------------------------------------------

    def _emergency(self) -> None:
        label, understood = self.answer.label, self.answer.understood
        if label.taste_safety == "do-not-taste":
            name = "The labelled herb" if label.sealed else f"{label.label} ({label.name})"
            self.screen.item(
                f"STOP. {name} is never to be tasted: {'its label says so' if label.sealed else label.taste_note}. "
                "If any was swallowed, call a poison centre now; rinse, do not wait for signs.", 0, 4,
            )
        if understood.stop_signs:
            self.screen.item(
                f"STOP. {listing(understood.stop_signs).capitalize()}: taste no more, rinse the mouth, and call a poison centre or an emergency number now.", 0, 4,
            )

        poisons = [
            f"{c.label} ({about(c.posterior)})" for c in self.answer.classes
            if c.posterior >= _POISON_POSTERIOR and c.weight_db >= _POISON_DB and self._never_taste(c.id)
        ]
        if poisons:
            self.screen.item(
                f"WARNING. These findings fit poisons too that are never to be tasted: {listing(poisons)}. "
                "Unless the herb is known for certain, taste no more; if any was swallowed, call a poison centre now.", 0, 4,
            )

    def _never_taste(self, class_id: str) -> bool:
        return any(h.id == "do-not-taste" and h.severity == "avoid" and class_id in h.because for h in self.answer.cautions)

    def _read(self) -> None:
        u = self.answer.understood
        there = [f"{c.label} ({STATE_WORDS[c.state]}{self._of_tasters(c.reporting, c.tasters)})" for c in u.cells if c.state != "absent" and not c.quality.startswith("test/")]
        absent = [c.label for c in u.cells if c.state == "absent" and not c.quality.startswith("test/")]
        parts = [listing(there)] if there else []
        if absent:
            parts.append(f"not there: {listing(absent)}")
        tests = [f"{self.ontology.label('test', test)}: {'yes' if seen else 'no'}" for test, seen in u.tests]
        parts += tests
        sample = f"sample {u.code}, " if u.code else ""
        count = f"{len(u.tasters)} tasters, " if len(u.tasters) > 1 else ""
        self.screen.item(f"Read: {sample}{count}{'; '.join(parts)}.", 0, 6)
        if u.silent:
            names = [c.label for c in u.silent]
            self.screen.item(f"Looked for and not mentioned: {listing(names) if self.full else some(names, 6 if self.tight < 4 else 3)}.", 0, 6)
        if u.left_out:
            self.screen.item(f"Left out of the sums, too many findings at once: {listing(u.left_out)}.", 0, 6)

    def _of_tasters(self, reporting: int, tasters: int) -> str:
        return f", {reporting} of {tasters}" if tasters > 1 else ""

    # -- the label ---------------------------------------------------------------------------------------------

    def _label(self) -> None:
        label, heeds = self.answer.label, self.answer.label_cautions
        if not label.herb:
            return
        avoid = [h for h in heeds if h.severity == "avoid"]
        if label.sealed:
            self.screen.item(f"From the label (sealed): this label carries {len(heeds)} cautions, {len(avoid)} of them avoid.", 0, 6)
            return
        note = f" ({label.taste_note})" if label.taste_note and label.taste_safety == "small-amount" else ""
        self.screen.item(f"From the label: {label.label}, {label.name}, {label.part}; {SAFETY_WORDS[label.taste_safety]}{note}.", 0, 6)
        if self.full:
            for heed in heeds:
                self.screen.item(self._heed_text(heed))
        else:
            self._compact(avoid, "AVOID")
            rest = [h for h in heeds if h.severity != "avoid"]
            if rest and self.tight >= 6:
                self.screen.item(f"mind too: {len(rest)} lesser cautions (--full)")
            elif rest:
                self.screen.item(f"mind too: {some(list(dict.fromkeys(h.label for h in rest)), 7 if self.tight < 3 else 3)}")
        dangerous = [c for c in label.confused_with if c.taste_safety == "do-not-taste"]
        if not self.full and dangerous and self.tight >= 2:
            self.screen.item(f"mistaken for {listing(dict.fromkeys(c.label for c in dangerous))} (never to be tasted): tell apart as --full says")
            return
        for c in label.confused_with if self.full else dangerous[:2]:
            danger = " (never to be tasted)" if c.taste_safety == "do-not-taste" else ""
            self.screen.item(f"mistaken for {c.label}{danger}: {c.how} {self.cites.mark(c.claims)}")

    def _compact(self, heeds: Sequence[Heed], word: str) -> None:
        """Avoid lines are never shortened away: each is named."""
        names = dict.fromkeys(h.label + (f" (under {h.under_age:g} years)" if h.under_age else "") + (f" ({h.preparation})" if h.preparation != "any" else "") for h in heeds)
        if names:
            self.screen.item(f"{word}: {'; '.join(names)}")

    def _heed_text(self, heed: Heed) -> str:
        limits = [f"under {heed.under_age:g} years"] if heed.under_age else []
        limits += [f"at most {heed.max_days:g} days"] if heed.max_days else []
        limits += [heed.preparation] if heed.preparation != "any" else []
        tail = f" ({', '.join(limits)})" if limits else ""
        why = ""
        if heed.origin == "tasting" and heed.probability is not None:
            why = f" Because of {listing(self.ontology.label('class', c) for c in heed.because[:3])}; {about(heed.probability)}."
        detail = heed.detail[:1].upper() + heed.detail[1:].rstrip(".")
        return f"{SEVERITY_WORDS[heed.severity]}: {heed.label}{tail}. {detail}.{why} {self.cites.mark(heed.claims)}"

    # -- candidates --------------------------------------------------------------------------------------------

    def _families(self) -> None:
        risen = self.answer.risen("families")
        self.screen.heading("What may be in the cup: before → after the tasting")
        if not risen:
            self.screen.item("Nothing is much likelier than before.")
        for place, c in enumerate(risen if self.full else risen[:SHOWN]):
            self.screen.item(f"{c.label}: {before_after(c.prior, c.posterior)}; {speaks(c.word, c.weight_db)}{self._figures(c)}")
            for path in c.paths if self.full else c.paths[: self._paths(place)]:
                if path.probability >= 0.005:
                    self.screen.item(self._finding_link(path), 4, 2)
            if c.parted and c.members:
                self._members(c)

    def _paths(self, place: int) -> int:
        """One path a candidate; on the tightest screens the last ones go without."""
        return 0 if self.tight >= 6 and place >= 8 - self.tight else 1

    def _members(self, family: Candidate) -> None:
        classes = {c.id: c for c in self.answer.classes}
        ranked = sorted((classes[m] for m in family.members), key=lambda c: (-(c.posterior - c.prior), c.id))
        ranked = [c for c in ranked if c.weight_db > 0 and c.posterior >= 0.02]
        if self.full and ranked:
            self.screen.item("in this order: " + ", ".join(f"{c.label} ({chance(c.posterior)})" for c in ranked[:8]), 4, 2)

    def _figures(self, c: Candidate) -> str:
        return f" [{c.prior:.3f} → {c.posterior:.3f}, {c.weight_db:+.1f} dB]" if self.numbers else ""

    def _finding_link(self, path: Path) -> str:
        quality = self._quality(path.quality)
        cls = self.ontology.label("class", path.cls)
        mechanism = next((t for id in path.claims if (t := self.ontology.claim(id).text("mechanism"))), "")
        because = f", because: {mechanism}" if mechanism and self.full else ""
        if not self.full:
            return f"{quality} ← {cls} {self.cites.mark(path.claims)}; {about(path.probability)}"
        return f"{quality}, given {self._strength(path.claims[0])} by {cls} {self.cites.mark(path.claims)}; here {about(path.probability)}{because}"

    def _strength(self, claim: str) -> str:
        return self.ontology.claim(claim).word.replace("-", " ")

    def _quality(self, percept: str) -> str:
        if percept.startswith("test/"):
            return self.ontology.label("test", percept.removeprefix("test/"))
        return self.ontology.label("quality", percept)

    def _actions(self) -> None:
        risen = self.answer.risen("actions")
        self.screen.heading("What it belongs with, by practice; no promise that it works")
        if not risen:
            self.screen.item("No action is much likelier than before.")
        for place, c in enumerate(risen if self.full else risen[:SHOWN]):
            herbs, total = c.documented
            share = f"; {herbs} of {total} herbs" if total else ""
            self.screen.item(f"{c.label}: {before_after(c.prior, c.posterior)}; {speaks(c.word, c.weight_db)}{share}{self._figures(c)}")
            for path in c.paths if self.full else c.paths[: self._paths(place)]:
                if path.probability >= 0.005:
                    self.screen.item(self._action_link(path), 4, 2)

    def _action_link(self, path: Path) -> str:
        # the action's own claims stand last; its ruling claim is the first of them
        acts = [id for id in path.claims if id.startswith("acts_as/")]
        evokes = [id for id in path.claims if not id.startswith("acts_as/")]
        if not self.full:
            how = self.ontology.claim(acts[0])
            return (
                f"{self._quality(path.quality)} → {self.ontology.label('class', path.cls)}, {self._strength(acts[0])} ({how.basis}) "
                f"{self.cites.mark([*evokes, *acts])}; {about(path.probability)}"
            )
        claim = self.ontology.claim(acts[0])
        basis = BASIS_WORDS.get(claim.basis, "")
        known = f", known from {basis}" if basis else ""
        return (
            f"{self._quality(path.quality)} → {self.ontology.label('class', path.cls)} {self.cites.mark(evokes)} → "
            f"{self.ontology.label('action', path.action)}, {self._strength(acts[0])}{known} {self.cites.mark(acts)}; here {about(path.probability)}"
        )

    def _against(self) -> None:
        top = [*self.answer.risen("families")[:SHOWN], *self.answer.risen("actions")[:SHOWN]]
        weights: dict[str, tuple[str, list[str]]] = {}
        for candidate in top:
            for against in candidate.against:
                if against.weight_db <= -0.2:
                    weights.setdefault(against.quality, (against.state, []))[1].append(candidate.label)
        lines = [f"{self._quality(q)} was {STATE_WORDS[state]} (against {listing(dict.fromkeys(labels))})" for q, (state, labels) in weights.items()]
        if lines:
            self.screen.item("Speaks against: " + "; ".join(lines if self.full else lines[: 3 if self.tight < 4 else 1]) + ".", 0, 4)
        else:
            self.screen.item("Speaks against: nothing that was looked for weighs against these.", 0, 4)

    def _odd(self) -> None:
        parts = []
        for u in self.answer.unexplained:
            faked = f"; {about(u.faked)} it comes from how the cup was made or who tasted" if u.faked >= 0.05 else ""
            parts.append(f"{u.label} ({about(u.probability)}{faked})" if faked or self.tight < 4 else u.label)
        if parts:
            self.screen.item(f"Nothing here accounts for {listing(parts)}.", 0, 4)
        fakes = [c for c in self.answer.conditions if c.relation == "fakes" and c.explains is not None]
        named = {u.quality for u in self.answer.unexplained}
        for c in fakes:
            if c.target not in named and c.explains is not None and c.explains >= 0.05:
                self.screen.item(f"Mind the cup: {c.label} gives {c.target_label} too; {about(c.explains)} that it alone did so {self.cites.mark([c.claim])}.", 0, 4)

    # -- cautions ----------------------------------------------------------------------------------------------

    def _cautions(self) -> None:
        heeds = self.answer.cautions
        self.screen.heading("Mind, from this tasting")
        if not heeds:
            self.screen.item("No caution is raised by these findings; that is no sign of safety.")
        elif self.full:
            for heed in heeds:
                self.screen.item(self._heed_text(heed))
        else:
            avoid = [h for h in heeds if h.severity == "avoid"]
            self._by_class(avoid, "AVOID", 1_000)
            care = [h for h in heeds if h.severity == "care"]
            if self.tight >= 6:
                self.screen.item(f"care: {len(care)} lesser cautions (--full).")
            else:
                self._by_class(care, "care", 3 - self.tight // 2, 6 - self.tight)

    def _by_class(self, heeds: Sequence[Heed], word: str, most: int, names: int = 1_000) -> None:
        """Cautions under the class that matters most for each: `AVOID if aconite-type alkaloids are there (1 in 10): ...`."""
        posterior = {c.id: c.posterior for c in self.answer.classes}
        by_class: dict[str, list[str]] = {}
        for heed in heeds:
            by_class.setdefault(heed.because[0], []).append(heed.label)
        groups = [
            f"for {self.ontology.label('class', c)} ({about(posterior[c])}): {some(list(dict.fromkeys(labels)), names)}"
            for c, labels in sorted(by_class.items(), key=lambda pair: -posterior[pair[0]])
        ]
        if groups:
            more = f" and for {len(groups) - most} more (--full)" if len(groups) > most else ""
            self.screen.item(f"{word} {'; '.join(groups[:most])}{more}.")

    def _cannot_show(self) -> None:
        hidden = self.answer.cannot_show
        if not hidden:
            return
        self.screen.heading("What taste cannot show")
        if self.full:
            for h in hidden:
                self.screen.item(self._hidden_text(h))
            return
        silent = [h.label for h in hidden if not h.by]
        tasted = [h for h in hidden if h.by]
        doubles = [h for h in tasted if h.harmless][:2]
        if silent and self.tight >= 5 and tasted:
            self.screen.item(f"{silent[0]} and {len(silent) - 1} more poisons have no taste; {tasted[0].label} and {len(tasted) - 1} more taste like harmless herbs (--full).")
            return
        if silent:
            self.screen.item(f"Poisons with nothing to taste: {some(silent, 6 - self.tight)}.")
        if tasted:
            example = "; ".join(f"{h.poison_label} shares {listing(self._quality(q) for q in h.shared)} with {h.harmless_label}" for h in doubles[: 2 if self.tight < 1 else 1 if self.tight < 4 else 0])
            self.screen.item(f"Poisons that taste like harmless herbs: {some([h.label for h in tasted], 4 - self.tight // 2)}" + (f" ({example})." if example else "."))

    def _hidden_text(self, h: Hidden) -> str:
        if not h.by:
            start = f"{h.label}: nothing to taste gives it away"
        else:
            start = f"{h.label}: {self._quality(h.by)} is its plainest sign, and harmless herbs have it too"
        if h.poison and h.harmless:
            return f"{start}; {h.poison_label} shares {listing(self._quality(q) for q in h.shared)} with {h.harmless_label}."
        return f"{start}{f' ({h.poison_label})' if h.poison else ''}."

    def _next(self) -> None:
        looks = self.answer.next
        if not looks:
            return
        why = f" (looking and bench tests only: {self.answer.only_looking})" if self.answer.only_looking else ""
        if self.full:
            self.screen.heading(f"What would tell most next{why}")
            for look in looks:
                steps = f": {look.steps}" if look.steps else ""
                self.screen.item(f"{look.label} ({look.kind}){steps}{f' [{look.bits:.2f} bits]' if self.numbers else ''}")
        else:
            shown = looks[: 3 if self.tight < 4 else 2]
            self.screen.item(f"Would tell most next: {listing(look.label for look in shown)}{why}.", 0, 4)

    # -- the rest ----------------------------------------------------------------------------------------------

    def _unchanged(self) -> None:
        for group, title in (("families", "constituents"), ("actions", "actions")):
            everything: tuple[Candidate, ...] = getattr(self.answer, group)
            common = [f"{c.label} ({chance(c.posterior)})" for c in everything if c.standing == "unchanged" and c.posterior >= 0.1]
            less = [f"{c.label} ({before_after(c.prior, c.posterior)})" for c in everything if c.standing == "fallen"]
            rare = [f"{c.label} ({before_after(c.prior, c.posterior)})" for c in everything if c.standing == "unlikely"]
            if common:
                self.screen.item(f"Unchanged, common anyway ({title}): {', '.join(common)}.", 0, 4)
            if less:
                self.screen.item(f"Less likely now ({title}): {', '.join(less)}.", 0, 4)
            if rare:
                self.screen.item(f"Likelier than before, yet unlikely ({title}): {', '.join(rare)}.", 0, 4)

    def _uses(self) -> None:
        if not self.answer.uses:
            return
        self.screen.heading("Uses that go with these actions (this says nothing about this sample)")
        for action in dict.fromkeys(u.action for u in self.answer.uses):
            uses = [f"{u.label} ({STATUS_WORDS[u.status]}) {self.cites.mark(u.claims)}" for u in self.answer.uses if u.action == action]
            self.screen.item(f"{self.ontology.label('action', action)}: {'; '.join(uses)}")

    def _conditions(self) -> None:
        if not self.answer.conditions:
            return
        self.screen.heading("How the cup was made, and who tasted")
        words = {"fakes": "gives of itself", "dulls": "changes", "draws": "changes how much passes over of"}
        for id in dict.fromkeys(c.id for c in self.answer.conditions):
            mine = [c for c in self.answer.conditions if c.id == id]
            parts = []
            for relation, word in words.items():
                targets = [f"{c.target_label} (×{c.value:g})" if relation != "fakes" else c.target_label for c in mine if c.relation == relation]
                if targets:
                    parts.append(f"{word} {listing(targets)}")
            self.screen.item(f"{mine[0].label}: {'; '.join(parts)} {self.cites.mark(c.claim for c in mine)}")

    def _impressions(self) -> None:
        if self.answer.understood.impressions:
            self.screen.heading("What it reminded the tasters of (personal; not reasoned on)")
            for taster, text in self.answer.understood.impressions:
                self.screen.item(f"{taster}: {text}")

    def _sources(self) -> None:
        found = self.cites.listing()
        if not found:
            return
        if self.full:
            self.screen.heading("Sources")
            for number, source in found:
                self.screen.item(f"{number} {full(source)}", 2, 4)
        else:
            shown = found if self.tight < 2 else found[: max(3, 12 - 2 * self.tight)]
            rest = f"; {len(found) - len(shown)} more" if len(found) > len(shown) else ""
            self.screen.item("Sources: " + "; ".join(f"{number} {short(source)}" for number, source in shown) + f"{rest} (--full).", 0, 4)
