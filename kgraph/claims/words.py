"""The closed lists of words that a statement may use. Meanings: `ontology/README.md`."""

STRENGTHS = ("almost-always", "often", "sometimes", "rarely", "almost-never")
EFFECTS = ("much-less", "less", "slightly-less", "more")
LEVELS = ("major", "minor", "trace")
INTENSITIES = ("absent", "weak", "moderate", "strong")
BASES = ("tradition", "laboratory", "clinic", "regulator")
USE_STATUSES = (
    "traditional", "traditional-use-registered", "well-established-use", "medicine-only", "trial-only", "negative-opinion",
)
SEVERITIES = ("information", "care", "avoid")
PREPARATIONS = ("any", "tea", "extract", "tincture", "oil", "powder", "fresh", "skin", "seed")
CONFUSIONS = ("lookalike", "adulterant", "sister-drug", "name")
STIMULI = ("infusion", "decoction", "powder", "chewed", "fresh", "crushed-wet")
TASTE_SAFETIES = ("ok", "small-amount", "do-not-taste")
GRADES = ("A", "B")
SENSES = ("appearance", "aroma", "taste", "chemesthesis", "mouthfeel", "aftertaste", "felt")
QUALITY_KINDS = ("percept", "word", "group", "kind", "absence", "colour", "stop")
CHANNELS = ("taster", "book")
ASKS = ("there", "plain")
REPORT_STATES = ("strong", "moderate", "weak", "absent", "unnoticed")
FORMS = ("infusion", "decoction", "cold-maceration", "diluted-tincture", "chewed-piece", "powder", "smelled-only")
