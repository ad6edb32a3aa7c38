"""Pharmacopoeial requirements, each with its published source, and what the assayed substance should taste of.

A requirement says what a good drug holds at least; it says nothing about the cup. The reading (family, quality) is that
of the assayed substance alone; `quality` is the first it names that the herb's description knows (for saponins the scratch
in the throat rather than the bitter, for caraway its own smell rather than warm-spicy). Left out: herbs that are not on file, powders of a drug that is (but for hyperforin), and bogbean (two figures in dispute). PLAIN holds the figures
whose substance carries no taste: the floral of elder, the salt of nettle, the grit of horsetail and the tingle of
echinacea are true of the drug, not of what is assayed.
"""

from __future__ import annotations

from typing import NamedTuple


class Row(NamedTuple):
    """A published requirement, what it implies, and under which words the ontology gives the same (`""`: it does not)."""

    herb: str
    assay: str
    value: float
    unit: str
    source: str
    family: str
    quality: str
    ontology: str
    bound: str = "min"


def pheur(edition: int, page: str) -> str:
    return f"Ph. Eur. {edition}, reported by University of Zurich phytotherapy database, page {page}.htm"


STUDY = "Ph. Eur., reported by student study cards on pharmacognosy (Austria; a weak source)"
TAN, BIT, MUC, SAP = ("tannins", "astringent-drying"), ("bitter-principles", "bitter"), ("mucilages", "slippery-mucilaginous"), ("saponins", "throat-scratched")
SPICY, CAMPHOR, VALERIAN, COOL = ("spicy-oils", "warm-spicy"), ("camphor-oils", "camphoraceous"), ("woody-oils", "valerianic"), ("cooling-oils", "minty")
ANISE, THYME, PIGMENT = ("spicy-oils", "aniseed"), ("spicy-oils", "phenolic"), "phenolics-and-pigments"
BV, OIL = "bitterness value", "essential oil"
ROWS = (
    # tannins, as pyrogallol
    Row("potentilla-erecta-rhizome", "tannins", 7.0, "% m/m", pheur(8, "0022_ppt"), *TAN, "tannins as pyrogallol, dried drug"),
    Row("quercus-robur-bark", "tannins", 3.0, "% m/m", pheur(10, "0001_phy"), *TAN, "tannins as pyrogallol, dried drug"),
    Row("alchemilla-vulgaris-herb", "tannins", 6.0, "% m/m", pheur(10, "0066_phy"), *TAN, "tannins as pyrogallol, dried drug"),
    Row("hamamelis-virginiana-leaf", "tannins", 3.0, "% m/m", pheur(10, "0081_phy"), *TAN, "tannins as pyrogallol, dried drug"),
    Row("agrimonia-eupatoria-herb", "tannins", 2.0, "% m/m", "Ph. Eur. 8, quoted by EMA/HMPC, assessment report on Agrimonia eupatoria (2014)", *TAN, "tannins as pyrogallol, dried drug"),
    Row("vaccinium-myrtillus-fruit", "tannins", 1.0, "% m/m", pheur(10, "0033_phy"), *TAN, "tannins as pyrogallol, dried drug"),
    Row("salvia-rosmarinus-leaf", "hydroxycinnamic derivatives as rosmarinic acid", 3.0, "% m/m", pheur(10, "0024_phy"), *TAN, "hydroxycinnamic acid derivatives, as rosmarinic acid"),
    Row("melissa-officinalis-leaf", "rosmarinic acid", 1.0, "% m/m", pheur(10, "0060_phy") + "; Ph. Eur. 7 the same", *TAN, "rosmarinic acid"),
    Row("melissa-officinalis-leaf", "hydroxycinnamic derivatives as rosmarinic acid", 4.0, "% m/m", "Ph. Eur. 5, quoted by a plant monograph after a pharmacy diploma thesis; superseded", *TAN, ""),
    # bitterness value (quinine hydrochloride = 200 000), and bitter substances
    Row("gentiana-lutea-root", BV, 10000, BV, pheur(10, "0004_phy"), *BIT, BV),
    Row("artemisia-absinthium-herb", BV, 10000, BV, pheur(10, "0057_phy"), *BIT, BV),
    Row("centaurium-erythraea-herb", BV, 2000, BV, "Ph. Eur. monograph 1301, reported by a general-practice page (Vienna; a weak source)", *BIT, BV),
    Row("taraxacum-officinale-root", BV + " of root with herb", 100, BV, pheur(10, "0036_ppt"), *BIT, "bitterness value, of root with herb"),
    Row("achillea-millefolium-herb", "proazulenes as chamazulene", 0.02, "% m/m", pheur(10, "0009_phy"), *BIT, "proazulenes, as chamazulene"),
    Row("salix-alba-bark", "salicylic derivatives as salicin", 1.5, "% m/m", pheur(10, "0025_ppt"), *BIT, "total salicylic derivatives as salicin (drug of the European Pharmacopoeia, not white willow alone)"),
    Row("harpagophytum-procumbens-root", "harpagoside", 1.2, "% m/m", pheur(10, "0059_phy"), *BIT, "harpagoside"),
    Row("senna-alexandrina-leaf", "hydroxyanthracene derivatives as sennoside B", 2.0, "% m/m", STUDY, *BIT, "hydroxyanthracene derivatives as sennoside B"),
    Row("aloe-ferox-dried-juice", "hydroxyanthracene derivatives as aloin", 18.0, "% m/m", STUDY, *BIT, "hydroxyanthracene derivatives as aloin (barbaloin)"),
    Row("frangula-alnus-bark", "glucofrangulins", 7.0, "% m/m", STUDY, *BIT, "glucofrangulins as glucofrangulin A"),
    Row("arctostaphylos-uva-ursi-leaf", "arbutin", 7.0, "% m/m", pheur(10, "0110_ppt"), "hydroquinone-glycosides", "bitter", "arbutin, anhydrous, dried drug"),
    Row("hypericum-perforatum-herb", "hyperforin, powdered tops", 0.6, "% m/m", "USP-NF, St. John's Wort Flowering Top Powder, definition (M74270)", "naphthodianthrones-and-phloroglucinols", "bitter", "hyperforin (powdered tops)"),
    # swelling index
    Row("althaea-officinalis-root", "swelling index", 10, "mL/g", pheur(10, "0012_ppt"), *MUC, "swelling number"),
    Row("malva-sylvestris-flower", "swelling index", 15, "mL/g", pheur(10, "0051_phy"), *MUC, "swelling number"),
    Row("linum-usitatissimum-seed", "swelling index", 4, "mL/g", pheur(10, "0018_phy"), *MUC, "swelling number"),
    Row("plantago-ovata-husk", "swelling index", 40, "mL/g", pheur(10, "0099_phy"), *MUC, "swelling number"),
    Row("trigonella-foenum-graecum-seed", "swelling index", 6, "mL/g", pheur(10, "0083_phy"), *MUC, "swelling index, powdered drug"),
    # volatile oil, with the component that leads it
    Row("mentha-x-piperita-leaf", "oil, whole leaf (menthol)", 12, "mL/kg", pheur(8, "0020_ppt"), *COOL, "essential oil, whole leaf"),
    Row("mentha-x-piperita-leaf", "oil, cut leaf (menthol)", 9, "mL/kg", pheur(8, "0020_ppt"), *COOL, "essential oil, cut leaf"),
    Row("thymus-vulgaris-herb", "oil (thymol)", 12, "mL/kg", pheur(10, "0030_ppt"), *THYME, OIL),
    Row("thymus-vulgaris-herb", "thymol and carvacrol", 40, "% of the oil", pheur(10, "0030_ppt"), *THYME, "thymol and carvacrol together, in the oil"),
    Row("thymus-vulgaris-herb", "oil (thymol), as a spice", 10, "mL/kg", "Austrian Food Codex, chapter B 28, 2.3.7, which says 1.0 percent", *THYME, ""),
    Row("salvia-officinalis-leaf", "oil, whole leaf (thujone, camphor)", 15, "mL/kg", pheur(8, "0026_ppt"), *CAMPHOR, "essential oil, whole leaf"),
    Row("salvia-officinalis-leaf", "oil, cut leaf (thujone, camphor)", 10, "mL/kg", pheur(8, "0026_ppt"), *CAMPHOR, "essential oil, cut leaf"),
    Row("salvia-rosmarinus-leaf", "oil (camphor, cineole)", 12, "mL/kg", pheur(10, "0024_phy"), *CAMPHOR, "essential oil"),
    Row("eucalyptus-globulus-leaf", "oil, whole leaf (cineole)", 20, "mL/kg", pheur(10, "0071_ppt"), *CAMPHOR, "essential oil, whole leaf"),
    Row("eucalyptus-globulus-leaf", "oil, cut leaf (cineole)", 15, "mL/kg", pheur(10, "0071_ppt"), *CAMPHOR, "essential oil, cut leaf"),
    Row("foeniculum-vulgare-fruit", "fenchone, bitter fennel", 15, "% of the oil", pheur(8, "0014_ppt"), *CAMPHOR, "fenchone in the oil, bitter fennel"),
    Row("achillea-millefolium-herb", "oil (cineole, camphor)", 2, "mL/kg", pheur(10, "0009_phy") + "; Ph. Eur. 5 the same, in Hager's handbook", *CAMPHOR, OIL),
    Row("foeniculum-vulgare-fruit", "oil, bitter fennel (anethole)", 40, "mL/kg", pheur(8, "0014_ppt"), *ANISE, "essential oil, bitter fennel"),
    Row("foeniculum-vulgare-fruit", "anethole, bitter fennel", 60, "% of the oil", pheur(8, "0014_ppt"), *ANISE, "anethole in the oil, bitter fennel"),
    Row("pimpinella-anisum-fruit", "oil (anethole)", 20, "mL/kg", pheur(10, "0050_phy"), *ANISE, "essential oil, anhydrous drug"),
    Row("carum-carvi-fruit", "oil (carvone)", 30, "mL/kg", pheur(10, "0013_phy") + "; Ph. Eur. 7 the same", "spicy-oils", "caraway-like", OIL),
    Row("syzygium-aromaticum-flower-bud", "oil (eugenol)", 150, "mL/kg", pheur(10, "0135_phy"), *SPICY, OIL),
    Row("cinnamomum-verum-bark", "oil (cinnamaldehyde)", 12, "mL/kg", pheur(10, "0086_phy") + "; Ph. Eur. 7 the same", *SPICY, OIL),
    Row("lavandula-angustifolia-flower", "oil (linalool)", 13, "mL/kg", pheur(10, "0106_ppt"), "floral-oils", "floral", OIL),
    Row("juniperus-communis-cone", "oil (pinene)", 10, "mL/kg", pheur(10, "0061_phy"), "citrus-and-pine-oils", "resinous", OIL),
    Row("angelica-archangelica-root", "oil (phellandrene)", 2.0, "mL/kg", pheur(10, "0006_phy"), "citrus-and-pine-oils", "warm-spicy", "essential oil, dried drug"),
    Row("valeriana-officinalis-root", "oil", 4, "mL/kg", pheur(10, "0058_phy"), *VALERIAN, OIL),
    Row("valeriana-officinalis-root", "sesquiterpenic acids as valerenic acid", 0.17, "% m/m", pheur(10, "0058_phy"), *VALERIAN, "sesquiterpenic acids, as valerenic acid"),
    Row("curcuma-longa-rhizome", "oil (turmerones)", 25, "mL/kg", pheur(10, "0040_ppt"), "woody-oils", "earthy", OIL),
    Row("matricaria-chamomilla-flower", "oil (bisabolol type)", 4, "mL/kg", pheur(10, "0019_phy"), "woody-oils", "floral", "essential oil (blue)"),
    # saponins, sweet glycosides, phenolics and pigments
    Row("aesculus-hippocastanum-seed", "triterpene glycosides as protoaescigenin", 1.5, "% m/m", pheur(10, "0076_ppt"), *SAP, "triterpene glycosides as protoaescigenin"),
    Row("aesculus-hippocastanum-seed", "triterpene glycosides as escin", 3.0, "% m/m", "USP-NF, Horse Chestnut, definition (M14920)", *SAP, "triterpene glycosides as escin"),
    Row("hedera-helix-leaf", "hederacoside C", 3.0, "% m/m", pheur(10, "0054_phy"), *SAP, "hederacoside C"),
    Row("glycyrrhiza-glabra-root", "18-beta-glycyrrhizic acid", 4.0, "% m/m", pheur(10, "0017_phy"), "sweet-glycosides", "sweet", "18-beta-glycyrrhizic acid"),
    Row("curcuma-longa-rhizome", "curcumin type", 2.0, "% m/m", pheur(10, "0040_ppt"), PIGMENT, "golden-yellow", "dicinnamoylmethane derivatives as curcumin"),
    Row("vaccinium-myrtillus-fruit", "anthocyanins, fresh fruit", 0.3, "% m/m", pheur(10, "0034_ppt"), PIGMENT, "purple-blue", "anthocyanins as cyanidin-3-glucoside chloride, fresh fruit (Myrtilli fructus recens), on dried drug"),
    Row("crataegus-monogyna-leaf-flower", "flavonoids as hyperoside", 1.5, "% m/m", pheur(10, "0073_phy"), PIGMENT, "bitter", "total flavonoids as hyperoside, dried drug"),
    Row("betula-pendula-leaf", "flavonoids as hyperoside", 1.5, "% m/m", "Ph. Eur., quoted by pharmacy study notes, Betulae folium (a weak source)", PIGMENT, "bitter", "flavonoids as hyperoside, dried drug"),
    Row("plantago-lanceolata-leaf", "acteoside type", 1.5, "% m/m", pheur(10, "0023_phy"), PIGMENT, "bitter", "ortho-dihydroxycinnamic acid derivatives, as acteoside"),
)
# Figures that imply no taste.
PLAIN = (
    Row("matricaria-chamomilla-flower", "apigenin 7-glucoside", 0.25, "% m/m", pheur(10, "0019_phy"), "", "", "total apigenin 7-glucoside"),
    Row("hypericum-perforatum-herb", "hypericins", 0.08, "% m/m", pheur(8, "0055_ppt"), "", "", "total hypericins as hypericin"),
    Row("sambucus-nigra-flower", "flavonoids as isoquercitroside", 0.8, "% m/m", pheur(10, "0028_phy"), "", "", "flavonoids as isoquercitroside, dried drug"),
    Row("urtica-dioica-leaf", "chlorogenic acid type", 0.3, "% m/m", pheur(10, "0027_ppt"), "", "", "caffeoylmalic and chlorogenic acid, as chlorogenic acid"),
    Row("equisetum-arvense-herb", "flavonoids as isoquercitroside", 0.3, "% m/m", pheur(10, "0112_ppt"), "", "", "total flavonoids, as isoquercitroside"),
    Row("echinacea-purpurea-herb", "caftaric plus cichoric acid", 0.1, "% m/m", pheur(8, "0008_ppt"), "", "", "caftaric plus cichoric acid"),
    Row("gentiana-lutea-root", "water-soluble extractive", 33, "% m/m", pheur(10, "0004_phy"), "", "", "water-soluble extractive"),
    Row("foeniculum-vulgare-fruit", "estragole, bitter fennel", 5, "% of the oil", pheur(8, "0014_ppt"), "", "", "estragole in the oil, bitter fennel", "max"),
    Row("lavandula-angustifolia-flower", "camphor", 1, "% of the oil", pheur(10, "0106_ppt"), "", "", "camphor in the oil", "max"),
)
