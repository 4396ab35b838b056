"""Files in documents: called by their names alone, also in what findings say of them."""

from ridelog.findings import Finding
from ridelog.tell.documents.names import finding_called, short


def test_a_file_is_called_without_its_folders_and_one_that_goes_on_by_both_parts():
    assert short("/home/me/log.csv") == "log.csv"
    assert short("/a/one.zip/x.csv + /a/two.csv") == "x.csv + two.csv"


def test_a_finding_calls_files_otherwise_and_keeps_its_other_facts():
    names = {"/home/me/log.csv": "log.csv"}
    facts = {"file": "/home/me/log.csv", "n_lost": 3, "n_all": 9, "of": ("/home/me/log.csv", "kept")}
    told = finding_called(Finding("check-sum", "note", facts), lambda text: names.get(text, text))
    assert dict(told.facts) == {"file": "log.csv", "n_lost": 3, "n_all": 9, "of": ("log.csv", "kept")}
