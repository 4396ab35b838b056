"""The end of the document: what was assumed, the method with its sources, each file, the versions, the command."""

from dataclasses import replace
from importlib.metadata import version

import ridelog
from ridelog.report.making import GivenFile, Making
from ridelog.report.parts import drawn
from ridelog.report.ride.basis import MOST_COLUMNS, back, rests_on, versions
from tests.report.reading import Document
from tests.scenarios import sample_answer, simulated_answer


def document(sections):
    return Document("".join(drawn(each) for each in sections if each))


def test_what_nobody_entered_is_told_as_assumed():
    shown = document([rests_on(simulated_answer(7304), Making())])
    assert any(given.get("id") == "assumed" for _, given in shown.tags)
    assert "Air temperature" in shown.text
    entered = document([rests_on(sample_answer("commute"), Making())]).text
    assert "Mass of bike, rider and load 108 ± 3\u00a0kg".replace("\u00a0", " ") in entered.replace("\u00a0", " ")
    assert "Assumed Where the energy went: 45 to 92" in entered


def test_each_step_of_the_method_cites_a_source_that_is_listed():
    shown = document(back(sample_answer("commute"), Making()))
    words = shown.text
    for n in range(1, 10):
        assert f"[{n}]" in words
    assert "JCGM 101:2008" in words
    equations = [given for tag, given in shown.tags if given.get("role") == "math"]
    assert len(equations) >= 9
    assert all(given["aria-label"] for given in equations)


def test_the_files_beside_the_recordings_are_told_with_their_hashes_and_the_command_as_it_is_typed():
    making = Making(
        command="ridelog report 'a b.csv' --output x.html", given=(GivenFile("b.toml", "bike file", "f" * 64),)
    )
    shown = document(back(sample_answer("commute"), making))
    assert shown.command == "ridelog report 'a b.csv' --output x.html"
    assert "f" * 64 in shown.text


def test_of_a_log_with_very_many_columns_those_used_are_listed_and_some_others():
    answer = sample_answer("no-return")
    source = answer.sources[0]
    strange = tuple(
        replace(source.columns[0], column=f"odd {k}", channel=None, quantity=None) for k in range(2 * MOST_COLUMNS)
    )
    many = replace(answer, sources=(replace(source, columns=strange + source.columns), *answer.sources[1:]))
    told = document(back(many, Making()))
    rows = told.tables["t-columns-1"].rows
    assert len(rows) == MOST_COLUMNS
    assert {use.column for use in source.columns if use.channel} <= {row[0][0] for row in rows}
    assert f"columns {MOST_COLUMNS} stand here, used ones first; ridelog columns lists them all" in told.text


def test_the_versions_are_those_that_are_installed():
    told = dict(versions(ridelog.__version__))
    assert told["ridelog"] == ridelog.__version__
    assert told["numpy"] == version("numpy")
