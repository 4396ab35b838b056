"""What stands around the samples, of any size: headers, cells that are none, settings, definitions, requests."""

import struct
import tempfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from urllib.parse import urlencode
from zipfile import ZIP_DEFLATED, ZipFile

from sample_rides.fit_writer import fit_crc
from tests.fuzz.case import Case
from tests.fuzz.sizes import HEADS, fit, gpx, log, of_one, ride


def letters_above(times: int) -> Case:
    """One line above the header, up to 60 kB long."""
    return of_one(log(ride(120), above=("# " + "x" * 600 * times,)))


def letters_of_a_column(times: int) -> Case:
    """The name of a column that says nothing, up to 60 kB long."""
    return of_one(log([row + ",5" for row in ride(120)], f"{HEADS},{'odd ' * 150 * times}"))


def columns_of_one_name(times: int) -> Case:
    n = 4 * times
    return of_one(log([row + ",3.7" * n for row in ride(120)], HEADS + ",cell 1 voltage [V]" * n))


def bad_cells_of_a_row(times: int) -> Case:
    """Cells that are no numbers, all in one row."""
    n, rows = 4 * times, ride(120)
    heads = HEADS + "".join(f",cell {k + 1} voltage [V]" for k in range(n))
    return of_one(log([row + (",x" if at == 60 else ",3.7") * n for at, row in enumerate(rows)], heads))


def headers_again(times: int) -> Case:
    """The header once more after every four rows, as loggers write it that are switched on again."""
    rows = ride(40 * times)
    return of_one(log([line for at, row in enumerate(rows) for line in ([HEADS] if at % 4 == 3 else []) + [row]]))


def short_rows(times: int) -> Case:
    """Rows of too few cells."""
    return of_one(log([row.rpartition(",")[0] if at % 7 == 3 else row for at, row in enumerate(ride(300 * times))]))


def settings_file(kind: str, content: str) -> Case:
    return Case(0, kind, ((kind, content.encode()),))


def rides_of_a_manifest(times: int) -> Case:
    return settings_file("rides.toml", "".join(f'[[ride]]\nfiles = ["{k}.csv"]\n' for k in range(80 * times)))


def files_of_a_manifest(times: int) -> Case:
    """All of one ride."""
    names = "".join(f'"{k}",\n' for k in range(290 * times))
    return settings_file("rides.toml", f"[[ride]]\nfiles = [\n{names}]\n")


def names_of_hills(times: int) -> Case:
    return settings_file("hills.toml", "[hill]\n" + "".join(f'{k:08x} = "Hill"\n' for k in range(100 * times)))


def letters_of_a_bike(times: int) -> Case:
    """Comments, for a name is short."""
    return of_one(log(ride(120)), bike=b"[bike]\n" + b"# xxxxxxxxxxxxxxxxxxxxxx\n" * 90 * times)


def dots_of_a_bike(times: int) -> Case:
    """Keys of keys of keys, on lines that are not too long."""
    line = ".".join("a" * 200)
    return of_one(log(ride(120)), bike="".join(f"k{k}.{line} = 1\n" for k in range(5 * times)).encode())


def brackets_of_a_bike(times: int) -> Case:
    """Lists in lists in lists."""
    return of_one(log(ride(120)), bike=b"[pack]\ncapacity_ah = " + b"[" * 19 * times + b"]" * 19 * times + b"\n")


def finished(body: bytes) -> bytes:
    """A FIT file of these messages."""
    content = bytes([14, 0x20]) + (2132).to_bytes(2, "little") + len(body).to_bytes(4, "little") + b".FIT"
    content += fit_crc(content).to_bytes(2, "little") + body
    return content + fit_crc(content).to_bytes(2, "little")


def fields_of_makers(times: int) -> Case:
    """Descriptions of fields of the device's own, and a record that has the first of them."""
    body = fit()[14:-2] + bytes([0x43, 0, 0]) + struct.pack("<HB", 207, 1) + bytes([3, 1, 2]) + bytes([3, 0])
    body += bytes([0x43, 0, 0]) + struct.pack("<HB", 206, 5)
    body += b"".join(bytes(each) for each in [(0, 1, 2), (1, 1, 2), (2, 1, 2), (3, 8, 7), (8, 2, 7)])
    for k in range(60 * times):
        body += bytes([3, k >> 8 & 0x7F, k & 0xFF, 0x88]) + f"x{k}".encode().ljust(8, b"\0") + b"V\0"
    body += bytes([0x62, 0, 0]) + struct.pack("<HB", 20, 1) + bytes([253, 4, 0x86]) + bytes([1, 0, 4, 0])
    return of_one(finished(body + bytes([2]) + struct.pack("<If", 1_100_000_000, 3.7)), "a.fit")


def fields_of_records(times: int) -> Case:
    """Records of as many fields as a definition can have, of which most are unknown: 2, 20, 200."""
    fields = bytes([253, 4, 0x86, 2, 2, 0x84]) + b"".join(bytes([150 + k % 100, 1, 2]) for k in range(2 * times))
    body = fit()[14:-2] + bytes([0x44, 0, 0]) + struct.pack("<HB", 20, 2 + 2 * times) + fields
    body += b"".join(bytes([4]) + struct.pack("<IH", 1_146_900_000 + k, 3000) + bytes(2 * times) for k in range(200))
    return of_one(finished(body), "a.fit")


