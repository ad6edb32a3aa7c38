"""Published associations of a taste, smell or mouthfeel with a use or a constituent, each with its source, in our ids.

All 103 rows that were gathered and read are here: 69 in ROWS and 34 in DROPPED. They were put into our ids before anything was
compared, by four rules. A published complaint becomes all of our uses that it covers; where we have none, an action that
means it; else the row is dropped. A constituent becomes its class, and is judged by its family. A word of the mouth becomes
our word. What is published in words only ("associated with") is read as a plus.

Dropped, by reason: 12 no use of ours ("versatile", "valued as medicine", skin infections); 9 doctrine (a taste named by
Chinese materia medica is partly derived from the action, so it cannot test the action; all nine would agree by paths); 7 no quality
of ours; 3 a category that the paper leaves open (poison or antidote); 2 reports whose author and title are not known; 1 joined
from two statements of an abstract.
"""

from __future__ import annotations

from typing import NamedTuple


class Row(NamedTuple):
    """What was published, and the same in our ids. ``kind``: class (one class or family), action, or use (any of several).

    ``ours`` is the id under which our ontology cites the same publication, whatever for; `""` if it does not.
    """

    said: str
    quality: str
    kind: str
    target: tuple[str, ...]
    sign: str
    source: str
    ours: str = ""


class Dropped(NamedTuple):
    """A published row that our ids cannot say."""

    said: str
    source: str
    reason: str


class Null(NamedTuple):
    """Looked for and not found. Without a quality: not in our ids."""

    said: str
    source: str
    quality: str = ""
    kind: str = ""
    target: tuple[str, ...] = ()


DRUGS = "Leonti M, Baker J, Staub P, Casu L, Hawkins J 2024, eLife 12:RP90070, results"
FOODS = "Leonti M, Cabras S, Castellanos Nueda ME, Casu L 2024, J Ethnopharmacol 118012, abstract"
MIXE_92 = "Heinrich M, Rimpler H, Antonio Barrera N 1992, J Ethnopharmacol 36:63-80, abstract"
MIXE_98 = "Heinrich M 1998, J Appl Bot 72:75-81, abstract"
BRAZIL = "Silva T, Ferreira Junior W, Santos FI and others 2024, Ethnobot Res Appl 5483, abstract: associated by chi-square, sign read as plus"
BRADFORD = "Pieroni A, Houlihan L, Ansari N, Hussain B, Aslam S 2007, J Ethnopharmacol 113:100-110, abstract"
PELEG = "Peleg H, Gacon K, Schlich P, Noble AC 1999, J Sci Food Agric 79:1123-1128, abstract"
ROBICHAUD = "Robichaud JL, Noble AC 1990, Astringency and bitterness of selected phenolics in wine, J Sci Food Agric, abstract"
CURRANT = "Laaksonen OA, Salminen JP, Makila L, Kallio HP, Yang B 2015, J Agric Food Chem, abstract (five black currant cultivars)"
BUCKTHORN_17 = "Ma X, Yang W, Laaksonen O, Nylander M, Kallio H, Yang B 2017, J Agric Food Chem 65:9871-9879, abstract"
BUCKTHORN_05 = "Tiitinen KM, Hakala MA, Kallio HP 2005, J Agric Food Chem 53:1692-1699, abstract"
CHICORY = "Price KR, Dupont MS, Shepherd R, Chan HWS, Fenwick GR 1990, J Sci Food Agric 53:185-192, abstract"
OLIVE = "Tome-Rodriguez S, Barba-Palomeque F, Calderon-Santiago M and others 2025, Foods 14:1620, abstract"
LUPIN = "Dupont MS and others 1994, J Sci Food Agric 65:95-100, abstract"
TURNIP = "Mohd Nor ND, Lignou S, Bell L and others 2020, Foods 9:1719, abstract"
CABBAGE = "Beck TK, Jensen S, Bjoern GK, Kidmose U 2014, J Sens Stud 29:190-200, abstract"
QUINOA_91 = "Koziol MJ 1991, J Sci Food Agric 54:211-219, abstract"
QUINOA_24 = "Key phytochemicals contributing to the bitterness of quinoa, 2024, Food Chem 449:139262, abstract"
ASPARAGUS = "Dawid C, Hofmann T 2012, Sensory-active phytochemicals in asparagus, J Agric Food Chem, abstract"
SANSHOOL = "Bader M, Stark TD, Dawid C, Losch S, Hofmann T 2014, J Agric Food Chem 62:2479-2488, abstract"
TINGLE = "Albin KC, Simons CT 2010, Psychophysical evaluation of a sanshool derivative, PLoS ONE, abstract"
HEAT = "Cliff M, Heymann H 1992, Descriptive analysis of oral pungency, J Sens Stud 7, abstract"
GUMS = "The effect of hydrocolloids on perception of bitterness and astringency, 2007, Pol J Food Nutr Sci 57(3A):143-146, abstract"
REVIEW = "Liu J, Xie J, Lin J and others 2023, Food Chem 405:134946, abstract"
YUCATAN = "Ankli A, Sticher O, Heinrich M 1999, Hum Ecol 27:557-580, abstract"
CHINESE = "Chinese abstracts and teaching pages on the tastes of materia medica, author not shown"

