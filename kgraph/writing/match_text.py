"""The answer to *which herb* on a terminal."""

from __future__ import annotations

from kgraph.claims import Ontology
from kgraph.reasoning.match import HerbFit, Match, Point
from kgraph.writing import blend_text, steady_text
from kgraph.writing.citing import Citations, full
from kgraph.writing.plain import SAFETY_WORDS, about, listing
from kgraph.writing.screen import Screen

SHOWN = 5
STEPS = (
    "the supplier's papers: botanical name, part, lot, country, year of harvest",
    "the whole sample by eye and under a lens, against a good photograph or a voucher; foreign parts, mould, insects, sand",
    "for a plant gathered in the wild: flower, fruit and leaf named by someone who knows the flora, before anything of it is tasted",
)


def _herb(fit: HerbFit) -> str:
    return f"{fit.label} ({fit.name}, {fit.part})"


def _points(points: tuple[Point, ...], *, documented: bool) -> str:
    texts = []
    for point in points:
        word = {"unnoticed": "not mentioned", "absent": "not there"}.get(point.reported, point.reported)
        books = f"; books: {point.documented}" if documented and point.documented else ""
        texts.append(f"{point.label} ({word}{books})")
    return ", ".join(texts)


def render(found: Match, ontology: Ontology, *, full_answer: bool = False, numbers: bool = False, width: int = 88, bold: bool = False) -> str:
    """Poisons that are near first; the claimed herb; quality; the herbs on file, best first; the steps before any tasting."""
    screen, cite = Screen(width, bold), Citations(ontology)
    labels = {h.id: h for h in found.herbs}
    if found.poisons_near:
        near, one = [_herb(labels[id]) for id in found.poisons_near], len(found.poisons_near) == 1
        lead = "this herb is" if one else f"these {len(near)} herbs are"
        screen.item(
            f"WARNING: {lead} never to be tasted, and {'fits' if one else 'fit'} these findings too; taste does not rule {'it' if one else 'them'} out: {'; '.join(near)}. "
            "Taste no more of this until it is named by looking.", indent=0)
    _claimed(screen, cite, found, labels)
    _blend(screen, cite, found)
    if found.quality:
        screen.heading("Its quality")
        for _, text in found.quality:
            screen.item(text)
    if found.blend:
        screen.item("These are single herbs; a blend fits none of them as a whole.")
    tried = found.sensitivity
    explained = f"; stays first to third in x of {tried.draws} tries" if tried else ""
    screen.heading(f"Herbs on file, as far as taste goes{explained}")
    followed = {one.id: one for one in tried.herbs} if tried else {}
    shown = [h for h in found.herbs if h.word != "does not fit"] if full_answer else list(found.herbs[:SHOWN])
    for herb in shown:
        safety = "" if herb.taste_safety == "ok" else f"; {SAFETY_WORDS[herb.taste_safety]}"
        apart = f"; cannot be told apart from {listing(labels[id].label for id in herb.apart_from[:3])}" if herb.apart_from else ""
        figures = f" [{herb.prior:.3f} to {herb.posterior:.3f}, {herb.weight_db:+.1f} dB]" if numbers else ""
        thin = f"; only {herb.described} qualities are documented" if herb.described < 4 else ""
        stays = f"; {steady_text.stays(followed[herb.id], tried.draws, numbers=numbers)}" if tried and herb.id in followed else ""
        screen.item(f"{_herb(herb)}: {about(herb.posterior)}, {herb.word}{stays}{apart}{safety}{thin}{figures}")
    screen.item(f"none of these: {about(found.none[1])}" + (f" [{found.none[0]:.2f} to {found.none[1]:.3f}]" if numbers else ""))
    if tried:
        screen.item(steady_text.hinges(tried, numbers=numbers))
    screen.heading("Before any tasting")
    for step in STEPS:
        screen.item(step)
    if cite.numbers:
        screen.heading("Sources")
        for number, source in cite.listing():
            screen.item(f"[{number}] {full(source)}")
    screen.item("Taste alone never names a herb. " + found.notice, indent=0)
    return screen.text()


def _claimed(screen: Screen, cite: Citations, found: Match, labels: dict[str, HerbFit]) -> None:
    claimed = found.claimed
    if claimed is None:
        return
    fit = labels[claimed.id]
    screen.heading(f"Held against {_herb(fit)}: {fit.word}")
    if fit.taste_safety == "do-not-taste":
        screen.item("STOP. This herb is never to be tasted. If any was swallowed, call a poison centre now.")
    for points, lead in ((claimed.fits, "fits"), (claimed.missing, "should be there and is not"), (claimed.unaccounted, "is there, and nothing in the herb accounts for it")):
        if points:
            screen.item(f"{lead}: {_points(points, documented=True)}")
    if claimed.not_asked:
        screen.item(f"documented, and not asked: {listing(label for _, label in claimed.not_asked)}")
    avoid = [c for c in claimed.cautions if c.severity == "avoid"]
    for caution in avoid:
        screen.item(f"AVOID: {caution.label}: {caution.detail} {cite.mark(caution.claims)}".rstrip())
    if len(claimed.cautions) > len(avoid):
        screen.item(f"and {len(claimed.cautions) - len(avoid)} more cautions (kgraph ask shows them)")
    for other in claimed.confusable:
        deadly = " (never to be tasted)" if other.taste_safety == "do-not-taste" else ""
        screen.item(f"{other.kind.replace('-', ' ')}: {other.label}{deadly}: {other.how} {cite.mark(other.claims)}".rstrip())


def _blend(screen: Screen, cite: Citations, found: Match) -> None:
    if found.blend is None:
        return
    never = [label for _, label, safety in found.blend.herbs if safety == "do-not-taste"]
    if never:
        screen.item(f"STOP. {', '.join(never)} in this blend: never to be tasted. If any was swallowed, call a poison centre now.", 0)
    for line in blend_text.lines(found.blend):
        screen.item(line, 0)
    for caution in found.blend_cautions:
        if caution.severity == "avoid":
            screen.item(f"AVOID: {caution.label}: {caution.detail} {cite.mark(caution.claims)}".rstrip())
    rest = dict.fromkeys(c.label for c in found.blend_cautions if c.severity != "avoid")
    if rest:
        screen.item(f"mind too: {listing(rest)}")
