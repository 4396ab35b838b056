"""The tables of words: each entry can be reached, and speaks of what there is."""

import unicodedata

from ridelog.channels import channel
from ridelog.vocabulary.units import UNITS
from ridelog.vocabulary.words import (
    _CONCEPT_ROWS,
    CONCEPTS,
    HARMLESS,
    NOUN_OF_DIMENSION,
    NOUNS,
    PHRASES,
    QUANTITIES,
    RULES,
)

STATED = {concept for concepts, _ in _CONCEPT_ROWS for concept in concepts.split()}
DIMENSIONS = {unit.dimension for unit in UNITS.values()}


def test_words_are_written_as_headers_are_compared():
    """Lower case and without accents; an entry that is not could never be met."""
    for word in (*CONCEPTS, *HARMLESS, *PHRASES):
        bare = "".join(c for c in unicodedata.normalize("NFKD", word) if not unicodedata.combining(c))
        assert word == bare.lower()


def test_a_word_that_changes_nothing_states_nothing():
    """Only "in" does both: current in A, current in and out."""
    assert HARMLESS & set(CONCEPTS) == {"in"}


def test_a_phrase_of_several_words_stands_for_one_that_is_known():
    for phrase, word in PHRASES.items():
        assert " " in phrase
        assert word in CONCEPTS or word in STATED, (phrase, word)


def test_rules_and_nouns_ask_for_concepts_that_words_can_state():
    for rule in RULES:
        assert rule.needs | rule.without <= STATED, rule
        assert rule.needs, rule
    assert NOUNS <= STATED
    assert set(NOUN_OF_DIMENSION.values()) <= NOUNS


def test_no_rule_stands_behind_one_that_takes_all_of_its_columns():
    """The first that fits decides: a later rule must want something that an earlier one does not take."""
    for index, later in enumerate(RULES):
        hidden = [one for one in RULES[:index] if one.needs <= later.needs and not one.without - later.without]
        assert not hidden, (later, hidden)


def test_a_rule_names_a_quantity_or_says_why_not():
    for rule in RULES:
        counted = rule.quantity in ("charge counter", "energy counter", "cell voltage")
        assert rule.quantity in QUANTITIES or counted or (rule.quantity is None and rule.why_not), rule


def test_each_quantity_is_a_channel_in_units_that_there_are():
    for quantity in QUANTITIES.values():
        assert set(quantity.dimensions) <= DIMENSIONS
        assert quantity.implied_unit is None or UNITS[quantity.implied_unit.lower()].dimension in quantity.dimensions
        assert quantity.channel is None or channel(quantity.channel).name == quantity.channel