DRYING = "astringent-drying"
COUGH = ("dry-irritating-cough", "productive-cough")
NOSE = ("blocked-nose", "common-cold")
CHEST = COUGH + NOSE
URINARY = ("flushing-the-urinary-tract", "bladder-infection", "prostate-complaints")
DIGESTIVE = ("loss-of-appetite", "indigestion-and-wind", "cramps-of-the-gut")
DIARRHOEA, FOOD, CRAMPS, SUGAR = ("diarrhoea",), ("food-and-spice",), ("cramps-of-the-gut",), ("blood-sugar",)
CONDENSED, HYDROLYSABLE, FLAVONOIDS = ("condensed-tannins",), ("hydrolysable-tannins",), ("flavonol-and-flavone-glycosides",)
ACIDS, SUGARS, MUSTARD, TINGLERS = ("organic-acids",), ("sugars-and-polyols",), ("isothiocyanates-and-glucosinolates",), ("alkylamides",)
LUPIN_BASES, LACTONES = ("quinolizidine-alkaloids",), ("sesquiterpene-lactones",)
LEONTI = "leonti2024"

ROWS = (
    # 700 drugs of antiquity, a trained panel; px is the share of the posterior beyond zero
    Row("sour, cough", "sour", "use", COUGH, "-", DRUGS + ", px = 0.038", LEONTI),
    Row("salty, pain", "salty", "action", ("analgesic",), "-", DRUGS + ", px = 0.022", LEONTI),
    Row("sweet, pain", "sweet", "action", ("analgesic",), "+", DRUGS + ", px = 0.032", LEONTI),
    Row("cooling, pain", "cooling", "action", ("analgesic",), "+", DRUGS + ", px = 0.01", LEONTI),
    Row("cooling, breast inflammation and lactation", "cooling", "use", ("milk-flow",), "+", DRUGS + ", px = 0.037", LEONTI),
    Row("bitter, breathing difficulties", "bitter", "use", ("asthma-historic",), "+", DRUGS + ", px = 0.027", LEONTI),
    Row("bitter, other respiratory problems", "bitter", "use", NOSE, "+", DRUGS + ", px = 0.004", LEONTI),
    Row("bitter, sciatica", "bitter", "use", ("low-back-pain",), "+", DRUGS + ", px < 0.001", LEONTI),
    Row("bitter, liver problems and jaundice", "bitter", "use", ("liver-complaints", "bile-related-indigestion"), "+", DRUGS + ", px = 0.002", LEONTI),
    Row("bitter, food", "bitter", "use", FOOD, "-", DRUGS + ", px = 0.007", LEONTI),
    Row("nutty, food", "nutty", "use", FOOD, "+", DRUGS + ", px = 0.002", LEONTI),
    Row("starchy, diarrhoea", "mealy-starchy", "use", DIARRHOEA, "+", DRUGS + ", px = 0.001", LEONTI),
    Row("astringent, diarrhoea", DRYING, "use", DIARRHOEA, "+", DRUGS + ", px = 0.029", LEONTI),
    Row("woody, diarrhoea", "woody", "use", DIARRHOEA, "+", DRUGS + ", px = 0.019", LEONTI),
    Row("starchy, other skin conditions", "mealy-starchy", "use", ("skin-inflammation", "chronic-skin-complaints"), "+", DRUGS + ", px = 0.035", LEONTI),
    Row("burning, vascular problems", "burning-pungent", "use", ("heavy-legs-and-veins", "cold-hands-and-feet"), "+", DRUGS + ", px = 0.042", LEONTI),
    Row("astringent, muscles and joints from outside", DRYING, "use", ("joint-pain", "bruises-and-sprains"), "+", DRUGS + ", px = 0.001", LEONTI),
    Row("astringent, urinary stones", DRYING, "use", ("flushing-the-urinary-tract",), "-", DRUGS + ", px = 0.02", LEONTI),
    Row("astringent, other urinary problems", DRYING, "use", URINARY, "-", DRUGS + ", px < 0.001", LEONTI),
    Row("bitter, iridoids", "bitter", "class", ("iridoid-glycosides",), "+", DRUGS + ", bitter drugs used for sciatica", LEONTI),
    Row("bitter, sesquiterpene lactones", "bitter", "class", LACTONES, "+", DRUGS + ", bitter drugs used for sciatica", LEONTI),
    Row("bitter, coumarins", "bitter", "class", ("coumarins",), "+", DRUGS + ", bitter drugs used for sciatica", LEONTI),
    # 540 of these drugs: which are also food
    Row("starchy, food drug", "mealy-starchy", "use", FOOD, "+", FOODS),
    Row("salty, food drug", "salty", "use", FOOD, "+", FOODS),
    Row("burning, food drug", "burning-pungent", "use", FOOD, "+", FOODS),
    Row("fruity, food drug", "fruity", "use", FOOD, "+", FOODS),
    Row("cooling, food drug", "cooling", "use", FOOD, "+", FOODS),
    # field studies
    Row("astringent, diarrhoea and dysentery (Mixe)", DRYING, "use", DIARRHOEA, "+", MIXE_92),
    Row("bitter, cramps and pain of the gut (Mixe)", "bitter", "use", CRAMPS, "+", MIXE_92),
    Row("aromatic, cramps and pain of the gut (Mixe)", "aromatic", "use", CRAMPS, "+", MIXE_92),
    Row("sweet, cough and chest (Mixe)", "sweet", "use", CHEST, "+", MIXE_98),
    Row("sour, cough and chest (Mixe)", "sour", "use", CHEST, "+", MIXE_98 + ": sometimes"),
    Row("bitter, digestive system", "bitter", "use", DIGESTIVE, "+", BRAZIL),
    Row("bitter, respiratory system", "bitter", "use", CHEST, "+", BRAZIL),
    Row("bitter, urogenital system", "bitter", "use", URINARY, "+", BRAZIL),
    Row("bitter, infections and parasites", "bitter", "use", ("worms", "malaria-fever-historic"), "+", BRAZIL),
    Row("bitter, injuries", "bitter", "use", ("small-wounds", "bruises-and-sprains"), "+", BRAZIL),
    Row("bitter, diabetes", "bitter", "use", SUGAR, "+", BRADFORD),
    Row("aromatic, diabetes", "aromatic", "use", SUGAR, "+", BRADFORD),
    # panels and chemistry
    Row("astringency, flavanol dimers and trimers", DRYING, "class", CONDENSED, "+", PELEG + ": rises with chain length"),
    Row("astringency, grape seed tannin", DRYING, "class", CONDENSED, "+", ROBICHAUD + ": linear", "robichaud1990"),
    Row("astringency, tannic acid", DRYING, "class", HYDROLYSABLE, "+", ROBICHAUD + ": linear", "robichaud1990"),
    Row("bitterness, gallic acid", "bitter", "class", ("phenolic-acids",), "+", ROBICHAUD + ": linear", "robichaud1990"),
    Row("drying, proanthocyanidins", DRYING, "class", CONDENSED, "+", CURRANT, "laaksonen2015"),
    Row("puckering, proanthocyanidins", "puckering", "class", CONDENSED, "+", CURRANT, "laaksonen2015"),
    Row("astringent, isorhamnetin glycosides", DRYING, "class", FLAVONOIDS, "+", BUCKTHORN_17),
    Row("astringency, fruit acids", DRYING, "class", ACIDS, "+", BUCKTHORN_05, "tiitinen2005"),
    Row("sweetness, fruit acids", "sweet", "class", ACIDS, "-", BUCKTHORN_05, "tiitinen2005"),
    Row("sweetness, fructose and glucose", "sweet", "class", SUGARS, "+", BUCKTHORN_05, "tiitinen2005"),
    Row("astringency, fructose and glucose", DRYING, "class", SUGARS, "-", BUCKTHORN_05, "tiitinen2005"),
    Row("bitterness, lactucin glycoside", "bitter", "class", LACTONES, "+", CHICORY, "price1990"),
    Row("pungency of olive oil, oleocanthal", "throat-scratched", "class", ("secoiridoid-bitters",), "+", OLIVE),
    Row("bitter, lupin alkaloids", "bitter", "class", LUPIN_BASES, "+", LUPIN, "dupont1994"),
    Row("woody, lupin alkaloids", "woody", "class", LUPIN_BASES, "+", LUPIN, "dupont1994"),
    Row("bitter, glucosinolates of turnip", "bitter", "class", MUSTARD, "+", TURNIP, "mohdnor2020"),
    Row("sweet, glucosinolates of turnip", "sweet", "class", MUSTARD, "-", TURNIP, "mohdnor2020"),
    Row("bitterness, glucosinolates of cabbage", "bitter", "class", MUSTARD, "+", CABBAGE, "beck2014"),
    Row("foam, quinoa saponins", "foaming", "class", ("triterpenoid-saponins",), "+", QUINOA_91, "koziol1991"),
    Row("bitterness, quinoa saponins", "bitter", "class", ("triterpenoid-saponins",), "+", QUINOA_24, "quinoa2024"),
    Row("bitterness, a kaempferol triglycoside", "bitter", "class", FLAVONOIDS, "+", QUINOA_24, "quinoa2024"),
    Row("bitter, asparagus saponins", "bitter", "class", ("steroidal-saponins",), "+", ASPARAGUS, "dawidhofmann2012"),
    Row("numbing, all-trans sanshools", "numbing", "class", TINGLERS, "+", SANSHOOL, "bader2014"),
    Row("salivation, sanshool", "mouth-watering", "class", TINGLERS, "+", SANSHOOL, "bader2014"),
    Row("tingling, an isobutylalkylamide", "tingling", "class", TINGLERS, "+", TINGLE, "albin2010"),
    Row("dulled touch, an isobutylalkylamide", "numbing", "class", TINGLERS, "+", TINGLE, "albin2010"),
    Row("numbing, eugenol", "numbing", "class", ("eugenol-type-oils",), "+", HEAT, "cliffheymann1992"),
    Row("burning, ginger oleoresin", "burning-pungent", "class", ("gingerols",), "+", HEAT, "cliffheymann1992"),
    Row("bitterness of caffeine, gums", "bitter", "class", ("mucilage",), "-", GUMS),
    Row("astringency, polysaccharides", DRYING, "class", ("pectin",), "-", REVIEW),
)

