"""Controls: what a book denies of a herb must not be concluded from the herb's own description."""

from __future__ import annotations

import pytest
from documented import described, params, record_of, rise_db, risen

from kgraph.session import Knowledge
from kgraph.tasting import Finding

OILS = ("camphor-oils", "citrus-and-pine-oils", "cooling-oils", "floral-oils", "spicy-oils", "volatile-oil-of-unstated-type", "woody-oils")
#: Denied quality to (families that may not rise, the same turned into a report).
DENIED = {
    "astringent-drying": (("tannins",), "astringent-drying"),
    "bitter": (("bitter-principles",), "bitter"),
    "insipid": (("bitter-principles",), "bitter"),
    "burning-pungent": (("hot-pungents", "sulphur-pungents"), "burning-pungent"),
    "faint-or-none": (OILS, "aromatic"),
}
#: Herbs whose books deny it. Under `faint-or-none`: those where other findings would raise an oil if the nose had not been asked.
CONTROLS = {
    "astringent-drying": ("gentiana-lutea-root", "picrasma-excelsa-wood"),
    "bitter": ("astragalus-mongholicus-root", "bistorta-officinalis-rhizome", "potentilla-erecta-rhizome"),  # from memory in the ontology
    "insipid": ("equisetum-arvense-herb", "linum-usitatissimum-seed", "malva-sylvestris-flower", "passiflora-incarnata-herb", "plantago-ovata-husk", "ribes-nigrum-leaf"),
    "burning-pungent": ("illicium-verum-fruit",),
    "faint-or-none": (
        "aconitum-napellus-root", "althaea-officinalis-root", "arctium-lappa-root", "arum-maculatum-leaf", "betonica-officinalis-herb",
        "brassica-nigra-seed", "capsicum-annuum-fruit", "cichorium-intybus-root", "colchicum-autumnale-corm", "cynara-cardunculus-leaf",
        "daphne-mezereum-bark", "echinacea-angustifolia-root", "eleutherococcus-senticosus-root", "elymus-repens-rhizome",
        "piper-methysticum-rhizome", "sinapis-alba-seed", "symphytum-officinale-root", "taraxacum-officinale-root",
        "trifolium-pratense-flower", "ulmus-rubra-bark", "veratrum-album-rhizome", "viola-tricolor-herb", "viscum-album-herb",
        "zanthoxylum-clava-herculis-bark", "zea-mays-stigma",
    ),
}
#: Chilli: the nose denied, spicy oils still rise (0.09 to 0.19): heat and warmth outweigh a denied smell.
#: Meadow saffron, white hellebore: numbness points to clove-type oils a little more (0.09 to 0.13) than the denied smell speaks against them.
KNOWN_MISSES = {
    ("faint-or-none", "capsicum-annuum-fruit"): "spicy oils rise by 4 dB through heat and warmth, though no smell is described",
    ("faint-or-none", "colchicum-autumnale-corm"): "spicy oils rise by 1.6 dB through numbness",
    ("faint-or-none", "veratrum-album-rhizome"): "spicy oils rise by 1.6 dB through numbness",
}
PAIRS = [(quality, herb) for quality, herbs in CONTROLS.items() for herb in herbs]


@pytest.mark.parametrize("pair", params(PAIRS, KNOWN_MISSES, lambda pair: pair, " denied of ".join))
def test_what_is_denied_does_not_rise(pair: tuple[str, str], known: Knowledge) -> None:
    """With the herb's own description, no family of the denied quality is among those that rose."""
    quality, herb = pair
    found = risen(known.ask(record_of(known.ontology, herb)))
    assert [family for family in DENIED[quality][0] if family in found] == []


@pytest.mark.parametrize(("quality", "herb"), PAIRS)
def test_the_control_can_fail(quality: str, herb: str, known: Knowledge) -> None:
    """The denial is documented and does the work: turned round it lets a family rise."""
    o = known.ontology
    found = described(o, herb)
    assert quality in found and (found[quality] == 0 or o.qualities[quality].kind == "absence")
    families, report = DENIED[quality]
    turned = record_of(o, herb, lambda finding: finding.quality != quality, Finding(report, 3))
    assert set(families) & set(risen(known.ask(turned)))


@pytest.mark.parametrize(("quality", "herb"), [pair for pair in PAIRS if pair[0] != "faint-or-none"])
def test_a_denial_lowers(quality: str, herb: str, known: Knowledge) -> None:
    """What is flatly denied makes its family less likely than before."""
    assert all(rise_db(known, record_of(known.ontology, herb), family) < 0 for family in DENIED[quality][0])


def test_no_herb_without_smell_raises_an_oil(known: Knowledge) -> None:
    """Over all herbs described as without smell, at least 70, an oil rises in three: strongly for chilli, by less than 2 dB for two."""
    o = known.ontology
    herbs = [herb for herb in sorted(o.herbs) if "faint-or-none" in described(o, herb)]
    assert len(herbs) >= 70
    assert [herb for herb in herbs if set(OILS) & set(risen(known.ask(record_of(o, herb))))] == [
        "capsicum-annuum-fruit", "colchicum-autumnale-corm", "veratrum-album-rhizome",
    ]


def test_there_are_enough_controls() -> None:
    """37 controls, of which three are known misses."""
    assert (len(PAIRS), len(KNOWN_MISSES)) == (37, 3)
