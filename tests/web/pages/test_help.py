"""Help: each word that numbers go by, the method with its equations, the cautions, and no way that leads nowhere."""

import re

from ridelog.tell.pages import help as words
from tests.report.reading import Document


def test_words_lead_to_the_step_of_the_method_that_works_them_out(guest):
    page = guest.see("/help").text
    document = Document(page)
    ids = {given.get("id") for _, given in document.tags}
    for anchor in re.findall(r'href="#([^"]+)"', page):
        assert anchor in ids
    for word, _, _ in words.WORDS:
        assert word in document.text
    assert "recovered = 100" in document.text
    assert not document.wrong


def test_it_defers_to_makers_local_rules_and_a_technician(guest):
    text = Document(guest.see("/help").text).text
    for said in ("makers of battery, controller and bike hold", "local rules", "qualified technician", "do not bypass"):
        assert said in text
    assert not re.search(r"\bis safe\b", text.replace("say that anything is safe", ""))
