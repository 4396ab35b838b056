"""Native fields: labelled, escaped, and with a token where something is begun."""

from ridelog.web.parts.forms import button, choice, form, line, said
from tests.report.reading import Document

EVIL = '"><script>x</script>'


def test_nothing_that_somebody_wrote_becomes_markup():
    html = form(EVIL, EVIL, [line("a", EVIL, EVIL), choice("b", EVIL, [(EVIL, EVIL)], EVIL), said([EVIL])], label=EVIL)
    assert "<script>" not in html
    assert not Document(html).wrong


def test_what_was_said_before_stands_in_the_fields():
    html = choice("paper", "Paper", [("a4", "A4"), ("letter", "Letter")], "letter") + line("d", "D", "1.5")
    assert '<option value="letter" selected>' in html
    assert 'name="d" value="1.5"' in html
    assert said([]) == ""
    assert 'role="alert"' in said(["x"])
    assert button("Go", "do", "again") == '<button name="do" value="again">Go</button>'