def small_messages(times: int) -> Case:
    """Messages of one field that nobody reads, two bytes each."""
    body = fit()[14:-2] + bytes([0x44, 0, 0]) + struct.pack("<HB", 34, 1) + bytes([1, 1, 2])
    return of_one(finished(body + bytes([4, 7]) * 1000 * times), "a.fit")


def extensions(times: int) -> Case:
    """Elements beside the position of each point of a short track."""
    more = "<extensions>" + "".join(f"<x{k}>5</x{k}>" for k in range(2 * times)) + "</extensions></trkpt>"
    return of_one(gpx(60).replace(b"</trkpt>", more.encode()), "a.gpx")


def extensions_within(times: int) -> Case:
    """Elements within elements, at one point."""
    within = "<extensions>" + "<x>" * 10 * times + "</x>" * 10 * times + "</extensions></trkpt>"
    return of_one(gpx(60).replace(b"</trkpt>", within.encode(), 1), "a.gpx")


def tracks(times: int) -> Case:
    """Segments of one point each."""
    return of_one(gpx(60 * times).replace(b"</trkpt>\n", b"</trkpt></trkseg><trkseg>\n"), "a.gpx")


def members_of_nothing(times: int) -> Case:
    """Empty members of an archive."""
    target = BytesIO()
    with ZipFile(target, "w", ZIP_DEFLATED) as archive:
        archive.writestr("a.csv", log(ride(120)))
        for k in range(100 * times):
            archive.writestr(f"{k}.csv", b"")
    return of_one(target.getvalue(), "a.zip")


def asked(size: bytes, **visit: object) -> Case:
    """A request as the page itself sends it, for another site's is refused at once."""
    visit.setdefault("headers", [("Origin", "http://localhost")])
    return Case(0, "visit", (("request", size),), visit={"path": "/", **visit})


def letters_of_a_query(times: int) -> Case:
    query = "x=" + "y" * 1000 * times
    return asked(query.encode(), query_string=query)


def parts_of_a_query(times: int) -> Case:
    query = urlencode([(f"ride-{k}", k) for k in range(100 * times)])
    return asked(query.encode(), path="/compare", query_string=query)


def fields_of_a_form(times: int) -> Case:
    form = urlencode([(f"ride-{k}", k) for k in range(100 * times)]).encode()
    kind = "application/x-www-form-urlencoded"
    return asked(form, path="/compare", method="POST", data=form, content_type=kind)


def parts_of_an_upload(times: int) -> Case:
    """Parts of a form that are no files."""
    part = b'--x\r\nContent-Disposition: form-data; name="files"\r\n\r\n1\r\n'
    body = part * 20 * times + b"--x--\r\n"
    return asked(body, path="/upload", method="POST", data=body, content_type="multipart/form-data; boundary=x")


def cookies(times: int) -> Case:
    held = "; ".join(f"c{k}=v" for k in range(100 * times))
    return asked(held.encode(), headers=[("Cookie", held)])


def values_of_a_call(times: int) -> Case:
    body = ('{"output": "ride.data", "inputs": [' + ",".join("[1]" for _ in range(300 * times)) + "]}").encode()
    path = "/_dash-update-component"
    return asked(body, path=path, method="POST", data=body, content_type="application/json")


def read_settings(case: Case) -> None:
    """Read a file of settings from where it lies, as the program does; hills are given a name besides."""
    from ridelog.settings.hill_names import read_hill_names, write_hill_name
    from ridelog.settings.manifest import read_manifest

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / case.kind
        path.write_bytes(case.files[0][1])
        if case.kind == "rides.toml":
            read_manifest(path)
        else:
            read_hill_names(path)
            write_hill_name(path, "00000007", "Mill Lane")


DIMENSIONS: dict[str, Callable[[int], Case]] = {
    "letters of a line above the header": letters_above,
    "letters of a column's name": letters_of_a_column,
    "columns of one name": columns_of_one_name,
    "cells of one row that are no numbers": bad_cells_of_a_row,
    "headers that are repeated": headers_again,
    "rows of too few cells": short_rows,
    "comments of a bike file": letters_of_a_bike,
    "keys of keys in a bike file": dots_of_a_bike,
    "lists of lists in a bike file": brackets_of_a_bike,
    "rides of a manifest": rides_of_a_manifest,
    "files of a manifest's ride": files_of_a_manifest,
    "names of hills, one of them set": names_of_hills,
    "FIT fields of the device's own": fields_of_makers,
    "fields of FIT records": fields_of_records,
    "FIT messages of one field": small_messages,
    "extensions of each GPX point": extensions,
    "extensions within extensions": extensions_within,
    "segments of a GPX track": tracks,
    "empty members of an archive": members_of_nothing,
    "letters of a query": letters_of_a_query,
    "parts of a query": parts_of_a_query,
    "fields of a form": fields_of_a_form,
    "parts of an upload that are no files": parts_of_an_upload,
    "cookies": cookies,
    "values of a call": values_of_a_call,
}
