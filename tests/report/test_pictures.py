"""SVG and PNG of a drawing: the PNG shows what the SVG says, three pixels a unit."""

import io
import sys
import xml.etree.ElementTree as ET

import pytest
from PIL import Image

from ridelog.errors import RidelogError
from ridelog.report.drawings.svg import Drawing, box, paint
from ridelog.report.pictures import ZOOM, pictures, png_of

DRAWING = Drawing("x", "T & t", "D", 40, 20, (box((0, 0), (20, 20), paint(fill="returned")),))


def test_a_drawing_becomes_a_file_of_each_kind():
    files = pictures([DRAWING])
    assert list(files) == ["x.svg", "x.png"]
    assert ET.fromstring(files["x.svg"]).get("width") == "40"
    picture = Image.open(io.BytesIO(files["x.png"])).convert("RGB")
    assert picture.size == (40 * ZOOM, 20 * ZOOM)
    assert picture.getpixel((10, 10)) == (0x0A, 0x5F, 0x67)
    assert picture.getpixel((100, 10)) == (255, 255, 255)
    assert files == pictures([DRAWING])


def test_without_its_library_a_sentence_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "resvg_py", None)
    with pytest.raises(RidelogError, match="resvg-py") as missing:
        png_of(DRAWING.file())
    assert "pip install resvg-py" in missing.value.hint