DROPPED = (
    *(Dropped(f"{quality}, therapeutic versatility", DRUGS, "no use of ours") for quality in ("bitter", "starchy", "sweet", "sour", "woody")),
    Dropped("starchy, skin infections", DRUGS, "no use of ours"),
    *(Dropped(f"{quality}, valued as medicine at all", YUCATAN, "no use of ours") for quality in ("sweet", "aromatic", "no taste or smell")),
    *(Dropped(f"{quality}, perceived medicinal value", "Pieroni A, Torry B 2007, J Ethnobiol Ethnomed 3:21, abstract", "no use of ours") for quality in ("bitter", "spicy")),
    Dropped("bitter, expelling illness", "Shepard GH 1999, doctoral thesis, Berkeley, abstract", "no use of ours"),
    Dropped("musky, therapeutic versatility", DRUGS, "no quality of ours"),
    Dropped("summed intensity, therapeutic versatility", DRUGS, "no quality of ours"),
    Dropped("number of qualities, urinary problems", DRUGS, "no quality of ours"),
    Dropped("all tastes, all indications", "de Medeiros PM and others 2015, J Ethnopharmacol 159:43-48, abstract", "no quality of ours"),
    Dropped("all smells, all indications", "de Medeiros PM and others 2015, J Ethnopharmacol 159:43-48, abstract", "no quality of ours"),
    Dropped("same taste, same function", "Taste and chemical composition as drives for utilitarian redundancy, abstract", "no quality of ours"),
    Dropped("taste and smell, medicinal use", "Leonti M, Sticher O, Heinrich M 2002, J Ethnopharmacol 81:307-315, abstract", "no quality of ours"),
    *(Dropped(f"{quality}, poisons", DRUGS, "category left open") for quality in ("aromatic", "soapy", "salty")),
    Dropped("astringent, tannin drugs", MIXE_92, "joined from two statements"),
    Dropped("olive oil in the throat, oleocanthal and oleacein", "abstract on 21 oils, author not shown", "publication not known"),
    Dropped("bitter, berberine of a decoction", "abstract on a four-drug decoction, author not shown", "publication not known"),
    *(Dropped(f"pungent, {what}", CHINESE, "doctrine") for what in ("warming the interior", "releasing the exterior", "moving qi")),
    *(Dropped(f"bitter, {what}", CHINESE, "doctrine") for what in ("expelling worms", "purging", "wind-damp", "clearing heat")),
    Dropped("astringent, tannins", CHINESE, "doctrine"),
    Dropped("sweet, sugars", CHINESE, "doctrine"),
)

NULLS = (
    Null("bitter, poisons", DRUGS),
    Null("sweet, epilepsy", DRUGS + ", author response"),
    Null("bitter, gut against chest", "Casagrande DG 2000, J Ecol Anthropol 4:57-69, abstract (10 tasters)", "bitter", "use", DIGESTIVE),
    *(Null(f"{quality}, valued as medicine at all", YUCATAN) for quality in ("bitter", "spicy", "acidic")),
    Null("a person's threshold for bitter, plants cited", "da Silva TLL and others 2020, Ethnobiol Conserv 9, abstract"),
    Null("same taste, same function in two systems", "Taste and chemical composition as drives for utilitarian redundancy, abstract"),
    Null("bitter, proanthocyanidins", CURRANT, "bitter", "class", CONDENSED),
    Null("astringent, tannin and catechin of lupin seed", LUPIN, DRYING, "class", CONDENSED),
    Null("bitter, medicinal value (Yora)", "Shepard GH 1999, doctoral thesis, Berkeley, abstract"),
)
