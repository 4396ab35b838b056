"""A document taken apart without a tree: equal to its tree, or left to it."""

import random
from xml.etree.ElementTree import ParseError, fromstring

import gpxpy
import numpy as np
import pytest

from ridelog.importers.points.plain import plain_points
from ridelog.importers.points.tree import tree_points
from ridelog.importers.xml_text import decoded, undeclared
from tests.importers.tracks import gpx, point
from tests.places import ROOT, SAMPLES

FILES = sorted([*SAMPLES.glob("*/*.gpx"), *(ROOT / "tests").rglob("*.gpx")])
INNER = (
    "",
    "<extensions><hr>9{}</hr></extensions>",
    '<extensions><g:Point xmlns:g="u"><g:hr>9{}</g:hr><g:cad>{}</g:cad></g:Point></extensions>',
    "<speed>{}.5</speed><course>on</course>",
    "<extensions><empty/><none></none><current_a>-{}.5</current_a></extensions>",
    "<ele>9{}</ele>",
)
TOKENS = (
    "<", ">", '"', "/", "<trkpt ", "</trkpt>", "<trkseg>", "</trkseg>", "<ele>", "</time>", "&amp;", "<!-- -->",
    "<![CDATA[1]]>", " ", "\n", "9", "Z", "-", ".", "<x/>", "'", "\r\n", '</trkpt><trkpt lat="1" lon="2">',
    '<hr unit="W">5</hr>', "_", "</trkseg><trkseg>", "<trkpt/>", '<trkpt lat="1" lon="2"/>', "<?a b?>",
)  # fmt: skip


def told(found):
    """All that is read of the points."""
    points, lost = found
    extras = points.extras.columns(points.rows)
    return (
        [each.tolist() for each in (points.time_us, points.zoned, points.segment, points.rows)],
        [repr(row) for row in points.values.tolist()],
        [(key, repr(values.tolist())) for key, values in extras.items()],
        {kind: n for kind, n in lost.items() if n},
    )


def both(document):
    """What is read in either way; ``None`` where the plain one leaves it, or where the document is no XML."""
    plain = plain_points(document)
    try:
        tree = None if "<!DOCTYPE" in document else tree_points(fromstring(document))
    except ParseError:
        tree = None
    return plain and told(plain), tree and told(tree)


def invented(rng):
    """A document of up to three segments of points by chance, most of one build."""
    inner, parted = rng.choice(INNER), rng.choice(["</trkseg><trkseg>", "</trkseg></trk><trk><name>b</name><trkseg>"])
    segments = [
        "".join(
            point(k, inner=(inner if rng.random() < 0.99 else rng.choice(INNER)).replace("{}", str(k % 7))) for k in of
        )
        for of in (range(1, rng.choice([2, 30, 90])), range(200, 200 + rng.choice([0, 1, 40])))
    ]
    return undeclared(gpx([parted.join(segments)]))


def mutated(document, rng):
    text = document
    for _ in range(rng.choice([1, 1, 1, 3])):
        at, other, token = rng.randrange(len(text)), rng.randrange(len(text)), rng.choice(TOKENS)
        rest, again = text[at + rng.choice([0, 1, 40]) :], text[other : other + rng.choice([1, 20, 90])]
        text = text[:at] + rng.choice([token, token, again, ""]) + rest
    return text


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_files_are_read_as_their_tree_and_gpxpy_tell_them(path):
    document = undeclared(decoded(path.read_bytes()))
    plain, tree = both(document)
    if plain is not None:
        assert plain == tree
    if tree is None or "broken" in path.parts:
        return
    points, _ = tree_points(fromstring(document))
    oracle = [each.point for each in gpxpy.parse(document).get_points_data() if each.point.time is not None]
    np.testing.assert_array_equal(points.values[:, 0], [each.latitude for each in oracle])
    np.testing.assert_array_equal(points.values[:, 1], [each.longitude for each in oracle])
    heights = [np.nan if each.elevation is None else each.elevation for each in oracle]
    np.testing.assert_array_equal(points.values[:, 2], heights)
    np.testing.assert_array_equal(points.time_us, [round(each.time.timestamp() * 1e6) for each in oracle])


def test_the_tracks_of_the_sample_rides_are_plain():
    """Else the check above would compare nothing."""
    for path in SAMPLES.glob("*/*.gpx"):
        assert plain_points(undeclared(decoded(path.read_bytes()))) is not None


def test_invented_documents_are_read_as_their_tree_tells_them():
    rng = random.Random(1)
    n_plain = 0
    for _ in range(60):
        plain, tree = both(invented(rng))
        assert plain in (None, tree)
        n_plain += plain is not None
    assert n_plain > 20


def test_damaged_and_mutated_documents_are_read_alike_or_left():
    rng = random.Random(2)
    n_plain = n_left = 0
    for _ in range(1500):
        document = mutated(invented(rng), rng)
        plain, tree = both(document)
        assert plain in (None, tree), document
        n_plain += plain is not None
        n_left += plain is None
    assert min(n_plain, n_left) > 100


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text.replace("<trk>", "<!DOCTYPE a><trk>"),
        lambda text: "<!DOCTYPE gpx [<!ENTITY a 'b'>]>" + text,
        lambda text: text.replace("<trk>", "<!-- a --><trk>"),
        lambda text: text.replace("<trk>", "<trk><name>a &amp; b</name>"),
        lambda text: text.replace("<trk>", "<trk><name>a > b</name>"),
        lambda text: text.replace('lat="', "lat='").replace('" lon', "' lon"),
        lambda text: text.replace("<trkpt", "<g:trkpt").replace("</trkpt", "</g:trkpt").replace("xmlns", "xmlns:g"),
        lambda text: text.replace("</gpx>", ""),
        lambda text: text.replace("<trkseg>", "").replace("</trkseg>", ""),
        lambda text: text.replace("<ele>", '<height unit="m">').replace("</ele>", "</height>"),
        lambda text: text.replace("</trkpt>", "<trkpt></trkpt></trkpt>"),
    ],
    ids=[
        "a document type",
        "entities",
        "comment",
        "reference",
        "bracket",
        "quotes",
        "prefix",
        "cut",
        "no segment",
        "unit",
        "nested",
    ],
)
def test_what_is_not_plain_is_left_to_the_tree(change):
    text = undeclared(gpx([point(k) for k in range(5)]))
    assert plain_points(text) is not None
    assert plain_points(change(text)) is None
