"""Documents that cannot be made: one sentence, and how to get what is missing."""

from ridelog.tell.refusals import documents


def test_what_is_missing_is_named_with_how_to_get_it():
    assert "WeasyPrint" in documents.no_layout().message
    assert "apt-get install" in documents.no_layout_libraries().hint
    assert documents.no_pixels().hint == "pip install resvg-py"
